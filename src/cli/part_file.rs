//! A part of a film's pictures in a file of its own, on its way to `join`.
//!
//! The form: a magic word, the length of the label, the label as JSON, then the units as the cache keeps a chunk's, under
//! the label's hash as name, so that damage anywhere is found.

use super::args::{Share, Wish};
use super::cache;
use crate::encode::{ChunkName, SOURCES_VERSION, Unit, Work};
use crate::units::Fnv;
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// A word and the form's version.
const MAGIC: &[u8; 12] = b"plyreel\x00\x00\x00\x00\x01";

/// A part, read or to be written.
#[derive(Debug)]
pub struct PartFile {
    /// What it is a part of.
    pub label: Label,
    /// Its units.
    pub units: Vec<Unit>,
}

/// What a part says of itself: all that is needed to make the same plan again and to see that it is the same.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Label {
    /// The version of the program, for people.
    pub program: String,
    /// The version of all that shapes pictures and bytes.
    pub version: String,
    /// What is coded, in hexadecimal digits: [`Work::digest`].
    pub film: String,
    /// Which part.
    pub share: Share,
    /// The numbers of its chunks.
    pub chunks: (usize, usize),
    /// What was asked for on the command line.
    pub wish: Wish,
}

/// Why a file is no part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoPart {
    /// It is something else.
    #[error("is not a part made by `plyreel clip --chunk`")]
    Foreign,
    /// It is not whole.
    #[error("is cut short or damaged; make it again")]
    Damaged,
}

impl Label {
    /// The label of a share of the work.
    pub fn new(share: Share, work: &Work, wish: &Wish) -> Label {
        let chunks = work.part(share.part, share.parts);
        Label {
            program: env!("CARGO_PKG_VERSION").to_owned(),
            version: SOURCES_VERSION.to_owned(),
            film: format!("{:032x}", work.digest().expect("a film's pictures have digests")),
            share,
            chunks: (chunks.start, chunks.end),
            wish: wish.clone(),
        }
    }

    /// The numbers of its chunks.
    pub fn chunks(&self) -> Range<usize> {
        self.chunks.0..self.chunks.1
    }

    fn name(json: &[u8]) -> ChunkName {
        let mut fnv = Fnv::default();
        fnv.bytes(json);
        ChunkName(fnv.value())
    }
}

impl PartFile {
    /// The file's bytes.
    pub fn pack(&self) -> Vec<u8> {
        let json = serde_json::to_vec(&self.label).expect("a label has only texts and numbers");
        let mut file = MAGIC.to_vec();
        file.extend((json.len() as u32).to_le_bytes());
        file.extend(&json);
        file.extend(cache::pack(Label::name(&json), &self.units));
        file
    }

    /// Reads a file's bytes.
    pub fn unpack(file: &[u8]) -> Result<PartFile, NoPart> {
        let rest = file.strip_prefix(MAGIC).ok_or(NoPart::Foreign)?;
        let (length, rest) = rest.split_first_chunk().ok_or(NoPart::Damaged)?;
        let (json, rest) = rest.split_at_checked(u32::from_le_bytes(*length) as usize).ok_or(NoPart::Damaged)?;
        let units = cache::unpack(Label::name(json), rest).ok_or(NoPart::Damaged)?;
        let label = serde_json::from_slice(json).map_err(|_| NoPart::Damaged)?;
        Ok(PartFile { label, units })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_comes_back_whole_or_not_at_all() {
        let label = Label {
            program: "1".to_owned(),
            version: "2".to_owned(),
            film: "3".to_owned(),
            share: Share { part: 2, parts: 3 },
            chunks: (4, 6),
            wish: Wish::default(),
        };
        let units = vec![Unit { data: vec![1, 2, 3], key: true }, Unit { data: vec![4], key: false }];
        let file = PartFile { label: label.clone(), units: units.clone() }.pack();
        let part = PartFile::unpack(&file).unwrap();
        assert_eq!((part.label, part.units), (label, units));
        for at in 0..file.len() {
            let refusal = if at < MAGIC.len() { NoPart::Foreign } else { NoPart::Damaged };
            let mut damaged = file.clone();
            damaged[at] ^= 0x10;
            assert_eq!(PartFile::unpack(&damaged).unwrap_err(), refusal, "byte {at}");
            assert_eq!(PartFile::unpack(&file[..at]).unwrap_err(), refusal, "cut at {at}");
        }
    }
}
