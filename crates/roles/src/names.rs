//! Roles from file names, in the abbreviations producers use.
//!
//! Common practice, no source: the table below is gathered from how people name
//! tracks. A name that says nothing gives `None`.

use cupel_units::Role;

/// Words that decide, whole: `bd` is a kick, `bdrm` is not. More telling words
/// stand first: in `sub bass` the sub is what matters, in `open hat` the open.
const WORDS: &[(&str, Role)] = &[
    ("ohh", Role::OpenHat),
    ("oh", Role::OpenHat),
    ("openhat", Role::OpenHat),
    ("ophat", Role::OpenHat),
    ("hho", Role::OpenHat),
    ("chh", Role::ClosedHat),
    ("ch", Role::ClosedHat),
    ("closedhat", Role::ClosedHat),
    ("hhc", Role::ClosedHat),
    ("clhat", Role::ClosedHat),
    ("kick", Role::Kick),
    ("kicks", Role::Kick),
    ("kik", Role::Kick),
    ("kck", Role::Kick),
    ("kik", Role::Kick),
    ("bd", Role::Kick),
    ("kd", Role::Kick),
    ("kk", Role::Kick),
    ("bassdrum", Role::Kick),
    ("grosse caisse", Role::Kick),
    ("bombo", Role::Kick),
    ("clap", Role::Clap),
    ("claps", Role::Clap),
    ("clp", Role::Clap),
    ("snap", Role::Clap),
    ("snaps", Role::Clap),
    ("handclap", Role::Clap),
    ("cp", Role::Clap),
    ("palmas", Role::Clap),
    ("rim", Role::Rim),
    ("rims", Role::Rim),
    ("rimshot", Role::Rim),
    ("sidestick", Role::Rim),
    ("rs", Role::Rim),
    ("snare", Role::Snare),
    ("snares", Role::Snare),
    ("snr", Role::Snare),
    ("sn", Role::Snare),
    ("sd", Role::Snare),
    ("caisse", Role::Snare),
    ("caja", Role::Snare),
    ("shaker", Role::Shaker),
    ("shakers", Role::Shaker),
    ("shk", Role::Shaker),
    ("shkr", Role::Shaker),
    ("tamb", Role::Shaker),
    ("tambourine", Role::Shaker),
    ("maracas", Role::Shaker),
    ("cabasa", Role::Shaker),
    ("crash", Role::Cymbal),
    ("ride", Role::Cymbal),
    ("splash", Role::Cymbal),
    ("cymbal", Role::Cymbal),
    ("cymbals", Role::Cymbal),
    ("cym", Role::Cymbal),
    ("crsh", Role::Cymbal),
    ("tom", Role::Tom),
    ("toms", Role::Tom),
    ("hat", Role::ClosedHat),
    ("hats", Role::ClosedHat),
    ("hh", Role::ClosedHat),
    ("hihat", Role::ClosedHat),
    ("hihats", Role::ClosedHat),
    ("hi-hat", Role::ClosedHat),
    ("charley", Role::ClosedHat),
    ("sub", Role::Sub),
    ("subs", Role::Sub),
    ("subbass", Role::Sub),
    ("bass", Role::Bass),
    ("bassline", Role::Bass),
    ("bs", Role::Bass),
    ("reese", Role::Bass),
    ("basse", Role::Bass),
    ("bajo", Role::Bass),
    ("bas", Role::Bass),
    ("acid", Role::Bass),
    ("vox", Role::Voice),
    ("vocal", Role::Voice),
    ("vocals", Role::Voice),
    ("voc", Role::Voice),
    ("vocs", Role::Voice),
    ("voice", Role::Voice),
    ("voices", Role::Voice),
    ("lv", Role::Voice),
    ("bv", Role::Voice),
    ("bvs", Role::Voice),
    ("bgv", Role::Voice),
    ("vx", Role::Voice),
    ("adlib", Role::Voice),
    ("adlibs", Role::Voice),
    ("chops", Role::Voice),
    ("voix", Role::Voice),
    ("voz", Role::Voice),
    ("gesang", Role::Voice),
    ("stimme", Role::Voice),
    ("choir", Role::Voice),
    ("speech", Role::Voice),
    ("rap", Role::Voice),
    ("pad", Role::Pad),
    ("pads", Role::Pad),
    ("flaeche", Role::Pad),
    ("atmo pad", Role::Pad),
    ("strings", Role::Strings),
    ("string", Role::Strings),
    ("str", Role::Strings),
    ("strs", Role::Strings),
    ("violin", Role::Strings),
    ("violins", Role::Strings),
    ("cello", Role::Strings),
    ("streicher", Role::Strings),
    ("cordes", Role::Strings),
    ("pluck", Role::Pluck),
    ("plucks", Role::Pluck),
    ("plk", Role::Pluck),
    ("arp", Role::Pluck),
    ("arps", Role::Pluck),
    ("arpeggio", Role::Pluck),
    ("bells", Role::Pluck),
    ("bell", Role::Pluck),
    ("mallet", Role::Pluck),
    ("piano", Role::Piano),
    ("pno", Role::Piano),
    ("rhodes", Role::Piano),
    ("ep", Role::Piano),
    ("epiano", Role::Piano),
    ("klavier", Role::Piano),
    ("keys", Role::Chords),
    ("key", Role::Chords),
    ("organ", Role::Chords),
    ("org", Role::Chords),
    ("chord", Role::Chords),
    ("chords", Role::Chords),
    ("stab", Role::Chords),
    ("stabs", Role::Chords),
    ("accords", Role::Chords),
    ("akkorde", Role::Chords),
    ("guitar", Role::Guitar),
    ("guitars", Role::Guitar),
    ("gtr", Role::Guitar),
    ("git", Role::Guitar),
    ("egtr", Role::Guitar),
    ("gitarre", Role::Guitar),
    ("brass", Role::Brass),
    ("horn", Role::Brass),
    ("horns", Role::Brass),
    ("trumpet", Role::Brass),
    ("sax", Role::Brass),
    ("flute", Role::Brass),
    ("lead", Role::Lead),
    ("leads", Role::Lead),
    ("ld", Role::Lead),
    ("hook", Role::Lead),
    ("melody", Role::Lead),
    ("mel", Role::Lead),
    ("solo", Role::Lead),
    ("theme", Role::Lead),
    ("synth", Role::Lead),
    ("syn", Role::Lead),
    ("melodie", Role::Lead),
    ("riser", Role::Texture),
    ("risers", Role::Texture),
    ("uplifter", Role::Texture),
    ("noise", Role::Texture),
    ("texture", Role::Texture),
    ("textures", Role::Texture),
    ("atmo", Role::Texture),
    ("atmos", Role::Texture),
    ("ambience", Role::Texture),
    ("ambient", Role::Texture),
    ("drone", Role::Texture),
    ("foley", Role::Texture),
    ("vinyl", Role::Texture),
    ("ghost", Role::Texture),
    ("room", Role::Texture),
    ("fx", Role::Effects),
    ("sfx", Role::Effects),
    ("efx", Role::Effects),
    ("effect", Role::Effects),
    ("effects", Role::Effects),
    ("impact", Role::Effects),
    ("impacts", Role::Effects),
    ("hit", Role::Effects),
    ("hits", Role::Effects),
    ("sweep", Role::Effects),
    ("sweeps", Role::Effects),
    ("downlifter", Role::Effects),
    ("boom", Role::Effects),
    ("whoosh", Role::Effects),
    ("transition", Role::Effects),
    ("effekte", Role::Effects),
    ("effets", Role::Effects),
    ("perc", Role::Percussion),
    ("percs", Role::Percussion),
    ("percussion", Role::Percussion),
    ("prc", Role::Percussion),
    ("conga", Role::Percussion),
    ("congas", Role::Percussion),
    ("bongo", Role::Percussion),
    ("bongos", Role::Percussion),
    ("cowbell", Role::Percussion),
    ("clave", Role::Percussion),
    ("woodblock", Role::Percussion),
    ("block", Role::Percussion),
    ("tabla", Role::Percussion),
    ("triangle", Role::Percussion),
    ("clicks", Role::Percussion),
    ("drums", Role::DrumLoop),
    ("drum", Role::DrumLoop),
    ("beat", Role::DrumLoop),
    ("break", Role::DrumLoop),
    ("breaks", Role::DrumLoop),
    ("breakbeat", Role::DrumLoop),
    ("drumloop", Role::DrumLoop),
    ("top", Role::DrumLoop),
    ("tops", Role::DrumLoop),
    ("toploop", Role::DrumLoop),
    ("kit", Role::DrumLoop),
    ("schlagzeug", Role::DrumLoop),
];

/// Pairs of words that say more together, in any order.
const PAIRS: &[(&str, &str, Role)] = &[
    ("open", "hat", Role::OpenHat),
    ("open", "hats", Role::OpenHat),
    ("open", "hh", Role::OpenHat),
    ("open", "hihat", Role::OpenHat),
    ("oh", "hat", Role::OpenHat),
    ("bass", "drum", Role::Kick),
    ("drum", "loop", Role::DrumLoop),
    ("lead", "vox", Role::Voice),
    ("lead", "vocal", Role::Voice),
    ("string", "pad", Role::Strings),
    ("strings", "pad", Role::Strings),
    ("tom", "fills", Role::Tom),
    ("guitar", "lead", Role::Guitar),
];

/// The role a file name (without its ending) tells, if any.
///
/// A prefix common to all files of a session should be cut off first, see
/// [`common_prefix_len`].
pub fn role_of_name(name: &str) -> Option<Role> {
    let words = words_of(name);
    let has = |word: &str| words.iter().any(|w| w == word);
    PAIRS
        .iter()
        .find(|(a, b, _)| has(a) && has(b))
        .map(|&(_, _, role)| role)
        .or_else(|| {
            WORDS
                .iter()
                .find(|(word, _)| has(word))
                .map(|&(_, role)| role)
        })
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

/// Lower-case words: letters only, split at anything else and where a small
/// letter is followed by a capital.
fn words_of(name: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut before_small = false;
    for c in name.chars() {
        if !c.is_alphabetic() || (before_small && c.is_uppercase()) {
            words.push(String::new());
        }
        if c.is_alphabetic() {
            words
                .last_mut()
                .into_iter()
                .for_each(|word| word.extend(c.to_lowercase()));
        }
        before_small = c.is_lowercase();
    }
    words.retain(|word| !word.is_empty());
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_people_use() {
        for (name, role) in [
            ("01 Kick", Some(Role::Kick)),
            ("BD_01", Some(Role::Kick)),
            ("04 CH Hat", Some(Role::ClosedHat)),
            ("hh open", Some(Role::OpenHat)),
            ("OpenHat 2", Some(Role::OpenHat)),
            ("sub+bass", Some(Role::Sub)),
            ("Bass Drum", Some(Role::Kick)),
            ("10 Strings Pad", Some(Role::Strings)),
            ("LV", Some(Role::Voice)),
            ("Lead Vox dbl", Some(Role::Voice)),
            ("ld plk", Some(Role::Pluck)),
            ("riser+impacts", Some(Role::Texture)),
            ("Audio 14", None),
            ("", None),
        ] {
            assert_eq!(role_of_name(name), role, "{name}");
        }
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
