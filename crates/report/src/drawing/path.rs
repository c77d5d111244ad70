//! The path of the distance: part by part, move by move, towards zero.

use super::axis::Linear;
use super::frame::Frame;
use super::legend::{self, Mark};
use super::{Drawing, at_both_widths, finite};
use crate::svg::{Anchor, Svg, text_width};
use crate::view::{PathPart, PathView, Report};

/// Most parts and moves drawn.
const MOST_PARTS: usize = 12;
const MOST_STEPS: usize = 40;
/// A change smaller than this part of the start is not named.
const SMALL: f64 = 0.05;

pub(crate) fn drawing(report: &Report) -> Option<Drawing> {
    let view = report.path.as_ref()?;
    let parts: Vec<Part<'_>> = view
        .parts
        .iter()
        .filter_map(Part::of)
        .take(MOST_PARTS)
        .collect();
    let steps = &view.steps[..view.steps.len().min(MOST_STEPS)];
    if parts.is_empty() || steps.is_empty() {
        return None;
    }
    Some(Drawing {
        id: "path",
        name: "Path of the distance, move by move",
        heading: heading(&parts, steps),
        text: text(&parts, steps, view),
        svgs: at_both_widths(|frame| paint(&parts, steps, frame)),
    })
}

/// A part whose numbers can be drawn.
struct Part<'a> {
    name: &'a str,
    unit: &'a str,
    start: f64,
    end: f64,
    /// After each move; a missing value stays where it was.
    values: Vec<f64>,
}

impl<'a> Part<'a> {
    fn of(part: &'a PathPart) -> Option<Self> {
        let start = finite(Some(part.start))?;
        let end = finite(Some(part.end))?;
        let mut last = start;
        let values = part.steps.iter().take(MOST_STEPS).map(|&value| {
            last = finite(Some(value)).unwrap_or(last);
            last
        });
        let values = values.collect();
        let (name, unit) = (&part.name, &part.unit);
        Some(Self {
            name,
            unit,
            start,
            end,
            values,
        })
    }

    /// Change of each move, towards zero below 0.
    fn changes(&self) -> Vec<f64> {
        let before = std::iter::once(&self.start).chain(&self.values);
        before
            .zip(&self.values)
            .map(|(before, after)| after.abs() - before.abs())
            .collect()
    }

    /// The move that brings most, with how much; none where none brings anything.
    fn best(&self) -> Option<(usize, f64)> {
        let changes = self.changes().into_iter().enumerate();
        let best = changes.reduce(|best, next| if next.1 < best.1 { next } else { best })?;
        (best.1 < -SMALL * self.start.abs()).then_some(best)
    }

    /// `3.2 to 1.4 dB`.
    fn in_words(&self) -> String {
        format!("{:.1} to {:.1} {}", self.start, self.end, self.unit)
            .trim_end()
            .to_owned()
    }

    /// How much of the way to zero was made, 1 = all of it.
    fn made(&self) -> f64 {
        if self.start.abs() < 1e-9 {
            0.0
        } else {
            1.0 - self.end.abs() / self.start.abs()
        }
    }
}

/// Moves that bring most of some part, in the order of how many parts they lead.
fn leaders<'a>(parts: &[Part<'_>], steps: &'a [String]) -> Vec<&'a str> {
    let mut counts: Vec<(usize, f64)> = vec![(0, 0.0); steps.len()];
    for part in parts {
        if let Some((step, change)) = part.best()
            && let Some(count) = counts.get_mut(step)
        {
            count.0 += 1;
            count.1 += change / part.start.abs();
        }
    }
    let mut order: Vec<usize> = (0..steps.len())
        .filter(|&step| counts[step].0 > 0)
        .collect();
    order.sort_by(|&one, &other| {
        let key = |step: usize| counts[step];
        key(other)
            .0
            .cmp(&key(one).0)
            .then(key(one).1.total_cmp(&key(other).1))
    });
    order.into_iter().map(|step| steps[step].as_str()).collect()
}

fn heading(parts: &[Part<'_>], steps: &[String]) -> String {
    let nearer = parts.iter().filter(|part| part.made() > SMALL).count();
    let start = match (nearer, parts.len()) {
        (0, _) => return "The moves bring no part of the distance down".to_owned(),
        (near, all) if near == all => "Every part of the distance falls".to_owned(),
        (near, all) => format!("{near} of {all} parts of the distance fall"),
    };
    match leaders(parts, steps).as_slice() {
        [] => start,
        [one] => format!("{start}; {one} does most of it"),
        [one, two, ..] => format!("{start}; {one} and {two} do most of it"),
    }
}

fn text(parts: &[Part<'_>], steps: &[String], view: &PathView) -> String {
    let mut text = String::from(
        "Each part of the distance from the reference after each move, in their order; the drawn line below is zero. ",
    );
    let words: Vec<String> = parts
        .iter()
        .map(|part| {
            let by = part.best().and_then(|(step, change)| {
                Some(format!(
                    ", {:.1} of it by {}",
                    change.abs(),
                    steps.get(step)?
                ))
            });
            format!(
                "{} {}{}",
                part.name,
                part.in_words(),
                by.unwrap_or_default()
            )
        })
        .collect();
    text.push_str(&words.join("; "));
    text.push('.');
    if view.steps.len() > steps.len() {
        text.push_str(&format!(" Only the first {} moves are drawn.", steps.len()));
    }
    text
}

const ROW_PX: f64 = 54.0;

fn paint(parts: &[Part<'_>], steps: &[String], frame: &Frame) -> Svg {
    let name_px = if frame.narrow { 18.0 } else { 0.0 };
    let frame = &if frame.narrow {
        frame.with_narrow_left(8.0).with_right_gutter(6.0)
    } else {
        frame.with_right_gutter(96.0)
    };
    let top = legend::HEIGHT - 8.0;
    let row = ROW_PX + name_px + 10.0;
    let bottom = top + row * parts.len() as f64;
    let key = key_lines(steps, frame);
    let mut svg = Svg::new(frame.width, bottom + 28.0 + 17.0 * key.len() as f64);
    legend::legend(&mut svg, frame, &[(Mark::Mix, "distance after each move")]);
    let width = (frame.right - frame.left) / (steps.len() + 1) as f64;
    for (index, part) in parts.iter().enumerate() {
        let top = top + row * index as f64 + name_px;
        paint_part(&mut svg, part, width, (top, top + ROW_PX), frame);
    }
    for step in 0..=steps.len() {
        let x = frame.left + (step as f64 + 0.5) * width;
        let words = if step == 0 {
            if frame.narrow { "–" } else { "before" }.to_owned()
        } else {
            step.to_string()
        };
        svg.text("quiet", Anchor::Middle, (x, bottom + 8.0), &words);
    }
    for (index, line) in key.iter().enumerate() {
        let left = if frame.narrow { 0.0 } else { frame.left };
        let y = bottom + 32.0 + 17.0 * index as f64;
        svg.text("quiet", Anchor::Start, (left, y), line);
    }
    svg
}

/// `1 = 08 Bass, 2 = …` in lines that fit.
fn key_lines(steps: &[String], frame: &Frame) -> Vec<String> {
    let room = if frame.narrow {
        frame.width
    } else {
        frame.width - frame.left
    };
    let mut lines: Vec<String> = Vec::new();
    for (index, step) in steps.iter().enumerate() {
        let entry = format!("{} = {step}", index + 1);
        match lines.last_mut() {
            Some(line) if 0.92 * text_width(&format!("{line}, {entry}")) <= room => {
                line.push_str(", ");
                line.push_str(&entry);
            }
            _ => lines.push(crate::svg::fit_name(&entry, room)),
        }
    }
    lines
}

fn paint_part(
    svg: &mut Svg,
    part: &Part<'_>,
    width: f64,
    (top, bottom): (f64, f64),
    frame: &Frame,
) {
    let most = part
        .values
        .iter()
        .fold(part.start.abs(), |most, value| most.max(value.abs()))
        .max(1e-9);
    let scale = Linear {
        from: 0.0,
        to: most,
        from_px: bottom,
        to_px: top + 14.0,
    };
    svg.line("zero", (frame.left, bottom), (frame.right, bottom));
    let at = |step: usize| frame.left + step as f64 * width;
    let mut points = Vec::new();
    let values = std::iter::once(part.start).chain(part.values.iter().copied());
    for (step, value) in values.enumerate() {
        let y = scale.px(value.abs());
        points.push(Some((at(step), y)));
        points.push(Some((at(step + 1), y)));
    }
    if let Some((step, change)) = part.best() {
        let left = at(step + 1);
        svg.boxes("pale", &[[left, top + 12.0, width, bottom - top - 12.0]]);
        let words = format!("{change:+.1}");
        svg.text(
            "quiet",
            Anchor::Middle,
            (left + width / 2.0, top + 9.0),
            &words,
        );
    }
    svg.polyline("mix-line", &points);
    if frame.narrow {
        let words = format!("{}: {}", part.name, part.in_words());
        svg.text("", Anchor::Start, (0.0, top - 4.0), &words);
        return;
    }
    let name = crate::svg::fit_name(part.name, frame.left - 16.0);
    svg.text("", Anchor::Start, (0.0, bottom - 10.0), &name);
    svg.text(
        "",
        Anchor::End,
        (frame.width, bottom - 10.0),
        &part.in_words(),
    );
}
