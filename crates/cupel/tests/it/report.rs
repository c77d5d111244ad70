//! `cupel report`: the page of the session as it stands, and the same as data.

use std::fs;

use serde_json::Value;

use crate::support::{Folder, RATE_HZ, Sound, number, peak_dbfs, read, sum};

fn page(folder: &Folder) -> String {
    fs::read_to_string(folder.path("cupel/report.html")).unwrap()
}

#[test]
fn the_page_can_be_written_again_and_the_session_stays() {
    let folder = Folder::with_reference();
    let text = folder.run(&["report"]).expect(0).out;
    assert!(text.contains("cupel/report.html") && text.contains("cupel balance"));
    assert!(!page(&folder).contains("The moves, in this order"));

    folder.run(&["balance"]).expect(0);
    let session = folder.session();
    fs::remove_file(folder.path("cupel/report.html")).unwrap();
    let document = folder.json(&["report"]);
    assert_eq!(document["schema"], "cupel/report");
    assert_eq!(folder.session(), session);
    let moves = document["moves"].as_array().unwrap();
    assert!(!moves.is_empty());
    let page = page(&folder);
    assert!(page.contains("The moves, in this order"));
    for step in moves {
        assert!(page.contains(step["in_words"].as_str().unwrap()));
    }
    // The same again, byte for byte.
    folder.run(&["report"]).expect(0);
    assert_eq!(
        fs::read_to_string(folder.path("cupel/report.html")).unwrap(),
        page
    );
}

/// The four tracks as files hold them, mono on both sides, to one length.
fn tracks(folder: &Folder) -> Vec<Sound> {
    let read = |name: &str| {
        let mut sound = read(&folder.path(name)).0;
        let whole = 6 * RATE_HZ as usize;
        sound.iter_mut().for_each(|side| side.resize(whole, 0.0));
        if sound.len() == 1 {
            sound.push(sound[0].clone());
        }
        sound
    };
    Folder::four().iter().map(|(name, _)| read(name)).collect()
}

/// The share of each track at the highest peaks, added up from the files.
#[test]
fn shares_of_the_peaks_are_those_of_the_files() {
    let folder = Folder::with_reference();
    let document = folder.json(&["report"]);
    let tracks = tracks(&folder);
    let mix = sum(&tracks.iter().collect::<Vec<_>>());
    let peaks = document["peaks"]["peaks"].as_array().unwrap();
    assert!(peaks.len() > 10 && peaks.len() <= 50, "{}", peaks.len());
    let time = |peak: &Value| number(&peak["time_s"]);
    for pair in peaks.windows(2) {
        assert!(time(&pair[1]) - time(&pair[0]) >= 0.05 - 1e-9);
    }
    let highest = peaks.iter().map(|peak| number(&peak["level_dbfs"]));
    assert!((highest.fold(-200.0, f64::max) - peak_dbfs(&mix)).abs() < 1e-4);

    let mut shares = vec![0.0; tracks.len()];
    for peak in peaks {
        let frame = (time(peak) * f64::from(RATE_HZ)).round() as usize;
        let side = usize::from(mix[1][frame].abs() > mix[0][frame].abs());
        let sample = mix[side][frame];
        let level_dbfs = 20.0 * sample.abs().log10();
        assert!((level_dbfs - number(&peak["level_dbfs"])).abs() < 1e-4);
        for (share, track) in shares.iter_mut().zip(&tracks) {
            *share += track[side][frame] / sample / peaks.len() as f64;
        }
    }
    let rows = document["peaks"]["rows"].as_array().unwrap();
    assert_eq!(rows.len(), shares.len());
    for (row, share) in rows.iter().zip(&shares) {
        assert!(
            (number(&row["share"]) - share).abs() < 1e-4,
            "{row} {share}"
        );
    }
    assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-9);
}

/// With a fader on, the shares are those of the mix with it.
#[test]
fn shares_follow_the_faders() {
    let folder = Folder::with_reference();
    let share = |document: &Value, key: &str| {
        let rows = document["peaks"]["rows"].as_array().unwrap();
        let kick = rows.iter().find(|row| row["track"] == "01 Kick");
        number(&kick.unwrap()[key])
    };
    let before = share(&folder.json(&["report"]), "share");
    folder.append(
        "\n[[moves]]\nid = \"g\"\ntarget = \"group drums\"\nkind = \"fader\"\n\
         parameters = { gain_db = -24.0 }\n",
    );
    let document = folder.json(&["report"]);
    assert_eq!(share(&document, "before"), before);
    let after = share(&document, "share");
    assert!(after < 0.3 * before, "{before} {after}");
    // Shares of a sum add up to one, with the gain of a group as well.
    let rows = document["peaks"]["rows"].as_array().unwrap();
    let whole: f64 = rows.iter().map(|row| number(&row["share"])).sum();
    assert!((whole - 1.0).abs() < 1e-6, "{whole}");
}
