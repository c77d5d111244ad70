//! The small drawing beside a finding.

use crate::svg::{Anchor, Svg, fit_name};
use crate::view::FindingPicture;

const WIDTH: f64 = 320.0;
const NAMES: f64 = 118.0;
const ROW: f64 = 20.0;
const FIGURES: f64 = 46.0;
/// Height of a curve.
const HEIGHT: f64 = 96.0;

/// The drawing; `None` where there is nothing to draw. `id` is unique on the page.
pub(crate) fn picture(picture: &FindingPicture, id: &str, title: &str) -> Option<String> {
    match picture {
        FindingPicture::Bars { unit, rows, limit } => {
            let rows: Vec<_> = rows.iter().filter(|row| row.1.is_finite()).collect();
            (!rows.is_empty())
                .then(|| bars(unit, &rows, *limit).finish(id, title, &in_words(unit, &rows)))
        }
        FindingPicture::Curve {
            along,
            unit,
            points,
            against,
            mark,
        } => curve(along, unit, [points, against], *mark)
            .map(|svg| svg.finish(id, title, &format!("A curve in {unit} along {along}."))),
        FindingPicture::Beam { lean_db, limit_db } if lean_db.is_finite() => {
            Some(beam(*lean_db, *limit_db).finish(
                id,
                title,
                &format!("Right over left: {lean_db:+.1} dB."),
            ))
        }
        FindingPicture::Places { seconds, spans_s } if *seconds > 0.0 => {
            let places: Vec<String> = spans_s.iter().take(12).map(|span| clock(span.0)).collect();
            let words = format!("At {}.", places.join(", "));
            Some(strip(*seconds, spans_s).finish(id, title, &words))
        }
        _ => None,
    }
}

fn in_words(unit: &str, rows: &[&(String, f64, bool)]) -> String {
    let values: Vec<String> = rows
        .iter()
        .map(|(name, value, _)| format!("{name} {value:.1} {unit}"))
        .collect();
    format!("{}.", values.join(", "))
}

fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0).round() as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

/// Values from zero, or from the lowest where all are far from zero (levels).
fn bars(unit: &str, rows: &[&(String, f64, bool)], limit: Option<f64>) -> Svg {
    let values = || {
        rows.iter()
            .map(|row| row.1)
            .chain(limit.filter(|l| l.is_finite()))
    };
    let (low, high) = values().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    });
    // Levels are all far below zero: drawn from a little under the lowest.
    let from = match (low > 0.0, high < 0.0) {
        (_, true) => low - 0.25 * (high - low).max(1.0),
        (true, _) => 0.0,
        _ => low.min(0.0),
    };
    let to = high.max(if high < 0.0 { high } else { 0.0 });
    let span = (to - from).max(1e-9);
    let room = WIDTH - NAMES - FIGURES;
    let x = |value: f64| NAMES + room * ((value - from) / span).clamp(0.0, 1.0);
    let zero = if from < 0.0 && to >= 0.0 {
        x(0.0)
    } else {
        NAMES
    };
    let mut svg = Svg::new(WIDTH, ROW * rows.len() as f64 + 20.0);
    for (place, (name, value, meant)) in rows.iter().enumerate() {
        let top = ROW * place as f64 + 3.0;
        let class = if *meant { "mix-mark" } else { "pale-edge" };
        let (left, right) = (x(*value).min(zero), x(*value).max(zero));
        svg.boxes(class, &[[left, top, (right - left).max(1.5), ROW - 7.0]]);
        let words = if *meant { "strong small" } else { "small" };
        svg.text(
            words,
            Anchor::Start,
            (0.0, top + 11.0),
            &fit_name(name, NAMES - 8.0),
        );
        svg.text("small", Anchor::End, (WIDTH, top + 11.0), &figure(*value));
    }
    let bottom = ROW * rows.len() as f64;
    svg.line("hair", (zero, 0.0), (zero, bottom));
    if let Some(limit) = limit.filter(|limit| limit.is_finite()) {
        svg.line("reference-line", (x(limit), 0.0), (x(limit), bottom));
        svg.text(
            "quiet small",
            Anchor::Middle,
            (x(limit).clamp(NAMES, WIDTH - FIGURES), bottom + 14.0),
            &figure(limit),
        );
    }
    svg.text(
        "quiet small",
        Anchor::Start,
        (0.0, bottom + 14.0),
        &fit_name(unit, NAMES - 4.0),
    );
    svg
}

fn figure(value: f64) -> String {
    let size = value.abs();
    let text = match size {
        size if size >= 99.5 => format!("{value:.0}"),
        _ => format!("{value:.1}"),
    };
    if text == "-0.0" {
        "0.0".to_owned()
    } else {
        text
    }
}

/// A curve; frequencies by octaves. `None` with fewer than two points.
fn curve(
    along: &str,
    unit: &str,
    [points, against]: [&[(f64, f64)]; 2],
    mark: Option<(f64, f64)>,
) -> Option<Svg> {
    let by_octaves = along == "Hz";
    let place = |at: f64| if by_octaves { at.max(1.0).log2() } else { at };
    let finite = |p: &&(f64, f64)| p.0.is_finite() && p.1.is_finite();
    let all = || points.iter().chain(against).filter(finite);
    if points.iter().filter(finite).count() < 2 {
        return None;
    }
    let (mut left, mut right, mut low, mut high) = (
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
    );
    for point in all() {
        left = left.min(place(point.0));
        right = right.max(place(point.0));
        low = low.min(point.1);
        high = high.max(point.1);
    }
    let (room, top) = (WIDTH - 40.0, 6.0);
    let x = |at: f64| 40.0 + room * (place(at) - left) / (right - left).max(1e-9);
    let y = |value: f64| top + HEIGHT * (high - value) / (high - low).max(1e-9);
    let mut svg = Svg::new(WIDTH, HEIGHT + 26.0);
    if let Some((from, to)) = mark {
        let (from, to) = (x(from).clamp(40.0, WIDTH), x(to).clamp(40.0, WIDTH));
        svg.boxes("pale", &[[from, top, (to - from).max(2.0), HEIGHT]]);
    }
    if low < 0.0 && high > 0.0 {
        svg.line("hair", (40.0, y(0.0)), (WIDTH, y(0.0)));
    }
    let line = |points: &[(f64, f64)]| -> Vec<Option<(f64, f64)>> {
        let drawn = points.iter();
        drawn
            .map(|p| finite(&p).then(|| (x(p.0), y(p.1))))
            .collect()
    };
    svg.polyline("reference-line", &line(against));
    svg.polyline("mix-line", &line(points));
    svg.text("quiet small", Anchor::End, (36.0, top + 9.0), &figure(high));
    svg.text(
        "quiet small",
        Anchor::End,
        (36.0, top + HEIGHT),
        &figure(low),
    );
    let end = HEIGHT + 22.0;
    let (first, last) = if by_octaves {
        (hertz(left.exp2()), hertz(right.exp2()))
    } else {
        (figure(left), format!("{} {along}", figure(right)))
    };
    svg.text("quiet small", Anchor::Start, (40.0, end), &first);
    svg.text("quiet small", Anchor::End, (WIDTH, end), &last);
    svg.text(
        "quiet small",
        Anchor::Middle,
        (0.5 * (WIDTH + 40.0), end),
        unit,
    );
    Some(svg)
}

fn hertz(hertz: f64) -> String {
    if hertz >= 1000.0 {
        format!("{:.1} kHz", hertz / 1000.0)
    } else {
        format!("{hertz:.0} Hz")
    }
}

/// A beam on its point, tipped by the lean.
fn beam(lean_db: f64, limit_db: f64) -> Svg {
    let (middle, at) = (0.5 * WIDTH, 30.0);
    let reach = 0.42 * WIDTH;
    let largest = (2.0 * limit_db).max(6.0);
    let tip = 20.0 * (lean_db / largest).clamp(-1.0, 1.0);
    let mut svg = Svg::new(WIDTH, 74.0);
    svg.line("hair", (middle - reach, at), (middle + reach, at));
    svg.line(
        "mix-line",
        (middle - reach, at - tip),
        (middle + reach, at + tip),
    );
    svg.triangles(
        "before-mark",
        &[[
            (middle, at + 2.0),
            (middle - 7.0, at + 18.0),
            (middle + 7.0, at + 18.0),
        ]],
    );
    let heavy = if lean_db > 0.0 { 1.0 } else { -1.0 };
    svg.disc("mix-mark", (middle + heavy * reach, at + tip * heavy), 5.0);
    svg.text("small", Anchor::Start, (middle - reach, 70.0), "left");
    svg.text("small", Anchor::End, (middle + reach, 70.0), "right");
    let words = format!(
        "{:.1} dB; level up to {limit_db:.1}",
        lean_db.abs().min(99.9)
    );
    svg.text("quiet small", Anchor::Middle, (middle, 70.0), &words);
    svg
}

/// Places along the whole length.
fn strip(seconds: f64, spans_s: &[(f64, f64)]) -> Svg {
    let x = |at: f64| WIDTH * (at / seconds).clamp(0.0, 1.0);
    let mut svg = Svg::new(WIDTH, 36.0);
    svg.boxes("pale", &[[0.0, 4.0, WIDTH, 12.0]]);
    let marks: Vec<[f64; 4]> = spans_s
        .iter()
        .map(|&(from, to)| [x(from), 4.0, (x(to) - x(from)).max(2.0), 12.0])
        .collect();
    svg.boxes("mix-mark", &marks);
    svg.text("quiet small", Anchor::Start, (0.0, 32.0), "0:00");
    svg.text("quiet small", Anchor::End, (WIDTH, 32.0), &clock(seconds));
    if let Some(first) = spans_s.first() {
        let at = x(first.0).clamp(60.0, WIDTH - 60.0);
        svg.text("small", Anchor::Middle, (at, 32.0), &clock(first.0));
    }
    svg
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_picture_says_its_numbers_in_words() {
        let bars = FindingPicture::Bars {
            unit: "dB".into(),
            rows: vec![("Kick".into(), -9.5, true), ("Bass".into(), -12.0, false)],
            limit: Some(-12.0),
        };
        let svg = picture(&bars, "x", "levels").unwrap_or_default();
        assert!(svg.contains("Kick -9.5 dB, Bass -12.0 dB."), "{svg}");
        let beam = FindingPicture::Beam {
            lean_db: 4.25,
            limit_db: 2.0,
        };
        let svg = picture(&beam, "x", "lean").unwrap_or_default();
        assert!(svg.contains("Right over left: +4.2 dB."), "{svg}");
    }

    #[test]
    fn what_cannot_be_drawn_is_left_out() {
        let curve = FindingPicture::Curve {
            along: "Hz".into(),
            unit: "dB".into(),
            points: vec![(100.0, f64::NAN), (200.0, 1.0)],
            against: Vec::new(),
            mark: None,
        };
        assert_eq!(picture(&curve, "x", ""), None);
        let places = FindingPicture::Places {
            seconds: 0.0,
            spans_s: vec![(0.0, 1.0)],
        };
        assert_eq!(picture(&places, "x", ""), None);
    }
}
