//! Composing: from settings to a song whose parts are notes, not yet sound.

use crate::arrangement;
use crate::clock::Clock;
use crate::error::DemoError;
use crate::form::{Grid, Section, SectionKind, sections};
use crate::harmony::Harmony;
use crate::patterns::Drawn;
use crate::rng::Rng;
use crate::role::Role;
use crate::samples::Samples;
use crate::score::{self, Event, Layers, Sheet, drawn_layers};
use crate::settings::{Arrangement, DemoSettings, Key, Mode, Patterns};
use crate::sound::{self, Booth};
use crate::style::{Traits, traits_of};

/// Rate of the reference: records are mostly at this one.
pub(crate) const REFERENCE_RATE_HZ: u32 = 44_100;
/// Room for the last decay.
const TAIL_S: f64 = 2.5;

/// A composed song.
#[derive(Clone, Debug)]
pub struct Song {
    /// Invented title.
    pub title: String,
    /// Key.
    pub key: Key,
    /// Rate its parts are rendered at.
    pub sample_rate_hz: u32,
    /// What plays, in file order.
    pub parts: Vec<Part>,
    pub(crate) seed: u64,
    pub(crate) grid: Grid,
    pub(crate) sections: Vec<Section>,
    pub(crate) style: &'static Traits,
    /// Played, before the start is cut.
    pub(crate) kick_times_s: Vec<f64>,
    pub(crate) clock: Clock,
    /// Cut away from the start.
    pub(crate) cut_s: f64,
    pub(crate) tuning_cents: f64,
}

/// One part of a song.
#[derive(Clone, Debug)]
pub struct Part {
    /// What it plays.
    pub role: Role,
    /// Place across the stage, -1 to 1.
    pub pan: f64,
    /// Decay time of its printed room.
    pub reverb_rt60_s: Option<f64>,
    /// Depth of its printed duck.
    pub sidechain_duck_db: Option<f64>,
    pub(crate) events: Vec<Event>,
}

/// A session's song and the song of its reference.
#[derive(Clone, Debug)]
pub struct Composition {
    /// The song whose tracks are exported.
    pub session: Song,
    /// Same style and roles, other key, tempo, patterns and sounds.
    pub reference: Song,
}

/// Composes both songs; no sound is made.
///
/// # Errors
/// [`DemoError::Setting`] for a setting outside its range.
pub fn compose(settings: &DemoSettings) -> Result<Composition, DemoError> {
    settings.check()?;
    let style = traits_of(settings.style);
    let mut rng = Rng::labelled(settings.seed, "session");
    let tempo_bpm = libm::round(rng.between(style.tempo_bpm.0, style.tempo_bpm.1));
    let swing = hundredth(rng.between(style.swing.0, style.swing.1));
    let key = draw_key(style, &mut rng);
    let tempo_bpm = match drawn(settings, settings.seed) {
        Some(drawn) => drawn.tempo_bpm,
        None => tempo_bpm,
    };
    let wish = Wish {
        seed: settings.seed,
        tempo_bpm: settings.tempo_bpm.unwrap_or(tempo_bpm),
        swing: settings.swing.unwrap_or(swing),
        key: settings.key.unwrap_or(key),
        first_downbeat_s: settings.start_s.max(0.0),
        seconds: settings.seconds,
        full: settings.seconds >= 90.0,
        sample_rate_hz: settings.sample_rate_hz,
        cut_s: (-settings.start_s).clamp(0.0, 0.5 * settings.seconds),
        tuning_cents: settings.tuning_cents,
        drift: settings.tempo_drift,
    };
    let session = wish.song(settings);
    let reference = other_song(settings, &wish).song(settings);
    Ok(Composition { session, reference })
}

/// Renders one part at an arbitrary level, dry of any mistake.
///
/// `part` is an index into `song.parts`; the same song gives the same samples on
/// every machine.
///
/// # Panics
/// If there is no such part.
pub fn synthesise(song: &Song, part: usize) -> Samples {
    let part = &song.parts[part];
    let rate = f64::from(song.sample_rate_hz);
    let booth = Booth {
        sample_rate_hz: rate,
        grid: song.grid,
        style: song.style,
        events: &part.events,
        kick_times_s: &song.kick_times_s,
        pan: part.pan,
        room_rt60_s: part.reverb_rt60_s,
        duck_db: part.sidechain_duck_db,
    };
    let label = format!("{}/sound", part.role.label());
    let mut rng = Rng::labelled(song.seed, &label);
    let cut = song.cut_frames();
    let mut canvas = sound::render(part.role, &booth, song.frames() + cut, &mut rng);
    canvas.drop_first(cut);
    Samples::pack(&canvas)
}

/// Patterns in place of the style's.
fn drawn(settings: &DemoSettings, seed: u64) -> Option<Drawn> {
    (settings.patterns == Patterns::Drawn).then(|| {
        let mut rng = Rng::labelled(seed, "patterns");
        Drawn::draw(settings.beats_per_bar as usize, &mut rng)
    })
}

struct Wish {
    seed: u64,
    tempo_bpm: f64,
    swing: f64,
    key: Key,
    first_downbeat_s: f64,
    seconds: f64,
    full: bool,
    sample_rate_hz: u32,
    cut_s: f64,
    tuning_cents: f64,
    drift: f64,
}

/// A few beats a minute off, in another key.
fn other_song(settings: &DemoSettings, session: &Wish) -> Wish {
    let style = traits_of(settings.style);
    let seed = settings.seed ^ 0x5ca1_ab1e_0ddb_a115;
    let mut rng = Rng::labelled(seed, "reference");
    let off = (1 + rng.below(4)) as f64 * if rng.chance(0.5) { 1.0 } else { -1.0 };
    let mut key = draw_key(style, &mut rng);
    if key.tonic == session.key.tonic {
        key.tonic = (key.tonic + 5) % 12;
    }
    Wish {
        seed,
        tempo_bpm: session.tempo_bpm + off,
        swing: hundredth(rng.between(style.swing.0, style.swing.1)),
        key,
        first_downbeat_s: if rng.chance(0.5) {
            0.0
        } else {
            hundredth(rng.between(0.03, 0.4))
        },
        seconds: session.seconds * rng.between(0.9, 1.1),
        full: false,
        sample_rate_hz: REFERENCE_RATE_HZ,
        cut_s: 0.0,
        tuning_cents: 0.0,
        drift: 0.0,
    }
}

fn draw_key(style: &Traits, rng: &mut Rng) -> Key {
    let mode = if rng.chance(style.minor_share) {
        Mode::Minor
    } else {
        Mode::Major
    };
    Key {
        tonic: rng.below(12) as u8,
        mode,
    }
}

fn hundredth(value: f64) -> f64 {
    libm::round(100.0 * value) / 100.0
}

impl Wish {
    fn song(&self, settings: &DemoSettings) -> Song {
        let style = traits_of(settings.style);
        let grid = Grid {
            tempo_bpm: self.tempo_bpm,
            beats_per_bar: settings.beats_per_bar as usize,
            swing: self.swing,
            first_downbeat_s: self.first_downbeat_s,
        };
        let mut rng = Rng::labelled(self.seed, "form");
        let bars = libm::round((self.seconds - TAIL_S) / grid.bar_s()).max(7.0) as usize;
        let sections = self.sections(settings, bars, &mut rng);
        let harmony = Harmony::draw(self.key, style.seventh_share, &mut rng);
        let drawn = drawn(settings, self.seed);
        let without_kick = drawn.as_ref().is_some_and(|drawn| drawn.kick.is_none());
        let mut roles = roles(settings, self.seed);
        roles.retain(|role| *role != Role::Kick || !without_kick);
        let layers = if settings.arrangement == Arrangement::Drawn && !settings.beatless {
            drawn_layers(&sections, &roles, self.seed)
        } else {
            Layers::draw(&sections, &roles, self.seed)
        };
        let sheet = Sheet {
            grid,
            sections: &sections,
            harmony: &harmony,
            style,
            layers: &layers,
            density: settings.density,
            drawn: drawn.as_ref(),
        };
        let mut parts = self.parts(&roles, &sheet);
        let clock = self.clock(settings, grid, &sections);
        for part in &mut parts {
            clock.play(&mut part.events);
            // what has no pitch of its own has the note 0
            for event in part.events.iter_mut().filter(|event| event.note > 0.0) {
                event.note += self.tuning_cents / 100.0;
            }
        }
        let kick_times_s = parts
            .iter()
            .filter(|part| part.role == Role::Kick)
            .flat_map(|part| part.events.iter().map(|event| event.start_s))
            .collect();
        Song {
            title: title(self.seed),
            key: self.key,
            sample_rate_hz: self.sample_rate_hz,
            parts,
            seed: self.seed,
            grid,
            sections,
            style,
            kick_times_s,
            clock,
            cut_s: self.cut_s,
            tuning_cents: self.tuning_cents,
        }
    }

    fn sections(&self, settings: &DemoSettings, bars: usize, rng: &mut Rng) -> Vec<Section> {
        if settings.beatless {
            // one state from end to end
            return vec![Section {
                kind: SectionKind::Break,
                start_bar: 0,
                bars,
                pass: 0,
                loud: false,
            }];
        }
        match settings.arrangement {
            Arrangement::Plan => sections(bars, self.full, rng),
            Arrangement::Drawn => arrangement::draw(bars, rng),
        }
    }

    fn clock(&self, settings: &DemoSettings, grid: Grid, sections: &[Section]) -> Clock {
        let bars = sections.last().map_or(0, Section::end_bar);
        // some room beyond the end, for the last notes
        let beats = (bars + 4) * grid.beats_per_bar;
        let mut rng = Rng::labelled(self.seed, "clock");
        if settings.beatless {
            Clock::free(grid, beats, &mut rng)
        } else if self.drift > 0.0 {
            Clock::drifting(grid, beats, self.drift, &mut rng)
        } else {
            Clock::even()
        }
    }

    fn parts(&self, roles: &[Role], sheet: &Sheet<'_>) -> Vec<Part> {
        let mut rng = Rng::labelled(self.seed, "stage");
        let side = if rng.chance(0.5) { 1.0 } else { -1.0 };
        let shakers = hundredth(rng.between(0.4, 0.65));
        let room = rng.between(0.85, 1.2);
        let duck_db = libm::round(rng.between(sheet.style.duck_db.0, sheet.style.duck_db.1));
        roles
            .iter()
            .map(|&role| Part {
                role,
                pan: match role {
                    Role::ClosedHat => 0.22 * side,
                    Role::OpenHat => -0.16 * side,
                    Role::ShakerLeft => -shakers,
                    Role::ShakerRight => shakers,
                    _ => 0.0,
                },
                reverb_rt60_s: role.room_rt60_s().map(|rt60_s| hundredth(rt60_s * room)),
                sidechain_duck_db: match role {
                    Role::Sub | Role::Bass => Some(duck_db),
                    Role::PadWarm | Role::PadAir | Role::Chords => Some(duck_db - 1.0),
                    _ => None,
                },
                events: score::write(role, sheet, &mut Rng::labelled(self.seed, role.label())),
            })
            .collect()
    }
}

/// Fewer tracks where less is to play; what has no beat where none is wanted.
fn roles(settings: &DemoSettings, seed: u64) -> Vec<Role> {
    if settings.beatless {
        const WITHOUT_BEAT: [&[Role]; 5] = [
            &[Role::PadWarm],
            &[Role::PadWarm, Role::PadAir],
            &[Role::Voice],
            &[Role::PadAir, Role::Voice],
            &[Role::PadAir, Role::Effects],
        ];
        return Rng::labelled(seed, "beatless").pick(&WITHOUT_BEAT).to_vec();
    }
    let snare = traits_of(settings.style).snare;
    Role::ORDER
        .into_iter()
        .filter(|role| match role {
            Role::Clap => !snare,
            Role::Snare => snare,
            Role::Chords => settings.density >= 0.2,
            Role::PadAir => settings.density >= 0.35,
            Role::ClosedHat => settings.density >= 0.5,
            Role::Voice => settings.voice,
            _ => true,
        })
        .collect()
}

fn title(seed: u64) -> String {
    const FIRST: [&str; 12] = [
        "Slow", "Glass", "Paper", "Northern", "Copper", "Hollow", "Late", "Salt", "Quiet",
        "Second", "Woven", "Pale",
    ];
    const SECOND: [&str; 12] = [
        "Ferries", "Lanterns", "Orchard", "Corridor", "Weather", "Pylons", "Kiln", "Harbour",
        "Meridian", "Thicket", "Causeway", "Signals",
    ];
    let mut rng = Rng::labelled(seed, "title");
    format!("{} {}", rng.pick(&FIRST), rng.pick(&SECOND))
}

impl Song {
    /// Beats a minute.
    pub fn tempo_bpm(&self) -> f64 {
        self.grid.tempo_bpm
    }

    /// Length with the last decay.
    pub fn seconds(&self) -> f64 {
        self.end_s() + TAIL_S
    }

    /// End of the last bar.
    pub(crate) fn end_s(&self) -> f64 {
        let bars = self.sections.last().map_or(0, Section::end_bar);
        self.time_s(self.grid.bar_start_s(bars))
    }

    /// Time in the finished file of a written one.
    pub(crate) fn time_s(&self, written_s: f64) -> f64 {
        self.clock.played_s(written_s) - self.cut_s
    }

    fn cut_frames(&self) -> usize {
        libm::round(self.cut_s * f64::from(self.sample_rate_hz)) as usize
    }

    pub(crate) fn frames(&self) -> usize {
        libm::ceil(self.seconds() * f64::from(self.sample_rate_hz)) as usize
    }
}

/// Rounded to a millionth, as it is printed.
pub(crate) fn micro(value: f64) -> f64 {
    libm::round(1e6 * value) / 1e6
}
