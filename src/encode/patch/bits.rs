//! Plain bits and OBUs (AV1 specification §4.10 and §5.3).

/// Writes header bits, the most significant first.
#[derive(Default)]
pub(super) struct BitWriter {
    bytes: Vec<u8>,
    used: usize,
}

impl BitWriter {
    /// f(n), §4.10.2: an unsigned number of `bits` bits.
    pub(super) fn number(&mut self, bits: usize, value: u32) {
        for bit in (0..bits).rev() {
            if self.used.is_multiple_of(8) {
                self.bytes.push(0);
            }
            if let Some(last) = self.bytes.last_mut() {
                *last |= ((value >> bit & 1) as u8) << (7 - self.used % 8);
            }
            self.used += 1;
        }
    }

    /// f(1).
    pub(super) fn flag(&mut self, flag: bool) {
        self.number(1, u32::from(flag));
    }

    /// The bits so far, filled up with zeros to whole bytes (`byte_alignment`, §5.3.5).
    pub(super) fn aligned(self) -> Vec<u8> {
        self.bytes
    }
}

/// `obu_type`, §6.2.2.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum ObuType {
    SequenceHeader = 1,
    Frame = 6,
}

/// Appends an OBU with its size field (§5.3.1, §5.3.2), its payload in `parts`.
pub(super) fn obu(out: &mut Vec<u8>, kind: ObuType, parts: &[&[u8]]) {
    // obu_forbidden_bit 0, obu_type, obu_extension_flag 0, obu_has_size_field 1, reserved 0
    out.push((kind as u8) << 3 | 0b10);
    leb128(out, parts.iter().map(|part| part.len()).sum());
    for part in parts {
        out.extend_from_slice(part);
    }
}

/// `leb128()`, §4.10.5: seven bits a byte, the least significant first.
fn leb128(out: &mut Vec<u8>, mut value: usize) {
    while value >= 128 {
        out.push(value as u8 | 128);
        value >>= 7;
    }
    out.push(value as u8);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bits_fill_bytes_from_the_top() {
        let mut bits = BitWriter::default();
        bits.number(3, 0b101);
        bits.flag(true);
        bits.number(7, 1);
        assert_eq!(bits.aligned(), [0b1011_0000, 0b0010_0000]);
    }

    /// §4.10.5 by hand: 300 is `0b10_0101100`.
    #[test]
    fn sizes_are_leb128() {
        let mut out = Vec::new();
        leb128(&mut out, 127);
        leb128(&mut out, 300);
        assert_eq!(out, [127, 0b1010_1100, 0b10]);
    }
}
