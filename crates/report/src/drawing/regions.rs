//! The spectrum in one sentence: the region that lies farthest from the reference.

use cupel_units::{db_to_power, power_to_db};

use super::finite;
use super::spectrum::{centre_hz, now_db};
use crate::view::SpectrumBand;

/// Regions of the spectrum by their upper edge, as people call them.
const REGIONS: [(f64, &str); 5] = [
    (120.0, "below 120 Hz"),
    (500.0, "from 120 Hz to 500 Hz"),
    (2000.0, "from 500 Hz to 2 kHz"),
    (8000.0, "from 2 kHz to 8 kHz"),
    (f64::INFINITY, "above 8 kHz"),
];

/// Smaller differences of a region are none, in dB.
const SMALL_DB: f64 = 1.0;

/// Says which region of the mix as it is now lies farthest from the reference.
pub(super) fn heading(bands: &[SpectrumBand]) -> String {
    let mut low_hz = 0.0;
    let mut widest: Option<(f64, &str)> = None;
    for (high_hz, name) in REGIONS {
        let inside = |band: &&SpectrumBand| (low_hz..high_hz).contains(&centre_hz(band));
        let pairs = bands
            .iter()
            .filter(inside)
            .filter_map(|band| now_db(band).zip(finite(band.reference_db)));
        let (mix, reference) = pairs.fold((0.0, 0.0), |(mix, reference), (now, other)| {
            (mix + db_to_power(now), reference + db_to_power(other))
        });
        if mix > 0.0 && reference > 0.0 {
            let gap_db = power_to_db(mix / reference);
            if widest.is_none_or(|(most_db, _)| gap_db.abs() > f64::abs(most_db)) {
                widest = Some((gap_db, name));
            }
        }
        low_hz = high_hz;
    }
    match widest.filter(|(gap_db, _)| gap_db.is_finite()) {
        None => "The spectrum of the passage".to_owned(),
        Some((gap_db, _)) if gap_db.abs() < SMALL_DB => {
            "From lows to highs the mix lies within 1 dB of the reference".to_owned()
        }
        Some((gap_db, name)) => {
            let side = if gap_db > 0.0 { "above" } else { "below" };
            format!(
                "The mix lies {:.1} dB {side} the reference {name}",
                gap_db.abs()
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(hertz: f64, before_db: f64, reference_db: f64) -> SpectrumBand {
        SpectrumBand {
            low_hz: hertz / 1.1,
            high_hz: hertz * 1.1,
            before_db: Some(before_db),
            reference_db: Some(reference_db),
            ..SpectrumBand::default()
        }
    }

    #[test]
    fn the_farthest_region_is_named_with_its_sign() {
        let lows = [band(50.0, -20.0, -21.0), band(80.0, -20.0, -21.0)];
        let highs = [band(4000.0, -33.0, -30.0), band(10_000.0, -40.0, -40.0)];
        let all: Vec<SpectrumBand> = lows.into_iter().chain(highs).collect();
        assert_eq!(
            heading(&all),
            "The mix lies 3.0 dB below the reference from 2 kHz to 8 kHz"
        );
        assert_eq!(
            heading(&[band(300.0, -20.0, -20.5)]),
            "From lows to highs the mix lies within 1 dB of the reference"
        );
        let alone = SpectrumBand {
            reference_db: None,
            ..band(300.0, -20.0, 0.0)
        };
        assert_eq!(heading(&[alone]), "The spectrum of the passage");
    }
}
