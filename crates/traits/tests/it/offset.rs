//! Constants added to sounds.

use crate::sound::*;

#[test]
fn a_constant_is_read_under_all_kinds_of_sound() {
    let mut chance = Chance::new(1);
    let mut kicks = silence(20.0);
    for n in 0..40 {
        let shot = kick(0.4, &mut chance);
        add(&mut kicks, 0.5 * f64::from(n), &shot);
    }
    let bass: Vec<f64> = sine(55.0, 0.3, 20.0);
    let noise: Vec<f64> = (0..960_000).map(|_| 0.1 * chance.normal()).collect();
    for (name, sound) in [("kick", kicks), ("bass", bass), ("noise", noise)] {
        for dbfs in [-54.0, -48.0] {
            let constant = 10f64.powf(dbfs / 20.0);
            let with: Vec<f64> = sound.iter().map(|x| x - constant).collect();
            let found = traits_of(&[&sound, &with]).offset_dbfs.unwrap_or(-200.0);
            assert!((found - dbfs).abs() < 1.0, "{name}: {found} for {dbfs}");
        }
        let without = traits_of(&[&sound]).offset_dbfs;
        assert!(
            without.is_none_or(|dbfs| dbfs < -75.0),
            "{name}: {without:?}"
        );
    }
}

#[test]
fn lopsided_hits_are_no_constant() {
    let mut sound = silence(20.0);
    // all above zero: their mean over the file is -35 dBFS
    let shot: Vec<f64> = (0..9_600)
        .map(|n| {
            let t = n as f64 / RATE;
            let fade = ((0.2 - t) / 0.05).min(1.0);
            0.5 * fade
                * (-t / 0.03).exp()
                * (1.0 + (2.0 * std::f64::consts::PI * 200.0 * t).sin())
                * 0.5
        })
        .collect();
    for n in 0..40 {
        add(&mut sound, 0.5 * f64::from(n), &shot);
    }
    let found = traits_of(&[&sound]).offset_dbfs;
    assert!(found.is_none_or(|dbfs| dbfs < -66.0), "{found:?}");
}
