//! What a record's tags say of its age and kind.

use symphonia::core::meta::{Metadata, StandardTag};

/// Year and genre as tagged; both are often wrong or missing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tags {
    /// Year of release, or of recording where that alone is given.
    pub year: Option<i32>,
    /// Genre in the words of whoever tagged it.
    pub genre: Option<String>,
}

/// Years before this are no years of recordings.
const FIRST_YEAR: i32 = 1900;

impl Tags {
    /// Reads the newest of what a container holds.
    pub(crate) fn of(mut metadata: Metadata<'_>) -> Self {
        let Some(revision) = metadata.skip_to_latest() else {
            return Self::default();
        };
        let own = revision.media.tags.iter();
        let of_tracks = revision.per_track.iter();
        let of_tracks = of_tracks.flat_map(|track| &track.metadata.tags);
        let known: Vec<&StandardTag> = own
            .chain(of_tracks)
            .filter_map(|t| t.std.as_ref())
            .collect();
        // The first release tells the age of the sound; a later one may be a reissue.
        let first = known.iter().find_map(|tag| match tag {
            StandardTag::OriginalReleaseYear(year) => Some(i32::from(*year)),
            StandardTag::OriginalReleaseDate(date) => year_of(date),
            _ => None,
        });
        let any = known.iter().find_map(|tag| match tag {
            StandardTag::ReleaseYear(year) | StandardTag::RecordingYear(year) => {
                Some(i32::from(*year))
            }
            StandardTag::ReleaseDate(date) | StandardTag::RecordingDate(date) => year_of(date),
            _ => None,
        });
        let genre = known.iter().find_map(|tag| match tag {
            StandardTag::Genre(genre) => Some(genre.trim().to_owned()),
            _ => None,
        });
        Self {
            year: first.or(any).filter(|year| *year >= FIRST_YEAR),
            genre: genre.filter(|genre| !genre.is_empty()),
        }
    }
}

/// The year at the start of a date such as `2019-05-01`.
fn year_of(date: &str) -> Option<i32> {
    date.trim().get(..4)?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn years_stand_at_the_start_of_dates() {
        assert_eq!(year_of("2019-05-01"), Some(2019));
        assert_eq!(year_of(" 1998"), Some(1998));
        assert_eq!(year_of("May 2019"), None);
        assert_eq!(year_of(""), None);
    }
}
