//! What decides how a boat loses her way, and where each figure comes from. "Recordings" are the Toronto
//! Laser and Toronto dinghy evenings: five evenings of real dinghies, some nine hours at 2 to 5 Hz.

/// Ranges a boat's or a session's own value is drawn from.
pub(super) type Range = (f64, f64);

/// In which way falls off, m: of a speed `v`, `v * v / length` is lost a second. Recordings: tacks (n = 132,
/// at 1.9 m/s) lose 0.35 of their way in 3 s (0.26 to 0.45 from the 10th to the 90th percentile) and are
/// slowest 2.5 s after they leave 0.9 of it; the length follows from that.
pub(super) const TACK_LENGTH_M: Range = (9.0, 25.0);
/// Recordings: gybes (n = 37) lose 0.10 of their way in 3 s (0.03 to 0.24).
pub(super) const GYBE_LENGTH_M: f64 = 14.0;
/// What is left of her drive in a gybe: reasoned, to lose what gybes lose.
pub(super) const GYBE_DRIVE: Range = (0.6, 1.05);
/// Recordings: 0.9 of the way again 5.5 s after the slowest moment of a tack (1.5 to 24 s, n = 132).
pub(super) const GAIN_LENGTH_M: f64 = 9.0;
/// How late the sheets are hauled in after a turn, s: median and spread of the logarithm, from the same.
pub(super) const TRIM_LATE_S: (f64, f64) = (1.6, 1.0);
/// Recordings: with the sails let go (stops off the landing place, n = 29) 0.28 of the way is lost in the
/// worst 3 s (0.16 to 0.51): some 10 m with the way she keeps, the spread of its logarithm from the
/// percentiles.
pub(super) const GLIDE_LENGTH_M: (f64, f64) = (9.5, 0.65);
/// Recordings: from 0.85 to 0.30 of the way in 30 s (8 to 86 s, n = 29): most stops have a slow part before
/// the stop itself. Share of such stops, the way kept in them, and how long, s: reasoned to give that.
pub(super) const EASED_FIRST: f64 = 0.75;
/// See [`EASED_FIRST`].
pub(super) const EASED_SHARE: Range = (0.4, 0.8);
/// See [`EASED_FIRST`]: median and spread of the logarithm.
pub(super) const EASED_S: (f64, f64) = (26.0, 0.75);
/// Recordings: while stopped the mean is 0.55 m/s (0.28 to 0.88), 0.32 of the way (0.13 to 0.39), n = 29.
pub(super) const WAITING_SHARE: Range = (0.2, 0.5);
/// Recordings: some lie head to wind with no way at all (4 of 29 under 0.32 m/s).
pub(super) const LIES_STILL: f64 = 0.2;
/// Recordings: they go 112 degrees off downwind (65 to 130, n = 24), so close to the wind, with some leeway.
pub(super) const WAITING_OFF_DEG: Range = (38.0, 90.0);
/// Recordings: residual speed spreads by 0.23 m/s (0.12 to 0.32) within a stop, its ends included.
pub(super) const SWAY_MPS: Range = (0.06, 0.2);
/// Recordings: changes of speed under way are forgotten in some 10 s (autocorrelation 0.36 to 0.64 after 8 s,
/// 0.07 to 0.18 after 20 s; n = 157 pieces of two minutes).
pub(super) const SWAY_S: f64 = 10.0;
/// Recordings: means over 20 s spread by 0.09 to 0.19 of their mean close to the wind, up to 0.27 off it; the
/// gusts make part of that.
pub(super) const PACE_SPREAD: Range = (0.05, 0.12);
/// Recordings: from one minute to the next the mean changes by 0.06 to 0.11 (medians of four evenings), by
/// 0.35 at the 90th percentile of the worst.
pub(super) const TRIM_SPREAD: Range = (0.04, 0.12);
/// Recordings: the course changes by 7 to 16 degrees in 2 s, a part of it the receiver's.
pub(super) const YAW_DEG: Range = (2.5, 8.0);
/// Recordings: the middle 0.6 of a tack takes 2 s (1 to 3 s, n = 84) of 87 degrees. Novices are slower:
/// reasoned.
pub(super) const TURN_DEG_PER_S: Range = (15.0, 30.0);

/// With rig and hull in the water. A windsurfer's falls (recording, n = 14) lose 0.57 of the way in 3 s (0.47
/// to 0.70) and go from 0.85 to 0.25 in 5 s (4 to 6 s), on positions from a watch that smooths; a dinghy's
/// knockdown in the recordings lost 0.5 of it in 3 s. A flooded dinghy is blunter than a board. Median, m,
/// and spread.
pub(super) const OVER_LENGTH_M: (f64, f64) = (2.5, 0.45);
/// leeway.md: a swamped or capsized skiff goes 1.65 % of the wind downwind; up to 2.3 % for a dinghy.
pub(super) const OVER_DRIFT: Range = (0.0165, 0.023);
/// leeway.md: 0.39 % of it across, to a side that does not change.
pub(super) const OVER_ACROSS: f64 = 0.0039;
/// leeway.md: spread of the downwind part, m/s, at 10 m/s; half of it without wind.
pub(super) const OVER_SPREAD_MPS: f64 = 0.031;
/// One real dinghy with her rig in the water moved 0.4 m/s, 60 to 75 degrees off downwind: share of boats
/// that sheer so (reasoned) and how fast across the wind, m/s.
pub(super) const SHEERS: f64 = 0.3;
/// See [`SHEERS`].
pub(super) const SHEER_MPS: Range = (0.1, 0.4);
/// leeway.md: upright and full (bare pole 1.79 % and 3 cm/s) to upright and dry (2.87 % and 4 cm/s).
pub(super) const LOOSE_DRIFT: Range = (0.018, 0.029);
/// See [`LOOSE_DRIFT`].
pub(super) const LOOSE_DRIFT_MPS: f64 = 0.035;
/// detection.md: beginners need one to five minutes, practised crews 20 s: median, s, and spread.
pub(super) const RIGHTED_S: (f64, f64) = (75.0, 0.8);

/// detection.md: phones within 4.9 m in the open, errors that last minutes: one axis, m, and s.
pub(super) const FIX_SLOW_M: Range = (2.0, 4.0);
/// See [`FIX_SLOW_M`].
pub(super) const FIX_SLOW_S: Range = (60.0, 300.0);
/// Buoys adrift (recording, n = 632): positions spread by 0.38 to 0.59 m about a line of 60 s (medians of
/// three; 0.24 to 0.85 from the 10th to the 90th percentile).
pub(super) const FIX_WHITE_M: Range = (0.5, 1.0);
/// Recordings: told speed spreads by 0.03 to 0.10 m/s about its mean over 4 s; detection.md: about 0.1 kn.
pub(super) const SPEED_NOISE_MPS: Range = (0.05, 0.12);
/// How long a receiver smooths its speed, s: reasoned; the recordings' own is within it.
pub(super) const SPEED_SMOOTH_S: Range = (0.5, 1.2);
/// Recordings: at rest the receivers said exactly 0 for nine tenths of the time; detection.md: many phones
/// do.
pub(super) const STILL_SHARE: f64 = 0.15;
