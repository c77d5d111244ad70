//! The written report.

use std::fs;
use std::path::PathBuf;

use cupel_audio::{FileInfo, HealthGrade};
use cupel_report::{
    BandResidual, FileNote, FileNotes, LeftOut, MoveView, MusicFact, NoteWeight, PassageView,
    Report, Standing, TrackGain, TrackView, TrustVerdict, TrustView, WorstPlace,
};
use cupel_trust::{Trust, Verdict};
use cupel_units::{db_to_power, read_hertz, read_seconds};
use cupel_work::WorkError;

use crate::output::Failure;
use crate::view::findings::findings;
use crate::view::fine::fine;
use crate::view::matters::matters;
use crate::view::music::facts as facts_in_words;
use crate::view::peaks::mean_share;
use crate::view::print_in_words;
use crate::view::{State, bar_map, curves, lean, low_end, peaks, sentence, shown_name};

/// A gain above this is named, in dB (common practice, no source).
const LARGE_DB: f64 = 12.0;

/// Writes `cupel/report.html` beside the session, whole or not at all, and says
/// where.
pub(crate) fn write_report(state: &State<'_>) -> Result<PathBuf, Failure> {
    let folder = state.assayed.surveyed.place.outputs();
    let path = folder.join("report.html");
    let unfinished = folder.join(format!(".cupel-report-{}.html", std::process::id()));
    let html = cupel_report::page(&report(state));
    let failed = |path: PathBuf| move |source| Failure::from(WorkError::Write { path, source });
    fs::create_dir_all(&folder).map_err(failed(folder.clone()))?;
    let written = fs::write(&unfinished, html).and_then(|()| fs::rename(&unfinished, &path));
    match written {
        Ok(()) => Ok(path),
        Err(source) => {
            let _ = fs::remove_file(&unfinished);
            Err(failed(path)(source))
        }
    }
}

/// All that the page shows.
pub(crate) fn report(state: &State<'_>) -> Report {
    let surveyed = &state.assayed.surveyed;
    let name = surveyed
        .session
        .name
        .clone()
        .unwrap_or_else(|| "session".into());
    Report {
        title: name,
        made_by: format!("Cupel {}", env!("CARGO_PKG_VERSION")),
        date: None,
        reference: surveyed
            .reference
            .as_ref()
            .map(|file| file_name(&file.file)),
        trust: trust(state, &state.assayed.trust),
        matters: matters(state),
        findings: findings(state),
        fine: fine(state),
        moves: moves(state),
        standing: standing(state),
        worse: state.worse(),
        music: music(state),
        layers: bar_map::layers(state),
        bar_map: bar_map::bar_map(state),
        passage: passage(state),
        spectrum: curves::spectrum(state),
        loudness: curves::loudness(state),
        tracks: tracks(state),
        low_end: low_end::low_end(state),
        peaks: peaks::peaks(state),
        lean: lean::lean(state),
        path: state.path.clone(),
        unmended: state.unmended.clone(),
        files: files(state),
        notes: surveyed
            .notes
            .iter()
            .cloned()
            .chain(state.lost_in_mono())
            .map(|note| sentence(&note))
            .collect(),
        next: next(state),
    }
}

fn file_name(file: &str) -> String {
    file.rsplit('/').next().unwrap_or(file).to_owned()
}

fn trust(state: &State<'_>, trust: &Trust) -> TrustView {
    TrustView {
        verdict: match trust.verdict {
            Verdict::AddsUp => TrustVerdict::Trusted,
            Verdict::AddsUpBut => TrustVerdict::WithCare,
            Verdict::DoesNotAddUp => TrustVerdict::CannotJudge,
            Verdict::Untested => TrustVerdict::Untold,
        },
        sentence: sentence(&trust.sentence),
        residual_db: trust.residual_db,
        by_band: trust
            .residual_by_band
            .iter()
            .map(|band| BandResidual {
                label: format!(
                    "{} to {}",
                    read_hertz(band.low_hz),
                    read_hertz(band.high_hz)
                ),
                residual_db: band.residual_db,
            })
            .collect(),
        worst_places: trust
            .residual_by_time
            .iter()
            .map(|place| WorstPlace {
                start_s: place.start_s,
                end_s: place.end_s,
                residual_db: place.residual_db,
            })
            .collect(),
        gains: trust
            .gains
            .iter()
            .filter(|gain| trust.faders_in_files == Some(false) && gain.confident)
            .filter_map(|gain| {
                Some(TrackGain {
                    track: state.name_of(&gain.id),
                    gain_db: gain.gain_db?,
                })
            })
            .collect(),
        left_out: trust
            .tracks_left_out
            .iter()
            .map(|out| LeftOut {
                track: state.name_of(&out.id),
                why: out.text.clone(),
            })
            .collect(),
        how_to_export: trust
            .how_to_export
            .iter()
            .flat_map(|how| how.lines())
            .map(str::to_owned)
            .collect(),
    }
}

fn moves(state: &State<'_>) -> Vec<MoveView> {
    state
        .moves
        .iter()
        .enumerate()
        .map(|(index, step)| MoveView {
            order: index + 1,
            target: state.target_of(step),
            in_words: step.in_words(""),
            why: sentence(&step.why),
            large: step
                .parameters
                .gain_db()
                .is_some_and(|gain_db| gain_db.abs() > LARGE_DB),
            expected: sentence(&state.expected(step)),
            stage: step.stage.clone(),
            on: step.on,
            locked: step.locked,
            by: step.by.name().to_owned(),
        })
        .collect()
}

fn standing(state: &State<'_>) -> Vec<Standing> {
    state
        .rows()
        .into_iter()
        .map(|row| Standing {
            name: sentence(row.name).trim_end_matches('.').to_owned(),
            unit: row.unit.to_owned(),
            before: row.before,
            after: row.after,
            reference: row.reference,
            better: row.better,
        })
        .collect()
}

fn passage(state: &State<'_>) -> Option<PassageView> {
    let passages = state.assayed.passages.as_ref()?;
    let set = state.assayed.surveyed.session.passage.is_some();
    let how = if set {
        "The passage is the one set in the session file."
    } else {
        "They are the busiest of each: most layers at once and loudest, in whole bars where there \
         are bars."
    };
    Some(PassageView {
        mix_s: (passages.stretch.start_s, passages.stretch.end_s),
        reference_s: passages
            .reference
            .as_ref()
            .map(|r| (r.stretch.start_s, r.stretch.end_s)),
        sentence: match print_in_words(state) {
            Some(words) => format!("{how} {words}"),
            None => how.to_owned(),
        },
    })
}

fn music(state: &State<'_>) -> Vec<MusicFact> {
    let assayed = state.assayed;
    facts_in_words(&assayed.music, assayed.reference_music.as_ref())
        .into_iter()
        .map(|fact| MusicFact {
            name: sentence(fact.name).trim_end_matches('.').to_owned(),
            session: fact.session,
            reference: fact.reference,
        })
        .collect()
}

fn tracks(state: &State<'_>) -> Vec<TrackView> {
    let session = &state.assayed.surveyed.session;
    let highest = &state.assayed.mix.highest_peaks;
    let plan = &state.assayed.plan;
    let place_of = |id: &str| {
        let place = plan.tracks.iter().position(|track| track.id == id);
        place.filter(|_| !highest.is_empty())
    };
    state
        .assayed
        .surveyed
        .included()
        .map(|(track, file)| {
            let summary = file.summary();
            TrackView {
                name: shown_name(&track.track.file),
                role: track.track.role.map(|role| role.name().to_owned()),
                group: track.track.group.map(|group| group.name().to_owned()),
                integrated_lufs: summary.integrated_lufs,
                sample_peak_dbfs: summary.sample_peak_dbfs,
                true_peak_dbtp: summary.true_peak_dbtp,
                lean_db: summary.lean_db,
                width_db: summary.width_db,
                mono_loss_lu: summary.mono_loss_lu,
                below_120_share: summary.low_share.below_120_db.map(db_to_power),
                peak_share: place_of(&track.track.id).map(|place| mean_share(highest, place)),
                net_gain_db: state.after.map(|_| session.net_gain_db(&track.track.id)),
                notes: Vec::new(),
            }
        })
        .collect()
}

fn files(state: &State<'_>) -> Vec<FileNotes> {
    let surveyed = &state.assayed.surveyed;
    let tracks = surveyed
        .tracks
        .iter()
        .filter_map(|track| track.file.as_ref());
    let mut files: Vec<FileNotes> = tracks
        .chain(&surveyed.rough)
        .chain(&surveyed.reference)
        .map(|file| FileNotes {
            file: file_name(&file.file),
            facts: form_of(&file.measured.info, file.summary().seconds),
            notes: file
                .measured
                .health
                .iter()
                .map(|note| FileNote {
                    weight: match note.grade {
                        HealthGrade::Info => NoteWeight::Remark,
                        HealthGrade::Look => NoteWeight::Warning,
                        HealthGrade::Mend => NoteWeight::Fault,
                    },
                    text: sentence(&note.text),
                    mend: None,
                })
                .collect(),
        })
        .collect();
    files.extend(surveyed.problems.iter().map(|problem| FileNotes {
        file: file_name(&problem.file),
        facts: String::new(),
        notes: vec![FileNote {
            weight: NoteWeight::Fault,
            text: sentence(&problem.error),
            mend: problem.hint.clone(),
        }],
    }));
    files
}

fn form_of(info: &FileInfo, seconds: f64) -> String {
    let channels = if info.channels == 1 { "mono" } else { "stereo" };
    let rate = f64::from(info.sample_rate_hz) / 1000.0;
    format!(
        "{rate} kHz, {}, {channels}, {}",
        info.encoding,
        read_seconds(seconds, false)
    )
}

/// What to do next, one sentence.
pub(crate) fn next(state: &State<'_>) -> String {
    if !state.assayed.trust.can_judge_balance {
        return "Export the tracks again, then run `cupel open` and `cupel assay`.".into();
    }
    match (state.after, state.rendered) {
        (None, _) => "Run `cupel balance` to compute the moves.".into(),
        (Some(_), false) => "Run `cupel render` to hear them.".into(),
        (Some(_), true) => {
            "Listen to the two files in `cupel/compare`, make the moves by hand, export again, \
             and run `cupel balance` once more."
                .into()
        }
    }
}
