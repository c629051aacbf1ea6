//! The user's folder of published endgame tables (R. de Man's Syzygy format) for more men than our own tables hold.
//!
//! Their five results are read as three: a win that the fifty-move rule would turn into a draw is a win here, since that
//! rule plays no part in compositions (Codex for Chess Composition 2019, art. 17).

use super::ending::Ending;
use crate::units::Fnv;
use shakmaty::{Chess, Position};
use shakmaty_syzygy::{SyzygyError, Tablebase, Wdl};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// A folder of tables that is open; it stays open as long as the program runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Syzygy(usize);

/// Why a folder cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum SyzygyFault {
    /// It cannot be read, or a file in it is cut short.
    #[error("{0}")]
    Unreadable(io::Error),
    /// It holds no table.
    #[error("there is no Syzygy table in it (files such as `KQvK.rtbw`)")]
    Empty,
}

/// What the tables say of a position.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Published {
    pub ending: Ending,
    /// The win takes more than fifty moves without a capture or a pawn's move.
    pub beyond_fifty: bool,
    /// Plies to the next capture or pawn's move on a winning way, up to one too many; 0 for a draw, and where the folder
    /// does not say.
    pub distance: u32,
}

struct Opened {
    path: PathBuf,
    identity: u128,
    tables: Tablebase<Chess>,
}

static OPENED: Mutex<Vec<&'static Opened>> = Mutex::new(Vec::new());

impl Syzygy {
    /// Opens the folder; the same folder as long as its files are the same.
    pub fn open(path: &Path) -> Result<Syzygy, SyzygyFault> {
        let identity = identity(path).map_err(SyzygyFault::Unreadable)?;
        let mut opened = OPENED.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = opened.iter().position(|folder| folder.path == path && folder.identity == identity) {
            return Ok(Syzygy(known));
        }
        let mut tables = Tablebase::new();
        if tables.add_directory(path).map_err(SyzygyFault::Unreadable)? == 0 {
            return Err(SyzygyFault::Empty);
        }
        opened.push(Box::leak(Box::new(Opened { path: path.to_owned(), identity, tables })));
        Ok(Syzygy(opened.len() - 1))
    }

    fn opened(self) -> &'static Opened {
        OPENED.lock().unwrap_or_else(PoisonError::into_inner)[self.0]
    }

    /// A hash of the files' names, sizes and times: equal folders give equal answers.
    pub fn identity(self) -> u128 {
        self.opened().identity
    }

    /// Whether so many men are within reach of the largest table.
    pub(super) fn reaches(self, position: &Chess) -> bool {
        position.castles().is_empty() && position.board().occupied().count() <= self.opened().tables.max_pieces()
    }

    /// The result of a position; why there is none.
    pub(super) fn probe(self, position: &Chess) -> Result<Published, String> {
        if !self.reaches(position) {
            return Err("the Syzygy folder has no table of so many men".to_owned());
        }
        let Opened { tables, .. } = self.opened();
        let worth = tables.probe_wdl_after_zeroing(position).map_err(|error| told(&error))?;
        let turn = position.turn();
        Ok(Published {
            ending: match worth {
                Wdl::Win | Wdl::CursedWin => Ending::win_of(turn),
                Wdl::Draw => Ending::Draw,
                Wdl::Loss | Wdl::BlessedLoss => Ending::win_of(!turn),
            },
            beyond_fifty: matches!(worth, Wdl::CursedWin | Wdl::BlessedLoss),
            distance: tables.probe_dtz(position).map_or(0, |plies| plies.ignore_rounding().0.unsigned_abs()),
        })
    }

    /// The result alone.
    pub(super) fn ending(self, position: &Chess) -> Option<Ending> {
        if !self.reaches(position) {
            return None;
        }
        Some(match self.opened().tables.probe_wdl_after_zeroing(position).ok()? {
            Wdl::Win | Wdl::CursedWin => Ending::win_of(position.turn()),
            Wdl::Draw => Ending::Draw,
            Wdl::Loss | Wdl::BlessedLoss => Ending::win_of(!position.turn()),
        })
    }
}

fn told(error: &SyzygyError) -> String {
    match error {
        SyzygyError::MissingTable { material, .. } => format!("the Syzygy folder has no table {material}"),
        SyzygyError::ProbeFailed { material, .. } => {
            format!("the Syzygy table {material} cannot be read: it is cut short or damaged")
        }
        other => format!("the Syzygy folder does not answer: {other}"),
    }
}

fn identity(path: &Path) -> io::Result<u128> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(path)? {
        let entry = entry?;
        // What a link leads to counts, not the link: a table may be replaced there. A link that leads nowhere is no
        // file, and if it is named like a table the tables themselves refuse it.
        let (size, written) = match std::fs::metadata(entry.path()) {
            Ok(known) => (known.len(), known.modified().map_or_else(|_| String::new(), |time| format!("{time:?}"))),
            Err(_) => (0, String::new()),
        };
        files.push((entry.file_name(), size, written));
    }
    files.sort();
    let mut hash = Fnv::default();
    for (name, size, written) in files {
        hash.bytes(name.as_encoded_bytes());
        hash.bytes(&[0]);
        hash.bytes(&size.to_le_bytes());
        hash.bytes(written.as_bytes());
        hash.bytes(&[0]);
    }
    Ok(hash.value())
}
