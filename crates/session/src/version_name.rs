//! File names without what marks a version of the same track.

use crate::ids::stem;

/// The name of a track's file without folder, ending and version: lower case,
/// words with one space between.
///
/// Taken for marks of a version, at the end and after a separator: `v2`,
/// `_v03`, `v1.2`, `rev2`, `ver 2`, `version 2`, `(2)`, `copy`, `copy 2`,
/// `final`, a date (`2025-11-02`, `20251102`, `2025_11_02`) with or without a
/// time. A number alone is part of the name.
///
/// ```
/// use cupel_session::name_without_version;
/// assert_eq!(name_without_version("tracks/Kick_v2.wav"), "kick");
/// assert_eq!(name_without_version("Kick 03.wav"), "kick 03");
/// ```
pub fn name_without_version(file: &str) -> String {
    let lower = stem(file).to_lowercase();
    let mut words: Vec<&str> = lower
        .split(|letter: char| !(letter.is_alphanumeric() || "+#&()".contains(letter)))
        .filter(|word| !word.is_empty())
        .collect();
    while let Some(shorter) = words_of_version(&words) {
        words.truncate(words.len() - shorter);
    }
    words.join(" ")
}

/// How many words at the end mark a version; never all of them.
fn words_of_version(words: &[&str]) -> Option<usize> {
    let marks = |count: usize| {
        words
            .len()
            .checked_sub(count)
            .filter(|&kept| kept > 0)
            .is_some_and(|kept| is_mark(&words[kept..]))
    };
    (1..=6).rev().find(|&count| marks(count))
}

fn is_mark(words: &[&str]) -> bool {
    match words {
        ["copy" | "final"] => true,
        ["copy" | "rev" | "ver" | "version" | "v", number] => is_number(number, 1, 3),
        [word] => is_version_word(word) || is_compact_date(word),
        [word, minor] if is_number(minor, 1, 3) && is_dotted_version(word) => true,
        [year, month, day] => is_date(year, month, day),
        [year, month, day, time @ ..] => is_date(year, month, day) && is_time(time),
        [date, time] => is_compact_date(date) && is_time(&[time]),
        [] => false,
    }
}

/// `v2`, `rev03`, `ver2`, `version2`, `(2)`, `copy2`.
fn is_version_word(word: &str) -> bool {
    let inner = word
        .strip_prefix('(')
        .and_then(|rest| rest.strip_suffix(')'));
    if let Some(inner) = inner {
        return is_number(inner, 1, 3) || is_version_word(inner) || inner == "copy";
    }
    ["version", "ver", "rev", "copy", "v"]
        .iter()
        .filter_map(|prefix| word.strip_prefix(prefix))
        .any(|rest| is_number(rest, 1, 3))
}

/// The `v1` of `v1.2`.
fn is_dotted_version(word: &str) -> bool {
    word.strip_prefix('v')
        .is_some_and(|rest| is_number(rest, 1, 3))
}

fn is_number(word: &str, fewest: usize, most: usize) -> bool {
    (fewest..=most).contains(&word.len()) && word.bytes().all(|byte| byte.is_ascii_digit())
}

fn within(word: &str, low: u32, high: u32) -> bool {
    word.parse()
        .is_ok_and(|number: u32| (low..=high).contains(&number))
}

fn is_date(year: &str, month: &str, day: &str) -> bool {
    is_number(year, 4, 4)
        && within(year, 1990, 2099)
        && is_number(month, 2, 2)
        && within(month, 1, 12)
        && is_number(day, 2, 2)
        && within(day, 1, 31)
}

/// `20251102`.
fn is_compact_date(word: &str) -> bool {
    is_number(word, 8, 8) && is_date(&word[..4], &word[4..6], &word[6..])
}

/// `1530`, `153000`, or hours, minutes and seconds apart.
fn is_time(words: &[&str]) -> bool {
    match words {
        [word] => is_number(word, 4, 4) || is_number(word, 6, 6),
        [_, _] | [_, _, _] => words.iter().all(|word| is_number(word, 2, 2)),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(file: &str, name: &str) {
        assert_eq!(name_without_version(file), name, "{file}");
    }

    #[test]
    fn versions_go() {
        for file in [
            "Kick.wav",
            "kick_v2.flac",
            "Kick_v03.wav",
            "kick-rev2.wav",
            "kick (2).wav",
            "Kick copy.wav",
            "kick copy 3.wav",
            "kick v1.2.wav",
            "Kick 2025-11-02.wav",
            "kick_20251102.wav",
            "kick 2025-11-02 15-30.wav",
            "kick_v2 (1).wav",
            "sub/folder/KICK final.wav",
        ] {
            check(file, "kick");
        }
    }

    #[test]
    fn numbers_that_are_names_stay() {
        check("Kick 03.wav", "kick 03");
        check("river_BD_01.flac", "river bd 01");
        check("808.wav", "808");
        check("v2.wav", "v2");
        check("vox.wav", "vox");
        check("pad 1984.wav", "pad 1984");
        check("take 20259902.wav", "take 20259902");
        check("sub+bass.flac", "sub+bass");
    }
}
