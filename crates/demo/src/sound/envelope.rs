//! Envelopes of a note.

/// Attack, decay, sustain and release of a note of known length, each segment
/// but the attack exponential.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Shape {
    pub(crate) attack_s: f64,
    /// Time constants, to 37 percent.
    pub(crate) decay_s: f64,
    pub(crate) sustain: f64,
    pub(crate) release_s: f64,
}

/// A running envelope.
pub(crate) struct Envelope {
    level: f64,
    attack_step: f64,
    decay: f64,
    sustain: f64,
    release: f64,
    rising: bool,
}

impl Shape {
    pub(crate) fn start(self, sample_rate_hz: f64) -> Envelope {
        Envelope {
            level: 0.0,
            attack_step: 1.0 / (self.attack_s * sample_rate_hz).max(1.0),
            decay: pole(self.decay_s, sample_rate_hz),
            sustain: self.sustain,
            release: pole(self.release_s, sample_rate_hz),
            rising: true,
        }
    }

    /// Frames until the release is 60 dB down.
    pub(crate) fn frames(self, held_frames: usize, sample_rate_hz: f64) -> usize {
        held_frames + (6.9 * self.release_s * sample_rate_hz) as usize
    }
}

impl Envelope {
    #[inline]
    pub(crate) fn next(&mut self, held: bool) -> f64 {
        if !held {
            self.level *= self.release;
        } else if self.rising {
            self.level += self.attack_step;
            if self.level >= 1.0 {
                self.level = 1.0;
                self.rising = false;
            }
        } else {
            self.level = self.sustain + self.decay * (self.level - self.sustain);
        }
        self.level
    }
}

/// Factor a sample of an exponential with this time constant.
pub(crate) fn pole(time_s: f64, sample_rate_hz: f64) -> f64 {
    libm::exp(-1.0 / (time_s.max(1e-5) * sample_rate_hz))
}
