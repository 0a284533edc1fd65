//! What is written down as the truth of each boat of the second water.

use crate::{
    plane::{fold_180, kn},
    second::boat::{Air, Boat, Doing},
    truth::{CapsizeTruth, HeelSensor, ManoeuvreTruth, Reason, Silence, Truth},
};

/// Two turns within this of each other are a zigzag, which nobody can fairly be asked for, ms.
const ZIGZAG_MS: i64 = 20_000;
/// Silences shorter than this are not noted, ms.
const SILENCE_MS: i64 = 10_000;

/// What is written down of each boat while she sails.
#[derive(Clone, Debug, Default)]
pub(crate) struct Noted {
    /// Where in the truth her capsize stands; fixes due and come while she is over.
    pub(crate) capsize: Option<usize>,
    pub(crate) due: u32,
    pub(crate) came: u32,
    pub(crate) heard_ms: Option<i64>,
    /// The side she sails on, when she passed through the wind, and whether she did anything else since.
    side: f64,
    passed_ms: Option<i64>,
    spoiled: bool,
    before_deg: f64,
    /// Where in the truth her last turn stands.
    turn: Option<usize>,
}

impl Noted {
    /// Share of the fixes due while she was over that came.
    pub(crate) fn share_that_came(&self) -> f64 {
        f64::from(self.came) / f64::from(self.due.max(1))
    }
}

/// A silence since `since_ms`, heard to end at `now_ms` or, with `lasts`, not yet.
pub(crate) fn note_silence(truth: &mut Truth, boat: &Boat, since_ms: Option<i64>, now_ms: i64, lasts: bool) {
    let Some(start_ms) = since_ms.filter(|since_ms| now_ms - since_ms >= SILENCE_MS) else { return };
    let capsized = matches!(boat.doing, Doing::Over { .. } | Doing::Bailing);
    let end_ms = (!lasts).then_some(now_ms);
    truth.silences.push(Silence { boat: boat.id.clone(), start_ms, end_ms, capsized });
}

/// The end of a capsize, and the beginning of one.
pub(crate) fn note_capsize(
    truth: &mut Truth,
    noted: &mut Noted,
    boat: &Boat,
    before: Option<Reason>,
    now_ms: i64,
) {
    let open = noted.capsize.and_then(|ix| truth.capsizes.get_mut(ix));
    match (before, boat.doing.reason()) {
        (Some(Reason::Capsized), _) => {
            if let Some(capsize) = open {
                capsize.righted_ms = Some(now_ms);
                capsize.feed_alive = noted.share_that_came();
            }
        }
        (Some(Reason::Recovering), _) => {
            if let Some(capsize) = open {
                capsize.sailing_ms = Some(now_ms);
            }
            noted.capsize = None;
        }
        _ => (),
    }
    if let Doing::Over { through, .. } = &boat.doing {
        (noted.due, noted.came) = (0, 0);
        noted.capsize = Some(truth.capsizes.len());
        truth.capsizes.push(CapsizeTruth {
            boat: boat.id.clone(),
            start_ms: now_ms,
            righted_ms: None,
            sailing_ms: None,
            cause: "gust".to_owned(),
            quick: false,
            inverted: false,
            drill: false,
            feed_alive: 1.0,
            heel: HeelSensor::None,
            speed_before_kn: kn(through.length()),
            again: false,
            attended: false,
        });
    }
}

/// Tacks and gybes: the wind passed to the other side, and she settled there (20 degrees).
pub(crate) fn note_turn(truth: &mut Truth, noted: &mut Noted, boat: &Boat, air: Air, now_ms: i64) {
    let off_deg = boat.off_wind_deg(air);
    let side = off_deg.signum();
    noted.spoiled |= boat.doing.reason().is_some();
    let settled = (20.0..=171.0).contains(&off_deg.abs());
    if noted.side == 0.0 || (settled && side == noted.side) {
        if settled {
            (noted.side, noted.passed_ms, noted.before_deg) = (side, None, boat.heading_deg);
            noted.spoiled = boat.doing.reason().is_some();
        }
        return;
    }
    if side != noted.side {
        let crossed_ms = *noted.passed_ms.get_or_insert(now_ms);
        if settled {
            let kind = if off_deg.abs() < 90.0 { "tack" } else { "gybe" };
            let last = noted.turn.and_then(|ix| truth.manoeuvres.get_mut(ix));
            let zigzag = last.filter(|last| crossed_ms - last.settled_ms < ZIGZAG_MS);
            let unscored = noted.spoiled || zigzag.is_some();
            if let Some(last) = zigzag {
                last.unscored = true;
            }
            noted.turn = Some(truth.manoeuvres.len());
            truth.manoeuvres.push(ManoeuvreTruth {
                boat: boat.id.clone(),
                kind: kind.to_owned(),
                crossed_ms,
                settled_ms: now_ms,
                turn_deg: fold_180(boat.heading_deg - noted.before_deg),
                unscored,
            });
            (noted.side, noted.passed_ms, noted.before_deg) = (side, None, boat.heading_deg);
            noted.spoiled = boat.doing.reason().is_some();
        }
    }
}
