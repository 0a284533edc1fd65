//! Feeds by a real serial line and by real standard input, and the name by real multicast: the program as
//! people start it.

use std::{
    io::{Read as _, Write as _},
    net::{Ipv4Addr, UdpSocket},
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};

use dunlin::journal;
use dunlin_engine::{input::Input, moment::Moment};
use mdns_sd::{HostnameResolutionEvent, ServiceDaemon};
use serial2_tokio::SerialPort;

/// Nothing here takes this long; a test that does has failed.
const LONG: Duration = Duration::from_secs(30);

fn sentence(second: u32) -> String {
    let body =
        format!("GPRMC,1200{second:02}.00,A,5006.0000,N,00500.{:04},W,05.0,090.0,010626,,,A", 9000 - second);
    let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
    format!("${body}*{sum:02X}\r\n")
}

/// The program, ended when this is dropped.
struct Program(Child);

impl Drop for Program {
    fn drop(&mut self) {
        // It may have ended by itself.
        drop(self.0.kill());
        drop(self.0.wait());
    }
}

/// Starts `dunlin serve` in `folder` with this feed.
fn serve(folder: &Path, feed: &str) -> Program {
    serve_with(folder, &format!("[[feed]]\nname = \"boat\"\n{feed}"), "127.0.0.1:0")
}

fn serve_with(folder: &Path, more: &str, listen: &str) -> Program {
    let config = format!("data = \"data\"\n\n{more}\n");
    std::fs::write(folder.join("dunlin.toml"), config).expect("written");
    let child = Command::new(env!("CARGO_BIN_EXE_dunlin"))
        .args(["serve", "--listen", listen, "--config", "dunlin.toml"])
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("started");
    Program(child)
}

/// The lines that the program has on disk so far.
fn recorded(folder: &Path) -> Vec<String> {
    let days = std::fs::read_dir(folder.join("data/days")).into_iter().flatten().flatten();
    let day: Option<PathBuf> = days.map(|entry| entry.path()).find(|path| journal::day_of(path).is_some());
    let mut lines = Vec::new();
    let each = |_: Moment, input: Input| {
        if let Input::Line { line, .. } = input {
            lines.push(String::from_utf8_lossy(&line).into_owned());
        }
    };
    if let Some(day) = day {
        // The file may be there and not be laid out yet.
        drop(journal::inputs_between(&day, 0, u64::MAX, &[], each));
    }
    lines
}

fn until_recorded(folder: &Path, program: &mut Program, wanted: &[String]) {
    let begun = Instant::now();
    while recorded(folder) != wanted {
        if begun.elapsed() > LONG {
            drop(program.0.kill());
            let mut said = String::new();
            let stderr = program.0.stderr.take();
            drop(stderr.map(|mut stderr| stderr.read_to_string(&mut said)));
            panic!("recorded {:?}, wanted {wanted:?}; the program said:\n{said}", recorded(folder));
        }
        std::thread::sleep(Duration::from_millis(50));
    }
}

#[test]
fn standard_input_is_read_and_its_end_does_not_end_the_watch() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = serve(folder.path(), "kind = \"stdin\"");
    let mut stdin = program.0.stdin.take().expect("piped");
    // In pieces that cut a sentence in two.
    let (one, two) = (sentence(0), sentence(1));
    stdin.write_all(format!("{one}{}", &two[..20]).as_bytes()).expect("open");
    stdin.flush().expect("open");
    std::thread::sleep(Duration::from_millis(200));
    stdin.write_all(&two.as_bytes()[20..]).expect("open");
    let lines = [one.trim_end().to_owned(), two.trim_end().to_owned()];
    until_recorded(folder.path(), &mut program, &lines);
    drop(stdin);
    std::thread::sleep(Duration::from_millis(500));
    assert!(program.0.try_wait().expect("known").is_none(), "the program ended with its standard input");
}

/// The pseudo-terminals that this process has open.
fn terminals() -> Vec<PathBuf> {
    let open = std::fs::read_dir("/proc/self/fd").into_iter().flatten().flatten();
    let links = open.filter_map(|entry| std::fs::read_link(entry.path()).ok());
    links.filter(|path| path.starts_with("/dev/pts") && path != Path::new("/dev/pts/ptmx")).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_serial_line_is_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let before = terminals();
    // A pair of pseudo-terminals: what is written to one end comes out of the other, as on a real line.
    let Ok((instrument, _adapter)) = SerialPort::pair() else {
        eprintln!("skipped: this system gives no pseudo-terminals");
        return;
    };
    let Some(device) = terminals().into_iter().find(|path| !before.contains(path)) else {
        eprintln!("skipped: this system does not tell the name of a pseudo-terminal");
        return;
    };
    let feed = format!("kind = \"serial\"\ndevice = \"{}\"\nbaud = 4800", device.display());
    let mut program = serve(folder.path(), &feed);
    let mut lines = Vec::new();
    for second in 0..5 {
        let line = sentence(second);
        lines.push(line.trim_end().to_owned());
        instrument.write_all(line.as_bytes()).await.expect("open");
    }
    tokio::task::block_in_place(|| until_recorded(folder.path(), &mut program, &lines));
}

/// The group of multicast DNS (RFC 6762, section 3).
const GROUP: Ipv4Addr = Ipv4Addr::new(224, 0, 0, 251);

/// Whether a datagram to the group comes back to this machine at all.
fn multicast_works() -> bool {
    let tried = || -> std::io::Result<bool> {
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0))?;
        socket.join_multicast_v4(&GROUP, &Ipv4Addr::UNSPECIFIED)?;
        socket.set_multicast_loop_v4(true)?;
        socket.set_read_timeout(Some(Duration::from_secs(2)))?;
        socket.send_to(b"dunlin", (GROUP, socket.local_addr()?.port()))?;
        let mut heard = [0; 16];
        Ok(socket.recv(&mut heard)? == 6)
    };
    tried().unwrap_or(false)
}

#[test]
fn the_name_is_found_by_multicast() {
    if !multicast_works() {
        eprintln!("skipped: nothing comes back from {GROUP} here");
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let name = format!("dunlin-test-{}", std::process::id());
    let _program = serve_with(folder.path(), &format!("[https]\nname = \"{name}\""), "0.0.0.0:0");
    let daemon = ServiceDaemon::new().expect("a socket");
    let host = format!("{name}.local.");
    let events = daemon.resolve_hostname(&host, Some(LONG.as_millis() as u64)).expect("asked");
    let found = loop {
        match events.recv_timeout(LONG).expect("an answer or its end") {
            HostnameResolutionEvent::AddressesFound(found, addresses) => break (found, addresses),
            HostnameResolutionEvent::SearchTimeout(host) => panic!("{host} was not found"),
            _ => continue,
        }
    };
    assert_eq!(found.0.to_lowercase(), host);
    assert!(!found.1.is_empty(), "a name without an address");
    drop(daemon.shutdown());
}
