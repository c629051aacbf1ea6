//! The units of a film on their way to a file: what is small in memory, the rest in a file of its own.
//!
//! A long film's units are many megabytes, and a container's index, which stands before them, wants all their lengths
//! first. So only lengths and places are held for each unit; the bytes go to a nameless file as soon as there are more
//! than [`IN_MEMORY`] of them.

use super::Unit;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::ops::Range;
use std::sync::{Mutex, PoisonError};

/// Bytes that are held in memory before a file is opened.
const IN_MEMORY: usize = 8 << 20;

/// Opens the file for what does not fit into memory: empty, for reading and writing, gone when it is closed.
pub type OpenFile = Box<dyn FnOnce() -> io::Result<File> + Send>;

/// Units in the order of the film.
#[derive(Default)]
pub struct Reel {
    places: Vec<Place>,
    bytes: Bytes,
    /// Gone once it has been used.
    open: Option<OpenFile>,
}

/// Where a unit's bytes are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Place {
    at: u64,
    length: u32,
    key: bool,
}

enum Bytes {
    Memory(Vec<u8>),
    File { file: Mutex<File>, length: u64 },
}

impl Default for Bytes {
    fn default() -> Bytes {
        Bytes::Memory(Vec::new())
    }
}

/// Units that lie on a reel side by side, not yet in the order of the film.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Strip(Vec<Place>);

impl Reel {
    /// An empty reel that opens a file for what does not fit into memory. [`Reel::default`] holds everything in memory.
    pub fn with_file(open: OpenFile) -> Reel {
        Reel { open: Some(open), ..Reel::default() }
    }

    /// How many units there are.
    pub fn len(&self) -> usize {
        self.places.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.places.is_empty()
    }

    /// The length of unit `n`, in bytes.
    pub fn length(&self, n: usize) -> usize {
        self.places[n].length as usize
    }

    /// The lengths of all units, in bytes.
    pub fn lengths(&self) -> impl ExactSizeIterator<Item = usize> {
        self.places.iter().map(|place| place.length as usize)
    }

    /// Whether unit `n` is a key.
    pub fn is_key(&self, n: usize) -> bool {
        self.places[n].key
    }

    /// The bytes of some units, one behind the other.
    pub fn bytes(&self, units: Range<usize>) -> io::Result<Vec<u8>> {
        let mut out = Vec::new();
        let mut places = self.places[units].iter().peekable();
        while let Some(first) = places.next() {
            let mut end = first.at + u64::from(first.length);
            while let Some(next) = places.next_if(|next| next.at == end) {
                end += u64::from(next.length);
            }
            self.read(first.at..end, &mut out)?;
        }
        Ok(out)
    }

    /// Adds a unit at the end.
    pub fn push(&mut self, unit: &Unit) -> io::Result<()> {
        let strip = self.lay(std::slice::from_ref(unit))?;
        self.places.extend(strip.0);
        Ok(())
    }

    /// All units, in memory.
    pub fn units(&self) -> io::Result<Vec<Unit>> {
        (0..self.len()).map(|n| Ok(Unit { data: self.bytes(n..n + 1)?, key: self.is_key(n) })).collect()
    }

    /// Takes up units whose place in the film is told later, by [`Reel::arrange`].
    pub(super) fn lay(&mut self, units: &[Unit]) -> io::Result<Strip> {
        let mut at = self.end();
        let mut places = Vec::with_capacity(units.len());
        for unit in units {
            let length = u32::try_from(unit.data.len()).expect("a unit is far smaller than 4 GiB");
            places.push(Place { at, length, key: unit.key });
            at += u64::from(length);
        }
        self.write(units, at)?;
        Ok(Strip(places))
    }

    /// Puts all strips in the order of the film.
    pub(super) fn arrange(&mut self, strips: impl IntoIterator<Item = Strip>) {
        self.places.extend(strips.into_iter().flat_map(|strip| strip.0));
    }

    fn end(&self) -> u64 {
        match &self.bytes {
            Bytes::Memory(bytes) => bytes.len() as u64,
            Bytes::File { length, .. } => *length,
        }
    }

    fn write(&mut self, units: &[Unit], end: u64) -> io::Result<()> {
        if let Bytes::Memory(bytes) = &mut self.bytes
            && end > IN_MEMORY as u64
            && let Some(open) = self.open.take()
        {
            let mut file = open()?;
            file.write_all(bytes)?;
            let length = bytes.len() as u64;
            self.bytes = Bytes::File { file: Mutex::new(file), length };
        }
        match &mut self.bytes {
            Bytes::Memory(bytes) => units.iter().for_each(|unit| bytes.extend_from_slice(&unit.data)),
            Bytes::File { file, length } => {
                let together: Vec<u8> = units.iter().flat_map(|unit| &unit.data).copied().collect();
                let file = file.get_mut().unwrap_or_else(PoisonError::into_inner);
                file.seek(SeekFrom::Start(*length))?;
                file.write_all(&together)?;
                *length = end;
            }
        }
        Ok(())
    }

    fn read(&self, range: Range<u64>, out: &mut Vec<u8>) -> io::Result<()> {
        match &self.bytes {
            Bytes::Memory(bytes) => out.extend_from_slice(&bytes[range.start as usize..range.end as usize]),
            Bytes::File { file, .. } => {
                let mut file = file.lock().unwrap_or_else(PoisonError::into_inner);
                file.seek(SeekFrom::Start(range.start))?;
                let start = out.len();
                out.resize(start + (range.end - range.start) as usize, 0);
                file.read_exact(&mut out[start..])?;
            }
        }
        Ok(())
    }
}

impl From<&[Unit]> for Reel {
    fn from(units: &[Unit]) -> Reel {
        let mut reel = Reel::default();
        let strip = reel.lay(units).expect("nothing fails in memory");
        reel.arrange([strip]);
        reel
    }
}

impl std::fmt::Debug for Reel {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        write!(f, "Reel({} units, {} bytes)", self.len(), self.end())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn unit(seed: usize) -> Unit {
        let length = seed * 7919 % 3_000;
        Unit { data: (0..length).map(|i| (i * 31 + seed) as u8).collect(), key: seed.is_multiple_of(5) }
    }

    proptest! {
        #[test]
        fn what_is_laid_in_any_order_is_read_in_the_films(
            (strips, order) in prop::collection::vec(0usize..9, 1..12).prop_flat_map(|strips| {
                let order: Vec<usize> = (0..strips.len()).collect();
                (Just(strips), Just(order).prop_shuffle())
            }),
            with_file: bool,
        ) {
            let mut count = 0;
            let units: Vec<Vec<Unit>> = strips.iter().map(|&length| {
                count += length;
                (count - length..count).map(unit).collect()
            }).collect();
            let mut reel = Reel::default();
            if with_file {
                // What has outgrown memory: the same laws hold with a file below.
                reel.bytes = Bytes::File { file: Mutex::new(tempfile::tempfile().unwrap()), length: 0 };
            }
            let mut laid: Vec<Option<Strip>> = vec![None; strips.len()];
            for at in order {
                laid[at] = Some(reel.lay(&units[at]).unwrap());
            }
            reel.arrange(laid.into_iter().flatten());
            let flat: Vec<Unit> = units.into_iter().flatten().collect();
            prop_assert_eq!(reel.units().unwrap(), flat.clone());
            let third = flat.len() / 3;
            let bytes: Vec<u8> = flat[third..].iter().flat_map(|unit| unit.data.clone()).collect();
            prop_assert_eq!(reel.bytes(third..flat.len()).unwrap(), bytes);
            prop_assert_eq!(reel.lengths().sum::<usize>() as u64, reel.end());
        }
    }

    #[test]
    fn a_reel_that_outgrows_memory_moves_to_its_file() {
        let mut reel = Reel::with_file(Box::new(tempfile::tempfile));
        let large = Unit { data: vec![3; IN_MEMORY / 2], key: true };
        let small = Unit { data: vec![4, 5], key: false };
        for unit in [&large, &small, &large, &small] {
            reel.push(unit).unwrap();
        }
        assert!(matches!(reel.bytes, Bytes::File { .. }));
        assert_eq!(reel.bytes(3..4).unwrap(), [4, 5]);
        assert_eq!(reel.units().unwrap(), [large.clone(), small.clone(), large, small]);
    }

    #[test]
    fn a_file_that_cannot_be_opened_is_told() {
        let mut reel = Reel::with_file(Box::new(|| Err(io::Error::other("full"))));
        let large = Unit { data: vec![3; IN_MEMORY + 1], key: true };
        assert_eq!(reel.push(&large).unwrap_err().to_string(), "full");
    }
}
