//! What can be typed.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};

use cupel_work::TempoRange;

use crate::exit::CODES;

/// Says what to fix next in a mix, on which track, by how much and why.
///
/// Give it the tracks exported from a session and a released record as
/// reference. Without a command it says what to do next in this folder.
#[derive(Debug, Parser)]
#[command(
    name = "cupel",
    version,
    after_help = help("cupel open tracks --reference record.flac"),
    max_term_width = 80
)]
pub(crate) struct Args {
    #[command(subcommand)]
    pub command: Option<Command>,
    #[command(flatten)]
    pub common: Common,
}

/// Options of every command.
#[derive(Debug, ClapArgs)]
pub(crate) struct Common {
    /// Print the result as JSON, alone on standard output.
    #[arg(long, global = true)]
    pub json: bool,
    /// Folder for what was measured before; the platform's cache folder if absent.
    #[arg(long, global = true, value_name = "DIR")]
    pub cache: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Facts of single files: loudness, peaks, spectrum, stereo, health.
    #[command(after_help = help("cupel measure kick.wav record.flac"))]
    Measure {
        /// Audio files: WAV, AIFF, FLAC, MP3, M4A or Ogg Vorbis.
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
        #[command(flatten)]
        tempo: TempoArg,
    },
    /// Open a folder of exported tracks, or one file, and write session.toml.
    #[command(after_help = help(
        "cupel open tracks --reference record.flac --rough bounce.wav"
    ))]
    Open {
        /// Folder of exported tracks, or one audio file.
        #[arg(value_name = "FOLDER|FILE", default_value = ".")]
        audio: PathBuf,
        /// The released record to compare with.
        #[arg(long, value_name = "FILE")]
        reference: Option<PathBuf>,
        /// A bounce of the same session as it plays: shows whether the tracks add up.
        #[arg(long, value_name = "FILE")]
        rough: Option<PathBuf>,
        /// Session file to write, where it is not FOLDER/session.toml.
        #[arg(long, value_name = "FILE")]
        session: Option<PathBuf>,
        #[command(flatten)]
        tempo: TempoArg,
    },
    /// Can the tracks be trusted, and what do they measure beside the reference?
    #[command(after_help = help("cupel assay tracks"))]
    Assay {
        #[command(flatten)]
        session: SessionArg,
        /// Also write what the findings are made from, as JSON, to a file.
        #[arg(long, value_name = "FILE")]
        evidence: Option<PathBuf>,
    },
    /// Tell what a finding is, why it matters, and how to hear and mend it.
    #[command(after_help = help("cupel explain kick-off-anchor"))]
    Explain {
        /// Name of a finding; all of them are listed without one.
        #[arg(value_name = "NAME")]
        name: Option<String>,
    },
    /// Compute moves and write them into the session file.
    #[command(after_help = help("cupel balance tracks"))]
    Balance {
        #[command(flatten)]
        session: SessionArg,
        /// Turn on every move, not only the seven that do most.
        #[arg(long)]
        all: bool,
        /// Write unrounded values and keep small moves.
        #[arg(long)]
        exact: bool,
        /// Go on although the tracks do not add up to the bounce.
        #[arg(long)]
        anyway: bool,
        /// Go by the reference alone, not by what is usual for a kind of track.
        #[arg(long)]
        no_usual: bool,
        /// Leave out a stage; may be given several times.
        #[arg(long, value_name = "STAGE", value_enum)]
        skip: Vec<Stage>,
    },
    /// Render the pre-master, the group stems and the comparison pair.
    #[command(after_help = help("cupel render tracks --format i24"))]
    Render {
        #[command(flatten)]
        session: SessionArg,
        /// Samples of pre-master and comparison pair.
        #[arg(long, value_enum, default_value = "f32")]
        format: Format,
    },
    /// Write the report of the session as it stands, moves and all.
    #[command(after_help = help("cupel report tracks --json"))]
    Report {
        #[command(flatten)]
        session: SessionArg,
    },
    /// Write the reference's busiest passage at the session's tempo, to listen to.
    #[command(after_help = help("cupel loop tracks --key session"))]
    Loop {
        #[command(flatten)]
        session: SessionArg,
        /// Transpose it too, by three semitones at most.
        #[arg(long, value_enum)]
        key: Option<LoopKey>,
    },
    /// Open a page to hear before, after and the reference, and decide on each move.
    #[command(after_help = help("cupel listen tracks"))]
    Listen {
        #[command(flatten)]
        session: SessionArg,
        /// Port on this machine; any free one if absent.
        #[arg(long, value_name = "PORT", default_value_t = 0)]
        port: u16,
    },
    /// Make the demo session and run the whole path on it.
    #[command(after_help = help("cupel demo my-demo --seed 7"))]
    Demo {
        /// Folder to make; one that holds other files is left alone.
        #[arg(value_name = "FOLDER", default_value = "cupel-demo")]
        folder: PathBuf,
        /// Another seed makes another session.
        #[arg(long, value_name = "N", default_value_t = 1)]
        seed: u64,
        #[command(flatten)]
        make: MakeArgs,
    },
    /// Show how much is kept of what was measured, or remove it.
    #[command(after_help = help("cupel cache --clear"))]
    Cache {
        /// Remove everything; it is measured again when needed.
        #[arg(long)]
        clear: bool,
    },
}

/// What is known of the tempo.
#[derive(Debug, ClapArgs)]
pub(crate) struct TempoArg {
    /// Between what the tempo lies, such as 90-180, or a style such as house:
    /// settles half and double tempo.
    #[arg(long, value_name = "LOW-HIGH|STYLE")]
    pub tempo_range: Option<TempoRange>,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct SessionArg {
    /// Folder of a session, its session file, or one audio file.
    #[arg(value_name = "SESSION")]
    pub path: Option<PathBuf>,
}

/// What the demo is made of.
#[derive(Debug, ClapArgs)]
pub(crate) struct MakeArgs {
    /// Genre: house, deep, techno, trance, breaks, dnb, downtempo or garage.
    #[arg(long, value_name = "WORD", default_value = "house")]
    pub style: String,
    /// Length in seconds.
    #[arg(long, value_name = "SECONDS", default_value_t = 240.0)]
    pub seconds: f64,
    /// Tempo; drawn to fit the style if absent.
    #[arg(long, value_name = "BPM")]
    pub tempo: Option<f64>,
    /// How much plays, from 0 to 1.
    #[arg(long, value_name = "PART", default_value_t = 0.7)]
    pub density: f64,
    /// Leave out the voice.
    #[arg(long)]
    pub no_voice: bool,
    /// Spread of the drawn levels, as a standard deviation in dB.
    #[arg(long, value_name = "DB", default_value_t = 3.5)]
    pub spread: f64,
    /// Leave out the honest mistakes.
    #[arg(long)]
    pub no_mistakes: bool,
    /// Make the files and stop there.
    #[arg(long)]
    pub only_make: bool,
    /// Make one mix without tracks and reference, and stop there.
    #[arg(long)]
    pub mix_only: bool,
    #[command(flatten)]
    pub music: MusicArgs,
}

/// Music beyond what the style draws, for trials of what is heard in it.
#[derive(Debug, ClapArgs)]
pub(crate) struct MusicArgs {
    /// Key, such as "D minor"; drawn if absent.
    #[arg(long, value_name = "KEY")]
    pub key: Option<String>,
    /// Beats of a bar, 4 or 3.
    #[arg(long, value_name = "BEATS", default_value_t = 4)]
    pub metre: u32,
    /// Place of the second sixteenth in its pair, from 0.5 to 0.75; drawn if absent.
    #[arg(long, value_name = "PART")]
    pub swing: Option<f64>,
    /// How far the session is tuned from A4 = 440 Hz, from -50 to 50.
    #[arg(
        long,
        value_name = "CENTS",
        default_value_t = 0.0,
        allow_negative_numbers = true
    )]
    pub tuning_cents: f64,
    /// How far the tempo wanders from its middle, from 0 to 0.1.
    #[arg(long, value_name = "PART", default_value_t = 0.0)]
    pub drift: f64,
    /// Only pads, voice or noise, in free time.
    #[arg(long)]
    pub beatless: bool,
    /// Raise all drums against the rest.
    #[arg(
        long,
        value_name = "DB",
        default_value_t = 0.0,
        allow_negative_numbers = true
    )]
    pub drums_db: f64,
    /// Start of the first bar; below 0 the music begins that much later.
    #[arg(
        long,
        value_name = "SECONDS",
        default_value_t = 0.0,
        allow_negative_numbers = true
    )]
    pub start: f64,
    /// Draw the patterns of drums, bass and chords beyond those of the style.
    #[arg(long)]
    pub drawn_patterns: bool,
    /// Draw order and lengths of the sections.
    #[arg(long)]
    pub drawn_sections: bool,
}

/// Sample formats that can be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// 32-bit float: the exact sum, rounded once.
    F32,
    /// 24-bit integer with dither.
    I24,
}

fn help(example: &str) -> String {
    format!("Example: {example}\n\n{CODES}")
}

/// What key a loop is in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum LoopKey {
    /// That of the session.
    Session,
}

/// A stage of the balance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Stage {
    /// One trim of all tracks brings the kick to its peak.
    Anchor,
    /// Kick and bass.
    LowEnd,
    /// Snare and clap, hats, lead, voice.
    Core,
    /// The other tracks.
    Rest,
    /// Left and right.
    Lean,
    /// Headroom and the other sections.
    Check,
}

impl Stage {
    /// All stages but those to skip.
    pub(crate) fn all_but(skipped: &[Self]) -> cupel_solve::Stages {
        let has = |stage: Self| !skipped.contains(&stage);
        cupel_solve::Stages {
            anchor: has(Self::Anchor),
            low_end: has(Self::LowEnd),
            core: has(Self::Core),
            rest: has(Self::Rest),
            lean: has(Self::Lean),
            check: has(Self::Check),
        }
    }
}
