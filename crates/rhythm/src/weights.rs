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
    -0.1812, -2.1215, 3.4590, 2.8019, 6.1739, 2.0951, 3.7905, 1.8696,
    1.3335, 3.9746, 2.3928, 7.2377, 3.3093, -1.7638, 2.6560, 5.6896,
    4.6610, 0.6772, -0.7291, -2.7580,
];

/// Weights of [`features`](crate::beat_features::features), in their order.
#[rustfmt::skip]
pub(crate) const BEAT_WEIGHTS: [f64; FEATURES] = [
    0.2560, -1.0482, 0.2519, 1.2906, 3.4708, 2.1109, 1.2651, 2.7871,
    2.6991, 2.2391, -0.1366, 1.3645, 1.0267, 0.2063, 0.8276, 1.2380,
    0.4428, -0.2946, 0.7108, 0.2320, -0.2134, -0.7327, -0.2023, 0.5288,
    1.0672, 0.2696, -0.5347, -0.0229, -0.2639, 0.3098, -0.0589, 0.4207,
    0.6843, 0.1814, -0.0211, 0.1806, 0.1547, 0.0369, 0.2962, 0.2208,
    0.0612, 0.0307, 0.0990, 0.3708, -0.1953, -0.6430, 0.3113, 1.0724,
    -0.0838, 0.4838, -0.1845, 0.9611, 0.3869, 1.6721, 0.4141, -1.0030,
    0.2315,
];

/// Weights of [`bar_features`](crate::bar_features::bar_features), in their
/// order.
#[rustfmt::skip]
pub(crate) const BAR_WEIGHTS: [f64; BAR_FEATURES] = [
    1.1752, -0.3083, -0.3205, -0.6475, 0.7561, -0.2076, -0.5376, -0.1231,
    -0.9114, 0.3122, -0.0168, 0.5862, 0.3085, 0.2867, -0.1412, -0.4529,
    1.7601, 0.3942, -1.7837, -0.4505, 0.3582, -0.0156, -0.1787, -0.2501,
    -0.0646, -0.2555, -0.1091, 0.3840, 0.7154, 0.1255, -0.4172, -0.5431,
    0.8878, -0.2795, -0.8845, -0.0130, 1.0257, -1.2060, 0.1020, -0.0236,
    -0.1171, 0.1465, 0.0415, 0.1012, -0.1627, -1.8442, 0.9477, 0.8517,
    2.2540, -0.0364, -2.2620, 0.9694, -0.6016, -0.4160, -0.1790, 0.6635,
    -0.5301, 1.7523, 1.1771, -2.6683, 0.7888, -0.2902, -0.5224, 0.1630,
    0.7663, 1.1629, 0.3735, 0.3261, 0.5157, 0.0240, 1.2213, 0.3158,
    -0.3049, 0.5711, 2.3573, 2.2514, 0.1210, -0.2225, 0.3559, -0.7387,
    -0.6563, 0.3826, -0.9719, -0.1261, -0.0076, -0.2179, 0.5667, 0.2993,
    -0.2578, 0.1884, -0.1631, -0.4033, -0.3096, -0.0150, 0.4928, 0.0125,
    0.5770, -0.2792, -0.2784, -0.1291, -0.7745, -0.2466, 0.1705, 0.0845,
    -0.2975, 0.5536, 0.7285, 0.2370, 0.6420, -0.4399, 0.2253, -0.1230,
    -0.5160, 0.1923, 0.0504, 0.2838, 0.6038, 0.5900, 0.0271, 0.2177,
    0.4090, -0.1646, 0.4001, 0.0574, 0.0020, -0.0160, 0.3603, -0.2076,
    -0.1024, 0.3665, -0.7864, -0.0474, -0.0761, 0.0029, 0.1667, 0.5425,
    -0.0418, 0.1278, 0.3339, -0.6143, -0.3333, 0.1628, -0.6099, 0.2310,
    0.0549, -0.4263, -0.1843, 0.1843, -0.2993, 0.0556, 0.3632, -0.3631,
    -0.2179, 0.0939, 0.1934, -0.2764, 0.0054, -0.1207, 0.0043, 0.2487,
];

/// Whether one tempo and one offset hold; weights of the features of a
/// [`Proof`](crate::proof::Proof), as the next three.
#[rustfmt::skip]
pub(crate) const STEADY: [f64; PROOF_FEATURES] = [
    -0.5371, 0.0000, 3.6309, 0.4321, 1.0929, 4.1332, -0.6626, 0.1102,
    7.1433,
];

/// Whether beats that were followed are beats.
#[rustfmt::skip]
pub(crate) const FOLLOWED: [f64; PROOF_FEATURES] = [
    3.2980, 0.0000, 1.9629, 0.5319, 1.2204, 8.1973, -0.1923, -1.2717,
    1.3819,
];

/// Chance that tempo and octave are right.
#[rustfmt::skip]
pub(crate) const TEMPO_SURE: [f64; PROOF_FEATURES] = [
    0.0007, 0.7823, 0.0166, 0.6054, 0.6802, 3.2672, -0.9438, 0.5884,
    -5.4216,
];

/// Chance that beats, metre and bar line are right.
#[rustfmt::skip]
pub(crate) const DOWNBEAT_SURE: [f64; PROOF_FEATURES] = [
    -0.0027, 0.7100, 0.2950, 0.3876, 0.0019, -107.4217, -0.1344, 0.5253,
    29.3390,
];
