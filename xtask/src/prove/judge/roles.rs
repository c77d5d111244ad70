//! Roles: the words of the data against ours, in one table.

/// Our words that are right for a word of the data; the first is the usual one.
const TABLE: &[(&str, &[&str])] = &[
    ("kick", &["kick"]),
    ("clap", &["clap"]),
    ("snare", &["snare"]),
    ("rimshot", &["rim"]),
    ("rim", &["rim"]),
    ("closed hat", &["closed hat"]),
    ("open hat", &["open hat"]),
    // where the data does not say which
    ("hat", &["closed hat", "open hat"]),
    ("shaker", &["shaker"]),
    ("cymbal", &["cymbal"]),
    ("tom", &["tom"]),
    ("toms", &["tom"]),
    ("percussion", &["percussion"]),
    ("sub", &["sub"]),
    ("bass", &["bass"]),
    ("chords", &["chords"]),
    ("pad", &["pad"]),
    ("strings", &["strings"]),
    ("piano", &["piano"]),
    ("guitar", &["guitar"]),
    // leads of the data may be plucked
    ("lead", &["lead", "pluck"]),
    ("pluck", &["pluck"]),
    ("brass", &["brass"]),
    ("vocal", &["voice"]),
    ("voice", &["voice"]),
    ("effects", &["effects", "texture"]),
    ("texture", &["texture"]),
];

/// Group of each of our words.
const GROUPS: &[(&str, &[&str])] = &[
    (
        "drums",
        &[
            "kick",
            "clap",
            "snare",
            "rim",
            "closed hat",
            "open hat",
            "shaker",
            "cymbal",
            "tom",
            "percussion",
            "drum loop",
        ],
    ),
    ("low end", &["sub", "bass"]),
    (
        "music",
        &[
            "chords", "pad", "strings", "piano", "guitar", "lead", "pluck", "brass",
        ],
    ),
    ("voice", &["voice"]),
    ("effects", &["effects", "texture"]),
];

/// Our words for one of the data; `None` for a word that is not in the table.
pub(crate) fn ours(word: &str) -> Option<&'static [&'static str]> {
    let row = TABLE.iter().find(|(theirs, _)| *theirs == word)?;
    Some(row.1)
}

/// Group of a word of the data.
pub(crate) fn group(word: &str) -> Option<&'static str> {
    let usual = ours(word)?.first()?;
    let row = GROUPS.iter().find(|(_, words)| words.contains(usual))?;
    Some(row.0)
}

/// Whether a role is right; none given is wrong.
pub(crate) fn role_is_right(word: &str, given: Option<&str>) -> bool {
    matches!((ours(word), given), (Some(right), Some(given)) if right.contains(&given))
}

/// Whether a group is right.
pub(crate) fn group_is_right(word: &str, given: Option<&str>) -> bool {
    given.is_some() && group(word) == given
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_has_a_group() {
        for (word, right) in TABLE {
            assert!(group(word).is_some() && !right.is_empty(), "{word}");
        }
    }

    #[test]
    fn wrong_and_absent_roles_fail() {
        assert!(role_is_right("effects", Some("texture")));
        assert!(role_is_right("toms", Some("tom")));
        assert!(!role_is_right("effects", Some("pad")));
        assert!(!role_is_right("kick", None));
        assert!(!role_is_right("theremin", Some("lead")));
        assert!(group_is_right("vocal", Some("voice")));
        assert!(!group_is_right("bass", Some("music")));
        assert!(!group_is_right("theremin", None));
    }
}
