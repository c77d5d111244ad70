//! Maps beside maps.

use cupel_barmap::{BarMap, compare, owners};

use crate::sound::*;

#[test]
fn json_keeps_a_tenth_of_a_decibel() {
    let lines = lines(120.0, 4, 2, 0.1);
    let mut left = noise(1, 220_000);
    left[50_000..].iter_mut().for_each(|x| *x *= 0.1);
    let right = vec![0.0; 220_000];
    for sides in [vec![&left[..], &right[..]], vec![&left[..]]] {
        let map = map(&lines, &sides);
        let json = serde_json::to_string(&map).unwrap();
        assert!(json.len() < 25_000, "{} bytes", json.len());
        let back: BarMap = serde_json::from_str(&json).unwrap();
        assert_eq!((back.slots, back.bars, &back.rows), (16, 2, &map.rows));
        for cell in 0..map.left.len() {
            let error = db(f64::from(back.left[cell] / map.left[cell]));
            assert!(error.abs() < 0.051, "{error}");
        }
        // Silence is null and stays silence.
        assert_eq!(back.right.iter().all(|&x| x == 0.0), sides.len() == 2);
        let again: BarMap = serde_json::from_str(&serde_json::to_string(&back).unwrap()).unwrap();
        assert_eq!(again, back);
        assert_eq!(map.rounded(), back);
    }
}

#[test]
fn a_louder_band_shows_as_its_decibels() {
    let lines = lines(120.0, 4, 2, 0.1);
    let reference = noise(1, 220_000);
    let mut mix: Vec<f64> = reference.iter().map(|x| 0.5 * x).collect();
    for bar in 0..2 {
        add_tone(
            &mut mix,
            0.1 + 2.0 * bar as f64 + 0.5,
            0.1 + 2.0 * bar as f64 + 0.59,
            1000.0,
            0.3,
        );
    }
    let (mix, reference) = (map(&lines, &[&mix]), map(&lines, &[&reference]));
    let difference = compare(&mix, &reference, -6.0206);
    assert!(!difference.folded && difference.slots == 16);
    let row = difference
        .rows
        .iter()
        .position(|row| row.centre_hz == 1000.0)
        .unwrap();
    for slot in 0..16 {
        let cell = difference.cells_db[row * 16 + slot].unwrap();
        assert!(
            if slot == 4 {
                cell > 9.0
            } else {
                cell.abs() < 0.3
            },
            "{slot}: {cell}"
        );
    }
    let far = difference
        .rows
        .iter()
        .position(|row| row.centre_hz == 8000.0)
        .unwrap();
    assert!(difference.rows_db[far].unwrap().abs() < 0.01);
}

#[test]
fn one_silent_side_is_bounded_and_both_are_nothing() {
    let lines = lines(120.0, 4, 2, 0.1);
    let mut channel = vec![0.0; 220_000];
    for start_s in [0.1, 2.1] {
        add_tone(&mut channel, start_s, start_s + 0.1, 1000.0, 0.3);
    }
    let (sound, silence) = (
        map(&lines, &[&channel]),
        map(&lines, &[&vec![0.0; 220_000]]),
    );
    let difference = compare(&sound, &silence, 0.0);
    let row = difference
        .rows
        .iter()
        .position(|row| row.centre_hz == 1000.0)
        .unwrap();
    let cell = |slot: usize| difference.cells_db[row * 16 + slot];
    assert!((cell(0).unwrap() - 30.0).abs() < 0.1, "{:?}", cell(0));
    assert_eq!(cell(8), None);
    let other = compare(&silence, &sound, 0.0);
    assert!((other.cells_db[row * 16].unwrap() + 30.0).abs() < 0.1);
}

#[test]
fn three_beats_beside_four_are_folded() {
    let (three, four) = (lines(120.0, 3, 4, 0.1), lines(120.0, 4, 3, 0.1));
    let channel = noise(1, 400_000);
    let difference = compare(&map(&three, &[&channel]), &map(&four, &[&channel]), 0.0);
    assert!(difference.folded);
    assert_eq!(
        (difference.slots, difference.cells_db.len()),
        (1, difference.rows.len())
    );
    // Six seconds of the same noise.
    for (row, cell) in difference.rows.iter().zip(&difference.cells_db) {
        let most = if row.is_low() { 1.0 } else { 0.2 };
        assert!(cell.unwrap().abs() < most, "{row:?}: {cell:?}");
    }
}

#[test]
fn the_loudest_owns_the_cell() {
    let lines = lines(120.0, 4, 2, 0.1);
    let loud = noise(1, 220_000);
    let soft: Vec<f64> = noise(2, 220_000).iter().map(|x| 0.5 * x).collect();
    let (loud, soft) = (map(&lines, &[&loud]), map(&lines, &[&soft]));
    let owners = owners(&[("soft", &soft), ("loud", &loud)]);
    let row = loud.rows.len() - 3;
    let cell = owners.cells[row * 16 + 7].as_ref().unwrap();
    assert_eq!(cell.id, "loud");
    assert!((cell.share - 0.8).abs() < 0.02, "{}", cell.share); // 1 : 1/4
    assert!(cupel_barmap::owners::<u8>(&[]).cells.is_empty());
}
