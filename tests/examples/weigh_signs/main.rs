//! Fits the weights of signs (`server/engine/src/conditions/weights.rs`) on the fitting season of every water.
//!
//! ```text
//! cargo run --release -p dunlin-tests --example weigh_signs -- sail DIR [WATER...]
//! cargo run --release -p dunlin-tests --example weigh_signs -- fit DIR > server/engine/src/conditions/weights.rs
//! cargo run --release -p dunlin-tests --example weigh_signs -- unseen DIR WATER...
//! ```
//!
//! `sail` keeps the seconds to fit on in files, `fit` weighs each sign by itself (`lines.rs`) and what is left over
//! in pairs of signs (`pairs.rs`), `unseen` tells how much of each of these waters is told by a fit on all others.

mod lines;
mod pairs;
mod print;
mod rows;
mod sail;
mod share;
mod unseen;

use std::{env, io, path::Path};

use share::{SHARES, Share};

const HOW: &str = "weigh_signs sail DIR [WATER...] | fit DIR | unseen DIR WATER...";

fn main() -> io::Result<()> {
    let said: Vec<String> = env::args().skip(1).collect();
    let wrong = || io::Error::other(HOW);
    let (command, rest) = said.split_first().ok_or_else(wrong)?;
    let (dir, waters) = rest.split_first().ok_or_else(wrong)?;
    let dir = Path::new(dir);
    let meant = |share: &&Share| waters.iter().any(|water| water == share.water);
    match command.as_str() {
        "sail" => SHARES
            .iter()
            .filter(|share| waters.is_empty() || meant(share))
            .try_for_each(|share| sail::sail_all(share, dir)),
        "fit" => fit(dir),
        "unseen" => SHARES.iter().filter(meant).try_for_each(|share| unseen::tell(share, dir)),
        _ => Err(wrong()),
    }
}

fn fit(dir: &Path) -> io::Result<()> {
    let mut blind = Vec::new();
    for share in &SHARES {
        blind.extend(share.blind(dir)?);
    }
    print::head();
    print::scale("Where no heel is told, or none to be believed.", "BLIND", blind);
    for (kind, name, about) in [
        ("felt", "FELT", "Where heel can be believed."),
        ("sparse", "SPARSE", "Where fixes come every few seconds and no heel is told."),
    ] {
        for share in SHARES.iter().filter(|share| share.has_senses()) {
            print::scale(about, name, rows::read(&share.file(dir, kind), 1, 1)?);
        }
    }
    Ok(())
}
