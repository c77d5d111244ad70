//! `cupel demo`: an invented session, and the whole path on it.

use std::path::Path;

use cupel_audio::SampleFormat;
use cupel_demo::{
    Arrangement, BOUNCE, DemoSettings, FaultPlan, MIX, Patterns, REFERENCE, generate, generate_mix,
};
use cupel_work::{BalanceOptions, OpenOptions, Place, RenderOptions};
use serde::Serialize;

use crate::args::{Common, MakeArgs};
use crate::commands::with_context;
use crate::exit::Exit;
use crate::json;
use crate::output::{Failure, print_json, print_text};
use crate::text;
use crate::view::{self, State};

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    version: u32,
    folder: String,
    seed: u64,
    mistakes: Vec<&'a str>,
    balance: Option<json::balance::Document<'a>>,
    render: Option<json::render::Document<'a>>,
}

pub(crate) fn run(
    folder: &Path,
    seed: u64,
    make: &MakeArgs,
    common: &Common,
) -> Result<Exit, Failure> {
    let settings = settings(seed, make)?;
    if make.mix_only {
        return mix(folder, &settings, common);
    }
    with_context(common, |context| {
        let made = generate(folder, &settings, context.progress)
            .map_err(|error| Failure::new(&error, None))?;
        let mistakes: Vec<&str> = made.truth.faults.iter().map(|f| f.what.as_str()).collect();
        let name = folder.display().to_string();
        let mut document = Document {
            schema: "cupel/demo",
            version: 1,
            folder: name.clone(),
            seed,
            mistakes,
            balance: None,
            render: None,
        };
        if make.only_make {
            return if common.json {
                print_json(&document)
            } else {
                print_text(&text::demo::made(&name, &document.mistakes))
            };
        }
        let options = OpenOptions {
            reference: Some(folder.join(REFERENCE)),
            rough: Some(folder.join(BOUNCE)),
            session_file: Some(folder.join("session.toml")),
            tempo_range: None,
        };
        let opened = cupel_work::open(Place::of(Some(&folder.join("tracks")))?, &options, context)?;
        let place = opened.place;
        // Each step gives up its lock before the next one starts.
        let balanced = {
            let mut balanced = cupel_work::balance(&place, BalanceOptions::default(), context)?;
            let state = State::after(
                &balanced.assayed,
                &balanced.moves,
                &balanced.predicted,
                false,
            )
            .found(&balanced.found)
            .mono(&balanced.mono);
            if !common.json {
                print_text(&text::demo::introduction(&name, &document.mistakes))?;
                print_text(&text::assay::summary(&balanced.assayed))?;
                print_text(&text::balance::summary(&balanced, &state))?;
            }
            balanced.assayed.surveyed.release();
            balanced
        };
        let rendered = cupel_work::render(
            &place,
            RenderOptions {
                format: SampleFormat::F32,
            },
            context,
        )?;
        let state = State::after(&rendered.assayed, &rendered.moves, &rendered.after, true)
            .found(&balanced.found)
            .mono(&balanced.mono);
        view::write_report(&state)?;
        if common.json {
            document.balance = Some(json::balance::Document::of(&balanced));
            document.render = Some(json::render::Document::of(&rendered, &state));
            print_json(&document)
        } else {
            print_text(&text::render::summary(&rendered, &state))
        }
    })?;
    Ok(Exit::Done)
}

/// One mix and its truth.
fn mix(folder: &Path, settings: &DemoSettings, common: &Common) -> Result<Exit, Failure> {
    with_context(common, |context| {
        generate_mix(folder, settings, context.progress)
            .map_err(|error| Failure::new(&error, None))
            .map(drop)
    })?;
    let name = folder.display().to_string();
    if common.json {
        print_json(&Document {
            schema: "cupel/demo",
            version: 1,
            folder: name,
            seed: settings.seed,
            mistakes: Vec::new(),
            balance: None,
            render: None,
        })?;
    } else {
        print_text(&text::demo::mix(&name, MIX))?;
    }
    Ok(Exit::Done)
}

fn settings(seed: u64, make: &MakeArgs) -> Result<DemoSettings, Failure> {
    let music = &make.music;
    let key = music.key.as_deref().map(str::parse).transpose();
    Ok(DemoSettings {
        seed,
        style: make
            .style
            .parse()
            .map_err(|error| Failure::new(&error, None))?,
        tempo_bpm: make.tempo,
        density: make.density,
        voice: !make.no_voice,
        balance_spread_db: make.spread,
        seconds: make.seconds,
        faults: if make.no_mistakes {
            FaultPlan::None
        } else {
            FaultPlan::Honest
        },
        key: key.map_err(|error| Failure::new(&error, None))?,
        swing: music.swing,
        beats_per_bar: music.metre,
        tuning_cents: music.tuning_cents,
        tempo_drift: music.drift,
        beatless: music.beatless,
        drums_db: music.drums_db,
        start_s: music.start,
        patterns: if music.drawn_patterns {
            Patterns::Drawn
        } else {
            Patterns::Style
        },
        arrangement: if music.drawn_sections {
            Arrangement::Drawn
        } else {
            Arrangement::Plan
        },
        ..DemoSettings::default()
    })
}
