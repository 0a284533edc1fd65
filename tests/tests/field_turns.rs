//! Tacks and gybes of real boats against the notes beside the recordings. Those counts were made
//! by other programs and are good to some 15 % (as the notes say).
#![allow(clippy::unwrap_used)]

use dunlin_engine::effect::Turn;
use dunlin_tests::{
    afternoon::{logged, moment, reported},
    field::recording,
};

#[test]
fn a_single_hander_tacks_up_a_harbour_without_any_instrument() {
    // Counted with the wind known throughout; here it has to be found from the track first.
    for (file, tacks, gybes) in [
        ("toronto-laser-dinghy/2023-05-30.csv", 58, 15),
        ("toronto-laser-dinghy/2023-06-20.csv", 52, 16),
        ("toronto-dinghy-evenings/2023-07-14.csv", 34, 12),
    ] {
        let Some(csv_text) = recording(file) else { continue };
        let said = reported(&csv_text);
        let (told_tacks, told_gybes) = (said.count(Turn::Tack), said.count(Turn::Gybe));
        println!("{file}: {told_tacks} tacks, {told_gybes} gybes");
        assert!((tacks * 6 / 10..=tacks * 12 / 10).contains(&told_tacks), "{file}: {told_tacks} tacks");
        assert!((gybes * 5 / 10..=gybes * 15 / 10).contains(&told_gybes), "{file}: {told_gybes} gybes");
    }
}

#[test]
fn a_keelboat_with_a_vane_makes_the_seven_tacks_and_the_gybe_of_her_notes() {
    let Some(log) = recording("helsinki-yacht-wind/morning.nmea") else { return };
    let said = logged(&log);
    for (turn, clock) in [
        (Turn::Gybe, "08:32:13"),
        (Turn::Tack, "09:04:28"),
        (Turn::Tack, "09:05:47"),
        (Turn::Tack, "09:14:54"),
        (Turn::Tack, "09:20:19"),
        (Turn::Tack, "09:22:28"),
        (Turn::Tack, "09:33:25"),
        (Turn::Tack, "09:33:49"),
    ] {
        let at = moment(&format!("2010-05-15T{clock}"));
        // She bore away through dead downwind so slowly that the gybe's moment is a matter of degrees.
        let allowed = if turn == Turn::Gybe { -60_000..=60_000 } else { -10_000..=15_000 };
        let hit =
            said.manoeuvres.iter().any(|told| told.turn == turn && allowed.contains(&told.at.ms_since(at)));
        assert!(hit, "{turn:?} at {clock} is missing among {:?}", said.manoeuvres);
    }
    // From the gybe on nothing but these.
    let from = moment("2010-05-15T08:30:00");
    let after: Vec<_> = said.manoeuvres.iter().filter(|told| told.at >= from).collect();
    assert!(after.len() <= 8, "{after:?}");
}
