//! Audio files in and out: decoding, resampling, writing, and a bill of health.
