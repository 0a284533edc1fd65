//! Fits the weights of signs (`server/engine/src/conditions/weights`) on the fitting season of every water.
//!
//! ```text
//! cargo run --release -p dunlin-tests --example weigh_signs -- sail DIR [WATER...]
//! cargo run --release -p dunlin-tests --example weigh_signs -- fit DIR blind > blind.rs
//! cargo run --release -p dunlin-tests --example weigh_signs -- unseen DIR WATER...
//! cargo run --release -p dunlin-tests --example weigh_signs -- seconds DIR [WATER...]
//! ```
//!
//! `sail` keeps the seconds to fit on in files, `fit` weighs each sign by itself (`lines.rs`) and what is left over in trees
//! of questions (`trees.rs`) or pairs of signs (`pairs.rs`), `unseen` tells how much of each of these waters is told by a fit
//! on all others. `seconds` keeps whole stops, second by second, for `seconds.py`, which fits nets over them.

mod lines;
mod pairs;
mod print;
mod rows;
mod sail;
mod seconds;
mod share;
mod trees;
mod unseen;

use std::{env, io, path::Path};

use share::{SHARES, Share};

const HOW: &str = "weigh_signs sail|seconds DIR [WATER...] | fit DIR blind|felt|sparse | unseen DIR WATER...";

fn main() -> io::Result<()> {
    let said: Vec<String> = env::args().skip(1).collect();
    let wrong = || io::Error::other(HOW);
    let (command, rest) = said.split_first().ok_or_else(wrong)?;
    let (dir, names) = rest.split_first().ok_or_else(wrong)?;
    let dir = Path::new(dir);
    let meant = |share: &&Share| names.iter().any(|water| water == share.water);
    match command.as_str() {
        "sail" => SHARES
            .iter()
            .filter(|share| names.is_empty() || meant(share))
            .try_for_each(|share| sail::sail_all(share, dir)),
        "seconds" => SHARES
            .iter()
            .filter(|share| names.is_empty() || meant(share))
            .try_for_each(|share| seconds::sail_all(share, dir)),
        "fit" => fit(dir, names.first().ok_or_else(wrong)?),
        "unseen" => SHARES.iter().filter(meant).try_for_each(|share| unseen::tell(share, dir)),
        _ => Err(wrong()),
    }
}

fn fit(dir: &Path, scale: &str) -> io::Result<()> {
    let about = match scale {
        "blind" => "Where no heel is told, or none to be believed.",
        "felt" => "Where heel can be believed.",
        "sparse" => "Where fixes come every few seconds and no heel is told.",
        _ => return Err(io::Error::other(HOW)),
    };
    let mut rows = Vec::new();
    for share in &SHARES {
        match scale {
            "blind" => rows.extend(share.blind(dir)?),
            _ if share.has_senses() => rows.extend(share.rows(dir, scale, (1, 1))?),
            _ => (),
        }
    }
    print::scale(about, &scale.to_uppercase(), rows);
    Ok(())
}
