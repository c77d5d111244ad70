//! Joining own changes with an edit made meanwhile.

use std::fs;

use cupel_session::{By, Move, Parameters, Role, Session, Target, Track};

use crate::example::BY_HAND;

/// Reads [`BY_HAND`], lets a person edit the file, and joins.
fn merged(ours: impl Fn(&mut Session), edit: impl Fn(&str) -> String) -> Session {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.toml");
    fs::write(&path, BY_HAND).unwrap();
    let mut session = Session::load(&path).unwrap();
    ours(&mut session);
    fs::write(&path, edit(BY_HAND)).unwrap();
    session.save_merged(&path).unwrap();
    let written = Session::load(&path).unwrap();
    assert_eq!(written, session);
    assert!(written.to_toml().contains("# I like the bass here"));
    written
}

fn fader(track: &str, gain_db: f64) -> Move {
    let target = Target::Track(track.into());
    Move::new(target, Parameters::Fader { gain_db }, By::Cupel, "core", "")
}

#[test]
fn both_changes_stand() {
    let session = merged(
        |s| {
            s.moves[0].parameters = Parameters::Trim { gain_db: -6.0 };
            s.moves.push(fader("kick", 1.0));
            s.tracks[0].role = Some(Role::Kick);
        },
        |text| {
            text.replace("gain_db = 1.5", "gain_db = 2.5")
                .replace("\"drums\"", "\"music\"")
        },
    );
    assert_eq!(session.moves[0].parameters.gain_db(), Some(-6.0));
    assert_eq!(session.moves[1].parameters.gain_db(), Some(2.5));
    assert_eq!(session.moves[3].id, "kick-fader");
    assert_eq!(session.tracks[0].role, Some(Role::Kick));
    assert_eq!(session.tracks[0].group.unwrap().name(), "music");
}

#[test]
fn the_file_wins_where_both_changed_one_thing() {
    let session = merged(
        |s| s.moves[0].parameters = Parameters::Trim { gain_db: -6.0 },
        |text| text.replace("gain_db = -3.5", "gain_db = -1.0"),
    );
    assert_eq!(session.moves[0].parameters.gain_db(), Some(-1.0));
    let session = merged(
        |s| {
            s.moves.remove(2);
        },
        |text| text.replace("on = false", "on = true"),
    );
    assert!(
        session.moves[2].on,
        "edited meanwhile, so it is not removed"
    );
}

#[test]
fn removed_on_either_side() {
    let session = merged(
        |s| {
            s.moves.remove(0);
            let mut step = fader("bass", 1.0);
            step.id = "bass-fader-2".into();
            s.moves.push(step);
        },
        |text| {
            text.replace("[[tracks]] # the sub is in here too\nid = \"bass\"\nfile = \"02 Bass.flac\"\ngroup = \"low end\"\ncontent = \"bb\"\n", "")
            .replace("target = \"bass\"", "target = \"kick\"")
        },
    );
    assert_eq!(session.tracks.len(), 1);
    let ids: Vec<_> = session.moves.iter().map(|step| step.id.as_str()).collect();
    assert_eq!(
        ids,
        ["bass-fader", "bass-pan"],
        "the new move lost its track"
    );
}

#[test]
fn ids_that_meet_are_told_apart() {
    let session = merged(
        |s| {
            s.moves.push(fader("kick", 1.0));
            s.tracks.push(Track::new("lead", "lead.wav"));
        },
        |text| {
            text.replace(
                "# end of my session",
                "[[moves]]\nid = \"kick-fader\"\nkind = \"polarity\"\ntarget = \"kick\"\n",
            )
            .replace(
                "# ---- moves ----",
                "[[tracks]]\nid = \"lead-2\"\nfile = \"lead.wav\"\n",
            )
        },
    );
    let ids: Vec<_> = session.moves[3..]
        .iter()
        .map(|step| step.id.as_str())
        .collect();
    assert_eq!(ids, ["kick-fader", "kick-fader-2"]);
    assert_eq!(session.tracks.len(), 3, "one file is one track");
}
