//! `cupel listen` in a real browser: what a person does, and what is heard.
//!
//! Driven by `node` with `playwright-core` (`npm ci` in `tests/browser`) and Chromium;
//! where one of them is absent the trials say that they were skipped.

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
}
