//! What the receivers make of the world, on its way to whoever listens.

use std::cmp::Reverse;

use super::{Sailor, World};
use crate::{
    plane::{Vec2, fold_180, wrap_360},
    receiver::{Actual, Belief, Fate, Kit, Receiver},
    sentence,
    truth::{Frozen, Silence},
    weather::at_height,
};

/// Height of a safety boat's vane and of the mast ashore, m.
const VANE_HEIGHT_M: f64 = 2.5;
const MAST_HEIGHT_M: f64 = 8.0;
/// When a faulty mast begins to lie: someone walked into it, s.
pub(super) const MAST_LIES_FROM_S: f64 = 1500.0;
/// A boat's feed counts as silent after this many of its intervals without a line, at least 15 s.
const SILENT_INTERVALS: f64 = 4.0;

/// What one transmission says, as a phone's socket would carry it.
#[derive(Clone, Debug, PartialEq)]
pub struct Fix {
    /// When the receiver says it took it, Unix ms; its clock may be wrong.
    pub taken_ms: i64,
    /// Degrees.
    pub lat_deg: f64,
    /// Degrees.
    pub lon_deg: f64,
    /// 68 % radius, m.
    pub accuracy_m: f64,
    /// Over the ground, m/s.
    pub speed_mps: f64,
    /// Degrees true; `None` when stopped.
    pub course_deg: Option<f64>,
    /// Degrees true; `None` without a compass.
    pub heading_deg: Option<f64>,
    /// Positive to starboard; `None` without a sensor.
    pub heel_deg: Option<f64>,
    /// Help button: `Some(true)` pressed with this report.
    pub help: Option<bool>,
}

/// Something that arrived.
#[derive(Clone, Debug, PartialEq)]
pub struct Sent {
    /// When it arrived, Unix ms on a true clock.
    pub arrival_ms: i64,
    /// The source's name as the fleet file has it.
    pub source: String,
    /// The sentences, without TAG block and line end.
    pub lines: Vec<String>,
    /// The same as numbers; `None` for the mast and for AIS.
    pub fix: Option<Fix>,
}

/// A transmission on its way: ordered by arrival, then by the order it was made in.
#[derive(Clone, Debug)]
pub(super) struct OnAir {
    order: (i64, u64),
    craft: usize,
    sent: Sent,
}
impl PartialEq for OnAir {
    fn eq(&self, other: &OnAir) -> bool {
        self.order == other.order
    }
}
impl Eq for OnAir {}
impl PartialOrd for OnAir {
    fn partial_cmp(&self, other: &OnAir) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for OnAir {
    fn cmp(&self, other: &OnAir) -> std::cmp::Ordering {
        self.order.cmp(&other.order)
    }
}

impl World {
    fn actual(&self, i: usize) -> Actual {
        let dinghy = &self.sailors[i].dinghy;
        Actual {
            at: dinghy.at,
            velocity: dinghy.velocity,
            heading_deg: dinghy.heading_deg,
            heel_deg: dinghy.heel_deg,
            capsized: dinghy.is_capsized(),
        }
    }

    pub(super) fn receive(&mut self) {
        for i in 0..self.sailors.len() {
            if self.sailors[i].receiver.due(self.t_s) {
                self.receive_dinghy(i);
            }
        }
        for i in 0..self.safety.len() {
            if self.safety_receivers[i].due(self.t_s) {
                self.receive_safety(i);
            }
        }
        if let Some(mut mast) = self.mast.take() {
            if mast.due(self.t_s) {
                self.receive_mast(&mut mast);
            }
            self.mast = Some(mast);
        }
    }

    fn receive_dinghy(&mut self, i: usize) {
        let (t_s, start_ms, now) = (self.t_s, self.start_ms, self.now_ms());
        let actual = self.actual(i);
        let sailor = &mut self.sailors[i];
        let belief = sailor.receiver.believe(actual, start_ms, t_s);
        track_freeze(sailor, actual, now, &mut self.truth.frozen);
        let fate = sailor.receiver.send(actual.capsized, t_s);
        let arrives = matches!(fate, Fate::Arrives(_));
        if actual.capsized {
            sailor.fixes_due.0 += 1;
            sailor.fixes_due.1 += u32::from(arrives);
        }
        match fate {
            Fate::Lost => {}
            Fate::Held => {
                if sailor.held.len() < 120 {
                    sailor.held.push(belief);
                }
            }
            Fate::Arrives(after_ms) => {
                let late = std::mem::take(&mut sailor.held);
                let twice = sailor.receiver.doubles();
                let extra = sailor.receiver.dice.between(10.0, 1500.0) as i64;
                for (n, old) in late.iter().enumerate() {
                    self.transmit(i, old, now + after_ms + 5 * n as i64 - 600);
                }
                self.transmit(i, &belief, now + after_ms);
                if twice {
                    self.transmit(i, &belief, now + after_ms + extra);
                }
            }
        }
    }

    /// Puts one fix of a dinghy on the air.
    fn transmit(&mut self, i: usize, belief: &Belief, arrival_ms: i64) {
        let arrival_ms = arrival_ms.max(self.now_ms());
        let sailor = &mut self.sailors[i];
        let (lat, lon) = self.site.chart.lat_lon(belief.at);
        let mut lines = Vec::new();
        if let Kit::Ais { mmsi } = sailor.receiver.kit {
            lines.push(sentence::ais_class_b(&sentence::AisPosition {
                mmsi,
                lat,
                lon,
                speed_mps: belief.speed_mps,
                course_deg: belief.course_deg.unwrap_or(360.0),
                taken_ms: belief.taken_ms,
            }));
        } else {
            if sailor.receiver.says_gga() {
                let hdop = (belief.accuracy_m / 3.0).clamp(0.7, 6.0);
                lines.push(sentence::gga(
                    belief.taken_ms,
                    lat,
                    lon,
                    (14.0 - hdop * 2.0).max(4.0) as u32,
                    hdop,
                ));
            }
            lines.push(sentence::rmc(belief.taken_ms, lat, lon, belief.speed_mps, belief.course_deg));
            lines.extend(belief.heading_deg.map(sentence::hdt));
            lines.extend(belief.heel_deg.map(sentence::heel));
        }
        let fix = Fix {
            taken_ms: belief.taken_ms,
            lat_deg: lat,
            lon_deg: lon,
            accuracy_m: belief.accuracy_m,
            speed_mps: belief.speed_mps,
            course_deg: belief.course_deg,
            heading_deg: belief.heading_deg,
            heel_deg: belief.heel_deg,
            help: sailor.help.take(),
        };
        let source = sailor.receiver.source.clone();
        self.put_on_air(i, Sent { arrival_ms, source, lines, fix: Some(fix) });
    }

    pub(super) fn put_on_air(&mut self, craft: usize, sent: Sent) {
        self.made += 1;
        self.on_air.push(Reverse(OnAir { order: (sent.arrival_ms, self.made), craft, sent }));
    }

    fn receive_safety(&mut self, i: usize) {
        let boat = &self.safety[i];
        let actual = Actual {
            at: boat.at,
            velocity: boat.velocity,
            heading_deg: boat.heading_deg,
            heel_deg: 0.0,
            capsized: false,
        };
        let (from, wind10) = self.weather.wind10(boat.at);
        let receiver = &mut self.safety_receivers[i];
        let belief = receiver.believe(actual, self.start_ms, self.t_s);
        let Fate::Arrives(after_ms) = receiver.send(false, self.t_s) else { return };
        let (lat, lon) = self.site.chart.lat_lon(belief.at);
        let heading = belief.heading_deg.unwrap_or(0.0);
        let mut lines = vec![
            sentence::gga(belief.taken_ms, lat, lon, 11, 0.9),
            sentence::rmc(belief.taken_ms, lat, lon, belief.speed_mps, belief.course_deg),
            sentence::hdt(heading),
        ];
        if receiver.kit == (Kit::Powered { vane: true }) {
            let wind = Vec2::along(from + 180.0, wind10 * at_height(VANE_HEIGHT_M));
            let apparent = wind - boat.velocity;
            let angle = fold_180(
                apparent.bearing_deg() + 180.0 - boat.heading_deg
                    + receiver.vane_bias_deg
                    + 4.0 * receiver.dice.normal(),
            );
            let speed = (apparent.length() * (1.0 + 0.06 * receiver.dice.normal())).max(0.0);
            lines.push(sentence::mwv_relative(wrap_360(angle), speed));
        }
        let fix = Fix {
            taken_ms: belief.taken_ms,
            lat_deg: lat,
            lon_deg: lon,
            accuracy_m: belief.accuracy_m,
            speed_mps: belief.speed_mps,
            course_deg: belief.course_deg,
            heading_deg: belief.heading_deg,
            heel_deg: None,
            help: None,
        };
        let sent = Sent {
            arrival_ms: self.start_ms + (self.t_s * 1000.0) as i64 + after_ms / 4,
            source: receiver.source.clone(),
            lines,
            fix: Some(fix),
        };
        self.put_on_air(usize::MAX, sent);
    }

    fn receive_mast(&mut self, mast: &mut Receiver) {
        let (from, wind10) = self.weather.wind10(self.site.mast);
        let lies = if self.t_s > MAST_LIES_FROM_S { self.plan.instruments.mast_fault_deg } else { 0.0 };
        let from = wrap_360(from + mast.vane_bias_deg * 0.5 + lies + 4.0 * mast.dice.normal());
        let speed = (wind10 * at_height(MAST_HEIGHT_M) * (1.0 + 0.05 * mast.dice.normal())).max(0.0);
        let (lat, lon) = self.site.chart.lat_lon(self.site.mast);
        let now = self.now_ms();
        let mut lines = vec![sentence::mwd(from, speed)];
        if (self.t_s as u64).is_multiple_of(30) {
            lines.insert(0, sentence::rmc(now, lat, lon, 0.0, None));
        }
        let delay = mast.dice.between(50.0, 300.0) as i64;
        self.put_on_air(
            usize::MAX,
            Sent { arrival_ms: now + delay, source: mast.source.clone(), lines, fix: None },
        );
    }

    pub(super) fn arrivals(&mut self) -> Vec<Sent> {
        let now = self.now_ms();
        let mut arrived = Vec::new();
        while self.on_air.peek().is_some_and(|next| next.0.order.0 <= now) {
            let Some(Reverse(next)) = self.on_air.pop() else { break };
            self.note_arrival(next.craft, next.sent.arrival_ms);
            arrived.push(next.sent);
        }
        arrived
    }

    fn note_arrival(&mut self, craft: usize, arrival_ms: i64) {
        let Some(sailor) = self.sailors.get_mut(craft) else { return };
        let last = sailor.last_arrival_ms.replace(arrival_ms);
        let Some(last) = last else { return };
        if silent(last, arrival_ms, sailor.receiver.interval_s) {
            let capsized = sailor.dinghy.is_capsized() || sailor.ever_capsized_until_ms >= last;
            self.truth.silences.push(Silence {
                boat: sailor.id.clone(),
                start_ms: last,
                end_ms: Some(arrival_ms),
                capsized,
            });
        }
    }
}

/// Whether two arrivals are so far apart that the feed counts as silent between them.
pub(super) fn silent(last_ms: i64, next_ms: i64, interval_s: f64) -> bool {
    (next_ms - last_ms) as f64 / 1000.0 >= (SILENT_INTERVALS * interval_s).max(15.0)
}

/// Notes when a tracker begins and ends repeating itself, and how far the boat really went.
fn track_freeze(sailor: &mut Sailor, actual: Actual, now: i64, done: &mut Vec<Frozen>) {
    match (&mut sailor.frozen, sailor.receiver.is_frozen()) {
        (None, true) => sailor.frozen = Some((now, actual.at, 0.0)),
        (Some((_, last, moved_m)), true) => {
            *moved_m += (actual.at - *last).length();
            *last = actual.at;
        }
        (Some((start_ms, _, moved_m)), false) => {
            done.push(Frozen {
                boat: sailor.id.clone(),
                start_ms: *start_ms,
                end_ms: now,
                moved_m: *moved_m,
            });
            sailor.frozen = None;
        }
        (None, false) => {}
    }
}
