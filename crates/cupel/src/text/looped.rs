//! Summary of `loop`.

use std::cmp::Ordering;

use cupel_work::Looped;

use crate::text::{count, notes, wrap};

pub(crate) fn summary(looped: &Looped) -> String {
    let outputs = looped.assayed.surveyed.place.outputs();
    let (session, reference) = (&looped.session, &looped.reference);
    let mut text = format!(
        "Written to {}/loop:\n  session.wav    {} at {:.2} BPM, as they are\n",
        outputs.display(),
        count(session.bars(), "bar"),
        session.tempo_bpm(),
    );
    text.push_str(&format!(
        "  reference.wav  {} of {:.2} BPM, as long and at {:+.1} dB\n",
        laid(reference.bars(), session.bars()),
        reference.tempo_bpm(),
        looped.gain_db,
    ));
    if looped.semitones != 0.0 {
        text.push_str(&format!(
            "Transposed by {:+} semitones.\n",
            looped.semitones
        ));
    }
    text.push_str(&notes(&looped.notes));
    let caution = "For listening only: every measure comes from the untouched reference.";
    text.push_str(&wrap(caution, 0));
    text
}

/// Which bars of the reference were laid on those of the session.
fn laid(reference: usize, session: usize) -> String {
    let bars = count(reference, "bar");
    match reference.cmp(&session) {
        Ordering::Greater => format!("the first {session} of {bars}"),
        Ordering::Equal => bars,
        Ordering::Less => format!("{bars}, repeated,"),
    }
}
