//! Layers in words.

use crate::layer::{LayerContext, LayerKind};
use crate::places::Pattern;

/// What words are made of.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Heard<'a> {
    pub(crate) pattern: &'a Pattern,
    pub(crate) sustained: bool,
    pub(crate) band_hz: (f64, f64),
    pub(crate) length_ms: f64,
    pub(crate) side: f64,
    pub(crate) wide: f64,
    pub(crate) slots: usize,
}

/// Highest upper edge of a kick's body.
const LOW_HZ: f64 = 260.0;
/// A struck sound that reaches under this is a kick or a bass, however far up its
/// click goes.
const LOW_EDGE_HZ: f64 = 100.0;
/// Lowest lower edge of hats.
const HIGH_HZ: f64 = 4_500.0;
/// A high hit that is longer than this is an open hat.
const OPEN_MS: f64 = 110.0;
/// A hit is not longer than this.
const HIT_MS: f64 = 260.0;

/// What a description bears.
pub(crate) fn kind_of(one: &Heard<'_>, context: &LayerContext) -> LayerKind {
    let (low, high) = one.band_hz;
    let middle = (low * high).sqrt();
    if middle < LOW_HZ || (low < LOW_EDGE_HZ && !one.sustained) {
        return low_kind(one, context);
    }
    if one.sustained {
        return LayerKind::Pad;
    }
    if low > HIGH_HZ || middle > 1.4 * HIGH_HZ {
        let many = one.pattern.places.len() * 8 >= one.slots * one.pattern.bars * 5;
        return match (many, one.length_ms > OPEN_MS) {
            (true, _) => LayerKind::Shaker,
            (false, true) => LayerKind::OpenHat,
            (false, false) => LayerKind::Hat,
        };
    }
    if one.length_ms < HIT_MS && middle > 900.0 {
        LayerKind::Hit
    } else {
        LayerKind::Notes
    }
}

fn low_kind(one: &Heard<'_>, context: &LayerContext) -> LayerKind {
    let slots = one.slots;
    let middle = (one.band_hz.0 * one.band_hz.1).sqrt();
    let on_beat = |place: &&usize| (**place % slots).is_multiple_of(4);
    let on_one = one.pattern.places.iter().any(|place| place % slots == 0);
    let beats = one.pattern.places.iter().filter(on_beat).count();
    let mostly_beats = 2 * beats >= one.pattern.places.len();
    let near = context.kick_hz.is_none_or(|hz| hz < 2.0 * middle);
    if !one.sustained && on_one && mostly_beats && near {
        LayerKind::Kick
    } else {
        LayerKind::Bass
    }
}

/// The words for a layer.
pub(crate) fn name_of(kind: LayerKind, one: &Heard<'_>) -> String {
    let places = places_words(&one.pattern.places, one.pattern.bars, one.slots);
    let middle = (one.band_hz.0 * one.band_hz.1).sqrt();
    let what = match kind {
        LayerKind::Hit if one.length_ms < 120.0 => format!("short {} hit", hertz(middle)),
        LayerKind::Hit => format!("{} hit", hertz(middle)),
        LayerKind::Notes => format!("notes about {}", hertz(middle)),
        LayerKind::Pad => format!("pad about {}", hertz(middle)),
        other => other.word().to_owned(),
    };
    let mut words = what;
    if !one.sustained && !places.is_empty() {
        words.push(' ');
        words.push_str(&places);
    }
    if let Some(side) = side_words(one.side, one.wide) {
        words.push_str(", ");
        words.push_str(side);
    }
    words
}

/// Where it stands in stereo, where that is worth saying.
fn side_words(side: f64, wide: f64) -> Option<&'static str> {
    match side {
        s if s <= -0.15 => Some("left"),
        s if s >= 0.15 => Some("right"),
        _ if wide > 0.5 => Some("wide"),
        _ => None,
    }
}

/// A frequency as people say it.
pub(crate) fn hertz(hz: f64) -> String {
    if hz >= 950.0 {
        format!("{:.1} kHz", hz / 1000.0)
    } else if hz >= 95.0 {
        format!("{:.0} Hz", 10.0 * (hz / 10.0).round())
    } else {
        format!("{hz:.0} Hz")
    }
}

/// Places in the bar as people say them.
pub(crate) fn places_words(places: &[usize], bars: usize, slots: usize) -> String {
    let beats = slots / 4;
    let of = |test: &dyn Fn(usize) -> bool| -> Vec<usize> {
        (0..slots * bars)
            .filter(|&place| test(place % slots))
            .collect()
    };
    if places.is_empty() {
        return String::new();
    }
    if places == of(&|place| place % 4 == 0) {
        return "on every beat".to_owned();
    }
    if beats == 4 && places == of(&|place| place % 8 == 4) {
        return "on beats 2 and 4".to_owned();
    }
    if places == of(&|place| place % 4 == 2) {
        return "on the off-beats".to_owned();
    }
    if places == of(&|place| place % 2 == 0) {
        return "in eighths".to_owned();
    }
    if places.len() * 4 >= 3 * slots * bars {
        return "in sixteenths".to_owned();
    }
    let listed: Vec<String> = places
        .iter()
        .map(|&place| place_word(place, bars, slots))
        .collect();
    if listed.len() > 6 {
        return format!("in {} places of {}", listed.len(), bars_word(bars));
    }
    format!("on {}", join(&listed))
}

fn bars_word(bars: usize) -> String {
    if bars == 1 {
        "the bar".to_owned()
    } else {
        format!("{bars} bars")
    }
}

/// `2`, `2.3`: beat, and sixteenth of the beat where it is not the first; the bar
/// before it where the pattern is longer than one.
fn place_word(place: usize, bars: usize, slots: usize) -> String {
    let (bar, within) = (place / slots + 1, place % slots);
    let (beat, sixteenth) = (within / 4 + 1, within % 4 + 1);
    let word = if sixteenth == 1 {
        format!("{beat}")
    } else {
        format!("{beat}.{sixteenth}")
    };
    if bars > 1 {
        format!("{word} of bar {bar}")
    } else {
        word
    }
}

fn join(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_read_as_people_say_them() {
        assert_eq!(places_words(&[4, 12], 1, 16), "on beats 2 and 4");
        assert_eq!(places_words(&[2, 6, 10, 14], 1, 16), "on the off-beats");
        assert_eq!(places_words(&[0, 7], 1, 16), "on 1 and 2.4");
        assert_eq!(places_words(&[22], 2, 16), "on 2.3 of bar 2");
        let all: Vec<usize> = (0..16).collect();
        assert_eq!(places_words(&all, 1, 16), "in sixteenths");
        assert_eq!(places_words(&[0, 4, 8], 1, 12), "on every beat");
    }

    #[test]
    fn frequencies_are_rounded() {
        assert_eq!(hertz(1534.0), "1.5 kHz");
        assert_eq!(hertz(347.0), "350 Hz");
        assert_eq!(hertz(51.7), "52 Hz");
    }
}
