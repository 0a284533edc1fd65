//! A value over time, drawn as one would on a blackboard: a few points, joined smoothly.

#[derive(Clone, Debug)]
pub(super) struct Curve(Vec<(f64, f64)>);

impl Curve {
    /// Begins with a value at time 0, and keeps it until more is said.
    pub(super) fn from(value: f64) -> Curve {
        Curve(vec![(0.0, value)])
    }

    /// Goes to a value within so many seconds of the last point.
    pub(super) fn to(mut self, over_s: f64, value: f64) -> Curve {
        self.0.push((self.end_s() + over_s.max(0.0), value));
        self
    }

    /// Stays as it is for so many seconds.
    pub(super) fn hold(self, for_s: f64) -> Curve {
        let value = self.last();
        self.to(for_s, value)
    }

    /// The time of the last point, s.
    pub(super) fn end_s(&self) -> f64 {
        self.0.last().map_or(0.0, |point| point.0)
    }

    fn last(&self) -> f64 {
        self.0.last().map_or(0.0, |point| point.1)
    }

    /// The value at a time; past the last point, the last value.
    pub(super) fn at(&self, t_s: f64) -> f64 {
        let next = self.0.partition_point(|point| point.0 <= t_s);
        let (Some(&(from_s, from)), Some(&(to_s, to))) =
            (self.0.get(next.saturating_sub(1)), self.0.get(next))
        else {
            return self.last();
        };
        let share = ((t_s - from_s) / (to_s - from_s)).clamp(0.0, 1.0);
        // Begins and ends without a jolt.
        from + (to - from) * share * share * (3.0 - 2.0 * share)
    }
}

/// Between two values, by a share of 0 to 1.
pub(super) fn mix(at_zero: f64, at_one: f64, share: f64) -> f64 {
    at_zero + (at_one - at_zero) * share
}
