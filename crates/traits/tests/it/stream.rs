//! However the stream is cut, and at whatever rate.

use cupel_traits::{TraitMeter, Traits};

use crate::sound::*;

#[test]
fn blocks_change_nothing() {
    let mut chance = Chance::new(3);
    let mut sound = silence(5.3);
    for n in 0..10 {
        add(&mut sound, 0.5 * f64::from(n), &snare(0.2, &mut chance));
    }
    let mut whole = TraitMeter::new(RATE_HZ, 2);
    whole.push(&[&sound, &sound]);
    let mut cut = TraitMeter::new(RATE_HZ, 2);
    let mut from = 0;
    while from < sound.len() {
        let to = (from + 1 + (300.0 * (1.0 + chance.next())) as usize).min(sound.len());
        cut.push(&[&sound[from..to], &sound[from..to]]);
        from = to;
    }
    assert_eq!(whole.finish(), cut.finish());
}

#[test]
fn nothing_and_odd_samples() {
    assert_eq!(TraitMeter::new(44_100, 2).finish(), Traits::default());
    for rate_hz in [8_000, 44_100, 192_000] {
        for frames in [1, 1_000, 300_000] {
            let mut meter = TraitMeter::new(rate_hz, 1);
            meter.push(&[&vec![f64::NAN; frames]]);
            assert_eq!(meter.finish(), Traits::default());
        }
    }
}
