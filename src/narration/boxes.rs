//! The boxes of an MP4 file (ISO/IEC 14496-12 §4.2): those at the outermost level, walked in the file, and those inside
//! a box that has been read.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};

/// A box at the outermost level of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Outer {
    /// What it is.
    pub(super) kind: [u8; 4],
    /// Where it begins.
    pub(super) start: u64,
    /// How long its header is.
    head: u64,
    /// How long it says it is, its header included; to the file's end, where it says just that.
    pub(super) size: u64,
    /// Whether it only says that it goes to the file's end.
    pub(super) is_open: bool,
}

impl Outer {
    /// Where it ends, or would if the file were whole.
    pub(super) fn end(&self) -> u64 {
        self.start.saturating_add(self.size)
    }

    /// Whether it has room for its own header.
    pub(super) fn is_sound(&self) -> bool {
        self.size >= self.head
    }

    /// What is in it, as far as the file goes; `None` beyond `most` bytes.
    pub(super) fn body(&self, file: &mut File, most: u64) -> io::Result<Option<Vec<u8>>> {
        let from = self.start + self.head;
        let length = self.end().min(file.seek(SeekFrom::End(0))?).saturating_sub(from);
        let Some(length) = usize::try_from(length).ok().filter(|_| length <= most) else { return Ok(None) };
        let mut body = vec![0; length];
        file.seek(SeekFrom::Start(from))?;
        file.read_exact(&mut body)?;
        Ok(Some(body))
    }
}

/// The boxes at the outermost level of a file, in order, as far as the file goes.
pub(super) struct OuterBoxes {
    place: u64,
    end: u64,
    left: usize,
}

impl OuterBoxes {
    /// At most so many of a file's boxes.
    pub(super) fn of(file: &mut File, most: usize) -> io::Result<OuterBoxes> {
        Ok(OuterBoxes { place: 0, end: file.seek(SeekFrom::End(0))?, left: most })
    }

    /// The next one. None comes after one that is not sound.
    pub(super) fn next(&mut self, file: &mut File) -> io::Result<Option<Outer>> {
        let rest = self.end.saturating_sub(self.place);
        if self.left == 0 || rest < 8 {
            return Ok(None);
        }
        let mut header = [0; 16];
        let got = usize::try_from(rest).unwrap_or(16).min(16);
        file.seek(SeekFrom::Start(self.place))?;
        file.read_exact(&mut header[..got])?;
        let [a, b, c, d, kind @ ..] = header;
        let kind = [kind[0], kind[1], kind[2], kind[3]];
        let told = u32::from_be_bytes([a, b, c, d]);
        let (head, size) = match told {
            0 => (8, rest),
            // A header that the file's end cuts says nothing.
            1 if got < 16 => (16, 0),
            1 => (16, be64(&header, 8).unwrap_or(0)),
            told => (8, u64::from(told)),
        };
        let found = Outer { kind, start: self.place, head, size, is_open: told == 0 };
        self.place = found.end();
        self.left = if found.is_sound() { self.left - 1 } else { 0 };
        Ok(Some(found))
    }
}

/// The boxes inside a box's body, as far as they are whole.
pub(super) fn boxes(mut body: &[u8]) -> impl Iterator<Item = ([u8; 4], &[u8])> {
    std::iter::from_fn(move || {
        let size = be32(body, 0)? as usize;
        let kind = body.get(4..8)?.try_into().ok()?;
        let (head, size) = match size {
            0 => (8, body.len()),
            1 => (16, usize::try_from(be64(body, 8)?).ok()?),
            size => (8, size),
        };
        let inner = body.get(head..size)?;
        body = &body[size..];
        Some((kind, inner))
    })
}

/// The first box of a kind inside a box's body.
pub(super) fn child(body: &[u8], kind: [u8; 4]) -> Option<&[u8]> {
    boxes(body).find(|&(k, _)| k == kind).map(|(_, inner)| inner)
}

/// Four bytes as a number, the greatest first.
pub(super) fn be32(data: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(data.get(at..at + 4)?.try_into().ok()?))
}

/// Eight bytes as a number, the greatest first.
pub(super) fn be64(data: &[u8], at: usize) -> Option<u64> {
    Some(u64::from_be_bytes(data.get(at..at + 8)?.try_into().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    /// The boxes of a file: kind, start, end and whether it is sound.
    fn walked(bytes: &[u8]) -> Vec<(String, u64, u64, bool)> {
        let mut file = tempfile::tempfile().expect("a file");
        file.write_all(bytes).expect("a file takes bytes");
        let mut walk = OuterBoxes::of(&mut file, 10).expect("a file can be measured");
        let mut found = Vec::new();
        while let Some(outer) = walk.next(&mut file).expect("a file can be read") {
            found.push((String::from_utf8_lossy(&outer.kind).into(), outer.start, outer.end(), outer.is_sound()));
        }
        found
    }

    #[test]
    fn all_forms_of_a_size_are_walked_and_nothing_beyond_damage() {
        let plain = b"\0\0\0\x0cfreeabcd";
        let wide = b"\0\0\0\x01wide\0\0\0\0\0\0\0\x12xy";
        let open = b"\0\0\0\0mdat1234567890";
        let all = [&plain[..], wide, open].concat();
        let told = |kind: &str, start, end, is_sound| (kind.to_owned(), start, end, is_sound);
        let free = told("free", 0, 12, true);
        assert_eq!(walked(&all), [free.clone(), told("wide", 12, 30, true), told("mdat", 30, 48, true)]);
        // Cut within a box, it tells where that would end; within its header, it is not sound, or not there.
        assert_eq!(walked(&all[..29]), [free.clone(), told("wide", 12, 30, true)]);
        assert_eq!(walked(&all[..26]), [free.clone(), told("wide", 12, 12, false)]);
        assert_eq!(walked(&all[..19]), [free]);
        let damaged = [b"\0\0\0\x04oops", &all[..]].concat();
        assert_eq!(walked(&damaged), [told("oops", 0, 4, false)]);
    }

    #[test]
    fn a_body_is_read_as_far_as_it_goes_and_none_that_is_too_large() {
        let mut file = tempfile::tempfile().expect("a file");
        file.write_all(b"\0\0\0\x0efreeabcd").expect("a file takes bytes");
        let mut walk = OuterBoxes::of(&mut file, 1).expect("a file can be measured");
        let outer = walk.next(&mut file).expect("a file can be read").expect("a box");
        assert_eq!(outer.body(&mut file, 4).expect("a file can be read").as_deref(), Some(&b"abcd"[..]));
        assert_eq!(outer.body(&mut file, 3).expect("a file can be read"), None);
        assert_eq!(walk.next(&mut file).expect("a file can be read"), None);
    }
}
