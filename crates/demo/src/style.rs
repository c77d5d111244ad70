//! What sets one style apart: tempo, patterns, sounds and base levels.
//!
//! Patterns have one character a sixteenth: a point rests, a digit plays with
//! that ninth of full velocity. They and the levels are common practice, no
//! source; the levels lie near those of electronic sessions that were measured.

use crate::role::Role;
use crate::settings::Style;

/// How the lead moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LeadKind {
    /// Chord tones in running sixteenths.
    Arpeggio,
    /// Short syncopated notes.
    Pluck,
    /// A sung line of longer notes.
    Line,
}

/// One row of the table of styles.
#[derive(Debug)]
pub(crate) struct Traits {
    pub(crate) tempo_bpm: (f64, f64),
    pub(crate) swing: (f64, f64),
    /// Share of songs in a minor key.
    pub(crate) minor_share: f64,
    /// Share of chords with a seventh.
    pub(crate) seventh_share: f64,
    pub(crate) snare: bool,
    pub(crate) kick: &'static [&'static str],
    pub(crate) open_hat: &'static [&'static str],
    pub(crate) closed_hat: &'static [&'static str],
    pub(crate) bass: &'static [&'static str],
    pub(crate) chords: &'static [&'static str],
    pub(crate) lead: LeadKind,
    /// Final pitch and decay of the kick.
    pub(crate) kick_hz: (f64, f64),
    pub(crate) kick_decay_s: (f64, f64),
    /// Depth of the printed duck under the kick.
    pub(crate) duck_db: (f64, f64),
    /// Opens or closes the filters of the music, in octaves.
    pub(crate) brightness_octaves: f64,
    /// Sub plays one long note a chord instead of following the bass.
    pub(crate) long_sub: bool,
}

const FOUR: &[&str] = &["9...9...9...9..."];
const OFF: &[&str] = &["..8...8...8...8."];

/// The row of a style.
pub(crate) fn traits_of(style: Style) -> &'static Traits {
    match style {
        Style::House => &HOUSE,
        Style::Deep => &DEEP,
        Style::Techno => &TECHNO,
        Style::Trance => &TRANCE,
        Style::Breaks => &BREAKS,
        Style::DrumAndBass => &DRUM_AND_BASS,
        Style::Downtempo => &DOWNTEMPO,
        Style::Garage => &GARAGE,
    }
}

static HOUSE: Traits = Traits {
    tempo_bpm: (122.0, 127.0),
    swing: (0.5, 0.55),
    minor_share: 0.75,
    seventh_share: 0.4,
    snare: false,
    kick: FOUR,
    open_hat: OFF,
    closed_hat: &["6353635363536353", "7.357.357.357.35"],
    bass: &["..8...8...8..78.", "..8..78...8..7.7", "..87..8...87..8."],
    chords: &["...8..7....8..7.", "8..7..8...7.....", "..8..8....8..8.."],
    lead: LeadKind::Pluck,
    kick_hz: (47.0, 53.0),
    kick_decay_s: (0.16, 0.24),
    duck_db: (5.0, 8.0),
    brightness_octaves: 0.0,
    long_sub: false,
};

static DEEP: Traits = Traits {
    tempo_bpm: (118.0, 123.0),
    swing: (0.53, 0.59),
    seventh_share: 0.9,
    bass: &["8..7..8...7..8..", "8.....7..8....7.", "..8.7...8..7...."],
    chords: &["8.....7..7......", "..8......7......", "8..7............"],
    kick_hz: (45.0, 51.0),
    kick_decay_s: (0.2, 0.28),
    duck_db: (3.0, 6.0),
    brightness_octaves: -0.4,
    ..HOUSE
};

static TECHNO: Traits = Traits {
    tempo_bpm: (130.0, 138.0),
    swing: (0.5, 0.52),
    minor_share: 0.95,
    seventh_share: 0.15,
    closed_hat: &["5363536353635363", "..6...6...6..36."],
    bass: &["..88..88..88..88", ".888.888.888.888", "..8..8....8..8.8"],
    chords: &["......8.........", "...8......8.....", "8..........7...."],
    lead: LeadKind::Arpeggio,
    kick_hz: (44.0, 50.0),
    kick_decay_s: (0.2, 0.3),
    duck_db: (6.0, 9.0),
    ..HOUSE
};

static TRANCE: Traits = Traits {
    tempo_bpm: (132.0, 140.0),
    swing: (0.5, 0.5),
    minor_share: 0.85,
    seventh_share: 0.1,
    closed_hat: &["6363636363636363"],
    bass: &["..9...9...9...9.", ".888.888.888.888"],
    chords: &[".78..78..78..78.", "8..8..8.8..8..8."],
    lead: LeadKind::Arpeggio,
    kick_hz: (48.0, 54.0),
    kick_decay_s: (0.14, 0.2),
    duck_db: (6.0, 10.0),
    brightness_octaves: 0.35,
    ..HOUSE
};

static BREAKS: Traits = Traits {
    tempo_bpm: (126.0, 136.0),
    swing: (0.5, 0.56),
    minor_share: 0.8,
    seventh_share: 0.3,
    snare: true,
    kick: &["9.....9...9.....", "9..6......9....."],
    open_hat: &["..........7.....", "......7.......6."],
    closed_hat: &["8.6.7.6.8.6.7.6.", "8.647.648.647.64"],
    bass: &["9..7..8...8.7...", "9.....8..8....7."],
    chords: &["8......7..8.....", "8..7......8....."],
    lead: LeadKind::Line,
    kick_hz: (50.0, 58.0),
    kick_decay_s: (0.14, 0.2),
    duck_db: (3.0, 6.0),
    ..HOUSE
};

static DRUM_AND_BASS: Traits = Traits {
    tempo_bpm: (170.0, 176.0),
    swing: (0.5, 0.53),
    minor_share: 0.9,
    seventh_share: 0.4,
    snare: true,
    kick: &["9.........9.....", "9.....6...9....."],
    open_hat: &["......6.......6.", "..6............."],
    closed_hat: &["8.6.8.6.8.6.8.6.", "8.647.648.647.64"],
    bass: &["9.......7...8...", "9..7..8....8....", "8.....8..7......"],
    chords: &["8..........7....", "8..............."],
    lead: LeadKind::Line,
    kick_hz: (52.0, 60.0),
    kick_decay_s: (0.11, 0.16),
    duck_db: (3.0, 6.0),
    long_sub: true,
    ..HOUSE
};

static DOWNTEMPO: Traits = Traits {
    tempo_bpm: (84.0, 104.0),
    swing: (0.52, 0.6),
    minor_share: 0.65,
    seventh_share: 0.7,
    snare: true,
    kick: &["9......6..9.....", "9.....9...9....."],
    open_hat: &["......6.......7.", "..............7."],
    closed_hat: &["7.5.7.537.5.7.53", "7.5.6.5.7.5.6.5."],
    bass: &["9.....7...8.....", "9..7......8..7.."],
    chords: &["8.......7.......", "8.....7........."],
    lead: LeadKind::Line,
    kick_hz: (46.0, 54.0),
    kick_decay_s: (0.2, 0.3),
    duck_db: (2.0, 5.0),
    brightness_octaves: -0.3,
    long_sub: true,
};

static GARAGE: Traits = Traits {
    tempo_bpm: (128.0, 134.0),
    swing: (0.56, 0.63),
    minor_share: 0.8,
    seventh_share: 0.7,
    kick: &["9.........9.....", "9.....9...9..5.."],
    closed_hat: &["7..37..37.537..3", "7.537..37.537.53"],
    bass: &["9..8....7..8..7.", "9.....8..8.7...."],
    chords: &["..8..8....8..8..", "...8..7....8...."],
    lead: LeadKind::Pluck,
    kick_hz: (50.0, 57.0),
    kick_decay_s: (0.13, 0.2),
    duck_db: (3.0, 6.0),
    ..HOUSE
};

/// Base level of a role: integrated loudness of its track against a common
/// line, in LU.
pub(crate) fn base_level_lu(style: Style, role: Role) -> f64 {
    let common = match role {
        Role::Kick => -4.5,
        Role::Clap | Role::Snare => -9.0,
        Role::ClosedHat => -16.5,
        Role::OpenHat => -15.5,
        Role::ShakerLeft | Role::ShakerRight => -19.0,
        Role::Toms => -14.0,
        Role::Sub => -9.0,
        Role::Bass => -8.5,
        Role::Chords => -12.5,
        Role::PadWarm => -14.0,
        Role::PadAir => -17.0,
        Role::Piano => -12.5,
        Role::Lead => -11.5,
        Role::Voice => -7.0,
        Role::Effects => -16.0,
    };
    common + style_level_lu(style, role)
}

fn style_level_lu(style: Style, role: Role) -> f64 {
    match (style, role) {
        (Style::Deep, Role::Chords | Role::PadWarm) => 1.5,
        (Style::Deep | Style::Downtempo, Role::ClosedHat | Role::OpenHat) => -1.5,
        (Style::Techno, Role::Kick) => 1.0,
        (Style::Techno, Role::Piano | Role::PadWarm | Role::PadAir) => -2.0,
        (Style::Techno, Role::Voice) => -2.5,
        (Style::Trance, Role::Lead | Role::PadAir) => 2.0,
        (Style::Breaks | Style::DrumAndBass, Role::Snare) => 2.0,
        (Style::DrumAndBass, Role::Sub | Role::Bass) => 1.5,
        (Style::DrumAndBass, Role::ClosedHat) => 1.0,
        (Style::Downtempo, Role::Piano | Role::PadWarm) => 1.5,
        (Style::Downtempo, Role::Kick) => -1.0,
        (Style::Garage, Role::Sub | Role::Clap) => 1.0,
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pattern_is_one_bar() {
        for style in Style::ALL {
            let row = traits_of(style);
            let lists = [row.kick, row.open_hat, row.closed_hat, row.bass, row.chords];
            for pattern in lists.into_iter().flatten() {
                assert_eq!(pattern.len(), 16, "{pattern}");
                assert!(pattern.bytes().all(|b| b == b'.' || b.is_ascii_digit()));
            }
        }
    }
}
