//! How much of an MP4 file's decoded sound is encoder delay and padding.
//!
//! Decoders hand on everything that was coded; which part is meant to be heard
//! stands in the edit list (`elst`, ISO/IEC 14496-12, 8.6.6) or in the `iTunSMPB`
//! tag, whose words are, in hexadecimal: 0, delay, padding, frames (layout from
//! memory, checked against files of other writers).

use std::io;

use crate::origin::Bytes;

/// A movie header larger than this is not looked at.
const MOST_MOOV_BYTES: u64 = 64 << 20;
/// Top-level boxes looked at before giving up.
const MOST_BOXES: usize = 4_096;

/// The part of the decoded sound that plays.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Trim {
    /// Decoded frames to leave out at the start.
    pub(crate) delay_frames: u64,
    /// Frames that play; `None` for all that follow.
    pub(crate) frames: Option<u64>,
    /// Whether the file said so; without, the delay is unknown.
    pub(crate) stated: bool,
}

/// What the boxes of a file amount to.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Survey {
    /// The trim of the first sound track; files that say nothing keep everything.
    pub(crate) trim: Trim,
    /// Bytes that the boxes promise beyond the end of the file.
    pub(crate) missing_bytes: u64,
}

/// Walks over the top-level boxes.
pub(crate) fn survey(bytes: &mut Bytes) -> io::Result<Survey> {
    let file_bytes = bytes.len()?;
    let mut survey = Survey::default();
    let mut position = 0u64;
    for _ in 0..MOST_BOXES {
        let mut head = [0; 16];
        let count = bytes.read_at(position, &mut head)?;
        let Some((size, head_bytes)) = box_size(&head[..count], file_bytes - position) else {
            break;
        };
        let end = position.saturating_add(size);
        if &head[4..8] == b"moov" {
            let body = position + head_bytes;
            let left = end.min(file_bytes).saturating_sub(body);
            let moov = read_body(bytes, body, left.min(MOST_MOOV_BYTES) as usize)?;
            survey.trim = trim_of(&moov);
        }
        survey.missing_bytes = end.saturating_sub(file_bytes);
        if end >= file_bytes {
            break;
        }
        position = end;
    }
    Ok(survey)
}

fn trim_of(moov: &[u8]) -> Trim {
    if let Some(trim) = find_smpb(moov) {
        return trim;
    }
    boxes(moov)
        .filter(|b| &b.kind == b"trak")
        .find(|b| is_sound(b.body))
        .and_then(|track| edited(moov, track.body))
        .unwrap_or_default()
}

/// One box: its kind and its body.
struct Box4<'a> {
    kind: [u8; 4],
    body: &'a [u8],
}

/// The boxes in a body, up to the first that does not fit.
fn boxes(mut body: &[u8]) -> impl Iterator<Item = Box4<'_>> {
    std::iter::from_fn(move || {
        let (found, rest) = split_box(body)?;
        body = rest;
        Some(found)
    })
}

fn split_box(body: &[u8]) -> Option<(Box4<'_>, &[u8])> {
    let kind: [u8; 4] = body.get(4..8)?.try_into().ok()?;
    let (size, head) = match be32(body, 0)? {
        0 => (body.len() as u64, 8),
        1 => (be64(body, 8)?, 16),
        size => (u64::from(size), 8),
    };
    let size = usize::try_from(size).ok()?;
    let inner = body.get(head..size)?;
    Some((Box4 { kind, body: inner }, &body[size..]))
}

/// The first box along a path of kinds.
fn find<'a>(body: &'a [u8], path: &[&[u8; 4]]) -> Option<&'a [u8]> {
    path.iter().try_fold(body, |body, kind| {
        boxes(body).find(|b| &b.kind == *kind).map(|b| b.body)
    })
}

fn is_sound(track: &[u8]) -> bool {
    find(track, &[b"mdia", b"hdlr"]).and_then(|hdlr| hdlr.get(8..12)) == Some(b"soun")
}

/// The trim in a track's edit list: its first entry that plays something.
fn edited(moov: &[u8], track: &[u8]) -> Option<Trim> {
    let (duration, media_time) = first_edit(find(track, &[b"edts", b"elst"])?)?;
    let movie_scale = u64::from(scale(find(moov, &[b"mvhd"])?)?);
    let media_scale = u64::from(scale(find(track, &[b"mdia", b"mdhd"])?)?);
    if movie_scale == 0 || media_scale == 0 {
        return None;
    }
    let played = u128::from(duration) * u128::from(media_scale);
    let rough = u64::try_from(played / u128::from(movie_scale)).ok()?;
    let coded = find(track, &[b"mdia", b"minf", b"stbl", b"stts"]).map(total_duration);
    let frames = refine(rough, media_scale, movie_scale, media_time, coded);
    Some(Trim {
        delay_frames: media_time,
        frames,
        stated: true,
    })
}

/// The edit's length is rounded to the movie's time scale, which may be coarse;
/// where the coded length agrees within one of its ticks, that is the exact one.
fn refine(
    rough: u64,
    media_scale: u64,
    movie_scale: u64,
    media_time: u64,
    coded: Option<u64>,
) -> Option<u64> {
    let tick = media_scale.div_ceil(movie_scale);
    let left = coded.map(|coded| coded.saturating_sub(media_time));
    match left {
        Some(left) if left.abs_diff(rough) <= tick => Some(left),
        _ if rough == 0 => left,
        _ => Some(rough),
    }
}

/// Segment duration and media time of the first entry that is not empty.
fn first_edit(elst: &[u8]) -> Option<(u64, u64)> {
    let wide = *elst.first()? == 1;
    let entry_bytes = if wide { 20 } else { 12 };
    let entries = elst.get(8..)?.chunks_exact(entry_bytes);
    entries.take(be32(elst, 4)? as usize).find_map(|entry| {
        let (duration, media_time) = if wide {
            (be64(entry, 0)?, be64(entry, 8)? as i64)
        } else {
            (
                u64::from(be32(entry, 0)?),
                i64::from(be32(entry, 4)? as i32),
            )
        };
        Some((duration, u64::try_from(media_time).ok()?))
    })
}

/// The time scale of a movie or media header.
fn scale(header: &[u8]) -> Option<u32> {
    let at = if *header.first()? == 1 { 20 } else { 12 };
    be32(header, at)
}

/// The sum of all durations in a time-to-sample box.
fn total_duration(stts: &[u8]) -> u64 {
    let count = be32(stts, 4).unwrap_or(0) as usize;
    let entries = stts.get(8..).unwrap_or(&[]).chunks_exact(8).take(count);
    entries.fold(0u64, |sum, entry| {
        let samples = u64::from(be32(entry, 0).unwrap_or(0));
        let each = u64::from(be32(entry, 4).unwrap_or(0));
        sum.saturating_add(samples.saturating_mul(each))
    })
}

/// The `iTunSMPB` tag: moov/udta/meta/ilst/----, whose `name` box says so.
fn find_smpb(moov: &[u8]) -> Option<Trim> {
    let meta = find(moov, &[b"udta", b"meta"])?;
    let list = find(meta.get(4..)?, &[b"ilst"])?;
    boxes(list)
        .filter(|b| &b.kind == b"----")
        .find(|b| find(b.body, &[b"name"]).and_then(|n| n.get(4..)) == Some(b"iTunSMPB"))
        .and_then(|b| find(b.body, &[b"data"])?.get(8..))
        .and_then(parse_smpb)
}

fn parse_smpb(text: &[u8]) -> Option<Trim> {
    let text = std::str::from_utf8(text).ok()?;
    let words: Vec<u64> = text
        .split_ascii_whitespace()
        .take(4)
        .map_while(|word| u64::from_str_radix(word, 16).ok())
        .collect();
    let &[_, delay, _, frames] = words.as_slice() else {
        return None;
    };
    Some(Trim {
        delay_frames: delay,
        frames: (frames > 0).then_some(frames),
        stated: true,
    })
}

/// Size of a box and of its head; sizes smaller than the head are nonsense.
fn box_size(head: &[u8], left: u64) -> Option<(u64, u64)> {
    let (size, head_bytes) = match be32(head, 0)? {
        0 => (left, 8),
        1 => (be64(head, 8)?, 16),
        size => (u64::from(size), 8),
    };
    (head.len() >= 8 && size >= head_bytes).then_some((size, head_bytes))
}

fn read_body(bytes: &mut Bytes, position: u64, size: usize) -> io::Result<Vec<u8>> {
    let mut body = vec![0; size];
    let count = bytes.read_at(position, &mut body)?;
    body.truncate(count);
    Ok(body)
}

fn be32(bytes: &[u8], at: usize) -> Option<u32> {
    let word = bytes.get(at..at + 4)?;
    Some(u32::from_be_bytes(word.try_into().ok()?))
}

fn be64(bytes: &[u8], at: usize) -> Option<u64> {
    let word = bytes.get(at..at + 8)?;
    Some(u64::from_be_bytes(word.try_into().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn box4(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
        let mut bytes = (body.len() as u32 + 8).to_be_bytes().to_vec();
        bytes.extend(kind);
        bytes.extend(body);
        bytes
    }

    fn words(words: &[u32]) -> Vec<u8> {
        words.iter().flat_map(|w| w.to_be_bytes()).collect()
    }

    /// A movie of 48 kHz sound whose edit list has the given entries.
    fn movie(edits: &[[u32; 3]]) -> Vec<u8> {
        let mut elst = words(&[0, edits.len() as u32]);
        elst.extend(edits.iter().flat_map(|e| words(e)));
        let hdlr = [words(&[0, 0]), b"soun".to_vec()].concat();
        let mdia = [
            box4(b"mdhd", &words(&[0, 0, 0, 48_000, 0])),
            box4(b"hdlr", &hdlr),
        ];
        let trak = [
            box4(b"edts", &box4(b"elst", &elst)),
            box4(b"mdia", &mdia.concat()),
        ];
        [
            box4(b"mvhd", &words(&[0, 0, 0, 1_000, 0])),
            box4(b"trak", &trak.concat()),
        ]
        .concat()
    }

    #[test]
    fn the_first_edit_that_plays_counts() {
        let empty_first = [[500, u32::MAX, 0x10000], [2_000, 1_024, 0x10000]];
        let expected = Trim {
            delay_frames: 1_024,
            frames: Some(96_000),
            stated: true,
        };
        assert_eq!(trim_of(&movie(&empty_first)), expected);
        assert_eq!(trim_of(&movie(&[])), Trim::default());
    }

    /// The tag is exact where an edit list may be rounded, so it goes first.
    #[test]
    fn the_tag_goes_before_the_edit_list() {
        let name = [words(&[0]), b"iTunSMPB".to_vec()].concat();
        let text = b" 00000000 00000840 000001CA 00000000003F31F6";
        let data = [words(&[1, 0]), text.to_vec()].concat();
        let tag = [box4(b"name", &name), box4(b"data", &data)].concat();
        let ilst = box4(b"ilst", &box4(b"----", &tag));
        let meta = box4(b"meta", &[words(&[0]), ilst].concat());
        let mut moov = movie(&[[2_000, 1_024, 0x10000]]);
        moov.extend(box4(b"udta", &meta));
        assert_eq!(trim_of(&moov).delay_frames, 0x840);
        assert_eq!(trim_of(&moov).frames, Some(0x3F31F6));
    }

    #[test]
    fn tag_words() {
        let text = b" 00000000 00000840 000001CA 00000000003F31F6 00000000";
        let trim = parse_smpb(text).unwrap();
        assert_eq!(trim.delay_frames, 0x840);
        assert_eq!(trim.frames, Some(0x3F31F6));
        assert_eq!(parse_smpb(b" 00000000 00000840"), None);
    }

    #[test]
    fn coarse_lengths_are_refined() {
        // 1 s at 48 kHz behind 1024 frames of delay, time scale of 1 ms.
        assert_eq!(
            refine(48_000, 48_000, 1_000, 1_024, Some(49_023)),
            Some(47_999)
        );
        // The coded length tells another story: the edit counts.
        assert_eq!(
            refine(48_000, 48_000, 1_000, 1_024, Some(96_000)),
            Some(48_000)
        );
        assert_eq!(refine(48_000, 48_000, 1_000, 1_024, None), Some(48_000));
    }

    #[test]
    fn boxes_that_do_not_fit_end_the_walk() {
        assert_eq!(boxes(b"\0\0\0\x09free").count(), 0);
        assert_eq!(boxes(b"\0\0\0\x04free").count(), 0);
        assert_eq!(boxes(b"\0\0\0\x08free\0\0\0\0last").count(), 2);
    }
}
