//! `cupel render`: the files, to the bit.

use std::fs;
use std::path::Path;

use serde_json::json;

use crate::support::{
    Folder, RATE_HZ, Sound, everything, find, first_difference, hats, kick, noise, number, pad,
    read, rounded, samples_24, sine, sum, write_at,
};

fn premaster(folder: &Folder) -> Sound {
    read(&folder.path("cupel/premaster.wav")).0
}

/// No moves: the 64-bit sum in track order, rounded once to 32 bits, computed
/// here from the files themselves.
#[test]
fn without_moves_it_is_the_plain_sum() {
    let folder = Folder::of_four();
    let uneven: Sound = vec![rounded(noise(3, 301_111).iter().map(|x| x * 0.1).collect())];
    folder.write("10 Clap.wav", &uneven);
    folder.write("9 Vox.wav", &vec![noise(4, 10), noise(5, 10)]);
    folder.run(&["open", "."]).expect(0);
    folder.run(&["render"]).expect(0);
    let names = [
        "01 Kick.wav",
        "02 Bass.wav",
        "03 Hats.wav",
        "04 Pad.wav",
        "9 Vox.wav",
        "10 Clap.wav",
    ];
    let files = names.map(|name| read(&folder.path(name)).0);
    let expected = sum(&files.iter().collect::<Vec<_>>());
    assert_eq!(first_difference(&premaster(&folder), &expected), None);
}

#[test]
fn threads_change_no_byte() {
    let folder = Folder::with_reference();
    folder.run(&["balance", "--exact"]).expect(0);
    let render = |threads: &str| {
        let mut command = folder.command(&["render", "--json"]);
        let output = command.env("RAYON_NUM_THREADS", threads).output().unwrap();
        assert!(output.status.success());
        let mut files = everything(&folder.path("cupel"));
        files.retain(|(name, _)| !name.starts_with("earlier"));
        assert!(files.iter().any(|(name, _)| name == "premaster.wav"));
        files
    };
    let (one, four) = (render("1"), render("4"));
    for (a, b) in one.iter().zip(&four) {
        assert!(a == b, "{} differs from {}", a.0, b.0);
    }
    assert_eq!(one.len(), four.len());
}

fn rms_dbfs(sound: &Sound) -> f64 {
    let squares: f64 = sound.iter().flatten().map(|x| x * x).sum();
    let count: usize = sound.iter().map(Vec::len).sum();
    10.0 * (squares / count as f64).log10()
}

#[test]
fn stems_null_against_the_premaster() {
    let folder = Folder::with_reference();
    folder.run(&["balance", "--exact"]).expect(0);
    folder.append(
        "\n[[moves]]\nid = \"g\"\ntarget = \"group drums\"\nkind = \"fader\"\n\
         parameters = { gain_db = -1.37 }\n",
    );
    let document = folder.json(&["render"]);
    let names: Vec<&str> = document["groups"]
        .as_array()
        .unwrap()
        .iter()
        .map(|group| group["file"].as_str().unwrap())
        .collect();
    assert_eq!(
        names,
        [
            "cupel/groups/drums.wav",
            "cupel/groups/low end.wav",
            "cupel/groups/music.wav"
        ]
    );
    let mut rest = premaster(&folder);
    let loud = rms_dbfs(&rest);
    for name in names {
        let (stem, _) = read(&folder.path(name));
        for (rest, stem) in rest.iter_mut().zip(&stem) {
            assert_eq!(rest.len(), stem.len());
            rest.iter_mut().zip(stem).for_each(|(r, s)| *r -= s);
        }
    }
    assert!(
        loud > -40.0 && rms_dbfs(&rest) < -120.0,
        "{loud} {}",
        rms_dbfs(&rest)
    );
}

/// One track alone with one hand move.
fn moved(sound: &Sound, step: &str) -> Sound {
    let folder = Folder::new();
    folder.write("lead.wav", sound);
    folder.write("pad.wav", &vec![vec![0.0; 16]]);
    folder.run(&["open", "."]).expect(0);
    folder.append(&format!(
        "\n[[moves]]\nid = \"m\"\ntarget = \"lead\"\n{step}\n"
    ));
    folder.run(&["render"]).expect(0);
    premaster(&folder)
}

fn gain_db(output: &[f64], input: &[f64]) -> f64 {
    let power = |x: &[f64]| x.iter().map(|x| x * x).sum::<f64>();
    10.0 * (power(output) / power(input)).log10()
}

/// Mono: sine-cosine law with 0 dB in the middle. At half right the angle is
/// 67.5 degrees: 20 log10(sqrt 2 cos 67.5°) = -5.33 dB, 20 log10(sqrt 2 sin
/// 67.5°) = 2.32 dB. Stereo: the other side falls with cos 45° = -3.01 dB.
#[test]
fn pans_follow_their_laws() {
    let frames = 24_000;
    let tone = sine(440.0, 0.25, frames);
    let pan = |position: f64| format!("kind = \"pan\"\nparameters = {{ position = {position:?} }}");
    let check = |sound: &Sound, position: f64, left_db: f64, right_db: f64| {
        let out = moved(sound, &pan(position));
        let right = sound.last().unwrap();
        for (side, input, expected) in [(0, &sound[0], left_db), (1, right, right_db)] {
            let found = gain_db(&out[side], input);
            assert!(
                (found - expected).abs() < 0.006,
                "{position}: side {side} {found}"
            );
        }
    };
    let mono: Sound = vec![tone.clone()];
    check(&mono, 0.5, -5.33, 2.32);
    check(&mono, -0.5, 2.32, -5.33);
    let stereo: Sound = vec![tone, noise(8, frames)];
    check(&stereo, 0.5, -3.01, 0.0);
    check(&stereo, -0.5, 0.0, -3.01);
    let middle = moved(&stereo, &pan(0.0));
    assert_eq!(first_difference(&middle, &stereo), None);
    let hard = moved(&mono, &pan(1.0));
    assert!(hard[0].iter().all(|x| x.abs() < 1e-9));
    assert!((gain_db(&hard[1], &mono[0]) - 3.01).abs() < 0.006);
}

#[test]
fn other_moves_do_what_they_say() {
    let sound: Sound = vec![noise(9, 24_000)];
    let turned = moved(&sound, "kind = \"polarity\"");
    assert!(turned[0].iter().zip(&sound[0]).all(|(out, x)| *out == -x));
    let late = moved(
        &sound,
        "kind = \"offset\"\nparameters = { delay_samples = 7 }",
    );
    assert_eq!((late[0].len(), &late[0][7..17]), (24_007, &sound[0][..10]));
    let early = moved(
        &sound,
        "kind = \"offset\"\nparameters = { delay_ms = -1.0 }",
    );
    assert_eq!(
        (early[0].len(), &early[0][..10]),
        (24_000 - 48, &sound[0][48..58])
    );
    let low: Sound = vec![sine(30.0, 0.5, 96_000)];
    let cut = "kind = \"low-cut\"\nparameters = { cutoff_hz = 30.0, slope_db_per_octave = 12 }";
    // At its cutoff a low cut is 3.01 dB down.
    let out = moved(&low, cut);
    let found = gain_db(&out[0][48_000..], &low[0][48_000..]);
    assert!((found + 3.01).abs() < 0.05, "{found}");
    let faded = moved(&sound, "kind = \"fader\"\nparameters = { gain_db = -6.0 }");
    assert!((gain_db(&faded[0], &sound[0]) + 6.0).abs() < 1e-6);
}

#[test]
fn earlier_renders_are_kept() {
    let folder = Folder::with_reference();
    let document = folder.json(&["render"]);
    assert!(document["earlier"].is_null());
    let first = fs::read(folder.path("cupel/premaster.wav")).unwrap();
    folder.run(&["balance"]).expect(0);
    assert_eq!(folder.json(&["render"])["earlier"], "cupel/earlier/1");
    let second = fs::read(folder.path("cupel/premaster.wav")).unwrap();
    assert!(first != second);
    assert_eq!(
        folder.json(&["render", "--format", "i24"])["earlier"],
        "cupel/earlier/2"
    );
    let kept = |name: &str| fs::read(folder.path(&format!("cupel/earlier/{name}"))).unwrap();
    assert!(kept("1/premaster.wav") == first);
    assert!(kept("2/premaster.wav") == second);
    for part in [
        "groups/drums.wav",
        "compare/mix.wav",
        "compare/reference.wav",
        "report.html",
    ] {
        for folder_of in ["cupel", "cupel/earlier/1", "cupel/earlier/2"] {
            assert!(
                folder.path(&format!("{folder_of}/{part}")).exists(),
                "{folder_of}/{part}"
            );
        }
    }
    let text = folder.run(&["render"]).expect(0).out;
    assert!(text.contains("earlier/3"), "{text}");
}

/// What is over full scale is kept by 32-bit float and said by 24-bit.
#[test]
fn clipping_is_said() {
    let folder = Folder::new();
    folder.write("kick.wav", &kick(0.9, 48_000));
    folder.write("bass.wav", &vec![sine(100.0, 0.9, 48_000)]);
    let float = folder.json(&["render"]);
    assert!(number(&float["after"]["sample_peak_dbfs"]) > 0.5);
    assert_eq!(float["notes"], json!([]));
    let integer = folder.json(&["render", "--format", "i24"]);
    assert!(
        integer["notes"].to_string().contains("clipped"),
        "{}",
        integer["notes"]
    );
    let peak = samples_24(&folder.path("cupel/premaster.wav")).concat();
    assert_eq!(peak.iter().max(), Some(&((1 << 23) - 1)));
}

#[test]
fn the_document_has_its_shape() {
    let folder = Folder::with_reference();
    folder.run(&["balance"]).expect(0);
    let document = folder.json(&["render"]);
    assert_eq!(document["schema"], "cupel/render");
    assert_eq!(document["version"], 1);
    assert_eq!(document["premaster"], "cupel/premaster.wav");
    assert_eq!(document["report"], "cupel/report.html");
    assert_eq!(document["moves"].as_array().unwrap().len(), 4);
    assert!(find(&document["tracks"], "id", "pad")["net_gain_db"].is_number());
    for side in ["before", "after", "reference"] {
        assert!(document[side]["integrated_lufs"].is_number(), "{side}");
    }
    for file in ["premaster.wav", "report.html", "compare/mix.wav"] {
        assert!(folder.path("cupel").join(Path::new(file)).exists());
    }
}

/// A move that makes it worse is called so, plainly.
#[test]
fn worse_is_called_worse() {
    let folder = Folder::with_reference();
    let fine = folder.json(&["render"]);
    assert_eq!(fine["worse"], json!([]));
    folder.append(
        "\n[[moves]]\nid = \"m\"\ntarget = \"pad\"\nkind = \"fader\"\n\
         parameters = { gain_db = 12.0 }\n",
    );
    let document = folder.json(&["render"]);
    let worse = document["worse"].to_string();
    assert!(worse.contains("spectrum"), "{worse}");
    let text = folder.run(&["render"]).expect(0).out;
    assert!(text.contains("It got worse here:"), "{text}");
    let report = fs::read_to_string(folder.path("cupel/report.html")).unwrap();
    assert!(report.contains("worse"));
}

/// A session at another rate is rendered at that rate.
#[test]
fn the_rate_is_the_sessions() {
    let folder = Folder::new();
    write_at(&folder.path("kick.wav"), &kick(0.4, 44_100), 44_100);
    write_at(&folder.path("pad.wav"), &pad(0.3, 44_100), 44_100);
    write_at(
        &folder.path("hats.wav"),
        &hats(0.3, RATE_HZ as usize),
        RATE_HZ,
    );
    folder.run(&["render"]).expect(0);
    let (mix, rate_hz) = read(&folder.path("cupel/premaster.wav"));
    assert_eq!((mix[0].len(), rate_hz), (44_100, 44_100));
}
