//! Keys and how near a wrong one is: the weights of the MIREX audio key detection
//! task, fifths in both directions as since 2017, as `mir_eval` has them.

/// Pitch class of the tonic, 0 is C, and whether it is minor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Key {
    tonic: i32,
    minor: bool,
}

/// Reads `D minor`, `Eb major`, `F♯ minor`; `None` for anything else.
pub(crate) fn parse(words: &str) -> Option<Key> {
    let mut parts = words.split_whitespace();
    let (note, mode, rest) = (parts.next()?, parts.next()?, parts.next());
    if rest.is_some() {
        return None;
    }
    let mut letters = note.chars();
    let base = match letters.next()?.to_ascii_uppercase() {
        'C' => 0,
        'D' => 2,
        'E' => 4,
        'F' => 5,
        'G' => 7,
        'A' => 9,
        'B' => 11,
        _ => return None,
    };
    let mut tonic: i32 = base;
    for sign in letters {
        tonic += match sign {
            '#' | '♯' => 1,
            'b' | '♭' => -1,
            _ => return None,
        };
    }
    let minor = match mode.to_lowercase().as_str() {
        "major" => false,
        "minor" => true,
        _ => return None,
    };
    Some(Key {
        tonic: tonic.rem_euclid(12),
        minor,
    })
}

/// 1 for the same key, 0.5 a fifth up or down in the same mode, 0.3 the relative,
/// 0.2 the parallel, else 0.
pub(crate) fn score(truth: Key, given: Key) -> f64 {
    let up = (given.tonic - truth.tonic).rem_euclid(12);
    let same_mode = truth.minor == given.minor;
    let relative = if truth.minor { 3 } else { 9 };
    match (same_mode, up) {
        (true, 0) => 1.0,
        (true, 5 | 7) => 0.5,
        (false, 0) => 0.2,
        (false, up) if up == relative => 0.3,
        _ => 0.0,
    }
}

/// Score of an answer in words; nothing said, or nothing that can be read, is 0.
pub(crate) fn score_of(truth: &str, given: Option<&str>) -> f64 {
    match (parse(truth), given.and_then(parse)) {
        (Some(truth), Some(given)) => score(truth, given),
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The examples of `mir_eval.key` and of MIREX: truth C major scores C 1.0,
    /// G and F 0.5 (2017 rule), A minor 0.3, C minor 0.2, E minor 0; truth A minor
    /// scores C 0.3, E minor 0.5, A 0.2.
    #[test]
    fn published_examples() {
        for (truth, given, expected) in [
            ("C major", "C major", 1.0),
            ("C major", "G major", 0.5),
            ("C major", "F major", 0.5),
            ("C major", "A minor", 0.3),
            ("C major", "C minor", 0.2),
            ("C major", "E minor", 0.0),
            ("C major", "D major", 0.0),
            ("A minor", "C major", 0.3),
            ("A minor", "E minor", 0.5),
            ("A minor", "A major", 0.2),
            ("A minor", "F# major", 0.0),
        ] {
            assert_eq!(score_of(truth, Some(given)), expected, "{truth}, {given}");
        }
    }

    #[test]
    fn enharmonics_are_equal_and_nonsense_is_nothing() {
        assert_eq!(score_of("D# minor", Some("Eb minor")), 1.0);
        assert_eq!(score_of("Cb major", Some("B major")), 1.0);
        assert_eq!(score_of("C major", None), 0.0);
        assert_eq!(score_of("C major", Some("C")), 0.0);
        assert_eq!(score_of("C major", Some("H major")), 0.0);
        assert_eq!(parse("D minor key"), None);
    }
}
