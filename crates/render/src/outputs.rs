//! The written render: pre-master and group stems, whole or not at all.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use cupel_audio::{SampleFormat, WavWriter};
use cupel_measure::{Features, HighestPeak, Meter, MeterSettings, Summary};
use cupel_session::Group;

use crate::measuring::MixMeter;
use crate::{Block, Plan, RenderError, Sink, run};

/// What belongs to one render and moves away together when the next one comes.
const PARTS: [&str; 5] = [
    "premaster.wav",
    "groups",
    "compare",
    "render.json",
    "report.html",
];

/// Beginning of the name of a folder in which a render is being made.
const UNFINISHED: &str = ".cupel-render-";

/// The folder `cupel/` beside a session, with a render being made in it.
#[derive(Debug)]
pub struct OutputFolder {
    folder: PathBuf,
    making: PathBuf,
    finished: bool,
}

/// Folders in which renders are being made by this process.
static MAKING: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Removes the folders of renders that are being made: for an interrupt.
pub fn remove_unfinished_renders() {
    for folder in making().iter() {
        let _ = fs::remove_dir_all(folder);
    }
}

fn making() -> MutexGuard<'static, Vec<PathBuf>> {
    MAKING.lock().unwrap_or_else(PoisonError::into_inner)
}

fn forget(folder: &Path) {
    making().retain(|known| known != folder);
}

impl OutputFolder {
    /// Begins a render in `folder`, which is made where it is absent. What an
    /// interrupted render left behind is removed.
    ///
    /// # Errors
    /// [`RenderError::Folder`] where it cannot be written.
    pub fn begin(folder: &Path) -> Result<Self, RenderError> {
        let making = folder.join(format!("{UNFINISHED}{}", std::process::id()));
        remove_unfinished(folder);
        self::making().push(making.clone());
        for path in [folder, &making] {
            fs::create_dir_all(path).map_err(at(path))?;
        }
        Ok(Self {
            folder: folder.to_owned(),
            making,
            finished: false,
        })
    }

    /// Where the new render is made.
    pub fn making(&self) -> &Path {
        &self.making
    }

    /// Puts the new render in its place; an earlier one moves to
    /// `earlier/N/`, whose number is given back.
    ///
    /// # Errors
    /// [`RenderError::Folder`] where a file cannot be moved.
    pub fn finish(mut self) -> Result<Option<u32>, RenderError> {
        // An interrupt waits here until old and new have changed places.
        let mut making = making();
        let moved = self.move_earlier()?;
        for part in PARTS {
            let from = self.making.join(part);
            if from.exists() {
                let to = self.folder.join(part);
                fs::rename(&from, &to).map_err(at(&to))?;
            }
        }
        self.finished = true;
        let _ = fs::remove_dir_all(&self.making);
        making.retain(|known| known != &self.making);
        drop(making);
        Ok(moved)
    }

    fn move_earlier(&self) -> Result<Option<u32>, RenderError> {
        // A report alone, from a session never rendered, is simply replaced.
        if !self.folder.join(PARTS[0]).exists() {
            return Ok(None);
        }
        let earlier = self.folder.join("earlier");
        let number = next_number(&earlier);
        let to = earlier.join(number.to_string());
        fs::create_dir_all(&to).map_err(at(&to))?;
        for part in PARTS.iter().filter(|part| self.folder.join(part).exists()) {
            let target = to.join(part);
            fs::rename(self.folder.join(part), &target).map_err(at(&target))?;
        }
        Ok(Some(number))
    }
}

impl Drop for OutputFolder {
    fn drop(&mut self) {
        if !self.finished {
            let _ = fs::remove_dir_all(&self.making);
            forget(&self.making);
        }
    }
}

/// Removes what interrupted renders left in a `cupel/` folder.
fn remove_unfinished(folder: &Path) {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    for entry in entries.filter(|e| e.file_name().to_string_lossy().starts_with(UNFINISHED)) {
        let _ = fs::remove_dir_all(entry.path());
    }
}

fn next_number(earlier: &Path) -> u32 {
    let numbers = fs::read_dir(earlier).into_iter().flatten().flatten();
    let last = numbers
        .filter_map(|e| e.file_name().to_str()?.parse::<u32>().ok())
        .max();
    last.unwrap_or(0) + 1
}

fn at(path: &Path) -> impl FnOnce(std::io::Error) -> RenderError + '_ {
    move |source| RenderError::Folder {
        path: path.to_owned(),
        source,
    }
}

/// What was written, and what it measures.
#[derive(Clone, Debug)]
pub struct Outputs {
    /// The pre-master, measured before its samples were rounded to the file.
    pub mix: Features,
    /// Every group stem.
    pub groups: Vec<(Group, Summary)>,
    /// Sample peaks of the sums of tracks asked for, in dBFS.
    pub peaks_dbfs: Vec<Option<f64>>,
    /// The highest peaks of the mix, with the share of each track of the plan.
    pub highest_peaks: Vec<HighestPeak>,
    /// Frames written.
    pub frames: u64,
    /// Samples of the pre-master that integers could not hold and that were
    /// held at full scale.
    pub limited_samples: u64,
}

/// Writes `premaster.wav` in `format` and `groups/NAME.wav` in 32-bit float
/// into `folder`, measuring both on the way. `sums` as in
/// [`crate::measure_mix`].
///
/// # Errors
/// As [`run`]; nothing half-written stays.
pub fn write_outputs(
    plan: &Plan,
    folder: &Path,
    format: SampleFormat,
    sums: &[Vec<usize>],
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Outputs, RenderError> {
    let rate = plan.sample_rate_hz;
    let stems = folder.join("groups");
    fs::create_dir_all(&stems).map_err(at(&stems))?;
    let premaster = folder.join("premaster.wav");
    let mut sink = Writing {
        meter: MixMeter::new(plan, sums.to_vec())?,
        premaster: WavWriter::create(&premaster, rate, 2, format)?,
        stems: plan
            .groups
            .iter()
            .map(|(group, _)| Stem::create(&stems, *group, rate))
            .collect::<Result<_, _>>()?,
    };
    let frames = run(plan, None, true, &mut sink, progress)?;
    let limited_samples = sink.premaster.finish()?.limited_samples;
    let mut groups = Vec::new();
    for stem in sink.stems {
        stem.writer.finish()?;
        groups.push((stem.group, stem.meter.finish().summary));
    }
    let heard = sink.meter.finish(frames);
    Ok(Outputs {
        mix: heard.mix,
        groups,
        peaks_dbfs: heard.peaks_dbfs,
        highest_peaks: heard.highest_peaks,
        frames,
        limited_samples,
    })
}

struct Stem {
    group: Group,
    writer: WavWriter,
    meter: Meter,
}

impl Stem {
    fn create(folder: &Path, group: Group, rate: u32) -> Result<Self, RenderError> {
        let path = folder.join(format!("{}.wav", group.name()));
        Ok(Self {
            group,
            writer: WavWriter::create(&path, rate, 2, SampleFormat::F32)?,
            meter: Meter::new(MeterSettings {
                sample_rate_hz: rate,
                channels: 2,
            })?
            .without_bands(),
        })
    }
}

struct Writing {
    meter: MixMeter,
    premaster: WavWriter,
    stems: Vec<Stem>,
}

impl Sink for Writing {
    fn take(&mut self, block: &Block) -> Result<(), RenderError> {
        self.meter.take(block)?;
        self.premaster.write(&[&block.mix.left, &block.mix.right])?;
        for (stem, bus) in self.stems.iter_mut().zip(&block.stems) {
            stem.writer.write(&[&bus.left, &bus.right])?;
            stem.meter.push(&[&bus.left, &bus.right]);
        }
        Ok(())
    }
}
