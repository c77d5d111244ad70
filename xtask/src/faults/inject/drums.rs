//! Faults of sounds, of what plays, and of dynamics.

use crate::faults::beats::{held_under, made_kick, pitch_hz, power_of};
use crate::faults::clean::{Clean, sum_of};
use crate::faults::filter::bell;
use crate::faults::inject::{Fault, Put, names, one, way};
use crate::faults::sound::{Sound, db_to_gain};
use crate::prove::dice::Dice;

const BY_KICK: &[&str] = &[
    "kick-pitch",
    "kick-long",
    "kick-unlike",
    "kick-lows",
    "bass-lows",
    "kick-bass-overlap",
    "kick-bass-cancel",
    "club-lows",
    "core-level",
    "other-level",
    "premaster-peak",
    "flattened",
    "small-speaker",
];

/// A band far up holds most of what is loud: the mix leans as the tracks in it do.
const BY_COLOUR: &[&str] = &[
    "mix-lean",
    "harsh",
    "mud",
    "dull",
    "sibilance",
    "core-level",
    "other-level",
    "kick-lows",
    "bass-lows",
    "crowded-top",
    "premaster-peak",
    "width-band",
    "hidden",
];

pub(super) const FAULTS: &[Fault] = &[
    Fault::sized("kick-pitch", BY_KICK, kick_pitch),
    Fault::sized("kick-long", BY_KICK, kick_long),
    Fault::sized("kick-unlike", BY_KICK, kick_unlike),
    Fault::there(
        "one-place",
        &["core-level", "other-level", "hidden", "same-twice"],
        one_place,
    ),
    Fault::sized("unmended", BY_COLOUR, unmended).whole(),
    Fault::sized("flattened", &["core-level", "other-level"], flattened),
    Fault::sized("no-lift", &["core-level", "other-level"], no_lift).whole(),
];

/// Another kick, between half a semitone and two off the bass note that sounds under
/// it most, resting so long that both drift apart by so many beats. A bass that plays
/// between the kicks holds its note under them, too.
fn kick_pitch(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let hits = clean.busiest_hits(0.35);
    let low = clean.sounding(&["bass", "sub"]);
    let &player = low.last()?;
    if hits.len() < 8 {
        return None;
    }
    let bass = sum_of(low.iter().map(|&place| &*clean.tracks[place].sound));
    let bass_hz = pitch_hz(&bass.left, clean.rate_hz, &hits, (36.0, 90.0))?;
    let beats = 0.5 * times;
    let rest_s = (0.14 + 0.05 * times).min(0.3);
    let ratio = 1.0 + way(dice) * beats / rest_s / bass_hz;
    let hz = bass_hz * ratio.clamp(0.89, 1.122);
    let kick = clean.kick_sum();
    let gap = hits.iter().map(std::ops::Range::len).min()?;
    if (gap as f64) < rest_s * f64::from(clean.rate_hz) {
        return None;
    }
    let under: Vec<_> = hits
        .iter()
        .map(|hit| hit.start..(hit.start + clean.rate_hz as usize / 8).min(bass.frames()))
        .collect();
    let mut session = clean.clone();
    let of_kick = power_of(&kick.left, &under);
    if power_of(&bass.left, &under) < 0.4 * of_kick {
        let held = held_under(clean, bass_hz, (1.6 * of_kick).sqrt(), 1.0, dice);
        session.replace(player, clean.tracks[player].sound.plus(&held, 1.0));
    }
    let mut put = another_kick(
        &session,
        made_kick(clean, hz, rest_s + 0.03, kick.peak()),
        &format!("{hz:.1} Hz over {bass_hz:.1} Hz"),
    )?;
    // it is a matter between both
    put.right.extend(low);
    Some(put)
}

/// All tracks of the kick give way to one sound.
fn another_kick(clean: &Clean, sound: Sound, what: &str) -> Option<Put> {
    let kicks = clean.with_words(&["kick"]);
    let (&first, rest) = kicks.split_first()?;
    let mut session = clean.clone();
    session.replace(first, sound);
    for &place in rest {
        session.replace(place, clean.tracks[place].sound.gained(-200.0));
    }
    Put::new(session, kicks, format!("another kick: {what}"))
}

/// Its lows fall by 20 dB only in twice the usual gap to the next one, and more.
fn kick_long(clean: &Clean, _: &mut Dice, times: f64) -> Option<Put> {
    let hits = clean.busiest_hits(2.0);
    if hits.len() < 8 || clean.with_words(&["bass", "sub"]).is_empty() {
        return None;
    }
    let mut gaps: Vec<usize> = hits.iter().map(std::ops::Range::len).collect();
    gaps.sort_unstable();
    let gap_s = gaps[gaps.len() / 2] as f64 / f64::from(clean.rate_hz);
    let kick = clean.kick_sum();
    let hz = pitch_hz(&kick.left, clean.rate_hz, &hits, (38.0, 80.0))?;
    let sound = made_kick(clean, hz, 2.0 * times * gap_s, kick.peak());
    another_kick(clean, sound, &format!("{:.1} times the gap", 2.0 * times))
}

/// Five semitones off the reference's kick and more, or as much too long or short.
fn kick_unlike(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let (hz, length_ms) = clean.reference_kick?;
    let up = if hz < 55.0 { 1.0 } else { -1.0 };
    let (other_hz, other_ms) = match dice.chance(0.6) {
        true => (hz * (5.0 * up * times / 12.0).exp2(), length_ms),
        false => (hz, length_ms * 0.5f64.powf(times)),
    };
    if !(28.0..=180.0).contains(&other_hz) || other_ms < 25.0 {
        return None;
    }
    let peak = clean.kick_sum().peak();
    let sound = made_kick(clean, other_hz, 0.001 * other_ms, peak);
    another_kick(clean, sound, &format!("{other_hz:.0} Hz, {other_ms:.0} ms"))
}

/// A track plays what another plays, with nearly the same sound: a piano, or a new track
/// where there is none.
fn one_place(clean: &Clean, dice: &mut Dice, _: f64) -> Option<Put> {
    // what hardly matters in the mix wants no place
    let least = 0.03 * clean.sum_power();
    let of = one(clean, &["lead", "chords"], dice, |sound| {
        sound.power_in(clean.busiest()) > least
    })?;
    let source = &clean.tracks[of].sound;
    let coloured = source.filtered(&[bell(clean.rate_hz, 900.0, 2.0, 3.0)]);
    let frames = clean.rate_hz as usize / 80;
    let made = coloured.later(frames).as_loud_as(0.6 * source.power());
    let mut session = clean.clone();
    let on = match one(clean, &["piano"], dice, |_| true) {
        Some(on) => {
            session.replace(on, made);
            on
        }
        None => {
            let name = format!("{:02} Piano", clean.tracks.len() + 1);
            session.add(&name, "piano", made, true)
        }
    };
    let what = format!(
        "{} plays what {} plays",
        names(&session, &[on]),
        names(&session, &[of])
    );
    Put::new(session, vec![of, on], what)
}

/// Everything through one bell, as a sound that no fader changes.
fn unmended(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let hz = dice.pick(&[250.0, 800.0, 2_500.0]);
    let gain_db = 6.0 * times * way(dice);
    let band = [bell(clean.rate_hz, hz, 1.5, gain_db)];
    let mut session = clean.clone();
    session.change_all(|track| track.sound.filtered(&band));
    Put::new(
        session,
        Vec::new(),
        format!("everything {gain_db:+.0} dB about {hz} Hz"),
    )
}

/// What the hits of a drum stand over the 200 ms that follow at least, dB.
const USUAL_CREST_DB: [(&str, f64); 5] = [
    ("snare", 8.0),
    ("clap", 12.0),
    ("rimshot", 11.0),
    ("closed hat", 14.0),
    ("toms", 5.0),
];

/// A fast compressor takes peaks down until they stand 1 dB and more under what is
/// usual.
fn flattened(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let words = USUAL_CREST_DB.map(|(word, _)| word);
    let place = one(clean, &words, dice, |_| true)?;
    let sound = &clean.tracks[place].sound;
    let word = clean.tracks[place].word.as_str();
    let (_, usual_db) = USUAL_CREST_DB
        .into_iter()
        .find(|(known, _)| *known == word)?;
    let wanted_db = usual_db - times;
    let peak = sound.peak();
    let (mut low_db, mut high_db) = (-50.0, 0.0);
    for _ in 0..10 {
        let middle_db = 0.5 * (low_db + high_db);
        let made = compressed(sound, peak * db_to_gain(middle_db), clean.rate_hz);
        match crest_db(&made, clean.rate_hz)? > wanted_db {
            true => high_db = middle_db,
            false => low_db = middle_db,
        }
    }
    let made = compressed(sound, peak * db_to_gain(low_db), clean.rate_hz);
    let reached_db = crest_db(&made, clean.rate_hz)?;
    if low_db < -45.0 || reached_db > wanted_db + 0.5 {
        return None;
    }
    let mut session = clean.clone();
    session.replace(place, made.as_loud_as(sound.power()));
    let what = format!("hits stand {reached_db:.1} dB over what follows");
    Put::new(session, vec![place], what)
}

fn compressed(sound: &Sound, ceiling: f64, rate_hz: u32) -> Sound {
    let release = 1.0 - (-1.0 / (0.15 * f64::from(rate_hz))).exp();
    let (mut gain, mut gains) = (1.0f64, Vec::with_capacity(sound.frames()));
    for (l, r) in sound.left.iter().zip(&sound.right) {
        let peak = f64::from(l.abs().max(r.abs()));
        let need = if peak > ceiling { ceiling / peak } else { 1.0 };
        gain = match need < gain {
            true => need,
            false => gain + release * (1.0 - gain),
        };
        gains.push(gain);
    }
    sound.map(|n, l, r| (gains[n] * l, gains[n] * r))
}

/// Middle over the hits of the peak against the level of the 200 ms that follow, dB.
fn crest_db(sound: &Sound, rate_hz: u32) -> Option<f64> {
    let block = rate_hz as usize / 100;
    let peaks: Vec<f32> = sound
        .left
        .chunks(block)
        .zip(sound.right.chunks(block))
        .map(|(l, r)| l.iter().chain(r).fold(0.0f32, |peak, x| peak.max(x.abs())))
        .collect();
    let least = 0.4 * peaks.iter().copied().fold(0.0, f32::max);
    let mut crests = Vec::new();
    let mut next = 3;
    while next + 25 < peaks.len() {
        let before = peaks[next - 3..next - 1]
            .iter()
            .copied()
            .fold(0.0, f32::max);
        if peaks[next] < least || peaks[next] < 2.0 * before {
            next += 1;
            continue;
        }
        let peak = f64::from(peaks[next].max(peaks[next + 1]));
        let after = sound.power_in(next * block..(next + 20) * block);
        crests.push(20.0 * peak.log10() - 10.0 * after.max(1e-14).log10());
        next += 12;
    }
    crests.sort_by(f64::total_cmp);
    (crests.len() >= 4).then(|| crests[crests.len() / 2])
}

/// Of a lift of 3 LU into the busiest section, over the quietest that leads to it, 2 LU
/// are missing, and more. The level falls right before it, and comes back after it bit by
/// bit: jumps would click, and make an edge where nothing begins.
fn no_lift(clean: &Clean, _: &mut Dice, times: f64) -> Option<Put> {
    let rate = f64::from(clean.rate_hz);
    let at = |seconds: f64| (seconds.min(1e5) * rate) as usize;
    let (from_s, to_s) = clean.busiest_s;
    let mut before: Vec<&(String, f64, f64)> = clean.sections.iter().collect();
    before.retain(|(_, _, end_s)| *end_s < from_s + 0.1);
    let quietest = |sum: &Sound| {
        let leads = before.iter().rev().take_while(|(name, ..)| name != "drop");
        let powers = leads.take(2).map(|(_, a, b)| sum.power_in(at(*a)..at(*b)));
        powers.reduce(f64::min).filter(|power| *power > 0.0)
    };
    let sum = clean.sum();
    let lift_db = |sum: &Sound| {
        let here = sum.power_in(clean.busiest());
        Some(10.0 * (here / quietest(sum)?).log10())
    };
    let wanted_db = 3.0 - 2.0 * times;
    if lift_db(&sum)? < wanted_db {
        return None;
    }
    let turned = |sound: &Sound, gain_db: f64| {
        sound.map(|n, l, r| {
            let t = n as f64 / rate;
            let down = 1.0 - (from_s - t) / FALL_S;
            let back = 1.0 - (t - to_s) / BACK_S;
            let part = down.min(back).clamp(0.0, 1.0);
            let gain = db_to_gain(part * gain_db);
            (gain * l, gain * r)
        })
    };
    let mut gain_db = 0.0;
    for _ in 0..6 {
        gain_db += wanted_db - lift_db(&turned(&sum, gain_db))?;
    }
    let mut session = clean.clone();
    session.change_all(|track| turned(&track.sound, gain_db));
    Put::new(
        session,
        Vec::new(),
        format!("the drop lifts by {wanted_db:.0} dB"),
    )
}

/// The level falls for so long before a drop, and comes back for so long after it.
const FALL_S: f64 = 0.25;
const BACK_S: f64 = 10.0;
