//! A new round in place of the last one.

use cupel_session::{By, Keep, Move, Parameters, Session, Target, Track};

fn fader(track: &str, stage: &str, gain_db: f64) -> Move {
    let target = Target::Track(track.into());
    Move::new(target, Parameters::Fader { gain_db }, By::Cupel, stage, "")
}

fn session(moves: Vec<Move>) -> Session {
    let mut session = Session::new("test");
    for id in ["bass", "clap", "lead", "pad"] {
        session.tracks.push(Track::new(id, format!("{id}.wav")));
    }
    session.moves = moves;
    session
}

fn ids(session: &Session) -> Vec<&str> {
    session.moves.iter().map(|step| step.id.as_str()).collect()
}

#[test]
fn ids_and_places_stay() {
    let mut session = session(vec![
        fader("bass", "low end", -1.0),
        fader("clap", "core", -2.0),
        fader("lead", "rest", -3.0),
    ]);
    session.moves[1].id = "my-clap".into();
    session.moves[1].on = false;
    let new = vec![
        fader("pad", "core", 4.0),
        fader("lead", "rest", 3.0),
        fader("clap", "core", 2.0),
    ];
    let report = session.replace_moves(new, Keep::LockedAndHand);
    assert_eq!(ids(&session), ["my-clap", "pad-fader", "lead-fader"]);
    assert_eq!(
        session.moves[0].parameters,
        Parameters::Fader { gain_db: 2.0 }
    );
    assert!(
        session.moves[0].on,
        "on and off stay with locked moves only"
    );
    assert_eq!(report.removed, ["bass-fader"]);
    assert_eq!(report.written, ["my-clap", "lead-fader", "pad-fader"]);
    assert!(report.kept.is_empty() && report.refused.is_empty());
}

#[test]
fn locked_moves_and_those_by_hand_stay() {
    let mut locked = fader("bass", "low end", -1.0);
    locked.locked = true;
    locked.on = false;
    let mut hand = fader("clap", "hand", -2.0);
    hand.by = By::Hand;
    let mut session = session(vec![
        hand.clone(),
        locked.clone(),
        fader("lead", "rest", 1.0),
    ]);
    let again = fader("bass", "low end", 5.0);
    let new = vec![again.clone(), fader("clap", "core", 2.0)];
    let report = session.replace_moves(new, Keep::LockedAndHand);
    assert_eq!(report.kept, ["clap-fader", "bass-fader"]);
    assert_eq!(report.refused, [again]);
    assert_eq!(report.removed, ["lead-fader"]);
    assert_eq!(ids(&session), ["clap-fader", "bass-fader", "clap-fader-2"]);
    assert_eq!(session.moves[..2], [hand, locked]);
}

#[test]
fn later_rounds_keep_what_is_on() {
    let mut off = fader("lead", "rest", 1.0);
    off.on = false;
    let mut session = session(vec![fader("clap", "core", -2.0), off]);
    let new = vec![fader("clap", "core", -0.5), fader("lead", "rest", 2.0)];
    let report = session.replace_moves(new, Keep::On);
    assert_eq!(report.kept, ["clap-fader"]);
    assert_eq!(ids(&session), ["clap-fader", "clap-fader-2", "lead-fader"]);
    assert_eq!(session.net_gain_db("clap"), -2.5);
    assert_eq!(session.net_gain_db("lead"), 2.0);
}

#[test]
fn the_same_round_twice_changes_nothing() {
    let round = || vec![fader("bass", "low end", 1.0), fader("bass", "core", 2.0)];
    let mut session = session(Vec::new());
    session.replace_moves(round(), Keep::LockedAndHand);
    let once = session.clone();
    session.replace_moves(round(), Keep::LockedAndHand);
    assert_eq!(session, once);
    assert_eq!(ids(&session), ["bass-fader", "bass-fader-2"]);
}
