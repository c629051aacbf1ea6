//! A part of a film's pictures in a file of its own, on its way to `join`.
//!
//! The form: a magic word, the length of the label, the label as JSON, then the units as the cache keeps a chunk's, under
//! the label's hash as name, so that damage anywhere is found.

use super::args::{Share, Wish};
use super::cache;
use crate::encode::{ChunkName, Reel, SOURCES_VERSION, Unit, Work};
use crate::units::Fnv;
use serde::{Deserialize, Serialize};
use std::io::{self, Read, Write};
use std::ops::Range;

/// A word and the form's version.
const MAGIC: &[u8; 12] = b"plyreel\x00\x00\x00\x00\x01";

/// A part, all of which was read and is sound; its units stay in the file.
#[derive(Debug)]
pub struct PartFile {
    /// What it is a part of.
    pub label: Label,
    /// How many units it has.
    pub units: u64,
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
#[derive(Debug, thiserror::Error)]
pub enum NoPart {
    /// It cannot be read.
    #[error(transparent)]
    Read(io::Error),
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

/// Writes a part: its layers one after the other, unit by unit.
pub fn write(label: &Label, layers: &[Reel], out: &mut dyn Write) -> io::Result<()> {
    let json = serde_json::to_vec(label).expect("a label has only texts and numbers");
    out.write_all(MAGIC)?;
    out.write_all(&(json.len() as u32).to_le_bytes())?;
    out.write_all(&json)?;
    let count = layers.iter().map(Reel::len).sum();
    let length = layers.iter().flat_map(Reel::lengths).map(|length| length as u64 + 4).sum();
    let each = |take: &mut dyn FnMut(&[u8], bool) -> io::Result<()>| {
        layers
            .iter()
            .flat_map(|reel| (0..reel.len()).map(move |unit| (reel, unit)))
            .try_for_each(|(reel, unit)| take(&reel.bytes(unit..unit + 1)?, reel.is_key(unit)))
    };
    cache::write(Label::name(&json), count, length, &each, out)
}

impl PartFile {
    /// Reads a part to its end, so that damage anywhere is found, and holds nothing of it.
    pub fn examine(file: &mut dyn Read) -> Result<PartFile, NoPart> {
        let mut units = 0;
        let label = read(file, &mut |_| {
            units += 1;
            Ok(())
        })?;
        Ok(PartFile { label, units })
    }
}

/// Reads a part, unit by unit. Only at its end it is known to be sound.
pub fn read(file: &mut dyn Read, take: &mut dyn FnMut(Unit) -> io::Result<()>) -> Result<Label, NoPart> {
    let mut magic = [0; MAGIC.len()];
    match file.read_exact(&mut magic) {
        Ok(()) if &magic == MAGIC => {}
        Err(error) if error.kind() != io::ErrorKind::UnexpectedEof => return Err(NoPart::Read(error)),
        _ => return Err(NoPart::Foreign),
    }
    let failed = |error: io::Error| match error.kind() {
        io::ErrorKind::UnexpectedEof | io::ErrorKind::InvalidData => NoPart::Damaged,
        _ => NoPart::Read(error),
    };
    let mut length = [0; 4];
    file.read_exact(&mut length).map_err(failed)?;
    let length = u32::from_le_bytes(length);
    // Taken as it comes: a damaged length asks for no memory.
    let mut json = Vec::new();
    Read::take(&mut *file, u64::from(length)).read_to_end(&mut json).map_err(failed)?;
    cache::read(Label::name(&json), file, take).map_err(failed)?;
    serde_json::from_slice(&json).map_err(|_| NoPart::Damaged)
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
        let mut file = Vec::new();
        write(&label, &[Reel::from(&units[..1]), Reel::from(&units[1..])], &mut file).unwrap();
        let mut again = Vec::new();
        let take = &mut |unit| {
            again.push(unit);
            Ok(())
        };
        assert_eq!((read(&mut &file[..], take).unwrap(), again), (label.clone(), units));
        let part = PartFile::examine(&mut &file[..]).unwrap();
        assert_eq!((part.label, part.units), (label, 2));
        for at in 0..file.len() {
            let refusal = if at < MAGIC.len() { NoPart::Foreign } else { NoPart::Damaged };
            let mut damaged = file.clone();
            damaged[at] ^= 0x10;
            let why = |bytes: &[u8]| PartFile::examine(&mut &*bytes).unwrap_err().to_string();
            assert_eq!(why(&damaged), refusal.to_string(), "byte {at}");
            assert_eq!(why(&file[..at]), refusal.to_string(), "cut at {at}");
        }
    }
}
