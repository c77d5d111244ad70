//! Folders, signals and files of the stories, and the way to the program.

mod folder;
mod signals;
mod wav;

pub use folder::{Folder, Run};
pub use signals::{
    RATE_HZ, bass, first_difference, hats, kick, noise, pad, rounded, scaled, silence, sine, sum,
};
pub use wav::{read, riff_16, samples_24, write, write_at};

use std::path::Path;

use ebur128::{EbuR128, Mode};
use serde_json::Value;

/// A channel pair or a single channel.
pub type Sound = Vec<Vec<f64>>;

/// Integrated loudness by an independent library (crate `ebur128`, an
/// implementation of ITU-R BS.1770 and EBU R 128), mono as it plays on both
/// sides.
pub fn library_lufs(sound: &Sound, rate_hz: u32) -> f64 {
    let mut meter = EbuR128::new(2, rate_hz, Mode::I).unwrap();
    let (left, right) = (&sound[0], sound.last().unwrap());
    meter
        .add_frames_planar_f64(&[left.as_slice(), right.as_slice()])
        .unwrap();
    meter.loudness_global().unwrap()
}

/// A number in a document, which must be there.
pub fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("no number: {value}"))
}

/// The largest sample of any channel, in dBFS.
pub fn peak_dbfs(sound: &Sound) -> f64 {
    let peak = sound.iter().flatten().fold(0.0, |p: f64, x| p.max(x.abs()));
    20.0 * peak.log10()
}

/// The entry of a list that has this value under this key.
pub fn find<'a>(list: &'a Value, key: &str, value: &str) -> &'a Value {
    let entries = list.as_array().unwrap();
    entries
        .iter()
        .find(|entry| entry[key] == value)
        .unwrap_or_else(|| panic!("no `{value}` in {list:#}"))
}

/// The values under one key, in order.
pub fn column<'a>(list: &'a Value, key: &str) -> Vec<&'a str> {
    let entries = list.as_array().unwrap();
    entries
        .iter()
        .map(|entry| entry[key].as_str().unwrap())
        .collect()
}

/// Every file under a folder with its bytes, by its path, in order of names.
pub fn everything(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut files = Vec::new();
    collect(folder, folder, &mut files);
    files.sort();
    files
}

fn collect(top: &Path, folder: &Path, files: &mut Vec<(String, Vec<u8>)>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            collect(top, &path, files);
        } else if let Ok(bytes) = std::fs::read(&path) {
            let name = path.strip_prefix(top).unwrap().to_string_lossy();
            files.push((name.into_owned(), bytes));
        }
    }
}
