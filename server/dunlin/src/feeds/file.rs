//! A file that is followed as it grows, and standard input.

use std::{io::Read as _, path::Path, time::Duration};

use tokio::{
    fs::File,
    io::{AsyncReadExt as _, AsyncSeekExt as _},
    sync::mpsc,
};

use super::{BackOff, Framer, Intake, READ, owned};

/// How often a file is looked at for more.
const LOOK: Duration = Duration::from_millis(200);

/// Chunks of standard input that wait to be framed.
const CHUNKS_MAX: usize = 4;

/// Reads the file from its start and follows it; begins again when it was cut short or replaced by
/// a shorter one.
pub(super) async fn follow(intake: &Intake, path: &Path) {
    let mut back_off = BackOff::new();
    loop {
        match File::open(path).await {
            Ok(file) => {
                back_off.reset();
                intake.watched.up();
                if let Err(error) = follow_one(intake, file).await {
                    intake.watched.down(format!("{} lost ({error})", path.display()));
                }
            }
            Err(error) => intake.watched.down(format!(
                "cannot read {} ({error}): check its name and that dunlin may read it",
                path.display()
            )),
        }
        back_off.wait().await;
    }
}

async fn follow_one(intake: &Intake, mut file: File) -> std::io::Result<()> {
    let mut framer = Framer::default();
    let mut buffer = vec![0; READ];
    let mut lines = Vec::new();
    let name = intake.name(None);
    loop {
        let count = file.read(&mut buffer).await?;
        let at = intake.clock.now();
        if count == 0 {
            let here = file.stream_position().await?;
            if file.metadata().await?.len() < here {
                file.rewind().await?;
                framer = Framer::default();
            }
            tokio::time::sleep(LOOK).await;
            continue;
        }
        intake.count(at, count);
        framer.push(&buffer[..count], |piece| lines.push(owned(piece)));
        for (line, too_long) in lines.drain(..) {
            intake.give(at, &name, line, too_long).await;
        }
    }
}

/// Reads standard input to its end.
pub(super) async fn stdin(intake: &Intake) {
    let (chunks_in, mut chunks) = mpsc::channel::<Vec<u8>>(CHUNKS_MAX);
    // A thread of its own: reading a terminal cannot be interrupted, and the program must be able to
    // stop all the same.
    let reading = std::thread::Builder::new().name("stdin".to_owned()).spawn(move || {
        let mut stdin = std::io::stdin().lock();
        let mut buffer = vec![0; READ];
        while let Ok(count @ 1..) = stdin.read(&mut buffer) {
            if chunks_in.blocking_send(buffer[..count].to_vec()).is_err() {
                return;
            }
        }
    });
    if let Err(error) = reading {
        return intake.watched.down(format!("cannot read standard input ({error})"));
    }
    intake.watched.up();
    let name = intake.name(None);
    let mut framer = Framer::default();
    let mut lines = Vec::new();
    let mut open = true;
    while open {
        let chunk = chunks.recv().await;
        let at = intake.clock.now();
        match &chunk {
            Some(chunk) => {
                intake.count(at, chunk.len());
                framer.push(chunk, |piece| lines.push(owned(piece)));
            }
            None => framer.end(|piece| lines.push(owned(piece))),
        }
        for (line, too_long) in lines.drain(..) {
            intake.give(at, &name, line, too_long).await;
        }
        open = chunk.is_some();
    }
    intake.watched.down("standard input has ended".to_owned());
    // Ended for good; the feed stays in the list and says so.
    std::future::pending::<()>().await;
}
