//! `cupel balance`: a bass that works against the kick, a little early or late.

use serde_json::Value;

use crate::support::{Folder, RATE_HZ, Sound, find, hats, kick, number, read, rounded, sum, write};

const FRAMES: usize = 16 * RATE_HZ as usize;
const BEAT: usize = RATE_HZ as usize / 2;
/// Pitch of kick and bass, hertz.
const HERTZ: f64 = 55.0;

/// A plucked note on every beat, `late_s` behind it, at its own phase each time.
fn plucks(late_s: f64, phase: impl Fn(usize) -> f64) -> Sound {
    let late = late_s * f64::from(RATE_HZ);
    let sound = (0..FRAMES).map(|n| {
        let at = n as f64 - late;
        if at < 0.0 {
            return 0.0;
        }
        let beat = (at / BEAT as f64).floor();
        let t = (at - beat * BEAT as f64) / f64::from(RATE_HZ);
        let turn = std::f64::consts::TAU * HERTZ * t + phase(beat as usize);
        let fade = (t / 0.004).min(1.0) * (-t * 9.0).exp();
        0.3 * fade * (turn.sin() + 0.1 * (16.0 * turn).sin())
    });
    vec![rounded(sound.collect())]
}

fn folder(bass: &Sound) -> Folder {
    let folder = Folder::new();
    let parts = [
        ("01 Kick.wav", kick(0.4, FRAMES)),
        ("02 Bass.wav", bass.clone()),
        ("03 Hats.wav", hats(0.2, FRAMES)),
    ];
    for (name, sound) in &parts {
        folder.write(name, sound);
    }
    let whole = sum(&parts.iter().map(|(_, sound)| sound).collect::<Vec<_>>());
    write(&folder.beside("record.wav"), &whole);
    folder
        .run(&["open", ".", "--reference", "../record.wav"])
        .expect(0);
    folder
}

fn low_moves(document: &Value) -> Vec<&Value> {
    let moves = document["moves"].as_array().unwrap().iter();
    moves
        .filter(|step| step["kind"] == "offset" || step["kind"] == "polarity")
        .collect()
}

/// Energy below about 150 Hz in the first 0.14 s of every beat but the first.
fn low_energy(folder: &Folder) -> f64 {
    let sound = read(&folder.path("cupel/premaster.wav")).0;
    let middle: Vec<f64> = (0..sound[0].len())
        .map(|n| 0.5 * (sound[0][n] + sound[1][n]))
        .collect();
    // Means of 5 ms twice: 880 Hz and the hats are gone, 55 Hz is not.
    let mean = |x: &[f64]| -> Vec<f64> {
        let sum = |n: usize| x[n..n + 240].iter().sum::<f64>() / 240.0;
        (0..x.len() - 240).map(sum).collect()
    };
    let low = mean(&mean(&middle));
    let beats = (1..FRAMES / BEAT - 1).map(|beat| beat * BEAT - 240);
    beats
        .map(|from| low[from..from + 6_720].iter().map(|x| x * x).sum::<f64>())
        .sum()
}

/// The bass is 4.5 ms late, a quarter of a period: a turn does nothing, 4.5 ms earlier
/// does, and the rendered low end gains what was said.
#[test]
fn a_bass_that_comes_late_is_brought_forward() {
    let folder = folder(&plucks(0.0045, |_| 0.0));
    folder.run(&["render"]).expect(0);
    let before = low_energy(&folder);

    let document = folder.json(&[
        "balance", "--skip", "anchor", "--skip", "core", "--skip", "rest", "--skip", "lean",
        "--skip", "check",
    ]);
    let offset = &document["offset"];
    assert_eq!(offset["answer"], "shift", "{offset:#}");
    let delay_ms = number(&offset["delay_ms"]);
    assert!((delay_ms + 4.5).abs() <= 0.75, "{offset:#}");
    let step = find(&document["moves"], "kind", "offset");
    assert_eq!(
        (&step["target"], &step["on"]),
        (&"bass".into(), &true.into())
    );
    assert_eq!(low_moves(&document).len(), 1);
    assert!(
        step["why"].as_str().unwrap().contains("earlier"),
        "{step:#}"
    );

    // By itself, without the faders of the same stage.
    let faders = "target = \"bass\"\nkind = \"fader\"";
    assert!(!folder.session().contains(faders), "{}", folder.session());
    folder.run(&["render"]).expect(0);
    let gained_db = 10.0 * (low_energy(&folder) / before).log10();
    let said_db = number(&offset["gain_db"]);
    assert!(
        said_db > 1.5 && (gained_db - said_db).abs() < 0.5,
        "{gained_db} {said_db}"
    );

    // A second round leaves it as it is.
    let again = folder.json(&["balance"]);
    assert_eq!(low_moves(&again).len(), 1);
}

/// A bass that begins each note at another phase stands to the kick as chance has it.
#[test]
fn a_bass_at_any_phase_cannot_be_told() {
    // The golden angle: no two beats are alike, none is preferred.
    let folder = folder(&plucks(0.0, |beat| 2.399_963 * beat as f64));
    let document = folder.json(&["balance"]);
    assert_eq!(
        document["polarity"]["answer"], "cannot-tell",
        "{document:#}"
    );
    assert_eq!(document["offset"]["answer"], "cannot-tell");
    assert!(number(&document["offset"]["hits"]) >= 8.0);
    assert!(low_moves(&document).is_empty());
    let text = folder.run(&["balance"]).expect(0).out;
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        flat.contains("whether kick and bass cancel cannot be told"),
        "{text}"
    );
}

/// Turned over, a turn mends it; no shift is asked for.
#[test]
fn a_bass_turned_over_is_turned_back() {
    let folder = folder(&plucks(0.0, |_| std::f64::consts::PI));
    let document = folder.json(&["balance"]);
    assert_eq!(document["polarity"]["answer"], "turn", "{document:#}");
    assert_eq!(document["offset"]["answer"], "turn-instead");
    let moves = low_moves(&document);
    assert_eq!((moves.len(), &moves[0]["kind"]), (1, &"polarity".into()));
}
