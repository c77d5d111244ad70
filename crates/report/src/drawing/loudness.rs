//! Loudness over time: the mix above, the reference below on the same scales,
//! the compared passages as pale bands.

use cupel_units::read_db_change;

use super::axis::{self, Linear};
use super::frame::Frame;
use super::legend::{self, Mark};
use super::{Drawing, at_both_widths, finite};
use crate::stretch::stretch;
use crate::svg::{Anchor, Runs, Svg, text_width};
use crate::view::{LoudnessView, Report, SectionMark};

/// Loudness drawn below the highest, LU.
const DEPTH_LU: f64 = 36.0;

pub(crate) fn drawing(report: &Report) -> Option<Drawing> {
    let view = report
        .loudness
        .as_ref()
        .filter(|view| view.hop_s.is_finite() && view.hop_s > 0.0)?;
    let curves = Curves::new(view)?;
    let heading = if view.sentence.is_empty() {
        heading(view)
    } else {
        view.sentence.clone()
    };
    Some(Drawing {
        id: "loudness",
        name: "Loudness over time",
        heading,
        text: text(view, &curves),
        svgs: at_both_widths(|frame| paint(view, &curves, frame)),
    })
}

/// The lists as they are drawn, and the scales they share.
struct Curves {
    now: Vec<Option<f64>>,
    before: Option<Vec<Option<f64>>>,
    reference: Option<Vec<Option<f64>>>,
    seconds: f64,
    range_lufs: (f64, f64),
}

impl Curves {
    /// `None` where nothing sounds.
    fn new(view: &LoudnessView) -> Option<Self> {
        let clean = |list: &[Option<f64>]| list.iter().copied().map(finite).collect::<Vec<_>>();
        let (now, before) = match &view.after {
            Some(after) => (clean(after), Some(clean(&view.before))),
            None => (clean(&view.before), None),
        };
        let gain_db = finite(Some(view.reference_gain_db)).unwrap_or(0.0);
        let shifted = |list: &Vec<Option<f64>>| {
            clean(list)
                .into_iter()
                .map(|value| Some(value? + gain_db))
                .collect::<Vec<_>>()
        };
        let reference = view.reference.as_ref().map(shifted);

        let lists = [Some(&now), before.as_ref(), reference.as_ref()];
        let lists = || lists.iter().copied().flatten();
        let highest = lists().flatten().flatten().copied().reduce(f64::max)?;
        let lowest = lists().flatten().flatten().copied().reduce(f64::min)?;
        let top = 6.0 * (highest / 6.0).ceil();
        let bottom = (6.0 * (lowest / 6.0).floor())
            .max(top - DEPTH_LU)
            .min(top - 12.0);
        let steps = lists().map(Vec::len).max().unwrap_or(0);
        let seconds = (view.hop_s * steps as f64).max(1.0);
        Some(Self {
            now,
            before,
            reference,
            seconds,
            range_lufs: (bottom, top),
        })
    }
}

fn heading(view: &LoudnessView) -> String {
    match (view.passage_s, view.reference_passage_s) {
        (Some(mix), Some(reference)) => format!(
            "The passage from {} is compared with the reference's from {}",
            stretch(mix),
            stretch(reference)
        ),
        (Some(mix), None) => format!("The passage looked at runs from {}", stretch(mix)),
        _ => "Loudness over time".to_owned(),
    }
}

fn text(view: &LoudnessView, curves: &Curves) -> String {
    let mut text = String::from("Loudness over time in LUFS");
    if let Some((start, end)) = view.passage_s {
        text.push_str(&format!(
            "; the mix's passage, {}, is a pale band",
            stretch((start, end))
        ));
    }
    if curves.reference.is_some() {
        text.push_str(&format!(
            ". The reference is drawn below on the same scales, changed by {} so that the passages are equally loud",
            read_db_change(finite(Some(view.reference_gain_db)).unwrap_or(0.0))
        ));
    }
    text.push('.');
    text
}

fn paint(view: &LoudnessView, curves: &Curves, frame: &Frame) -> Svg {
    let field = if frame.narrow { 110.0 } else { 130.0 };
    let sections = if view.sections.is_empty() { 0.0 } else { 18.0 };
    let top = legend::HEIGHT + sections;
    let second = top
        + field
        + if view.reference_sections.is_empty() {
            22.0
        } else {
            38.0
        };
    let bottom = if curves.reference.is_some() {
        second + field
    } else {
        top + field
    };
    let mut svg = Svg::new(frame.width, bottom + 20.0);
    legend::legend(&mut svg, frame, &entries(view, curves));

    let time = Linear {
        from: 0.0,
        to: curves.seconds,
        from_px: frame.left,
        to_px: frame.right,
    };
    let level = |top: f64| {
        let (from, to) = curves.range_lufs;
        Linear {
            from,
            to,
            from_px: top + field,
            to_px: top,
        }
    };
    panel(&mut svg, frame, &time, &level(top), view.passage_s);
    paint_sections(&mut svg, &view.sections, frame, &time, (top, top + field));
    let draw = |svg: &mut Svg, class: &str, list: &[Option<f64>], scale: &Linear| {
        svg.polyline(class, &points(list, view.hop_s, &time, scale));
    };
    if let Some(before) = &curves.before {
        draw(&mut svg, "before-line", before, &level(top));
    }
    draw(&mut svg, "mix-line", &curves.now, &level(top));
    if let Some(reference) = &curves.reference {
        panel(
            &mut svg,
            frame,
            &time,
            &level(second),
            view.reference_passage_s,
        );
        paint_sections(
            &mut svg,
            &view.reference_sections,
            frame,
            &time,
            (second, second + field),
        );
        draw(&mut svg, "reference-line", reference, &level(second));
    }
    let across = (frame.left, frame.right);
    svg.place(Runs::Mix(0.0, curves.seconds), across, (top, top + field));
    if curves.reference.is_some() {
        let runs = Runs::Reference(0.0, curves.seconds);
        svg.place(runs, across, (second, second + field));
    }
    axis::level_unit(&mut svg, frame, top, "LUFS");
    axis::time_figures(&mut svg, frame, &time, bottom);
    svg
}

fn entries(view: &LoudnessView, curves: &Curves) -> Vec<(Mark, &'static str)> {
    let mut entries = vec![(
        Mark::Mix,
        if curves.before.is_some() {
            "mix now"
        } else {
            "mix"
        },
    )];
    if curves.before.is_some() {
        entries.push((Mark::Before, "before"));
    }
    if curves.reference.is_some() {
        entries.push((Mark::Reference, "reference"));
    }
    if view.passage_s.is_some() {
        entries.push((Mark::Stretch, "passage"));
    }
    entries
}

/// The pale passage and the level lines of one field.
fn panel(
    svg: &mut Svg,
    frame: &Frame,
    time: &Linear,
    level: &Linear,
    passage_s: Option<(f64, f64)>,
) {
    if let Some((start, end)) = passage_s.filter(|(start, end)| end > start) {
        let (left, right) = (time.px(start), time.px(end));
        svg.boxes(
            "pale",
            &[[left, level.to_px, right - left, level.from_px - level.to_px]],
        );
    }
    axis::level_grid(svg, frame, level, 6.0, false);
}

fn paint_sections(
    svg: &mut Svg,
    sections: &[SectionMark],
    frame: &Frame,
    time: &Linear,
    (top, bottom): (f64, f64),
) {
    for (index, section) in sections.iter().enumerate() {
        let left = time.px(section.start_s);
        let next = sections
            .get(index + 1)
            .map_or(frame.right, |next| time.px(next.start_s));
        svg.line("hair", (left, top - 16.0), (left, bottom));
        // 12.5 px type takes a little less than `text_width` allows.
        if 0.92 * text_width(&section.label) <= next - left - 5.0 {
            svg.text(
                "quiet",
                Anchor::Start,
                (left + 4.0, top - 6.0),
                &section.label,
            );
        }
    }
}

/// The list as points, at most one every two and a half pixels: the mean of each stretch,
/// missing where all of it is.
fn points(
    list: &[Option<f64>],
    hop_s: f64,
    time: &Linear,
    level: &Linear,
) -> Vec<Option<(f64, f64)>> {
    let room = ((time.to_px - time.from_px) / 2.5).max(1.0) as usize;
    let stride = list.len().div_ceil(room).max(1);
    list.chunks(stride)
        .enumerate()
        .map(|(index, chunk)| {
            let sounding: Vec<f64> = chunk.iter().copied().flatten().collect();
            if sounding.is_empty() {
                return None;
            }
            let mean = sounding.iter().sum::<f64>() / sounding.len() as f64;
            let middle_s = hop_s * (index * stride) as f64 + 0.5 * hop_s * chunk.len() as f64;
            Some((time.px(middle_s), level.px(mean)))
        })
        .collect()
}
