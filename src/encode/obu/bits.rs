//! Plain bits of headers, read (AV1 specification §4.10).

/// Reads bits, the highest of a byte first (§4.10.2).
pub(super) struct Bits<'a> {
    data: &'a [u8],
    at: usize,
}

impl<'a> Bits<'a> {
    pub(super) fn new(data: &'a [u8]) -> Bits<'a> {
        Bits { data, at: 0 }
    }

    pub(super) fn flag(&mut self) -> Option<bool> {
        let byte = self.data.get(self.at / 8)?;
        let bit = byte >> (7 - self.at % 8) & 1;
        self.at += 1;
        Some(bit == 1)
    }

    /// `f(count)`, at most 32 bits.
    pub(super) fn take(&mut self, count: u32) -> Option<u32> {
        let mut value = 0;
        for _ in 0..count {
            value = value << 1 | u32::from(self.flag()?);
        }
        Some(value)
    }

    /// `uvlc()` of §4.10.3; only its length matters here.
    pub(super) fn uvlc(&mut self) -> Option<()> {
        let mut zeros = 0;
        while !self.flag()? {
            zeros += 1;
        }
        if zeros < 32 {
            self.take(zeros)?;
        }
        Some(())
    }
}
