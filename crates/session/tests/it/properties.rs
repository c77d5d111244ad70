//! What holds for any text and any edit.

use cupel_session::{
    At, Breakpoint, By, Delay, Group, Move, Parameters, Passage, ReferenceEntry, Session, Target,
    Track,
};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use crate::example::BY_HAND;

/// Texts near a session file: the example with pieces replaced by others.
fn mutated() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        Just("\n"),
        Just("["),
        Just("]"),
        Just("\""),
        Just("'''"),
        Just("{"),
        Just("}"),
        Just("="),
        Just("#"),
        Just("\r\n"),
        Just("\u{feff}"),
        Just("-inf"),
        Just("1e999"),
        Just("99999999999999999999"),
        Just("[[moves]]\n"),
        Just("[moves.parameters]\n"),
        Just("[[moves.at]]\n"),
        Just("at = [{}]\n"),
        Just("ä"),
        Just("format = 2\n"),
        Just(""),
    ];
    prop::collection::vec((0..BY_HAND.len(), 0..12usize, piece), 1..5).prop_map(|cuts| {
        let mut text = BY_HAND.to_owned();
        for (at, length, piece) in cuts {
            let at = at.min(text.len());
            let end = (at + length).min(text.len());
            if text.is_char_boundary(at) && text.is_char_boundary(end) {
                text.replace_range(at..end, piece);
            }
        }
        text
    })
}

fn word() -> impl Strategy<Value = String> {
    "[a-z]{1,6}"
}

fn any_text() -> impl Strategy<Value = String> {
    "[ -~äß\u{1F3B5}\t\n\r\"'\\\\#=]{1,12}".prop_map(|text| format!("x{text}"))
}

fn parameters() -> impl Strategy<Value = Parameters> {
    prop_oneof![
        (-96.0..24.0).prop_map(|gain_db| Parameters::Fader { gain_db }),
        (-1.0..1.0, proptest::option::of(-40.0..3.0)).prop_map(|(position, side_db)| {
            Parameters::Pan {
                position,
                left_db: side_db,
                right_db: None,
            }
        }),
        Just(Parameters::Polarity {}),
        (-1000.0..1000.0).prop_map(|delay_ms| Parameters::Offset(Delay::Milliseconds { delay_ms })),
        (-9999i64..9999)
            .prop_map(|delay_samples| Parameters::Offset(Delay::Samples { delay_samples })),
        (10.0..8000.0).prop_map(|cutoff_hz| Parameters::LowCut {
            cutoff_hz,
            slope_db_per_octave: 24,
        }),
    ]
}

fn places() -> impl Strategy<Value = Option<At>> {
    let points = prop::collection::vec((0.1..9.0, -96.0..24.0), 1..4).prop_map(|steps| {
        let mut time_s = 0.0;
        let point = |(step_s, gain_db): (f64, f64)| {
            time_s += step_s;
            Breakpoint { time_s, gain_db }
        };
        At::Breakpoints(steps.into_iter().map(point).collect())
    });
    let sections = prop::collection::vec(any_text(), 1..3).prop_map(At::Sections);
    proptest::option::of(prop_oneof![points, sections])
}

/// An edit of a session with the tracks of [`BY_HAND`].
#[derive(Clone, Debug)]
enum Edit {
    Name(Option<String>),
    Reference(Option<String>, Option<(f64, f64)>),
    Limit(f64),
    AddTrack(String, Option<Group>),
    RemoveMove(usize),
    SwapMoves(usize, usize),
    AddMove(usize, Parameters, Option<At>, String),
    SetParameters(usize, Parameters),
    Flip(usize),
}

fn edit() -> impl Strategy<Value = Edit> {
    prop_oneof![
        proptest::option::of(any_text()).prop_map(Edit::Name),
        (
            proptest::option::of(any_text()),
            proptest::option::of((0.0..50.0, 51.0..99.0))
        )
            .prop_map(|(file, passage)| Edit::Reference(file, passage)),
        (1.0..60.0).prop_map(Edit::Limit),
        (
            word(),
            proptest::option::of(proptest::sample::select(Group::ALL))
        )
            .prop_map(|(id, group)| Edit::AddTrack(id, group)),
        (0..9usize).prop_map(Edit::RemoveMove),
        (0..9usize, 0..9usize).prop_map(|(a, b)| Edit::SwapMoves(a, b)),
        (0..9usize, parameters(), places(), any_text())
            .prop_map(|(at, parameters, places, why)| Edit::AddMove(at, parameters, places, why)),
        (0..9usize, parameters()).prop_map(|(at, parameters)| Edit::SetParameters(at, parameters)),
        (0..9usize).prop_map(Edit::Flip),
    ]
}

fn apply(session: &mut Session, edit: Edit) {
    let count = session.moves.len();
    match edit {
        Edit::Name(name) => session.name = name,
        Edit::Reference(file, passage) => {
            session.reference = file.map(|file| ReferenceEntry {
                file,
                passage: passage.map(|(start_s, end_s)| Passage { start_s, end_s }),
                ..ReferenceEntry::default()
            });
        }
        Edit::Limit(limit_db) => session.targets.limit_db = limit_db,
        Edit::AddTrack(id, group)
            if session.track(&id).is_none() && !["all", "mix"].contains(&id.as_str()) =>
        {
            let mut track = Track::new(&id, format!("{id}.wav"));
            track.group = group;
            session.tracks.push(track);
        }
        Edit::RemoveMove(at) if at < count => {
            session.moves.remove(at);
        }
        Edit::SwapMoves(a, b) if a < count && b < count => session.moves.swap(a, b),
        Edit::AddMove(at, parameters, places, why) => {
            let target = Target::Track("kick".into());
            let mut step = Move::new(target, parameters, By::Cupel, "rest", why);
            step.id = format!("new-{count}-{at}");
            step.at = places.filter(|places| {
                matches!(places, At::Sections(_)) || parameters.gain_db().is_some()
            });
            if session.moves.iter().all(|other| other.id != step.id) {
                session.moves.insert(at.min(count), step);
            }
        }
        Edit::SetParameters(at, parameters) if at < count => {
            let step = &mut session.moves[at];
            step.target = Target::Track("bass".into());
            step.kind = parameters.kind();
            step.parameters = parameters;
            step.at = None;
        }
        Edit::Flip(at) if at < count => session.moves[at].on ^= true,
        _ => {}
    }
}

/// The example with its tables in another order, tracks and moves mixed, and
/// numbered comments between lines and behind them.
fn another_layout() -> impl Strategy<Value = String> {
    let root_end = BY_HAND.find("[reference]").unwrap();
    let (root, tables) = BY_HAND.split_at(root_end);
    let tables = tables.replace("\n\n[moves.parameters]", "\n[moves.parameters]");
    let blocks: Vec<String> = tables.split("\n\n").map(str::to_owned).collect();
    let lines = BY_HAND.lines().count();
    let notes = prop::collection::vec((0..lines, any::<bool>()), 0..12);
    (Just(blocks).prop_shuffle(), notes).prop_map(move |(blocks, notes)| {
        let text = format!("{root}{}", blocks.join("\n\n"));
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        for (number, (at, behind)) in notes.into_iter().enumerate() {
            let note = format!("# note {number}.");
            match lines.get_mut(at) {
                Some(line) if behind && !line.is_empty() && !line.contains('#') => {
                    *line = format!("{line} {note}");
                }
                Some(_) => lines.insert(at, note),
                None => lines.push(note),
            }
        }
        lines.join("\n") + "\n"
    })
}

/// The comments of a text, sorted. Values of the edits have `#` only after
/// another `#` or inside of quotes, never `# ` with a word of the example.
fn comments(text: &str) -> Vec<String> {
    let mut found: Vec<String> = text
        .lines()
        .filter_map(|line| Some(line.rsplit_once("# ")?.1.to_owned()))
        .filter(|comment| comment.starts_with("note ") || BY_HAND.contains(comment.as_str()))
        .filter(|comment| comment.len() > 4)
        .collect();
    found.sort();
    found
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 512,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(1),
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_text_is_read_or_refused(text in any::<String>()) {
        if let Ok(session) = Session::parse(&text) {
            prop_assert_eq!(session.to_toml(), text);
        }
    }

    #[test]
    fn nearly_right_text_is_read_or_refused(text in mutated()) {
        if let Ok(session) = Session::parse(&text) {
            prop_assert_eq!(session.to_toml(), text);
        }
    }

    /// Also with mark and the other line ends: they stay as well.
    #[test]
    fn any_edit_is_read_back_and_keeps_comments(
        edits in prop::collection::vec(edit(), 1..8),
        windows in any::<bool>(),
    ) {
        let text = if windows {
            format!("\u{feff}{}", BY_HAND.replace('\n', "\r\n"))
        } else {
            BY_HAND.to_owned()
        };
        let mut session = Session::parse(&text).unwrap();
        for edit in edits {
            apply(&mut session, edit);
            let edited = session.to_toml();
            let again = Session::parse(&edited);
            prop_assert!(again.is_ok(), "{:?}\n{}", again, edited);
            prop_assert_eq!(again.unwrap(), session.clone(), "\n{}", edited);
            prop_assert_eq!(comments(&edited), comments(BY_HAND), "\n{}", edited);
        }
    }

    /// Tables in any order, comments anywhere: what is read back is what was
    /// edited, and no comment goes.
    #[test]
    fn any_layout_can_be_edited(
        text in another_layout(),
        edits in prop::collection::vec(edit(), 1..6),
    ) {
        let mut session = Session::parse(&text).unwrap();
        prop_assert_eq!(session.to_toml(), text.clone());
        for edit in edits {
            apply(&mut session, edit);
        }
        let edited = session.to_toml();
        let again = Session::parse(&edited);
        prop_assert!(again.is_ok(), "{:?}\n{}\n->\n{}", again, text, edited);
        prop_assert_eq!(again.unwrap(), session, "\n{}\n->\n{}", text, edited);
        prop_assert_eq!(comments(&edited), comments(&text), "\n{}\n->\n{}", text, edited);
    }
}
