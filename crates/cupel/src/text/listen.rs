//! What `listen` says while it serves.

use crate::text::wrap;

pub(crate) fn summary(address: &str) -> String {
    let caution = "Before you listen: turn down first. Playback starts quiet and fades in. \
                   Monitors turned up for a quiet mix make the next mastered record about 10 dB \
                   louder.";
    format!(
        "Open this address in a browser on this machine:\n\n  {address}\n\n{}\n\
         Nothing leaves this machine. Control-C ends it.",
        wrap(caution, 0)
    )
}
