//! Hits without a peak.

use cupel_audio::HealthCode;
use cupel_units::Role;

use crate::evidence::{Evidence, TrackFacts};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "flattened",
    family: Family::Dynamics,
    title: "its hits are flattened",
    cause: Cause::Sound,
    sizes: Sizes::look("dB", 1.0),
    weight: 0.5,
    brings: &[],
    unsure: true,
    measures: "The middle over all hits of their peak against the level of the 200 ms that \
               follow, beside the lower end of what is usual for the same kind of drum.",
    matters: "A hit is heard by its first few milliseconds. Flattened, it is loud on the meter \
              and weak in the mix, and no fader brings the hit back.",
    threshold: "Look from 1 dB under the lower end: kick 3, snare 8, clap 12, rim 11, closed hat \
                14, open hat 12, shaker 13, tom 5 dB (common practice, no source; set on invented \
                sessions).",
    mend: "Take off what you added first: limiter, clipper or compressor on the track, or a \
           slower attack. Else choose another sample.",
    wrong: "When a driven or lo-fi sound is the style, or hits follow so closely that they fill \
            each other's gaps.",
    hear: "Solo it at the loudness of another of its kind: the start of the hit is soft, the rest \
           swells.",
    train: "Compress a snare with 0.1, 3 and 30 ms of attack at the same loudness, and listen to \
            nothing but the start of the hit.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    evidence.tracks.iter().filter_map(of_track).collect()
}

/// Lower end of the usual crest of hits, dB.
fn usual_db(role: Role) -> Option<f64> {
    Some(match role {
        Role::Kick => 3.0,
        Role::Snare => 8.0,
        Role::Clap => 12.0,
        Role::Rim => 11.0,
        Role::ClosedHat => 14.0,
        Role::OpenHat => 12.0,
        Role::Shaker => 13.0,
        Role::Tom => 5.0,
        _ => return None,
    })
}

fn of_track(track: &TrackFacts) -> Option<Finding> {
    let usual_db = usual_db(track.role?)?;
    let crest_db = track.file.traits.hit_crest_db?;
    let is_flat = |code| matches!(code, HealthCode::FlatTops | HealthCode::ClippedRuns);
    // Its flat tops are spoken of already, and a driven kick is a style.
    if track.is_kick && track.file.health.iter().any(|note| is_flat(note.code)) {
        return None;
    }
    let under_db = usual_db - crest_db;
    let grade = KIND.sizes.grade(under_db)?;
    let name = &track.file.name;
    let words = format!(
        "The hits of {name} stand only {crest_db:.0} dB over what follows them; {usual_db:.0} dB \
         and more are usual."
    );
    let finding = Finding::new(&KIND, grade, under_db, words)
        .on([track.id.clone()])
        .at(track.sounds_s.clone())
        .against(
            usual_db,
            "the lower end of its kind; common practice, no source",
        )
        .mend("Take limiter or compressor off the track, or slow its attack.")
        .hear("the first milliseconds of its hits")
        .picture(Picture::Bars {
            unit: "dB from level to peak".into(),
            rows: vec![PictureRow {
                name: name.clone(),
                value: crest_db,
                meant: true,
            }],
            limit: Some(usual_db),
        })
        .sure(0.6 * track.role_sure + 0.2);
    Some(finding)
}

#[cfg(test)]
mod tests {
    use cupel_audio::{HealthGrade, HealthNote};

    use super::*;
    use crate::kinds::low_end::trial::session;

    #[test]
    fn under_the_lower_end_of_its_kind() {
        let mut evidence = session(&[Role::Snare, Role::Kick]);
        for (crest_db, count) in [(9.5, 0), (7.5, 0), (6.5, 1)] {
            evidence.tracks[0].file.traits.hit_crest_db = Some(crest_db);
            assert_eq!(find(&evidence).len(), count);
        }
        evidence.tracks[0].file.traits.hit_crest_db = None;
        evidence.tracks[1].file.traits.hit_crest_db = Some(0.8);
        assert_eq!(find(&evidence).len(), 1);
        // driven into flat tops: another finding speaks of it
        let flat = HealthNote::new(HealthCode::FlatTops, HealthGrade::Look, "");
        evidence.tracks[1].file.health = vec![flat];
        assert!(find(&evidence).is_empty());
    }
}
