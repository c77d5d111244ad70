//! Short names for tracks, made of their file names.

/// Words that mean something else in a target.
const RESERVED: [&str; 2] = ["all", "mix"];

/// Ids for files that come together, in their order: lower case, letters and
/// digits with `-` between, without leading track numbers and without a prefix
/// that all share, each unique.
///
/// ```
/// let ids = cupel_session::ids_from_names(&["river_BD_01.flac", "river_PAD A.flac"]);
/// assert_eq!(ids, ["bd-01", "pad-a"]);
/// assert_eq!(cupel_session::ids_from_names(&["01 Kick.flac"]), ["kick"]);
/// ```
pub fn ids_from_names(names: &[&str]) -> Vec<String> {
    let stems: Vec<&str> = names
        .iter()
        .map(|name| without_number(stem(name)))
        .collect();
    let shared = shared_prefix(&stems);
    let mut ids: Vec<String> = Vec::new();
    for name in &stems {
        let slug = slug(without_number(&name[shared..]));
        let id = unique(&slug, |id| ids.iter().any(|other| other == id));
        ids.push(id);
    }
    ids
}

/// The first of `id`, `id-2`, `id-3` and so on that is not taken.
pub(crate) fn unique(id: &str, taken: impl Fn(&str) -> bool) -> String {
    if !taken(id) {
        return id.to_owned();
    }
    let mut number = 2;
    loop {
        let candidate = format!("{id}-{number}");
        if !taken(&candidate) {
            return candidate;
        }
        number += 1;
    }
}

/// The file name without folder and ending.
pub(crate) fn stem(file: &str) -> &str {
    let name = file.rsplit('/').next().unwrap_or(file);
    match name.rsplit_once('.') {
        Some((stem, _)) if !stem.is_empty() => stem,
        _ => name,
    }
}

fn is_separator(letter: char) -> bool {
    matches!(letter, ' ' | '_' | '-' | '.' | ')')
}

/// The name without a leading track number, which has one or two digits, or
/// more after a zero. `808 kick` keeps its number.
pub(crate) fn without_number(name: &str) -> &str {
    let rest = name.trim_start_matches(|letter: char| letter.is_ascii_digit());
    let digits = name.len() - rest.len();
    let track_number = digits <= 2 || name.starts_with('0');
    let bare = rest.trim_start_matches(is_separator);
    if digits == 0 || !track_number || bare.len() == rest.len() || bare.is_empty() {
        return name;
    }
    bare
}

/// Length in bytes of the prefix that all names share, up to a separator; 0 if
/// taking it off would leave a name without a word of two letters.
fn shared_prefix(names: &[&str]) -> usize {
    let [first, others @ ..] = names else {
        return 0;
    };
    if others.is_empty() {
        return 0;
    }
    first
        .char_indices()
        .filter(|(_, letter)| is_separator(*letter))
        .map(|(at, letter)| at + letter.len_utf8())
        .filter(|&end| {
            let prefix = &first[..end];
            names
                .iter()
                .all(|name| name.starts_with(prefix) && has_word(&name[end..]))
        })
        .max()
        .unwrap_or(0)
}

fn has_word(name: &str) -> bool {
    name.split(|letter: char| !letter.is_alphabetic())
        .any(|word| word.chars().count() >= 2)
}

fn slug(name: &str) -> String {
    let lower = name.to_lowercase();
    let words: Vec<&str> = lower
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect();
    let slug = words.join("-");
    if slug.is_empty() {
        return "track".into();
    }
    if RESERVED.contains(&slug.as_str()) {
        return format!("{slug}-track");
    }
    slug
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(names: &[&str], ids: &[&str]) {
        assert_eq!(ids_from_names(names), ids, "{names:?}");
    }

    #[test]
    fn numbers_and_shared_prefixes_go() {
        check(&["01 Kick.flac", "04 CH Hat.flac"], &["kick", "ch-hat"]);
        check(
            &[
                "river_BD_01.flac",
                "river_sub+bass.flac",
                "river_riser+impacts.flac",
            ],
            &["bd-01", "sub-bass", "riser-impacts"],
        );
        check(&["3 kik.flac", "3 hh open.flac"], &["kik", "hh-open"]);
        check(
            &["river_01_kick.wav", "river_02_bass.wav"],
            &["kick", "bass"],
        );
    }

    #[test]
    fn names_keep_what_tells_them_apart() {
        check(&["Pad A.wav", "Pad B.wav"], &["pad-a", "pad-b"]);
        check(&["Kick.wav", "Kick 2.wav"], &["kick", "kick-2"]);
        check(&["808 kick.wav", "2nd pad.wav"], &["808-kick", "2nd-pad"]);
        check(&["01.wav", "02.wav"], &["01", "02"]);
    }

    #[test]
    fn ids_are_unique_and_never_reserved() {
        check(
            &["1 Kick.wav", "2 kick.flac", "kick-2.wav"],
            &["kick", "kick-2", "kick-2-2"],
        );
        check(&["mix.wav"], &["mix-track"]);
        check(&["#!.wav", ".wav", "Flöte.wav"], &["track", "wav", "flöte"]);
    }
}
