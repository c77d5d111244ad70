//! What the levels of the busiest passage do to the other sections.

use cupel_measure::LoudnessCurve;
use cupel_session::{At, By, Move, Parameters, Session, Target};
use cupel_units::round_to_step;

use crate::Assayed;

/// A section that comes nearer to the passage by this much is spoken of, dB
/// (common practice, no source).
const LEAST_RISE_DB: f64 = 2.0;
/// What lies within the passage by this part of the section is no other section.
const SAME_PART: f64 = 0.3;
/// A section this far under the passage is not loud enough to be hurt, dB.
const SOFT_DB: f64 = 30.0;
const STEP_DB: f64 = 0.5;

/// A section that the moves make louder against the passage.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Hurt {
    /// What to say.
    pub(crate) sentence: String,
    /// The move for that section, off.
    pub(crate) step: Move,
}

/// Looks at every section with the moves that are on.
pub(crate) fn hurt_sections(assayed: &Assayed) -> Vec<Hurt> {
    let Some(passages) = &assayed.passages else {
        return Vec::new();
    };
    let session = &assayed.surveyed.session;
    let tracks: Vec<(&str, LoudnessCurve)> = assayed
        .surveyed
        .included()
        .map(|(state, file)| {
            let curve = file.measured.curve.starting_at(state.track.start_s);
            (state.track.id.as_str(), curve)
        })
        .collect();
    let powers = |start_s: f64, end_s: f64, name: &str| -> Vec<(f64, f64)> {
        let of_track = |(id, curve): &(&str, LoudnessCurve)| {
            let power = mean_power(curve, start_s, end_s);
            let gain_db = session.net_gain_db(id) + section_gain_db(session, id, name);
            (power, power * 10f64.powf(gain_db / 10.0))
        };
        tracks.iter().map(of_track).collect()
    };
    let sum_db = |powers: &[(f64, f64)]| {
        let before: f64 = powers.iter().map(|p| p.0).sum();
        let after: f64 = powers.iter().map(|p| p.1).sum();
        (
            10.0 * before.max(1e-12).log10(),
            10.0 * after.max(1e-12).log10(),
        )
    };
    let stretch = passages.stretch;
    let sections = &assayed.music.form.sections;
    let middle_s = 0.5 * (stretch.start_s + stretch.end_s);
    let around = sections
        .iter()
        .find(|section| section.start_s <= middle_s && middle_s < section.end_s);
    let around = around.map_or("", |section| section.name.name());
    let loud = sum_db(&powers(stretch.start_s, stretch.end_s, around));
    let mut found: Vec<Hurt> = Vec::new();
    for section in sections {
        let shared_s = section.end_s.min(stretch.end_s) - section.start_s.max(stretch.start_s);
        if section.busiest || shared_s > SAME_PART * (section.end_s - section.start_s) {
            continue;
        }
        let name = section.name.name();
        let here = powers(section.start_s, section.end_s, name);
        let (before_db, after_db) = sum_db(&here);
        let rise_db = (after_db - loud.1) - (before_db - loud.0);
        if rise_db < LEAST_RISE_DB || after_db < loud.1 - SOFT_DB {
            continue;
        }
        let all = 10f64.powf((loud.1 - loud.0) / 10.0);
        let worst = (0..here.len()).max_by(|&a, &b| {
            let grown = |t: usize| here[t].1 - all * here[t].0;
            grown(a).total_cmp(&grown(b))
        });
        let Some(worst) = worst else { continue };
        let id = tracks[worst].0;
        let gain_db = -round_to_step(rise_db.min(12.0), STEP_DB);
        let known = found.iter().any(|hurt| {
            let same_place = hurt.step.at == Some(At::Sections(vec![name.to_owned()]));
            same_place && hurt.step.target == Target::Track(id.to_owned())
        });
        if known {
            continue;
        }
        let sentence = format!(
            "the new levels bring the {name} from {:.0} s {rise_db:.1} dB nearer to the busiest \
             passage, most of it {id}",
            section.start_s
        );
        let target = Target::Track(id.to_owned());
        let parameters = Parameters::Fader { gain_db };
        let mut step = Move::new(target, parameters, By::Cupel, "check", sentence.clone());
        step.at = Some(At::Sections(vec![name.to_owned()]));
        step.id = format!("{id}-fader-{name}");
        step.on = false;
        found.push(Hurt { sentence, step });
    }
    found
}

/// Mean power of a track over a section; after the track's end it is silent.
fn mean_power(curve: &LoudnessCurve, start_s: f64, end_s: f64) -> f64 {
    let length_s = curve.hop_s * curve.k_power.len() as f64;
    let heard_s = (end_s.min(length_s) - start_s).max(0.0);
    let mean = curve.power_between(start_s, end_s).unwrap_or(0.0);
    mean * heard_s / (end_s - start_s).max(curve.hop_s)
}

/// Gains of the moves that are on for sections of that name only.
fn section_gain_db(session: &Session, id: &str, name: &str) -> f64 {
    let group = session.track(id).and_then(|track| track.group);
    let holds = |step: &&Move| match &step.at {
        Some(At::Sections(names)) => names.iter().any(|other| other == name),
        _ => false,
    };
    session
        .moves
        .iter()
        .filter(|step| step.on && step.target.reaches(id, group))
        .filter(holds)
        .filter_map(|step| step.parameters.gain_db())
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_track_that_ends_at_the_section_is_not_in_it() {
        // Ten seconds of power 1, and a section from just before their end.
        let curve = LoudnessCurve {
            hop_s: 0.1,
            momentary_lufs: Vec::new(),
            short_term_lufs: Vec::new(),
            k_power: vec![1.0; 100],
        };
        assert!((mean_power(&curve, 0.0, 10.0) - 1.0).abs() < 1e-9);
        assert!(mean_power(&curve, 9.9998, 20.0) < 1e-4);
        assert!((mean_power(&curve, 5.0, 20.0) - 1.0 / 3.0).abs() < 1e-9);
        assert_eq!(mean_power(&curve, 12.0, 20.0), 0.0);
    }
}
