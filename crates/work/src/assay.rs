//! Can these tracks be trusted, and what does the session measure beside the
//! reference?

use cupel_compare::{BandDifference, Parts, Spectrum, differences, parts_of};
use cupel_findings::{Evidence, Family, Finding, Need, judge, needs};
use cupel_render::Plan;
use cupel_roles::Element;
use cupel_session::{Move, MoveKind, Session, Target};
use cupel_trust::Trust;

use crate::element::elements_of;
use crate::evidence::evidence;
use crate::session_music::figures_and_music;
use crate::trusting::judge_tracks;
use crate::{
    Bars, Context, Kick, MixFigures, Musical, Passages, Place, Surveyed, WorkError, music_of_file,
};

/// A session that has been judged and measured.
#[derive(Debug)]
pub struct Assayed {
    /// The session and its files.
    pub surveyed: Surveyed,
    /// Whether its tracks can be trusted.
    pub trust: Trust,
    /// The anchor.
    pub kick: Option<Kick>,
    /// The tracks as they came, in render order.
    pub plan: Plan,
    /// The mix of the tracks as they came.
    pub mix: MixFigures,
    /// Tracks of one role that sound together.
    pub elements: Vec<Element>,
    /// The music of the session.
    pub music: Musical,
    /// The music of the reference.
    pub reference_music: Option<Musical>,
    /// The passages compared; `None` where there is nothing to compare.
    pub passages: Option<Passages>,
    /// The passages over their bars: bar maps, layers. `None` without a grid.
    pub bars: Option<Bars>,
    /// Mix and reference by band, at equal loudness.
    pub bands: Vec<BandDifference>,
    /// The distance in its parts.
    pub parts: Option<Parts>,
    /// How every element leans over four bars as the tracks came: name, right over
    /// left in dB.
    pub leans: Vec<(String, f64)>,
    /// What the findings are made from.
    pub evidence: Evidence,
    /// What is wrong and what is right, by what holds the mix back most.
    pub findings: Vec<Finding>,
    /// What it would take to tell more.
    pub needs: Vec<Need>,
}

/// Judges and measures a session, and writes what was found into its file: sums
/// that are left out, starts that were found.
///
/// # Errors
/// [`WorkError`] where the session cannot be used at all.
pub fn assay(place: &Place, context: &Context<'_>) -> Result<Assayed, WorkError> {
    let mut surveyed = Surveyed::load(place, context)?;
    if surveyed.included().next().is_none() {
        let count = surveyed.tracks.len();
        return Err(WorkError::NoneUsable {
            path: place.folder.clone(),
            count,
        });
    }
    let trust = judge_tracks(&mut surveyed, context)?;
    surveyed.session.save_merged(&place.file)?;
    let plan = Plan::untouched(&surveyed.playable(), &place.folder, surveyed.sample_rate_hz);
    let kick = Kick::of(&surveyed);
    let kick_ids = kick.as_ref().map_or(&[][..], |kick| &kick.tracks);
    let (mix, music) = figures_and_music(&surveyed, &plan, kick_ids, context)?;
    let elements = elements_of(&surveyed);
    let reference_music = reference_music(&surveyed, context)?;
    let forms = (
        &music.form,
        reference_music.as_ref().map(|music| &music.form),
    );
    let passages = Passages::of(&surveyed, &plan, &mix, forms, context)?;
    let musics = (&music, reference_music.as_ref());
    let bars = match &passages {
        Some(passages) => Bars::of(&surveyed, &plan, &elements, passages, musics, context)?,
        None => None,
    };
    let sides = passages
        .as_ref()
        .and_then(|p| Some((&p.mix, &p.reference.as_ref()?.summary)));
    let bands = sides
        .and_then(|(mix, reference)| Spectrum::of(mix).zip(Spectrum::of(reference)))
        .map(|(mix, reference)| differences(&mix, &reference))
        .unwrap_or_default();
    let parts = sides.map(|(mix, reference)| parts_of(mix, reference));
    let mut assayed = Assayed {
        surveyed,
        trust,
        kick,
        plan,
        mix,
        elements,
        music,
        reference_music,
        passages,
        bars,
        bands,
        parts,
        leans: Vec::new(),
        evidence: Evidence::default(),
        findings: Vec::new(),
        needs: Vec::new(),
    };
    assayed.evidence = evidence(&assayed, context)?;
    let elements = assayed.evidence.elements.iter();
    assayed.leans = elements
        .filter_map(|element| Some((element.name.clone(), element.lean_db?)))
        .collect();
    assayed.findings = judge(&assayed.evidence);
    assayed.needs = needs(&assayed.evidence);
    name_moves(&mut assayed.findings, &assayed.surveyed.session);
    Ok(assayed)
}

/// Names in every finding the moves of the session that would mend it.
fn name_moves(findings: &mut [Finding], session: &Session) {
    for finding in findings {
        let mends = |step: &&Move| match &step.target {
            Target::All => finding.name == "kick-off-anchor" || finding.name == "premaster-peak",
            Target::Track(id) => {
                let kinds: &[MoveKind] = match finding.family {
                    Family::Level => &[MoveKind::Fader],
                    Family::Stereo => &[MoveKind::Pan],
                    Family::LowEnd => &[MoveKind::Polarity, MoveKind::Offset, MoveKind::Fader],
                    _ => &[],
                };
                kinds.contains(&step.kind) && finding.tracks.contains(id)
            }
            _ => false,
        };
        let steps = session.moves.iter().filter(mends);
        finding.moves = steps.map(|step| step.id.clone()).collect();
        name_moves(&mut finding.follows, session);
    }
}

fn reference_music(
    surveyed: &Surveyed,
    context: &Context<'_>,
) -> Result<Option<Musical>, WorkError> {
    let (Some(file), Some(entry)) = (&surveyed.reference, &surveyed.session.reference) else {
        return Ok(None);
    };
    let music = music_of_file(&file.path, &file.measured, &entry.music, context.store)?;
    Ok(Some(music))
}
