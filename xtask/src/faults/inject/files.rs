//! Faults of files.

use crate::faults::clean::Clean;
use crate::faults::inject::{Fault, Put, one};
use crate::faults::sound::{Sound, db_to_gain, mean_square};
use crate::levels::limiter::limited;
use crate::prove::dice::Dice;

pub(super) const FAULTS: &[Fault] = &[
    Fault::sized("flat-tops", &["flattened", "printed-limiter"], flat_tops),
    Fault::sized("dc-offset", &[], dc_offset),
    Fault::sized("hum", &["rumble"], hum),
    Fault::sized("edge-click", &[], edge_click),
    Fault::there(
        "dead-channel",
        &[
            "element-lean",
            "mix-lean",
            "lopsided-pair",
            "core-level",
            "other-level",
        ],
        dead_channel,
    ),
    Fault::there(
        "inverted-channel",
        &[
            "negative-correlation",
            "mono-loss",
            "mono-loss-band",
            "width-band",
            "core-level",
            "wide-lows",
        ],
        inverted_channel,
    ),
    Fault::sized("wrong-start", &[], wrong_start),
    Fault::there("same-twice", BY_SIX_DECIBELS, same_twice),
    Fault::there("missing-track", &[], missing_track),
    Fault::there("cut-tail", &["edge-click"], cut_tail),
    Fault::there(
        "printed-limiter",
        &["bounce-limited", "true-peak-over"],
        printed_limiter,
    ),
];

/// What plays twice is 6 dB louder, with all that follows from that.
const BY_SIX_DECIBELS: &[&str] = &[
    "core-level",
    "other-level",
    "kick-lows",
    "bass-lows",
    "club-lows",
    "hidden",
    "harsh",
    "mud",
    "mix-lean",
];

const PITCHED: &[&str] = &["lead", "vocal", "piano", "chords", "bass", "pad"];
const HITS: &[&str] = &[
    "clap",
    "snare",
    "rimshot",
    "closed hat",
    "open hat",
    "toms",
    "kick",
];

/// Clipped until there are so many runs of three or more equal samples.
fn flat_tops(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let words = [
        "lead", "piano", "chords", "clap", "snare", "toms", "vocal", "bass",
    ];
    let place = one(clean, &words, dice, |_| true)?;
    let sound = &clean.tracks[place].sound;
    let wanted = (10.0 * times).round() as usize;
    let peak = sound.peak();
    let (mut low, mut high) = (0.2 * peak, peak);
    for _ in 0..24 {
        let middle = 0.5 * (low + high);
        match runs(sound, middle) > wanted {
            true => low = middle,
            false => high = middle,
        }
    }
    let ceiling = high;
    let clip = |x: f64| x.clamp(-ceiling, ceiling);
    let made = sound.map(|_, l, r| (clip(l), clip(r)));
    let count = runs(&made, ceiling);
    let mut session = clean.clone();
    session.replace(place, made);
    Put::new(session, vec![place], format!("{count} flat tops"))
}

/// Runs of three or more samples at or over a ceiling, in the worse channel.
fn runs(sound: &Sound, ceiling: f64) -> usize {
    let ceiling = ceiling as f32 * 0.999_999;
    let of = |side: &[f32]| {
        let stretches =
            side.chunk_by(|a, b| (a.abs() >= ceiling) == (b.abs() >= ceiling) && a * b >= 0.0);
        let long = stretches.filter(|run| run.len() >= 3 && run[0].abs() >= ceiling);
        long.count()
    };
    of(&sound.left).max(of(&sound.right))
}

fn dc_offset(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(clean, &[PITCHED, HITS].concat(), dice, |_| true)?;
    let constant = db_to_gain(-60.0) * times;
    let mut session = clean.clone();
    let made = clean.tracks[place]
        .sound
        .map(|_, l, r| (l + constant, r + constant));
    session.replace(place, made);
    Put::new(session, vec![place], format!("a constant of {constant:.5}"))
}

/// Mains and five harmonics through the whole file.
fn hum(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(
        clean,
        &["vocal", "piano", "clap", "snare", "toms", "lead"],
        dice,
        |_| true,
    )?;
    let mains_hz = dice.pick(&[50.0, 60.0]);
    let parts: Vec<(f64, f64, f64)> = [1.0, 0.6, 0.5, 0.25, 0.3, 0.15]
        .iter()
        .enumerate()
        .map(|(n, height)| {
            (
                mains_hz * (n + 1) as f64,
                *height,
                dice.between(0.0, std::f64::consts::TAU),
            )
        })
        .collect();
    let power: f64 = parts
        .iter()
        .map(|(_, height, _)| 0.5 * height * height)
        .sum();
    let scale = db_to_gain(-60.0) * times / power.sqrt();
    let rate = f64::from(clean.rate_hz);
    let made = clean.tracks[place].sound.map(|n, l, r| {
        let turn = std::f64::consts::TAU * n as f64 / rate;
        let hum: f64 = parts
            .iter()
            .map(|(hz, height, late)| height * (hz * turn + late).sin())
            .sum();
        (l + scale * hum, r + scale * hum)
    });
    let mut session = clean.clone();
    session.replace(place, made);
    Put::new(session, vec![place], format!("{mains_hz} Hz and harmonics"))
}

/// A region that begins with a step, in a pause of the track; at the start of the
/// file where it has none.
fn edge_click(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(clean, PITCHED, dice, |_| true)?;
    let sound = &clean.tracks[place].sound;
    let block = clean.rate_hz as usize / 20;
    let loud = sound.blocks_over(1e-5, clean.rate_hz);
    let pauses: Vec<usize> = (2..loud.len().saturating_sub(8))
        .filter(|&n| loud[n - 2..n + 6].iter().all(|loud| !loud))
        .collect();
    let at = match pauses.is_empty() {
        true => 0,
        false => dice.pick(&pauses) * block,
    };
    let height = db_to_gain(-40.0) * times;
    let rate = f64::from(clean.rate_hz);
    let made = sound.map(|n, l, r| {
        let since_s = n.saturating_sub(at) as f64 / rate;
        let step = if n >= at && since_s < 0.1 {
            height * (-since_s / 0.01).exp()
        } else {
            0.0
        };
        (l + step, r + step)
    });
    let mut session = clean.clone();
    session.replace(place, made);
    Put::new(
        session,
        vec![place],
        format!("a step at {:.2} s", at as f64 / rate),
    )
}

fn dead_channel(clean: &Clean, dice: &mut Dice, _: f64) -> Option<Put> {
    let place = one(clean, &[PITCHED, HITS].concat(), dice, |sound| {
        let (left, right) = sound.powers();
        !sound.is_mono() && left.max(right) < 4.0 * left.min(right)
    })?;
    let right = dice.chance(0.5);
    let made = clean.tracks[place]
        .sound
        .map(|_, l, r| if right { (l, 0.0) } else { (0.0, r) });
    let mut session = clean.clone();
    session.replace(place, made);
    Put::new(session, vec![place], "one channel is silent")
}

fn inverted_channel(clean: &Clean, dice: &mut Dice, _: f64) -> Option<Put> {
    let place = one(clean, &[PITCHED, HITS].concat(), dice, |sound| {
        !sound.is_mono() && sound.correlation() > 0.6
    })?;
    let made = clean.tracks[place].sound.map(|_, l, r| (l, -r));
    let mut session = clean.clone();
    session.replace(place, made);
    Put::new(session, vec![place], "the right channel is upside down")
}

/// Late in its file; the bounce was right.
fn wrong_start(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    clean.bounce.as_ref()?;
    let place = one(clean, &[PITCHED, HITS].concat(), dice, |_| true)?;
    let frames = (0.002 * times * f64::from(clean.rate_hz)).round() as usize;
    let mut session = clean.clone();
    session.replace_file(place, clean.tracks[place].sound.later(frames));
    Put::new(session, vec![place], format!("{:.1} ms late", 2.0 * times))
}

/// Exported twice; the bounce has it once.
fn same_twice(clean: &Clean, dice: &mut Dice, _: f64) -> Option<Put> {
    let place = one(clean, &[PITCHED, HITS].concat(), dice, |_| true)?;
    let track = &clean.tracks[place];
    let mut session = clean.clone();
    let name = format!(
        "{:02} {} 2",
        clean.tracks.len() + 1,
        &track.name[3.min(track.name.len())..]
    );
    let copy = session.add(&name, &track.word, (*track.sound).clone(), false);
    Put::new(session, vec![place, copy], "exported twice")
}

fn missing_track(clean: &Clean, dice: &mut Dice, _: f64) -> Option<Put> {
    let bounce = clean.bounce.as_ref()?;
    let place = one(clean, &[PITCHED, HITS].concat(), dice, |_| true)?;
    let mut session = clean.clone();
    session.bounce = Some(bounce.plus(&clean.tracks[place].sound, -1.0).into());
    Put::new(session, vec![place], "not in the bounce")
}

/// Ends where its last sound is still loud.
fn cut_tail(clean: &Clean, dice: &mut Dice, _: f64) -> Option<Put> {
    let place = one(
        clean,
        &["pad", "piano", "lead", "vocal", "chords"],
        dice,
        |_| true,
    )?;
    let sound = &clean.tracks[place].sound;
    let block = clean.rate_hz as usize / 20;
    let peak = mean_square(&sound.left).max(mean_square(&sound.right));
    let blocks = sound.left.chunks(block).zip(sound.right.chunks(block));
    let last = blocks
        .map(|(l, r)| mean_square(l).max(mean_square(r)))
        .enumerate()
        .rfind(|(_, power)| *power > 0.1 * peak)?
        .0;
    let end = (last * block + block / 2).min(sound.frames());
    let mut session = clean.clone();
    let made = Sound::new(sound.left[..end].to_vec(), sound.right[..end].to_vec());
    session.replace(place, made);
    Put::new(session, vec![place], "ends while it sounds")
}

/// A limiter takes some 6 dB off the peaks of the bounce.
fn printed_limiter(clean: &Clean, _: &mut Dice, _: f64) -> Option<Put> {
    Some(limited_bounce(clean, 6.0)?.0)
}

pub(super) fn limited_bounce(clean: &Clean, by_db: f64) -> Option<(Put, f64)> {
    let bounce = clean.bounce.as_ref()?;
    let into_db = by_db - 20.0 * (bounce.peak() / 0.85).log10();
    let wide = |side: &[f32]| side.iter().map(|&x| f64::from(x)).collect();
    let [left, right] = limited(
        &[wide(&bounce.left), wide(&bounce.right)],
        clean.rate_hz,
        into_db,
    );
    let narrow = |side: Vec<f64>| side.into_iter().map(|x| x as f32).collect();
    let mut session = clean.clone();
    session.bounce = Some(Sound::new(narrow(left), narrow(right)).into());
    let what = format!("a limiter takes {by_db} dB off the bounce");
    Some((Put::new(session, Vec::new(), what)?, into_db))
}
