//! A track's way into the mix: low cut, polarity, gain, pan, gain over time.

use crate::gain::factor;
use crate::{
    DesignError, GainCurve, LowCut, LowCutSettings, PanGains, balance_gains, db_to_gain,
    mono_pan_gains,
};

/// What moves set on one track.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StripSettings {
    /// Sum of the constant gains, in decibels.
    pub gain_db: f64,
    /// Position from -1 (left) to 1 (right).
    pub pan: f64,
    /// Whether the file is mono: it then pans by the mono law.
    pub mono: bool,
    /// Polarity turned over.
    pub inverted: bool,
    /// Low cuts, one after the other.
    pub low_cuts: Vec<LowCutSettings>,
    /// Gains over time, on top of `gain_db`.
    pub curves: Vec<GainCurve>,
}

/// The running strip. Input is stereo: a mono file plays on both sides.
#[derive(Clone, Debug)]
pub struct Strip {
    left_linear: f64,
    right_linear: f64,
    low_cuts: Vec<LowCut>,
    curves: Vec<GainCurve>,
    frame: u64,
}

impl Strip {
    /// Checks the settings and makes the strip, at the start of the session.
    ///
    /// # Errors
    /// [`DesignError`], with the value that is out of range.
    pub fn new(settings: &StripSettings, sample_rate_hz: f64) -> Result<Self, DesignError> {
        db_to_gain(settings.gain_db)?;
        let pan = if settings.mono {
            mono_pan_gains(settings.pan)?
        } else {
            balance_gains(settings.pan)?
        };
        let sign = if settings.inverted { -1.0 } else { 1.0 };
        let gain = sign * factor(settings.gain_db);
        let PanGains {
            left_linear,
            right_linear,
        } = pan;
        let low_cuts = settings
            .low_cuts
            .iter()
            .map(|&cut| LowCut::new(cut, sample_rate_hz))
            .collect::<Result<_, _>>()?;
        Ok(Self {
            left_linear: gain * left_linear,
            right_linear: gain * right_linear,
            low_cuts,
            curves: settings.curves.clone(),
            frame: 0,
        })
    }

    /// Forgets what was played and goes on at `frame` of the session.
    pub fn reset(&mut self, frame: u64) {
        self.frame = frame;
        self.low_cuts.iter_mut().for_each(LowCut::reset);
    }

    /// Processes both channels in place. Both slices have the same length.
    pub fn process(&mut self, left: &mut [f64], right: &mut [f64]) {
        for cut in &mut self.low_cuts {
            cut.process(left, right);
        }
        scale(left, self.left_linear);
        scale(right, self.right_linear);
        for curve in &self.curves {
            curve.process(self.frame, left, right);
        }
        self.frame += left.len() as u64;
    }
}

fn scale(channel: &mut [f64], gain_linear: f64) {
    if gain_linear != 1.0 {
        channel.iter_mut().for_each(|sample| *sample *= gain_linear);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_set_changes_nothing() {
        let mut strip = Strip::new(&StripSettings::default(), 48_000.0).unwrap();
        let (mut left, mut right) = (vec![0.1, -0.7, 1e-300], vec![0.3, 2.5, -1e-9]);
        let before = (left.clone(), right.clone());
        strip.process(&mut left, &mut right);
        assert_eq!((left, right), before);
    }

    #[test]
    fn gain_pan_and_polarity_multiply() {
        let settings = StripSettings {
            gain_db: 6.0,
            pan: 1.0,
            mono: true,
            inverted: true,
            ..Default::default()
        };
        let mut strip = Strip::new(&settings, 48_000.0).unwrap();
        let (mut left, mut right) = (vec![0.5], vec![0.5]);
        strip.process(&mut left, &mut right);
        assert!(left[0].abs() < 1e-15);
        // +6 dB, and +3.01 dB of the hard-panned mono law.
        assert!((right[0] + 0.5 * 10f64.powf(9.0103 / 20.0)).abs() < 1e-6);
    }

    #[test]
    fn bad_settings_are_named() {
        let loud = StripSettings {
            gain_db: 200.0,
            ..Default::default()
        };
        assert_eq!(
            Strip::new(&loud, 48_000.0).err(),
            Some(DesignError::Gain { given_db: 200.0 })
        );
        let wide = StripSettings {
            pan: -1.5,
            ..Default::default()
        };
        assert_eq!(
            Strip::new(&wide, 48_000.0).err(),
            Some(DesignError::Pan { given: -1.5 })
        );
    }
}
