//! `cupel balance`: what the levels of the drop do to the break, the print, the path.

use crate::support::{
    Folder, RATE_HZ, Sound, bass, hats, kick, number, pad, read, rounded, scaled, sum, write,
};

/// Seconds of the drop, and of the break after it.
const DROP_S: usize = 32;
const BREAK_S: usize = 32;

fn frames(seconds: usize) -> usize {
    seconds * RATE_HZ as usize
}

/// Kick, bass and hats in the drop; the pad goes on through the break.
fn parts(pad_db: f64) -> [(&'static str, Sound); 4] {
    let drop = frames(DROP_S);
    [
        ("01 Kick.wav", kick(0.4, drop)),
        ("02 Bass.wav", bass(0.25, drop)),
        ("03 Hats.wav", hats(0.2, drop)),
        (
            "04 Pad.wav",
            scaled(&pad(0.1, drop + frames(BREAK_S)), pad_db),
        ),
    ]
}

/// Power of a stretch of the pre-master, in dB.
fn level_db(folder: &Folder, from_s: f64, to_s: f64) -> f64 {
    let sound = read(&folder.path("cupel/premaster.wav")).0;
    let at = |time_s: f64| (time_s * f64::from(RATE_HZ)) as usize;
    let sides = sound.iter().flat_map(|side| &side[at(from_s)..at(to_s)]);
    10.0 * sides.map(|x| x * x).sum::<f64>().log10()
}

#[test]
fn a_break_that_the_drop_makes_too_loud_is_said_and_offered_a_move() {
    let folder = Folder::new();
    for (name, sound) in parts(0.0) {
        folder.write(name, &sound);
    }
    // Another take of the drop alone, with the pad 9 dB up.
    let other: Vec<Sound> = parts(9.0)
        .into_iter()
        .map(|(_, sound)| {
            sound
                .into_iter()
                .map(|side| side[..frames(DROP_S)].to_vec())
        })
        .map(Iterator::collect)
        .collect();
    write(
        &folder.beside("record.wav"),
        &sum(&other.iter().collect::<Vec<_>>()),
    );
    folder
        .run(&["open", ".", "--reference", "../record.wav"])
        .expect(0);
    let document = folder.json(&["balance"]);
    let said: Vec<&str> = document["sections"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|sentence| sentence.as_str())
        .collect();
    assert_eq!(said.len(), 1, "{document:#}");
    assert!(
        said[0].contains("nearer to the busiest passage, most of it pad"),
        "{said:?}"
    );
    let moves = document["moves"].as_array().unwrap();
    let offered: Vec<_> = moves
        .iter()
        .filter(|step| step["stage"] == "check")
        .collect();
    let [step] = offered.as_slice() else {
        panic!("{moves:#?}")
    };
    assert_eq!(
        (&step["on"], &step["target"]),
        (&false.into(), &"pad".into())
    );
    let section = step["at"][0].as_str().unwrap();
    assert!(
        said[0].contains(&format!("bring the {section} from")),
        "{said:?} {section}"
    );
    let gain_db = number(&step["parameters"]["gain_db"]);
    assert!(gain_db < -2.0, "{step:#}");

    // Off it does nothing; on, the break comes down by as much and the drop stays.
    folder.run(&["render"]).expect(0);
    let before = [level_db(&folder, 2.0, 30.0), level_db(&folder, 34.0, 62.0)];
    let text = folder.session();
    let id = format!("id = \"{}\"", step["id"].as_str().unwrap());
    let at = text.find(&id).unwrap();
    let off = at + text[at..].find("on = false").unwrap();
    let on = format!(
        "{}on = true{}",
        &text[..off],
        &text[off + "on = false".len()..]
    );
    std::fs::write(folder.path("session.toml"), on).unwrap();
    folder.run(&["render"]).expect(0);
    let after = [level_db(&folder, 2.0, 30.0), level_db(&folder, 34.0, 62.0)];
    assert!((after[0] - before[0]).abs() < 0.01, "{before:?} {after:?}");
    assert!(
        (after[1] - before[1] - gain_db).abs() < 0.1,
        "{before:?} {after:?}"
    );

    // The next round neither takes it away nor says it again.
    let again = folder.json(&["balance"]);
    let moves = again["moves"].as_array().unwrap().iter();
    let checks: Vec<_> = moves.filter(|step| step["stage"] == "check").collect();
    assert!(checks.len() == 1 && checks[0]["on"] == true, "{checks:#?}");
    assert_eq!(again["sections"].as_array().unwrap().len(), 0, "{again:#}");
}

/// `cupel report` by itself shows the path and what remains as `cupel balance` does.
#[test]
fn the_report_alone_shows_the_path_of_the_moves() {
    let folder = Folder::with_reference();
    let balanced = folder.json(&["balance"]);
    let report = folder.json(&["report"]);
    let on = |track: &str| {
        let moves = balanced["moves"].as_array().unwrap();
        let mut of_track = moves.iter().filter(|step| step["target"] == track);
        of_track.any(|step| step["on"] == true)
    };
    let steps: Vec<_> = balanced["path"]["steps"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|step| on(step["track"].as_str().unwrap()))
        .collect();
    assert!(!steps.is_empty());
    let path = &report["path"];
    assert_eq!(
        path["steps"].as_array().unwrap().len(),
        steps.len(),
        "{path:#}"
    );
    let parts = path["parts"].as_array().unwrap();
    let spectrum = parts
        .iter()
        .find(|part| part["name"] == "spectrum")
        .unwrap();
    let start = number(&balanced["path"]["start"]["spectrum_db"]);
    assert!((number(&spectrum["start"]) - start).abs() < 1e-9);
    for (step, after) in steps.iter().zip(spectrum["steps"].as_array().unwrap()) {
        let wanted = number(&step["distance"]["spectrum_db"]);
        assert!((number(after) - wanted).abs() < 1e-9, "{path:#}");
    }
    let remains = balanced["remains"].as_array().unwrap().len();
    let unmended = report["unmended"].as_array().unwrap().len();
    assert_eq!(unmended, remains.min(6));
    // What each move does is said, too.
    let moves = report["moves"].as_array().unwrap();
    let told = moves.iter().filter(|step| step["expected"] != "");
    assert_eq!(told.count(), steps.len());
}

/// The reference is the mix itself, louder and limited.
#[test]
fn a_print_of_the_mix_is_said_to_be_one() {
    let folder = Folder::new();
    let parts = Folder::four();
    for (name, sound) in &parts {
        folder.write(name, sound);
    }
    let whole = sum(&parts.iter().map(|(_, sound)| sound).collect::<Vec<_>>());
    let limited: Sound = whole
        .iter()
        .map(|side| rounded(side.iter().map(|x| 0.5 * (6.0 * x).tanh()).collect()))
        .collect();
    let kinds = [(&whole, false), (&limited, true)].map(|(sound, is_limited)| {
        write(&folder.beside("record.wav"), sound);
        folder
            .run(&["open", ".", "--reference", "../record.wav"])
            .expect(0);
        let document = folder.json(&["balance"]);
        let text = folder.run(&["balance"]).expect(0).out;
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if document["reference"] == "print" {
            assert!(flat.contains("The reference is this mix itself"), "{text}");
            assert_eq!(flat.contains("limited (its crest is"), is_limited, "{text}");
            assert!(!document["print"].is_null());
            let report = folder.json(&["report"]);
            let words = report["passage"]["sentence"].as_str().unwrap();
            assert!(
                words.contains("The reference is this mix itself"),
                "{words}"
            );
        }
        document["reference"].clone()
    });
    assert_eq!(kinds[0], "print");
}
