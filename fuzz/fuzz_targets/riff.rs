//! Opens, reads and seeks in bytes of any kind, as every command does with files.

#![no_main]

use cupel_audio::{HealthMeter, Planar, Reader};
use libfuzzer_sys::fuzz_target;

/// Frames read before a file is let go.
const MOST_FRAMES: usize = 100_000;

fuzz_target!(init: quiet_panics(), |bytes: &[u8]| {
    let Ok(mut reader) = Reader::from_bytes("x.wav", bytes) else {
        return;
    };
    let info = reader.info().clone();
    let mut meter = HealthMeter::new(info.sample_rate_hz, info.channels);
    let mut block = Planar::default();
    let mut frames = 0;
    while frames < MOST_FRAMES {
        let Ok(count @ 1..) = reader.read(&mut block, 4_096) else {
            break;
        };
        meter.push_planar(&block);
        frames += count;
    }
    meter.finish();
    reader.notes();
    if reader.seek(frames as u64 / 2).is_ok() {
        let _ = reader.read(&mut block, 100);
    }
});

/// The reader catches panics of decoders that it uses; only those that get past it
/// count, and they still end the run.
fn quiet_panics() {
    std::panic::set_hook(Box::new(|_| {}));
}
