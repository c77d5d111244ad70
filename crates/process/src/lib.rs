//! Filters, gain, pan and the mixing graph on planar 64-bit samples: no files, no threads, no FFT.
