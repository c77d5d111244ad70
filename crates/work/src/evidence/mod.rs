//! What findings are made from, gathered from all that was measured.

mod levels;
mod low_end;
mod passage;
mod reference;
mod sections;
mod tracks;

use cupel_findings::{Aims, ElementFacts, Evidence, MixFacts};
use cupel_solve::{LeanElement, audible, beams, is_core};

use crate::beside::Passage;
use crate::figures::indices;
use crate::{Assayed, Context, WorkError};

/// Gathers the evidence of a session as its tracks came, without any move.
///
/// # Errors
/// [`WorkError`] where a file can no longer be read.
pub(crate) fn evidence(assayed: &Assayed, context: &Context<'_>) -> Result<Evidence, WorkError> {
    let passage = Passage::of(assayed, context)?;
    let told = levels::of(assayed, passage.as_ref(), context);
    let mut evidence = Evidence {
        tracks: tracks::of(assayed, &told.levels, context)?,
        elements: elements(assayed),
        mix: Some(mix(assayed)),
        bounce: match &assayed.surveyed.rough {
            Some(file) => Some(tracks::file_facts(file, context)?),
            None => None,
        },
        reference: reference::of(assayed, told.is_print, context)?,
        trust: Some(assayed.trust.clone()),
        passage: None,
        low_end: low_end::of(assayed, passage.as_ref()),
        aims: Aims {
            kick_peak_dbfs: assayed.surveyed.session.targets.kick_peak_dbfs,
            headroom_dbfs: assayed.surveyed.session.targets.headroom_dbfs,
        },
    };
    if let Some(passage) = &passage {
        hear_elements(&mut evidence.elements, passage, evidence.tracks.len());
        let facts = passage::of(assayed, passage, &evidence.elements, told.remains);
        for (element, powers) in evidence.elements.iter_mut().zip(&facts.elements) {
            element.mono_loss_db = passage::mono_loss_db(powers, &facts);
        }
        evidence.passage = Some(facts);
    }
    Ok(evidence)
}

fn elements(assayed: &Assayed) -> Vec<ElementFacts> {
    let elements = assayed.elements.iter();
    elements
        .map(|element| ElementFacts {
            name: element.name.clone(),
            role: element.role,
            tracks: indices(&assayed.plan, &element.tracks),
            core: is_core(element.role),
            lean_db: None,
            lean_by_four_bars_db: Vec::new(),
            share_db: None,
            mono_loss_db: None,
            heard_part: None,
            best: None,
        })
        .collect()
}

/// How far every element is heard in the passage, and how it leans.
fn hear_elements(elements: &mut [ElementFacts], passage: &Passage, tracks: usize) {
    let as_is = vec![0.0; tracks];
    let asked: Vec<LeanElement<'_>> = elements
        .iter()
        .map(|element| LeanElement {
            name: &element.name,
            role: element.role,
            tracks: &element.tracks,
        })
        .collect();
    let beams = beams(&passage.scene, &as_is, &asked);
    let heard = audible(&passage.scene, &as_is, &asked);
    for (element, beam) in elements.iter_mut().zip(beams) {
        if beam.share_db > -100.0 {
            element.lean_db = Some(beam.lean_db);
            element.share_db = Some(beam.share_db);
        }
        if let Some(heard) = heard.iter().find(|heard| heard.element == element.name) {
            element.heard_part = Some(heard.heard_part);
            element.best = Some((heard.best_db, heard.best_hz));
        }
    }
}

fn mix(assayed: &Assayed) -> MixFacts {
    let (music, mix) = (&assayed.music, &assayed.mix);
    let peaks = mix.highest_peaks.len().max(1) as f64;
    let share = |track: usize| {
        let peaks_of = mix.highest_peaks.iter();
        let shares = peaks_of.map(|peak| peak.shares.get(track).copied().unwrap_or(0.0));
        shares.sum::<f64>() / peaks
    };
    let highest = mix
        .highest_peaks
        .iter()
        .max_by(|a, b| a.level_dbfs.total_cmp(&b.level_dbfs));
    MixFacts {
        summary: mix.summary.clone(),
        in_passage: assayed.passages.as_ref().map(|p| p.mix.clone()),
        kick_peak_dbfs: mix.kick_peak_dbfs,
        peak_shares: (0..assayed.plan.tracks.len()).map(share).collect(),
        highest_peak_s: highest
            .map(|peak| peak.frame as f64 / f64::from(assayed.surveyed.sample_rate_hz)),
        sections: sections::of(&music.form, &mix.curve, |_, _| None),
        tempo_bpm: music.grid.tempo_bpm,
        bar_s: music.grid.tempo_bpm.map(|bpm| {
            let beats = music.grid.beats_per_bar.unwrap_or(4);
            f64::from(beats) * 60.0 / bpm
        }),
        key: reference::sure_key(music),
        bass: music.bass.clone(),
        kick: music.kick.clone(),
        kick_place: music.kick_place.clone(),
        layers: assayed
            .bars
            .as_ref()
            .map_or_else(Vec::new, |bars| bars.mix.layers.clone()),
    }
}
