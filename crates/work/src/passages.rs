//! The busiest passage beside the busiest passage.

use cupel_compare::{PASSAGE_S, Stretch, busiest_stretch};
use cupel_measure::{LoudnessCurve, Summary};
use cupel_render::Plan;
use cupel_session::Passage;
use cupel_survey::{StretchOf, measure_stretch, measure_stretches};

use crate::figures::passage_figures;
use crate::{Context, FileState, MixFigures, Surveyed, WorkError};

/// The reference's side of the comparison.
#[derive(Clone, Debug)]
pub struct ReferenceSide {
    /// The passage.
    pub stretch: Stretch,
    /// What it measures.
    pub summary: Summary,
}

/// The passages that are compared, and what they measure.
#[derive(Clone, Debug)]
pub struct Passages {
    /// The passage of the session.
    pub stretch: Stretch,
    /// The mix as it came.
    pub mix: Summary,
    /// Every track of the plan, as exported, in plan order.
    pub tracks: Vec<Summary>,
    /// The reference's passage, where there is a reference that sounds.
    pub reference: Option<ReferenceSide>,
}

impl Passages {
    /// Chooses and measures the passages; `None` where the session has no length.
    pub(crate) fn of(
        surveyed: &Surveyed,
        plan: &Plan,
        figures: &MixFigures,
        context: &Context<'_>,
    ) -> Result<Option<Self>, WorkError> {
        let seconds = figures.summary.seconds;
        let Some(stretch) = choose(surveyed.session.passage, &figures.curve, seconds) else {
            return Ok(None);
        };
        (context.progress)(0.0, "comparing the busiest passages");
        let rate = surveyed.sample_rate_hz;
        let files: Vec<&FileState> = plan
            .tracks
            .iter()
            .filter_map(|track| file_of(surveyed, &track.id))
            .collect();
        let stretches: Vec<StretchOf<'_>> = plan
            .tracks
            .iter()
            .zip(&files)
            .map(|(track, file)| StretchOf {
                path: file.path.clone(),
                content: &file.measured.content,
                file_start_frames: track.start_frames,
                start_s: stretch.start_s,
                end_s: stretch.end_s,
            })
            .collect();
        let tracks = measure_stretches(&stretches, rate, context.store)
            .into_iter()
            .collect::<Result<Vec<_>, _>>()?;
        let mix = passage_figures(surveyed, plan, stretch.start_s, stretch.end_s, context)?;
        let reference = reference_side(surveyed, context)?;
        Ok(Some(Self {
            stretch,
            mix,
            tracks,
            reference,
        }))
    }
}

fn file_of<'a>(surveyed: &'a Surveyed, id: &str) -> Option<&'a FileState> {
    surveyed
        .tracks
        .iter()
        .find(|state| state.track.id == id)?
        .file
        .as_ref()
}

fn reference_side(
    surveyed: &Surveyed,
    context: &Context<'_>,
) -> Result<Option<ReferenceSide>, WorkError> {
    let (Some(file), Some(entry)) = (&surveyed.reference, &surveyed.session.reference) else {
        return Ok(None);
    };
    let measured = &file.measured;
    let chosen = choose(entry.passage, &measured.curve, measured.summary.seconds);
    let Some(stretch) = chosen else {
        return Ok(None);
    };
    let of = StretchOf {
        path: file.path.clone(),
        content: &measured.content,
        file_start_frames: 0,
        start_s: stretch.start_s,
        end_s: stretch.end_s,
    };
    let summary = measure_stretch(&of, surveyed.sample_rate_hz, context.store)?;
    Ok(summary
        .integrated_lufs
        .is_some()
        .then_some(ReferenceSide { stretch, summary }))
}

/// The passage that was set, as far as the material goes, else the busiest.
fn choose(set: Option<Passage>, curve: &LoudnessCurve, seconds: f64) -> Option<Stretch> {
    let within = |passage: Passage| {
        let end_s = passage.end_s.min(seconds);
        (passage.start_s < end_s).then_some(Stretch {
            start_s: passage.start_s,
            end_s,
        })
    };
    set.and_then(within)
        .or_else(|| busiest_stretch(curve, seconds, PASSAGE_S))
}
