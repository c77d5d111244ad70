//! What was heard without knowing which, and what was done in the workstation; kept
//! beside the session.

use std::fs;
use std::path::PathBuf;

use cupel_work::Place;
use serde::{Deserialize, Serialize};

use crate::ListenError;

/// So many results are kept, the newest.
const MOST_RESULTS: usize = 500;

/// Kept in `cupel/listening.json`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct Kept {
    /// Results of blind listening, oldest first.
    #[serde(default)]
    pub(crate) results: Vec<Heard>,
    /// Ids of the moves that were made in the workstation.
    #[serde(default)]
    pub(crate) done: Vec<String>,
}

/// A blind comparison.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Heard {
    /// `preference` or `which-is-x`.
    pub(crate) kind: Sort,
    /// Sources compared, by id.
    pub(crate) sources: Vec<String>,
    /// Of a preference: votes by source, in the order of `sources`.
    #[serde(default)]
    pub(crate) votes: Vec<u32>,
    /// Answers given.
    pub(crate) trials: u32,
    /// Right answers; of a preference: hidden repeats answered alike.
    pub(crate) right: u32,
    /// How likely so many or more come by guessing.
    #[serde(default)]
    pub(crate) by_chance: Option<f64>,
    /// Revision of the moves, and the place in seconds.
    #[serde(default)]
    pub(crate) revision: u64,
    /// Where it was listened to.
    #[serde(default)]
    pub(crate) span_s: Option<(f64, f64)>,
}

/// A sort of blind comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Sort {
    /// Which one is liked better.
    Preference,
    /// Which of two a third one is.
    WhichIsX,
}

impl Kept {
    /// What was kept; a file that makes no sense is put aside, not written over.
    pub(crate) fn load(place: &Place) -> Self {
        let path = path(place);
        let Ok(bytes) = fs::read(&path) else {
            return Self::default();
        };
        serde_json::from_slice(&bytes).unwrap_or_else(|_| {
            let _ = fs::rename(&path, path.with_extension("unread.json"));
            Self::default()
        })
    }

    /// Adds a result with its chance.
    pub(crate) fn add(&mut self, mut heard: Heard) -> Heard {
        heard.right = heard.right.min(heard.trials);
        heard.by_chance = match heard.kind {
            Sort::WhichIsX => Some(by_chance(heard.right, heard.trials)),
            Sort::Preference => None,
        };
        self.results.push(heard.clone());
        let over = self.results.len().saturating_sub(MOST_RESULTS);
        self.results.drain(..over);
        heard
    }

    /// Writes it, whole or not at all.
    ///
    /// # Errors
    /// [`ListenError::Write`].
    pub(crate) fn save(&self, place: &Place) -> Result<(), ListenError> {
        let path = path(place);
        let unfinished = path.with_extension("unfinished");
        let failed = |source| ListenError::Write {
            path: path.clone(),
            source,
        };
        fs::create_dir_all(place.outputs()).map_err(failed)?;
        let bytes = serde_json::to_vec_pretty(self).map_err(|e| failed(e.into()))?;
        fs::write(&unfinished, bytes)
            .and_then(|()| fs::rename(&unfinished, &path))
            .map_err(failed)
    }
}

fn path(place: &Place) -> PathBuf {
    place.outputs().join("listening.json")
}

/// How likely `right` or more of `trials` answers are right by guessing between two:
/// the upper tail of the binomial distribution with p = 1/2.
pub(crate) fn by_chance(right: u32, trials: u32) -> f64 {
    let mut tail = 0.0;
    // Terms by their logarithms, so that long runs do not underflow.
    let half_ln = f64::from(trials) * 0.5_f64.ln();
    let mut choose_ln = 0.0;
    for hits in 0..=trials {
        if hits > 0 {
            choose_ln += (f64::from(trials - hits + 1) / f64::from(hits)).ln();
        }
        if hits >= right {
            tail += (choose_ln + half_ln).exp();
        }
    }
    tail.min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Upper tails of the binomial distribution with p = 1/2 (any table of it).
    #[test]
    fn chance_is_that_of_the_binomial() {
        for (right, trials, expected) in [
            (12, 16, 0.038_406_4),
            (9, 10, 0.010_742_2),
            (0, 5, 1.0),
            (5, 5, 0.031_25),
            (14, 20, 0.057_659_1),
        ] {
            let chance = by_chance(right, trials);
            assert!(
                (chance - expected).abs() < 1e-6,
                "{right} of {trials}: {chance}"
            );
        }
    }

    #[test]
    fn a_file_that_makes_no_sense_is_put_aside() -> Result<(), Box<dyn std::error::Error>> {
        let folder = tempfile::tempdir()?;
        let place = Place::of(Some(folder.path()))?;
        fs::create_dir(place.outputs())?;
        fs::write(path(&place), "{ results: cut off")?;
        let kept = Kept::load(&place);
        assert_eq!(kept, Kept::default());
        kept.save(&place)?;
        let aside = place.outputs().join("listening.unread.json");
        assert_eq!(fs::read_to_string(aside)?, "{ results: cut off");
        Ok(())
    }

    #[test]
    fn results_carry_their_chance_and_are_bounded() {
        let mut kept = Kept::default();
        for _ in 0..MOST_RESULTS + 3 {
            let heard = kept.add(Heard {
                kind: Sort::WhichIsX,
                sources: vec!["before".into(), "after".into()],
                votes: Vec::new(),
                trials: 10,
                right: 99,
                by_chance: None,
                revision: 1,
                span_s: None,
            });
            assert_eq!(heard.right, 10);
        }
        assert_eq!(kept.results.len(), MOST_RESULTS);
    }
}
