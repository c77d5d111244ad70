//! How long the advice takes, and its report.

use std::fs;

use crate::bench::Bench;
use crate::bench::child::{Usage, run};
use crate::bench::material::write_tracks;
use crate::bench::row::{Goal, Row};
use crate::error::XtaskError;

/// `cupel balance` right after `cupel assay`, on two threads: moves, the mix with
/// them measured, the report written. Then `cupel report` by itself. The session is
/// opened for it, so that the tracks have roles.
pub(crate) fn balance(bench: &Bench) -> Result<Vec<Row>, XtaskError> {
    let reference = bench.reference()?;
    let folder = bench.folder.join("tracks");
    write_tracks(&folder, bench.seconds)?;
    let session = folder.join("advice.toml");
    let (mut balance, mut report) = (Vec::new(), Vec::new());
    for _ in 0..bench.runs {
        let cache = bench.empty("cache-balance")?;
        if session.exists() {
            fs::remove_file(&session).map_err(XtaskError::file(&session))?;
        }
        let mut open = bench.cupel("open", &folder, &cache);
        open.arg("--reference").arg(&reference);
        run(open.arg("--session").arg(&session))?;
        run(&mut bench.cupel("assay", &session, &cache))?;
        for (task, used) in [("balance", &mut balance), ("report", &mut report)] {
            let mut command = bench.cupel(task, &session, &cache);
            used.push(run(command.env("RAYON_NUM_THREADS", "2"))?);
        }
    }
    let rows = [
        ("balance of 24 tracks right after assay", &balance, 3.0),
        ("report of 24 tracks after balance", &report, 1.0),
    ];
    let of_row = |(what, used, goal_s): (&str, &Vec<_>, f64)| {
        let cpu_s: Vec<f64> = seconds(used, |used| used.cpu_s);
        let wall_s: Vec<f64> = seconds(used, |used| used.wall_s);
        let alone = format!("{what}, CPU spread over 2 cores");
        let halves: Vec<f64> = cpu_s.iter().map(|cpu_s| 0.5 * cpu_s).collect();
        [
            Row::of_values(what, "s wall", Goal::Below(goal_s), &wall_s, used, &[]),
            Row::of_values(alone, "s", Goal::None, &halves, used, &[]),
        ]
    };
    Ok(rows.into_iter().flat_map(of_row).collect())
}

fn seconds(used: &[Usage], part: fn(&Usage) -> f64) -> Vec<f64> {
    used.iter().map(part).collect()
}
