//! The level beam: how far each element leans to the left or right of a drawn
//! middle, and below it the whole mix and the reference.

use super::axis::Linear;
use super::frame::Frame;
use super::legend::{self, Mark};
use super::{Drawing, at_both_widths};
use crate::part::capital;
use crate::svg::{Anchor, Svg};
use crate::view::{LeanRow, LeanView, Report};

/// Lean at the ends of the scale; a hard-panned element ends there.
const LARGEST_DB: f64 = 12.0;

/// A lean below this is called level (prints as 0.0 or a tenth or two).
const LEVEL_DB: f64 = 0.3;

pub(crate) fn drawing(report: &Report) -> Option<Drawing> {
    let view = view(report);
    view.rows.iter().find_map(now_db)?;
    let heading = if view.sentence.is_empty() {
        heading(&view)
    } else {
        view.sentence.clone()
    };
    Some(Drawing {
        id: "lean",
        name: "Lean to the left and right",
        heading,
        text: text(&view),
        svgs: at_both_widths(|frame| paint(&view, frame)),
    })
}

/// The view as given, or the tracks' own leans.
fn view(report: &Report) -> LeanView {
    report.lean.clone().unwrap_or_else(|| LeanView {
        rows: report
            .tracks
            .iter()
            .map(|track| LeanRow {
                name: track.name.clone(),
                before_db: track.lean_db,
                after_db: None,
            })
            .collect(),
        ..LeanView::default()
    })
}

fn now_db(row: &LeanRow) -> Option<f64> {
    held(row.after_db).or_else(|| held(row.before_db))
}

/// A lean that can be drawn: one side alone is infinite and stands at the end.
fn held(lean_db: Option<f64>) -> Option<f64> {
    lean_db
        .filter(|lean| !lean.is_nan())
        .map(|lean| lean.clamp(-120.0, 120.0))
}

/// `4.2 dB to the right`, `level`, or `all on the left`.
fn in_words(lean_db: f64) -> String {
    let side = if lean_db < 0.0 { "left" } else { "right" };
    if lean_db.abs() < LEVEL_DB {
        "level".to_owned()
    } else if lean_db.abs() > 60.0 {
        format!("all on the {side}")
    } else {
        format!("{:.1} dB to the {side}", lean_db.abs())
    }
}

fn heading(view: &LeanView) -> String {
    let leans = view
        .rows
        .iter()
        .filter_map(|row| Some((row.name.as_str(), now_db(row)?)));
    let most = leans.reduce(|best, next| {
        if next.1.abs() > best.1.abs() {
            next
        } else {
            best
        }
    });
    let mut heading = match most {
        Some((_, lean)) if lean.abs() < LEVEL_DB => "Nothing leans".to_owned(),
        Some((name, lean)) => format!("{} leans most, {}", capital(name), in_words(lean)),
        None => "Lean to the left and right".to_owned(),
    };
    if let Some(lean) = view.mix.as_ref().and_then(now_db) {
        heading.push_str(&format!("; the whole mix: {}", in_words(lean)));
    }
    heading
}

fn text(view: &LeanView) -> String {
    let mut text = String::from(
        "Right against left in dB: a filled mark left of the middle leans to the left, right of it to the right.",
    );
    let leaning: Vec<String> = view
        .rows
        .iter()
        .filter_map(|row| Some((row, now_db(row).filter(|lean| lean.abs() >= 2.0)?)))
        .map(|(row, lean)| format!("{} {}", row.name, in_words(lean)))
        .collect();
    if leaning.is_empty() {
        text.push_str(" No row leans by 2 dB or more.");
    } else {
        text.push_str(&format!(" By 2 dB or more: {}.", leaning.join(", ")));
    }
    text
}

fn paint(view: &LeanView, frame: &Frame) -> Svg {
    let frame = frame.with_narrow_left(18.0);
    let frame = if frame.narrow {
        frame
    } else {
        frame.with_right_gutter(64.0)
    };
    let top = legend::HEIGHT + 16.0;
    let reference_db = held(view.reference_db);
    let sums = usize::from(view.mix.is_some()) + usize::from(reference_db.is_some());
    let elements_bottom = top + frame.row_height() * view.rows.len() as f64;
    let bottom =
        elements_bottom + frame.row_height() * sums as f64 + if sums > 0 { 6.0 } else { 0.0 };
    let mut svg = Svg::new(frame.width, bottom + 22.0);
    legend::legend(&mut svg, &frame, &entries(view));

    let scale = Linear {
        from: -LARGEST_DB,
        to: LARGEST_DB,
        from_px: frame.left,
        to_px: frame.right,
    };
    paint_scale(&mut svg, &scale, &frame, top, bottom);
    for (index, row) in view.rows.iter().enumerate() {
        paint_row(
            &mut svg,
            row,
            &scale,
            &frame,
            top + index as f64 * frame.row_height(),
        );
    }
    let mut at = elements_bottom + 6.0;
    if sums > 0 {
        svg.line(
            "zero",
            (0.0, elements_bottom + 3.0),
            (frame.width, elements_bottom + 3.0),
        );
    }
    if let Some(mix) = &view.mix {
        paint_row(&mut svg, mix, &scale, &frame, at);
        at += frame.row_height();
    }
    if let Some(lean) = reference_db {
        let middle = frame.row_name(&mut svg, at, "Reference", 0.5);
        svg.line(
            "reference-line",
            (scale.px(0.0), middle),
            (scale.px(lean), middle),
        );
        svg.disc("reference-mark", (scale.px(lean), middle), 4.5);
        figure(&mut svg, &frame, at, Some(lean));
    }
    svg
}

fn entries(view: &LeanView) -> Vec<(Mark, &'static str)> {
    let moved = view
        .rows
        .iter()
        .chain(&view.mix)
        .any(|row| held(row.after_db).is_some());
    let mut entries = vec![(Mark::Point, if moved { "now" } else { "lean" })];
    if moved {
        entries.push((Mark::Before, "before"));
    }
    if held(view.reference_db).is_some() {
        entries.push((Mark::ReferencePoint, "reference"));
    }
    entries
}

fn paint_scale(svg: &mut Svg, scale: &Linear, frame: &Frame, top: f64, bottom: f64) {
    for value in scale.marks(if frame.narrow { 6.0 } else { 3.0 }) {
        let class = if value == 0.0 { "zero" } else { "hair" };
        let x = scale.px(value);
        svg.line(class, (x, top), (x, bottom));
        svg.text(
            "quiet",
            Anchor::Middle,
            (x, bottom + 16.0),
            &format!("{:.0}", value.abs()),
        );
    }
    svg.text("quiet", Anchor::Start, (frame.left, top - 6.0), "left, dB");
    svg.text("quiet", Anchor::End, (frame.right, top - 6.0), "right, dB");
}

fn paint_row(svg: &mut Svg, row: &LeanRow, scale: &Linear, frame: &Frame, top: f64) {
    let middle = frame.row_name(svg, top, &row.name, 0.5);
    if let (Some(before), Some(after)) = (held(row.before_db), held(row.after_db)) {
        svg.line(
            "before-line",
            (scale.px(before), middle),
            (scale.px(after), middle),
        );
        svg.disc("before-mark", (scale.px(before), middle), 2.0);
    }
    if let Some(lean) = now_db(row) {
        svg.line("tick", (scale.px(0.0), middle), (scale.px(lean), middle));
        svg.disc("mix-mark", (scale.px(lean), middle), 5.0);
    }
    figure(svg, frame, top, now_db(row));
}

fn figure(svg: &mut Svg, frame: &Frame, top: f64, lean_db: Option<f64>) {
    let words = match lean_db {
        None => "silent".to_owned(),
        Some(lean) if lean.abs() > 60.0 => if lean < 0.0 { "all L" } else { "all R" }.to_owned(),
        Some(lean) if lean.abs() < 0.05 => "0.0".to_owned(),
        Some(lean) => format!("{:.1} {}", lean.abs(), if lean < 0.0 { "L" } else { "R" }),
    };
    let (class, y) = if frame.narrow {
        ("quiet", top + 15.0)
    } else {
        ("", top + 16.0)
    };
    svg.text(class, Anchor::End, (frame.width, y), &words);
}
