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
    -0.6677, -1.9471, 3.5766, 2.7430, 6.5673, 3.5715, 3.5091, 1.0580,
    2.7362, 5.6645, 2.7169, 5.6911, 2.5984, -0.8572, 2.3512, 4.1276,
    4.3782, 0.8856, 0.4964, -0.3421,
];

/// Weights of [`features`](crate::beat_features::features), in their order.
#[rustfmt::skip]
pub(crate) const BEAT_WEIGHTS: [f64; FEATURES] = [
    0.2197, -1.6178, 0.7894, 1.4146, 5.0014, 2.7949, 1.4626, 3.2494,
    3.8140, 2.4292, -0.0409, 1.5033, 1.2854, 0.4215, 1.2920, 1.0716,
    0.5643, 0.0847, 2.1124, 2.0027, -0.1368, -1.0239, -0.1239, 0.5605,
    1.3730, 0.3288, -0.7167, -0.3958, -0.1053, 0.5583, 0.1485, 0.6094,
    0.9718, 0.3166, -0.0054, 0.1770, 0.1782, 0.0544, 0.4581, 0.3847,
    -0.0991, -0.0523, 0.1564, 0.4869, -0.2998, -0.7769, 0.3935, 1.7642,
    -0.2769, 0.3980, -0.4108, 0.5813, 0.3007,
];

/// Weights of [`bar_features`](crate::bar_features::bar_features), in their
/// order.
#[rustfmt::skip]
pub(crate) const BAR_WEIGHTS: [f64; BAR_FEATURES] = [
    1.3933, -0.2961, -0.3304, -0.9019, 0.7624, -0.2725, -0.5445, -0.1386,
    -1.2009, 0.2689, 0.0978, 0.7754, 0.7291, 0.4005, -0.2884, -0.8377,
    1.8464, 0.5102, -1.9585, -0.4591, 0.3046, -0.0653, -0.3743, 0.0510,
    -0.1235, -0.4335, -0.0499, 0.5102, 0.9227, 0.3247, -0.6437, -0.7087,
    1.1753, -0.2387, -1.1101, -0.0444, 1.4531, -1.7334, 0.2343, 0.0674,
    -0.5146, 0.5377, 0.1794, 0.0829, -0.1950, -1.9681, 1.0840, 0.8702,
    2.1830, 0.3932, -2.6567, 0.7476, -0.7636, -0.0675, -0.5497, 1.0849,
    -0.5816, 2.6284, 1.7064, -4.2259, 0.5578, -1.1464, 0.5311, 0.2661,
    1.0054, 1.3164, 0.2178, 0.0852, 0.4651, 0.0349, 1.5470, 0.1134,
    -0.0190, 1.3848, 3.1194, 2.1008, 0.1847, -0.3568, 0.5901, -0.6974,
    -0.7322, 0.2222, -0.9892, -0.1858, -0.1999, 0.0414, 0.5787, 0.1514,
    -0.2774, 0.4245, -0.2387, -0.5308, -0.2579, 0.0110, 0.7643, -0.2520,
    0.6962, -0.3274, -0.2796, -0.3324, -0.9147, -0.5709, 0.2275, 0.3244,
    -0.2779, 0.5397, 0.9065, 0.3182, 0.7017, -0.7243, 0.0195, -0.3455,
    -0.4735, 0.3462, 0.2242, 0.1969, 0.7001, 0.7007, 0.3505, 0.3483,
    0.2022, -0.2576, 0.3265, -0.1902, 0.0576, -0.0975, 0.3762, -0.1240,
    -0.1819, 0.1287, -0.8263, -0.0304, 0.0302, 0.1954, -0.0912, 0.5321,
    -0.1874, 0.1336, 0.2626, -0.9192, -0.6187, -0.0412, -0.5445, 0.2028,
    0.0984, -0.4058, -0.3046, 0.1427, -0.3720, -0.0490, 0.4068, -0.8746,
    -0.4509, 0.0898, 0.1927, -0.2354, 0.1285, -0.3224, -0.2930, 0.2742,
];

/// Whether one tempo and one offset hold; weights of the features of a
/// [`Proof`](crate::proof::Proof), as the next three.
#[rustfmt::skip]
pub(crate) const STEADY: [f64; PROOF_FEATURES] = [
    5.8733, 0.0000, 3.7337, 0.4410, 3.0052, 10.1921, -1.8425, -0.3576,
];

/// Whether beats that were followed are beats.
#[rustfmt::skip]
pub(crate) const FOLLOWED: [f64; PROOF_FEATURES] = [
    3.8994, 0.0000, 1.8366, 0.1189, 1.3675, 6.8865, -0.0231, -0.6846,
];

/// Chance that tempo and octave are right.
#[rustfmt::skip]
pub(crate) const TEMPO_SURE: [f64; PROOF_FEATURES] = [
    -0.0002, 0.7924, -1.1922, 0.5410, 0.1010, -19.7505, -0.9863, 0.6639,
];

/// Chance that beats, metre and bar line are right.
#[rustfmt::skip]
pub(crate) const DOWNBEAT_SURE: [f64; PROOF_FEATURES] = [
    0.0007, 0.8846, -0.1106, 0.2827, -0.5603, -13.7906, 0.4422, 0.5298,
];
