//! Samples as the page takes them: 32-bit floats, left and right in turn.

use cupel_work::Stereo;

/// Bytes of interleaved little-endian samples.
pub(crate) fn bytes(sound: &Stereo) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(8 * sound.left.len());
    for (left, right) in sound.left.iter().zip(&sound.right) {
        bytes.extend_from_slice(&(*left as f32).to_le_bytes());
        bytes.extend_from_slice(&(*right as f32).to_le_bytes());
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_are_interleaved() {
        let sound = Stereo {
            left: vec![0.5, -1.0],
            right: vec![0.25, 0.0],
        };
        let expected: Vec<u8> = [0.5_f32, 0.25, -1.0, 0.0]
            .iter()
            .flat_map(|x| x.to_le_bytes())
            .collect();
        assert_eq!(bytes(&sound), expected);
    }
}
