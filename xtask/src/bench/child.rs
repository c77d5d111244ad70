//! Runs a whole process and tells what it used.

use std::io::Read;
use std::process::{Command, Stdio};
use std::time::Instant;

use serde::Serialize;
use wait4::Wait4;

use crate::error::XtaskError;

/// What one process used, its own children that it waited for included.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub(crate) struct Usage {
    /// User and system time, in seconds.
    pub cpu_s: f64,
    /// From start to end, in seconds.
    pub wall_s: f64,
    /// Largest resident memory of any one process of the command, in MiB.
    ///
    /// Linux starts the count at what this program itself holds; it is kept small.
    pub peak_mib: f64,
}

/// Runs a command to its end. What it prints is thrown away.
pub(crate) fn run(command: &mut Command) -> Result<Usage, XtaskError> {
    let program = command.get_program().to_string_lossy().into_owned();
    let begin = Instant::now();
    let mut child = command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|source| XtaskError::Start {
            program: program.clone(),
            source,
        })?;
    let mut said = String::new();
    if let Some(mut stderr) = child.stderr.take() {
        let _ = stderr.read_to_string(&mut said);
    }
    let used = child.wait4().map_err(|source| XtaskError::Start {
        program: program.clone(),
        source,
    })?;
    let wall_s = begin.elapsed().as_secs_f64();
    if !used.status.success() {
        let status = used.status;
        let from = said.char_indices().rev().nth(600).map_or(0, |(at, _)| at);
        let said = said[from..].trim().to_owned();
        return Err(XtaskError::Failed {
            program,
            status,
            said,
        });
    }
    Ok(Usage {
        cpu_s: (used.rusage.utime + used.rusage.stime).as_secs_f64(),
        wall_s,
        peak_mib: used.rusage.maxrss as f64 / f64::from(1 << 20),
    })
}

/// First line that a program prints, for the record.
pub(crate) fn first_line(program: &str, argument: &str) -> String {
    Command::new(program)
        .arg(argument)
        .output()
        .ok()
        .and_then(|output| {
            let text = String::from_utf8_lossy(&output.stdout).into_owned();
            text.lines().next().map(str::to_owned)
        })
        .unwrap_or_default()
}

/// The middle value; of two middle ones the lower.
pub(crate) fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
        .get(sorted.len().saturating_sub(1) / 2)
        .copied()
        .unwrap_or(f64::NAN)
}

/// The median of each part by itself.
pub(crate) fn median_usage(runs: &[Usage]) -> Usage {
    let of = |part: fn(&Usage) -> f64| median(&runs.iter().map(part).collect::<Vec<_>>());
    Usage {
        cpu_s: of(|u| u.cpu_s),
        wall_s: of(|u| u.wall_s),
        peak_mib: of(|u| u.peak_mib),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_is_taken() {
        assert_eq!(median(&[5.0, 1.0, 3.0]), 3.0);
        assert_eq!(median(&[4.0, 1.0]), 1.0);
        assert!(median(&[]).is_nan());
    }

    #[cfg(unix)]
    #[test]
    fn a_failing_program_is_named() {
        let error = run(Command::new("sh").args(["-c", "echo no luck >&2; exit 3"])).unwrap_err();
        let text = error.to_string();
        assert!(text.contains("`sh`") && text.ends_with("no luck"), "{text}");
    }

    #[cfg(unix)]
    #[test]
    fn work_of_grandchildren_counts() {
        let busy = "i=0; while [ $i -lt 200000 ]; do i=$((i+1)); done";
        let used = run(Command::new("sh").args(["-c", &format!("sh -c '{busy}'; :")])).unwrap();
        assert!(used.cpu_s > 0.01, "{used:?}");
    }
}
