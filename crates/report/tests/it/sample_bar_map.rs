//! An invented bar map: drums, bass and chords of a house groove.

use cupel_report::*;

/// Name, sixteenths it starts on, sixteenths it lasts, middle row, width in rows,
/// level in dB, level in the reference.
type Part = (&'static str, &'static [usize], usize, f64, f64, f64, f64);

const LABELS: [&str; 16] = [
    "kick body",
    "kick punch",
    "bass note",
    "octave",
    "overtones",
    "160 Hz",
    "280 Hz",
    "450 Hz",
    "710 Hz",
    "1.1 kHz",
    "1.8 kHz",
    "2.8 kHz",
    "4.5 kHz",
    "7.1 kHz",
    "11 kHz",
    "18 kHz",
];

const PARTS: [Part; 7] = [
    ("Kick", &[0, 4, 8, 12], 1, 0.3, 0.8, 0.0, 0.0),
    ("Bass", &[2, 3, 6, 10, 14, 15], 1, 2.4, 0.9, -4.0, -7.5),
    ("Clap wide", &[4, 12], 1, 10.0, 1.6, -14.0, -11.0),
    (
        "Shaker",
        &[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15],
        1,
        13.5,
        1.0,
        -30.0,
        -29.0,
    ),
    ("Open hat", &[2, 6, 10, 14], 2, 14.0, 1.2, -20.0, -24.0),
    ("Pad warm", &[0], 16, 6.5, 1.8, -20.0, -20.5),
    ("Chords", &[3, 6, 11], 2, 8.0, 1.2, -17.0, -60.0),
];

fn power(part: &Part, row: usize, slot: usize, of_reference: bool) -> f64 {
    let (_, starts, length, middle, width, level, reference) = *part;
    let level = if of_reference { reference } else { level };
    let away = (row as f64 - middle) / width;
    let sounds = |start: &usize| (slot + 16 - start) % 16;
    let since = starts.iter().map(sounds).min().unwrap_or(16);
    let tail = match since.checked_sub(length) {
        None => 2.0 * since as f64 / length as f64,
        Some(over) => 18.0 + 10.0 * over as f64,
    };
    10f64.powf((level - 4.0 * away * away - tail) / 10.0)
}

/// Level of a row's cell; rows of kick and bass only where they are read.
fn level(row: usize, slot: usize, of_reference: bool) -> Option<f64> {
    let kick = slot.is_multiple_of(4);
    if (row < 2 && !kick) || ((2..5).contains(&row) && kick) {
        return None;
    }
    let sum: f64 = PARTS
        .iter()
        .map(|part| power(part, row, slot, of_reference))
        .sum();
    let db = 10.0 * sum.log10();
    (db > -62.0).then_some(db)
}

fn owner(row: usize, slot: usize) -> Option<Owner> {
    level(row, slot, false)?;
    let all = PARTS
        .iter()
        .map(|part| (part.0, power(part, row, slot, false)));
    let sum: f64 = all.clone().map(|(_, power)| power).sum();
    let (track, power) = all.max_by(|one, other| one.1.total_cmp(&other.1))?;
    Some(Owner {
        track: track.into(),
        share: power / sum,
    })
}

/// The view.
pub fn view() -> BarMapView {
    let rows = LABELS.iter().enumerate().map(|(row, label)| {
        let levels =
            |of_reference: bool| (0..16).map(|slot| level(row, slot, of_reference)).collect();
        let (mix_db, reference_db): (Vec<Option<f64>>, Vec<Option<f64>>) =
            (levels(false), levels(true));
        let mean = |levels: &[Option<f64>]| {
            let powers = levels.iter().flatten().map(|db| 10f64.powf(db / 10.0));
            10.0 * (powers.sum::<f64>() / 16.0).log10()
        };
        BarMapRow {
            label: (*label).into(),
            by_note: row < 5,
            whole_db: Some(mean(&mix_db) - mean(&reference_db)),
            difference_db: mix_db
                .iter()
                .zip(&reference_db)
                .map(|pair| Some((*pair.0)? - (*pair.1)?))
                .collect(),
            arrangement: (0..16)
                .map(|slot| {
                    let chords = power(&PARTS[6], row, slot, false);
                    let rest: f64 = PARTS[..6]
                        .iter()
                        .map(|part| power(part, row, slot, false))
                        .sum();
                    row > 4 && chords > rest
                })
                .collect(),
            owners: (0..16).map(|slot| owner(row, slot)).collect(),
            mix_db,
            reference_db,
        }
    });
    BarMapView {
        sentence: String::new(),
        beats: 4,
        reference_beats: Some(4),
        rows: rows.collect(),
    }
}
