//! Weights of the features of beats and bars.
//!
//! Fitted by `fit/fit.py`, which gives these very figures again: conditional logistic
//! regression with a ridge (3 for beats, 1 for bars), on the rows
//! that `examples/grid.rs --features` prints for 128 mixes and references of generated
//! pieces of even seeds (eight styles; half of the seeds at the tempo of the
//! style in 4/4, half at 60 to 200 beats a minute, any swing, a third in 3/4;
//! each whole and with its first 1 to 10 s cut off). Pieces of odd seeds were
//! kept for trials.

use crate::bar_features::BAR_FEATURES;
use crate::beat_features::FEATURES;

/// Weights of [`features`](crate::beat_features::features), in their order.
#[rustfmt::skip]
pub(crate) const BEAT_WEIGHTS: [f64; FEATURES] = [
    0.1696, -0.7825, -0.2445, -0.4186, 7.5875, 5.7579, 1.1072, 5.8051,
    -3.1129, 5.3893, -0.6870, 9.9508, 9.8134, 3.4594, 2.9072, 1.3737,
    2.8449, -5.6321, 0.9409, -0.1959, -0.6437, 1.9888, 2.4474, 0.1721,
    -0.3898, 1.0593, 0.6704, 0.3717, 2.0972, 1.2638, -0.2299, 1.0929,
    1.0369, 1.0197, 1.3515, 1.5407, 0.5305, -0.8048, 1.7383, 1.0232,
    0.1747, -0.9759, -0.5951, 3.7987, -0.9184, 5.0971, -0.9715,
];

/// Weights of [`bar_features`](crate::bar_features::bar_features), in their
/// order.
#[rustfmt::skip]
pub(crate) const BAR_WEIGHTS: [f64; BAR_FEATURES] = [
    0.5219, -0.3374, 0.0195, -0.2071, 0.3126, -0.1253, -0.4334, 0.2386,
    -0.3213, 0.4516, -0.8503, 0.7196, -0.4877, 0.6927, -0.7384, 0.5352,
    1.4096, -0.0863, -0.9602, -0.3783, 0.7392, -0.2029, -0.2062, -0.3360,
    0.6411, -0.1166, -0.3942, -0.1330, 1.6654, -0.2378, -1.0448, -0.4044,
    2.0494, 0.5269, -1.1444, -1.4637, 0.9460, -0.7776, -0.1672, 0.5948,
    0.5047, -1.1051, -0.5772, 1.6358, -1.0569, -0.9051, 2.2618, -1.3545,
    2.0983, -0.7285, -1.3614, 0.6757, -0.5175, -0.1527, 1.3269, -1.1831,
    -0.1494, 5.1126, -1.8626, -3.1763, -0.4661, -0.4292, 0.9120, 0.2561,
    0.4188, 0.8507, 0.6972, 0.7062, 0.2368, 0.1823, 0.4399, 0.8434,
    1.0808, -0.7686,
];
