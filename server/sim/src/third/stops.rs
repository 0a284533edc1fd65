//! A dinghy that does not sail on: what her crew do with helm and sheets meanwhile.

use crate::{
    dice::Wander,
    plane::{Vec2, fold_180},
    third::{
        boat::{Around, Boat},
        doing::{Doing, HeaveTo, Wait, Way},
        hull::{Hands, sheet_for},
        safety::BESIDE_M,
    },
};

impl Boat {
    /// A step of a stop that has helm and sheets.
    pub(super) fn lie(&mut self, around: &Around<'_>) {
        let hands = match self.doing.clone() {
            Doing::Waiting(wait) => self.waiting(&wait, around),
            Doing::HoveTo(how) => self.hove_to(how, around),
            Doing::PickUp { .. } => self.held(self.side * 30.0, 1.0, 0.4, around),
            Doing::Irons { side } => self.backing_out(side, around),
            Doing::Losing => self.held(self.side * 70.0, 1.0, 0.5, around),
            Doing::Recovering { sheets_in: false } => {
                Hands { helm: 0.3 * self.side, sheet: 1.0, sheet_per_s: 0.5, push_n: 6.0, ..Hands::default() }
            }
            Doing::Recovering { sheets_in: true } => {
                let (_, beta_deg) = self.hull.felt(around.air, around.stream);
                let sheet = sheet_for(beta_deg, 18.0);
                self.held(self.side * 85.0, sheet, self.crew.sheet_per_s, around)
            }
            _ => Hands::default(),
        };
        self.hull.step(around.step_s, around.air, around.stream, &hands);
    }

    /// Helm for an angle off the wind, sheet as given.
    fn held(&mut self, off_deg: f64, sheet: f64, sheet_per_s: f64, around: &Around<'_>) -> Hands {
        let want_deg = around.air.from_deg - off_deg;
        let helm = self.crew.helm(&self.hull, want_deg, around.t_s, around.step_s, &mut self.dice);
        Hands { helm, sheet, sheet_per_s, ..Hands::default() }
    }

    fn waiting(&mut self, wait: &Wait, around: &Around<'_>) -> Hands {
        let since_s = around.t_s - self.since_s;
        let now_deg = self.off_deg(around.air).abs();
        // Let fly, she keeps her course, unless the boom cannot go out far enough for the sails to flap.
        let off_deg =
            if wait.gently_s > 0.0 || now_deg > 80.0 || since_s > 15.0 { wait.off_deg } else { now_deg };
        let sheet_per_s = if wait.gently_s > 0.0 { 1.0 / wait.gently_s } else { 0.9 };
        let (_, beta_deg) = self.hull.felt(around.air, around.stream);
        let sheet = match wait.way {
            Way::Creep if since_s > wait.gently_s => sheet_for(beta_deg, 5.0),
            _ => 1.0,
        };
        let mut hands = self.held(self.side * off_deg, sheet, sheet_per_s, around);
        let slow = self.hull.ahead_mps() < 0.4;
        match wait.way {
            Way::Back if slow => {
                hands.push_n = -5.0 * around.air.mps.min(7.0);
                // Boom out to one side steers her as well.
                hands.helm = -hands.helm;
            }
            Way::Scull if slow => {
                let beat = (0.5 * around.t_s).sin();
                hands.push_n = 22.0 * beat.max(0.0);
                hands.balanced_deg = Some(self.side * wait.off_deg + 6.0 * (1.1 * around.t_s).sin());
            }
            _ => {}
        }
        hands
    }

    fn hove_to(&mut self, mut how: HeaveTo, around: &Around<'_>) -> Hands {
        let since_s = around.t_s - self.since_s;
        let wander_deg = how.wander.step(around.step_s, &mut self.dice);
        let phase = std::f64::consts::TAU * since_s / how.period_s;
        let off_deg = (how.off_deg + how.swing_deg * phase.sin() + wander_deg).clamp(25.0, 88.0);
        let (_, beta_deg) = self.hull.felt(around.air, around.stream);
        let hands = Hands {
            sheet: sheet_for(beta_deg, how.attack_deg),
            sheet_per_s: 0.4,
            aback: Some(self.side),
            balanced_deg: Some(self.side * off_deg),
            ..Hands::default()
        };
        self.doing = Doing::HoveTo(how);
        hands
    }

    /// First nothing useful; then helm the other way and the jib aback until she falls off.
    fn backing_out(&mut self, side: f64, around: &Around<'_>) -> Hands {
        let off_deg = self.off_deg(around.air);
        if around.t_s < self.until_s {
            // They keep pushing the helm the way it did not work, and back and forth.
            let helm = 0.6 * (0.9 * around.t_s).sin();
            let keeps = -0.004 * off_deg * around.air.mps;
            self.hull.turn_dps -= keeps * around.step_s * 4.0;
            return Hands { helm, sheet: 0.35, sheet_per_s: 0.2, ..Hands::default() };
        }
        // To make `off` grow towards `side` she turns against it; going astern the helm works the other way.
        let turn = if self.hull.ahead_mps() < 0.0 { side } else { -side };
        Hands {
            helm: turn,
            sheet: 0.8,
            sheet_per_s: 0.4,
            aback: (off_deg * side < 45.0).then_some(side),
            push_n: -4.0,
            ..Hands::default()
        }
    }

    /// Made fast alongside: she goes where the safety boat goes.
    pub(super) fn raft(&mut self, to: usize, around: &Around<'_>) {
        let Some(&(at, velocity, heading_deg)) = around.safety.get(to) else { return };
        let berth = at + Vec2::along(heading_deg + 90.0, BESIDE_M);
        let pull = (berth - self.hull.at) * 0.25;
        let pull = pull.unit() * pull.length().min(0.6);
        let ground = velocity + pull;
        self.hull.through = ground - around.stream;
        self.hull.at += ground * around.step_s;
        let turn_deg = fold_180(heading_deg - self.hull.heading_deg);
        self.hull.turn_dps = (0.1 * turn_deg).clamp(-6.0, 6.0);
        self.hull.heading_deg =
            crate::plane::wrap_360(self.hull.heading_deg + self.hull.turn_dps * around.step_s);
        self.hull.sheet = 1.0;
    }

    pub(super) fn draw_wait(&mut self, way: usize, lets_fly: f64, for_safety: bool) -> Wait {
        let dice = &mut self.dice;
        let (way, off_deg) = match way {
            0 => (Way::Back, dice.between(12.0, 40.0)),
            1 => (Way::Lie, dice.between(50.0, 85.0)),
            2 => (Way::Creep, dice.between(48.0, 75.0)),
            _ => (Way::Scull, dice.between(10.0, 50.0)),
        };
        let gently_s = if dice.chance(lets_fly) { 0.0 } else { dice.between(6.0, 10.0) };
        Wait { way, gently_s, off_deg, for_safety }
    }

    pub(super) fn draw_heave_to(&mut self) -> HeaveTo {
        let dice = &mut self.dice;
        HeaveTo {
            off_deg: dice.between(48.0, 72.0),
            swing_deg: dice.between(5.0, 10.0),
            period_s: dice.between(9.0, 32.0),
            attack_deg: dice.between(3.0, 7.5),
            wander: Wander::new(4.0, 12.0, dice),
        }
    }
}
