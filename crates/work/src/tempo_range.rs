//! A range of tempo from what a person says: two numbers, or a style.

use cupel_session::MusicSettings;

/// Slowest and fastest tempo of styles, in beats a minute, wide enough to hold
/// nearly all records and narrow enough to settle the octave (common practice,
/// no source).
const STYLES: [(&str, f64, f64); 24] = [
    ("ambient", 60.0, 115.0),
    ("breaks", 115.0, 150.0),
    ("chillout", 70.0, 118.0),
    ("deep", 105.0, 130.0),
    ("disco", 100.0, 135.0),
    ("dnb", 155.0, 185.0),
    ("downtempo", 60.0, 118.0),
    ("dub", 60.0, 118.0),
    ("dubstep", 130.0, 150.0),
    ("edm", 118.0, 135.0),
    ("electro", 110.0, 145.0),
    ("garage", 120.0, 145.0),
    ("grime", 130.0, 150.0),
    ("hardcore", 150.0, 200.0),
    ("hardstyle", 140.0, 170.0),
    ("hiphop", 70.0, 115.0),
    ("house", 110.0, 135.0),
    ("jungle", 150.0, 180.0),
    ("pop", 85.0, 150.0),
    ("progressive", 115.0, 138.0),
    ("psytrance", 130.0, 155.0),
    ("techno", 115.0, 155.0),
    ("trance", 120.0, 150.0),
    ("trap", 120.0, 180.0),
];

/// Slowest and fastest tempo a range may name.
const LIMITS_BPM: (f64, f64) = (20.0, 400.0);

/// A range of tempo, in beats a minute.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TempoRange {
    /// The slowest.
    pub lowest_bpm: f64,
    /// The fastest.
    pub highest_bpm: f64,
}

impl TempoRange {
    /// Settings with this range.
    pub fn settings(self) -> MusicSettings {
        MusicSettings {
            lowest_bpm: Some(self.lowest_bpm),
            highest_bpm: Some(self.highest_bpm),
            ..MusicSettings::default()
        }
    }
}

impl std::str::FromStr for TempoRange {
    type Err = String;

    /// Reads `90-180` or a style such as `house`.
    fn from_str(words: &str) -> Result<Self, String> {
        let word: String = words
            .to_lowercase()
            .chars()
            .filter(|letter| !letter.is_whitespace())
            .collect();
        let plain = word.replace('-', "");
        if let Some((_, lowest_bpm, highest_bpm)) =
            STYLES.iter().find(|(style, ..)| *style == plain)
        {
            return Ok(Self {
                lowest_bpm: *lowest_bpm,
                highest_bpm: *highest_bpm,
            });
        }
        let numbers = word.split_once('-').and_then(|(low, high)| {
            let (low, high) = (low.parse::<f64>().ok()?, high.parse::<f64>().ok()?);
            let fits = LIMITS_BPM.0 <= low && low <= high && high <= LIMITS_BPM.1;
            fits.then_some((low, high))
        });
        let (lowest_bpm, highest_bpm) = numbers.ok_or_else(|| {
            let styles: Vec<&str> = STYLES.iter().map(|(style, ..)| *style).collect();
            format!(
                "give two tempi from 20 to 400 such as 90-180, or a style: {}",
                styles.join(", ")
            )
        })?;
        Ok(Self {
            lowest_bpm,
            highest_bpm,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_styles() {
        let range: TempoRange = "90 - 180".parse().unwrap();
        assert_eq!((range.lowest_bpm, range.highest_bpm), (90.0, 180.0));
        let range: TempoRange = "Hip-Hop".parse().unwrap();
        assert_eq!((range.lowest_bpm, range.highest_bpm), (70.0, 115.0));
    }

    #[test]
    fn nonsense_is_refused_with_what_is_allowed() {
        for words in ["", "polka", "180-90", "5-90", "90-nan", "90"] {
            let message = words.parse::<TempoRange>().unwrap_err();
            assert!(message.contains("90-180"), "{words}: {message}");
        }
    }
}
