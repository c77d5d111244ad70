//! Weights of the features of beats and bars, and of what bears a grid out.
//!
//! Fitted by `fit/fit.py` on the rows that `examples/grid.rs --features` prints for
//! files of fit seeds of two generators: that of the demo crate and
//! `fit/second_generator.py`. Conditional logistic regression with a ridge for
//! the grids, logistic regression on cross-validated answers for the chances.

use crate::bar_features::BAR_FEATURES;
use crate::beat_features::{FEATURES, QUICK_FEATURES};
use crate::proof::PROOF_FEATURES;

/// Weights of [`quick_features`](crate::beat_features::quick_features), in their
/// order.
#[rustfmt::skip]
pub(crate) const QUICK_WEIGHTS: [f64; QUICK_FEATURES] = [
    -0.2226, -2.2730, 3.6876, 2.8761, 6.4987, 2.6636, 4.3118, 1.8103,
    0.9786, 3.6318, 2.6443, 7.3058, 3.1567, -1.4095, 2.2001, 5.0499,
    4.1664, 0.2729, 0.2145, -1.4797,
];

/// Weights of [`features`](crate::beat_features::features), in their order.
#[rustfmt::skip]
pub(crate) const BEAT_WEIGHTS: [f64; FEATURES] = [
    0.2640, -1.0726, 0.3936, 1.2471, 3.4483, 1.9611, 1.3662, 2.6949,
    2.5257, 2.1133, -0.0208, 1.3307, 0.9152, 0.1714, 0.7335, 1.0778,
    0.4334, -0.2782, 0.6829, 0.3732, -0.1035, -0.7989, -0.3573, 0.5571,
    1.0125, 0.1907, -0.4058, -0.4537, -0.3552, 0.3559, -0.0841, 0.3598,
    0.6422, 0.1820, -0.0039, 0.1741, 0.1491, 0.0694, 0.2711, 0.2412,
    0.0504, -0.0224, 0.1021, 0.3591, -0.1907, -0.5507, 0.3133, 1.0136,
    0.0560, 0.4945, -0.1693, 0.9078, 0.4578, 1.6347, 0.5074, -0.9996,
    0.2419,
];

/// Weights of [`bar_features`](crate::bar_features::bar_features), in their
/// order.
#[rustfmt::skip]
pub(crate) const BAR_WEIGHTS: [f64; BAR_FEATURES] = [
    1.1118, -0.2325, -0.3045, -0.6514, 0.7686, -0.2917, -0.4389, -0.0731,
    -0.8329, 0.2726, -0.0541, 0.6570, 0.0938, 0.2123, 0.0830, -0.3029,
    1.7597, 0.3660, -1.7280, -0.4296, 0.4169, -0.0154, -0.1825, -0.2817,
    -0.0791, -0.1167, -0.1516, 0.2433, 0.8467, 0.1525, -0.5506, -0.4950,
    0.7872, -0.1993, -0.9901, 0.1140, 1.0245, -1.1972, 0.0937, 0.1244,
    -0.3809, 0.2508, -0.1915, 0.1168, 0.0596, -1.6915, 0.9149, 0.7453,
    2.3663, -0.4038, -1.9978, 1.0803, -0.6967, -0.4536, -0.2525, 0.6999,
    -0.4892, 1.2500, 1.1732, -2.1688, 0.8291, -0.0380, -0.8111, 0.1369,
    0.6717, 1.1103, 0.3230, 0.3451, 0.4900, 0.0097, 1.2153, 0.3732,
    -0.2935, 0.2099, 2.2191, 2.2609, 0.0855, -0.2200, 0.2194, -0.6756,
    -0.6132, 0.4662, -0.9807, -0.0136, 0.1206, -0.2022, 0.4235, 0.1386,
    -0.2760, 0.1864, -0.0308, -0.4183, -0.2887, 0.1132, 0.4865, -0.1501,
    0.4418, -0.1964, -0.2173, -0.1198, -0.7250, -0.2211, 0.1361, 0.0579,
    -0.4566, 0.5107, 0.7381, 0.2132, 0.5871, -0.4663, 0.3178, 0.0316,
    -0.4538, 0.1373, 0.0058, 0.2524, 0.4677, 0.5744, 0.0018, 0.3159,
    0.5900, -0.1793, 0.2772, -0.0002, 0.0050, -0.0175, 0.3026, -0.2510,
    -0.1763, 0.3958, -0.7236, -0.0252, -0.0868, 0.0455, 0.1661, 0.5670,
    -0.0362, 0.1378, 0.3310, -0.5495, -0.3256, 0.1562, -0.5832, 0.2266,
    0.0330, -0.4444, -0.1914, 0.2208, -0.2717, 0.0221, 0.3304, -0.2673,
    -0.1696, 0.1239, 0.1896, -0.2143, -0.0030, -0.1695, -0.0648, 0.2730,
];

/// Whether one tempo and one offset hold; weights of the features of a
/// [`Proof`](crate::proof::Proof), as the next three.
#[rustfmt::skip]
pub(crate) const STEADY: [f64; PROOF_FEATURES] = [
    -0.2467, 0.0000, 3.5093, 0.4069, 1.0916, 4.0281, -0.6791, 0.0791,
    6.8230,
];

/// Whether beats that were followed are beats.
#[rustfmt::skip]
pub(crate) const FOLLOWED: [f64; PROOF_FEATURES] = [
    4.3328, 0.0000, 1.9362, 0.4807, 1.2326, 8.1003, -0.2349, -1.3778,
    1.1188,
];

/// Chance that tempo and octave are right.
#[rustfmt::skip]
pub(crate) const TEMPO_SURE: [f64; PROOF_FEATURES] = [
    0.0004, 0.8198, -0.4514, 0.6373, 0.8239, -3.0264, -1.0181, 0.6022,
    -4.7555,
];

/// Chance that beats, metre and bar line are right.
#[rustfmt::skip]
pub(crate) const DOWNBEAT_SURE: [f64; PROOF_FEATURES] = [
    -0.0025, 0.6811, 0.4754, 0.4682, 0.5672, -98.5074, -0.3564, 0.4553,
    26.2588,
];
