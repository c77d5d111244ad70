//! Plans over small files of fixed seed.

use std::path::Path;

use cupel_audio::{SampleFormat, TrackReader, WavWriter};
use cupel_process::GroupSettings;
use cupel_render::{Block, Plan, PlannedTrack, RenderError, Sink, Span, run};
use cupel_session::Group;

pub const RATE_HZ: u32 = 48_000;

/// Noise between -1 and 1 that 32-bit float holds (linear congruential, Knuth's
/// MMIX constants).
pub fn noise(seed: u64, frames: usize) -> Vec<f64> {
    let mut state = seed;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        f64::from(((state >> 40) as f32) / (1u64 << 23) as f32 - 1.0)
    };
    (0..frames).map(|_| next()).collect()
}

pub fn write(path: &Path, sound: &[Vec<f64>]) {
    let mut writer = WavWriter::create(path, RATE_HZ, sound.len(), SampleFormat::F32).unwrap();
    writer.write(sound).unwrap();
    writer.finish().unwrap();
}

/// Both sides of a file as it plays.
pub fn read(path: &Path) -> [Vec<f64>; 2] {
    let mut reader = TrackReader::open(path, RATE_HZ, 0).unwrap();
    let (mut left, mut right) = (vec![0.0; 1000], vec![0.0; 1000]);
    let mut all = [Vec::new(), Vec::new()];
    loop {
        let count = reader.read(&mut left, &mut right).unwrap();
        if count == 0 {
            return all;
        }
        all[0].extend(&left[..count]);
        all[1].extend(&right[..count]);
    }
}

/// A track of the plan: its sound, its start and its group.
pub struct Part {
    pub sound: Vec<Vec<f64>>,
    pub start_frames: i64,
    pub group: Option<usize>,
}

/// Six parts, mono and stereo, of uneven lengths, some before the start and
/// some after it.
pub fn parts() -> Vec<Part> {
    let starts = [0, 5_001, -777, 0, 40_000, 13];
    let frames = [50_000, 8_192, 30_001, 1, 20_000, 61_234];
    (0..6)
        .map(|index| {
            let side = |s| noise(10 * index as u64 + s, frames[index]);
            Part {
                sound: if index % 2 == 0 {
                    vec![side(1)]
                } else {
                    vec![side(1), side(2)]
                },
                start_frames: starts[index],
                group: [Some(0), None, Some(1), Some(0), Some(1), None][index],
            }
        })
        .collect()
}

/// A plan over these parts, written into a folder.
pub fn plan(folder: &Path, parts: &[Part]) -> Plan {
    let tracks = parts
        .iter()
        .enumerate()
        .map(|(index, part)| {
            let path = folder.join(format!("{index}.wav"));
            write(&path, &part.sound);
            PlannedTrack {
                id: index.to_string(),
                path,
                start_frames: part.start_frames,
                strip: cupel_process::StripSettings::default(),
                group: part.group,
            }
        })
        .collect();
    Plan {
        sample_rate_hz: RATE_HZ,
        tracks,
        groups: vec![
            (Group::Drums, GroupSettings::default()),
            (Group::Music, GroupSettings::default()),
        ],
        notes: Vec::new(),
    }
}

/// Keeps all that is rendered.
#[derive(Debug, Default, PartialEq)]
pub struct Tape {
    pub mix: [Vec<f64>; 2],
    pub stems: Vec<[Vec<f64>; 2]>,
}

impl Sink for Tape {
    fn take(&mut self, block: &Block) -> Result<(), RenderError> {
        self.stems.resize_with(block.stems.len(), Default::default);
        let stems = self.stems.iter_mut().zip(&block.stems);
        for (tape, bus) in stems.chain([(&mut self.mix, &block.mix)]) {
            tape[0].extend(&bus.left);
            tape[1].extend(&bus.right);
        }
        Ok(())
    }
}

pub fn tape(plan: &Plan, span: Option<Span>) -> Tape {
    let mut tape = Tape::default();
    let frames = run(plan, span, true, &mut tape, &|_| ()).unwrap();
    assert_eq!(frames as usize, tape.mix[0].len());
    tape
}
