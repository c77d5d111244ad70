//! The busiest passage beside the busiest passage.

use cupel_compare::Stretch;
use cupel_form::Form;
use cupel_measure::Summary;
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
    /// Gain on the reference that makes both passages equally loud, dB.
    pub fn equal_loudness_db(&self) -> Option<f64> {
        let reference = self.reference.as_ref()?;
        Some(self.mix.integrated_lufs? - reference.summary.integrated_lufs?)
    }

    /// Chooses and measures the passages; `None` where the session has no length.
    pub(crate) fn of(
        surveyed: &Surveyed,
        plan: &Plan,
        figures: &MixFigures,
        (form, reference_form): (&Form, Option<&Form>),
        context: &Context<'_>,
    ) -> Result<Option<Self>, WorkError> {
        let seconds = figures.summary.seconds;
        let Some(stretch) = choose(surveyed.session.passage, form, seconds) else {
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
        let reference = reference_side(surveyed, reference_form, context)?;
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
    form: Option<&Form>,
    context: &Context<'_>,
) -> Result<Option<ReferenceSide>, WorkError> {
    let (Some(file), Some(entry), Some(form)) =
        (&surveyed.reference, &surveyed.session.reference, form)
    else {
        return Ok(None);
    };
    let measured = &file.measured;
    let Some(stretch) = choose(entry.passage, form, measured.summary.seconds) else {
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
fn choose(set: Option<Passage>, form: &Form, seconds: f64) -> Option<Stretch> {
    let within = |start_s: f64, end_s: f64| {
        let (start_s, end_s) = (start_s.max(0.0), end_s.min(seconds));
        (start_s < end_s).then_some(Stretch { start_s, end_s })
    };
    set.and_then(|passage| within(passage.start_s, passage.end_s))
        .or_else(|| form.passage.and_then(|p| within(p.start_s, p.end_s)))
        .or_else(|| within(0.0, seconds))
}
