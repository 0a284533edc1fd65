//! What people decide, carried out.

use crate::{
    alerts::Topic,
    conditions::Conditions,
    effect::Effect,
    engine::Engine,
    fleet::BoatIx,
    input::{Command, HandMark},
    units::Bearing,
    watch::{declared, session},
};

impl Engine {
    /// Carries out one decision. One that names a boat or alert that does not exist changes nothing.
    pub(crate) fn command(&mut self, by: &str, command: Command, effects: &mut Vec<Effect>) {
        let now = self.now;
        self.alerts.on_command(now, by, &command);
        effects.extend(self.tally.on_command(now, by, &command).map(Effect::Tally));
        match command {
            Command::Mark(boat, mark) if usize::from(boat.0) < self.crafts.len() => {
                declared::on_command(now, by, &command, &mut self.alerts);
                self.believe(boat, mark);
            }
            Command::SetWind(hand) => self.wind.by_hand(now, hand),
            Command::SetStream(stream) => self.wind.stream_by_hand(self.now, stream),
            Command::SetWindLimit(limit_mps) => self.setup.wind_limit_mps = limit_mps,
            Command::SetBackBy(back_by) => self.back_by = back_by,
            Command::Assign(source, boat) => self.claims.assign(&source, boat),
            Command::PersonOverdue(person, since) => {
                session::person_overdue(now, person, since, &mut self.alerts);
            }
            Command::PersonAccounted(person, reason) => {
                self.alerts.release(now, Topic::overdue(person), &reason);
            }
            Command::Drill(boat, on) => {
                if let Some(craft) = self.crafts.get_mut(usize::from(boat.0)) {
                    craft.drill = on;
                }
            }
            Command::Mark(..)
            | Command::Acknowledge(_)
            | Command::Silence(_)
            | Command::Attend(..)
            | Command::Clear(..)
            | Command::HeadsCounted(..)
            | Command::Aboard(..) => (),
        }
        effects.extend(self.alerts.drain());
    }

    /// What people have set that outlasts a day: which source speaks for whom, the stream and the wind
    /// limit entered, a time to be back that is still to come. Given to a fresh engine over the same
    /// set-up, they are in force there too.
    pub fn standing_orders(&self) -> Vec<Command> {
        let by_hand = self.assigned().into_iter();
        let mut orders: Vec<Command> =
            by_hand.map(|given| Command::Assign(given.source, given.boat)).collect();
        orders.extend(self.wind.stream().filter(|stream| stream.by_hand).map(|stream| {
            let towards = stream.velocity.direction().unwrap_or(Bearing::NORTH);
            Command::SetStream(Some((towards, stream.velocity.speed_mps())))
        }));
        orders.extend(self.setup.wind_limit_mps.map(|limit_mps| Command::SetWindLimit(Some(limit_mps))));
        orders.extend(self.back_by.filter(|at| *at > self.now).map(|at| Command::SetBackBy(Some(at))));
        orders
    }

    /// Whoever has seen a boat well, or has her ashore, knows better than the belief: it starts
    /// afresh.
    fn believe(&mut self, boat: BoatIx, mark: HandMark) {
        match mark {
            HandMark::Fine | HandMark::Ashore | HandMark::StoodDown => (),
            HandMark::Capsized | HandMark::PersonOverboard | HandMark::NeedsHelp | HandMark::Afloat => return,
        }
        if let Some(craft) = self.crafts.get_mut(usize::from(boat.0)) {
            craft.conditions = Conditions::new(craft.boat.class.clone());
        }
    }
}
