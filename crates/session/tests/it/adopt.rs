//! Opening a folder again.

use cupel_session::{
    By, Changed, FoundTrack, Group, Move, Parameters, Renamed, Role, Session, Target, Track, Twin,
};

/// A session with tracks `(id, file, content)`.
fn session(tracks: &[(&str, &str, &str)]) -> Session {
    let mut session = Session::new("test");
    for (id, file, content) in tracks {
        let mut track = Track::new(*id, *file);
        track.content = Some((*content).into());
        session.tracks.push(track);
    }
    session
}

/// Files found, `(file, content)`.
fn found(files: &[(&str, &str)]) -> Vec<FoundTrack> {
    let names: Vec<&str> = files.iter().map(|(file, _)| *file).collect();
    let ids = cupel_session::ids_from_names(&names);
    let track = |((file, content), id): (&(&str, &str), String)| FoundTrack {
        file: (*file).into(),
        content: Some((*content).into()),
        suggested_id: id,
        ..FoundTrack::default()
    };
    files.iter().zip(ids).map(track).collect()
}

/// Files that the tracks `(id, file)` have after opening again.
#[track_caller]
fn check(tracks: &[(&str, &str, &str)], files: &[(&str, &str)], after: &[(&str, &str)]) {
    let mut session = session(tracks);
    session.adopt_tracks(&found(files));
    let now: Vec<(&str, &str)> = session
        .tracks
        .iter()
        .map(|track| (track.id.as_str(), track.file.as_str()))
        .collect();
    assert_eq!(now, after);
}

#[test]
fn by_content_whatever_the_name() {
    check(
        &[("kick", "a.wav", "k"), ("bass", "b.wav", "b")],
        &[("b.wav", "k"), ("a.wav", "b")],
        &[("kick", "b.wav"), ("bass", "a.wav")],
    );
}

#[test]
fn by_name_without_version() {
    for file in [
        "Kick_v3.wav",
        "kick (2).wav",
        "kick 2025-11-02.flac",
        "02 Kick v2.wav",
    ] {
        check(
            &[("kick", "01 Kick.wav", "k")],
            &[(file, "new")],
            &[("kick", file)],
        );
    }
}

#[test]
fn numbers_at_the_end_are_names() {
    check(
        &[("kick-02", "Kick 02.wav", "k")],
        &[("Kick 03.wav", "other")],
        &[("kick-02", "Kick 02.wav"), ("kick-03", "Kick 03.wav")],
    );
}

#[test]
fn what_fits_twice_is_not_matched() {
    check(
        &[("pad", "pad v1.wav", "p")],
        &[("pad v2.wav", "x"), ("pad v3.wav", "y")],
        &[
            ("pad", "pad v1.wav"),
            ("pad-v2", "pad v2.wav"),
            ("pad-v3", "pad v3.wav"),
        ],
    );
    check(
        &[("pad-1", "1 Pad.wav", "p"), ("pad-2", "2 Pad.wav", "q")],
        &[("3 Pad.wav", "x")],
        &[
            ("pad-1", "1 Pad.wav"),
            ("pad-2", "2 Pad.wav"),
            ("pad", "3 Pad.wav"),
        ],
    );
}

#[test]
fn copies_of_one_content_go_by_name() {
    check(
        &[("a", "a.wav", "same"), ("b", "b.wav", "same")],
        &[("b.wav", "same"), ("a.wav", "same"), ("c.wav", "same")],
        &[("a", "a.wav"), ("b", "b.wav"), ("c", "c.wav")],
    );
}

#[test]
fn everything_is_reported() {
    let mut session = session(&[
        ("kick", "kick.wav", "k"),
        ("bass", "bass.wav", "b"),
        ("lead", "lead.wav", "l"),
        ("gone", "gone.wav", "g"),
    ]);
    session.tracks[1].start_s = 4.0;
    let mut files = found(&[
        ("kick.wav", "k"),
        ("bass_v2.wav", "b2"),
        ("lead.wav", "l2"),
        ("kick v2.wav", "k2"),
    ]);
    files[1].start_s = 8.0;
    let report = session.adopt_tracks(&files);
    assert_eq!(report.kept, ["kick", "lead"]);
    let renamed = Renamed {
        id: "bass".into(),
        from: "bass.wav".into(),
        to: "bass_v2.wav".into(),
    };
    assert_eq!(report.renamed, [renamed]);
    let changed = |id: &str, before, now| Changed {
        id: id.into(),
        start_before_s: before,
        start_now_s: now,
    };
    assert_eq!(
        report.changed,
        [changed("bass", 4.0, 8.0), changed("lead", 0.0, 0.0)]
    );
    assert_eq!(report.new, ["kick-v2"]);
    assert_eq!(report.missing, ["gone"]);
    let twin = Twin {
        id: "kick-v2".into(),
        of: "kick".into(),
    };
    assert_eq!(report.twins, [twin]);
    assert_eq!(session.tracks[1].start_s, 8.0);
    assert_eq!(session.tracks[2].content.as_deref(), Some("l2"));
}

#[test]
fn what_a_person_set_stays() {
    let text = "format = 1\n\n# the good one\n[[tracks]]\nid = \"bd\" # short\nfile = \"Kick.wav\"\n\
                content = \"k\"\nrole = \"kick\"\ngroup = \"drums\"\nstart_s = 2.0\ninclude = false\n\n\
                [[moves]]\nid = \"mine\"\ntarget = \"bd\"\nkind = \"fader\"\nlocked = true\n\
                parameters = { gain_db = 1.0 }\n";
    let mut session = Session::parse(text).unwrap();
    let mut files = found(&[("Kick_v2.wav", "k")]);
    files[0].role = Some(Role::Tom);
    files[0].group = Some(Group::Music);
    session.adopt_tracks(&files);
    assert_eq!(session.to_toml(), text.replace("Kick.wav", "Kick_v2.wav"));
}

#[test]
fn what_was_not_set_is_filled() {
    let mut session = session(&[("kick", "kick.wav", "k")]);
    let mut files = found(&[("kick.wav", "k"), ("bass.wav", "b")]);
    for file in &mut files {
        file.role = Some(Role::Shaker);
        file.group = Some(Group::Drums);
        file.start_s = 3.0;
    }
    session.adopt_tracks(&files);
    for track in &session.tracks {
        assert_eq!(
            (track.role, track.group),
            (Some(Role::Shaker), Some(Group::Drums))
        );
    }
    assert_eq!(
        session.tracks[0].start_s, 0.0,
        "same content keeps its start"
    );
    assert_eq!(session.tracks[1].start_s, 3.0);
}

#[test]
fn moves_follow_a_renamed_track() {
    let mut session = session(&[("kick", "kick.wav", "k")]);
    let target = Target::Track("kick".into());
    let parameters = Parameters::Fader { gain_db: 2.0 };
    session
        .moves
        .push(Move::new(target, parameters, By::Hand, "hand", ""));
    session.adopt_tracks(&found(&[("boom.wav", "k")]));
    assert_eq!(session.tracks[0].file, "boom.wav");
    assert_eq!(session.net_gain_db("kick"), 2.0);
}
