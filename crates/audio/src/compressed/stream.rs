//! One decoder run over one file.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use symphonia::core::audio::GenericAudioBufferRef;
use symphonia::core::codecs::audio::well_known::{
    CODEC_ID_AAC, CODEC_ID_ALAC, CODEC_ID_FLAC, CODEC_ID_MP1, CODEC_ID_MP2, CODEC_ID_MP3,
    CODEC_ID_OPUS, CODEC_ID_VORBIS,
};
use symphonia::core::codecs::audio::{AudioCodecParameters, AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, SeekMode, SeekTo, Track, TrackType};
use symphonia::core::io::MediaSourceStream;
use symphonia::core::meta::MetadataOptions;
use symphonia::core::packet::Packet;
use symphonia::core::units::{TimeBase, Timestamp};

use super::kind::Kind;
use crate::error::AudioError;
use crate::origin::Origin;
use crate::tags::Tags;

/// A damaged packet stands for at most this many frames of silence.
const MOST_PACKET_FRAMES: u64 = 65_536;
/// Damaged packets at the start before a file is given up.
const MOST_DAMAGED_AT_START: usize = 64;

/// A container and the decoder of its sound track.
pub(super) struct Stream {
    format: Box<dyn FormatReader>,
    decoder: Box<dyn AudioDecoder>,
    track: Track,
}

/// Shape and word of the first decoded packet.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shape {
    pub(super) sample_rate_hz: u32,
    pub(super) channels: usize,
    pub(super) float: bool,
}

/// What came of asking for the next packet.
pub(super) enum Next {
    /// Frames stand in the buffer.
    Decoded,
    /// The packet was damaged; silence of its length stands in the buffer.
    Damaged,
    /// No more packets.
    End,
}

impl std::fmt::Debug for Stream {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Stream").finish_non_exhaustive()
    }
}

impl Stream {
    /// Opens container and decoder.
    pub(super) fn open(origin: &Origin, kind: Kind) -> Result<Stream, AudioError> {
        let path = origin.path();
        let source = MediaSourceStream::new(Box::new(origin.open()?), Default::default());
        let opened = guard(|| open_stream(source, kind));
        match opened {
            Some(Ok(stream)) => Ok(stream),
            Some(Err(error)) => Err(open_error(path, kind, error)),
            None => Err(AudioError::damaged(path, "its header makes no sense")),
        }
    }

    /// What the container is tagged with.
    pub(super) fn tags(&mut self) -> Tags {
        guard(|| Tags::of(self.format.metadata())).unwrap_or_default()
    }

    /// Decodes up to the first packet that holds sound.
    pub(super) fn first(
        &mut self,
        path: &Path,
        planes: &mut Vec<Vec<f64>>,
    ) -> Result<Shape, AudioError> {
        let mut damaged = 0;
        while let Some(Ok(Some(packet))) = guard(|| self.format.next_packet()) {
            if packet.track_id != self.track.id {
                continue;
            }
            match guard(|| decode(&mut *self.decoder, &packet, planes)) {
                Some(Ok(shape)) if planes.first().is_some_and(|p| !p.is_empty()) => {
                    return Ok(shape);
                }
                Some(Ok(_)) => {}
                Some(Err(Error::Unsupported(what))) => {
                    return Err(AudioError::unsupported(path, unsupported_coding(what)));
                }
                _ => damaged += 1,
            }
            if damaged > MOST_DAMAGED_AT_START {
                break;
            }
        }
        if damaged > 0 {
            return Err(AudioError::damaged(path, "its sound cannot be decoded"));
        }
        Err(AudioError::Empty {
            path: path.to_path_buf(),
        })
    }

    /// Decodes the next packet of the track.
    pub(super) fn next(&mut self, channels: usize, planes: &mut Vec<Vec<f64>>) -> Next {
        loop {
            let Some(Ok(Some(packet))) = guard(|| self.format.next_packet()) else {
                return Next::End;
            };
            if packet.track_id != self.track.id {
                continue;
            }
            let decoded = guard(|| decode(&mut *self.decoder, &packet, planes));
            if matches!(decoded, Some(Ok(shape)) if shape.channels == channels) {
                return Next::Decoded;
            }
            silence(&packet, channels, planes);
            return Next::Damaged;
        }
    }

    /// Whether packets can be sought and decoded on their own with the same result.
    pub(super) fn seeks_exactly(&self, kind: Kind) -> bool {
        let time_in_frames = self.rate_hz().and_then(TimeBase::try_from_recip);
        !self.is_lossy()
            && matches!(kind, Kind::Flac | Kind::Mp4)
            && time_in_frames.is_some()
            && self.track.time_base == time_in_frames
    }

    /// Goes to the packet that holds `frame`; returns the packet's first frame.
    pub(super) fn seek(&mut self, frame: u64) -> Option<u64> {
        let to = SeekTo::Timestamp {
            ts: Timestamp::try_from(frame).ok()?,
            track_id: self.track.id,
        };
        let sought = guard(|| self.format.seek(SeekMode::Accurate, to))?.ok()?;
        self.decoder.reset();
        let start = u64::try_from(sought.actual_ts.get()).ok()?;
        (start <= frame).then_some(start)
    }

    /// Frames that the container promises.
    pub(super) fn frames(&self) -> Option<u64> {
        self.track.num_frames
    }

    /// Whether the container says how much delay the encoder added.
    pub(super) fn states_delay(&self) -> bool {
        self.track.delay.is_some()
    }

    /// Whether the coding throws sound away.
    pub(super) fn is_lossy(&self) -> bool {
        let lossy = [
            CODEC_ID_AAC,
            CODEC_ID_MP1,
            CODEC_ID_MP2,
            CODEC_ID_MP3,
            CODEC_ID_OPUS,
            CODEC_ID_VORBIS,
        ];
        lossy.contains(&self.decoder.codec_params().codec)
    }

    /// Word length; 0 for lossy codings.
    pub(super) fn bits(&self, shape: &Shape) -> u32 {
        let params = self.decoder.codec_params();
        let stated = params.bits_per_sample.or(params.bits_per_coded_sample);
        let stated = stated.or_else(|| alac_bits(params));
        match stated {
            _ if self.is_lossy() => 0,
            Some(bits) => bits,
            None if shape.float => 32,
            None => 0,
        }
    }

    /// The coding in plain words.
    pub(super) fn encoding(&self, shape: &Shape) -> String {
        match self.decoder.codec_params().codec {
            CODEC_ID_AAC => "AAC".into(),
            CODEC_ID_ALAC => "ALAC".into(),
            CODEC_ID_FLAC => "FLAC".into(),
            CODEC_ID_MP3 => "MP3".into(),
            CODEC_ID_VORBIS => "Vorbis".into(),
            _ if shape.float => format!("{}-bit float", self.bits(shape)),
            _ => format!("{}-bit integer", self.bits(shape)),
        }
    }

    fn rate_hz(&self) -> Option<u32> {
        self.decoder.codec_params().sample_rate
    }
}

/// Why a stream could not be opened.
enum OpenError {
    Channels(usize),
    Decoder(Error),
}

impl From<Error> for OpenError {
    fn from(error: Error) -> Self {
        OpenError::Decoder(error)
    }
}

/// Word length of ALAC: byte 5 of its configuration (Apple, "ALAC Magic Cookie
/// Description", ALACSpecificConfig).
fn alac_bits(params: &AudioCodecParameters) -> Option<u32> {
    let config = params.extra_data.as_ref()?;
    let bits = u32::from(*config.get(5)?);
    (params.codec == CODEC_ID_ALAC && bits <= 32).then_some(bits)
}

fn open_stream(source: MediaSourceStream<'static>, kind: Kind) -> Result<Stream, OpenError> {
    let mut hint = Hint::new();
    hint.with_extension(kind.extension());
    let format = symphonia::default::get_probe().probe(
        &hint,
        source,
        FormatOptions::default(),
        MetadataOptions::default(),
    )?;
    let track = format
        .default_track(TrackType::Audio)
        .or_else(|| format.first_track(TrackType::Audio))
        .ok_or(Error::Unsupported("no sound track"))?
        .clone();
    let params = track.codec_params.as_ref().and_then(|p| p.audio());
    let params = params.ok_or(Error::Unsupported("unknown coding"))?;
    if params.codec == CODEC_ID_OPUS {
        return Err(Error::Unsupported("opus").into());
    }
    let channels = params.channels.as_ref().map_or(0, |c| c.count());
    if channels > 2 {
        return Err(OpenError::Channels(channels));
    }
    // MP4 is trimmed here, by its own tables.
    let options = AudioDecoderOptions::default().gapless(kind != Kind::Mp4);
    let decoder = symphonia::default::get_codecs().make_audio_decoder(params, &options)?;
    Ok(Stream {
        format,
        decoder,
        track,
    })
}

fn open_error(path: &Path, kind: Kind, error: OpenError) -> AudioError {
    let error = match error {
        OpenError::Decoder(error) => error,
        OpenError::Channels(channels) => {
            return AudioError::Channels {
                path: path.to_path_buf(),
                channels,
            };
        }
    };
    match error {
        Error::Unsupported(what) => AudioError::unsupported(path, unsupported_coding(what)),
        Error::IoError(error) if error.kind() != std::io::ErrorKind::UnexpectedEof => {
            AudioError::read(path, error)
        }
        Error::IoError(_) => {
            AudioError::damaged(path, "it ends inside its header, or holds no sound")
        }
        _ => AudioError::damaged(
            path,
            format!("its {} header makes no sense", kind.container()),
        ),
    }
}

/// A coding that the decoder does not know, in words that people know.
fn unsupported_coding(what: &str) -> String {
    match what {
        "opus" => "Opus".into(),
        what if what.starts_with("aac") => "HE-AAC (or another rare form of AAC)".into(),
        _ => "its coding".into(),
    }
}

fn decode(
    decoder: &mut dyn AudioDecoder,
    packet: &Packet,
    planes: &mut Vec<Vec<f64>>,
) -> Result<Shape, Error> {
    let buffer = decoder.decode(packet)?;
    buffer.copy_to_vecs_planar(planes);
    Ok(Shape {
        sample_rate_hz: buffer.spec().rate(),
        channels: buffer.num_planes(),
        float: matches!(
            buffer,
            GenericAudioBufferRef::F32(_) | GenericAudioBufferRef::F64(_)
        ),
    })
}

/// Silence as long as the packet would have been.
fn silence(packet: &Packet, channels: usize, planes: &mut Vec<Vec<f64>>) {
    let frames = packet.dur.get().min(MOST_PACKET_FRAMES) as usize;
    planes.resize_with(channels, Vec::new);
    for plane in planes {
        plane.clear();
        plane.resize(frames, 0.0);
    }
}

/// Runs decoder code; a panic on odd bytes is caught and becomes `None`.
///
/// The decoders hold no data of ours, and after a panic the stream is not used on.
fn guard<T>(run: impl FnOnce() -> T) -> Option<T> {
    catch_unwind(AssertUnwindSafe(run)).ok()
}
