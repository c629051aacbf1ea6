//! The notation of ISO base media: a size, four letters, a body (ISO/IEC 14496-12 §4.2).
#![allow(clippy::trivially_copy_pass_by_ref)] // `b"moov"` is a reference, and reads better than `*b"moov"`

/// Appends boxes and big-endian numbers to a piece of memory.
pub(super) trait Boxes {
    /// A box with the body that `body` writes.
    fn node(&mut self, kind: &[u8; 4], body: impl FnOnce(&mut Vec<u8>));
    /// A box that begins with a version and 24 flags.
    fn full_node(&mut self, kind: &[u8; 4], version: u8, flags: u32, body: impl FnOnce(&mut Vec<u8>));
    /// Sixteen bits.
    fn u16(&mut self, value: u16);
    /// Thirty-two bits.
    fn u32(&mut self, value: u32);
    /// Sixty-four bits.
    fn u64(&mut self, value: u64);
    /// So many zero bytes.
    fn zeros(&mut self, count: usize);
}

impl Boxes for Vec<u8> {
    fn node(&mut self, kind: &[u8; 4], body: impl FnOnce(&mut Vec<u8>)) {
        let start = self.len();
        self.zeros(4);
        self.extend(kind);
        body(self);
        // Only `mdat` may outgrow 32 bits, and it is not written here; a longer `moov` is refused by its writer.
        let size = (self.len() - start) as u32;
        self[start..start + 4].copy_from_slice(&size.to_be_bytes());
    }

    fn full_node(&mut self, kind: &[u8; 4], version: u8, flags: u32, body: impl FnOnce(&mut Vec<u8>)) {
        self.node(kind, |o| {
            o.u32(u32::from(version) << 24 | flags);
            body(o);
        });
    }

    fn u16(&mut self, value: u16) {
        self.extend(value.to_be_bytes());
    }

    fn u32(&mut self, value: u32) {
        self.extend(value.to_be_bytes());
    }

    fn u64(&mut self, value: u64) {
        self.extend(value.to_be_bytes());
    }

    fn zeros(&mut self, count: usize) {
        self.resize(self.len() + count, 0);
    }
}
