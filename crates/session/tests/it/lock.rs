//! Two commands at once cannot lose anything.

use std::path::Path;
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

use cupel_session::{Session, SessionError, SessionLock, Track};

const SHORT: Duration = Duration::from_millis(50);

#[test]
fn the_second_holder_waits_in_vain() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.toml");
    let lock = SessionLock::take(&path).unwrap();
    let error = SessionLock::take_within(&path, SHORT).unwrap_err();
    assert_eq!(
        error.to_string(),
        "cannot use `session.toml`: another cupel command is at work on it; wait until it ends"
    );
    SessionLock::take_within(folder.path().join("other.toml"), SHORT).unwrap();
    drop(lock);
    SessionLock::take_within(&path, SHORT).unwrap();
}

#[test]
fn a_lock_that_cannot_be_made() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("cupel"), "a file is in the way").unwrap();
    let error = SessionLock::take(folder.path().join("session.toml")).unwrap_err();
    assert!(matches!(error, SessionError::Lock { .. }));
    assert!(
        error
            .to_string()
            .starts_with("cannot lock `session.toml`: "),
        "{error}"
    );
}

fn add_tracks(path: &Path, name: &str, count: usize) {
    for number in 0..count {
        let _lock = SessionLock::take_within(path, Duration::from_secs(120)).unwrap();
        let mut session = Session::load(path).unwrap();
        let id = format!("{name}-{number}");
        session.tracks.push(Track::new(&id, format!("{id}.wav")));
        session.save(path).unwrap();
    }
}

#[test]
fn two_threads_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.toml");
    Session::new("x").save(&path).unwrap();
    thread::scope(|scope| {
        for name in ["a", "b"] {
            scope.spawn(|| add_tracks(&path, name, 20));
        }
    });
    assert_eq!(Session::load(&path).unwrap().tracks.len(), 40);
}

/// The test starts itself twice more, as two processes that write.
#[test]
fn two_processes_lose_nothing() {
    const FOLDER: &str = "CUPEL_SESSION_TEST_LOCK";
    if let Some(folder) = std::env::var_os(FOLDER) {
        let name = format!("p{}", std::process::id());
        add_tracks(&Path::new(&folder).join("session.toml"), &name, 20);
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.toml");
    Session::new("x").save(&path).unwrap();
    let start = || {
        Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "lock::two_processes_lose_nothing"])
            .env(FOLDER, folder.path())
            .stdout(Stdio::null())
            .spawn()
            .unwrap()
    };
    for mut child in [start(), start()] {
        assert!(child.wait().unwrap().success());
    }
    assert_eq!(Session::load(&path).unwrap().tracks.len(), 40);
}
