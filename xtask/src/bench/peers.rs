//! The public tools compared with, as they are called.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::bench::session::{CUTOFF_HZ, GAIN_DB};

/// Loudness of one file, with or without true peak. Its log of every frame is put
/// where it is not printed.
pub(crate) fn ffmpeg_loudness(file: &Path, with_true_peak: bool) -> Command {
    let filter = if with_true_peak {
        "ebur128=framelog=verbose:peak=true"
    } else {
        "ebur128=framelog=verbose"
    };
    let mut command = Command::new("ffmpeg");
    command.args(["-nostats", "-hide_banner", "-i"]).arg(file);
    command.args(["-af", filter, "-f", "null", "-"]);
    command
}

/// The script that asks a Python library for spectrum, chroma and beats.
pub(crate) const LIBROSA: &str = include_str!("python_peer.py");

/// Runs it; one thread, which costs it the least CPU time.
pub(crate) fn librosa(script: &Path, file: &Path) -> Command {
    let mut command = Command::new("python3");
    command.arg(script).arg(file);
    for threads in ["OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"] {
        command.env(threads, "1");
    }
    command
}

/// Gain and one filter on each file, and the sum, to 24 bit; one thread for
/// filters, which is faster than more (most of the rest is waiting).
pub(crate) fn ffmpeg_mix(tracks: &[PathBuf], to: &Path) -> Command {
    let mut command = Command::new("ffmpeg");
    command.args(["-nostats", "-hide_banner", "-y"]);
    command.args(["-filter_threads", "1", "-filter_complex_threads", "1"]);
    let mut graph = String::new();
    for (index, track) in tracks.iter().enumerate() {
        command.arg("-i").arg(track);
        graph += &format!("[{index}]volume={GAIN_DB}dB,highpass=f={CUTOFF_HZ}[t{index}];");
    }
    (0..tracks.len()).for_each(|index| graph += &format!("[t{index}]"));
    graph += &format!("amix=inputs={}:normalize=0", tracks.len());
    command.args(["-filter_complex", &graph, "-c:a", "pcm_s24le"]);
    command.arg(to);
    command
}

/// The same with one piped process an input.
pub(crate) fn sox_mix(tracks: &[PathBuf], to: &Path) -> Command {
    let mut command = Command::new("sox");
    command.arg("-m");
    for track in tracks {
        let file = track.display();
        let piped = format!("|sox \"{file}\" -p gain {GAIN_DB} highpass {CUTOFF_HZ}");
        command.args(["-v", "1", &piped]);
    }
    command.args(["-b", "24"]).arg(to);
    command
}
