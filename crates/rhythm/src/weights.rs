//! Weights of the features of beats and bars, and of what bears a grid out.
//!
//! Fitted by `fit/fit.py` on the rows that `examples/grid.rs --features` prints for
//! files of fit seeds of two generators: that of the demo crate and
//! `fit/second_generator.py`. Conditional logistic regression with a ridge for
//! the grids, logistic regression on cross-validated answers for the chances.

// A fitted number may come near a known one by chance.
#![allow(clippy::approx_constant)]

use crate::bar_features::BAR_FEATURES;
use crate::beat_features::{FEATURES, QUICK_FEATURES};
use crate::proof::PROOF_FEATURES;

/// Weights of [`quick_features`](crate::beat_features::quick_features), in their
/// order.
#[rustfmt::skip]
pub(crate) const QUICK_WEIGHTS: [f64; QUICK_FEATURES] = [
    0.0217, -1.8575, 3.0215, 2.4018, 6.5622, 1.5356, 4.3450, 2.5636,
    0.6014, 3.5933, 2.7816, 7.7149, 3.5887, -2.5133, 2.8476, 6.8606,
    5.1214, 1.0414, -0.9808, -2.4159,
];

/// Weights of [`features`](crate::beat_features::features), in their order.
#[rustfmt::skip]
pub(crate) const BEAT_WEIGHTS: [f64; FEATURES] = [
    0.2894, -0.9883, 0.1988, 1.3460, 3.5965, 2.0858, 1.2414, 2.8232,
    2.7642, 2.3102, -0.0381, 1.3735, 0.9583, 0.0985, 0.8252, 1.2408,
    0.4205, -0.2491, 0.4677, 0.1462, -0.1868, -0.7255, -0.2915, 0.4358,
    1.1222, 0.3998, -0.5084, 0.0957, -0.2927, 0.3125, -0.1418, 0.4464,
    0.6912, 0.1885, -0.0349, 0.1964, 0.1700, 0.0632, 0.3006, 0.1938,
    0.1245, 0.0306, 0.0982, 0.3923, -0.2172, -0.6925, 0.3191, 1.1363,
    -0.0684, 0.5562, -0.1328, 0.9294, 0.4705, 1.7094, 0.4646, -1.0157,
    0.2799,
];

/// Weights of [`bar_features`](crate::bar_features::bar_features), in their
/// order.
#[rustfmt::skip]
pub(crate) const BAR_WEIGHTS: [f64; BAR_FEATURES] = [
    1.1996, -0.3093, -0.3022, -0.7018, 0.7919, -0.1929, -0.5990, -0.1199,
    -0.9668, 0.3595, -0.0314, 0.6075, 0.3188, 0.2875, -0.1527, -0.4545,
    1.8504, 0.4121, -1.8490, -0.5077, 0.3945, -0.0105, -0.1741, -0.3083,
    -0.0608, -0.2801, -0.0891, 0.3857, 0.7002, 0.1222, -0.3762, -0.5896,
    0.9001, -0.2686, -0.9623, 0.0251, 0.9828, -1.2096, 0.1298, -0.1917,
    0.0756, 0.1066, -0.0049, 0.1744, -0.2211, -1.9668, 0.9327, 0.9809,
    2.4173, 0.0964, -2.5791, 1.1365, -0.6407, -0.5421, -0.2282, 0.6678,
    -0.4786, 1.5472, 1.1559, -2.3830, 1.0802, -0.3256, -0.7617, 0.1518,
    0.7974, 1.2249, 0.4195, 0.3254, 0.5722, 0.0099, 1.2114, 0.4180,
    -0.4246, 0.4781, 2.6086, 2.3923, 0.0945, -0.2017, 0.3663, -0.8598,
    -0.6688, 0.5185, -1.0543, -0.1113, -0.0292, -0.3056, 0.5615, 0.3098,
    -0.2805, 0.1871, -0.1604, -0.3670, -0.3180, -0.0536, 0.4887, 0.0135,
    0.5834, -0.2898, -0.2863, -0.1071, -0.8315, -0.2193, 0.1951, 0.0155,
    -0.3371, 0.6587, 0.7094, 0.3084, 0.6839, -0.4407, 0.2945, -0.0993,
    -0.5855, 0.1969, 0.0565, 0.3133, 0.6412, 0.5520, 0.0048, 0.2435,
    0.4455, -0.1520, 0.4658, 0.0415, 0.0567, -0.0238, 0.3674, -0.2209,
    -0.0789, 0.4431, -0.9579, -0.0985, -0.0538, -0.1035, 0.1766, 0.5744,
    -0.0329, 0.1386, 0.3146, -0.6949, -0.3228, 0.2089, -0.6628, 0.2753,
    0.0966, -0.4802, -0.2002, 0.2057, -0.3397, 0.0580, 0.3991, -0.2025,
    -0.1709, 0.1084, 0.1979, -0.2958, 0.0124, -0.1304, 0.0908, 0.2563,
];

/// Whether one tempo and one offset hold; weights of the features of a
/// [`Proof`](crate::proof::Proof), as the next three.
#[rustfmt::skip]
pub(crate) const STEADY: [f64; PROOF_FEATURES] = [
    -0.8749, 0.0000, 3.7575, 0.4369, 0.9804, 3.6559, -0.6155, 0.1676,
    7.8512,
];

/// Whether beats that were followed are beats.
#[rustfmt::skip]
pub(crate) const FOLLOWED: [f64; PROOF_FEATURES] = [
    3.8969, 0.0000, 1.9551, 0.4647, 1.1290, 8.5044, -0.2365, -1.2807,
    1.4655,
];

/// Chance that tempo and octave are right.
#[rustfmt::skip]
pub(crate) const TEMPO_SURE: [f64; PROOF_FEATURES] = [
    0.0009, 0.7640, -0.0125, 0.5972, 1.2454, 10.9918, -2.0065, 0.3619,
    -5.4104,
];

/// Chance that beats, metre and bar line are right.
#[rustfmt::skip]
pub(crate) const DOWNBEAT_SURE: [f64; PROOF_FEATURES] = [
    -0.0023, 0.6979, 0.2144, 0.3553, 0.1410, -102.1780, -0.9632, 0.4293,
    29.8503,
];
