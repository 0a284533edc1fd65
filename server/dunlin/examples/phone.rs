//! A phone on board, from the command line: sends the positions on standard input to `/feed`.
//!
//! ```sh
//! echo "50.1000 -5.0000
//! 50.1001 -5.0001" | cargo run -p dunlin --example phone -- ws://127.0.0.1:8080/feed KEY
//! ```
//!
//! Each line is a latitude and a longitude in degrees; each is sent as a fix taken now. The key is
//! the one in the boat's link or QR code, behind `#key=`.

use std::io::BufRead as _;

use dunlin::{clock::wall_ms, hub::phone_wire::PhoneFix, phone::Phone, stop};
use tokio::sync::mpsc;

#[tokio::main(flavor = "current_thread")]
async fn main() -> anyhow::Result<()> {
    let mut arguments = std::env::args().skip(1);
    let (Some(url), Some(key)) = (arguments.next(), arguments.next()) else {
        anyhow::bail!("usage: phone ws://HOST:PORT/feed KEY < POSITIONS");
    };
    let (fixes_in, fixes) = mpsc::channel(60);
    std::thread::spawn(move || {
        for line in std::io::stdin().lock().lines().map_while(Result::ok) {
            let mut numbers = line.split_whitespace().map(str::parse::<f64>);
            if let (Some(Ok(lat)), Some(Ok(lon))) = (numbers.next(), numbers.next()) {
                let fix = PhoneFix { t: wall_ms(), lat: Some(lat), lon: Some(lon), ..PhoneFix::default() };
                if fixes_in.blocking_send(fix).is_err() {
                    return;
                }
            } else {
                eprintln!("not a latitude and a longitude: {line}");
            }
        }
    });
    let (_stopper, stop) = stop::pair();
    // Numbers begin at 1 each time this starts, so each start is a run of its own.
    let run = format!("example-{}", wall_ms());
    Phone::new(url, key, run).run(fixes, stop).await?;
    Ok(())
}
