//! What every proof asks for.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::bench::build_cupel;
use crate::error::XtaskError;
use crate::prove::work::Work;

/// What to prove with, and on what.
#[derive(Debug, Args)]
pub(crate) struct ProofOptions {
    /// Folder of sessions of known truth.
    #[arg(long, value_name = "DIR", env = "CUPEL_SESSIONS")]
    pub sessions: Option<PathBuf>,
    /// Write the result to this file, too, as JSON.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Fewer trials, the same rows.
    #[arg(long)]
    pub quick: bool,
    /// Use this program instead of building it.
    #[arg(long, value_name = "FILE")]
    pub cupel: Option<PathBuf>,
    /// Folder for what was answered; a run cut off goes on from there.
    #[arg(long, value_name = "FOLDER", default_value = "target/prove")]
    pub work: PathBuf,
}

impl ProofOptions {
    /// The program that is asked, and what it answered before.
    pub(crate) fn work(&self) -> Result<Work, XtaskError> {
        let cupel = match &self.cupel {
            Some(path) => path.clone(),
            None => build_cupel()?,
        };
        Work::new(cupel, &self.work)
    }

    /// Folders of sessions of known truth, by name.
    pub(crate) fn session_folders(&self) -> Result<Vec<PathBuf>, XtaskError> {
        let Some(sessions) = &self.sessions else {
            return Ok(Vec::new());
        };
        let entries = fs::read_dir(sessions).map_err(XtaskError::file(sessions))?;
        let folders = entries.flatten().map(|entry| entry.path());
        let mut known: Vec<PathBuf> = folders.filter(|path| is_session(path)).collect();
        known.sort();
        Ok(known)
    }

    /// Writes the result where it was asked for.
    pub(crate) fn write(
        &self,
        program: &'static str,
        document: &impl Serialize,
    ) -> Result<(), XtaskError> {
        let Some(out) = &self.out else {
            return Ok(());
        };
        let text = serde_json::to_string_pretty(document)
            .map_err(|source| XtaskError::Answer { program, source })?;
        fs::write(out, text + "\n").map_err(XtaskError::file(out))
    }
}

fn is_session(folder: &Path) -> bool {
    folder.join("truth.json").is_file()
}
