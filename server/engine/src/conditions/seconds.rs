//! What the seconds of a stop say in their order: small recurrent nets over them.
//!
//! Signs sum a stop up, and a sum forgets in which order things came: a boat that swings, gathers way and stops again
//! looks like one that drifted on evenly. A gated recurrent unit (Cho and others 2014) goes through the seconds one by
//! one and keeps what it finds worth keeping. It begins half a minute before she lost her way and ends half a minute
//! after she makes it again, so it never knows more of a boat than one stop. Nets that were fitted apart err apart, so what
//! they say is averaged.

use std::collections::VecDeque;

use super::{
    model::Condition,
    signs::{SIGNS, Sense, StopSeen, ln_odds},
    weights::SECONDS,
};
use crate::moment::Moment;

/// How many nets there are.
pub(crate) const NETS: usize = SECONDS.len();
/// How many units remember.
pub(crate) const UNITS: usize = 64;
/// Each has three gates.
const GATES: usize = 3 * UNITS;
/// What else is told of a second: velocity over the water down and across the wind, m/s; speed to expect of her, m/s; the
/// wind, m/s; how the gust of the moment compares with it; the share of the fleet that makes way; whether the wind's
/// direction is known (1) or not (0).
pub(crate) const TOLD: usize = 7;
/// And what the motion models believe, ln odds among these: conditions that show in her own motion. Those that what is
/// near her decides (a safety boat, land, her berth) are left out.
pub(crate) const MOTIONS: [Condition; 9] = [
    Condition::Sailing,
    Condition::Manoeuvring,
    Condition::InIrons,
    Condition::HoveTo,
    Condition::Waiting,
    Condition::PickingUp,
    Condition::Becalmed,
    Condition::Righted,
    Condition::Capsized,
];
/// No share is told as less than this.
const LEAST: f64 = 1e-5;
/// Numbers told of each second: those, and the signs while she has lost her way.
pub const INPUTS: usize = TOLD + MOTIONS.len() + SIGNS;
/// So long before she lost her way it begins, and after she makes it again it ends, ms.
const AROUND_MS: i64 = 30_000;
/// Weights are whole numbers of this part.
const PART: f32 = 4096.0;

/// One second as the net is told of it.
#[derive(Clone, Copy, Debug)]
pub struct Second {
    /// When.
    pub at: Moment,
    /// The numbers; not a number: not known.
    pub values: [f32; INPUTS],
    /// Through what she is seen, while she has lost her way.
    pub stopped: Option<Sense>,
}

impl Second {
    /// From what is told of every second, the share of each of [`MOTIONS`], and what was seen of her stop.
    pub(crate) fn new(
        at: Moment,
        told: [f64; TOLD],
        shares: [f64; MOTIONS.len()],
        seen: Option<&StopSeen>,
    ) -> Second {
        let all = shares.iter().sum::<f64>().max(LEAST);
        let shares = shares.map(|share| ln_odds((share / all).clamp(LEAST, 1.0 - LEAST)));
        let signs = seen.map_or([f64::NAN; SIGNS], |seen| seen.values);
        let mut values = [f32::NAN; INPUTS];
        for (value, known) in values.iter_mut().zip(told.iter().chain(&shares).chain(&signs)) {
            *value = *known as f32;
        }
        Second { at, values, stopped: seen.map(|seen| seen.sense) }
    }
}

/// How a number is told to the net: held between the ends of what was seen, then less the mean, over the deviation.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scaled {
    /// The ends.
    pub ends: (f32, f32),
    /// Mean and one standard deviation of what was seen.
    pub usual: (f32, f32),
}

impl Scaled {
    fn of(&self, value: f32) -> f32 {
        if value.is_nan() {
            0.0
        } else {
            (value.clamp(self.ends.0, self.ends.1) - self.usual.0) / self.usual.1
        }
    }
}

/// Weights as they are written, in whole [`PART`]s.
pub(crate) const fn parts<const COUNT: usize>(whole: [i16; COUNT]) -> [f32; COUNT] {
    let mut parts = [0.0; COUNT];
    let mut at = 0;
    while at < COUNT {
        parts[at] = whole[at] as f32 / PART;
        at += 1;
    }
    parts
}

/// Weights from some numbers to others.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Layer {
    /// For each number that comes in one weight to each that goes out.
    pub weights: &'static [f32],
    /// What goes out when nothing comes in.
    pub bias: &'static [f32],
}

/// So many numbers that go out are summed at a time: as many as a processor holds beside each other.
const AT_ONCE: usize = 32;

impl Layer {
    /// `OUT` numbers, a multiple of [`AT_ONCE`]: what comes in, each times its weights, on top of the bias.
    fn of<const OUT: usize>(&self, values: &[f32]) -> [f32; OUT] {
        let mut out = [0.0; OUT];
        out.iter_mut().zip(self.bias).for_each(|(out, bias)| *out = *bias);
        for (block, sums) in out.as_chunks_mut::<AT_ONCE>().0.iter_mut().enumerate() {
            let mut held = *sums;
            for (value, weights) in values.iter().zip(self.weights.chunks_exact(OUT)) {
                let weights = weights.as_chunks::<AT_ONCE>().0.get(block);
                if let Some(weights) = weights.filter(|_| *value != 0.0) {
                    held.iter_mut().zip(weights).for_each(|(held, weight)| *held += value * weight);
                }
            }
            *sums = held;
        }
        out
    }

    /// The one number that goes out.
    fn one<'a>(&self, values: impl Iterator<Item = &'a f32>) -> f32 {
        let bias = self.bias.first().copied().unwrap_or(0.0);
        values.zip(self.weights).fold(bias, |sum, (value, weight)| sum + value * weight)
    }
}

/// A net.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Net {
    /// How each number is told.
    pub inputs: &'static [Scaled],
    /// Numbers of which it is told as well, after them, whether they are known (0) or not (1).
    pub unknown: &'static [u8],
    /// From what is told to what is looked at.
    pub enter: Layer,
    /// From what is looked at to the three gates: what to forget, what to keep, what is new.
    pub gates: Layer,
    /// From what is remembered to the same.
    pub memory: Layer,
    /// From what is remembered, and then what is looked at, to the ln odds of a capsize.
    pub say: Layer,
}

fn sigmoid(value: f32) -> f32 {
    1.0 / (1.0 + (-value).exp())
}

impl Net {
    /// One second further: what is remembered changes, and the ln odds of a capsize come out.
    fn step(&self, state: &mut [f32; UNITS], second: &Second) -> f64 {
        let scaled = self.inputs.iter().zip(&second.values).map(|(scaled, value)| scaled.of(*value));
        let unknown = |number: &u8| {
            let value = second.values.get(usize::from(*number));
            f32::from(u8::from(value.is_some_and(|value| value.is_nan())))
        };
        let stopped = f32::from(u8::from(second.stopped.is_some()));
        let told: Vec<f32> = scaled.chain(self.unknown.iter().map(unknown)).chain([stopped]).collect();
        let looked: [f32; UNITS] = self.enter.of(&told).map(|value| value.max(0.0));
        let from_look: [f32; GATES] = self.gates.of(&looked);
        let from_memory: [f32; GATES] = self.memory.of(state);
        let gate = |number: usize| from_look.iter().zip(&from_memory).skip(number * UNITS).take(UNITS);
        let gates = gate(0).zip(gate(1)).zip(gate(2));
        for (kept, ((reset, update), new)) in state.iter_mut().zip(gates) {
            let (reset, update) = (sigmoid(reset.0 + reset.1), sigmoid(update.0 + update.1));
            let new = (new.0 + reset * new.1).tanh();
            *kept = new + update * (*kept - new);
        }
        f64::from(self.say.one(state.iter().chain(&looked)))
    }
}

/// What is remembered of one boat's stop.
#[derive(Clone, Debug, Default)]
pub(crate) struct Remembered {
    /// The last half minute.
    lately: VecDeque<Second>,
    /// While a stop is followed.
    stop: Option<Followed>,
}

#[derive(Clone, Debug)]
struct Followed {
    /// What each net remembers.
    states: [[f32; UNITS]; NETS],
    /// When she had lost her way last.
    stopped: Moment,
    says: f64,
}

impl Followed {
    /// One second further; what the nets say of it, in the mean.
    fn step(&mut self, nets: &[&Net; NETS], second: &Second) {
        let said = self.states.iter_mut().zip(nets).map(|(state, net)| net.step(state, second));
        self.says = said.sum::<f64>() / NETS as f64;
    }
}

impl Remembered {
    /// Takes one second in. Where there is no net, nothing is said.
    pub(crate) fn see(&mut self, nets: &[&Net; NETS], second: Second) {
        let now = second.at;
        let is_near = |at: Moment| now.ms_since(at) <= AROUND_MS;
        self.stop.take_if(|stop| !is_near(stop.stopped));
        while self.lately.front().is_some_and(|before| !is_near(before.at)) {
            self.lately.pop_front();
        }
        let is_stopped = second.stopped == Some(Sense::Blind);
        if self.stop.is_none() && is_stopped && NETS > 0 {
            let mut begun = Followed { states: [[0.0; UNITS]; NETS], stopped: now, says: 0.0 };
            self.lately.iter().for_each(|before| begun.step(nets, before));
            self.stop = Some(begun);
        }
        if let Some(stop) = &mut self.stop {
            stop.step(nets, &second);
            if is_stopped {
                stop.stopped = now;
            }
        }
        self.lately.push_back(second);
    }

    /// What the seconds say for a capsize, ln odds; `None` while no stop is followed.
    pub(crate) fn says(&self) -> Option<f64> {
        self.stop.as_ref().map(|stop| stop.says)
    }

    /// The newest second.
    pub(crate) fn newest(&self) -> Option<&Second> {
        self.lately.back()
    }
}

#[cfg(test)]
mod tests {
    use super::{super::weights::SECONDS_CHECKS, *};

    fn second(at_s: i64, (values, stopped, _): &(&[f32], bool, f64)) -> Second {
        let mut all = [f32::NAN; INPUTS];
        all.iter_mut().zip(*values).for_each(|(to, from)| *to = *from);
        Second { at: Moment(at_s * 1000), values: all, stopped: stopped.then_some(Sense::Blind) }
    }

    /// Against PyTorch 2.15.0, which fitted the nets and says the same of the same seconds.
    #[test]
    fn a_net_says_what_the_library_says_that_fitted_it() {
        for (net, checks) in SECONDS.iter().zip(SECONDS_CHECKS) {
            let mut state = [0.0; UNITS];
            for (at_s, check) in checks.iter().enumerate() {
                let said = net.step(&mut state, &second(at_s as i64, check));
                assert!((said - check.2).abs() < 2e-3, "second {at_s}: {said}, not {}", check.2);
            }
            assert!(checks.iter().any(|check| check.1) && checks.len() > 10);
        }
    }

    /// Goes through stretches of seconds, each sailing or stopped, and gives what is said at the end.
    fn goes(stretches: &[(bool, i64)]) -> Option<f64> {
        let [sails, stops] =
            [false, true].map(|stopped| SECONDS_CHECKS[0].iter().find(|check| check.1 == stopped));
        let mut remembered = Remembered::default();
        let mut at_s = 0;
        for &(stopped, seconds) in stretches {
            for _ in 0..seconds {
                at_s += 1;
                let check = if stopped { stops } else { sails }.expect("both are among them");
                remembered.see(&SECONDS, second(at_s, check));
            }
        }
        remembered.says()
    }

    #[test]
    fn it_knows_one_stop_and_the_half_minute_before() {
        assert_eq!(goes(&[(false, 300)]), None);
        let once = goes(&[(false, 40), (true, 20)]);
        assert!(once.is_some());
        assert_eq!(goes(&[(false, 300), (true, 20)]), once);
        assert_eq!(goes(&[(true, 60), (false, 70), (true, 20)]), once, "the stop before is forgotten");
        assert_ne!(goes(&[(true, 60), (false, 10), (true, 20)]), once, "she hardly made way between");
        assert_eq!(goes(&[(false, 40), (true, 20), (false, 31)]), None);
    }

    #[test]
    fn every_layer_fits_the_next() {
        let layer = |layer: &Layer, from: usize, to: usize| {
            assert_eq!((layer.weights.len(), layer.bias.len()), (from * to, to));
        };
        for net in SECONDS {
            assert_eq!(net.inputs.len(), INPUTS);
            assert!(net.inputs.iter().all(|scaled| scaled.usual.1 > 0.0 && scaled.ends.0 <= scaled.ends.1));
            layer(&net.enter, INPUTS + net.unknown.len() + 1, UNITS);
            layer(&net.gates, UNITS, GATES);
            layer(&net.memory, UNITS, GATES);
            layer(&net.say, 2 * UNITS, 1);
        }
    }
}
