//! The reference as a print of this very mix, in words.

use cupel_solve::ReferenceKind;

use crate::view::State;

/// A tempo that differs by less is the same, as a part.
const SAME_TEMPO: f64 = 0.002;
/// A crest lower by this much says that it was limited, dB (common practice, no source).
const LIMITED_DB: f64 = 2.0;

/// What was done to the mix to make it the reference, and where both were compared;
/// `None` where the reference is another song, or was not judged.
pub(crate) fn print_in_words(state: &State<'_>) -> Option<String> {
    let found = state.found?;
    if found.reference != Some(ReferenceKind::Print) {
        return None;
    }
    let mut done = Vec::new();
    let place = found.print;
    match place.map_or(0, |place| place.semitones) {
        0 => {}
        by => {
            let way = if by > 0 { "up" } else { "down" };
            let plural = if by.abs() == 1 { "" } else { "s" };
            done.push(format!("transposed {way} by {} semitone{plural}", by.abs()));
        }
    }
    done.extend(tempo(state));
    done.extend(limited(state));
    let done = match done.as_slice() {
        [] => String::new(),
        some => format!(", {}", some.join(", ")),
    };
    let mut words = format!(
        "The reference is this mix itself{done}: it agrees cell by cell, so levels are read \
         from it as from a print"
    );
    if place.is_some_and(|place| place.at_the_passage) {
        words.push_str("; it is compared at the place of the passage, not where it is busiest");
    }
    words.push('.');
    Some(words)
}

fn tempo(state: &State<'_>) -> Option<String> {
    let own_bpm = state.assayed.music.grid.tempo_bpm?;
    let other_bpm = state.assayed.reference_music.as_ref()?.grid.tempo_bpm?;
    let faster = other_bpm / own_bpm - 1.0;
    (faster.abs() > SAME_TEMPO).then(|| {
        let way = if faster > 0.0 { "faster" } else { "slower" };
        format!("played {:.1} percent {way}", 100.0 * faster.abs())
    })
}

fn limited(state: &State<'_>) -> Option<String> {
    let passages = state.assayed.passages.as_ref()?;
    let own_db = passages.mix.crest_db?;
    let other_db = passages.reference.as_ref()?.summary.crest_db?;
    let lower_db = own_db - other_db;
    (lower_db > LIMITED_DB).then(|| format!("limited (its crest is {lower_db:.1} dB lower)"))
}
