//! The low end by note: mix and reference by semitone, and whose energy it is.

use cupel_units::{db_to_power, power_to_db};

use super::axis::{self, Linear};
use super::frame::Frame;
use super::legend::{self, Mark};
use super::note_names::note_name;
use super::owner_rows::{self, SMALLEST_SHARE, Strip};
use super::{Drawing, at_both_widths, finite};
use crate::svg::{Anchor, Svg};
use crate::view::{LowEndView, LowLine, LowNoteBand, Report};

/// Decibels drawn below the strongest note.
const DEPTH_DB: f64 = 36.0;
/// Most semitones drawn.
const MOST: usize = 64;
/// Smaller differences are none.
const SMALL_DB: f64 = 0.5;

pub(crate) fn drawing(report: &Report) -> Option<Drawing> {
    let view = report.low_end.as_ref()?;
    let notes = drawn(view);
    let top = notes
        .iter()
        .flat_map(|note| [note.mix_db, note.reference_db])
        .filter_map(finite)
        .reduce(f64::max)?;
    let top = 6.0 * (top / 6.0).ceil();
    let rows = rows(notes);
    Some(Drawing {
        id: "low-notes",
        name: "The low end by note",
        heading: if view.sentence.is_empty() {
            heading(notes)
        } else {
            view.sentence.clone()
        },
        text: text(view, notes, &rows),
        svgs: at_both_widths(|frame| paint(view, &rows, top, frame)),
    })
}

fn drawn(view: &LowEndView) -> &[LowNoteBand] {
    &view.notes[..view.notes.len().min(MOST)]
}

fn rows(notes: &[LowNoteBand]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for owner in notes.iter().flat_map(|note| &note.owners) {
        if !names.contains(&owner.track) {
            names.push(owner.track.clone());
        }
    }
    let reaches =
        |note: &LowNoteBand, name: &str| owner_rows::share_of(&note.owners, name) >= SMALLEST_SHARE;
    names.retain(|name| notes.iter().any(|note| reaches(note, name)));
    names
}

fn sum_db(notes: &[LowNoteBand], pick: fn(&LowNoteBand) -> Option<f64>) -> Option<f64> {
    let levels = notes.iter().filter_map(|note| finite(pick(note)));
    let power: f64 = levels.map(db_to_power).sum();
    (power > 0.0).then(|| power_to_db(power))
}

fn strongest(notes: &[LowNoteBand], pick: fn(&LowNoteBand) -> Option<f64>) -> Option<String> {
    let levels = notes
        .iter()
        .filter_map(|note| Some((note.midi, finite(pick(note))?)));
    let best = levels.reduce(|best, next| if next.1 > best.1 { next } else { best });
    best.map(|(midi, _)| note_name(midi))
}

fn heading(notes: &[LowNoteBand]) -> String {
    let mix = strongest(notes, |note| note.mix_db);
    let reference = strongest(notes, |note| note.reference_db);
    let sums = sum_db(notes, |note| note.mix_db).zip(sum_db(notes, |note| note.reference_db));
    match (mix, reference, sums) {
        (Some(mix), Some(reference), Some((one, other))) => {
            let gap_db = one - other;
            let level = if gap_db.abs() < SMALL_DB {
                "The low end is as strong as the reference's".to_owned()
            } else {
                let side = if gap_db > 0.0 { "above" } else { "below" };
                let gap_db = gap_db.abs();
                format!("The low end lies {gap_db:.1} dB {side} the reference's")
            };
            format!("{level}; it peaks at {mix}, the reference's at {reference}")
        }
        (Some(mix), ..) => format!("The low end is strongest at {mix}"),
        _ => "The low end by note".to_owned(),
    }
}

fn text(view: &LowEndView, notes: &[LowNoteBand], rows: &[String]) -> String {
    let mut text = String::from("Level by semitone of the passage as exported, in dB");
    if notes.iter().any(|note| finite(note.reference_db).is_some()) {
        text.push_str(", mix and reference at equal loudness");
    }
    text.push('.');
    if view
        .mix
        .as_ref()
        .is_some_and(|line| !played(line).is_empty())
    {
        text.push_str(" A mark stands on the notes that the bass plays.");
    }
    let kicks: Vec<String> = [("here", &view.mix), ("in the reference", &view.reference)]
        .into_iter()
        .filter_map(|(where_, line)| {
            Some(format!(
                "{} {where_}",
                note_name(kick_midi(line.as_ref()?)?.round() as i32)
            ))
        })
        .collect();
    if !kicks.is_empty() {
        text.push_str(&format!(" The kick's body: {}.", kicks.join(", ")));
    }
    if !rows.is_empty() {
        text.push_str(
            " Below it each track's share of every note: the thicker, the more, and dark where it is the largest.",
        );
    }
    text
}

/// MIDI numbers of the notes that a line plays, rising.
fn played(line: &LowLine) -> Vec<i32> {
    let mut numbers: Vec<i32> = line.notes.iter().map(|note| note.midi).collect();
    numbers.sort_unstable();
    numbers.dedup();
    numbers
}

/// Where a kick's fundamental lies on the scale of MIDI numbers.
fn kick_midi(line: &LowLine) -> Option<f64> {
    let hertz = line
        .kick_hz
        .filter(|hertz| hertz.is_finite() && *hertz > 1.0)?;
    Some(69.0 + 12.0 * (hertz / 440.0).log2())
}

fn paint(view: &LowEndView, rows: &[String], top_db: f64, frame: &Frame) -> Svg {
    let notes = drawn(view);
    let top = legend::HEIGHT + 16.0;
    let bottom = top + if frame.narrow { 170.0 } else { 190.0 };
    let rows_top = bottom + 30.0;
    let rows_bottom = rows_top + frame.row_height() * rows.len() as f64;
    let mut svg = Svg::new(frame.width, rows_bottom.max(bottom + 24.0));
    let reference = notes.iter().any(|note| finite(note.reference_db).is_some());
    let mut entries = vec![(Mark::Mix, "mix")];
    if reference {
        entries.push((Mark::Reference, "reference"));
    }
    legend::legend(&mut svg, frame, &entries);

    let level = Linear {
        from: top_db - DEPTH_DB,
        to: top_db,
        from_px: bottom,
        to_px: top,
    };
    let step = (frame.right - frame.left) / notes.len().max(1) as f64;
    let middle = |index: usize| frame.left + (index as f64 + 0.5) * step;
    paint_grid(&mut svg, notes, &middle, (top, bottom, rows_bottom), frame);
    axis::level_grid(&mut svg, frame, &level, 6.0, false);
    axis::level_unit(&mut svg, frame, top, "dB");
    if let Some(first) = notes.first() {
        let x = |midi: f64| frame.left + (midi - f64::from(first.midi) + 0.5) * step;
        paint_kicks(&mut svg, view, &x, (top, bottom), frame);
    }
    let radius = if frame.narrow { 3.0 } else { 4.5 };
    let mut line =
        |class: &str, mark: &str, pick: fn(&LowNoteBand) -> Option<f64>, plays: &[i32]| {
            let points: Vec<Option<(f64, f64)>> = notes
                .iter()
                .enumerate()
                .map(|(index, note)| Some((middle(index), level.px(finite(pick(note))?))))
                .collect();
            svg.polyline(class, &points);
            for (note, point) in notes.iter().zip(points) {
                if let Some(point) = point.filter(|_| plays.contains(&note.midi)) {
                    svg.disc(mark, point, radius);
                }
            }
        };
    let plays = |side: &Option<LowLine>| side.as_ref().map_or_else(Vec::new, played);
    line(
        "reference-line",
        "reference-mark",
        |note| note.reference_db,
        &plays(&view.reference),
    );
    line(
        "mix-line",
        "mix-mark",
        |note| note.mix_db,
        &plays(&view.mix),
    );
    let strips: Vec<Strip<'_>> = notes
        .iter()
        .enumerate()
        .map(|(index, note)| Strip {
            left: middle(index) - step / 2.0,
            right: middle(index) + step / 2.0,
            owners: &note.owners,
        })
        .collect();
    owner_rows::paint(&mut svg, &strips, rows, frame, rows_top);
    svg
}

fn paint_grid(
    svg: &mut Svg,
    notes: &[LowNoteBand],
    middle: &impl Fn(usize) -> f64,
    (top, bottom, rows_bottom): (f64, f64, f64),
    frame: &Frame,
) {
    for (index, note) in notes.iter().enumerate() {
        let wanted = if frame.narrow {
            matches!(note.midi.rem_euclid(12), 0 | 5 | 9)
        } else {
            // No two of them are neighbours.
            matches!(note.midi.rem_euclid(12), 0 | 2 | 4 | 7 | 9)
        };
        if wanted {
            let x = middle(index);
            svg.line("hair", (x, top), (x, bottom + 4.0));
            svg.line("hair", (x, bottom + 24.0), (x, rows_bottom));
            svg.text(
                "quiet",
                Anchor::Middle,
                (x, bottom + 17.0),
                &note_name(note.midi),
            );
        }
    }
}

/// Upright lines where the kicks' fundamentals lie, named above the field.
fn paint_kicks(
    svg: &mut Svg,
    view: &LowEndView,
    x: &impl Fn(f64) -> f64,
    (top, bottom): (f64, f64),
    frame: &Frame,
) {
    let inside = |midi: Option<f64>| {
        let at = x(midi?);
        (frame.left..=frame.right).contains(&at).then_some(at)
    };
    let mix = inside(view.mix.as_ref().and_then(kick_midi));
    let reference = inside(view.reference.as_ref().and_then(kick_midi));
    let before = matches!((mix, reference), (Some(mix), Some(other)) if mix <= other);
    let mut mark = |at: Option<f64>, class: &str, words: &str, left: bool| {
        if let Some(at) = at {
            svg.line(class, (at, top - 2.0), (at, bottom));
            let (anchor, words_at) = if left {
                (Anchor::End, at - 1.0)
            } else {
                (Anchor::Start, at + 1.0)
            };
            svg.text("quiet", anchor, (words_at, top - 7.0), words);
        }
    };
    mark(reference, "reference-wedge", "kick, reference", !before);
    mark(mix, "tick", "kick", before);
}
