//! `cupel render`: writes the audio and measures it again.

use std::path::Path;

use cupel_audio::SampleFormat;
use cupel_work::RenderOptions;

use crate::args::{Common, Format};
use crate::commands::{place, report_problems, with_context};
use crate::exit::Exit;
use crate::json;
use crate::output::{Failure, print_json, print_text};
use crate::text;
use crate::view::{self, State};

pub(crate) fn run(
    session: Option<&Path>,
    format: Format,
    common: &Common,
) -> Result<Exit, Failure> {
    let place = place(session)?;
    let format = match format {
        Format::F32 => SampleFormat::F32,
        Format::I24 => SampleFormat::I24,
    };
    let rendered = with_context(common, |context| {
        Ok(cupel_work::render(
            &place,
            RenderOptions { format },
            context,
        )?)
    })?;
    let state = State::after(&rendered.assayed, &rendered.moves, &rendered.after, true);
    view::write_report(&state)?;
    if common.json {
        print_json(&json::render::Document::of(&rendered, &state))?;
    } else {
        print_text(&text::render::summary(&rendered, &state))?;
    }
    Ok(report_problems(&rendered.assayed.surveyed.problems))
}
