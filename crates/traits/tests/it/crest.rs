//! Crest of hits in closed form.

use crate::sound::*;

/// Hits of a decaying sine: the peak against the mean square of 200 ms.
#[test]
fn crest_of_decaying_sines() {
    for tau_s in [0.01, 0.04, 0.15] {
        let mut sound = silence(12.0);
        let shot: Vec<f64> = sine(1000.0, 0.5, 0.4)
            .iter()
            .enumerate()
            .map(|(n, x)| x * (-(n as f64) / RATE / tau_s).exp())
            .collect();
        for n in 0..20 {
            add(&mut sound, 0.3 + 0.5 * f64::from(n), &shot);
        }
        // mean square of 0.5 exp(-t/tau) sin over 0.2 s: half of 0.25 tau/2 (1 - exp(-0.4/tau)) / 0.2
        let power = 0.125 * 0.5 * tau_s * (1.0 - (-0.4 / tau_s).exp()) / 0.2;
        // the first crest stands a quarter period in
        let peak = 0.5 * (-0.00025 / tau_s).exp();
        let crest_db = 20.0 * peak.log10() - 10.0 * power.log10();
        let found = traits_of(&[&sound]).hit_crest_db.unwrap();
        assert!(
            (found - crest_db).abs() < 0.5,
            "{tau_s}: {found} for {crest_db}"
        );
        // one side alone, or both, makes no difference
        let quiet = silence(12.0);
        assert_eq!(traits_of(&[&quiet, &sound]).hit_crest_db, Some(found));
    }
}

#[test]
fn fewer_than_four_hits_tell_nothing() {
    let mut sound = silence(4.0);
    for n in 0..3 {
        add(&mut sound, f64::from(n), &snare(0.2, &mut Chance::new(1)));
    }
    assert_eq!(traits_of(&[&sound]).hit_crest_db, None);
}
