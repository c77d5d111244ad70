//! Opening a folder again: tracks are known by content, else by name.

use crate::ids::{unique, without_number};
use crate::{Group, Role, Session, Track, name_without_version};

/// A track's file as found in the folder.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FoundTrack {
    /// Path relative to the session's folder, with `/`.
    pub file: String,
    /// Hash of the file's bytes.
    pub content: Option<String>,
    /// The id it gets if it is new; made unique.
    pub suggested_id: String,
    /// What it plays, if that can be told; fills a role that is not set.
    pub role: Option<Role>,
    /// Its group, if that can be told; fills a group that is not set.
    pub group: Option<Group>,
    /// Where the file begins in the session, in seconds.
    pub start_s: f64,
}

/// What [`Session::adopt_tracks`] recognised.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Adoption {
    /// Ids of tracks whose file has the same name as before.
    pub kept: Vec<String>,
    /// Tracks recognised under another name.
    pub renamed: Vec<Renamed>,
    /// Tracks, kept or renamed, whose content is another than before.
    pub changed: Vec<Changed>,
    /// Ids of tracks that were added.
    pub new: Vec<String>,
    /// Ids of tracks whose file was not found; they stay in the session.
    pub missing: Vec<String>,
    /// New tracks that look like another version of a known one.
    pub twins: Vec<Twin>,
}

/// A track recognised under another name.
#[derive(Clone, Debug, PartialEq)]
pub struct Renamed {
    /// Its id.
    pub id: String,
    /// The file it was.
    pub from: String,
    /// The file it is.
    pub to: String,
}

/// A track with new content.
#[derive(Clone, Debug, PartialEq)]
pub struct Changed {
    /// Its id.
    pub id: String,
    /// Where the earlier file began, in seconds.
    pub start_before_s: f64,
    /// Where the present file begins, in seconds.
    pub start_now_s: f64,
}

/// A new track that looks like another version of a known one.
#[derive(Clone, Debug, PartialEq)]
pub struct Twin {
    /// Id of the new track.
    pub id: String,
    /// Id of the known one.
    pub of: String,
}

impl Session {
    /// Brings the tracks in line with the files found in the folder.
    ///
    /// A file is taken for a known track if it has the same name and content;
    /// else the same content; else the same name; else the same name without
    /// version; else the same without leading number too. The last three need
    /// the track to be the only one left that fits, and the file too. Id, role,
    /// group, order and moves of a known track stay; its start stays unless the
    /// content is new. New tracks come last.
    pub fn adopt_tracks(&mut self, found: &[FoundTrack]) -> Adoption {
        let sources = self.recognise(found);
        let mut report = Adoption::default();
        for (index, track) in self.tracks.iter_mut().enumerate() {
            match sources.iter().position(|source| *source == Some(index)) {
                Some(at) => update(track, &found[at], &mut report),
                None => report.missing.push(track.id.clone()),
            }
        }
        let known = self.tracks.len();
        for (found, source) in found.iter().zip(&sources) {
            if source.is_none() {
                let id = self.add_found(found);
                report.twins.extend(self.twin_of(&id, known));
                report.new.push(id);
            }
        }
        report
    }

    /// For each found file the index of the track it is.
    fn recognise(&self, found: &[FoundTrack]) -> Vec<Option<usize>> {
        let mut pairing = Pairing {
            tracks: &self.tracks,
            found,
            sources: vec![None; found.len()],
        };
        pairing.pair(
            |track| {
                let content = track.content.clone()?;
                Some((track.file.clone(), content))
            },
            |found| Some((found.file.clone(), found.content.clone()?)),
        );
        pairing.pair(|track| track.content.clone(), |found| found.content.clone());
        pairing.pair(
            |track| Some(track.file.clone()),
            |found| Some(found.file.clone()),
        );
        pairing.pair(
            |track| Some(name_without_version(&track.file)),
            |found| Some(name_without_version(&found.file)),
        );
        let bare = |file: &str| without_number(&name_without_version(file)).to_owned();
        pairing.pair(
            |track| Some(bare(&track.file)),
            |found| Some(bare(&found.file)),
        );
        pairing.sources
    }

    fn add_found(&mut self, found: &FoundTrack) -> String {
        let id = unique(&found.suggested_id, |id| self.track(id).is_some());
        self.tracks.push(Track {
            content: found.content.clone(),
            role: found.role,
            group: found.group,
            start_s: found.start_s,
            ..Track::new(id.clone(), found.file.clone())
        });
        id
    }

    /// The known track whose name differs by its version only.
    fn twin_of(&self, id: &str, known: usize) -> Option<Twin> {
        let name = name_without_version(&self.track(id)?.file);
        let of = self.tracks[..known]
            .iter()
            .find(|track| name_without_version(&track.file) == name)?;
        Some(Twin {
            id: id.to_owned(),
            of: of.id.clone(),
        })
    }
}

/// Pairs of tracks and files, found step by step.
struct Pairing<'a> {
    tracks: &'a [Track],
    found: &'a [FoundTrack],
    sources: Vec<Option<usize>>,
}

impl Pairing<'_> {
    /// Pairs what is left where one track and one file have the same key.
    fn pair<K: PartialEq>(
        &mut self,
        track_key: impl Fn(&Track) -> Option<K>,
        found_key: impl Fn(&FoundTrack) -> Option<K>,
    ) {
        let tracks: Vec<(usize, K)> = (0..self.tracks.len())
            .filter(|index| !self.sources.contains(&Some(*index)))
            .filter_map(|index| Some((index, track_key(&self.tracks[index])?)))
            .collect();
        let found: Vec<(usize, K)> = (0..self.found.len())
            .filter(|&at| self.sources[at].is_none())
            .filter_map(|at| Some((at, found_key(&self.found[at])?)))
            .collect();
        for (at, key) in &found {
            let mut fitting = tracks.iter().filter(|(_, other)| other == key);
            let rivals = found.iter().filter(|(_, other)| other == key).count();
            if let (Some((index, _)), None, 1) = (fitting.next(), fitting.next(), rivals) {
                self.sources[*at] = Some(*index);
            }
        }
    }
}

fn update(track: &mut Track, found: &FoundTrack, report: &mut Adoption) {
    if track.file == found.file {
        report.kept.push(track.id.clone());
    } else {
        report.renamed.push(Renamed {
            id: track.id.clone(),
            from: std::mem::replace(&mut track.file, found.file.clone()),
            to: found.file.clone(),
        });
    }
    if found.content.is_some() && track.content != found.content {
        if track.content.is_some() {
            report.changed.push(Changed {
                id: track.id.clone(),
                start_before_s: track.start_s,
                start_now_s: found.start_s,
            });
            track.start_s = found.start_s;
        }
        track.content.clone_from(&found.content);
    }
    if track.role.is_none() {
        track.role = found.role;
    }
    track.group = track.group.or(found.group);
}
