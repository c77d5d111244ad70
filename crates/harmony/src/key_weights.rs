//! Templates of the two modes, tonic first.

/// EDM corpus profiles, automatic: Faraldo et al., ECIR 2016, via essentia
/// `key.cpp`.
pub(crate) const MUSIC: [[f64; 12]; 2] = [
    [
        1.0, 0.29, 0.50, 0.40, 0.60, 0.56, 0.32, 0.80, 0.31, 0.45, 0.42, 0.39,
    ],
    [
        1.0, 0.31, 0.44, 0.58, 0.33, 0.49, 0.29, 0.78, 0.43, 0.29, 0.53, 0.32,
    ],
];
