//! The names of the General MIDI standard, level 1 (RP-003, 1991): its 47 sounds of
//! percussion and its 128 instruments, and what each is in Cupel's words.

use crate::role_of_name;
use cupel_units::Role;

const PERCUSSION: &[(&str, &str)] = &[
    ("kick", "Acoustic Bass Drum/Bass Drum 1"),
    ("rim", "Side Stick"),
    ("snare", "Acoustic Snare/Electric Snare"),
    ("clap", "Hand Clap"),
    ("closed hat", "Closed Hi Hat/Pedal Hi-Hat"),
    ("open hat", "Open Hi-Hat"),
    (
        "tom",
        "Low Floor Tom/High Floor Tom/Low Tom/Low-Mid Tom/Hi Mid Tom/High Tom",
    ),
    (
        "cymbal",
        "Crash Cymbal 1/Ride Cymbal 1/Chinese Cymbal/Ride Bell/Splash Cymbal/\
         Crash Cymbal 2/Ride Cymbal 2",
    ),
    ("shaker", "Tambourine/Cabasa/Maracas"),
    (
        "percussion",
        "Cowbell/Vibraslap/Hi Bongo/Low Bongo/Mute Hi Conga/Open Hi Conga/Low Conga/\
         High Timbale/Low Timbale/High Agogo/Low Agogo/Short Whistle/Long Whistle/\
         Short Guiro/Long Guiro/Claves/Hi Wood Block/Low Wood Block/Mute Cuica/Open Cuica/\
         Mute Triangle/Open Triangle",
    ),
];

/// Instruments in the order of their numbers; several roles where the trade has no
/// word of its own for one.
const INSTRUMENTS: &[(&str, &str)] = &[
    (
        "piano",
        "Acoustic Grand Piano/Bright Acoustic Piano/Electric Grand Piano/Honky-tonk Piano/\
         Electric Piano 1/Electric Piano 2/Harpsichord",
    ),
    ("chords", "Clavi"),
    (
        "pluck",
        "Celesta/Glockenspiel/Music Box/Vibraphone/Marimba/Xylophone/Tubular Bells/Dulcimer",
    ),
    (
        "chords",
        "Drawbar Organ/Percussive Organ/Rock Organ/Church Organ/Reed Organ",
    ),
    ("brass", "Accordion/Harmonica/Tango Accordion"),
    (
        "guitar",
        "Acoustic Guitar (nylon)/Acoustic Guitar (steel)/Electric Guitar (jazz)/\
         Electric Guitar (clean)/Electric Guitar (muted)/Overdriven Guitar/\
         Distortion Guitar/Guitar Harmonics",
    ),
    (
        "bass",
        "Acoustic Bass/Electric Bass (finger)/Electric Bass (pick)/Fretless Bass/\
         Slap Bass 1/Slap Bass 2/Synth Bass 1/Synth Bass 2",
    ),
    (
        "strings",
        "Violin/Viola/Cello/Contrabass/Tremolo Strings/Pizzicato Strings",
    ),
    ("pluck", "Orchestral Harp"),
    ("percussion", "Timpani"),
    (
        "strings",
        "String Ensemble 1/String Ensemble 2/Synth Strings 1/Synth Strings 2",
    ),
    ("voice", "Choir Aahs/Voice Oohs/Synth Voice"),
    ("chords", "Orchestra Hit"),
    (
        "brass",
        "Trumpet/Trombone/Tuba/Muted Trumpet/French Horn/Brass Section/Synth Brass 1/\
         Synth Brass 2/Soprano Sax/Alto Sax/Tenor Sax/Baritone Sax/Oboe/English Horn/\
         Bassoon/Clarinet/Piccolo/Flute/Recorder/Pan Flute/Shakuhachi/Ocarina",
    ),
    (
        "lead",
        "Lead 1 (square)/Lead 2 (sawtooth)/Lead 3 (calliope)/Lead 4 (chiff)",
    ),
    (
        "pad",
        "Pad 1 (new age)/Pad 2 (warm)/Pad 3 (polysynth)/Pad 4 (choir)/Pad 5 (bowed)/\
         Pad 6 (metallic)/Pad 7 (halo)/Pad 8 (sweep)",
    ),
    (
        "effects or texture",
        "FX 1 (rain)/FX 2 (soundtrack)/FX 3 (crystal)/FX 4 (atmosphere)/FX 5 (brightness)/\
         FX 6 (goblins)/FX 7 (echoes)/FX 8 (sci-fi)",
    ),
    ("guitar", "Sitar/Banjo"),
    ("pluck", "Shamisen/Koto/Kalimba"),
    ("brass", "Bag pipe/Shanai"),
    ("strings", "Fiddle"),
    ("percussion", "Agogo/Steel Drums/Woodblock"),
    ("tom", "Melodic Tom"),
    ("effects", "Reverse Cymbal"),
    (
        "effects or texture",
        "Breath Noise/Explosion/Gunshot/Bird Tweet/Seashore",
    ),
];

/// How many of the names are read as they are meant, and those that are not.
fn read(table: &[(&str, &str)]) -> (usize, usize, Vec<String>) {
    let all: Vec<(&str, &str)> = table
        .iter()
        .flat_map(|&(role, names)| names.split('/').map(move |name| (role, name)))
        .collect();
    let wrong: Vec<String> = all
        .iter()
        .filter_map(|(meant, name)| {
            let told = role_of_name(name).map_or("nothing", Role::name);
            (!meant.split(" or ").any(|role| role == told)).then(|| format!("{name}: {told}"))
        })
        .collect();
    (all.len() - wrong.len(), all.len(), wrong)
}

#[test]
fn percussion_of_the_standard() {
    let (right, all, wrong) = read(PERCUSSION);
    assert_eq!((right, all), (47, 47), "{wrong:?}");
}

#[test]
fn instruments_of_the_standard() {
    let (right, all, wrong) = read(INSTRUMENTS);
    assert!(right * 100 >= all * 95, "{right} of {all}: {wrong:?}");
}
