//! Spectrum of mix and reference at equal loudness, and below it whose energy
//! each band is: one row a track, thickness the share.

use cupel_units::read_hertz;

use super::axis::{self, Linear, RANGE_HZ};
use super::frame::Frame;
use super::legend::{self, Mark};
use super::owner_rows::{self, SMALLEST_SHARE, Strip};
use super::{Drawing, at_both_widths, finite, regions};
use crate::svg::Svg;
use crate::view::{Report, SpectrumBand, SpectrumView};

/// Decibels drawn below the highest band.
const DEPTH_DB: f64 = 60.0;

pub(crate) fn drawing(report: &Report) -> Option<Drawing> {
    let view = report.spectrum.as_ref()?;
    let levels = level_range(&view.bands)?;
    let rows = rows(report, view);
    let heading = if view.title_sentence.is_empty() {
        regions::heading(&view.bands)
    } else {
        view.title_sentence.clone()
    };
    Some(Drawing {
        id: "spectrum",
        name: "Spectrum and ownership of the bands",
        heading,
        text: text(report, view, &rows),
        svgs: at_both_widths(|frame| paint(view, &rows, levels, frame)),
    })
}

/// Bands that lie on the drawn scale.
pub(super) fn drawn(bands: &[SpectrumBand]) -> impl Iterator<Item = &SpectrumBand> {
    bands
        .iter()
        .filter(|band| centre_hz(band) >= RANGE_HZ.0 * 0.95 && centre_hz(band) <= RANGE_HZ.1 * 1.05)
}

/// Geometric middle of a band; 0 where its edges make no sense.
pub(super) fn centre_hz(band: &SpectrumBand) -> f64 {
    let product = band.low_hz * band.high_hz;
    if product.is_finite() && band.low_hz > 0.0 && band.high_hz > band.low_hz {
        product.sqrt()
    } else {
        0.0
    }
}

/// The state the moves led to, or the mix as it came where there is none.
pub(super) fn now_db(band: &SpectrumBand) -> Option<f64> {
    finite(band.after_db).or_else(|| finite(band.before_db))
}

/// Whether any band has a level after the moves.
pub(super) fn moved(view: &SpectrumView) -> bool {
    view.bands
        .iter()
        .any(|band| finite(band.after_db).is_some())
}

fn level_range(bands: &[SpectrumBand]) -> Option<(f64, f64)> {
    let levels: Vec<f64> = drawn(bands)
        .flat_map(|band| [band.before_db, band.after_db, band.reference_db])
        .filter_map(finite)
        .collect();
    let highest = levels.iter().copied().reduce(f64::max)?;
    let lowest = levels.iter().copied().reduce(f64::min)?;
    let top = 10.0 * (highest / 10.0).ceil();
    let bottom = 10.0 * (lowest.max(highest - DEPTH_DB) / 10.0).floor();
    Some((bottom.min(top - 10.0), top))
}

/// Names of the tracks that get a row: the session's order, then any others.
fn rows(report: &Report, view: &SpectrumView) -> Vec<String> {
    let owners = view.bands.iter().flat_map(|band| &band.owners);
    let known = report.tracks.iter().map(|track| &track.name);
    let mut names: Vec<String> = Vec::new();
    for name in known.chain(owners.map(|owner| &owner.track)) {
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    names.retain(|name| drawn(&view.bands).any(|band| share_of(band, name) >= SMALLEST_SHARE));
    names
}

fn share_of(band: &SpectrumBand, name: &str) -> f64 {
    owner_rows::share_of(&band.owners, name)
}

fn text(report: &Report, view: &SpectrumView, rows: &[String]) -> String {
    let mut text = String::from("Level by band of the compared passage, in dB");
    if drawn(&view.bands).any(|band| finite(band.reference_db).is_some()) {
        text.push_str(", mix and reference at equal loudness");
    }
    text.push('.');
    if rows.is_empty() {
        return text;
    }
    text.push_str(" Below it each track's share in every band: the thicker, the more, and dark where it is the largest. ");
    text.push_str(&ownership_in_words(view));
    let hidden = report
        .tracks
        .iter()
        .filter(|track| !rows.contains(&track.name))
        .count();
    if hidden == 1 {
        text.push_str(" 1 track never reaches 5 percent of a band and has no row.");
    } else if hidden > 1 {
        text.push_str(&format!(
            " {hidden} tracks never reach 5 percent of a band and have no row."
        ));
    }
    text
}

/// Runs of bands with one largest owner: `Kick is the largest from 45 Hz to 70 Hz; …`.
fn ownership_in_words(view: &SpectrumView) -> String {
    let mut runs: Vec<(&str, f64, f64)> = Vec::new();
    for band in drawn(&view.bands) {
        let Some(owner) = owner_rows::largest_owner(&band.owners) else {
            continue;
        };
        match runs.last_mut() {
            Some((name, _, last_hz)) if *name == owner => *last_hz = centre_hz(band),
            _ => runs.push((owner, centre_hz(band), centre_hz(band))),
        }
    }
    // The widest runs, told from low to high.
    let mut widest = runs.clone();
    widest.sort_by(|one, other| (other.2 / other.1).total_cmp(&(one.2 / one.1)));
    widest.truncate(5);
    widest.sort_by(|one, other| one.1.total_cmp(&other.1));
    let words: Vec<String> = widest
        .iter()
        .map(
            |(name, first, last)| match (read_hertz(*first), read_hertz(*last)) {
                (first, last) if first == last => format!("{name} at {first}"),
                (first, last) => format!("{name} from {first} to {last}"),
            },
        )
        .collect();
    if words.is_empty() {
        String::new()
    } else {
        format!("Largest: {}.", words.join("; "))
    }
}

fn paint(view: &SpectrumView, rows: &[String], levels: (f64, f64), frame: &Frame) -> Svg {
    let top = legend::HEIGHT;
    let bottom = top + if frame.narrow { 210.0 } else { 260.0 };
    let rows_top = bottom + 48.0;
    let rows_bottom = rows_top + frame.row_height() * rows.len() as f64;
    let height = if rows.is_empty() {
        bottom + 40.0
    } else {
        rows_bottom + 40.0
    };
    let mut svg = Svg::new(frame.width, height);

    legend::legend(&mut svg, frame, &entries(view));
    let scale = Linear {
        from: levels.0,
        to: levels.1,
        from_px: bottom,
        to_px: top,
    };
    axis::frequency_grid(&mut svg, frame, top, bottom);
    axis::level_grid(&mut svg, frame, &scale, 10.0, false);
    axis::level_unit(&mut svg, frame, top, "dB");
    axis::frequency_figures(&mut svg, frame, bottom);
    paint_lines(&mut svg, view, &scale, frame);

    if !rows.is_empty() {
        axis::frequency_grid(&mut svg, frame, rows_top, rows_bottom);
        paint_rows(&mut svg, view, rows, frame, rows_top);
        axis::frequency_figures(&mut svg, frame, rows_bottom);
    }
    svg
}

fn entries(view: &SpectrumView) -> Vec<(Mark, &'static str)> {
    let mut entries = vec![(Mark::Mix, if moved(view) { "mix now" } else { "mix" })];
    if moved(view) {
        entries.push((Mark::Before, "before"));
    }
    if drawn(&view.bands).any(|band| finite(band.reference_db).is_some()) {
        entries.push((Mark::Reference, "reference"));
    }
    entries
}

fn paint_lines(svg: &mut Svg, view: &SpectrumView, scale: &Linear, frame: &Frame) {
    let x = axis::frequency(frame);
    let mut line = |class: &str, level: &dyn Fn(&SpectrumBand) -> Option<f64>| {
        let points: Vec<_> = drawn(&view.bands)
            .map(|band| Some((x(centre_hz(band)), scale.px(level(band)?))))
            .collect();
        svg.polyline(class, &points);
    };
    line("reference-line", &|band| finite(band.reference_db));
    if moved(view) {
        line("before-line", &|band| finite(band.before_db));
    }
    line("mix-line", &now_db);
}

fn paint_rows(svg: &mut Svg, view: &SpectrumView, rows: &[String], frame: &Frame, top: f64) {
    let x = axis::frequency(frame);
    let strips: Vec<Strip<'_>> = drawn(&view.bands)
        .map(|band| Strip {
            left: x(band.low_hz),
            right: x(band.high_hz),
            owners: &band.owners,
        })
        .collect();
    owner_rows::paint(svg, &strips, rows, frame, top);
}
