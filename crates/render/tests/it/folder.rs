//! The output folder: the new render appears at once, the old one is kept.

use std::fs;
use std::path::Path;

use cupel_render::OutputFolder;

fn render(folder: &Path, content: &str) -> Option<u32> {
    let output = OutputFolder::begin(folder).unwrap();
    fs::write(output.making().join("premaster.wav"), content).unwrap();
    fs::create_dir_all(output.making().join("groups")).unwrap();
    fs::write(output.making().join("groups/drums.wav"), content).unwrap();
    output.finish().unwrap()
}

fn text(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn renders_follow_one_another() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("cupel");
    assert_eq!(render(&folder, "one"), None);
    fs::write(folder.join("notes.txt"), "mine").unwrap();
    fs::write(folder.join("report.html"), "of one").unwrap();
    assert_eq!(render(&folder, "two"), Some(1));
    // A gap in the numbers is not filled.
    fs::create_dir_all(folder.join("earlier/7")).unwrap();
    assert_eq!(render(&folder, "three"), Some(8));
    assert_eq!(text(&folder.join("premaster.wav")), "three");
    assert_eq!(text(&folder.join("groups/drums.wav")), "three");
    assert_eq!(text(&folder.join("earlier/1/premaster.wav")), "one");
    assert_eq!(text(&folder.join("earlier/1/report.html")), "of one");
    assert_eq!(text(&folder.join("earlier/8/groups/drums.wav")), "two");
    assert_eq!(text(&folder.join("notes.txt")), "mine");
    let hidden = fs::read_dir(&folder).unwrap().flatten();
    assert!(
        hidden
            .into_iter()
            .all(|e| !e.file_name().to_string_lossy().starts_with('.'))
    );
}

#[test]
fn a_render_given_up_changes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("cupel");
    render(&folder, "one");
    let output = OutputFolder::begin(&folder).unwrap();
    fs::write(output.making().join("premaster.wav"), "half").unwrap();
    let making = output.making().to_owned();
    drop(output);
    assert!(!making.exists());
    assert_eq!(text(&folder.join("premaster.wav")), "one");
    assert!(!folder.join("earlier").exists());
}

/// What a stopped machine left behind goes with the next render.
#[test]
fn leftovers_go() {
    let dir = tempfile::tempdir().unwrap();
    let left = dir.path().join(".cupel-render-4711");
    fs::create_dir(&left).unwrap();
    fs::write(left.join("premaster.wav"), "half").unwrap();
    render(dir.path(), "one");
    assert!(!left.exists());
}
