//! What every track plays: set by a person, else by its name and its sound.

use std::path::Path;

use cupel_roles::{
    RoleFinding, SoundFinding, SoundInput, common_prefix_len, role_of, role_of_name, sound_of,
};
use cupel_session::{Session, Track};
use cupel_store::Store;
use cupel_survey::{HEARD_VERSION, bands_of, heard_of};

use crate::open::stem;
use crate::surveyed::{FileState, TrackState};
use crate::{Context, WorkError};

/// Changes whenever the same sound may be taken for another role.
const SOUND_VERSION: u32 = 4;
const KIND: &str = "sound";

/// Finds the roles of the tracks and fills in those that nobody set, with their
/// groups. A role that differs from what was found was set by a person.
///
/// # Errors
/// [`WorkError`] where a file has to be read again and cannot be.
pub(crate) fn find_roles(
    session: &mut Session,
    tracks: &mut [TrackState],
    context: &Context<'_>,
) -> Result<(), WorkError> {
    let stems: Vec<String> = session
        .tracks
        .iter()
        .map(|track| stem(Path::new(&track.file)))
        .collect();
    let names: Vec<&str> = stems.iter().map(String::as_str).collect();
    let prefix = common_prefix_len(&names);
    for ((track, state), name) in session.tracks.iter_mut().zip(tracks).zip(&names) {
        let by_name = role_of_name(name.get(prefix..).unwrap_or(name));
        let finding = match &state.file {
            Some(file) => Some(role_of(by_name, &sound(file, context.store)?)),
            None => None,
        };
        settle(track, state, finding);
    }
    Ok(())
}

fn settle(track: &mut Track, state: &mut TrackState, finding: Option<RoleFinding>) {
    if let Some(finding) = finding {
        let set = track.role.is_some_and(|role| Some(role) != finding.role);
        state.role_sure = if set { 1.0 } else { finding.sure };
        track.role = track.role.or(finding.role);
        let group = track.role.map_or(finding.group, |role| role.group());
        track.group = track.group.or(Some(group));
    }
    state.track = track.clone();
}

fn sound(file: &FileState, store: &Store) -> Result<SoundFinding, WorkError> {
    let key = format!("{}-{HEARD_VERSION}", file.measured.content);
    if let Some(sound) = store.get(KIND, SOUND_VERSION, &key) {
        return Ok(sound);
    }
    let heard = heard_of(&file.path, &file.measured, store)?;
    let bands = bands_of(&file.path, &file.measured, store)?;
    let sound = sound_of(&SoundInput {
        summary: &file.measured.summary,
        bands: &bands,
        timbre: Some(&heard.timbre),
    });
    let _ = store.put(KIND, SOUND_VERSION, &key, &sound);
    Ok(sound)
}
