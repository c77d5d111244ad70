//! Edits change what they must and leave the rest of the text alone.

use cupel_session::{
    At, Breakpoint, By, Delay, Group, Move, Parameters, Passage, Session, Target, Track,
};

use crate::example::BY_HAND;

/// Applies an edit and compares line by line: `gone` lines are no longer there,
/// `come` lines are new, all others stay, in their order.
#[track_caller]
fn check(text: &str, edit: impl Fn(&mut Session), gone: &[&str], come: &[&str]) {
    let mut session = Session::parse(text).unwrap();
    edit(&mut session);
    let edited = session.to_toml();
    let again = Session::parse(&edited).unwrap_or_else(|error| panic!("{error}\n{edited}"));
    assert_eq!(again, session, "\n{edited}");
    let mut stayed: Vec<&str> = text.lines().collect();
    for line in gone {
        let at = stayed.iter().position(|other| other == line);
        stayed.remove(at.unwrap_or_else(|| panic!("`{line}` is not in the text")));
    }
    let mut rest = edited.lines();
    for line in &stayed {
        assert!(
            rest.any(|other| other == *line),
            "`{line}` lost its place in\n{edited}"
        );
    }
    let sorted = |mut lines: Vec<&str>| {
        lines.sort_unstable();
        lines.join("\n")
    };
    let expected = [&stayed, come].concat();
    assert_eq!(
        sorted(edited.lines().collect()),
        sorted(expected),
        "\n{edited}"
    );
}

#[test]
fn nothing_changed_nothing_written() {
    for text in [
        BY_HAND.to_owned(),
        BY_HAND.replace('\n', "\r\n"),
        format!("\u{feff}{BY_HAND}"),
        "format=1".into(),
        "\n\n  format  =  1   # x".into(),
        "'format' = 0x1\n\"name\" = '''a\nb'''\n".into(),
        "format = 1\ntargets.limit_db = 12.50\ntracks = []\n".into(),
    ] {
        let session = Session::parse(&text).unwrap();
        assert_eq!(session.to_toml(), text);
    }
}

#[test]
fn what_it_says() {
    let session = Session::parse(BY_HAND).unwrap();
    assert_eq!(session.name.as_deref(), Some("River"));
    assert_eq!(session.kick.as_deref(), Some("kick"));
    let reference = session.reference.as_ref().unwrap();
    assert_eq!(reference.file, "../records/reference.flac");
    assert_eq!(reference.passage.unwrap().end_s, 91.5);
    assert_eq!(session.targets.headroom_dbfs, -3.0);
    assert_eq!(session.tracks[1].group, Some(Group::LowEnd));
    assert_eq!(session.moves[0].target, Target::All);
    assert_eq!(
        session.moves[1].parameters,
        Parameters::Fader { gain_db: 1.5 }
    );
    assert!(session.moves[1].locked && session.moves[1].on);
    assert_eq!(
        (session.moves[2].by, session.moves[2].on),
        (By::Hand, false)
    );
    assert_eq!(session.moves[2].at, Some(At::Sections(vec!["drop".into()])));
    assert_eq!(session.net_gain_db("bass"), -2.0);
}

#[test]
fn a_changed_value_keeps_its_comment() {
    check(
        BY_HAND,
        |s| s.targets.kick_peak_dbfs = -10.5,
        &["kick_peak_dbfs = -12     # as always"],
        &["kick_peak_dbfs = -10.5     # as always"],
    );
    check(
        BY_HAND,
        |s| s.moves[0].parameters = Parameters::Trim { gain_db: -4.0 },
        &["parameters = { gain_db = -3.5 } # from the anchor"],
        &["parameters = { gain_db = -4.0 } # from the anchor"],
    );
    check(
        BY_HAND,
        |s| s.moves[1].parameters = Parameters::Fader { gain_db: 2.0 },
        &["gain_db = 1.5 # tried 2"],
        &["gain_db = 2.0 # tried 2"],
    );
}

#[test]
fn a_tempo_is_written_and_read() {
    check(
        BY_HAND,
        |s| s.music.tempo_bpm = Some(124.5),
        &[],
        &["", "[music]", "tempo_bpm = 124.5"],
    );
    let session =
        Session::parse("format = 1\nmusic = { lowest_bpm = 90, highest_bpm = 180 }\n").unwrap();
    assert_eq!(session.music.lowest_bpm, Some(90.0));
    assert_eq!(session.music.highest_bpm, Some(180.0));
}

#[test]
fn new_keys_come_where_they_belong() {
    check(
        BY_HAND,
        |s| s.targets.limit_db = 12.0,
        &[],
        &["limit_db = 12.0"],
    );
    check(
        BY_HAND,
        |s| s.sample_rate_hz = Some(48_000),
        &[],
        &["sample_rate_hz = 48000"],
    );
    check(
        BY_HAND,
        |s| s.tracks[0].start_s = 2.5,
        &[],
        &["start_s = 2.5"],
    );
    check(
        BY_HAND,
        |s| {
            s.passage = Some(Passage {
                start_s: 1.0,
                end_s: 31.0,
            });
        },
        &[],
        &["", "[passage]", "start_s = 1.0", "end_s = 31.0"],
    );
    check(
        BY_HAND,
        |s| {
            s.moves[2].parameters = Parameters::Pan {
                position: -0.2,
                left_db: Some(1.17),
                right_db: Some(-1.61),
            };
        },
        &["parameters = { position = -0.2 }"],
        &["parameters = { position = -0.2, left_db = 1.17, right_db = -1.61 }"],
    );
}

#[test]
fn removed_keys_leave_their_comments() {
    check(
        BY_HAND,
        |s| s.tracks[0].group = None,
        &["group = \"drums\""],
        &[],
    );
    check(
        BY_HAND,
        |s| s.name = None,
        &["name = \"River\" # working title"],
        &["# working title"],
    );
    check(BY_HAND, |s| s.moves[2].at = None, &["at = [\"drop\"]"], &[]);
}

#[test]
fn comments_inside_a_list_stay() {
    let text = BY_HAND.replace(
        "at = [\"drop\"]",
        "at = [ # where\n  \"drop\", # the second\n  # not the break\n]",
    );
    let mut session = Session::parse(&text).unwrap();
    session.moves[2].at = Some(At::Sections(vec!["break".into()]));
    let edited = session.to_toml();
    assert_eq!(Session::parse(&edited).unwrap(), session);
    for comment in ["# where", "# the second", "# not the break"] {
        assert!(edited.contains(comment), "{comment} went from\n{edited}");
    }
}

#[test]
fn new_tables_come_last_in_their_list() {
    check(
        BY_HAND,
        |s| s.tracks.push(Track::new("lead", "03 Lead.flac")),
        &[],
        &["", "[[tracks]]", "id = \"lead\"", "file = \"03 Lead.flac\""],
    );
    let edited = {
        let mut session = Session::parse(BY_HAND).unwrap();
        session.tracks.push(Track::new("lead", "03 Lead.flac"));
        session.to_toml()
    };
    assert!(edited.find("id = \"lead\"").unwrap() < edited.find("# ---- moves ----").unwrap());
    assert!(edited.ends_with("# end of my session\n"));
}

#[test]
fn a_move_between_others() {
    let at_two = |s: &mut Session| {
        let target = Target::Track("kick".into());
        let parameters = Parameters::Offset(Delay::Milliseconds { delay_ms: -1.5 });
        let step = Move::new(target, parameters, By::Cupel, "low end", "early");
        s.moves.insert(2, step);
    };
    let come = [
        "",
        "[[moves]]",
        "id = \"kick-offset\"",
        "target = \"kick\"",
        "kind = \"offset\"",
        "parameters = { delay_ms = -1.5 }",
        "on = true",
        "locked = false",
        "by = \"cupel\"",
        "stage = \"low end\"",
        "why = \"early\"",
    ];
    check(BY_HAND, at_two, &[], &come);
}

/// The move between has its parameters in a table of its own, which must go
/// with it.
#[test]
fn moves_in_another_order() {
    for order in [[2, 1, 0], [1, 2, 0], [0, 2, 1], [1, 0, 2]] {
        let mut session = Session::parse(BY_HAND).unwrap();
        session.moves = order.map(|at| session.moves[at].clone()).to_vec();
        let edited = session.to_toml();
        assert_eq!(Session::parse(&edited).unwrap(), session, "\n{edited}");
        for comment in BY_HAND
            .lines()
            .filter_map(|line| Some(line.split_once('#')?.1))
        {
            assert!(edited.contains(comment), "{comment} went from\n{edited}");
        }
    }
}

#[test]
fn comments_of_removed_moves_stay() {
    let mut session = Session::parse(BY_HAND).unwrap();
    session.moves.remove(0);
    let edited = session.to_toml();
    assert_eq!(Session::parse(&edited).unwrap(), session);
    let next = "# ---- moves ----\n# from the anchor\n\n# I like the bass here\n[[moves]]\nid = \"bass-fader\"";
    assert!(edited.contains(next), "\n{edited}");
    session.moves.clear();
    let edited = session.to_toml();
    assert_eq!(Session::parse(&edited).unwrap(), session);
    let end = "# end of my session\n# ---- moves ----\n# from the anchor\n# I like the bass here\n# tried 2\n";
    assert!(edited.ends_with(end), "\n{edited}");
}

#[test]
fn line_ends_and_mark_stay_when_edited() {
    let text = format!("\u{feff}{}", BY_HAND.replace('\n', "\r\n"));
    let mut session = Session::parse(&text).unwrap();
    session.name = Some("Other".into());
    let edited = session.to_toml();
    assert_eq!(edited, text.replace("River", "Other"));
}

#[test]
fn dotted_and_inline_styles_stay() {
    let text = "format = 1\ntargets.limit_db = 12\nrough = { file = 'r.wav' } # bounce\n";
    check(
        text,
        |s| {
            s.targets.limit_db = 18.0;
            s.rough.as_mut().unwrap().file = "s.wav".into();
        },
        &[
            "targets.limit_db = 12",
            "rough = { file = 'r.wav' } # bounce",
        ],
        &[
            "targets.limit_db = 18.0",
            "rough = { file = \"s.wav\" } # bounce",
        ],
    );
}

#[test]
fn breakpoints_in_every_form() {
    let start = "format = 1\n[[tracks]]\nid = \"a\"\nfile = \"a.wav\"\n[[moves]]\nid = \"m\"\n\
                 kind = \"fader\"\ntarget = \"a\"\nparameters = { gain_db = 0 }\n";
    let inline =
        format!("{start}at = [{{ time_s = 1, gain_db = -2 }}, {{ time_s = 2.5, gain_db = 0 }}]\n");
    let tables = format!(
        "{start}[[moves.at]]\ntime_s = 1\ngain_db = -2\n[[moves.at]]\ntime_s = 2.5\ngain_db = 0\n"
    );
    let points = [(1.0, -2.0), (2.5, 0.0)];
    let points = points.map(|(time_s, gain_db)| Breakpoint { time_s, gain_db });
    for text in [inline, tables] {
        let mut session = Session::parse(&text).unwrap();
        assert_eq!(session.moves[0].at, Some(At::Breakpoints(points.to_vec())));
        assert_eq!(session.to_toml(), text);
        session.moves[0].at = Some(At::Breakpoints(points[..1].to_vec()));
        let edited = session.to_toml();
        assert_eq!(Session::parse(&edited).unwrap(), session, "\n{edited}");
    }
}

#[test]
fn a_new_session_is_written_in_full() {
    let mut session = Session::new("River");
    session.tracks.push(Track::new("kick", "kick.wav"));
    session.moves.push(Move::new(
        Target::Track("kick".into()),
        Parameters::Polarity {},
        By::Cupel,
        "low end",
        "",
    ));
    let version = env!("CARGO_PKG_VERSION");
    let expected = format!(
        "# Session file of Cupel. Edit it freely: comments, order and hand edits are kept.
# Gains are relative to the tracks as exported. `locked = true` keeps a move as it is.
format = 1
written_by = \"cupel {version}\"
name = \"River\"

[targets]
kick_peak_dbfs = -12.0
headroom_dbfs = -3.0
limit_db = 24.0

[[tracks]]
id = \"kick\"
file = \"kick.wav\"

[[moves]]
id = \"kick-polarity\"
target = \"kick\"
kind = \"polarity\"
parameters = {{}}
on = true
locked = false
by = \"cupel\"
stage = \"low end\"
why = \"\"
"
    );
    assert_eq!(session.to_toml(), expected);
}

/// The version in the file follows the writer, but only when it writes.
#[test]
fn the_writer_is_noted_when_it_writes() {
    let text = "format = 1\nwritten_by = \"cupel 0.0.1\"\n";
    let mut session = Session::parse(text).unwrap();
    assert_eq!(session.to_toml(), text);
    session.name = Some("x".into());
    let version = env!("CARGO_PKG_VERSION");
    assert_eq!(
        session.to_toml(),
        format!("format = 1\nwritten_by = \"cupel {version}\"\nname = \"x\"\n")
    );
}
