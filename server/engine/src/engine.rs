//! The stages in flow order. Read this first.

use crate::{
    effect::{Alert, Effect, WindNow},
    fleet::Boat,
    input::Input,
    limits::{CATCH_UP_TICKS_MAX, TICK_MS},
    moment::Moment,
    venue::Site,
    view::{BoatView, NeedView, StrangerView, StreamView},
};

/// What a session is about, checked by the shell.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Setup {
    /// The water.
    pub site: Site,
    /// The boats; [`crate::fleet::BoatIx`] is the place in this list.
    pub fleet: Vec<Boat>,
    /// The wind above which the session should not be afloat, m/s; `None`: no limit.
    pub wind_limit_mps: Option<f64>,
}

/// The watch over one session.
#[derive(Clone, Debug)]
pub struct Engine {
    setup: Setup,
    now: Moment,
    next_tick: Option<Moment>,
}

impl Engine {
    /// A watch that has heard nothing yet.
    pub fn new(setup: Setup) -> Engine {
        Engine { setup, now: Moment(i64::MIN), next_tick: None }
    }

    /// Takes one event in and gives what follows from it, after whatever the passing of time
    /// until `now` brought about by itself. A late `now` counts as the latest known: time here
    /// never goes back.
    #[must_use = "effects are the only way anything leaves the engine"]
    pub fn on(&mut self, now: Moment, input: Input) -> Vec<Effect> {
        let mut effects = Vec::new();
        self.pass_time(now, &mut effects);
        match input {
            Input::Line { .. } | Input::Report { .. } | Input::Command { .. } | Input::Wake => (),
        }
        effects
    }

    /// When the engine wants to be woken if nothing arrives before; `None` before the first event.
    pub fn next_wake(&self) -> Option<Moment> {
        self.next_tick
    }

    /// Runs the second-by-second rules that are due. They run at their own moments, whether the
    /// engine is woken for each of them or only by the next line: so a replay without wakes gives
    /// the same effects.
    fn pass_time(&mut self, now: Moment, effects: &mut Vec<Effect>) {
        let next = *self.next_tick.get_or_insert(Moment((now.0.div_euclid(TICK_MS) + 1) * TICK_MS));
        let mut due = next;
        let hole = now.ms_since(due) - CATCH_UP_TICKS_MAX * TICK_MS;
        while due <= now {
            self.now = self.now.max(due);
            self.tick(effects);
            due = due.plus_ms(TICK_MS);
            if hole > 0 && due.ms_since(next) >= CATCH_UP_TICKS_MAX * TICK_MS {
                due = Moment((now.0.div_euclid(TICK_MS) + 1) * TICK_MS);
            }
        }
        self.next_tick = Some(due);
        self.now = self.now.max(now);
    }

    fn tick(&mut self, effects: &mut Vec<Effect>) {
        let _ = effects;
    }

    /// What the session is about.
    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    /// Every boat, in fleet order.
    pub fn boats(&self) -> Vec<BoatView> {
        Vec::new()
    }

    /// Alerts that stand, and those that cleared lately, oldest first.
    pub fn alerts(&self) -> Vec<Alert> {
        Vec::new()
    }

    /// Who needs help, first first.
    pub fn needs(&self) -> Vec<NeedView> {
        Vec::new()
    }

    /// The wind; `None`: unknown.
    pub fn wind(&self) -> Option<WindNow> {
        None
    }

    /// The stream in force; `None`: unknown.
    pub fn stream(&self) -> Option<StreamView> {
        None
    }

    /// Sources that no boat claims.
    pub fn strangers(&self) -> Vec<StrangerView> {
        Vec::new()
    }
}
