//! Traits of raw 32-bit float files, samples interleaved, one line of JSON each:
//! `dump RATE CHANNELS FILE...`.

use cupel_traits::TraitMeter;

fn main() {
    let mut words = std::env::args().skip(1);
    let mut number = || words.next().and_then(|word| word.parse::<u32>().ok());
    let (Some(rate_hz), Some(channels)) = (number(), number()) else {
        eprintln!("usage: dump RATE CHANNELS FILE...");
        return;
    };
    for path in words {
        let Ok(bytes) = std::fs::read(&path) else {
            eprintln!("cannot read {path}");
            continue;
        };
        let samples: Vec<f64> = bytes
            .chunks_exact(4)
            .map(|four| f64::from(f32::from_le_bytes([four[0], four[1], four[2], four[3]])))
            .collect();
        let plane = |channel: u32| -> Vec<f64> {
            let own = samples.iter().skip(channel as usize);
            own.step_by(channels as usize).copied().collect()
        };
        let planes: Vec<Vec<f64>> = (0..channels).map(plane).collect();
        let start = std::time::Instant::now();
        let mut meter = TraitMeter::new(rate_hz, channels as usize);
        for from in (0..planes[0].len()).step_by(1 << 14) {
            let to = (from + (1 << 14)).min(planes[0].len());
            let block: Vec<&[f64]> = planes.iter().map(|plane| &plane[from..to]).collect();
            meter.push(&block);
        }
        let traits = meter.finish();
        let seconds = planes[0].len() as f64 / f64::from(rate_hz);
        let times = seconds / start.elapsed().as_secs_f64();
        eprintln!("{path}: {times:.0} times real time");
        match serde_json::to_string(&traits) {
            Ok(json) => println!("{json}"),
            Err(error) => eprintln!("{error}"),
        }
    }
}
