//! Makes a session: `make FOLDER [SEED] [STYLE] [SECONDS] [clean]`; `clean` is
//! without mistakes.

use std::path::PathBuf;

use cupel_demo::{DemoSettings, FaultPlan, generate};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let folder = PathBuf::from(words.first().ok_or("name a folder")?);
    let mut settings = DemoSettings::default();
    if let Some(seed) = words.get(1) {
        settings.seed = seed.parse()?;
    }
    if let Some(style) = words.get(2) {
        settings.style = style.parse()?;
    }
    if let Some(seconds) = words.get(3) {
        settings.seconds = seconds.parse()?;
    }
    if words.get(4).is_some_and(|word| word == "clean") {
        settings.faults = FaultPlan::None;
    }
    generate(&folder, &settings, &|share, what| {
        eprintln!("{:3.0} % {what}", 100.0 * share);
    })?;
    Ok(())
}
