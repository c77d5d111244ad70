//! A folder of its own for every story, and the program run in it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

use super::{RATE_HZ, Sound, bass, hats, kick, pad, scaled, sum, write};

/// What a run of the program gave.
pub struct Run {
    pub code: Option<i32>,
    pub out: String,
    pub talk: String,
}

impl Run {
    pub fn of(output: &Output) -> Self {
        Self {
            code: output.status.code(),
            out: String::from_utf8(output.stdout.clone()).unwrap(),
            talk: String::from_utf8(output.stderr.clone()).unwrap(),
        }
    }

    /// Ends the test unless the exit code is this.
    pub fn expect(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "{}\n{}", self.out, self.talk);
        self
    }

    /// The document on standard output, which holds nothing else.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out)
            .unwrap_or_else(|e| panic!("{e}:\n{}\n{}", self.out, self.talk))
    }
}

/// A folder with a cache beside it; both go when the story ends.
pub struct Folder {
    home: TempDir,
}

impl Folder {
    pub fn new() -> Self {
        let folder = Self {
            home: tempfile::tempdir().unwrap(),
        };
        fs::create_dir(folder.path("")).unwrap();
        folder
    }

    /// Six seconds of kick, bass, hats and pad, with no reference and no bounce.
    pub fn of_four() -> Self {
        let folder = Self::new();
        for (name, sound) in Self::four() {
            folder.write(name, &sound);
        }
        folder
    }

    /// The tracks of [`Folder::of_four`]: mono and stereo, of two lengths.
    pub fn four() -> [(&'static str, Sound); 4] {
        let whole = 6 * RATE_HZ as usize;
        [
            ("01 Kick.wav", kick(0.4, whole)),
            ("02 Bass.wav", bass(0.25, whole)),
            ("03 Hats.wav", hats(0.2, whole - 4000)),
            ("04 Pad.wav", pad(0.3, whole)),
        ]
    }

    /// The four with other faders, and louder: what a reference could be.
    pub fn reference() -> Sound {
        let four = Self::four();
        let gains_db = [1.0, -2.0, 6.0, -4.0];
        let parts: Vec<Sound> = four
            .iter()
            .zip(gains_db)
            .map(|((_, sound), db)| scaled(sound, db + 3.0))
            .collect();
        sum(&parts.iter().collect::<Vec<_>>())
    }

    /// The four, opened with a reference that lies apart.
    pub fn with_reference() -> Self {
        let folder = Self::of_four();
        write(&folder.beside("record.wav"), &Self::reference());
        folder
            .run(&["open", ".", "--reference", "../record.wav"])
            .expect(0);
        folder
    }

    /// A path in the folder of tracks.
    pub fn path(&self, name: &str) -> PathBuf {
        let tracks = self.home.path().join("tracks");
        if name.is_empty() {
            tracks
        } else {
            tracks.join(name)
        }
    }

    /// A path beside the folder of tracks.
    pub fn beside(&self, name: &str) -> PathBuf {
        self.home.path().join(name)
    }

    pub fn cache(&self) -> PathBuf {
        self.beside("cache")
    }

    pub fn write(&self, name: &str, sound: &Sound) {
        write(&self.path(name), sound);
    }

    /// The text of the session file.
    pub fn session(&self) -> String {
        fs::read_to_string(self.path("session.toml")).unwrap()
    }

    /// Edits the session file; `old` must be there exactly once.
    pub fn edit(&self, old: &str, new: &str) {
        let text = self.session();
        assert_eq!(text.matches(old).count(), 1, "`{old}` in\n{text}");
        fs::write(self.path("session.toml"), text.replace(old, new)).unwrap();
    }

    /// Sets the role of the track with this file, whatever was found.
    pub fn set_role(&self, file: &str, role: &str) {
        let text = self.session();
        let track = text.find(&format!("file = \"{file}\"")).unwrap();
        let role_at = track + text[track..].find("role = ").unwrap();
        let end = role_at + text[role_at..].find('\n').unwrap();
        let text = format!("{}role = {role}{}", &text[..role_at], &text[end..]);
        fs::write(self.path("session.toml"), text).unwrap();
    }

    /// Adds text at the end of the session file.
    pub fn append(&self, text: &str) {
        fs::write(self.path("session.toml"), self.session() + text).unwrap();
    }

    /// The program, in the folder of tracks.
    pub fn command(&self, arguments: &[&str]) -> Command {
        self.command_in(&self.path(""), arguments)
    }

    pub fn command_in(&self, folder: &Path, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_cupel"));
        command
            .current_dir(folder)
            .args(arguments)
            .arg("--cache")
            .arg(self.cache())
            .stdin(Stdio::null());
        command
    }

    pub fn run(&self, arguments: &[&str]) -> Run {
        Run::of(&self.command(arguments).output().unwrap())
    }

    pub fn run_in(&self, folder: &Path, arguments: &[&str]) -> Run {
        Run::of(&self.command_in(folder, arguments).output().unwrap())
    }

    /// The document that a command prints with `--json`.
    pub fn json(&self, arguments: &[&str]) -> Value {
        let mut all = arguments.to_vec();
        all.push("--json");
        self.run(&all).expect(0).json()
    }
}
