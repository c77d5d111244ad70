//! Headers of the WAV files that are written.
//!
//! 24-bit files are WAVE_FORMAT_EXTENSIBLE, float files tag 3 with a `fact` chunk.
//! A `JUNK` chunk holds the place of `ds64`, and takes it when the file passes
//! 4 GiB (EBU Tech 3306, 2.4 and 3.2).

use crate::wav_writer::SampleFormat;

/// Sub-format GUID after its first two bytes (KSDATAFORMAT_SUBTYPE_PCM).
const GUID_TAIL: [u8; 14] = [
    0x00, 0x00, 0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xAA, 0x00, 0x38, 0x9B, 0x71,
];

/// What a header is made from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Header {
    pub(crate) sample_rate_hz: u32,
    pub(crate) channels: u16,
    pub(crate) format: SampleFormat,
    pub(crate) frames: u64,
}

impl Header {
    /// Bytes of one frame.
    pub(crate) fn frame_bytes(&self) -> u64 {
        u64::from(self.channels) * u64::from(self.format.bytes())
    }

    /// Bytes of sound.
    pub(crate) fn data_bytes(&self) -> u64 {
        self.frames * self.frame_bytes()
    }

    /// The header up to the first sample; its length depends on the format alone.
    pub(crate) fn bytes(&self) -> Vec<u8> {
        let mut tail = self.format_chunk();
        let data_bytes = self.data_bytes();
        let head_bytes = 12 + 36 + tail.len() as u64 + 8;
        let riff_bytes = head_bytes - 8 + data_bytes + data_bytes % 2;
        let large = riff_bytes > u64::from(u32::MAX);
        let mut header = Vec::with_capacity(head_bytes as usize);
        header.extend(if large { b"RF64" } else { b"RIFF" });
        header.extend(size_32(riff_bytes, large));
        header.extend(b"WAVE");
        header.extend(self.size_chunk(riff_bytes, large));
        header.append(&mut tail);
        header.extend(b"data");
        header.extend(size_32(data_bytes, large));
        header
    }

    /// `ds64` in large files, `JUNK` of the same size in others.
    fn size_chunk(&self, riff_bytes: u64, large: bool) -> Vec<u8> {
        let mut chunk = Vec::new();
        chunk.extend(if large { b"ds64" } else { b"JUNK" });
        chunk.extend(28u32.to_le_bytes());
        for size in [riff_bytes, self.data_bytes(), self.frames] {
            let size = if large { size } else { 0 };
            chunk.extend(size.to_le_bytes());
        }
        chunk.extend([0; 4]);
        chunk
    }

    fn format_chunk(&self) -> Vec<u8> {
        let mut chunk = b"fmt ".to_vec();
        match self.format {
            SampleFormat::I24 => {
                chunk.extend(40u32.to_le_bytes());
                self.format_fields(0xFFFE, &mut chunk);
                chunk.extend(22u16.to_le_bytes());
                chunk.extend(24u16.to_le_bytes());
                chunk.extend(self.speaker_mask().to_le_bytes());
                chunk.extend(1u16.to_le_bytes());
                chunk.extend(GUID_TAIL);
            }
            SampleFormat::F32 => {
                chunk.extend(18u32.to_le_bytes());
                self.format_fields(3, &mut chunk);
                chunk.extend(0u16.to_le_bytes());
                chunk.extend(b"fact");
                chunk.extend(4u32.to_le_bytes());
                let frames = u32::try_from(self.frames).unwrap_or(u32::MAX);
                chunk.extend(frames.to_le_bytes());
            }
        }
        chunk
    }

    fn format_fields(&self, tag: u16, chunk: &mut Vec<u8>) {
        let frame_bytes = self.channels * self.format.bytes();
        let byte_rate = self.sample_rate_hz.saturating_mul(u32::from(frame_bytes));
        chunk.extend(tag.to_le_bytes());
        chunk.extend(self.channels.to_le_bytes());
        chunk.extend(self.sample_rate_hz.to_le_bytes());
        chunk.extend(byte_rate.to_le_bytes());
        chunk.extend(frame_bytes.to_le_bytes());
        chunk.extend((8 * self.format.bytes()).to_le_bytes());
    }

    /// Front left and right, or front centre for mono.
    fn speaker_mask(&self) -> u32 {
        if self.channels == 1 { 4 } else { 3 }
    }
}

fn size_32(size: u64, large: bool) -> [u8; 4] {
    if large {
        return u32::MAX.to_le_bytes();
    }
    (size as u32).to_le_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn header(frames: u64) -> Vec<u8> {
        let header = Header {
            sample_rate_hz: 48_000,
            channels: 2,
            format: SampleFormat::I24,
            frames,
        };
        header.bytes()
    }

    /// Offsets and values of EBU Tech 3306 (RF64), written out by hand.
    #[test]
    fn past_four_gibibytes_junk_becomes_ds64() {
        let frames = 1_000_000_000u64;
        let small = header(1_000);
        let large = header(frames);
        assert_eq!(small.len(), large.len());
        assert_eq!(&small[..4], b"RIFF");
        assert_eq!(&small[12..16], b"JUNK");
        assert_eq!(&large[..8], b"RF64\xFF\xFF\xFF\xFF");
        assert_eq!(&large[8..16], b"WAVEds64");
        assert_eq!(large[16..20], 28u32.to_le_bytes());
        assert_eq!(large[20..28], (frames * 6 + 96).to_le_bytes());
        assert_eq!(large[28..36], (frames * 6).to_le_bytes());
        assert_eq!(large[36..44], frames.to_le_bytes());
        assert_eq!(large[44..48], [0; 4]);
        assert_eq!(&large[96..], b"data\xFF\xFF\xFF\xFF");
    }

    /// The largest file that a 32-bit size can hold stays plain.
    #[test]
    fn the_border() {
        let most = (u64::from(u32::MAX) - 96) / 6;
        assert_eq!(&header(most)[..4], b"RIFF");
        assert_eq!(&header(most + 1)[..4], b"RF64");
    }
}
