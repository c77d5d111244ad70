//! Files on disk: whole or not at all.

use std::fs;
use std::path::Path;
use std::process::Command;

use cupel_session::{Session, SessionError, Track};
use tempfile::TempDir;

use crate::example::BY_HAND;

fn folder_with(text: &str) -> (TempDir, std::path::PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.toml");
    fs::write(&path, text).unwrap();
    (folder, path)
}

fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn written_and_read_again() {
    let (folder, path) = folder_with(BY_HAND);
    let mut session = Session::load(&path).unwrap();
    session.name = Some("Other".into());
    session.save(&path).unwrap();
    assert_eq!(
        fs::read_to_string(&path).unwrap(),
        BY_HAND.replace("River", "Other")
    );
    session.name = Some("River".into());
    session.save(&path).unwrap();
    assert_eq!(fs::read_to_string(&path).unwrap(), BY_HAND);
    assert_eq!(names_in(folder.path()), ["session.toml"]);
}

#[test]
fn a_new_session_makes_its_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.toml");
    let mut session = Session::new("x");
    session.save(&path).unwrap();
    assert_eq!(Session::load(&path).unwrap(), session);
    session.tracks.push(Track::new("kick", "kick.wav"));
    session.save(&path).unwrap();
    assert_eq!(Session::load(&path).unwrap(), session);
}

#[test]
fn an_edit_made_meanwhile_is_not_lost() {
    let (_folder, path) = folder_with(BY_HAND);
    let mut session = Session::load(&path).unwrap();
    session.targets.limit_db = 10.0;
    let edited = BY_HAND.replace("River", "Edited");
    fs::write(&path, &edited).unwrap();
    let error = session.save(&path).unwrap_err();
    assert_eq!(
        error.to_string(),
        "cannot write `session.toml`: it was changed meanwhile; nothing was written, run the \
         command again"
    );
    assert_eq!(fs::read_to_string(&path).unwrap(), edited);
    session.save_merged(&path).unwrap();
    let merged = fs::read_to_string(&path).unwrap();
    assert!(merged.contains("name = \"Edited\" # working title"));
    assert!(merged.contains("limit_db = 10.0"));
}

#[test]
fn a_new_session_does_not_replace_a_file() {
    let (_folder, path) = folder_with(BY_HAND);
    let error = Session::new("x").save(&path).unwrap_err();
    assert!(matches!(error, SessionError::ChangedMeanwhile { .. }));
    assert_eq!(fs::read_to_string(&path).unwrap(), BY_HAND);
}

#[test]
fn what_could_not_be_read_again_is_not_written() {
    let (_folder, path) = folder_with(BY_HAND);
    let mut session = Session::load(&path).unwrap();
    session.targets.limit_db = f64::NAN;
    let error = session.save(&path).unwrap_err();
    assert!(
        error
            .to_string()
            .ends_with("`limit_db` is NaN: allowed are 1 to 60"),
        "{error}"
    );
    assert_eq!(fs::read_to_string(&path).unwrap(), BY_HAND);
}

#[test]
fn missing_and_unreadable_files() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.toml");
    let error = Session::load(&path).unwrap_err().to_string();
    assert!(error.starts_with("cannot read `session.toml`: "), "{error}");
    fs::write(&path, b"format = 1\nname = \"\xff\"\n").unwrap();
    assert_eq!(
        Session::load(&path).unwrap_err().to_string(),
        "cannot use `session.toml`, line 2: it is not UTF-8 text; save it as UTF-8"
    );
    let error = Session::new("x")
        .save(folder.path().join("no/session.toml"))
        .unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("cannot write `session.toml`: "),
        "{error}"
    );
}

/// The file cannot be replaced (a folder with something in it has its name);
/// no temporary file stays behind.
#[test]
fn a_failed_renaming_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.toml");
    fs::create_dir(&path).unwrap();
    fs::write(path.join("x"), "x").unwrap();
    let error = Session::new("x").save(&path).unwrap_err();
    assert!(matches!(error, SessionError::Write { .. }), "{error}");
    assert_eq!(names_in(folder.path()), ["session.toml"]);
}

/// Writing stops in the middle because the process may write no larger files,
/// as on a full disk. The test starts itself again under that limit.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_the_old_file() {
    const FOLDER: &str = "CUPEL_SESSION_TEST_FULL_DISK";
    if let Some(folder) = std::env::var_os(FOLDER) {
        let path = Path::new(&folder).join("session.toml");
        let mut session = Session::load(&path).unwrap();
        session.name = Some("x".repeat(1 << 20));
        let error = session.save(&path).unwrap_err();
        assert!(matches!(error, SessionError::Write { .. }), "{error}");
        return;
    }
    let (folder, path) = folder_with(BY_HAND);
    let limit = "trap '' XFSZ; ulimit -f 64; exec \"$0\" \"$@\"";
    let output = Command::new("sh")
        .args(["-c", limit])
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", "disk::a_full_disk_leaves_the_old_file"])
        .env(FOLDER, folder.path())
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success() && said.contains("1 passed"),
        "{said}"
    );
    assert_eq!(fs::read_to_string(&path).unwrap(), BY_HAND);
    assert_eq!(names_in(folder.path()), ["session.toml"]);
}

/// Skipped where the folder can be written all the same, as by root.
#[cfg(unix)]
#[test]
fn a_read_only_folder_leaves_the_old_file() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, path) = folder_with(BY_HAND);
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o555)).unwrap();
    if fs::write(folder.path().join("probe"), "").is_ok() {
        println!("skipped: this user may write into a read-only folder");
        return;
    }
    let mut session = Session::load(&path).unwrap();
    session.name = None;
    let error = session.save(&path).unwrap_err();
    assert!(matches!(error, SessionError::Write { .. }), "{error}");
    assert_eq!(fs::read_to_string(&path).unwrap(), BY_HAND);
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
}

#[cfg(unix)]
#[test]
fn links_and_permissions_stay() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let (folder, path) = folder_with(BY_HAND);
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    let other = folder.path().join("linked");
    fs::create_dir(&other).unwrap();
    let link = other.join("session.toml");
    symlink(&path, &link).unwrap();
    let mut session = Session::load(&link).unwrap();
    session.name = Some("Other".into());
    session.save(&link).unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(Session::load(&path).unwrap().name.as_deref(), Some("Other"));
    assert_eq!(
        fs::metadata(&path).unwrap().permissions().mode() & 0o777,
        0o640
    );
}
