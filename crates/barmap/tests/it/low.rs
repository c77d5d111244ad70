//! The low end read around its own notes does not punish another key.

use std::f64::consts::PI;

use cupel_barmap::{
    BarMap, Comparison, CrossMeter, LowBars, LowGuide, LowNote, LowPlace, LowReading, RowName,
    Sheet, sheet_owners,
};

use crate::sound::*;

const TEMPO_BPM: f64 = 124.0;
const BARS: usize = 8;

/// Off-beat bass notes of a bar: slot, slots long, semitones over the root.
const PATTERN: [(usize, usize, i32); 6] = [
    (1, 1, 0),
    (2, 2, 0),
    (6, 2, 0),
    (9, 1, 3),
    (10, 2, 3),
    (14, 2, -2),
];

/// A bass of four partials, with a soft low-pass that follows the note (as a
/// synthesiser's keyboard tracking does), and notes for the guide.
fn bass(root_hz: f64) -> (Vec<f64>, Vec<LowNote>) {
    let mut channel = vec![0.0; (17.0 * RATE_HZ) as usize];
    let mut notes = Vec::new();
    let slot_s = 60.0 / TEMPO_BPM / 4.0;
    for bar in 0..BARS {
        for (slot, slots, semitones) in PATTERN {
            let hertz = root_hz * 2f64.powf(f64::from(semitones) / 12.0);
            let start_s = 0.2 + (bar * 16 + slot) as f64 * slot_s;
            let end_s = start_s + slots as f64 * slot_s;
            for (partial, amplitude) in [(1.0, 0.3), (2.0, 0.15), (3.0, 0.08), (4.0, 0.05)] {
                add_tone(
                    &mut channel,
                    start_s,
                    end_s - 0.01,
                    partial * hertz,
                    amplitude,
                );
            }
            notes.push(LowNote {
                start_s,
                end_s,
                hertz,
            });
        }
    }
    (channel, notes)
}

/// A kick on every beat, 3 dB over the bass in peak (common practice, no source):
/// falls from 160 Hz to `low_hz` within 60 ms.
fn kick(low_hz: f64) -> (Vec<f64>, Vec<f64>) {
    let mut channel = vec![0.0; (17.0 * RATE_HZ) as usize];
    let times: Vec<f64> = (0..BARS * 4)
        .map(|beat| 0.2 + beat as f64 * 60.0 / TEMPO_BPM)
        .collect();
    for &start_s in &times {
        let mut phase = 0.0;
        let start = (start_s * RATE_HZ) as usize;
        for n in 0..(0.25 * RATE_HZ) as usize {
            let t = n as f64 / RATE_HZ;
            phase += 2.0 * PI * (low_hz + (160.0 - low_hz) * (-t / 0.02).exp()) / RATE_HZ;
            channel[start + n] += 0.8 * (-t / 0.08).exp() * phase.sin();
        }
    }
    (channel, times)
}

fn read(channel: &[f64], guide: &LowGuide) -> (BarMap, LowReading) {
    let (map, low): (BarMap, LowBars) = both(&lines(TEMPO_BPM, 4, BARS, 0.2), &[channel]);
    (map, LowReading::of(&low, guide))
}

/// Level of a fixed band of the map.
fn fixed_db(map: &BarMap, low_hz: f64, high_hz: f64) -> f64 {
    let inside =
        |row: &usize| map.rows[*row].centre_hz >= low_hz && map.rows[*row].centre_hz < high_hz;
    db((0..map.rows.len())
        .filter(inside)
        .map(|row| map.row_mean(row))
        .sum())
}

/// Transposes by 2 to 5 semitones up and down; the low reading may move by
/// `most_db`, while a fixed band moves by 3 dB and more.
fn check(with_kick: bool, root_hz: f64, most_db: f64) {
    let (drum, times) = kick(52.0);
    let guide = |notes: Vec<LowNote>| LowGuide {
        notes,
        kick_hz: with_kick.then_some(52.0),
        kick_times_s: if with_kick { times.clone() } else { vec![] },
        kick_length_s: Some(0.1),
    };
    let hear = |root_hz: f64| {
        let (mut channel, notes) = bass(root_hz);
        if with_kick {
            channel.iter_mut().zip(&drum).for_each(|(x, y)| *x += y);
        }
        read(&channel, &guide(notes))
    };
    let (map, reading) = hear(root_hz);
    let mut fixed_moved: f64 = 0.0;
    for semitones in [-5, -4, -3, -2, 2, 3, 4, 5] {
        let (other_map, other) = hear(root_hz * 2f64.powf(f64::from(semitones) / 12.0));
        for (place, moved) in reading.less(&other, 0.0) {
            if let Some(moved) = moved {
                assert!(moved.abs() < most_db, "{semitones} {place:?}: {moved}");
            } else {
                assert!(place.is_kick() && !with_kick, "{place:?}");
            }
        }
        for band in [(40.0, 60.0), (60.0, 85.0), (85.0, 120.0)] {
            let moved = fixed_db(&map, band.0, band.1) - fixed_db(&other_map, band.0, band.1);
            fixed_moved = fixed_moved.max(moved.abs());
        }
    }
    assert!(fixed_moved > 3.0, "{fixed_moved}");
}

#[test]
fn a_transposed_bass_reads_the_same() {
    for root_hz in [43.65, 49.0, 55.0] {
        check(false, root_hz, 1.0);
    }
}

#[test]
fn a_transposed_bass_reads_the_same_beside_a_kick() {
    for root_hz in [43.65, 49.0, 55.0] {
        check(true, root_hz, 1.0);
    }
}

#[test]
fn a_softer_bass_reads_softer() {
    let (channel, notes) = bass(49.0);
    let softer: Vec<f64> = channel.iter().map(|x| 0.5 * x).collect();
    let guide = LowGuide {
        notes,
        ..LowGuide::default()
    };
    let (reading, other) = (read(&channel, &guide).1, read(&softer, &guide).1);
    for (place, moved) in reading.less(&other, 0.0) {
        assert!(
            moved.is_none_or(|moved| (moved - 6.02).abs() < 0.01),
            "{place:?}: {moved:?}"
        );
    }
    // A tone of amplitude 0.3 has 10 log10(0.045) = -13.5 dB.
    let note = reading.level_db(LowPlace::Note).unwrap();
    assert!((note + 13.5).abs() < 1.0, "{note}");
    let octave = reading.level_db(LowPlace::Octave).unwrap();
    assert!((note - octave - 6.02).abs() < 0.7, "{note} {octave}");
    assert_eq!(reading.place(LowPlace::Note)[4].bars, 0);
    assert_eq!(reading.place(LowPlace::Note)[2].bars, BARS);
}

#[test]
fn without_notes_nothing_is_read() {
    let (channel, _) = bass(49.0);
    let reading = read(&channel, &LowGuide::default()).1;
    assert!(
        LowPlace::ALL
            .iter()
            .all(|&place| reading.level_db(place).is_none())
    );
}

#[test]
fn a_comparison_reads_the_low_end_by_notes_where_both_have_them() {
    let (drum, times) = kick(52.0);
    let hear = |root_hz: f64, gain: f64| {
        let (channel, notes) = bass(root_hz);
        let sum: Vec<f64> = channel
            .iter()
            .zip(&drum)
            .map(|(x, y)| gain * x + y)
            .collect();
        let guide = LowGuide {
            notes,
            kick_hz: Some(52.0),
            kick_times_s: times.clone(),
            kick_length_s: Some(0.1),
        };
        let (map, reading) = read(&sum, &guide);
        (map, reading, guide)
    };
    let (mix, reading, guide) = hear(49.0, 0.5);
    let (reference, other, _) = hear(58.0, 1.0);
    let compared = Comparison::of((&mix, Some(&reading)), (&reference, Some(&other)), 0.0);
    let whole = |name: RowName| {
        compared
            .rows
            .iter()
            .find(|row| row.name == name)
            .unwrap()
            .whole_db
            .unwrap()
    };
    for place in [LowPlace::Note, LowPlace::Octave] {
        let louder = whole(RowName::Place(place));
        assert!((louder + 6.0).abs() < 1.0, "{place:?}: {louder}");
    }
    assert!(whole(RowName::Place(LowPlace::KickBody)).abs() < 1.0);
    let first_band = compared.rows.iter().find_map(|row| match row.name {
        RowName::Band { low_hz, .. } => Some(low_hz),
        RowName::Place(_) => None,
    });
    assert!((first_band.unwrap() - 151.13).abs() < 0.01);
    let json = serde_json::to_string(&compared).unwrap();
    assert!(
        json.contains("kick-body") && json.len() < 8_000,
        "{}",
        json.len()
    );

    // Without notes on one side both are read in half octaves.
    let fixed = Comparison::of((&mix, Some(&reading)), (&reference, None), 0.0);
    assert!(
        fixed
            .rows
            .iter()
            .all(|row| matches!(row.name, RowName::Band { .. }))
    );
    assert_eq!(fixed.rows.len(), 16);

    // Whose the rows are: each track read around the notes of the mix.
    let tracks = [("bass", bass(49.0).0), ("kick", drum)].map(|(id, channel)| {
        let (map, reading) = read(&channel, &guide);
        (id, Sheet::of(&map, Some(&reading), compared.low_rows))
    });
    let owners = sheet_owners(&tracks);
    let row = |name: RowName| {
        compared
            .rows
            .iter()
            .position(|row| row.name == name)
            .unwrap()
    };
    let owner =
        |place: LowPlace, slot: usize| owners.cells[row(RowName::Place(place)) * 16 + slot].clone();
    assert_eq!(owner(LowPlace::Note, 2).unwrap().id, "bass");
    assert_eq!(owner(LowPlace::KickBody, 4).unwrap().id, "kick");
    assert_eq!(owner(LowPlace::KickBody, 2), None);
}

#[test]
fn cross_terms_read_the_low_places_of_any_balance() {
    let ((deep, notes), (drum, times)) = (bass(49.0), kick(52.0));
    let guide = LowGuide {
        notes,
        kick_hz: Some(52.0),
        kick_times_s: times,
        kick_length_s: Some(0.1),
    };
    let lines = lines(TEMPO_BPM, 4, BARS, 0.2);
    let mut meter = CrossMeter::new(RATE_HZ, &[1, 1], &lines, 0.0).with_guide(&guide, &lines);
    meter.push(&[&[&deep], &[&drum]]);
    let cross = meter.finish().low.unwrap();
    for gains in [[1.0, 1.0], [0.3, 1.2]] {
        let sum: Vec<f64> = deep
            .iter()
            .zip(&drum)
            .map(|(b, k)| gains[0] * b + gains[1] * k)
            .collect();
        let (truth, ours) = (read(&sum, &guide).1, cross.reading(&gains));
        for place in LowPlace::ALL
            .into_iter()
            .filter(|&place| place != LowPlace::UnderNote)
        {
            for slot in 0..16 {
                let (truth, ours) = (truth.place(place)[slot], ours.place(place)[slot]);
                assert_eq!(truth.bars, ours.bars);
                if truth.bars > 0 {
                    let error = db(ours.power / truth.power);
                    assert!(error.abs() < 0.1, "{place:?} {slot}: {error}");
                }
            }
        }
    }
    assert_eq!(cross.bars(LowPlace::KickBody, 4), BARS);
    assert_eq!(cross.triangle(LowPlace::Note, 2).len(), 3);
}
