//! The pitch at which the kick rests fights the bass or the key.

use cupel_harmony::{KickSound, Note};

use crate::evidence::{Evidence, PassageFacts, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::low_end::lows::{kick_slots, passage_span};

pub(crate) const KIND: Kind = Kind {
    name: "kick-pitch",
    family: Family::Sound,
    title: "the kick's pitch fights bass or key",
    cause: Cause::Sound,
    sizes: Sizes::look("beats", 0.5),
    weight: 0.6,
    brings: &["kick-bass-cancel"],
    unsure: true,
    measures: "How far kick and bass drift apart while both sound: the difference of the pitch \
               at which the kick rests and of the bass note under it, times the time for which \
               it rests. Half a beat is half a wave: help turns into hindrance. A kick \
               that rests for 16 waves is also held against the key.",
    matters: "Two low tones a semitone apart do not sound like two notes but like one that \
              swells and fades: the low end wobbles from hit to hit.",
    threshold: "Half a beat, where kick and bass lie within two semitones but not on one note \
                (common practice, no source; beats are arithmetic). Only to look at: many good \
                kicks are tuned to nothing. A kick that rests shorter has no pitch to fight \
                with.",
    mend: "Tune the kick to the bass note or to the tonic, choose a kick that does, or shorten \
           it so that its pitch is gone before the bass comes. No filter mends it.",
    wrong: "When the bass plays between the kicks, when the kick is all click and fall, or when \
            its pitch was misread in drive and noise.",
    hear: "Kick and bass alone through a low pass at 150 Hz: the long notes swell and fade \
           instead of standing still.",
    train: "Play two sines, 50 and 53 Hz, and bring one to the other: listen to the swell \
            slowing down until it stands still.",
};

/// The pitch of a kick read with less certainty is none.
const LEAST_SURE: f64 = 0.7;
/// Nearer is on the note; further is another note that can be told.
const ON_IT_SEMITONES: f64 = 0.35;
const NEAR_SEMITONES: f64 = 2.0;
/// Around the kick's pitch the bass counts from this level on, against the kick, dB.
const BASS_RANGE_DB: f64 = -5.0;
/// Part of the kicks with a bass note near to it that makes it a matter.
const LEAST_PART: f64 = 0.3;
/// Waves at rest from which on a kick has a pitch of its own against the key.
const PITCHED_WAVES: f64 = 16.0;

/// What the kick fights.
struct Fight {
    note: String,
    semitones: f64,
    beats: f64,
    part: f64,
}

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(mix) = &evidence.mix else {
        return Vec::new();
    };
    let Some(kick) = mix.kick.as_ref().filter(|kick| kick.sure >= LEAST_SURE) else {
        return Vec::new();
    };
    let fight = evidence
        .passage
        .as_ref()
        .and_then(|passage| fight(evidence, passage, kick, &mix.bass));
    let found = match fight {
        Some(fight) => KIND
            .sizes
            .grade(fight.beats)
            .map(|grade| with_bass(evidence, kick, &fight, grade)),
        None => against_key(evidence, kick),
    };
    found.into_iter().collect()
}

/// Time for which the kick rests at its pitch, seconds.
fn rest_s(kick: &KickSound) -> f64 {
    (0.001 * (kick.length_ms - kick.fall_ms)).max(0.0)
}

fn midi(hertz: f64) -> f64 {
    69.0 + 12.0 * (hertz / 440.0).log2()
}

fn hertz(midi: f64) -> f64 {
    440.0 * ((midi - 69.0) / 12.0).exp2()
}

/// The note that most often sounds near the kick's pitch, on it or not, while the
/// kick sounds.
fn fight(
    evidence: &Evidence,
    passage: &PassageFacts,
    kick: &KickSound,
    bass: &[Note],
) -> Option<Fight> {
    let low_end = &evidence.low_end;
    let bands = passage.bands_within(0.7 * kick.fundamental_hz, 1.5 * kick.fundamental_hz);
    let power = |tracks: &[usize], slot: usize| -> f64 {
        let sounds = tracks.iter().filter_map(|&track| passage.tracks.get(track));
        sounds
            .map(|powers| passage.in_slot(&powers.whole, &bands, slot))
            .sum()
    };
    let both = |slot: &usize| {
        let bass = power(&low_end.bass, *slot);
        bass > 0.0 && ratio_db(bass, power(&low_end.kick, *slot)) >= BASS_RANGE_DB
    };
    let slots: Vec<usize> = kick_slots(low_end).into_iter().filter(both).collect();
    let all = low_end.sixteenths.len();
    if slots.is_empty() || passage.bar_s <= 0.0 {
        return None;
    }
    let slot_s = passage.bar_s / all as f64;
    let bars = ((passage.span_s.1 - passage.span_s.0) / passage.bar_s).round() as usize;
    let mut near: Vec<(&Note, f64)> = Vec::new();
    for bar in 0..bars {
        for slot in &slots {
            let start_s = passage.span_s.0 + (bar * all + slot) as f64 * slot_s;
            let part = |note: &&Note| note.end_s.min(start_s + slot_s) - note.start_s.max(start_s);
            let sounding = bass.iter().filter(|note| part(note) >= 0.5 * slot_s);
            // The bass was read by one track; another may double it in another octave.
            let off = |note: &Note| {
                let off = midi(kick.fundamental_hz) - f64::from(note.midi) - 0.01 * note.cents_off;
                off - 12.0 * (off / 12.0).round()
            };
            near.extend(
                sounding
                    .map(|note| (note, off(note)))
                    .filter(|(_, off)| (ON_IT_SEMITONES..=NEAR_SEMITONES).contains(&off.abs())),
            );
        }
    }
    let part = near.len() as f64 / (bars * slots.len()).max(1) as f64;
    let beats = |off: f64| {
        let note_hz = hertz(midi(kick.fundamental_hz) - off);
        (kick.fundamental_hz - note_hz).abs() * rest_s(kick)
    };
    near.sort_by(|a, b| {
        beats(a.1)
            .total_cmp(&beats(b.1))
            .then(a.0.midi.cmp(&b.0.midi))
    });
    let (note, semitones) = *near.get(near.len() / 2)?;
    (part >= LEAST_PART).then(|| Fight {
        note: note.name.clone(),
        semitones,
        beats: beats(semitones),
        part,
    })
}

fn with_bass(evidence: &Evidence, kick: &KickSound, fight: &Fight, grade: Grade) -> Finding {
    let way = if fight.semitones > 0.0 {
        "above"
    } else {
        "below"
    };
    let words = format!(
        "The kick rests at {:.1} Hz, {:.1} semitones {way} the bass's {} that sounds under {:.0} \
         percent of its hits: the two drift apart by {:.2} of a wave while both sound.",
        kick.fundamental_hz,
        fight.semitones.abs(),
        fight.note,
        100.0 * fight.part.min(1.0),
        fight.beats
    );
    let note_hz = hertz(midi(kick.fundamental_hz) - fight.semitones);
    let tracks = [&evidence.low_end.kick[..], &evidence.low_end.bass[..]].concat();
    let finding = Finding::new(&KIND, grade, fight.beats, words).mend(format!(
        "Tune the kick by {:+.1} semitones to {note_hz:.1} Hz, or shorten it, so that it is gone \
         before its pitch is heard.",
        -fight.semitones
    ));
    dressed(evidence, finding, kick, note_hz, ("the bass note", tracks))
}

/// A kick with a pitch of its own, outside the key.
fn against_key(evidence: &Evidence, kick: &KickSound) -> Option<Finding> {
    let mix = evidence.mix.as_ref()?;
    let key = mix.key.as_ref()?;
    let place = mix.kick_place.as_ref()?;
    let waves = rest_s(kick) * kick.fundamental_hz;
    if waves < PITCHED_WAVES {
        return None;
    }
    let tracks = evidence.low_end.kick.clone();
    if place.out_of_key == Some(false) && matches!(place.from_tonic, Some(0 | 7)) {
        let note = if place.from_tonic == Some(0) {
            "tonic"
        } else {
            "fifth"
        };
        let words = format!(
            "The kick is tuned: it rests at {:.1} Hz, the {note} of {key}.",
            kick.fundamental_hz
        );
        return Some(Finding::new(&KIND, Grade::Good, 0.0, words).on(evidence.ids(&tracks)));
    }
    if place.out_of_key != Some(true) {
        return None;
    }
    // In either mode every note outside the key lies a semitone off one inside.
    let note_hz = hertz(midi(kick.fundamental_hz).round() - 1.0);
    let beats = (kick.fundamental_hz - note_hz).abs() * rest_s(kick);
    KIND.sizes.grade(beats)?;
    let words = format!(
        "The kick rings long enough to have a pitch, {} at {:.1} Hz, and that is outside {key}.",
        kick.note, kick.fundamental_hz
    );
    let finding = Finding::new(&KIND, Grade::Look, beats, words).mend(format!(
        "Tune the kick by a semitone into {key}, or shorten it, so that its pitch is not heard."
    ));
    Some(dressed(
        evidence,
        finding,
        kick,
        note_hz,
        ("a note of the key", tracks),
    ))
}

fn dressed(
    evidence: &Evidence,
    finding: Finding,
    kick: &KickSound,
    note_hz: f64,
    (name, tracks): (&str, Vec<usize>),
) -> Finding {
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.into(),
        value,
        meant,
    };
    finding
        .on(evidence.ids(&tracks))
        .at(passage_span(evidence))
        .in_band((0.7 * kick.fundamental_hz, 1.5 * kick.fundamental_hz))
        .against(0.0, "kick and bass on one note")
        .sure(0.9 * kick.sure)
        .hear("Low notes that swell and fade on the hits instead of standing still.")
        .picture(Picture::Bars {
            unit: "Hz".into(),
            rows: vec![
                row("kick", kick.fundamental_hz, true),
                row(name, note_hz, false),
            ],
            limit: None,
        })
}

#[cfg(test)]
mod tests {
    use cupel_harmony::KickPlace;
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::{add, kick, notes, session};

    /// A kick beside long bass notes on G1 (48.999 Hz, ISO 16) that sound under it
    /// at a level.
    fn with(kick_hz: f64, length_ms: f64, bass_power: f64) -> Evidence {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        evidence.low_end.sixteenths = vec![[0.0, 1.0, 1.0]; 16];
        for slot in [0, 4, 8, 12] {
            evidence.low_end.sixteenths[slot] = [1.0, bass_power, 1.0];
        }
        let lows = (30.0, 100.0);
        add(&mut evidence, 0, lows, &[0, 4, 8, 12], ([1.0, 1.0], 0.0));
        let bass = ([bass_power, bass_power], 0.0);
        add(&mut evidence, 1, lows, &[0, 4, 8, 12], bass);
        if let Some(mix) = &mut evidence.mix {
            mix.kick = Some(kick(kick_hz, length_ms));
            mix.bass = notes(16.0, 0.5, &[31; 32]);
        }
        evidence
    }

    fn grade(kick_hz: f64, length_ms: f64, bass_power: f64) -> Option<Grade> {
        find(&with(kick_hz, length_ms, bass_power))
            .first()
            .map(|f| f.grade)
    }

    #[test]
    fn beats_are_counted_on_both_sides_of_the_limit() {
        // A semitone over 48.999 Hz is 2.914 Hz off; at rest from 60 ms on.
        let hz = 51.913;
        assert_eq!(grade(hz, 60.0 + 165.0, 0.5), None);
        assert_eq!(grade(hz, 60.0 + 180.0, 0.5), Some(Grade::Look));
    }

    #[test]
    fn on_the_note_or_far_from_it_nothing_fights() {
        assert_eq!(grade(49.0, 400.0, 0.5), None);
        assert_eq!(grade(58.0, 400.0, 0.5), None);
    }

    #[test]
    fn a_bass_read_an_octave_up_is_the_same_note() {
        let mut evidence = with(51.913, 400.0, 0.5);
        if let Some(mix) = &mut evidence.mix {
            mix.bass = notes(16.0, 0.5, &[43; 32]);
        }
        assert_eq!(find(&evidence)[0].grade, Grade::Look);
    }

    #[test]
    fn a_bass_that_makes_room_is_not_fought() {
        assert_eq!(grade(51.913, 400.0, 0.05), None);
    }

    #[test]
    fn the_key_counts_only_for_kicks_that_ring() {
        let with_key = |length_ms: f64, out: bool, from_tonic: i32| {
            let mut evidence = with(51.913, length_ms, 0.0);
            if let Some(mix) = &mut evidence.mix {
                mix.key = Some("D minor".into());
                mix.kick_place = Some(KickPlace {
                    out_of_key: Some(out),
                    from_tonic: Some(from_tonic),
                    ..KickPlace::default()
                });
            }
            find(&evidence).first().map(|finding| finding.grade)
        };
        assert_eq!(with_key(180.0, true, 6), None);
        assert_eq!(with_key(300.0, true, 6), None);
        assert_eq!(with_key(400.0, true, 6), Some(Grade::Look));
        assert_eq!(with_key(400.0, false, 3), None);
        assert_eq!(with_key(400.0, false, 7), Some(Grade::Good));
    }
}
