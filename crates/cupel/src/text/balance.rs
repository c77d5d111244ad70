//! Summary of `balance`.

use cupel_session::{Move, MoveKind, Target};
use cupel_solve::{Offset, Polarity, ReferenceKind, SONG_ERROR_DB, SONG_PART};
use cupel_units::{read_dbfs, read_hertz};
use cupel_work::Balanced;

use crate::text::{moves, notes, standing, wrap};
use crate::view::{State, print_in_words};

/// Moves beyond this are named (common practice, no source).
const LARGE_DB: f64 = 12.0;

pub(crate) fn summary(balanced: &Balanced, state: &State<'_>) -> String {
    let mut text = format!("Moves, in the order to do them:\n{}", moves(state));
    let mut lines: Vec<String> = print_in_words(state)
        .map(|words| words.trim_end_matches('.').to_owned())
        .into_iter()
        .collect();
    if balanced.headroom_cut_db > 0.0 {
        let kick = balanced.predicted.mix.kick_peak_dbfs;
        lines.push(match kick.filter(|_| balanced.assayed.kick.is_some()) {
            Some(_) => format!(
                "the whole mix is {:.1} dB lower than the anchor asks, to keep the headroom; the \
                 kick then peaks at {}",
                balanced.headroom_cut_db,
                read_dbfs(kick)
            ),
            None => {
                format!(
                    "all down by {:.1} dB to keep the headroom",
                    balanced.headroom_cut_db
                )
            }
        });
    }
    lines.extend(over_headroom(balanced));
    if balanced.assayed.kick.is_none() {
        lines.push("no kick can be told apart here, so nothing is anchored".into());
    }
    for known in &balanced.found.cannot_tell {
        lines.push(format!(
            "cannot tell: {} is {}",
            state.name_of(&known.track),
            known.why
        ));
    }
    lines.extend(advice(balanced, state));
    if balanced
        .assayed
        .passages
        .as_ref()
        .is_none_or(|p| p.reference.is_none())
    {
        lines.push("without a reference only the anchor is set".into());
    }
    text.push_str(&notes(&lines));
    text.push_str(&format!("\nExpected:\n{}", standing(state)));
    let worse = state.worse();
    if !worse.is_empty() {
        text.push_str(&format!("\nIt gets worse here:\n{}", notes(&worse)));
    }
    let remains = remains(balanced, state);
    if !remains.is_empty() {
        text.push_str(&format!("\nNo fader mends this:\n{}", notes(&remains)));
    }
    let next = "Next: cupel render. Values are relative to the tracks as exported; each can be \
                changed, switched off or locked in the session file.";
    text.push_str(&format!("\n{}", wrap(next, 0)));
    text
}

/// Said where the headroom is not kept because no trim of Cupel's may act.
fn over_headroom(balanced: &Balanced) -> Option<String> {
    let headroom_dbfs = balanced.assayed.surveyed.session.targets.headroom_dbfs;
    let peak_dbfs = balanced.predicted.mix.summary.sample_peak_dbfs?;
    (peak_dbfs > headroom_dbfs + 0.05).then(|| {
        format!(
            "the sample peak of the mix is {peak_dbfs:.1} dBFS, over the headroom of \
             {headroom_dbfs:.1} dBFS: the trim of all tracks is yours or off, so it is left alone"
        )
    })
}

/// How to carry the moves over, and what they do elsewhere.
fn advice(balanced: &Balanced, state: &State<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    let faders = balanced.moves.iter().filter(|step| step.on);
    let gains: Vec<(&Move, f64)> = faders
        .filter(|step| step.kind == MoveKind::Fader)
        .filter_map(|step| Some((step, step.parameters.gain_db()?)))
        .collect();
    let large: Vec<String> = gains
        .iter()
        .filter(|(_, gain_db)| gain_db.abs() > LARGE_DB)
        .map(|(step, _)| state.target_of(step))
        .collect();
    if !large.is_empty() {
        lines.push(format!(
            "more than {LARGE_DB:.0} dB: {}. Make sure that the right file was exported, then \
             move in two steps",
            large.join(", ")
        ));
    }
    let is_song = balanced.found.reference == Some(ReferenceKind::Song);
    if is_song && !gains.is_empty() {
        lines.push(format!(
            "another song tells a level to within about {SONG_ERROR_DB} dB, and is more often too \
             far off than too near: faders go {:.0} percent of the way, and what lies within it \
             stays",
            100.0 * SONG_PART
        ));
    }
    if !gains.is_empty() {
        lines.push(
            "where a fader carries automation, set the trim before it by the same amount; \
             returns fed after the fader move along"
                .into(),
        );
    }
    for (step, _) in &gains {
        let Target::Track(id) = &step.target else {
            continue;
        };
        let returns = returns_of(id, balanced, state);
        if !returns.is_empty() {
            lines.push(format!(
                "with {} its return moves along: {}",
                state.name_of(id),
                returns.join(", ")
            ));
        }
    }
    lines.extend(state.lost_in_mono());
    match balanced.found.polarity {
        _ if matches!(balanced.found.offset, Some(Offset::Shift { .. })) => {}
        Some(Polarity::Right { loss_db, .. }) => lines.push(format!(
            "kick and bass help each other below 150 Hz: turned over, they would lose {loss_db:.1} dB"
        )),
        Some(Polarity::CannotTell { hits }) if hits > 0 => lines.push(
            "whether kick and bass cancel cannot be told: neither a turn nor a shift of a few \
             milliseconds wins on most hits"
                .into(),
        ),
        _ => {}
    }
    lines.extend(
        balanced
            .sections
            .iter()
            .map(|sentence| format!("{sentence}; a move for that section is written down, off")),
    );
    for heard in balanced.found.audible.iter().filter(|heard| !heard.enough) {
        lines.push(format!(
            "{} is heard in {:.0} percent of the places where it plays; at best it lies {:.1} dB \
             against the rest, at {}",
            heard.element,
            100.0 * heard.heard_part,
            heard.best_db,
            read_hertz(heard.best_hz.round())
        ));
    }
    lines
}

/// Tracks whose names say that they are the return of another.
fn returns_of(id: &str, balanced: &Balanced, state: &State<'_>) -> Vec<String> {
    const WORDS: [&str; 9] = [
        "verb", "reverb", "room", "hall", "plate", "delay", "echo", "return", "send",
    ];
    let words = |name: &str| -> Vec<String> {
        let lower = name.to_lowercase();
        let split = lower.split(|c: char| !c.is_alphabetic());
        split.filter(|w| !w.is_empty()).map(str::to_owned).collect()
    };
    let own = words(&state.name_of(id));
    let tracks = balanced.assayed.surveyed.included();
    tracks
        .filter(|(other, _)| other.track.id != id)
        .map(|(other, _)| state.name_of(&other.track.id))
        .filter(|name| {
            let (returns, rest): (Vec<String>, Vec<String>) = words(name)
                .into_iter()
                .partition(|w| WORDS.contains(&w.as_str()));
            !returns.is_empty() && !rest.is_empty() && rest.iter().all(|word| own.contains(word))
        })
        .collect()
}

/// What the best balance leaves, by band and track.
fn remains(balanced: &Balanced, state: &State<'_>) -> Vec<String> {
    let found = balanced.found.remains.iter().take(4);
    found
        .map(|left| {
            let side = if left.difference_db > 0.0 {
                "over"
            } else {
                "under"
            };
            let cause = match left.arrangement {
                true => "other things play there in the reference: arrangement, not mix",
                false => "that is the sound itself",
            };
            format!(
                "{}-{}: {:.1} dB {side} the reference after every move; most of it is {} \
                 ({:.0} percent): {cause}",
                read_hertz(left.low_hz.round()),
                read_hertz(left.high_hz.round()),
                left.difference_db.abs(),
                state.name_of(&left.track),
                100.0 * left.share
            )
        })
        .collect()
}
