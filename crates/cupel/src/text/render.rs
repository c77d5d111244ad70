//! Summary of `render`.

use cupel_work::Rendered;

use crate::text::{notes, standing, wrap};
use crate::view::State;

pub(crate) fn summary(rendered: &Rendered, state: &State<'_>) -> String {
    let outputs = rendered.assayed.surveyed.place.outputs();
    let outputs = outputs.display();
    let mut text = format!("Rendered to {outputs}:\n  premaster.wav\n");
    for (group, _) in &rendered.groups {
        text.push_str(&format!("  groups/{group}.wav\n"));
    }
    if let Some(pair) = &rendered.pair {
        text.push_str(&format!(
            "  compare/mix.wav and compare/reference.wav, both at {:.1} LUFS\n",
            pair.loudness_lufs
        ));
    }
    if let Some(number) = rendered.moved_to {
        text.push_str(&format!(
            "The render before is in {outputs}/earlier/{number}.\n"
        ));
    }
    text.push_str(&format!("\nMeasured again:\n{}", standing(state)));
    let worse = state.worse();
    if !worse.is_empty() {
        text.push_str(&format!("\nIt got worse here:\n{}", notes(&worse)));
    }
    text.push_str(&notes(&rendered.notes));
    let caution = "Before you listen: turn down first. Monitors turned up for a quiet mix make \
                   the next mastered record about 10 dB louder.";
    text.push_str(&format!("\n{}\n", wrap(caution, 0)));
    let place = rendered.assayed.surveyed.place.file.display();
    let next = format!("Next: open {outputs}/report.html; cupel listen {place} plays it all");
    text.push_str(&wrap(&next, 0));
    text
}
