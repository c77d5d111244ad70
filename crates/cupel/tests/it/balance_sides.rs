//! `cupel balance`: left and right over four bars, and what is lost in mono.

use crate::support::{
    Folder, RATE_HZ, Sound, bass, find, hats, kick, noise, number, rounded, sum, write,
};

const FRAMES: usize = 16 * RATE_HZ as usize;
const BAR: usize = 2 * RATE_HZ as usize;

/// Short notes of 660 Hz with overtones, eight a bar.
fn notes(n: usize) -> f64 {
    let t = (n % (BAR / 8)) as f64 / f64::from(RATE_HZ);
    let tone = |k: f64| (std::f64::consts::TAU * 660.0 * k * t).sin() / k;
    0.2 * (-t * 8.0).exp() * (tone(1.0) + tone(2.0) + tone(3.0))
}

/// The notes with factors of their own on either side, bar by bar.
fn lead(sides: impl Fn(usize) -> [f64; 2]) -> Sound {
    [0, 1]
        .map(|side| {
            rounded(
                (0..FRAMES)
                    .map(|n| sides(n / BAR)[side] * notes(n))
                    .collect(),
            )
        })
        .to_vec()
}

fn folder(lead: &Sound) -> Folder {
    let folder = Folder::new();
    let parts = [
        ("01 Kick.wav", kick(0.4, FRAMES)),
        ("02 Bass.wav", bass(0.25, FRAMES)),
        ("03 Hats.wav", hats(0.2, FRAMES)),
        ("04 Lead.wav", lead.clone()),
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

#[test]
fn what_pans_to_and_fro_within_four_bars_is_left_and_what_stays_aside_is_panned() {
    let pans = |folder: &Folder| -> Vec<(String, bool)> {
        let document = folder.json(&["balance"]);
        let moves = document["moves"].as_array().unwrap().iter();
        moves
            .filter(|step| step["kind"] == "pan")
            .map(|step| {
                let target = step["target"].as_str().unwrap().to_owned();
                (target, step["on"] == true)
            })
            .collect()
    };
    let sides = [[1.0, 0.4], [0.4, 1.0]];
    let to_and_fro = folder(&lead(|bar| sides[bar % 2]));
    assert_eq!(pans(&to_and_fro), []);
    // 20 log10 (1 / 0.4) = 8 dB to the left all the time.
    let aside = folder(&lead(|_| sides[0]));
    assert_eq!(pans(&aside), [("lead".to_owned(), true)]);
    let document = aside.json(&["balance"]);
    let pan = find(&document["moves"], "kind", "pan");
    let left_db = number(&pan["parameters"]["left_db"]);
    assert!((left_db + 7.96).abs() < 0.5, "{pan:#}");
}

/// Both sides share a part of opposite sign with four times the power of what they
/// have alike, of the same colour: 10 log10 (1 / 5) = -7.0 dB are left in mono.
#[test]
fn a_lead_that_is_lost_in_mono_is_said() {
    let fading = |seed| -> Vec<f64> {
        let fade = |n: usize| 0.1 * (-((n % (BAR / 8)) as f64) / 6000.0).exp();
        let noise = noise(seed, FRAMES).into_iter().enumerate();
        noise.map(|(n, x)| fade(n) * x).collect()
    };
    let (alike, apart) = (fading(7), fading(8));
    let side = |sign: f64| {
        let parts = alike.iter().zip(&apart);
        rounded(parts.map(|(a, b)| a + sign * 2.0 * b).collect())
    };
    let lead: Sound = vec![side(1.0), side(-1.0)];
    let folder = folder(&lead);
    folder.set_role("04 Lead.wav", "\"lead\"");
    let document = folder.json(&["balance"]);
    let loss = find(&document["mono"], "element", "lead");
    let loss_db = number(&loss["loss_db"]);
    assert!((loss_db + 6.99).abs() < 0.15, "{loss:#}");
    assert_eq!(loss["too_much"], true);
    let kick = find(&document["mono"], "element", "kick");
    assert!(number(&kick["loss_db"]).abs() < 1e-6 && kick["too_much"] == false);

    let said = format!("lead loses {:.1} dB of its loudness in mono", -loss_db);
    let text = folder.run(&["balance"]).expect(0).out;
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains(&said), "{said} in {text}");
    let report = folder.json(&["report"]);
    let notes = report["notes"].to_string().to_lowercase();
    assert!(notes.contains(&said.to_lowercase()), "{said} in {notes}");
}
