//! What the boats have to do with each other and with the safety boat: talks, tangles, rafting, help.

use super::{FourthWater, STEP_S, boat::Boat, happen::Ask, passage::Kind, stops};
use crate::{dice::Dice, plane::Vec2};

/// Share of the sessions with a talk.
const TALKS: f64 = 1.0 / 3.0;
/// A boat on a collision course looks up after so long, s; this near they are in each other's rigging, m.
const BLIND_S: f64 = 60.0;
const TOUCH_M: f64 = 4.0;
/// The safety boat has come when she is this near, m: near enough to help, and near enough for the truth.
const HELPS_M: f64 = 5.0;
const ATTENDS_M: f64 = 15.0;

/// The whole fleet is called together: from when, and until when they lie there.
#[derive(Clone, Debug)]
struct Talk {
    from_s: f64,
    until_s: f64,
}

impl Talk {
    fn draw(dice: &mut Dice) -> Option<Talk> {
        let (from_s, gathers_s) = (dice.between(600.0, 2_700.0), dice.between(60.0, 150.0));
        let lasts_s = dice.between(180.0, 360.0);
        dice.chance(TALKS).then_some(Talk { from_s, until_s: from_s + gathers_s + lasts_s })
    }
}

/// Who is to be fetched, who does not see whom.
#[derive(Clone, Debug, Default)]
pub(super) struct Company {
    talk: Option<Talk>,
    /// Capsized boats the safety boat will go to, and when.
    calls: Vec<(f64, usize)>,
    /// A boat, the one she does not see, and until when.
    blind: Vec<(usize, usize, f64)>,
}

impl Company {
    pub(super) fn draw(dice: &mut Dice) -> Company {
        Company { talk: Talk::draw(dice), ..Company::default() }
    }

    /// How long the talk that is on will still last, s.
    pub(super) fn talk_s(&self, t_s: f64) -> Option<f64> {
        let on = self.talk.as_ref().filter(|talk| (talk.from_s..talk.until_s - 20.0).contains(&t_s));
        on.map(|talk| talk.until_s - t_s)
    }

    /// Where the boat is that this one does not see.
    pub(super) fn unseen(&self, ix: usize, boats: &[Boat]) -> Option<Vec2> {
        let (_, other, _) = self.blind.iter().find(|pair| pair.0 == ix)?;
        boats.get(*other).map(|boat| boat.at)
    }
}

impl FourthWater {
    /// A boat asked for something, or went over in this step.
    pub(super) fn answer(&mut self, ix: usize, ask: Option<Ask>, went_over: bool) {
        let t_s = self.t_s();
        if went_over {
            let helpless = matches!(self.boats[ix].kind(), Some(Kind::Over(over)) if over.helpless);
            if helpless || self.dice.chance(self.habits.attends) {
                self.company.calls.push((t_s + self.dice.between(20.0, 150.0), ix));
            }
        }
        match ask {
            Some(Ask::Raft) if self.safety.is_free() => {
                self.safety.go(ix, true);
                let boat = &mut self.boats[ix];
                let passage = stops::hail(boat, &self.habits);
                boat.begin(passage, t_s);
            }
            Some(Ask::Way) => {
                let away_m = |other: usize| (self.boats[other].at - self.boats[ix].at).length();
                let others =
                    (0..self.boats.len()).filter(|other| *other != ix && self.boats[*other].is_sailing());
                let nearest = others.min_by(|a, b| away_m(*a).total_cmp(&away_m(*b)));
                self.company.blind.extend(nearest.map(|other| (ix, other, t_s + BLIND_S)));
            }
            _ => {}
        }
    }

    /// After all have sailed.
    pub(super) fn meet(&mut self) {
        let t_s = self.t_s();
        let (boats, dice) = (&mut self.boats, &mut self.dice);
        self.company.blind.retain(|&(ix, other, until_s)| {
            if !boats[ix].is_sailing() || t_s > until_s {
                return false;
            }
            let touch = (boats[ix].at - boats[other].at).length() < TOUCH_M;
            if touch && boats[other].is_sailing() {
                let lasts_s = dice.between(10.0, 60.0);
                for caught in [ix, other] {
                    let boat = &mut boats[caught];
                    boat.settle_side();
                    let passage = stops::tangle(boat, lasts_s);
                    boat.begin(passage, t_s);
                }
            }
            !touch
        });
        if self.safety.is_free()
            && let Some(lasts_s) = self.company.talk_s(t_s)
        {
            self.safety.talk(t_s + lasts_s);
        }
        let (boats, safety) = (&self.boats, &mut self.safety);
        self.company.calls.retain(|&(from_s, ix)| {
            let is_over = matches!(boats[ix].kind(), Some(Kind::Over(_)));
            let goes = is_over && t_s >= from_s && safety.may_leave();
            if goes {
                safety.go(ix, false);
            }
            is_over && !goes
        });
        self.safety.step(t_s, STEP_S, &self.boats, self.air, self.stream);
        if let Some(ix) = self.safety.rafts_with(&self.boats) {
            let boat = &mut self.boats[ix];
            if matches!(boat.kind(), Some(Kind::Hail)) {
                boat.settle_side();
                let passage = stops::raft(boat);
                boat.begin(passage, t_s);
            }
        }
        self.help(t_s);
    }

    /// Those who could not come up alone do so once she is there.
    fn help(&mut self, t_s: f64) {
        for (boat, noted) in self.boats.iter_mut().zip(&self.noted) {
            let away_m = (boat.at - self.safety.at).length();
            let Some(passage) = boat.passage.as_mut() else { continue };
            let Kind::Over(over) = &mut passage.kind else { continue };
            if over.helpless && away_m < HELPS_M {
                over.helpless = false;
                passage.lasts_s = t_s - boat.since_s + self.dice.between(15.0, 100.0);
            }
            let open = noted.capsize.filter(|_| away_m < ATTENDS_M);
            if let Some(capsize) = open.and_then(|at| self.truth.capsizes.get_mut(at)) {
                capsize.attended = true;
            }
        }
    }
}
