//! The bands sound is folded in, and how loud each counts.

/// Bands of a fold.
pub(crate) const BANDS: usize = 26;
/// Bands read from the decimated signal.
pub(crate) const LOW_BANDS: usize = 9;
/// Edges in Hz: some 15 to 70 Hz wide below 355 Hz, third octaves above.
pub(crate) const EDGES_HZ: [f64; BANDS + 1] = [
    28.0, 50.0, 70.0, 90.0, 115.0, 145.0, 180.0, 225.0, 280.0, 355.0, 450.0, 560.0, 710.0, 900.0,
    1120.0, 1400.0, 1800.0, 2240.0, 2800.0, 3550.0, 4500.0, 5600.0, 7100.0, 9000.0, 11200.0,
    14000.0, 18000.0,
];

/// Middle of a band on a logarithmic axis.
pub(crate) fn centre_hz(band: usize) -> f64 {
    (EDGES_HZ[band] * EDGES_HZ[band + 1]).sqrt()
}

/// Power weights near those of K-weighting (Rec. ITU-R BS.1770-5, annex 1,
/// figures 2 and 4): a second-order high pass at 38 Hz and a shelf of 4 dB above
/// 1.7 kHz.
pub(crate) fn weights() -> [f32; BANDS] {
    std::array::from_fn(|band| {
        let f2 = centre_hz(band).powi(2);
        let pass = (f2 / (f2 + 38.0f64.powi(2))).powi(2);
        let shelf = 4.0 * f2 / (f2 + 1700.0f64.powi(2));
        (pass * 10f64.powf(shelf / 10.0)) as f32
    })
}
