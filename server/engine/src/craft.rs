//! Everything the engine keeps of one boat, and when a fix of hers is complete.

use crate::{
    conditions::{Condition, Conditions},
    drift::Push,
    fleet::{Boat, BoatIx, Role},
    moment::Moment,
    sailing::{Roundings, Sailing},
    tally::Tally,
    tracks::{Track, Update},
    venue::Venue,
    watch::{BoatRules, Context, heel_alone::HeelAlone},
};

/// One boat of the fleet with the state of every stage.
#[derive(Clone, Debug)]
pub(crate) struct Craft {
    pub(crate) ix: BoatIx,
    pub(crate) boat: Boat,
    pub(crate) track: Track,
    pub(crate) sailing: Sailing,
    pub(crate) roundings: Roundings,
    pub(crate) conditions: Conditions,
    pub(crate) rules: BoatRules,
    pub(crate) heel_alone: HeelAlone,
    pub(crate) epoch: Epoch,
    pub(crate) gybed: Option<Moment>,
    pub(crate) drill: bool,
    pub(crate) transponder: bool,
    /// Near where boats come ashore, by her newest fix.
    pub(crate) at_landing: bool,
}

impl Craft {
    pub(crate) fn new(ix: BoatIx, boat: Boat) -> Craft {
        Craft {
            ix,
            track: Track::new(boat.role),
            sailing: Sailing::new(ix),
            roundings: Roundings::new(ix),
            conditions: Conditions::new(boat.class.clone()),
            rules: BoatRules::default(),
            heel_alone: HeelAlone::default(),
            epoch: Epoch::default(),
            gybed: None,
            drill: false,
            transponder: false,
            at_landing: false,
            boat,
        }
    }

    /// Her rules, with what they may know of her.
    pub(crate) fn rules<'a>(
        &'a mut self,
        venue: &'a Venue,
        tally: &Tally,
        push: Push,
        back_by: Option<Moment>,
    ) -> (&'a mut BoatRules, Context<'a>) {
        let ctx = Context {
            boat: self.ix,
            role: self.boat.role,
            venue,
            standing: tally.standing(self.ix),
            stirring: tally.is_stirring(self.ix),
            motion: self.track.motion(),
            frozen_since: self.track.frozen_since(),
            transponder: self.transponder,
            track: &self.track,
            making_way: (self.boat.role == Role::Dinghy).then(|| self.makes_way_probability()),
            push,
            back_by,
        };
        (&mut self.rules, ctx)
    }

    /// Whether she may be sailing, as far as the belief goes: then her motion tells of the wind.
    pub(crate) fn may_sail(&self) -> bool {
        let belief = self.conditions.belief();
        let not_sailing = [Condition::Capsized, Condition::Towed, Condition::Rafted, Condition::Ashore];
        not_sailing.into_iter().map(|condition| belief.of(condition)).sum::<f64>() < 0.5
    }

    /// The probability that she makes way, under sail or in tow.
    fn makes_way_probability(&self) -> f64 {
        let belief = self.conditions.belief();
        let moving = [Condition::Sailing, Condition::Manoeuvring, Condition::Towed];
        moving.into_iter().map(|condition| belief.of(condition)).sum()
    }

    /// Whether she makes way under sail.
    pub(crate) fn makes_way(&self) -> bool {
        self.conditions.belief().most_likely().makes_way()
    }
}

/// The sentences of one instant (GGA, RMC, VTG) are one fix. A source tells by its habit how many
/// there are; the rules look at the fix when the last of them came, and at the latest at the next
/// tick, so that they never judge a position whose speed is still on its way.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Epoch {
    at: Option<Moment>,
    heard: u8,
    usual: u8,
    waiting: bool,
}

impl Epoch {
    /// Takes in what a statement did to the track whose newest motion is of `at`; `true` when the
    /// rules should look now.
    pub(crate) fn after(&mut self, update: Update, at: Moment) -> bool {
        match update {
            Update::Accepted | Update::Moved => (),
            Update::Held | Update::Frozen | Update::TooOld | Update::Noted => return false,
        }
        if self.at == Some(at) {
            self.heard = self.heard.saturating_add(1);
        } else {
            self.usual = self.heard;
            *self = Epoch { at: Some(at), heard: 1, ..*self };
        }
        self.waiting = self.heard < self.usual;
        self.heard == self.usual.max(1)
    }

    /// Whether a fix waits for sentences that did not come; asked at a tick, which ends the wait.
    pub(crate) fn give_up(&mut self) -> bool {
        std::mem::take(&mut self.waiting)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fix_is_looked_at_once_when_it_is_complete() {
        let mut epoch = Epoch::default();
        let looks: Vec<bool> = [(0, 2), (1, 2), (2, 2)]
            .into_iter()
            .flat_map(|(second, sentences)| std::iter::repeat_n(second, sentences))
            .map(|second| epoch.after(Update::Accepted, Moment(second * 1000)))
            .collect();
        // The first instant is looked at early: a source has no habit yet.
        assert_eq!(looks, [true, false, false, true, false, true]);
    }

    #[test]
    fn a_sentence_that_never_comes_is_not_waited_for_beyond_the_tick() {
        let mut epoch = Epoch::default();
        for at in [0, 0, 1000, 1000, 2000] {
            epoch.after(Update::Accepted, Moment(at));
        }
        assert!(epoch.give_up());
        assert!(!epoch.give_up());
    }
}
