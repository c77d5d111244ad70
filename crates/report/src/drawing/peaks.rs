//! Who eats the headroom: each track's share of the highest peaks of the sum,
//! and below it where those peaks are.

use cupel_units::{amplitude_to_db, read_seconds};

use super::axis::{self, Linear};
use super::frame::Frame;
use super::legend::{self, Mark};
use super::{Drawing, at_both_widths, finite};
use crate::svg::{Anchor, Svg};
use crate::view::{PeakMark, PeakRow, PeaksView, Report};

/// A track gets a row where its share is at least this much, either way.
const SMALLEST_SHARE: f64 = 0.01;
/// Most peaks drawn.
const MOST: usize = 200;

pub(crate) fn drawing(report: &Report) -> Option<Drawing> {
    let view = report.peaks.as_ref()?;
    let rows = rows(view);
    let (first, _) = rows.split_first()?;
    Some(Drawing {
        id: "peaks",
        name: "Shares of the highest peaks",
        heading: if view.sentence.is_empty() {
            heading(view, first, rows.get(1).copied())
        } else {
            view.sentence.clone()
        },
        text: text(view, &rows),
        svgs: at_both_widths(|frame| paint(view, &rows, frame)),
    })
}

fn share(row: &PeakRow) -> f64 {
    finite(Some(row.share)).unwrap_or(0.0)
}

/// Rows worth drawing, the largest share first; equals stay in their order.
fn rows(view: &PeaksView) -> Vec<&PeakRow> {
    let reach = |row: &PeakRow| {
        let before = finite(row.before).unwrap_or(0.0);
        share(row).abs().max(before.abs())
    };
    let mut rows: Vec<&PeakRow> = view
        .rows
        .iter()
        .filter(|row| reach(row) >= SMALLEST_SHARE)
        .collect();
    rows.sort_by(|one, other| share(other).total_cmp(&share(one)));
    rows
}

fn percent(share: f64) -> String {
    let percent = (100.0 * share).round();
    format!("{:.0}", if percent == 0.0 { 0.0 } else { percent })
}

fn heading(view: &PeaksView, first: &PeakRow, second: Option<&PeakRow>) -> String {
    let count = view.peaks.len();
    let of = if count > 1 {
        format!("of the {count} highest peaks")
    } else {
        "of the highest peak".to_owned()
    };
    match second.filter(|second| share(second) >= 0.1) {
        Some(second) => format!(
            "{} and {} make {} percent {of}",
            first.track,
            second.track,
            percent(share(first) + share(second))
        ),
        None => format!(
            "{} makes {} percent {of}",
            first.track,
            percent(share(first))
        ),
    }
}

/// The highest peak, the first of equals.
fn highest(view: &PeaksView) -> Option<&PeakMark> {
    let peaks = marks(view);
    peaks.reduce(|best, next| {
        if next.level_dbfs > best.level_dbfs {
            next
        } else {
            best
        }
    })
}

fn marks(view: &PeaksView) -> impl Iterator<Item = &PeakMark> {
    view.peaks
        .iter()
        .filter(|peak| peak.level_dbfs.is_finite() && peak.time_s.is_finite())
        .take(MOST)
}

fn text(view: &PeaksView, rows: &[&PeakRow]) -> String {
    let mut text = String::from(
        "What each track adds to the sum at its highest samples, at least 50 ms apart; a bar to the left takes away from them.",
    );
    if let Some(peak) = highest(view) {
        text.push_str(&format!(
            " The highest is {:.1} dBFS at {}",
            peak.level_dbfs.clamp(-400.0, 400.0),
            read_seconds(peak.time_s.clamp(0.0, 1e6), true)
        ));
        if !peak.largest.is_empty() {
            text.push_str(&format!(", mostly {}", peak.largest));
        }
        text.push('.');
    }
    if let Some(first) = rows
        .first()
        .filter(|row| share(row) > 0.0 && share(row) < 1.0)
    {
        // Without its share s the sum is (1 - s) of what it was.
        let without_db = amplitude_to_db(1.0 - share(first)).max(-60.0);
        text.push_str(&format!(
            " Without {} these peaks would be {:.1} dB lower.",
            first.track, -without_db
        ));
    }
    let hidden = view.rows.len() - rows.len();
    if hidden > 0 {
        let tracks = if hidden == 1 {
            "track adds"
        } else {
            "tracks add"
        };
        text.push_str(&format!(" {hidden} {tracks} less than 1 percent."));
    }
    text
}

fn paint(view: &PeaksView, rows: &[&PeakRow], frame: &Frame) -> Svg {
    let full = frame;
    let frame = &frame.with_narrow_left(8.0);
    let frame = &if frame.narrow {
        frame.with_right_gutter(0.0)
    } else {
        frame.with_right_gutter(44.0)
    };
    let top = legend::HEIGHT + 2.0;
    let bottom = top + frame.row_height() * rows.len() as f64;
    let field_top = bottom + 58.0;
    let times = marks(view).next().is_some() && view.seconds.is_finite() && view.seconds > 0.0;
    let field_bottom = field_top + if times { 70.0 } else { -36.0 };
    let mut svg = Svg::new(full.width, field_bottom + 22.0);
    let moved = rows.iter().any(|row| finite(row.before).is_some());
    let mut entries = vec![(Mark::MixBox, if moved { "share now" } else { "share" })];
    if moved {
        entries.push((Mark::Before, "before"));
    }
    if times {
        entries.push((Mark::Point, "a peak"));
    }
    legend::legend(&mut svg, frame, &entries);

    let values = || {
        rows.iter()
            .flat_map(|row| [Some(share(row)), finite(row.before)])
            .flatten()
    };
    let step = if values().fold(0.0, f64::max) > 0.5 {
        0.2
    } else {
        0.1
    };
    let scale = Linear {
        from: step * (values().fold(0.0, f64::min).max(-1.0) / step).floor(),
        to: step * (values().fold(step, f64::max).min(2.0) / step).ceil(),
        from_px: frame.left,
        to_px: frame.right - if frame.narrow { 12.0 } else { 0.0 },
    };
    for value in scale.marks(step) {
        let x = scale.px(value);
        let class = if value == 0.0 { "zero" } else { "hair" };
        svg.line(class, (x, top), (x, bottom));
        let words = percent(value);
        svg.text("quiet", Anchor::Middle, (x, bottom + 16.0), &words);
    }
    svg.text(
        "quiet",
        Anchor::End,
        (
            full.width,
            if frame.narrow {
                bottom + 16.0
            } else {
                top - 6.0
            },
        ),
        if frame.narrow { "%" } else { "percent" },
    );
    for (index, row) in rows.iter().enumerate() {
        paint_row(
            &mut svg,
            row,
            &scale,
            frame,
            top + index as f64 * frame.row_height(),
        );
    }
    if times {
        paint_times(&mut svg, view, full, (field_top, field_bottom));
    }
    svg
}

fn paint_row(svg: &mut Svg, row: &PeakRow, scale: &Linear, frame: &Frame, top: f64) {
    let middle = frame.row_name(svg, top, &row.track, 0.7);
    let (zero, end) = (scale.px(0.0), scale.px(share(row)));
    svg.boxes(
        "mix-mark",
        &[[zero.min(end), middle - 5.0, (end - zero).abs(), 10.0]],
    );
    if let Some(before) = finite(row.before) {
        let x = scale.px(before);
        svg.line("before-line", (zero, middle + 8.0), (x, middle + 8.0));
    }
    let (class, y) = if frame.narrow {
        ("quiet", top + 15.0)
    } else {
        ("", top + 16.0)
    };
    let right = if frame.narrow {
        frame.right
    } else {
        frame.right + 70.0
    };
    let words = percent(share(row));
    let words = if frame.narrow {
        format!("{words} %")
    } else {
        words
    };
    svg.text(class, Anchor::End, (right, y), &words);
}

/// The peaks over time, by how high they are.
fn paint_times(svg: &mut Svg, view: &PeaksView, frame: &Frame, (top, bottom): (f64, f64)) {
    let levels = || marks(view).map(|peak| peak.level_dbfs.clamp(-400.0, 400.0));
    let highest = levels().fold(-400.0, f64::max);
    let lowest = levels().fold(400.0, f64::min);
    let level = Linear {
        from: lowest.floor().max(highest.ceil() - 24.0),
        to: highest.ceil().max(lowest.floor() + 1.0),
        from_px: bottom,
        to_px: top,
    };
    let time = Linear {
        from: 0.0,
        to: view.seconds.min(1e6),
        from_px: frame.left,
        to_px: frame.right,
    };
    let step = if level.to - level.from > 8.0 {
        3.0
    } else {
        1.0
    };
    axis::level_grid(svg, frame, &level, step, false);
    axis::level_unit(svg, frame, top, "dBFS");
    for peak in marks(view) {
        let at = (time.px(peak.time_s), level.px(peak.level_dbfs));
        svg.disc("mix-mark", at, 2.6);
    }
    axis::time_figures(svg, frame, &time, bottom);
}
