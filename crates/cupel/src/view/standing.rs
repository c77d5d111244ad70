//! Before, after and reference, side by side.

use cupel_measure::Summary;

use crate::view::State;
use crate::view::matters::LEVEL_DB;

/// Differences smaller than this are no difference, in dB or LU.
const NO_DIFFERENCE_DB: f64 = 0.3;

/// One figure of the three.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Row {
    pub name: &'static str,
    pub unit: &'static str,
    pub before: Option<f64>,
    pub after: Option<f64>,
    pub reference: Option<f64>,
    /// Whether the moves helped; `None` where there is no better and worse.
    pub better: Option<bool>,
}

/// What brings a figure nearer to where it should be.
enum Aim {
    /// Nearer to this.
    To(f64),
    /// No farther from 0 than this; nearer is no better.
    Within(f64),
    /// At most this.
    AtMost(f64),
    /// Only shown.
    Shown,
}

pub(crate) fn rows(state: &State<'_>) -> Vec<Row> {
    let assayed = state.assayed;
    let targets = assayed.surveyed.session.targets;
    let passages = assayed.passages.as_ref();
    let reference = passages
        .and_then(|p| p.reference.as_ref())
        .map(|side| &side.summary);
    let whole_reference = assayed
        .surveyed
        .reference
        .as_ref()
        .map(|file| file.summary());
    let before = passages.map(|p| &p.mix);
    let after = state.after.and_then(|a| a.passage.as_ref());
    let mix = &assayed.mix;
    let after_mix = state.after.map(|a| &a.mix);
    let whole = |name, unit, get: fn(&Summary) -> Option<f64>, aim| {
        row(
            name,
            unit,
            get(&mix.summary),
            after_mix.and_then(|m| get(&m.summary)),
            whole_reference.and_then(get),
            aim,
        )
    };
    let passage = |name, unit, get: fn(&Summary) -> Option<f64>, aim| {
        row(
            name,
            unit,
            before.and_then(get),
            after.and_then(get),
            reference.and_then(get),
            aim,
        )
    };
    let parts = |get: fn(&cupel_compare::Parts) -> Option<f64>| {
        (
            assayed.parts.as_ref().and_then(get),
            state.after.and_then(|a| a.parts.as_ref()).and_then(get),
        )
    };
    let (spectrum_before, spectrum_after) = parts(|p| p.spectrum_db);
    let (low_before, low_after) = parts(|p| p.low_end_db);
    let towards = |summary: Option<&Summary>, get: fn(&Summary) -> Option<f64>| {
        summary.and_then(get).map_or(Aim::Shown, Aim::To)
    };
    // A kick lowered with the whole mix for headroom is no fault.
    let kick_aim = match after_mix.and_then(|m| m.summary.sample_peak_dbfs) {
        Some(peak) if peak >= targets.headroom_dbfs - 0.2 => Aim::Shown,
        _ => Aim::To(targets.kick_peak_dbfs),
    };
    let mut rows = vec![
        row(
            "kick peak",
            "dBFS",
            mix.kick_peak_dbfs,
            after_mix.and_then(|m| m.kick_peak_dbfs),
            None,
            kick_aim,
        ),
        whole(
            "sample peak",
            "dBFS",
            |s| s.sample_peak_dbfs,
            Aim::AtMost(targets.headroom_dbfs),
        ),
        whole("true peak", "dBTP", |s| s.true_peak_dbtp, Aim::Shown),
        whole(
            "integrated loudness",
            "LUFS",
            |s| s.integrated_lufs,
            Aim::Shown,
        ),
        passage(
            "loudness of the passage",
            "LUFS",
            |s| s.integrated_lufs,
            Aim::Shown,
        ),
        whole("loudness range", "LU", |s| s.loudness_range_lu, Aim::Shown),
        passage(
            "peak to loudness, passage",
            "LU",
            |s| s.peak_to_loudness_lu,
            Aim::Shown,
        ),
        row(
            "spectrum: distance from it",
            "dB",
            spectrum_before,
            spectrum_after,
            reference.map(|_| 0.0),
            Aim::To(0.0),
        ),
        row(
            "below 120 Hz: distance",
            "dB",
            low_before,
            low_after,
            reference.map(|_| 0.0),
            Aim::To(0.0),
        ),
        passage(
            "lean (right less left)",
            "dB",
            |s| s.lean_db,
            Aim::Within(LEVEL_DB),
        ),
        passage(
            "width (side to mid)",
            "dB",
            |s| s.width_db,
            towards(reference, |s| s.width_db),
        ),
        passage("loss in mono", "LU", |s| s.mono_loss_lu, Aim::Shown),
    ];
    rows.retain(|row| row.before.is_some() || row.after.is_some());
    rows
}

fn row(
    name: &'static str,
    unit: &'static str,
    before: Option<f64>,
    after: Option<f64>,
    reference: Option<f64>,
    aim: Aim,
) -> Row {
    let better = before.zip(after).and_then(|(before, after)| {
        let miss = |value: f64| match aim {
            Aim::To(goal) => Some((value - goal).abs()),
            Aim::Within(limit) => Some((value.abs() - limit).max(0.0)),
            Aim::AtMost(limit) => Some((value - limit).max(0.0)),
            Aim::Shown => None,
        };
        let (before, after) = (miss(before)?, miss(after)?);
        ((after - before).abs() >= NO_DIFFERENCE_DB).then_some(after < before)
    });
    Row {
        name,
        unit,
        before,
        after,
        reference,
        better,
    }
}

pub(crate) fn worse(state: &State<'_>) -> Vec<String> {
    let mut lines: Vec<String> = rows(state)
        .into_iter()
        .filter(|row| row.better == Some(false))
        .filter_map(|row| {
            let (before, after) = row.before.zip(row.after)?;
            Some(format!(
                "{}: {} became {} {}",
                row.name,
                tenths(before),
                tenths(after),
                row.unit
            ))
        })
        .collect();
    lines.extend(worse_bands(state));
    lines
}

/// With one decimal, and never `-0.0`.
fn tenths(value: f64) -> String {
    let rounded = (10.0 * value).round() / 10.0;
    format!("{:.1}", if rounded == 0.0 { 0.0 } else { rounded })
}

/// Bands in which the mix moved away from the reference by a decibel or more.
fn worse_bands(state: &State<'_>) -> Option<String> {
    let passage = state.after?.passage.as_ref()?;
    let reference = state.assayed.passages.as_ref()?.reference.as_ref()?;
    let mix = cupel_compare::Spectrum::of(passage)?;
    let other = cupel_compare::Spectrum::of(&reference.summary)?;
    let after = cupel_compare::differences(&mix, &other);
    let worse: Vec<String> = state
        .assayed
        .bands
        .iter()
        .zip(&after)
        .filter_map(|(before, after)| {
            let (was, is) = (before.difference_db?, after.difference_db?);
            (is.abs() - was.abs() >= 1.0 && is.abs() >= 2.0).then(|| {
                let hertz = cupel_units::read_hertz(before.nominal_hz);
                format!("{hertz} ({was:+.1} to {is:+.1} dB)")
            })
        })
        .collect();
    (!worse.is_empty()).then(|| {
        format!(
            "further from the reference in these third octaves: {}",
            worse.join(", ")
        )
    })
}
