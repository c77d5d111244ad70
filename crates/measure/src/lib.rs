//! Loudness, peaks, spectrum and stereo of samples, in one pass.
