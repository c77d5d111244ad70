//! A whole session: opened and assayed through links, with its names, without, and
//! with wrong ones; its mix and reference measured as files.

use std::fs;
use std::path::{Path, PathBuf};

use cupel_audio::{Planar, Reader, SampleFormat, WavWriter};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::error::XtaskError;
use crate::prove::answers::{Assay, Music};
use crate::prove::dice::Dice;
use crate::prove::looped::{self, LoopCase};
use crate::prove::piece::ask;
use crate::prove::plan::range;
use crate::prove::truth::{TrueMusic, TrueSession};
use crate::prove::work::{Work, fingerprint};

/// What the tracks are called when they are opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) enum Names {
    Own,
    /// 01.wav, 02.wav and so on, in drawn order.
    Hidden,
    /// Each has the name of another.
    Wrong,
}

/// What was answered about one track.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct RoleCase {
    /// The word of the data.
    pub word: String,
    pub names: Names,
    pub role: Option<String>,
    pub group: Option<String>,
    pub sure: Option<f64>,
}

/// A mix or a reference as a file, without and with a range of tempo told.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Whole {
    pub name: String,
    pub truth: TrueMusic,
    pub plain: Music,
    pub ranged: Music,
    /// The same asked of the session by `assay`; only with the tracks at hand.
    pub assayed: Option<Music>,
    /// Whether `assay` read it from tracks.
    pub from_tracks: bool,
}

/// Everything about one session.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub(crate) struct SessionCase {
    pub name: String,
    pub wholes: Vec<Whole>,
    pub roles: Vec<RoleCase>,
    /// The reference's layers by `assay`: none where the document has none.
    pub assay: Assay,
    pub reference: Option<TrueMusic>,
    pub loops: Vec<LoopCase>,
    /// Why there is no loop.
    pub no_loop: Option<String>,
    pub errors: Vec<String>,
}

/// Reads a session of the shared format.
pub(crate) fn truth_of(folder: &Path) -> Result<TrueSession, XtaskError> {
    let path = folder.join("truth.json");
    let bytes = fs::read(&path).map_err(XtaskError::file(&path))?;
    serde_json::from_slice(&bytes).map_err(|source| XtaskError::Answer {
        program: "truth.json",
        source,
    })
}

/// Opens and measures a session; its own folder is only read.
pub(crate) fn case(work: &Work, place: &Path, folder: &Path) -> Result<SessionCase, XtaskError> {
    let truth = truth_of(folder)?;
    let name = folder
        .file_name()
        .map_or(String::new(), |name| name.to_string_lossy().into_owned());
    let mut case = SessionCase {
        name: name.clone(),
        ..SessionCase::default()
    };
    let tracks: Vec<(PathBuf, String)> = truth
        .tracks
        .iter()
        .map(|track| (folder.join(&track.file), track.role.clone()))
        .collect();
    let reference = truth.reference.as_ref();
    for names in [Names::Own, Names::Hidden, Names::Wrong] {
        let record = reference
            .filter(|_| names == Names::Own)
            .map(|reference| folder.join(&reference.file));
        let assay = roles(work, place, &tracks, names, record.as_deref(), &mut case)?;
        if names == Names::Own {
            case.assay = assay;
        }
    }
    let paths: Vec<PathBuf> = tracks.into_iter().map(|(path, _)| path).collect();
    write_sum(&place.join("mix.wav"), &paths)?;
    let session = whole(work, place, "mix.wav", &truth.music, &mut case.errors);
    case.wholes.push(Whole {
        name: format!("{name}: mix"),
        assayed: Some(case.assay.session.clone()),
        from_tracks: true,
        ..session
    });
    if let Some(reference) = reference {
        let file = link(&folder.join(&reference.file), place, "reference")?;
        let heard = whole(work, place, &file, &reference.music, &mut case.errors);
        case.wholes.push(Whole {
            name: format!("{name}: reference"),
            assayed: case.assay.reference.clone(),
            ..heard
        });
        case.reference = Some(reference.music.clone());
        let record = (folder.join(&reference.file), &reference.music);
        let opened = ("own/session.toml", truth.music.tempo_bpm);
        for in_key in [false, true] {
            let heard = (record.0.as_path(), record.1);
            match looped::ask(work, place, opened, heard, in_key)? {
                Ok(made) => case.loops.push(made),
                Err(said) => case.no_loop = Some(said),
            }
        }
    }
    Ok(case)
}

fn whole(
    work: &Work,
    place: &Path,
    file: &str,
    truth: &TrueMusic,
    errors: &mut Vec<String>,
) -> Whole {
    let seed = fingerprint(truth.key.as_bytes()) ^ truth.tempo_bpm.to_bits();
    let range = range(truth.tempo_bpm, Dice::new(seed).between(0.15, 0.85));
    Whole {
        name: String::new(),
        truth: truth.clone(),
        plain: ask(work, place, &[], &[file], errors).swap_remove(0),
        ranged: ask(work, place, &["--tempo-range", &range], &[file], errors).swap_remove(0),
        assayed: None,
        from_tracks: false,
    }
}

/// Opens the tracks under some names and notes what each was taken for.
pub(crate) fn roles(
    work: &Work,
    place: &Path,
    tracks: &[(PathBuf, String)],
    names: Names,
    reference: Option<&Path>,
    case: &mut SessionCase,
) -> Result<Assay, XtaskError> {
    let folder = format!("{names:?}").to_lowercase();
    let inside = place.join(&folder).join("tracks");
    fs::create_dir_all(&inside).map_err(XtaskError::file(&inside))?;
    let given = given_names(tracks, names);
    let mut linked = Vec::new();
    for ((path, word), name) in tracks.iter().zip(&given) {
        linked.push((link(path, &inside, name)?, word.clone()));
    }
    let session = format!("{folder}/session.toml");
    let audio = format!("{folder}/tracks");
    let mut words = vec!["open", &audio, "--session", &session];
    let record;
    if let Some(path) = reference {
        record = format!("{folder}/{}", link(path, &place.join(&folder), "record")?);
        words.extend(["--reference", &record]);
    }
    let asked = work
        .ask(place, &words)
        .and_then(|_| work.ask(place, &["assay", &session]));
    let document = asked.unwrap_or_else(|said| {
        case.errors.push(said);
        Value::Null
    });
    let assay = Assay::read(&document);
    for (file, word) in linked {
        let found = assay
            .tracks
            .iter()
            .find(|track| Path::new(&track.file).file_name() == Some(std::ffi::OsStr::new(&file)));
        case.roles.push(RoleCase {
            word,
            names,
            role: found.and_then(|track| track.role.clone()),
            group: found.and_then(|track| track.group.clone()),
            sure: found.and_then(|track| track.role_sure),
        });
    }
    Ok(assay)
}

/// Names without extension.
fn given_names(tracks: &[(PathBuf, String)], names: Names) -> Vec<String> {
    let own: Vec<String> = tracks
        .iter()
        .map(|(path, _)| {
            let stem = path.file_stem().unwrap_or_default();
            stem.to_string_lossy().into_owned()
        })
        .collect();
    match names {
        Names::Own => own,
        Names::Hidden => {
            let mut places: Vec<usize> = (0..own.len()).collect();
            let mut dice = Dice::new(own.len() as u64);
            let keys: Vec<f64> = own.iter().map(|_| dice.unit()).collect();
            places.sort_by(|&a, &b| keys[a].total_cmp(&keys[b]));
            let mut given = vec![String::new(); own.len()];
            for (number, place) in places.into_iter().enumerate() {
                given[place] = format!("{:02}", number + 1);
            }
            given
        }
        Names::Wrong => {
            let half = own.len() / 2;
            (0..own.len())
                .map(|index| own[(index + half) % own.len()].clone())
                .collect()
        }
    }
}

/// Links a file into a folder under a name, with its own extension; gives the name.
fn link(path: &Path, folder: &Path, name: &str) -> Result<String, XtaskError> {
    let path = fs::canonicalize(path).map_err(XtaskError::file(path))?;
    let extension = path.extension().unwrap_or_default().to_string_lossy();
    let name = format!("{name}.{extension}");
    let to = folder.join(&name);
    #[cfg(unix)]
    let done = std::os::unix::fs::symlink(&path, &to);
    #[cfg(not(unix))]
    let done = fs::copy(&path, &to).map(drop);
    done.map_err(XtaskError::file(&to))?;
    Ok(name)
}

/// Sums tracks as they are; mono plays on both sides.
fn write_sum(path: &Path, tracks: &[PathBuf]) -> Result<(), XtaskError> {
    const BLOCK: usize = 65_536;
    let mut readers = Vec::new();
    for track in tracks {
        readers.push(Reader::open(track)?);
    }
    let Some(rate) = readers.first().map(|reader| reader.info().sample_rate_hz) else {
        return Ok(());
    };
    let mut writer = WavWriter::create(path, rate, 2, SampleFormat::F32)?;
    loop {
        let mut sum = [vec![0.0; BLOCK], vec![0.0; BLOCK]];
        let mut most = 0;
        for reader in &mut readers {
            let mut block = Planar::new(reader.info().channels, BLOCK);
            let frames = reader.read(&mut block, BLOCK)?;
            most = most.max(frames);
            for (side, sum) in sum.iter_mut().enumerate() {
                let Some(channel) = block.channels.get(side).or(block.channels.first()) else {
                    continue;
                };
                let sounding = channel.iter().take(frames);
                sum.iter_mut().zip(sounding).for_each(|(sum, x)| *sum += x);
            }
        }
        if most == 0 {
            break;
        }
        writer.write(&[&sum[0][..most], &sum[1][..most]])?;
    }
    writer.finish()?;
    Ok(())
}

/// Tracks of a folder of single sounds with `labels.csv`.
pub(crate) fn one_shots(folder: &Path) -> Result<Vec<(PathBuf, String)>, XtaskError> {
    let path = folder.join("labels.csv");
    let text = fs::read_to_string(&path).map_err(XtaskError::file(&path))?;
    let rows = text.lines().skip(1).filter_map(|line| {
        let mut cells = line.split(',');
        let (file, word) = (cells.next()?, cells.next()?);
        Some((folder.join(file.trim()), word.trim().to_owned()))
    });
    Ok(rows.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tracks() -> Vec<(PathBuf, String)> {
        ["01 Kick", "02 Bass", "03 Vox", "04 Pad", "05 Clap"]
            .iter()
            .map(|name| (PathBuf::from(format!("{name}.flac")), (*name).to_owned()))
            .collect()
    }

    #[test]
    fn hidden_names_tell_nothing_and_wrong_ones_belong_to_others() {
        let mut hidden = given_names(&tracks(), Names::Hidden);
        hidden.sort();
        assert_eq!(hidden, ["01", "02", "03", "04", "05"]);
        let own = given_names(&tracks(), Names::Own);
        let wrong = given_names(&tracks(), Names::Wrong);
        assert!(own.iter().zip(&wrong).all(|(a, b)| a != b));
    }

    #[test]
    fn mono_and_stereo_sum() {
        let place = tempfile::tempdir().unwrap();
        let write = |name: &str, channels: &[Vec<f64>]| {
            let path = place.path().join(name);
            let mut writer =
                WavWriter::create(&path, 48_000, channels.len(), SampleFormat::F32).unwrap();
            writer.write(channels).unwrap();
            writer.finish().unwrap();
            path
        };
        let mono = write("a.wav", &[vec![0.25; 100]]);
        let stereo = write("b.wav", &[vec![0.5; 150], vec![-0.5; 150]]);
        let path = place.path().join("sum.wav");
        write_sum(&path, &[mono, stereo]).unwrap();
        let mut reader = Reader::open(&path).unwrap();
        let mut block = Planar::new(2, 200);
        assert_eq!(reader.read(&mut block, 200).unwrap(), 150);
        assert_eq!((block.channels[0][0], block.channels[1][0]), (0.75, -0.25));
        assert_eq!(block.channels[0][120], 0.5);
    }
}
