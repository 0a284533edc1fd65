//! The arithmetic of one axis: position and velocity, estimated together.

/// Position and velocity along one axis with their covariance: a Kalman filter of two states.
///
/// The position is the receiver's own idea of it, bias included. A receiver's error wanders for
/// minutes (Schumayer et al. 2020, Sensors 20, 6050: strongly correlated, white models fail), so
/// the wander enters as a random walk of the position, not as noise of each fix; that is what
/// keeps a phone's wander from being read as motion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Axis {
    pub(crate) pos_m: f64,
    pub(crate) vel_mps: f64,
    pub(crate) pos_var: f64,
    pub(crate) cov: f64,
    pub(crate) vel_var: f64,
}

impl Axis {
    /// Known position, unknown velocity.
    pub(crate) fn new(pos_m: f64, pos_var: f64, vel_var: f64) -> Axis {
        Axis { pos_m, vel_mps: 0.0, pos_var, cov: 0.0, vel_var }
    }

    /// Carried forward `dt_s` seconds under white acceleration of density `accel_q` (m^2/s^3) and a
    /// wander of the receiver's error of density `wander_q` (m^2/s).
    #[must_use]
    pub(crate) fn predicted(self, dt_s: f64, accel_q: f64, wander_q: f64) -> Axis {
        let dt2 = dt_s * dt_s;
        Axis {
            pos_m: self.pos_m + self.vel_mps * dt_s,
            vel_mps: self.vel_mps,
            pos_var: self.pos_var
                + 2.0 * dt_s * self.cov
                + dt2 * self.vel_var
                + accel_q * dt2 * dt_s / 3.0
                + wander_q * dt_s,
            cov: self.cov + dt_s * self.vel_var + accel_q * dt2 / 2.0,
            vel_var: self.vel_var + accel_q * dt_s,
        }
    }

    /// Told a position with variance `var`.
    #[must_use]
    pub(crate) fn with_position(self, pos_m: f64, var: f64) -> Axis {
        let s = self.pos_var + var;
        let (k_pos, k_vel) = (self.pos_var / s, self.cov / s);
        let innovation = pos_m - self.pos_m;
        Axis {
            pos_m: self.pos_m + k_pos * innovation,
            vel_mps: self.vel_mps + k_vel * innovation,
            pos_var: (1.0 - k_pos) * self.pos_var,
            cov: (1.0 - k_pos) * self.cov,
            vel_var: self.vel_var - k_vel * self.cov,
        }
    }

    /// Told a velocity with variance `var`.
    #[must_use]
    pub(crate) fn with_velocity(self, vel_mps: f64, var: f64) -> Axis {
        let s = self.vel_var + var;
        let (k_pos, k_vel) = (self.cov / s, self.vel_var / s);
        let innovation = vel_mps - self.vel_mps;
        Axis {
            pos_m: self.pos_m + k_pos * innovation,
            vel_mps: self.vel_mps + k_vel * innovation,
            pos_var: self.pos_var - k_pos * self.cov,
            cov: (1.0 - k_vel) * self.cov,
            vel_var: (1.0 - k_vel) * self.vel_var,
        }
    }

    /// As `self` with the velocity's variance raised by `add`: something changed faster than the
    /// model allows for.
    #[must_use]
    pub(crate) fn surprised(self, add: f64) -> Axis {
        Axis { vel_var: self.vel_var + add, ..self }
    }

    /// As `self` (predicted over `dt_s`) with the motion in that time in doubt by `vel_var`.
    #[must_use]
    pub(crate) fn turned(self, vel_var: f64, dt_s: f64) -> Axis {
        Axis {
            pos_var: self.pos_var + vel_var * dt_s * dt_s,
            cov: self.cov + vel_var * dt_s,
            vel_var: self.vel_var + vel_var,
            ..self
        }
    }
}
