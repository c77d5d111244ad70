//! Roles from file names, in the abbreviations producers use.
//!
//! A name is cut into words where letters end and where a small letter is
//! followed by a capital; accents are taken off; numbers, versions and words of
//! the desk (`bus`, `verb`, `stem`) say nothing. Of the words left the one that
//! says most decides, see `name_words`; a word such as `perc` that stands first
//! tells what the whole is about. A name that says nothing gives `None`.

use crate::name_words::{FIRST, JOINED, TOGETHER, WORDS};
use cupel_units::{Group, Role};

/// Shortest word that is looked for inside a longer one.
const SHORTEST_PART: usize = 3;

/// The role a file name (without its ending) tells, if any.
///
/// A prefix common to all files of a session should be cut off first, see
/// [`common_prefix_len`].
pub fn role_of_name(name: &str) -> Option<Role> {
    let mut words = Vec::new();
    for word in words_of(name) {
        match parts(&word) {
            Some((first, second)) => words.extend([first, second]),
            None => words.push(word),
        }
    }
    let has = |word: &str| words.iter().any(|w| w == word);
    let told = TOGETHER
        .iter()
        .find(|(together, _)| together.iter().all(|word| has(word)))
        .map(|&(_, role)| role)
        .or_else(|| {
            WORDS
                .iter()
                .find(|(_, list)| list.split(' ').any(&has))
                .map(|&(role, _)| role)
        })?;
    let instrument = matches!(told.group(), Group::Music | Group::LowEnd);
    let first = words.first().filter(|_| instrument);
    let about = first.and_then(|word| FIRST.iter().find(|(_, list)| holds(list, word)));
    Some(about.map_or(told, |&(role, _)| role))
}

fn holds(list: &str, word: &str) -> bool {
    list.split(' ').any(|other| other == word)
}

fn known(word: &str) -> bool {
    WORDS.iter().any(|(_, list)| holds(list, word))
}

/// The two words that an unknown word is made of, one of which tells a role.
fn parts(word: &str) -> Option<(String, String)> {
    if known(word) {
        return None;
    }
    word.char_indices()
        .map(|(at, _)| word.split_at(at))
        .filter(|(a, b)| a.len() >= SHORTEST_PART && b.len() >= SHORTEST_PART)
        .find(|(a, b)| {
            (known(a) && (known(b) || holds(JOINED, b))) || (known(b) && holds(JOINED, a))
        })
        .map(|(a, b)| (a.to_owned(), b.to_owned()))
}

/// Length in bytes of the prefix that all names share, cut back to a border
/// between words; 0 with fewer than three names.
pub fn common_prefix_len(names: &[&str]) -> usize {
    let [first, rest @ ..] = names else { return 0 };
    if rest.len() < 2 {
        return 0;
    }
    let shared = rest.iter().fold(first.len(), |len, name| {
        let same = first
            .bytes()
            .zip(name.bytes())
            .take_while(|(a, b)| a == b)
            .count();
        len.min(same)
    });
    let border = first.as_bytes()[..shared]
        .iter()
        .rposition(|byte| matches!(byte, b' ' | b'_' | b'-' | b'.'));
    border.map_or(0, |at| at + 1)
}

/// Lower-case words without accents, letters only, split at anything else and
/// where a small letter is followed by a capital. Of numbers only 808 is a word.
fn words_of(name: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut before = ' ';
    for c in name.chars().filter(|c| !is_accent(*c)) {
        let digit = c.is_ascii_digit();
        let new_word = !(c.is_alphabetic() || digit)
            || (before.is_lowercase() && c.is_uppercase())
            || digit != before.is_ascii_digit();
        if new_word {
            words.push(String::new());
        }
        if let Some(word) = words.last_mut()
            && (c.is_alphabetic() || digit)
        {
            c.to_lowercase().for_each(|c| plain(c, word));
        }
        before = c;
    }
    words.retain(|word| word.chars().any(char::is_alphabetic) || word == "808");
    words
}

/// Accents that stand after their letter, as some systems write file names.
fn is_accent(c: char) -> bool {
    ('\u{300}'..='\u{36f}').contains(&c)
}

/// Adds a letter without its accent.
fn plain(c: char, word: &mut String) {
    match c {
        'à'..='å' | 'ą' => word.push('a'),
        'ç' | 'ć' | 'č' => word.push('c'),
        'è'..='ë' | 'ę' => word.push('e'),
        'ì'..='ï' => word.push('i'),
        'ł' => word.push('l'),
        'ñ' | 'ń' => word.push('n'),
        'ò'..='ö' | 'ø' => word.push('o'),
        'ś' | 'š' | 'ş' => word.push('s'),
        'ù'..='ü' => word.push('u'),
        'ź' | 'ż' | 'ž' => word.push('z'),
        'œ' => word.push_str("oe"),
        'æ' => word.push_str("ae"),
        'ß' => word.push_str("ss"),
        other => word.push(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Names as people write them, and what each is in Cupel's words.
    const NAMES: &[(&str, &str)] = &[
        ("01 Kick", "kick"),
        ("BD_01", "kick"),
        ("kik 2", "kick"),
        ("KICK_final_v3", "kick"),
        ("Kick Bus Verb", "kick"),
        ("kicktop", "kick"),
        ("Kick In", "kick"),
        ("808 Kick", "kick"),
        ("Bass Drum", "kick"),
        ("Bassdrum", "kick"),
        ("bombo", "kick"),
        ("Grosse Caisse", "kick"),
        ("große Trommel", "kick"),
        ("cassa 2", "kick"),
        ("SD 12", "snare"),
        ("Snare Top", "snare"),
        ("snare_roll", "snare"),
        ("caisse claire", "snare"),
        ("Caja", "snare"),
        ("rullante", "snare"),
        ("Clap 909", "clap"),
        ("palmas", "clap"),
        ("Finger Snap", "clap"),
        ("Rimshot", "rim"),
        ("Side Stick", "rim"),
        ("04 CH Hat", "closed hat"),
        ("HH", "closed hat"),
        ("HiHat closed", "closed hat"),
        ("hatsloop", "closed hat"),
        ("charley", "closed hat"),
        ("hh open", "open hat"),
        ("OpenHat 2", "open hat"),
        ("oh", "open hat"),
        ("Hi-Hat Open", "open hat"),
        ("OHH_v2", "open hat"),
        ("shaker L", "shaker"),
        ("Tamb", "shaker"),
        ("pandereta", "shaker"),
        ("Crash+Ride", "cymbal"),
        ("Ride Bell", "cymbal"),
        ("platillos", "cymbal"),
        ("Toms", "tom"),
        ("Floor Tom", "tom"),
        ("Perc Loop 3", "percussion"),
        ("percusión", "percussion"),
        ("Cow Bell", "percussion"),
        ("congas hi", "percussion"),
        ("Drum Bus", "drum loop"),
        ("Kick+Snare", "drum loop"),
        ("Top Loop", "drum loop"),
        ("batería", "drum loop"),
        ("Schlagzeug", "drum loop"),
        ("sub+bass", "sub"),
        ("SubBass", "sub"),
        ("bass synth", "bass"),
        ("Synth Bass", "bass"),
        ("Bass Guitar", "bass"),
        ("Reese", "bass"),
        ("bajo", "bass"),
        ("808", "bass"),
        ("LV", "voice"),
        ("Lead Vox dbl", "voice"),
        ("vocal chop fx", "voice"),
        ("voc_2", "voice"),
        ("Gesang", "voice"),
        ("chœur", "voice"),
        ("voz principal", "voice"),
        ("ld plk", "pluck"),
        ("Arp 2", "pluck"),
        ("10 Strings Pad", "strings"),
        ("cuerdas", "strings"),
        ("Pad Warm", "pad"),
        ("Vox Pad", "pad"),
        ("Fläche", "pad"),
        ("Fla\u{308}che", "pad"),
        ("nappe", "pad"),
        ("Piano Chords", "piano"),
        ("E-Piano", "piano"),
        ("Stab 1", "chords"),
        ("organ", "chords"),
        ("Keys L", "chords"),
        ("gtr_clean", "guitar"),
        ("Guitar Lead", "guitar"),
        ("guitarra", "guitar"),
        ("Brass Stab", "brass"),
        ("Synth Lead", "lead"),
        ("Melodie", "lead"),
        ("synth 4", "lead"),
        ("riser+impacts", "texture"),
        ("White Noise", "texture"),
        ("Atmo", "texture"),
        ("FX 3", "effects"),
        ("Impact", "effects"),
        ("Sub Drop", "effects"),
        ("sweepdown fx", "effects"),
        // as folders of samples are named
        ("bd_808", "kick"),
        ("BD0025", "kick"),
        ("hh_cl", "closed hat"),
        ("HH Op 02", "open hat"),
        ("CH", "closed hat"),
        ("OH 3", "open hat"),
        ("Ch 3 Gtr", "guitar"),
        ("Drum Room", "drum loop"),
        ("cymbal_closed", "closed hat"),
        ("cymbal pedal", "closed hat"),
        ("cym_open_2", "open hat"),
        ("drum_roll", "snare"),
        ("Rev Cym", "effects"),
        ("LT", "tom"),
        ("HC 02", "closed hat"),
        ("LC00", "percussion"),
        ("CB", "percussion"),
        ("MA", "shaker"),
        ("RS", "rim"),
        ("CY5050", "cymbal"),
        ("perc_bell", "percussion"),
        ("Perc Vox", "voice"),
        ("Perc Snap", "clap"),
        ("elec_blip2", "percussion"),
        ("Elec Piano", "piano"),
        ("FX Bell", "effects"),
        ("glitch_perc1", "percussion"),
        ("glitch_bass", "effects"),
        ("ambi_dark", "texture"),
        ("Loop 3", "drum loop"),
        ("bass loop", "bass"),
        // more languages
        ("werbel", "snare"),
        ("Stopa", "kick"),
        ("śpiew", "voice"),
        ("底鼓 1", "kick"),
        ("军鼓", "snare"),
        ("하이햇", "closed hat"),
        ("베이스", "bass"),
        ("тарелки", "cymbal"),
        ("campanas", "pluck"),
        ("トライアングル", "percussion"),
    ];

    #[test]
    fn names_people_use() {
        for (name, role) in NAMES {
            let found = role_of_name(name).map(Role::name);
            assert_eq!(found, Some(*role), "{name}");
        }
    }

    #[test]
    fn names_that_say_nothing() {
        for name in [
            "Audio 14", "", "Track 3", "final_v2", "Bounce", "12", "kickass", "Reverb",
        ] {
            assert_eq!(role_of_name(name), None, "{name}");
        }
    }

    #[test]
    fn every_word_stands_for_one_role() {
        let mut words: Vec<&str> = WORDS.iter().flat_map(|(_, list)| list.split(' ')).collect();
        let all = words.len();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), all);
    }

    #[test]
    fn prefixes_end_at_a_border() {
        assert_eq!(
            common_prefix_len(&["river_BD_01", "river_LV", "river_PAD A"]),
            6
        );
        assert_eq!(common_prefix_len(&["kick", "kicks", "kick2"]), 0);
        assert_eq!(common_prefix_len(&["a_b", "a_c"]), 0);
    }
}
