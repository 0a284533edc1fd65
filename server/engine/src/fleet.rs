//! Who is on the water: what the set-up file says of each boat, checked.

use crate::units::mps_from_kn;

/// A boat's place in the fleet list; stable for a session.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BoatIx(pub u16);

/// What a craft is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A boat under watch.
    Dinghy,
    /// A powered boat that helps others.
    Safety,
    /// A fixed wind mast.
    Station,
}

/// What a class of dinghy can do; used to expect a speed, never to judge a crew.
#[derive(Clone, Debug, PartialEq)]
pub struct Class {
    /// The class as the centre calls it; empty when not given.
    pub name: String,
    /// Length on the waterline, metres.
    pub waterline_m: f64,
    /// Usual speed close-hauled in a moderate wind (about 5 m/s), m/s.
    pub beating_mps: f64,
    /// Usual speed on a reach in a moderate wind, m/s.
    pub reaching_mps: f64,
    /// Usual speed on a run in a moderate wind, m/s.
    pub running_mps: f64,
}

impl Default for Class {
    /// A 3.8 m waterline training dinghy; speeds from `detection.md` (f), marked there "from memory".
    fn default() -> Class {
        Class {
            name: String::new(),
            waterline_m: 3.8,
            beating_mps: mps_from_kn(3.0),
            reaching_mps: mps_from_kn(4.0),
            running_mps: mps_from_kn(3.3),
        }
    }
}

/// One craft as the fleet file describes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Boat {
    /// What is painted on her: "07".
    pub id: String,
    /// A name beside the number, if she has one.
    pub name: Option<String>,
    /// What she is for.
    pub role: Role,
    /// TAG-block sources or feed names that speak for her; empty when none.
    pub sources: Vec<String>,
    /// Her AIS identity, if she carries a transponder.
    pub mmsi: Option<u32>,
    /// Persons aboard as planned.
    pub crew: u8,
    /// Her class.
    pub class: Class,
}

impl Boat {
    /// Whether anything could ever report her position.
    pub fn has_feed(&self) -> bool {
        !self.sources.is_empty() || self.mmsi.is_some()
    }
}
