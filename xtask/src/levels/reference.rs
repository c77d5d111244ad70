//! The references of the trials, as files.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

use cupel_audio::{SampleFormat, WavWriter};
use serde_json::Value;

use crate::error::XtaskError;
use crate::levels::limiter::limited;
use crate::levels::material::Material;
use crate::levels::table::gain_of;
use crate::levels::trial::{Kind, Trial};
use crate::prove::dice::Dice;
use crate::prove::work::Work;

/// Loudness of a released record.
const RECORD_LUFS: f64 = -9.0;

/// Writes the reference and gives its name; `Err` says in words why there is none.
pub(crate) fn write_reference(
    work: &Work,
    place: &Path,
    trial: &Trial,
    materials: &[Material],
    (table, moved, moved_db): (&BTreeMap<String, f64>, &[&str], f64),
    dice: &mut Dice,
) -> Result<Result<String, String>, XtaskError> {
    let own = &materials[trial.session];
    let path = place.join("reference.wav");
    match trial.kind {
        Kind::OwnMix | Kind::ReadBack => {
            write(&path, own.rate_hz, &own.sum(&vec![0.0; own.parts.len()]))?;
            Ok(Ok("reference.wav".to_owned()))
        }
        Kind::Disguise => disguised(place, own, dice),
        Kind::AnotherSong | Kind::NothingWrong => {
            let other = &materials[trial.other];
            let gains: Vec<f64> = other
                .parts
                .iter()
                .map(|part| {
                    let is_moved = moved.contains(&part.role.as_str());
                    gain_of(part, other, table) + if is_moved { moved_db } else { 0.0 }
                })
                .collect();
            let mix = other.sum(&gains);
            let mut gain_db = 0.0;
            for _ in 0..4 {
                write(&path, other.rate_hz, &limited(&mix, other.rate_hz, gain_db))?;
                let answer = match work.ask(place, &["measure", "reference.wav"]) {
                    Ok(answer) => answer,
                    Err(said) => return Ok(Err(said)),
                };
                let lufs = answer
                    .pointer("/files/0/integrated_lufs")
                    .and_then(Value::as_f64);
                let Some(lufs) = lufs else {
                    return Ok(Err("the reference has no loudness".to_owned()));
                };
                if (lufs - RECORD_LUFS).abs() < 0.2 {
                    break;
                }
                gain_db += RECORD_LUFS - lufs;
            }
            Ok(Ok("reference.wav".to_owned()))
        }
    }
}

/// Limited by 6 to 9 dB, turned, late, transposed, faster, and encoded.
fn disguised(
    place: &Path,
    own: &Material,
    dice: &mut Dice,
) -> Result<Result<String, String>, XtaskError> {
    let mix = own.sum(&vec![0.0; own.parts.len()]);
    let peak = mix
        .iter()
        .flatten()
        .fold(0.0_f64, |most, x| most.max(x.abs()));
    let into_db = dice.between(6.0, 9.0) - 20.0 * (peak / 0.85).log10();
    let mut mix = limited(&mix, own.rate_hz, into_db);
    // From full scale down, so that nothing clips.
    let gain = 10f64.powf(dice.between(-17.0, 0.0) / 20.0);
    let late = (dice.between(0.0, 3.0) * f64::from(own.rate_hz)) as usize;
    for side in &mut mix {
        side.iter_mut().for_each(|x| *x *= gain);
        side.splice(0..0, vec![0.0; late]);
    }
    let plain = place.join("plain.wav");
    write(&plain, own.rate_hz, &mix)?;
    let semitones = dice.pick(&[-2.0, -1.0, 1.0, 2.0]);
    let faster = 1.0 + dice.between(0.02, 0.04);
    let pitch = 2f64.powf(semitones / 12.0);
    let rate = f64::from(own.rate_hz);
    let filters = format!(
        "asetrate={},aresample={},atempo={:.6}",
        (rate * pitch).round(),
        rate,
        faster / pitch
    );
    let done = Command::new("ffmpeg")
        .args(["-v", "error", "-y", "-i"])
        .arg(&plain)
        .args(["-af", &filters, "-b:a", "320k"])
        .arg(place.join("reference.mp3"))
        .status();
    Ok(match done {
        Ok(status) if status.success() => Ok("reference.mp3".to_owned()),
        Ok(status) => Err(format!("ffmpeg: {status}")),
        Err(error) => Err(format!("ffmpeg: {error}")),
    })
}

pub(crate) fn gained(sides: &[Vec<f32>; 2], gain_db: f64) -> [Vec<f64>; 2] {
    let gain = 10f64.powf(gain_db / 20.0);
    [0, 1].map(|side| sides[side].iter().map(|&x| gain * f64::from(x)).collect())
}

pub(crate) fn write(path: &Path, rate_hz: u32, sides: &[Vec<f64>; 2]) -> Result<(), XtaskError> {
    let mut writer = WavWriter::create(path, rate_hz, 2, SampleFormat::F32)?;
    writer.write(sides)?;
    writer.finish()?;
    Ok(())
}
