//! Scores the finder on folds made by the example `folds`.
//!
//! `judge [-v] FILES...`: the share of layers within 20 dB found, the share of
//! those found that are real, the same against the truth of the next file (what
//! chance alone would score), and how far sureness holds.

use std::time::Instant;

use cupel_layers::{
    FoldedSound, Layer, LayerContext, LayerFacts, LayerScore, TrueLayer, arrangement_bands,
    compare_layers, find_layers, layers_of_tracks, score_layers, traits_of_candidates,
};
use cupel_units::Role;

type Any = Box<dyn std::error::Error>;
type Folds = Vec<(String, String, FoldedSound)>;

struct Case {
    name: String,
    truths: Vec<TrueLayer>,
    names: Vec<String>,
    found: Vec<Layer>,
    /// The session's own elements.
    own: Vec<Layer>,
}

fn main() -> Result<(), Any> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if args.first().is_some_and(|arg| arg == "--traits") {
        return print_traits(&args[1..]);
    }
    let loud = args.iter().any(|arg| arg == "-v");
    let mut cases = Vec::new();
    let mut find_s = 0.0;
    for file in args.iter().filter(|arg| !arg.starts_with('-')) {
        let folds: Folds = postcard::from_bytes(&std::fs::read(file)?)?;
        let (truths, names, own) = truths_of(&folds);
        let mix = &folds.last().ok_or("empty")?.2;
        let start = Instant::now();
        let found = find_layers(mix, &LayerContext::default());
        find_s += start.elapsed().as_secs_f64();
        cases.push(Case {
            name: file.rsplit('/').next().unwrap_or(file).to_owned(),
            truths,
            names,
            found,
            own,
        });
    }
    let (mut right, mut chance) = (Total::default(), Total::default());
    let mut sure: Vec<(f64, bool)> = Vec::new();
    let mut by_role: std::collections::BTreeMap<String, (usize, usize)> = Default::default();
    for (index, case) in cases.iter().enumerate() {
        let facts: Vec<LayerFacts> = case.found.iter().map(LayerFacts::from).collect();
        let score = score_layers(&facts, &case.truths, 20.0);
        right.add(&score);
        let other = &cases[(index + 1) % cases.len()];
        chance.add(&score_layers(&facts, &other.truths, 20.0));
        sure.extend(
            case.found
                .iter()
                .map(|layer| layer.sure)
                .zip(score.real.clone()),
        );
        if loud {
            print_case(case, &score);
        }
        for (index, name) in case.names.iter().enumerate() {
            if case.truths[index].level_db < -20.0 {
                continue;
            }
            let role = name.split(':').next().unwrap_or("").to_owned();
            let entry = by_role.entry(role).or_default();
            entry.1 += 1;
            let alone = score_layers(&facts, &case.truths[index..=index], 20.0);
            entry.0 += alone.known_found;
        }
    }
    println!(
        "{} cases, find {:.1} ms",
        cases.len(),
        1000.0 * find_s / cases.len() as f64
    );
    println!(
        "found {:.3}  real {:.3}   ({right:?})",
        right.recall(),
        right.precision()
    );
    println!("chance {:.3}  {:.3}", chance.recall(), chance.precision());
    for low in [0.0, 0.3, 0.5, 0.7, 0.8, 0.9] {
        let bin: Vec<_> = sure
            .iter()
            .filter(|(s, _)| *s >= low && (low >= 0.9 || *s < next(low)))
            .collect();
        let real = bin.iter().filter(|(_, real)| *real).count();
        println!("sure from {low}: {real}/{}", bin.len());
    }
    print_comparison("own mix", &cases, 0);
    print_comparison("another", &cases, 1);
    for (role, (found, of)) in by_role {
        println!("{role:16} {found}/{of}");
    }
    Ok(())
}

/// What a comparison says of every session and a mix: its own, where everything
/// but `shared` and every band is wrong, or that of another one.
fn print_comparison(title: &str, cases: &[Case], ahead: usize) {
    let (mut verdicts, mut bands, mut octaves) = ([0usize; 4], 0usize, 0.0);
    for (index, case) in cases.iter().enumerate() {
        let other = &cases[(index + ahead) % cases.len()].found;
        let pairs = compare_layers(&case.own, other);
        for pair in &pairs {
            verdicts[pair.verdict as usize] += 1;
        }
        for band in arrangement_bands(&pairs, &case.own, other) {
            bands += 1;
            octaves += (band.high_hz / band.low_hz).log2();
        }
    }
    let count = cases.len() as f64;
    let each = verdicts.map(|n| format!("{:.1}", n as f64 / count));
    println!(
        "beside {title}: shared, missing, extra, different {}; {:.1} bands of {:.1} octaves",
        each.join(" "),
        bands as f64 / count,
        octaves / f64::max(bands as f64, 1.0)
    );
}

fn next(low: f64) -> f64 {
    [0.3, 0.5, 0.7, 0.8, 0.9, 2.0]
        .into_iter()
        .find(|&edge| edge > low)
        .unwrap_or(2.0)
}

#[derive(Debug, Default)]
struct Total {
    known: usize,
    known_found: usize,
    found: usize,
    real: usize,
}

impl Total {
    fn add(&mut self, score: &LayerScore) {
        self.known += score.known;
        self.known_found += score.known_found;
        self.found += score.found;
        self.real += score.real.iter().filter(|real| **real).count();
    }

    fn recall(&self) -> f64 {
        self.known_found as f64 / self.known as f64
    }

    fn precision(&self) -> f64 {
        self.real as f64 / self.found as f64
    }
}

fn print_case(case: &Case, score: &LayerScore) {
    println!("== {}", case.name);
    let facts: Vec<LayerFacts> = case.found.iter().map(LayerFacts::from).collect();
    for (index, (truth, name)) in case.truths.iter().zip(&case.names).enumerate() {
        let alone = score_layers(&facts, &case.truths[index..=index], 20.0);
        println!(
            "  {} {:5.1} dB {name} [{}]",
            if alone.known_found > 0 { "+" } else { "-" },
            truth.level_db,
            facts_words(&truth.whole)
        );
    }
    for (layer, real) in case.found.iter().zip(&score.real) {
        println!(
            "    {} {:.2} {:5.1} dB {} [{}] {:.0} ms sust {} wide {:.2}",
            if *real { "*" } else { "?" },
            layer.sure,
            layer.level_db,
            layer.name,
            facts_words(&LayerFacts::from(layer)),
            layer.length_ms,
            layer.sustained,
            layer.wide,
        );
    }
}

fn facts_words(facts: &LayerFacts) -> String {
    format!(
        "{:?}/{} {:.0}-{:.0} Hz side {:.2}",
        facts.places, facts.pattern_bars, facts.band_hz.0, facts.band_hz.1, facts.side
    )
}

/// Elements: tracks of one role are one.
fn truths_of(folds: &Folds) -> (Vec<TrueLayer>, Vec<String>, Vec<Layer>) {
    let mut roles: Vec<Role> = Vec::new();
    let mut groups: Vec<Vec<&FoldedSound>> = Vec::new();
    for (_, word, fold) in &folds[..folds.len() - 1] {
        let Some(role) = role_of(word) else {
            continue;
        };
        match roles.iter().position(|&own| own == role) {
            Some(at) => groups[at].push(fold),
            None => {
                roles.push(role);
                groups.push(vec![fold]);
            }
        }
    }
    let wholes: Vec<FoldedSound> = groups.iter().filter_map(|g| FoldedSound::sum(g)).collect();
    let ids: Vec<String> = (0..roles.len()).map(|n| n.to_string()).collect();
    let elements: Vec<(&str, Role, &FoldedSound)> = (0..roles.len())
        .map(|n| (ids[n].as_str(), roles[n], &wholes[n]))
        .collect();
    let layers = layers_of_tracks(&elements);
    let mut truths = Vec::new();
    let mut names = Vec::new();
    for layer in &layers {
        let at: usize = layer
            .id
            .as_deref()
            .and_then(|id| id.parse().ok())
            .unwrap_or(0);
        let parts = if groups[at].len() > 1 {
            let each: Vec<_> = groups[at].iter().map(|f| ("", roles[at], *f)).collect();
            layers_of_tracks(&each)
                .iter()
                .map(LayerFacts::from)
                .collect()
        } else {
            Vec::new()
        };
        names.push(format!(
            "{}: {} sust {} {:.0} ms wide {:.2}",
            roles[at], layer.name, layer.sustained, layer.length_ms, layer.wide
        ));
        truths.push(TrueLayer {
            whole: LayerFacts::from(layer),
            parts,
            level_db: layer.level_db,
        });
    }
    (truths, names, layers)
}

fn role_of(word: &str) -> Option<Role> {
    match word {
        "rimshot" => Some(Role::Rim),
        "toms" => Some(Role::Tom),
        "vocal" => Some(Role::Voice),
        "effects" => Some(Role::Effects),
        other => Role::from_name(other),
    }
}

/// For fitting: candidates and true layers as JSON, a line a file.
fn print_traits(files: &[String]) -> Result<(), Any> {
    for file in files {
        let folds: Folds = postcard::from_bytes(&std::fs::read(file)?)?;
        let (truths, names, _) = truths_of(&folds);
        let mix = &folds.last().ok_or("empty")?.2;
        let candidates: Vec<serde_json::Value> = traits_of_candidates(mix)
            .into_iter()
            .map(|(layer, origin, traits)| {
                let facts = LayerFacts::from(&layer);
                serde_json::json!({ "facts": facts, "origin": origin, "traits": traits,
                    "level_db": layer.level_db, "name": layer.name })
            })
            .collect();
        println!(
            "{}",
            serde_json::json!({ "file": file, "candidates": candidates, "truths": truths,
                "names": names })
        );
    }
    Ok(())
}
