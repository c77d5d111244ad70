//! What makes a clean session hard: all of it is done on purpose somewhere.

use crate::faults::clean::Clean;
use crate::faults::filter::between;
use crate::faults::room::unlike;
use crate::faults::sound::{Sound, db_to_gain, noise};
use crate::prove::dice::Dice;

/// A way to be hard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Hard {
    PannedHats,
    DrivenKick,
    PrintedDuck,
    LoFi,
    Vinyl,
    WidePads,
}

impl Hard {
    pub(crate) fn short(self) -> &'static str {
        match self {
            Self::PannedHats => "hats",
            Self::DrivenKick => "driven",
            Self::PrintedDuck => "duck",
            Self::LoFi => "lofi",
            Self::Vinyl => "vinyl",
            Self::WidePads => "wide",
        }
    }

    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::PannedHats => "hats to both sides that balance each other",
            Self::DrivenKick => "a kick driven into flat tops",
            Self::PrintedDuck => "pads, chords, bass and lead duck under the kick",
            Self::LoFi => "chords, piano and toms of few bits and a narrow band",
            Self::Vinyl => "a track of crackle and hiss",
            Self::WidePads => "pads whose sides are unlike each other",
        }
    }
}

pub(crate) fn apply(clean: &mut Clean, hard: Option<Hard>, seed: u64) {
    let mut dice = Dice::new(31 * seed + 7);
    match hard {
        None => (),
        Some(Hard::PannedHats) => pan_hats(clean),
        Some(Hard::DrivenKick) => drive_kick(clean),
        Some(Hard::PrintedDuck) => duck(clean),
        Some(Hard::LoFi) => lower_fidelity(clean),
        Some(Hard::Vinyl) => add_vinyl(clean, &mut dice),
        Some(Hard::WidePads) => widen_pads(clean, &mut dice),
    }
}

/// Closed hats left, open ones right, so that what both weigh is level.
fn pan_hats(clean: &mut Clean) {
    let busiest = clean.busiest();
    let weigh = |clean: &Clean, places: &[usize]| -> f64 {
        let sounds = places.iter().map(|&place| &clean.tracks[place].sound);
        sounds.map(|sound| sound.power_in(busiest.clone())).sum()
    };
    let closed = clean.with_words(&["closed hat"]);
    let open = clean.with_words(&["open hat"]);
    let (one, other) = (weigh(clean, &closed), weigh(clean, &open));
    if one <= 0.0 || other <= 0.0 {
        return;
    }
    let least = one.min(other);
    for (places, part, way) in [(closed, one, -1.0), (open, other, 1.0)] {
        let pan: f64 = way * 0.7 * least / part;
        let (left, right) = ((1.0 - pan).sqrt(), (1.0 + pan).sqrt());
        for place in places {
            let sound = clean.tracks[place]
                .sound
                .map(|_, l, r| (left * l, right * r));
            clean.replace(place, sound);
        }
    }
}

fn drive_kick(clean: &mut Clean) {
    for place in clean.with_words(&["kick"]) {
        let sound = &clean.tracks[place].sound;
        let (ceiling, power) = (0.35 * sound.peak(), sound.power());
        let clip = |x: f64| x.clamp(-ceiling, ceiling);
        let driven = sound.map(|_, l, r| (clip(l), clip(r))).as_loud_as(power);
        clean.replace(place, driven);
    }
}

fn duck(clean: &mut Clean) {
    let rate = f64::from(clean.rate_hz);
    let frames = clean.tracks.first().map_or(0, |track| track.sound.frames());
    let mut gains = vec![1.0f64; frames];
    for kick_s in &clean.kick_times_s {
        let from = (kick_s * rate) as usize;
        let to = (from + (0.25 * rate) as usize).min(frames);
        let under = gains.get_mut(from..to).into_iter().flatten();
        for (n, gain) in under.enumerate() {
            let since_s = n as f64 / rate;
            let in_db = -9.0 * (since_s / 0.004).min(1.0) * (1.0 - since_s / 0.25).powi(2);
            *gain = gain.min(db_to_gain(in_db));
        }
    }
    for place in clean.with_words(&["pad", "chords", "bass", "sub", "lead", "piano"]) {
        let sound = &clean.tracks[place].sound;
        let gain = |n: usize| gains.get(n).copied().unwrap_or(1.0);
        let power = sound.power();
        let ducked = sound
            .map(|n, l, r| (gain(n) * l, gain(n) * r))
            .as_loud_as(power);
        clean.replace(place, ducked);
    }
}

/// 250 Hz to 5 kHz, 8 bits, every fourth sample held.
fn lower_fidelity(clean: &mut Clean) {
    let narrow = between(clean.rate_hz, 250.0, 5_000.0);
    for place in clean.with_words(&["chords", "piano", "toms", "tom"]) {
        let sound = &clean.tracks[place].sound;
        let power = sound.power();
        let band = sound.filtered(&narrow);
        let step = band.peak().max(1e-6) / 127.0;
        let coarse = |x: f32| ((f64::from(x) / step).round() * step) as f32;
        let held = |side: &[f32]| -> Vec<f32> {
            (0..side.len()).map(|n| coarse(side[n - n % 4])).collect()
        };
        let coarse = Sound::new(held(&band.left), held(&band.right)).as_loud_as(power);
        clean.replace(place, coarse);
    }
}

/// Some twenty crackles a second over hiss, some 26 dB under the mix.
fn add_vinyl(clean: &mut Clean, dice: &mut Dice) {
    let frames = clean.tracks.first().map_or(0, |track| track.sound.frames());
    let rate = f64::from(clean.rate_hz);
    let mut sound = noise(frames, dice).gained(-74.0);
    let mut place = 0.0;
    loop {
        place += -dice.unit().max(1e-9).ln() * rate / 20.0;
        let from = place as usize;
        if from + 64 > frames {
            break;
        }
        let height = db_to_gain(dice.between(-34.0, -16.0));
        let side = dice.unit();
        for n in 0..60 {
            let x = height * dice.between(-1.0, 1.0) * (-(n as f64) / 9.0).exp();
            sound.left[from + n] += (x * side.sqrt()) as f32;
            sound.right[from + n] += (x * (1.0 - side).sqrt()) as f32;
        }
    }
    let under = clean.sum().power_in(clean.busiest()) * 10f64.powf(-2.6);
    let name = format!("{:02} Vinyl Crackle", clean.tracks.len() + 1);
    clean.add(&name, "noise", sound.as_loud_as(under), true);
}

/// The side nearly as strong as the middle, of the same colour and unlike it.
fn widen_pads(clean: &mut Clean, dice: &mut Dice) {
    let rate_hz = clean.rate_hz;
    for place in clean.with_words(&["pad"]) {
        let sound = &clean.tracks[place].sound;
        let power = sound.power();
        let mid = sound.mid();
        let side = Sound::new(unlike(&mid, rate_hz, dice), mid.clone());
        let (of_side, of_mid) = side.powers();
        let to_db = 10.0 * (0.75 * of_mid / of_side.max(1e-30)).log10();
        let side = side.gained(to_db).left;
        let wide = Sound::from_mid_side(&mid, &side).as_loud_as(power);
        clean.replace(place, wide);
    }
}
