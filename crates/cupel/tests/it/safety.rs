//! Nothing is lost or left half done: full disks, interrupts, two at once.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use crate::support::{Folder, RATE_HZ, Run, Sound, everything, noise, read, rounded, sum};

/// Every file and folder under a folder, without a look inside.
fn names(folder: &Path) -> Vec<String> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        names.extend(
            self::names(&entry.path())
                .iter()
                .map(|inner| format!("{name}/{inner}")),
        );
        names.push(name);
    }
    names
}

/// Files that are still being made.
fn unfinished(folder: &Path) -> Vec<String> {
    names(folder)
        .into_iter()
        .filter(|name| name.contains(".cupel-") || name.ends_with(".part") || name.contains(".tmp"))
        .collect()
}

#[test]
fn the_users_files_never_change() {
    let folder = Folder::with_reference();
    folder.write("bounce.wav", &Folder::reference());
    let audio = |folder: &Folder| {
        let mut files = everything(&folder.path(""));
        files.retain(|(name, _)| name.ends_with(".wav") && !name.starts_with("cupel"));
        files.push((
            "record".into(),
            fs::read(folder.beside("record.wav")).unwrap(),
        ));
        files
    };
    let before = audio(&folder);
    assert_eq!(before.len(), 6);
    folder.run(&["open", "."]).expect(0);
    folder.run(&["measure", "01 Kick.wav"]).expect(0);
    folder.run(&["assay"]).expect(0);
    folder.run(&["balance", "--anyway"]).expect(0);
    folder.run(&["render"]).expect(0);
    folder.run(&["render", "--format", "i24"]).expect(0);
    folder.run(&["cache", "--clear"]).expect(0);
    assert!(audio(&folder) == before, "an input file changed");
    assert_eq!(unfinished(&folder.path("")), Vec::<String>::new());
}

/// A small disk of its own, where the system lets us.
struct Disk<'a>(&'a Path);

impl<'a> Disk<'a> {
    fn mount(path: &'a Path, size: &str) -> Option<Self> {
        fs::create_dir_all(path).unwrap();
        let options = format!("size={size}");
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &options, "tmpfs"])
            .arg(path)
            .stderr(Stdio::null())
            .status();
        mounted
            .is_ok_and(|status| status.success())
            .then_some(Self(path))
    }
}

impl Drop for Disk<'_> {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0).status();
    }
}

#[test]
fn a_full_disk_leaves_no_half_file() {
    let folder = Folder::with_reference();
    let disk_path = folder.beside("disk");
    let Some(_disk) = Disk::mount(&disk_path, "1m") else {
        println!("skipped: no disk can be mounted here");
        return;
    };
    let session = disk_path.join("session.toml");
    let name = session.display().to_string();
    folder.run(&["open", ".", "--session", &name]).expect(0);
    folder.run(&["balance", &name]).expect(0);
    fs::write(disk_path.join("cupel/premaster.wav"), "the old one").unwrap();
    let before = everything(&disk_path);
    // Six seconds of stereo are over 2 MB.
    let run = folder.run(&["render", &name]).expect(1);
    assert!(run.talk.contains("the disk is full"), "{}", run.talk);
    assert!(run.talk.contains("hint: free some space"), "{}", run.talk);
    let mut after = everything(&disk_path);
    after.retain(|(name, _)| !name.ends_with(".lock"));
    let kept: Vec<_> = before
        .iter()
        .filter(|(name, _)| !name.ends_with(".lock"))
        .collect();
    assert_eq!(
        after.iter().collect::<Vec<_>>().len(),
        kept.len(),
        "{:?}",
        names(&disk_path)
    );
    for (after, before) in after.iter().zip(kept) {
        assert!(after == before, "{} changed", after.0);
    }
    // Not a byte is left: the session file stays as it is.
    let filler = fs::write(disk_path.join("filler"), vec![0; 2 << 20]);
    assert!(filler.is_err());
    let text = fs::read(&session).unwrap();
    let run = folder.run(&["balance", &name, "--exact"]).expect(1);
    assert!(
        run.talk.starts_with("error: cannot write `"),
        "{}",
        run.talk
    );
    assert!(fs::read(&session).unwrap() == text);
    assert_eq!(unfinished(&disk_path), Vec::<String>::new());
}

/// The same by the limit that the system sets on a process's files.
#[cfg(unix)]
#[test]
fn a_file_too_large_leaves_no_half_file() {
    let folder = Folder::with_reference();
    folder.run(&["render"]).expect(0);
    let before = everything(&folder.path(""));
    // 1 MiB in blocks of 512 bytes; the signal that goes with it is ignored.
    let limited = "trap '' XFSZ; ulimit -f 2048; exec \"$0\" \"$@\"";
    let output = Command::new("sh")
        .args([
            "-c",
            limited,
            env!("CARGO_BIN_EXE_cupel"),
            "render",
            "--cache",
        ])
        .arg(folder.cache())
        .current_dir(folder.path(""))
        .output()
        .unwrap();
    let run = Run::of(&output).expect(1);
    assert!(run.talk.contains("cannot write `"), "{}", run.talk);
    assert!(
        everything(&folder.path("")) == before,
        "{:?}",
        names(&folder.path(""))
    );
}

/// A minute and a half of two tracks: long enough to be stopped in the middle.
#[cfg(unix)]
fn long_session() -> Folder {
    let folder = Folder::new();
    let frames = 90 * RATE_HZ as usize;
    for (name, seed) in [("kick.wav", 1), ("pad.wav", 2)] {
        let soft = noise(seed, frames).iter().map(|x| x * 0.1).collect();
        folder.write(name, &vec![rounded(soft)]);
    }
    folder.run(&["open", "."]).expect(0);
    folder
}

#[cfg(unix)]
#[test]
fn an_interrupt_leaves_the_old_render() {
    let folder = long_session();
    folder.run(&["render"]).expect(0);
    folder.append(
        "\n[[moves]]\nid = \"m\"\ntarget = \"pad\"\nkind = \"fader\"\n\
         parameters = { gain_db = -3.0 }\n",
    );
    let session = folder.session();
    // The session is measured with its moves, so that only the render is left.
    folder.run(&["assay"]).expect(0);
    for _ in 0..5 {
        let old = everything(&folder.path(""));
        let mut command = folder.command(&["render"]);
        let child = command
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let patience = Instant::now();
        while unfinished(&folder.path("cupel")).is_empty() {
            assert!(
                patience.elapsed() < Duration::from_secs(60),
                "no render begins"
            );
            thread::sleep(Duration::from_millis(1));
        }
        let id = child.id().to_string();
        Command::new("kill").args(["-INT", &id]).status().unwrap();
        let run = Run::of(&child.wait_with_output().unwrap());
        if run.code == Some(0) {
            // Done before it was told.
            fs::remove_dir_all(folder.path("cupel/earlier")).unwrap();
            continue;
        }
        assert_eq!(run.code, Some(130), "{}", run.talk);
        assert_eq!(run.out, "");
        assert_eq!(unfinished(&folder.path("")), Vec::<String>::new());
        assert!(!folder.path("cupel/earlier").exists());
        assert_eq!(folder.session(), session);
        for (name, bytes) in old {
            assert!(
                fs::read(folder.path(&name)).unwrap() == bytes,
                "{name} changed"
            );
        }
        // What was interrupted can be done again.
        folder.run(&["render"]).expect(0);
        assert_eq!(
            read(&folder.path("cupel/premaster.wav")).0[0].len(),
            90 * RATE_HZ as usize
        );
        return;
    }
    panic!("the render was always faster than the interrupt");
}

/// Many commands at once on one session: all are done, nothing is lost.
#[test]
fn commands_at_once_lose_nothing() {
    let folder = Folder::with_reference();
    folder.append("\n# keep me\n");
    crate::support::write(&folder.beside("bounce.wav"), &exact_bounce());
    let commands: [&[&str]; 6] = [
        &["open", ".", "--rough", "../bounce.wav"],
        &["balance"],
        &["render"],
        &["assay"],
        &["render", "--format", "i24"],
        &["balance"],
    ];
    let children: Vec<_> = commands
        .iter()
        .map(|arguments| {
            let mut command = folder.command(arguments);
            command
                .stdout(Stdio::piped())
                .stderr(Stdio::piped())
                .spawn()
                .unwrap()
        })
        .collect();
    for child in children {
        Run::of(&child.wait_with_output().unwrap()).expect(0);
    }
    let text = folder.session();
    assert!(text.contains("# keep me"), "{text}");
    assert!(text.contains("file = \"../bounce.wav\""), "{text}");
    assert_eq!(text.matches("[[moves]]").count(), 4, "{text}");
    assert_eq!(text.matches("[[tracks]]").count(), 4, "{text}");
    for render in ["cupel", "cupel/earlier/1"] {
        for file in [
            "premaster.wav",
            "compare/mix.wav",
            "groups/drums.wav",
            "render.json",
        ] {
            assert!(
                folder.path(&format!("{render}/{file}")).exists(),
                "{render}/{file}"
            );
        }
        let (mix, _) = read(&folder.path(&format!("{render}/premaster.wav")));
        assert_eq!(mix[0].len(), 6 * RATE_HZ as usize);
    }
    assert!(!folder.path("cupel/earlier/2").exists());
    assert_eq!(unfinished(&folder.path("")), Vec::<String>::new());
    folder.run(&["assay"]).expect(0);
}

fn exact_bounce() -> Sound {
    let four = Folder::four().map(|(_, sound)| sound);
    let sum = sum(&four.iter().collect::<Vec<_>>());
    sum.into_iter().map(rounded).collect()
}

/// Two sessions of one folder share `cupel/`; renders must not meet there.
#[test]
fn two_sessions_of_one_folder_render_at_once() {
    let folder = Folder::of_four();
    for name in ["a.toml", "b.toml"] {
        folder.run(&["open", ".", "--session", name]).expect(0);
    }
    let children: Vec<_> = ["a.toml", "b.toml", "a.toml"]
        .iter()
        .map(|name| {
            let mut command = folder.command(&["render", name]);
            command
                .stdout(Stdio::piped())
                .stderr(Stdio::piped())
                .spawn()
                .unwrap()
        })
        .collect();
    for child in children {
        Run::of(&child.wait_with_output().unwrap()).expect(0);
    }
    for render in ["cupel", "cupel/earlier/1", "cupel/earlier/2"] {
        assert!(
            folder.path(&format!("{render}/premaster.wav")).exists(),
            "{render}"
        );
    }
}
