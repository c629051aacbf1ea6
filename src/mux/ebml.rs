//! EBML (RFC 8794), the binary notation of Matroska: an id, a size, a body.

/// Appends elements to a piece of memory.
pub(super) trait Ebml {
    /// An element with a body of its own.
    fn element(&mut self, id: u32, body: &[u8]);
    /// An unsigned integer in as few bytes as it needs.
    fn unsigned(&mut self, id: u32, value: u64);
    /// An unsigned integer in eight bytes, so that its size is known before its value.
    fn wide(&mut self, id: u32, value: u64);
    /// A signed integer in eight bytes.
    fn signed(&mut self, id: u32, value: i64);
    /// A floating-point number in eight bytes.
    fn float(&mut self, id: u32, value: f64);
    /// A UTF-8 string.
    fn text(&mut self, id: u32, value: &str);
    /// An element made of elements.
    fn parent(&mut self, id: u32, children: impl FnOnce(&mut Vec<u8>));
    /// The id and the size of an element whose body follows by other ways.
    fn head(&mut self, id: u32, size: u64);
}

impl Ebml for Vec<u8> {
    fn element(&mut self, id: u32, body: &[u8]) {
        self.head(id, body.len() as u64);
        self.extend_from_slice(body);
    }

    fn unsigned(&mut self, id: u32, value: u64) {
        let zeros = (value.leading_zeros() / 8).min(7) as usize;
        self.element(id, &value.to_be_bytes()[zeros..]);
    }

    fn wide(&mut self, id: u32, value: u64) {
        self.element(id, &value.to_be_bytes());
    }

    fn signed(&mut self, id: u32, value: i64) {
        self.element(id, &value.to_be_bytes());
    }

    fn float(&mut self, id: u32, value: f64) {
        self.element(id, &value.to_be_bytes());
    }

    fn text(&mut self, id: u32, value: &str) {
        self.element(id, value.as_bytes());
    }

    fn parent(&mut self, id: u32, children: impl FnOnce(&mut Vec<u8>)) {
        let mut body = Vec::new();
        children(&mut body);
        self.element(id, &body);
    }

    fn head(&mut self, id: u32, size: u64) {
        self.extend(id_bytes(id));
        self.extend(size_bytes(size));
    }
}

/// How many bytes [`Ebml::head`] takes.
pub(super) fn head_length(id: u32, size: u64) -> u64 {
    (id_bytes(id).count() + size_bytes(size).count()) as u64
}

/// An id as it is printed in the specification, its length marker included.
pub(super) fn id_bytes(id: u32) -> impl Iterator<Item = u8> {
    id.to_be_bytes().into_iter().skip(id.leading_zeros() as usize / 8)
}

/// RFC 8794 §4: seven bits a byte behind a marker; all ones would mean "unknown".
fn size_bytes(size: u64) -> impl Iterator<Item = u8> {
    let length = (1..8).find(|&length| size < (1 << (7 * length)) - 1).unwrap_or(8);
    (size | 1 << (7 * length)).to_be_bytes().into_iter().skip(8 - length)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_take_as_few_bytes_as_they_can() {
        // RFC 8794 §4.1: 127 in one byte would be the unknown size.
        let bytes = |size| size_bytes(size).collect::<Vec<u8>>();
        assert_eq!(bytes(2), [0x82]);
        assert_eq!(bytes(126), [0xFE]);
        assert_eq!(bytes(127), [0x40, 0x7F]);
        assert_eq!(bytes(16_382), [0x7F, 0xFE]);
        assert_eq!(bytes(16_383), [0x20, 0x3F, 0xFF]);
        assert_eq!(bytes((1 << 49) - 1), [0x01, 0x01, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF]);
    }

    #[test]
    fn integers_keep_one_byte_at_least() {
        let mut out = Vec::new();
        out.unsigned(0x42F7, 0);
        out.unsigned(0xD7, 300);
        assert_eq!(out, [0x42, 0xF7, 0x81, 0, 0xD7, 0x82, 1, 44]);
    }
}
