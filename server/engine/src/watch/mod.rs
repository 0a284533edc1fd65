//! The rules of one boat: area, no-go zones, contact, tracker. One small state machine each.

pub mod approach;
pub mod contact;
pub mod declared;
pub mod doubled;
pub mod heel_alone;
pub mod latch;
mod leap;
pub mod line;
pub mod session;
pub mod words;

use crate::{
    alerts::{Alerts, Claim, Topic},
    drift::Push,
    effect::{AlertKind, Level, Standing},
    fleet::{BoatIx, Role},
    moment::Moment,
    tracks::{Motion, Track},
    units::Local,
    venue::{Margin, Venue},
};
use approach::Approach;
use contact::{Contact, Silence, TABLE_MPS, Voice};
use doubled::Doubled;
use leap::Leap;
use line::{Clearance, Line, Over};

/// How long after leaving a landing place outside the sailing area a boat may take to reach it, ms.
/// Common practice, no source.
const LAUNCH_MS: i64 = 300_000;

/// Farther than this from a line no position's error and no hysteresis matter, metres.
const FAR_M: f64 = 30.0;

/// Silence after which lost contact is an alarm by itself, ms: what a crew may be through meanwhile
/// is the cold shock of the first three minutes (Transport Canada TP 13822).
const LOST_ALARM_MS: i64 = 180_000;

/// A feed that said anything within this speaks, even if it gives no position, ms.
const SPEAKS_MS: i64 = 10_000;

/// How long a tracker that the track calls frozen has to have been so before it is said, ms. It has
/// to be known within 60 s.
const FROZEN_MS: i64 = 20_000;

/// What the rules may know of one boat at one moment.
#[derive(Clone, Copy, Debug)]
pub struct Context<'a> {
    /// Whose.
    pub boat: BoatIx,
    /// What she is for.
    pub role: Role,
    /// The water.
    pub venue: &'a Venue,
    /// Where she stands in the head count.
    pub standing: Standing,
    /// Whether she counts as ashore but has moved from where she lay.
    pub stirring: bool,
    /// The motion as of the newest fix; `None` before the first.
    pub motion: Option<&'a Motion>,
    /// Since when her tracker repeats one position; `None` while it does not.
    pub frozen_since: Option<Moment>,
    /// Whether her newest position came by AIS, whose transponders speak seldom.
    pub transponder: bool,
    /// Her track.
    pub track: &'a Track,
    /// Probability that she makes way, under sail or otherwise, 0..=1; `None`: not judged.
    pub making_way: Option<f64>,
    /// Wind and stream, as far as known.
    pub push: Push,
    /// When everyone is expected back; `None`: no such time.
    pub back_by: Option<Moment>,
}

impl Context<'_> {
    fn topic(&self, kind: AlertKind) -> Topic {
        Topic::of(self.boat, kind)
    }

    /// Whether boundaries are there for her.
    fn is_watched_dinghy(&self) -> bool {
        self.is_out() && self.role == Role::Dinghy
    }

    /// Whether her whereabouts are the watch's business.
    fn is_out(&self) -> bool {
        match self.standing {
            Standing::Afloat => true,
            Standing::Ashore | Standing::Landed | Standing::Returned | Standing::StoodDown => false,
        }
    }
}

/// The state of every rule for one boat.
#[derive(Clone, Copy, Debug, Default)]
pub struct BoatRules {
    outside: Line,
    outside_clear: Clearance,
    no_go: Line,
    no_go_clear: Clearance,
    silence: Silence,
    approach: Approach,
    doubled: Doubled,
    leap: Leap,
    /// The last fix at a landing place.
    at_landing: Option<Moment>,
    /// Whether she has been in the sailing area since she went afloat.
    been_inside: bool,
}

impl BoatRules {
    /// A fix was believed; `ctx.motion` is the motion after it.
    pub fn on_fix(&mut self, now: Moment, ctx: &Context, alerts: &mut Alerts) {
        let at_ease = ctx.motion.is_some_and(|motion| motion.speed_mps() <= TABLE_MPS);
        self.silence.on_report(
            now,
            match ctx.transponder {
                true if at_ease => Voice::Transponder,
                true => Voice::FastTransponder,
                false => Voice::Other,
            },
        );
        let Some(motion) = ctx.motion else { return };
        self.leap.look(motion);
        self.watch_area(now, motion, ctx, alerts);
        self.watch_no_go(now, motion, ctx, alerts);
    }

    /// A report of hers came, whatever the track then makes of it: repeated, too old, or out of reach,
    /// it still shows that her feed lives.
    pub fn on_heard(&mut self, now: Moment, transponder: bool) {
        self.silence.on_report(now, if transponder { Voice::FastTransponder } else { Voice::Other });
    }

    /// A position came in her name, before it was judged or fused with others.
    pub fn on_claim(&mut self, taken: Moment, at: Local) {
        self.doubled.on_claim(taken, at);
    }

    /// A second passed.
    pub fn on_tick(&mut self, now: Moment, ctx: &Context, alerts: &mut Alerts) {
        self.silence.on_tick(now, ctx.transponder);
        self.watch_contact(now, ctx, alerts);
        if !self.leap.is_fresh(now) {
            self.approach.on_tick(now, ctx, alerts);
        }
        self.watch_claims(now, ctx, alerts);
        watch_tracker(now, ctx, alerts);
        watch_clock(now, ctx, alerts);
    }

    /// When she was last heard; `None`: never.
    pub fn heard(&self) -> Option<Moment> {
        self.silence.last()
    }

    /// Whether she is silent beyond her source's habit.
    pub fn is_silent(&self) -> bool {
        matches!(self.silence.state(), Contact::Lost { .. })
    }

    fn watch_area(&mut self, now: Moment, motion: &Motion, ctx: &Context, alerts: &mut Alerts) {
        let topic = ctx.topic(AlertKind::OutsideArea);
        if !ctx.is_watched_dinghy() {
            self.outside = Line::default();
            self.been_inside = false;
            return alerts.release(now, topic, "not afloat");
        }
        if self.outside.is_quiet() && self.outside_clear.exceeds(motion.position, FAR_M) {
            return;
        }
        let Some(margin) = ctx.venue.allowed_margin(motion.position) else { return };
        self.outside_clear.note(motion.position, margin.signed_m);
        if !self.is_watched_outside(motion, ctx) {
            self.outside = Line::default();
            return alerts.release(now, topic, "on her way out from the landing place");
        }
        let was_over = self.outside.over().is_some();
        if !was_over && self.leap.is_fresh(motion.at) {
            return;
        }
        self.outside.look(motion.at, -margin.signed_m, motion.position_sd_m);
        // A drift that was foretold is told on as that until it is beyond doubt what it has become.
        let foretold = alerts.about(ctx.topic(AlertKind::DriftingOut)).is_some();
        match self.outside.over() {
            Some(over) if over.sure || was_over || !foretold => {
                let level = if over.sure { Level::Warning } else { Level::Caution };
                alerts.hold(now, topic, fact(level, over.since), || outside_words(margin, motion, over));
            }
            None if was_over => {
                let back = format!("{:.0} m back inside the sailing area", margin.signed_m);
                alerts.release(now, topic, &back);
            }
            Some(_) | None => (),
        }
    }

    /// Outside she is watched unless she is on her first way from a landing place to an area that does
    /// not reach it.
    fn is_watched_outside(&mut self, motion: &Motion, ctx: &Context) -> bool {
        if ctx.venue.in_area(motion.position) {
            self.been_inside = true;
        } else if ctx.venue.in_landing(motion.position) {
            self.at_landing = Some(motion.at);
        }
        let launching = self.at_landing.is_some_and(|left| motion.at.ms_since(left) < LAUNCH_MS);
        self.been_inside || !launching
    }

    fn watch_no_go(&mut self, now: Moment, motion: &Motion, ctx: &Context, alerts: &mut Alerts) {
        let topic = ctx.topic(AlertKind::NoGo);
        if !ctx.is_watched_dinghy() {
            self.no_go = Line::default();
            return alerts.release(now, topic, "not afloat");
        }
        if self.no_go.is_quiet() && self.no_go_clear.exceeds(motion.position, FAR_M) {
            return;
        }
        let Some((margin, name)) = ctx.venue.no_go_margin(motion.position) else { return };
        self.no_go_clear.note(motion.position, -margin.signed_m);
        let was_over = self.no_go.over().is_some();
        if !was_over && self.leap.is_fresh(motion.at) {
            return;
        }
        self.no_go.look(motion.at, margin.signed_m, motion.position_sd_m);
        let foretold = alerts.about(ctx.topic(AlertKind::NearingNoGo)).is_some();
        match self.no_go.over() {
            Some(over) if over.sure || was_over || !foretold => {
                let level = if over.sure { Level::Alarm } else { Level::Caution };
                alerts.hold(now, topic, fact(level, over.since), || no_go_words(margin, name, motion, over));
            }
            None if was_over => {
                alerts.release(now, topic, &format!("{:.0} m clear of {name}", -margin.signed_m));
            }
            Some(_) | None => (),
        }
    }

    fn watch_claims(&mut self, now: Moment, ctx: &Context, alerts: &mut Alerts) {
        let topic = ctx.topic(AlertKind::DoubledSource);
        let apart_m = self.doubled.on_tick(now);
        match (self.doubled.since(), apart_m) {
            (Some(since), Some(apart_m)) => {
                alerts.hold(now, topic, fact(Level::Caution, since), || {
                    vec![format!("two places {apart_m:.0} m apart both report as her")]
                });
            }
            (Some(_), None) => (),
            (None, _) => alerts.release(now, topic, "one place reports as her again"),
        }
    }

    fn watch_contact(&self, now: Moment, ctx: &Context, alerts: &mut Alerts) {
        let topic = ctx.topic(AlertKind::LostContact);
        let since = match self.silence.state() {
            Contact::Lost { since } if ctx.is_out() || ctx.stirring => since,
            Contact::Back { .. } if ctx.is_out() || ctx.stirring => return,
            Contact::Lost { .. } | Contact::Back { .. } => {
                return alerts.release(now, topic, "not afloat");
            }
            Contact::Never | Contact::Heard => {
                return alerts.release(now, topic, "heard again");
            }
        };
        let level = match (ctx.role, ctx.is_out(), now.ms_since(since) >= LOST_ALARM_MS) {
            (Role::Dinghy, true, true) => Level::Alarm,
            (Role::Dinghy, true, false) => Level::Warning,
            (Role::Dinghy, false, _) | (Role::Safety | Role::Station, _, _) => Level::Caution,
        };
        let usual_s = self.silence.usual_s();
        let speaks = ctx.track.last_heard().is_some_and(|heard| now.ms_since(heard) < SPEAKS_MS);
        alerts
            .hold(now, topic, fact(level, since), || silence_words(now, since, speaks, usual_s, ctx.motion));
    }
}

/// Still out when everyone should be back.
fn watch_clock(now: Moment, ctx: &Context, alerts: &mut Alerts) {
    let topic = ctx.topic(AlertKind::Overdue);
    let level = match ctx.standing {
        Standing::Afloat => Some(Level::Warning),
        // She lies at a landing place, and nobody has counted those who were in her.
        Standing::Landed => Some(Level::Caution),
        Standing::Ashore | Standing::Returned | Standing::StoodDown => None,
    };
    match (ctx.back_by, level) {
        (Some(back_by), Some(level)) if now >= back_by => {
            alerts.hold(now, topic, fact(level, back_by), || {
                let mut words = vec![format!("expected back {} ago", words::duration(now, back_by))];
                if ctx.standing == Standing::Landed {
                    words.push("landed, but her people are not counted".to_owned());
                }
                words
            });
        }
        (Some(_) | None, _) => alerts.release(now, topic, "not overdue"),
    }
}

fn watch_tracker(now: Moment, ctx: &Context, alerts: &mut Alerts) {
    let topic = ctx.topic(AlertKind::FrozenTracker);
    match ctx.frozen_since {
        Some(since) if ctx.is_out() || ctx.stirring => {
            if now.ms_since(since) >= FROZEN_MS {
                let level = if ctx.is_out() { Level::Warning } else { Level::Caution };
                alerts.hold(now, topic, fact(level, since), || {
                    let frozen = words::duration(now, since);
                    vec![
                        format!("her tracker has sent one and the same position for {frozen}"),
                        "where she really is, is not known".to_owned(),
                    ]
                });
            }
        }
        Some(_) => alerts.release(now, topic, "not afloat"),
        None => alerts.release(now, topic, "her position changes again"),
    }
}

/// A claim that states a fact rather than a probability.
fn fact(level: Level, began: Moment) -> Claim {
    Claim { level, began, confidence: None }
}

fn outside_words(margin: Margin, motion: &Motion, over: Over) -> Vec<String> {
    let edge = margin.edge_side(motion.position).map_or("", words::compass);
    let for_s = words::duration(motion.at, over.since);
    let place = match (over.sure, margin.signed_m < 0.0) {
        (true, true) => {
            format!("{:.0} m outside the sailing area's {edge} edge for {for_s}", -margin.signed_m)
        }
        (false, _) | (true, false) => {
            format!("at the sailing area's {edge} edge or over it for {for_s}")
        }
    };
    vec![place, words::making(motion), words::doubt(motion)]
}

fn no_go_words(margin: Margin, name: &str, motion: &Motion, over: Over) -> Vec<String> {
    let for_s = words::duration(motion.at, over.since);
    let place = match (over.sure, margin.signed_m > 0.0) {
        (true, true) => format!("{:.0} m inside {name} for {for_s}", margin.signed_m),
        (false, _) | (true, false) => format!("at the edge of {name} or in it for {for_s}"),
    };
    vec![place, words::making(motion), words::doubt(motion)]
}

fn silence_words(
    now: Moment,
    since: Moment,
    speaks: bool,
    usual_s: Option<f64>,
    motion: Option<&Motion>,
) -> Vec<String> {
    let silent = words::duration(now, since);
    let mut evidence = vec![match speaks {
        true => format!("no position for {silent}, though her feed still speaks"),
        false => format!("not heard for {silent}"),
    }];
    evidence.extend(usual_s.map(|usual_s| format!("usually heard every {usual_s:.0} s")));
    evidence.extend(motion.map(|motion| format!("last seen {}", words::making(motion))));
    evidence
}

#[cfg(test)]
mod tests;
