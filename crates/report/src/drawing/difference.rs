//! Difference to the reference by band, before and after: ticks from a drawn
//! zero line, their length the decibels.

use cupel_units::{read_db_change, read_hertz};

use super::axis::{self, Linear};
use super::frame::Frame;
use super::legend::{self, Mark};
use super::spectrum::{centre_hz, drawn, moved, now_db};
use super::{Drawing, at_both_widths, finite};
use crate::svg::Svg;
use crate::view::{Report, SpectrumView};

/// Largest difference on the scale; longer ticks end at its edge.
const LARGEST_DB: f64 = 24.0;

/// One band's differences, mix less reference.
#[derive(Clone, Copy)]
struct Gap {
    hertz: f64,
    before_db: Option<f64>,
    now_db: Option<f64>,
}

pub(crate) fn drawing(report: &Report) -> Option<Drawing> {
    let view = report.spectrum.as_ref()?;
    let gaps = gaps(view);
    let widest_now = widest(&gaps, |gap| gap.now_db)?;
    let widest_before = if moved(view) {
        widest(&gaps, |gap| gap.before_db)
    } else {
        None
    };
    let reach_db = gaps
        .iter()
        .flat_map(|gap| [gap.before_db, gap.now_db])
        .flatten()
        .fold(6.0, |most: f64, gap| most.max(gap.abs()));
    let reach_db = (3.0 * (reach_db / 3.0).ceil()).min(LARGEST_DB);
    Some(Drawing {
        id: "difference",
        name: "Difference to the reference by band",
        heading: heading(widest_now, widest_before),
        text: text(&gaps, widest_before.is_some()),
        svgs: at_both_widths(|frame| paint(&gaps, moved(view), reach_db, frame)),
    })
}

fn gaps(view: &SpectrumView) -> Vec<Gap> {
    drawn(&view.bands)
        .map(|band| {
            let against = |level: Option<f64>| Some(level? - finite(band.reference_db)?);
            Gap {
                hertz: centre_hz(band),
                before_db: against(finite(band.before_db)),
                now_db: against(now_db(band)),
            }
        })
        .collect()
}

/// Frequency and size of the widest gap, the lowest of equals.
fn widest(gaps: &[Gap], pick: impl Fn(&Gap) -> Option<f64>) -> Option<(f64, f64)> {
    let sizes = gaps.iter().filter_map(|gap| Some((gap.hertz, pick(gap)?)));
    sizes.reduce(|best, next| {
        if next.1.abs() > best.1.abs() {
            next
        } else {
            best
        }
    })
}

fn heading(now: (f64, f64), before: Option<(f64, f64)>) -> String {
    let place = |(hertz, gap): (f64, f64)| {
        let side = if gap < 0.0 { "below" } else { "above" };
        format!(
            "{:.1} dB {side} the reference at {}",
            gap.abs(),
            read_hertz(hertz)
        )
    };
    match before {
        Some(before) => {
            let was = format!("{} at {}", read_db_change(before.1), read_hertz(before.0));
            format!("The widest gap left is {}; before it was {was}", place(now))
        }
        None => format!(
            "The mix is farthest from the reference at {}: {}",
            read_hertz(now.0),
            read_db_change(now.1)
        ),
    }
}

fn text(gaps: &[Gap], moved: bool) -> String {
    let mut text = String::from(
        "Mix less reference at equal loudness, band by band; the zero line is the reference. ",
    );
    let near = |pick: fn(&Gap) -> Option<f64>| {
        let gaps = gaps.iter().filter_map(pick);
        gaps.filter(|gap| gap.abs() <= 3.0).count()
    };
    let all = gaps.iter().filter(|gap| gap.now_db.is_some()).count();
    let now = near(|gap| gap.now_db);
    text.push_str(&format!("{now} of {all} bands lie within 3 dB of it"));
    if moved {
        text.push_str(&format!(", {} did before", near(|gap| gap.before_db)));
    }
    text.push('.');
    text
}

fn paint(gaps: &[Gap], moved: bool, reach_db: f64, frame: &Frame) -> Svg {
    let top = legend::HEIGHT;
    let bottom = top + if frame.narrow { 180.0 } else { 210.0 };
    let mut svg = Svg::new(frame.width, bottom + 40.0);
    let mut entries = vec![(Mark::Mix, if moved { "mix now" } else { "mix" })];
    if moved {
        entries.push((Mark::Before, "before"));
    }
    entries.push((Mark::Reference, "reference"));
    legend::legend(&mut svg, frame, &entries);

    let scale = Linear {
        from: -reach_db,
        to: reach_db,
        from_px: bottom,
        to_px: top,
    };
    let x = axis::frequency(frame);
    axis::frequency_grid(&mut svg, frame, top, bottom);
    axis::level_grid(
        &mut svg,
        frame,
        &scale,
        if reach_db > 12.0 { 6.0 } else { 3.0 },
        true,
    );
    axis::level_unit(&mut svg, frame, top, "dB");
    axis::frequency_figures(&mut svg, frame, bottom);
    let zero = scale.px(0.0);
    svg.line("reference-line", (frame.left, zero), (frame.right, zero));

    if moved {
        let before: Vec<_> = gaps
            .iter()
            .map(|gap| Some((x(gap.hertz), scale.px(gap.before_db?))))
            .collect();
        svg.polyline("before-line", &before);
    }
    for gap in gaps {
        if let Some(now_db) = gap.now_db {
            let (at, y) = (x(gap.hertz), scale.px(now_db));
            svg.line("tick", (at, zero), (at, y));
            svg.disc("mix-mark", (at, y), if frame.narrow { 2.6 } else { 3.6 });
        }
    }
    svg
}
