//! Low end, peaks, path and what stays, of the invented session.

use cupel_report::*;

fn level(midi: i32, peaks: &[(i32, f64)]) -> Option<f64> {
    let near = peaks
        .iter()
        .map(|&(at, db)| db - 3.5 * f64::from((midi - at).abs()));
    near.fold(None, |most: Option<f64>, db| {
        Some(most.map_or(db, |most| most.max(db)))
    })
}

fn line(start_s: f64, notes: &[(f64, f64, i32)], kick_hz: f64) -> LowLine {
    let bar_s = 4.0 * 60.0 / 124.0;
    let beats = (0..16).map(|beat| start_s + 0.25 * bar_s * f64::from(beat));
    let notes = (0..4).flat_map(|bar| {
        notes.iter().map(move |&(from, to, midi)| PlayedNote {
            start_s: start_s + bar_s * (f64::from(bar) + from),
            end_s: start_s + bar_s * (f64::from(bar) + to),
            midi: midi + if bar == 3 { 2 } else { 0 },
            level_db: -20.0 - 6.0 * from,
        })
    });
    LowLine {
        span_s: (start_s, start_s + 4.0 * bar_s),
        bar_starts_s: (0..5).map(|bar| start_s + bar_s * f64::from(bar)).collect(),
        notes: notes.collect(),
        kicks_s: beats.collect(),
        kick_hz: Some(kick_hz),
    }
}

pub fn low_end() -> LowEndView {
    let notes = (21..=50).map(|midi| {
        let bass = 1.0 / (1.0 + (f64::from(midi - 36) / 4.0).powi(2));
        LowNoteBand {
            midi,
            mix_db: level(midi, &[(31, -21.0), (38, -18.0), (43, -24.0)]),
            reference_db: level(midi, &[(34, -20.0), (40, -21.5)]),
            owners: vec![
                Owner {
                    track: "Kick".into(),
                    share: 0.95 * (1.0 - bass),
                },
                Owner {
                    track: "Sub".into(),
                    share: 0.95 * bass,
                },
                Owner {
                    track: "Toms".into(),
                    share: 0.05,
                },
            ],
        }
    });
    LowEndView {
        sentence: String::new(),
        notes: notes.collect(),
        mix: Some(line(
            128.0,
            &[
                (0.12, 0.24, 38),
                (0.37, 0.49, 38),
                (0.62, 0.74, 43),
                (0.87, 0.99, 45),
            ],
            52.0,
        )),
        reference: Some(line(
            120.0,
            &[(0.0, 0.3, 40), (0.5, 0.62, 40), (0.75, 0.99, 35)],
            58.0,
        )),
    }
}

pub fn peaks() -> PeaksView {
    let row = |track: &str, share: f64, before: f64| PeakRow {
        track: track.into(),
        share,
        before: Some(before),
    };
    PeaksView {
        sentence: String::new(),
        seconds: 240.0,
        peaks: (0..50u32)
            .map(|n| PeakMark {
                time_s: 62.0 + 32.0 * f64::from(n / 25) * 2.0 + 1.2 * f64::from(n % 25),
                level_dbfs: -3.6 - 0.05 * f64::from((n * 17) % 40),
                largest: "Kick".into(),
            })
            .collect(),
        rows: vec![
            row("Kick", 0.46, 0.4),
            row("Clap wide", 0.12, 0.1),
            row("Sub", 0.31, 0.42),
            row("Pad air (printed with the hall)", -0.03, -0.02),
            row("Shaker L", 0.002, 0.001),
        ],
    }
}

pub fn path() -> PathView {
    let part = |name: &str, unit: &str, start: f64, steps: [f64; 6]| PathPart {
        name: name.into(),
        unit: unit.into(),
        start,
        end: steps[5],
        steps: steps.to_vec(),
    };
    PathView {
        parts: vec![
            part("bar map", "dB", 3.2, [3.2, 2.1, 1.9, 1.7, 1.5, 1.4]),
            part("spectrum", "dB", 2.7, [2.7, 1.7, 1.5, 1.4, 1.3, 1.2]),
            part("low end", "dB", 3.4, [3.4, 1.2, 0.8, 0.8, 0.8, 0.8]),
            part("width by band", "dB", 1.1, [1.1, 1.1, 1.1, 1.2, 1.3, 1.3]),
            part("lean", "dB", 0.2, [0.2, 0.2, 0.2, 0.2, 0.2, 0.2]),
        ],
        steps: ["All tracks", "Sub", "Bass", "Clap wide", "Piano", "Pad air"]
            .map(str::to_owned)
            .to_vec(),
    }
}

pub fn unmended() -> Vec<Unmended> {
    vec![
        Unmended {
            place: "40 Hz".into(),
            how_much: "-8.0 dB".into(),
            whose: Some("Sub".into()),
            cause: Cause::Sound,
            sentence: "The reference's bass reaches an octave lower than any note played here."
                .into(),
        },
        Unmended {
            place: "7 kHz to 11 kHz".into(),
            how_much: "-3.1 dB".into(),
            whose: None,
            cause: Cause::Arrangement,
            sentence: "The reference has a shaker in sixteenths there; nothing here plays it."
                .into(),
        },
    ]
}
