//! What a track is in the music: the trade's own words, used everywhere.

use serde::{Deserialize, Serialize};

macro_rules! words {
    ($(#[$about:meta])* $name:ident { $($(#[$doc:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$doc])* #[serde(rename = $word)] $variant,)+
        }

        impl $name {
            /// All of them, in the order they are listed to people.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// The word people read and write.
            pub fn name(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }

            /// The value a word stands for.
            pub fn from_name(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$variant),)+ _ => None }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.name())
            }
        }
    };
}

words! {
    /// What a track plays.
    Role {
        /// Bass drum.
        Kick = "kick",
        /// Snare drum.
        Snare = "snare",
        /// Hand clap, finger snap.
        Clap = "clap",
        /// Rim shot, side stick.
        Rim = "rim",
        /// Closed hi-hat.
        ClosedHat = "closed hat",
        /// Open hi-hat.
        OpenHat = "open hat",
        /// Shaker, tambourine, maraca.
        Shaker = "shaker",
        /// Crash, ride, splash.
        Cymbal = "cymbal",
        /// Tom.
        Tom = "tom",
        /// Any other struck sound.
        Percussion = "percussion",
        /// Several drums in one file.
        DrumLoop = "drum loop",
        /// The lowest line, below the bass.
        Sub = "sub",
        /// Bass line.
        Bass = "bass",
        /// Chords in rhythm: stabs, organ, keys.
        Chords = "chords",
        /// Sustained chords.
        Pad = "pad",
        /// Strings, bowed or like them.
        Strings = "strings",
        /// Acoustic or electric piano.
        Piano = "piano",
        /// Guitar.
        Guitar = "guitar",
        /// Leading melody.
        Lead = "lead",
        /// Short plucked melody or arpeggio.
        Pluck = "pluck",
        /// Wind instruments, brass.
        Brass = "brass",
        /// Singing, speech, vocal chops.
        Voice = "voice",
        /// Effects that are meant to be noticed: impacts, sweeps.
        Effects = "effects",
        /// Noise, risers, ghost hits, room tone: never pushed forward.
        Texture = "texture",
        /// A whole mix in one file.
        Mix = "mix",
    }
}

words! {
    /// Where a track belongs when groups are made; each track is in one.
    Group {
        /// Drums and percussion.
        Drums = "drums",
        /// Sub and bass.
        LowEnd = "low end",
        /// Chords, pads, melodies.
        Music = "music",
        /// Voices.
        Voice = "voice",
        /// Effects and textures.
        Effects = "effects",
    }
}

impl Role {
    /// The group a track of this role belongs to unless someone says otherwise.
    pub fn group(self) -> Group {
        use Role::*;
        match self {
            Kick | Snare | Clap | Rim | ClosedHat | OpenHat | Shaker | Cymbal | Tom
            | Percussion | DrumLoop => Group::Drums,
            Sub | Bass => Group::LowEnd,
            Chords | Pad | Strings | Piano | Guitar | Lead | Pluck | Brass | Mix => Group::Music,
            Voice => Group::Voice,
            Effects | Texture => Group::Effects,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_go_both_ways() {
        for &role in Role::ALL {
            assert_eq!(Role::from_name(role.name()), Some(role));
        }
        assert_eq!(Group::from_name("low end"), Some(Group::LowEnd));
        assert_eq!(Role::from_name("kazoo"), None);
        assert_eq!(Role::OpenHat.group(), Group::Drums);
    }
}
