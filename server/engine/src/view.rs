//! What can be read of the engine at any moment, in the frames that the edges use.

use crate::{
    conditions::{Second, StopSeen},
    craft::Craft,
    effect::{Alert, Seen, Side, Standing},
    engine::Engine,
    fleet::{BoatIx, Role},
    input::AlertId,
    moment::Moment,
    needs::{self, Scene},
    units::{Bearing, Position},
};

/// A boat's own drift is measured over this long, s.
const DRIFT_OVER_S: f64 = 60.0;

/// One boat as believed at her newest fix. Nothing here is carried forward: its age is its own.
#[derive(Clone, Debug, PartialEq)]
pub struct BoatView {
    /// Whose.
    pub boat: BoatIx,
    /// Where, and when that was measured; `None`: never seen.
    pub seen: Option<Seen>,
    /// One standard deviation of the position, metres.
    pub sd_m: Option<f64>,
    /// Speed over the ground, m/s.
    pub speed_mps: Option<f64>,
    /// Course over the ground; `None` when too slow to say.
    pub course: Option<Bearing>,
    /// Heading, sensed or from the course.
    pub heading: Option<Bearing>,
    /// Heel, degrees, positive to starboard.
    pub heel_deg: Option<f64>,
    /// Signed true wind angle, -180..180, positive: wind on the starboard side.
    pub wind_angle_deg: Option<f64>,
    /// The side the sail is out on.
    pub sail: Option<Side>,
    /// In a word or two, to be shown: a point of sailing or a condition; never empty.
    pub doing: &'static str,
    /// Probability of capsize, 0..=1; `None` when it is not judged.
    pub p_capsize: Option<f64>,
    /// Where she stands in the head count.
    pub standing: Standing,
    /// Since when.
    pub standing_since: Moment,
    /// Who said so; `None`: her own track.
    pub standing_by: Option<String>,
    /// Persons aboard as last said.
    pub persons: u8,
    /// Battery of her tracker or phone, per cent.
    pub battery_pct: Option<f64>,
    /// When her feed was last heard at all; `None`: never.
    pub heard: Option<Moment>,
}

/// One place in the order of need.
#[derive(Clone, Debug, PartialEq)]
pub struct NeedView {
    /// The alert it is about.
    pub alert: AlertId,
    /// Whose; `None` for a beacon that no boat claims.
    pub boat: Option<BoatIx>,
    /// Why here, in words.
    pub why: String,
    /// Persons concerned.
    pub persons: u8,
    /// The way there for each tracked safety boat, shortest time first.
    pub ways: Vec<WayView>,
    /// Where she will be.
    pub drift: Vec<DriftView>,
}

/// How one safety boat gets to a boat in need.
#[derive(Clone, Debug, PartialEq)]
pub struct WayView {
    /// Which.
    pub safety: BoatIx,
    /// Now, metres.
    pub distance_m: f64,
    /// Now, from the safety boat.
    pub bearing: Bearing,
    /// Course to steer to meet the drifting boat; `None`: cannot be met at this speed.
    pub steer: Option<Bearing>,
    /// Seconds; `None`: cannot be met.
    pub time_s: Option<f64>,
    /// The speed assumed, m/s.
    pub speed_mps: f64,
}

/// An area in which a drifting boat or person will be with a probability of about 0.9.
#[derive(Clone, Debug, PartialEq)]
pub struct DriftView {
    /// Minutes ahead of now.
    pub minutes: f64,
    /// Closed outline.
    pub ring: Vec<Position>,
}

/// A source that no boat claims.
#[derive(Clone, Debug, PartialEq)]
pub struct StrangerView {
    /// A TAG source, a feed's name, or `mmsi:...`.
    pub source: String,
    /// What it calls itself.
    pub name: Option<String>,
    /// Where, and when.
    pub seen: Option<Seen>,
    /// When last heard.
    pub heard: Moment,
}

/// A source that a person has given to another boat than the fleet file does, or to none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AssignedView {
    /// A TAG source, a feed's name, or `mmsi:...`.
    pub source: String,
    /// Whom it speaks for now; `None`: nobody.
    pub boat: Option<BoatIx>,
    /// Whom it would speak for were that taken back; `None`: nobody.
    pub by_file: Option<BoatIx>,
}

/// The stream in force, over the ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StreamView {
    /// Where it goes to.
    pub towards: Bearing,
    /// m/s.
    pub speed_mps: f64,
    /// One standard deviation of each component, m/s.
    pub sd_mps: f64,
    /// Entered by a person, rather than estimated.
    pub entered: bool,
}

impl Engine {
    /// Every boat, in fleet order.
    pub fn boats(&self) -> Vec<BoatView> {
        self.crafts.iter().map(|craft| self.boat_view(craft)).collect()
    }

    /// The boat that a source speaks for; `None`: it is a stranger, or there is no such boat.
    pub fn boat_of(&self, source: &str) -> Option<BoatView> {
        let boat = self.claims.boat(source)?;
        self.crafts.get(usize::from(boat.0)).map(|craft| self.boat_view(craft))
    }

    /// Alerts that stand, and those that cleared lately, oldest first.
    pub fn alerts(&self) -> Vec<Alert> {
        let mut all: Vec<Alert> = self.alerts.cleared().chain(self.alerts.standing()).cloned().collect();
        all.sort_by_key(|alert| alert.id);
        all
    }

    /// Who needs help, first first.
    pub fn needs(&self) -> Vec<NeedView> {
        let Some(plane) = self.plane else { return Vec::new() };
        let craft = |boat: BoatIx| self.crafts.get(usize::from(boat.0));
        needs::order(&Scene {
            now: self.now,
            fleet: &self.setup.fleet,
            alerts: &self.alerts,
            motion: &|boat| {
                let track = &craft(boat)?.track;
                Some((track.at(self.now)?, track.drift_over(DRIFT_OVER_S)))
            },
            persons: &|boat| self.tally.entry(boat).map_or(0, |entry| entry.persons),
            beacon: &|mmsi| self.beacons.place(mmsi),
            push: self.push(),
            position: &|at| plane.position(at),
        })
    }

    /// The stream in force; `None`: unknown.
    pub fn stream(&self) -> Option<StreamView> {
        let stream = self.wind.stream()?;
        Some(StreamView {
            towards: stream.velocity.direction().unwrap_or(Bearing::NORTH),
            speed_mps: stream.velocity.speed_mps(),
            sd_mps: stream.sd_mps,
            entered: stream.by_hand,
        })
    }

    /// What the probability of a capsize is weighed from, of each dinghy that has lost her way.
    pub fn signs(&self) -> impl Iterator<Item = (BoatIx, Moment, &StopSeen)> {
        let crafts = self.crafts.iter().filter(|craft| craft.boat.role == Role::Dinghy);
        crafts.filter_map(|craft| craft.conditions.signs().map(|(at, seen)| (craft.ix, at, seen)))
    }

    /// The newest second of each dinghy as the nets over seconds are told of it.
    pub fn seconds(&self) -> impl Iterator<Item = (BoatIx, &Second)> {
        let crafts = self.crafts.iter().filter(|craft| craft.boat.role == Role::Dinghy);
        crafts.filter_map(|craft| craft.conditions.second().map(|second| (craft.ix, second)))
    }

    /// Sources that no boat claims.
    pub fn strangers(&self) -> Vec<StrangerView> {
        self.claims.strangers()
    }

    /// Sources that people have given to a boat, or taken from her.
    pub fn assigned(&self) -> Vec<AssignedView> {
        self.claims.by_hand(&self.setup.fleet)
    }

    fn boat_view(&self, craft: &Craft) -> BoatView {
        let motion = craft.track.motion();
        let entry = self.tally.entry(craft.ix);
        let tack = craft.sailing.tack();
        BoatView {
            boat: craft.ix,
            seen: motion.zip(self.plane).and_then(|(motion, plane)| {
                Some(Seen { position: plane.position(motion.position)?, taken: motion.at })
            }),
            sd_m: motion.map(|motion| motion.position_sd_m),
            speed_mps: motion.map(|motion| motion.speed_mps()),
            course: motion.and_then(|motion| motion.course),
            heading: motion.and_then(|motion| motion.heading),
            heel_deg: motion.and_then(|motion| motion.heel_deg),
            wind_angle_deg: craft.sailing.angle_deg(),
            // The sail is out on the side the wind does not come over.
            sail: tack.map(|side| match side {
                Side::Port => Side::Starboard,
                Side::Starboard => Side::Port,
            }),
            doing: self.doing(craft),
            p_capsize: (craft.boat.role == Role::Dinghy && motion.is_some())
                .then(|| craft.conditions.belief().capsized()),
            standing: self.tally.standing(craft.ix),
            standing_since: entry.and_then(|entry| entry.since).unwrap_or(Moment(0)),
            standing_by: entry.and_then(|entry| entry.by.clone()),
            persons: entry.map_or(craft.boat.crew, |entry| entry.persons),
            battery_pct: craft.track.battery_pct(),
            heard: craft.track.last_heard(),
        }
    }

    /// What to show for a boat, the plainest truth first: nothing unknown is shown as fine.
    fn doing(&self, craft: &Craft) -> &'static str {
        if !self.claims.is_claimed(craft.ix) {
            return "not tracked";
        }
        let Some(_) = craft.track.motion() else { return "not heard yet" };
        if craft.rules.is_silent() {
            return "no contact";
        }
        match (craft.boat.role, self.tally.standing(craft.ix)) {
            (Role::Station, _) => "mast",
            (Role::Safety, _) => "safety boat",
            (Role::Dinghy, Standing::StoodDown) => "stood down",
            (Role::Dinghy, Standing::Ashore | Standing::Returned) => "ashore",
            (Role::Dinghy, Standing::Landed) => "at the landing",
            (Role::Dinghy, Standing::Afloat) => match craft.sailing.point() {
                Some(point) if craft.makes_way() => point.word(),
                Some(_) | None => craft.conditions.belief().most_likely().word(),
            },
        }
    }
}
