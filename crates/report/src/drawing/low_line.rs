//! The low end over time: the bass's notes and the kick's hits, mix above,
//! reference below, each over its own passage.

use super::axis::{self, Linear};
use super::frame::Frame;
use super::legend::{self, Mark};
use super::note_names::note_name;
use super::{Drawing, at_both_widths};
use crate::svg::{Anchor, Runs, Svg};
use crate::view::{LowEndView, LowLine, PlayedNote, Report};

/// Notes this far under the loudest are drawn thinnest.
const RANGE_DB: f64 = 18.0;
/// Most semitones of a field; what lies beyond is held at its edge.
const MOST: i32 = 36;
/// A note that starts up to this long after a kick still falls on it.
const LATE_S: f64 = 0.02;

pub(crate) fn drawing(report: &Report) -> Option<Drawing> {
    let view = report.low_end.as_ref()?;
    let mix = view.mix.as_ref().filter(|line| sounds(line))?;
    let reference = view.reference.as_ref().filter(|line| sounds(line));
    Some(Drawing {
        id: "low-line",
        name: "Bass and kick over time",
        heading: heading(mix, reference),
        text: text(mix, reference, view),
        svgs: at_both_widths(|frame| paint(mix, reference, frame)),
    })
}

/// Whether a line has a span and something in it.
fn sounds(line: &LowLine) -> bool {
    let (start_s, end_s) = line.span_s;
    end_s - start_s > 0.1 && (end_s - start_s) < 3600.0 && notes(line).next().is_some()
}

fn notes(line: &LowLine) -> impl Iterator<Item = &PlayedNote> {
    line.notes.iter().filter(|note| {
        note.start_s < line.span_s.1
            && note.end_s > line.span_s.0
            && note.end_s > note.start_s
            && note.level_db.is_finite()
            && (0..=127).contains(&note.midi)
    })
}

/// How many kicks there are, and under how many of them a bass note sounds.
fn kicks_on_notes(line: &LowLine) -> (usize, usize) {
    let on = |kick_s: f64| {
        notes(line).any(|note| note.start_s <= kick_s + LATE_S && note.end_s > kick_s + LATE_S)
    };
    let kicks = || {
        let span = line.span_s.0 - LATE_S..line.span_s.1;
        line.kicks_s
            .iter()
            .copied()
            .filter(move |kick_s| span.contains(kick_s))
    };
    (
        kicks().count(),
        kicks().filter(|&kick_s| on(kick_s)).count(),
    )
}

fn share_in_words(line: &LowLine) -> Option<String> {
    match kicks_on_notes(line) {
        (0, _) => None,
        (all, 0) => Some(format!("under none of {all} kicks")),
        (all, on) if on == all => Some(format!("under all {all} kicks")),
        (all, on) => Some(format!("under {on} of {all} kicks")),
    }
}

fn heading(mix: &LowLine, reference: Option<&LowLine>) -> String {
    match (share_in_words(mix), reference.and_then(share_in_words)) {
        (Some(mix), Some(reference)) => {
            format!("The bass sounds {mix}; in the reference {reference}")
        }
        (Some(mix), None) => format!("The bass sounds {mix}"),
        _ => "The bass over time".to_owned(),
    }
}

/// The notes by how long they sound, the longest first.
fn names(line: &LowLine) -> String {
    let mut lengths: Vec<(i32, f64)> = Vec::new();
    for note in notes(line) {
        let seconds = note.end_s - note.start_s;
        match lengths.iter_mut().find(|(midi, _)| *midi == note.midi) {
            Some((_, sum)) => *sum += seconds,
            None => lengths.push((note.midi, seconds)),
        }
    }
    lengths.sort_by(|one, other| other.1.total_cmp(&one.1));
    let names: Vec<String> = lengths
        .iter()
        .take(5)
        .map(|(midi, _)| note_name(*midi))
        .collect();
    names.join(", ")
}

fn text(mix: &LowLine, reference: Option<&LowLine>, view: &LowEndView) -> String {
    let mut text = format!(
        "The notes of the bass over the passage, the thicker the louder, with the kick's hits as ticks below. \
         Most of the time here: {}",
        names(mix)
    );
    if let Some(reference) = reference {
        text.push_str(&format!("; in the reference: {}", names(reference)));
    }
    text.push('.');
    if reference.is_none() && view.reference.is_some() {
        text.push_str(" No bass was heard in the reference's passage.");
    }
    text
}

/// One field: its notes' range and its place.
struct Field {
    lowest: i32,
    highest: i32,
    top: f64,
    bottom: f64,
}

const KICKS_PX: f64 = 16.0;

impl Field {
    fn of(line: &LowLine, top: f64, frame: &Frame) -> Self {
        let numbers = || notes(line).map(|note| note.midi);
        let lowest = numbers().min().unwrap_or(33) - 1;
        let highest = (numbers().max().unwrap_or(33) + 1).clamp(lowest + 8, lowest + MOST);
        let row = if frame.narrow { 7.0 } else { 8.0 };
        let bottom = top + row * f64::from(highest - lowest) + KICKS_PX;
        Self {
            lowest,
            highest,
            top,
            bottom,
        }
    }

    fn y(&self, midi: i32) -> f64 {
        let scale = Linear {
            from: f64::from(self.lowest),
            to: f64::from(self.highest),
            from_px: self.bottom - KICKS_PX,
            to_px: self.top,
        };
        scale.px(f64::from(midi))
    }
}

fn paint(mix: &LowLine, reference: Option<&LowLine>, frame: &Frame) -> Svg {
    let top = legend::HEIGHT - 10.0;
    let upper = Field::of(mix, top, frame);
    let lower = reference.map(|line| (line, Field::of(line, upper.bottom + 34.0, frame)));
    let bottom = lower
        .as_ref()
        .map_or(upper.bottom, |(_, field)| field.bottom);
    let mut svg = Svg::new(frame.width, bottom + 22.0);
    let mut entries = vec![(Mark::MixBox, "bass note"), (Mark::Peak, "kick")];
    if lower.is_some() {
        entries.push((Mark::ReferenceBox, "reference's"));
    }
    legend::legend(&mut svg, frame, &entries);
    let marks = ["mix-mark", "mix-line"];
    paint_field(&mut svg, mix, &upper, frame, marks, Runs::Mix);
    if let Some((line, field)) = &lower {
        paint_field(
            &mut svg,
            line,
            field,
            frame,
            ["reference-mark", "reference-wedge"],
            Runs::Reference,
        );
    }
    svg
}

fn paint_field(
    svg: &mut Svg,
    line: &LowLine,
    field: &Field,
    frame: &Frame,
    [mark, tick]: [&str; 2],
    runs: fn(f64, f64) -> Runs,
) {
    let time = Linear {
        from: line.span_s.0,
        to: line.span_s.1,
        from_px: frame.left,
        to_px: frame.right,
    };
    let within = |seconds: f64| (line.span_s.0 - 1e-6..=line.span_s.1 + 1e-6).contains(&seconds);
    for bar_s in line.bar_starts_s.iter().filter(|bar_s| within(**bar_s)) {
        svg.line(
            "hair",
            (time.px(*bar_s), field.top),
            (time.px(*bar_s), field.bottom),
        );
    }
    svg.line(
        "hair",
        (frame.left, field.bottom),
        (frame.right, field.bottom),
    );
    paint_names(svg, line, field, frame);
    let loudest = notes(line).map(|note| note.level_db).fold(-400.0, f64::max);
    let boxes: Vec<[f64; 4]> = notes(line)
        .map(|note| {
            let part = 1.0 - ((loudest - note.level_db) / RANGE_DB).clamp(0.0, 1.0);
            let height = 2.0 + 6.0 * part;
            let left = time.px(note.start_s);
            let width = (time.px(note.end_s) - left - 1.0).max(1.0);
            [left, field.y(note.midi) - height / 2.0, width, height]
        })
        .collect();
    svg.boxes(mark, &boxes);
    let kicks: Vec<[(f64, f64); 2]> = line
        .kicks_s
        .iter()
        .filter(|kick_s| within(**kick_s))
        .map(|kick_s| {
            let x = time.px(*kick_s);
            [(x, field.bottom - 8.0), (x, field.bottom)]
        })
        .collect();
    svg.lines(tick, &kicks);
    svg.place(
        runs(line.span_s.0, line.span_s.1),
        (frame.left, frame.right),
        (field.top, field.bottom),
    );
    axis::time_figures(svg, frame, &time, field.bottom);
}

/// Names of the notes that are played, as far as they do not overlap.
fn paint_names(svg: &mut Svg, line: &LowLine, field: &Field, frame: &Frame) {
    let mut numbers: Vec<i32> = notes(line).map(|note| note.midi).collect();
    numbers.sort_unstable();
    numbers.dedup();
    let mut last_y = f64::INFINITY;
    for midi in numbers {
        let y = field.y(midi);
        svg.line("hair", (frame.left, y), (frame.right, y));
        if last_y - y >= 12.0 {
            svg.text(
                "quiet",
                Anchor::End,
                (frame.left - 6.0, y + 4.0),
                &note_name(midi),
            );
            last_y = y;
        }
    }
}
