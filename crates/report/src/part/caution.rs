//! The word of caution about listening levels.

use maud::{Markup, html};

/// A short caution for the foot of the page.
///
/// Sources: NIOSH Publication 98-126 (1998), recommended exposure limit of
/// 85 dBA for 8 h with a 3 dB exchange; ITU-T H.870, adult mode, 80 dBA for 40 h
/// a week. The 10 dB are the step from a pre-master near -18 LUFS to a master
/// near -8 LUFS (common practice, no source).
pub(crate) fn caution() -> Markup {
    html! {
        section.caution aria-labelledby="caution-heading" {
            h2 id="caution-heading" { "Your ears" }
            p {
                "A mix at this level is quiet, and monitors get turned up for it; the next mastered file then plays "
                "about 10 dB louder. Turn down first. No file can tell how loud your room is. As a guide, hearing "
                "bodies advise at most 8 hours a day at 85 dBA (NIOSH) or 40 hours a week at 80 dBA (ITU-T H.870), "
                "and half the time for every 3 dB more. Local rules and licensed professionals come before anything "
                "written here; ringing or dull hearing after work is a reason to stop and ask one."
            }
        }
    }
}
