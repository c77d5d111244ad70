//! All sources at one loudness.

use std::path::Path;
use std::sync::PoisonError;

use cupel_session::Session;
use cupel_work::renders;

use crate::ListenError;
use crate::room::Room;
use crate::sources::{From, Source};

impl Room {
    /// Brings the sources to one loudness again, after the moves changed.
    ///
    /// # Errors
    /// [`ListenError`] where a track cannot be read.
    pub(crate) fn rematch(&self) -> Result<(), ListenError> {
        let before = self.state();
        if before.matched == before.revision {
            return Ok(());
        }
        self.sources_again()
    }

    /// Measures the sources once more, at the loudness they were brought to.
    ///
    /// # Errors
    /// [`ListenError`] where a track cannot be read.
    pub(crate) fn sources_again(&self) -> Result<(), ListenError> {
        let _alone = self.matching.lock().unwrap_or_else(PoisonError::into_inner);
        let before = self.state();
        let loudness = quietly(|| self.loudness(&before.session, before.matched_s))?;
        let sources = at_one_loudness(loudness, before.level_lufs);
        self.with(|state| {
            // A later change is matched by its own turn.
            if state.revision == before.revision {
                state.sources = sources;
                state.matched = before.revision;
            }
        });
        Ok(())
    }

    /// Makes all sources equally loud at a place, as loud as the softest of them there.
    ///
    /// # Errors
    /// [`ListenError`] where a track cannot be read.
    pub(crate) fn match_at(&self, span_s: Option<(f64, f64)>) -> Result<(), ListenError> {
        let _alone = self.matching.lock().unwrap_or_else(PoisonError::into_inner);
        let before = self.state();
        let loudness = self.loudness(&before.session, span_s)?;
        // Nothing is turned up: the softest sets the level.
        let heard = loudness.iter().filter_map(|(_, lufs)| *lufs);
        let level_lufs = heard.reduce(f64::min);
        let sources = at_one_loudness(loudness, level_lufs);
        self.with(|state| {
            state.matched_s = span_s;
            state.level_lufs = level_lufs;
            state.sources = sources;
            state.matched = before.revision;
        });
        Ok(())
    }

    /// Every source with its loudness at a place of the session.
    fn loudness(
        &self,
        session: &Session,
        span_s: Option<(f64, f64)>,
    ) -> Result<Vec<(Source, Option<f64>)>, ListenError> {
        let passages = self.hearing.assayed.passages.as_ref();
        let stretch = passages.map(|passages| passages.stretch);
        let of_file = |source: &Source, path: &Path| {
            let (start_s, end_s) = span_s?;
            let shift_s = source.own_s - source.session_s;
            self.hearing
                .file_lufs(path, start_s + shift_s, end_s + shift_s)
        };
        let source = |id: &str, name: &str, is_mix: bool, from: From| Source {
            id: id.to_owned(),
            name: name.to_owned(),
            is_mix,
            gain_db: 0.0,
            session_s: 0.0,
            own_s: 0.0,
            from,
        };
        let mut found = Vec::new();
        let plans = [
            ("before", "the tracks as they came", From::Tracks),
            ("after", "with the moves that are on", From::Moves),
        ];
        for (id, name, from) in plans {
            let plan = self.hearing.plan(session, &[], from == From::Moves);
            let lufs = match span_s {
                Some((start_s, end_s)) => {
                    self.hearing
                        .plan_lufs(&plan, start_s, end_s, &self.context())?
                }
                None => None,
            };
            found.push((source(id, name, true, from), lufs));
        }
        for (number, (name, path)) in renders(&self.place).into_iter().enumerate() {
            let id = format!("render-{number}");
            let render = source(&id, &name, true, From::File(path.clone()));
            let lufs = of_file(&render, &path);
            found.push((render, lufs));
        }
        let surveyed = &self.hearing.assayed.surveyed;
        let side = passages.and_then(|passages| passages.reference.as_ref());
        if let (Some(file), Some(side), Some(stretch)) = (&surveyed.reference, side, stretch) {
            let reference = Source {
                session_s: stretch.start_s,
                own_s: side.stretch.start_s,
                ..source(
                    "reference",
                    "the reference",
                    false,
                    From::File(file.path.clone()),
                )
            };
            let lufs = of_file(&reference, &file.path);
            found.push((reference, lufs));
        }
        let laid = self.state().laid;
        found.extend(
            laid.iter()
                .map(|laid| laid.heard(span_s, self.sample_rate_hz())),
        );
        Ok(found)
    }
}

/// Sources with the gains that bring them to a loudness; silent ones stay.
fn at_one_loudness(loudness: Vec<(Source, Option<f64>)>, level_lufs: Option<f64>) -> Vec<Source> {
    let matched = |(mut source, lufs): (Source, Option<f64>)| {
        if let (Some(level), Some(lufs)) = (level_lufs, lufs) {
            source.gain_db = level - lufs;
        }
        source
    };
    loudness.into_iter().map(matched).collect()
}

/// Works on half of the machine's cores: what plays and what is pressed comes first.
pub(crate) fn quietly<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(cores.div_ceil(2).max(1));
    match pool.build() {
        Ok(pool) => pool.install(work),
        Err(_) => work(),
    }
}
