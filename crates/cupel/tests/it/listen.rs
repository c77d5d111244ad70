//! `cupel listen` in a real browser: what a person does, and what is heard.
//!
//! Driven by `node` with `playwright-core` (`npm ci` in `tests/browser`) and Chromium;
//! where one of them is absent the trials say that they were skipped.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use tempfile::TempDir;

/// A page that is served until this goes.
struct Page {
    home: TempDir,
    serving: Child,
    address: String,
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.serving.kill();
        let _ = self.serving.wait();
    }
}

fn trials() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/browser")
}

/// Whether a browser can be driven; else it is said.
fn can_drive() -> bool {
    let node = Command::new("node").arg("--version").output().is_ok();
    let driver = trials().join("node_modules/playwright-core").is_dir();
    let browser = std::env::var_os("CUPEL_CHROMIUM").is_some()
        || ["chromium", "chromium-browser", "google-chrome"]
            .iter()
            .any(|name| Path::new("/usr/bin").join(name).is_file());
    for (there, what) in [
        (node, "node"),
        (
            driver,
            "playwright-core (npm ci in crates/cupel/tests/browser)",
        ),
        (browser, "chromium"),
    ] {
        if !there {
            println!("skipped: {what} is not installed");
            return false;
        }
    }
    true
}

impl Page {
    /// The demo with its moves, served.
    fn of_demo() -> Self {
        Self::of_demo_with("")
    }

    /// The demo with more moves, rendered and served.
    fn of_demo_with(moves: &str) -> Self {
        let home = tempfile::tempdir().unwrap();
        let (demo, cache) = (home.path().join("demo"), home.path().join("cache"));
        let cupel = || {
            let mut command = Command::new(env!("CARGO_BIN_EXE_cupel"));
            command.arg("--cache").arg(&cache);
            command
        };
        let made = cupel()
            .args(["demo", "--seconds", "60"])
            .arg(&demo)
            .output()
            .unwrap();
        assert!(
            made.status.success(),
            "{}",
            String::from_utf8_lossy(&made.stderr)
        );
        if !moves.is_empty() {
            let file = demo.join("session.toml");
            let session = fs::read_to_string(&file).unwrap() + moves;
            fs::write(&file, session).unwrap();
            let rendered = cupel().arg("render").arg(&demo).output().unwrap();
            let said = String::from_utf8_lossy(&rendered.stderr).into_owned();
            assert!(rendered.status.success(), "{said}");
        }
        let mut serving = cupel()
            .arg("listen")
            .arg(&demo)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(serving.stdout.take().unwrap()).lines();
        let address = lines.map_while(Result::ok).find_map(|line| {
            line.trim()
                .starts_with("http")
                .then(|| line.trim().to_owned())
        });
        let Some(address) = address else {
            let _ = serving.kill();
            panic!("no address");
        };
        Self {
            home,
            serving,
            address,
        }
    }

    /// Runs a trial, which ends well only if all it checks holds.
    fn trial(&self, script: &str, more: &[&Path]) {
        let output = Command::new("node")
            .arg(trials().join(script))
            .arg(&self.address)
            .args(more)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stdout);
        println!("{said}");
        let talk = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{said}\n{talk}");
        let last = said.lines().last().unwrap_or("");
        assert!(last.ends_with(" hold") && !last.starts_with('0'), "{said}");
    }
}

#[test]
fn a_person_listens_and_decides() {
    if !can_drive() {
        return;
    }
    let page = Page::of_demo();
    page.trial("page.mjs", &[&page.home.path().join("demo/session.toml")]);
}

#[test]
fn what_is_heard_is_what_was_promised() {
    if !can_drive() {
        return;
    }
    let page = Page::of_demo();
    let cupel = Path::new(env!("CARGO_BIN_EXE_cupel"));
    page.trial("sound.mjs", &[cupel, page.home.path()]);
    page.trial("without.mjs", &[]);
}

/// A move of every kind, beside those of the demo.
const MOVES: &str = r#"
[[moves]]
id = "hand-pan"
target = "piano"
kind = "pan"
parameters = { position = -0.4 }

[[moves]]
id = "hand-polarity"
target = "clap"
kind = "polarity"

[[moves]]
id = "hand-offset"
target = "toms"
kind = "offset"
parameters = { delay_ms = 12.5 }

[[moves]]
id = "hand-early"
target = "lead"
kind = "offset"
parameters = { delay_samples = -333 }

[[moves]]
id = "hand-cut"
target = "group music"
kind = "low-cut"
parameters = { cutoff_hz = 90.0, slope_db_per_octave = 24 }

[[moves]]
id = "hand-low-cut"
target = "mix"
kind = "low-cut"
parameters = { cutoff_hz = 20.0, slope_db_per_octave = 12 }

[[moves]]
id = "hand-group"
target = "group drums"
kind = "fader"
parameters = { gain_db = -1.5 }

[[moves]]
id = "hand-ride"
target = "bass"
kind = "fader"
parameters = { gain_db = -1.0 }
at = [{ time_s = 2.0, gain_db = 0.0 }, { time_s = 30.0, gain_db = -4.0 }, { time_s = 50.0, gain_db = 2.0 }]
"#;

#[test]
fn what_is_heard_is_what_is_rendered() {
    if !can_drive() {
        return;
    }
    let page = Page::of_demo_with(MOVES);
    let premaster = page.home.path().join("demo/cupel/premaster.wav");
    page.trial("null.mjs", &[&premaster]);
}
