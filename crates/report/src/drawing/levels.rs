//! Level and peak of each track as exported: a dot at its loudness, a line up
//! to an upright tick at its highest sample.

use cupel_units::read_lufs;

use super::axis::Linear;
use super::frame::Frame;
use super::legend::{self, Mark};
use super::{Drawing, at_both_widths, finite};
use crate::svg::{Anchor, Svg};
use crate::view::{Report, TrackView};

/// Lowest level on the scale, unless all tracks lie below.
const LOWEST_DB: f64 = -60.0;

/// Room right of the field for the figures.
const FIGURES_PX: f64 = 168.0;

pub(crate) fn drawing(report: &Report) -> Option<Drawing> {
    let tracks = &report.tracks;
    let range = range(tracks)?;
    Some(Drawing {
        id: "levels",
        name: "Level and peak of each track",
        heading: heading(tracks),
        text: text(tracks),
        svgs: at_both_widths(|frame| paint(tracks, range, frame)),
    })
}

fn range(tracks: &[TrackView]) -> Option<(f64, f64)> {
    let levels = tracks
        .iter()
        .flat_map(|track| [track.integrated_lufs, track.sample_peak_dbfs])
        .filter_map(finite);
    let (lowest, highest) = levels.fold(None, |range: Option<(f64, f64)>, level| {
        Some(range.map_or((level, level), |(low, high)| {
            (low.min(level), high.max(level))
        }))
    })?;
    let bottom = (6.0 * (lowest / 6.0).floor()).max(LOWEST_DB);
    let top = (6.0 * (highest / 6.0).ceil()).max(0.0);
    Some((bottom.min(top - 12.0), top))
}

/// The track with the largest value of something, the first of equals.
fn most(tracks: &[TrackView], pick: impl Fn(&TrackView) -> Option<f64>) -> Option<(&str, f64)> {
    let values = tracks
        .iter()
        .filter_map(|track| Some((track.name.as_str(), finite(pick(track))?)));
    values.reduce(|best, next| if next.1 > best.1 { next } else { best })
}

fn heading(tracks: &[TrackView]) -> String {
    match most(tracks, |track| track.sample_peak_dbfs) {
        Some((name, peak)) => format!("{name} peaks highest, at {peak:.1} dBFS"),
        None => "Level of each track".to_owned(),
    }
}

fn text(tracks: &[TrackView]) -> String {
    let mut text = String::from(
        "Each track as exported: a dot at its loudness in LUFS, a line up to its highest sample in dBFS.",
    );
    let loudest = most(tracks, |track| track.integrated_lufs);
    let quietest = most(tracks, |track| Some(-finite(track.integrated_lufs)?));
    if let (Some(loudest), Some(quietest)) = (loudest, quietest) {
        text.push_str(&format!(
            " {} is the loudest at {}, {} the quietest at {}.",
            loudest.0,
            read_lufs(Some(loudest.1)),
            quietest.0,
            read_lufs(Some(-quietest.1))
        ));
    }
    text
}

fn paint(tracks: &[TrackView], (from, to): (f64, f64), frame: &Frame) -> Svg {
    let frame = frame.with_narrow_left(8.0);
    let frame = if frame.narrow {
        frame
    } else {
        frame.with_right_gutter(FIGURES_PX)
    };
    let top = legend::HEIGHT + if frame.narrow { 0.0 } else { 14.0 };
    let bottom = top + frame.row_height() * tracks.len() as f64;
    let mut svg = Svg::new(frame.width, bottom + 22.0);
    legend::legend(
        &mut svg,
        &frame,
        &[(Mark::Point, "loudness"), (Mark::Peak, "highest sample")],
    );

    let scale = Linear {
        from,
        to,
        from_px: frame.left,
        to_px: frame.right,
    };
    for value in scale.marks(if frame.narrow { 12.0 } else { 6.0 }) {
        let class = if value == 0.0 { "zero" } else { "hair" };
        svg.line(class, (scale.px(value), top), (scale.px(value), bottom));
        svg.text(
            "quiet",
            Anchor::Middle,
            (scale.px(value), bottom + 16.0),
            &format!("{value:.0}"),
        );
    }
    if !frame.narrow {
        let columns = columns(&frame);
        let moved = tracks.iter().any(|track| !change(track).is_empty());
        let moves = if moved { "moves, dB" } else { "" };
        for (right, name) in columns.into_iter().zip(["LUFS", "dBFS", moves]) {
            svg.text("quiet", Anchor::End, (right, top - 6.0), name);
        }
    }
    for (index, track) in tracks.iter().enumerate() {
        paint_row(
            &mut svg,
            track,
            &scale,
            &frame,
            top + index as f64 * frame.row_height(),
        );
    }
    svg
}

/// Right edges of the three columns of figures.
fn columns(frame: &Frame) -> [f64; 3] {
    [frame.right + 56.0, frame.right + 106.0, frame.width]
}

fn paint_row(svg: &mut Svg, track: &TrackView, scale: &Linear, frame: &Frame, top: f64) {
    let middle = frame.row_name(svg, top, &track.name, 0.42);
    let (loudness, peak) = (
        finite(track.integrated_lufs),
        finite(track.sample_peak_dbfs),
    );
    if let (Some(loudness), Some(peak)) = (loudness, peak) {
        svg.line(
            "tick",
            (scale.px(loudness), middle),
            (scale.px(peak), middle),
        );
    }
    if let Some(peak) = peak {
        svg.line(
            "mix-line",
            (scale.px(peak), middle - 7.0),
            (scale.px(peak), middle + 7.0),
        );
    }
    if let Some(loudness) = loudness {
        svg.disc("mix-mark", (scale.px(loudness), middle), 5.0);
    }
    let figure =
        |level: Option<f64>| level.map_or_else(|| "silent".into(), |db| format!("{db:.1}"));
    if frame.narrow {
        let words = match (loudness, peak) {
            (None, None) => "silent".to_owned(),
            (None, Some(peak)) => format!("peak {peak:.1}"),
            _ => format!("{} LUFS, peak {}", figure(loudness), figure(peak)),
        };
        svg.text(
            "quiet",
            Anchor::End,
            (frame.right - 7.0, top + 15.0),
            &words,
        );
        return;
    }
    let cells = [figure(loudness), figure(peak), change(track)];
    for (right, cell) in columns(frame).into_iter().zip(cells) {
        svg.text("", Anchor::End, (right, top + 16.0), &cell);
    }
}

/// The moves' gain; nothing where there is none.
fn change(track: &TrackView) -> String {
    let gain_db = finite(track.net_gain_db).filter(|gain| gain.abs() >= 0.05);
    gain_db.map_or_else(String::new, |gain| format!("{gain:+.1}"))
}
