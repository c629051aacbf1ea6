//! A table as bytes, to be kept and read back.
//!
//! `plytable` and a form number, the material's key, the number of cells of one side, White's cells, Black's cells, and
//! a checksum of all before it (64-bit FNV-1a); numbers with the lowest byte first.

use super::Table;
use super::men::{self, Key, Man};
use super::shape::Shape;

/// The version of all that shapes a table: a hash of their sources, made when the program was built. Tables of another
/// version are not to be read.
pub const VERSION: &str = env!("PLYREEL_TABLES");

/// A place where tables are kept from one run to the next. Neither call fails: a table that cannot be kept is made
/// again.
pub trait TableStore: Send + Sync {
    /// What was kept under this name by this [`VERSION`]; damage is noticed by who reads it.
    fn get(&self, name: &str) -> Option<Vec<u8>>;

    /// Keeps a table's bytes.
    fn put(&self, name: &str, bytes: &[u8]);
}

const MAGIC: &[u8; 8] = b"plytable";
const FORM: u64 = 1;
const HEAD: usize = 32;

/// Why bytes are no table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unreadable {
    /// They begin like something else.
    NoTable,
    /// They were written in another form.
    OtherForm,
    /// Something is missing or was changed.
    Damaged,
}

fn checksum(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |sum, byte| (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3))
}

impl Table {
    pub(super) fn key(&self) -> Key {
        men::settled(self.shape.men()).1
    }

    /// The table as bytes.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(HEAD + 2 * self.shape.size() + 8);
        bytes.extend_from_slice(MAGIC);
        for number in [FORM, self.key().0, self.shape.size() as u64] {
            bytes.extend_from_slice(&number.to_le_bytes());
        }
        self.cells.iter().for_each(|cells| bytes.extend_from_slice(cells));
        let sum = checksum(&bytes);
        bytes.extend_from_slice(&sum.to_le_bytes());
        bytes
    }

    /// The table again.
    pub fn from_bytes(bytes: &[u8]) -> Result<Table, Unreadable> {
        if !bytes.starts_with(MAGIC) {
            return Err(Unreadable::NoTable);
        }
        let number = |at: usize| -> Result<u64, Unreadable> {
            let eight = bytes.get(at..at + 8).ok_or(Unreadable::Damaged)?;
            Ok(u64::from_le_bytes(eight.try_into().map_err(|_| Unreadable::Damaged)?))
        };
        if number(8)? != FORM {
            return Err(Unreadable::OtherForm);
        }
        let end = bytes.len().checked_sub(8).ok_or(Unreadable::Damaged)?;
        if number(end)? != checksum(&bytes[..end]) {
            return Err(Unreadable::Damaged);
        }
        let men = Man::of_key(Key(number(16)?)).ok_or(Unreadable::Damaged)?;
        let shape = Shape::new(&men);
        let size = shape.size();
        if number(24)? != size as u64 || end != HEAD + 2 * size {
            return Err(Unreadable::Damaged);
        }
        let side = |side: usize| bytes[HEAD + side * size..HEAD + (side + 1) * size].to_vec();
        Ok(Table::new(shape, [side(0), side(1)]))
    }
}
