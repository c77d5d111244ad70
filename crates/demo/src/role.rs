//! The parts of a session and what is fixed about each.

/// What a track plays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)] // the names say it
pub enum Role {
    Kick,
    Clap,
    Snare,
    ClosedHat,
    OpenHat,
    ShakerLeft,
    ShakerRight,
    Toms,
    Sub,
    Bass,
    Chords,
    PadWarm,
    PadAir,
    Piano,
    Lead,
    Voice,
    Effects,
}

impl Role {
    /// All roles in the order of the files of a session. A song has either a
    /// clap or a snare.
    pub(crate) const ORDER: [Role; 17] = [
        Role::Kick,
        Role::Clap,
        Role::Snare,
        Role::ClosedHat,
        Role::OpenHat,
        Role::ShakerLeft,
        Role::ShakerRight,
        Role::Toms,
        Role::Sub,
        Role::Bass,
        Role::Chords,
        Role::PadWarm,
        Role::PadAir,
        Role::Piano,
        Role::Lead,
        Role::Voice,
        Role::Effects,
    ];

    /// Name of the file, without number and extension.
    pub fn title(self) -> &'static str {
        match self {
            Role::Kick => "Kick",
            Role::Clap => "Clap",
            Role::Snare => "Snare",
            Role::ClosedHat => "Closed Hat",
            Role::OpenHat => "Open Hat",
            Role::ShakerLeft => "Shaker L",
            Role::ShakerRight => "Shaker R",
            Role::Toms => "Toms",
            Role::Sub => "Sub",
            Role::Bass => "Bass",
            Role::Chords => "Chords",
            Role::PadWarm => "Pad Warm",
            Role::PadAir => "Pad Air",
            Role::Piano => "Piano",
            Role::Lead => "Lead",
            Role::Voice => "Vox",
            Role::Effects => "FX",
        }
    }

    /// The plain word for the role in `truth.json`; both shakers and both pads
    /// share one.
    pub fn word(self) -> &'static str {
        match self {
            Role::Kick => "kick",
            Role::Clap => "clap",
            Role::Snare => "snare",
            Role::ClosedHat => "closed hat",
            Role::OpenHat => "open hat",
            Role::ShakerLeft | Role::ShakerRight => "shaker",
            Role::Toms => "toms",
            Role::Sub => "sub",
            Role::Bass => "bass",
            Role::Chords => "chords",
            Role::PadWarm | Role::PadAir => "pad",
            Role::Piano => "piano",
            Role::Lead => "lead",
            Role::Voice => "vocal",
            Role::Effects => "effects",
        }
    }

    /// Whether it belongs to the drums.
    pub fn is_drum(self) -> bool {
        matches!(
            self,
            Role::Kick
                | Role::Clap
                | Role::Snare
                | Role::ClosedHat
                | Role::OpenHat
                | Role::ShakerLeft
                | Role::ShakerRight
                | Role::Toms
        )
    }

    /// 1 for what is exported as a mono file, else 2.
    pub fn channels(self) -> usize {
        match self {
            Role::Kick | Role::Sub | Role::Bass => 1,
            _ => 2,
        }
    }

    /// Decay time of the room printed on the track, in seconds, before the
    /// song's own variation; `None` where it is dry.
    pub(crate) fn room_rt60_s(self) -> Option<f64> {
        match self {
            // the shared short room of the drums
            Role::Clap | Role::Snare | Role::Toms => Some(0.45),
            Role::Chords => Some(0.9),
            Role::PadWarm => Some(1.8),
            Role::PadAir => Some(2.2),
            Role::Piano => Some(1.3),
            Role::Lead => Some(1.2),
            Role::Voice => Some(1.5),
            Role::Effects => Some(2.0),
            _ => None,
        }
    }

    /// Level of the printed room beside the dry sound, in dB of energy.
    ///
    /// About -14 LU is a good middle (De Man, McNally, Reiss, JAES 65(1/2)
    /// 2017); pads and effects are wetter, common practice, no source.
    pub(crate) fn room_wet_db(self) -> f64 {
        match self {
            Role::Clap | Role::Snare => -13.0,
            Role::Toms => -15.0,
            Role::Chords => -13.0,
            Role::PadWarm | Role::PadAir => -9.0,
            Role::Piano => -12.0,
            Role::Lead => -12.0,
            Role::Voice => -13.0,
            _ => -9.0,
        }
    }

    /// Seed label, the same in session and reference of one seed.
    pub(crate) fn label(self) -> &'static str {
        self.title()
    }
}
