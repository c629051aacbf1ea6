//! A folder of files that were made before and need not be made again, each under a number.
//!
//! Nothing here can fail a command. What cannot be read is made again, what cannot be written is not kept, and a file
//! that is cut, damaged or not ours is removed. Files are written beside their name and renamed, so that two programs may
//! use the folder at once and a kill at any moment leaves whole files and at worst a temporary one, which a later run
//! sweeps away.

use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, SystemTime};

/// A temporary file older than this belongs to no running program: a file is written in much less than a second.
const STALE: Duration = Duration::from_mins(10);

/// The ending of a file on its way.
const ON_ITS_WAY: &str = "part";

/// A folder of files with one ending; a file's stem is its number, 32 hexadecimal digits.
pub struct Kept {
    folder: PathBuf,
    ending: &'static str,
    /// Bytes it may hold.
    limit: u64,
    /// Bytes it holds, as far as this program knows.
    held: Mutex<u64>,
    /// Set when something could not be written, after which nothing more is tried.
    broken: AtomicBool,
    /// Why.
    reason: Mutex<Option<io::Error>>,
}

/// How many files were removed, and their bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Removed {
    /// Files.
    pub files: usize,
    /// Their bytes.
    pub bytes: u64,
}

impl Kept {
    /// The files in `folder`, which is made if it is not there, and swept: temporary files that were left behind go, and
    /// files least recently used until at most `limit` bytes are held.
    pub fn open(folder: PathBuf, ending: &'static str, limit: u64) -> Kept {
        let made = fs::create_dir_all(&folder).err();
        let broken = AtomicBool::new(made.is_some());
        let kept = Kept { folder, ending, limit, held: Mutex::new(0), broken, reason: Mutex::new(made) };
        kept.sweep_temporary();
        *kept.held.lock().unwrap_or_else(PoisonError::into_inner) = kept.trim(limit);
        kept
    }

    /// Where it is.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Why files are not kept, if they are not.
    pub fn trouble(&self) -> Option<String> {
        let reason = self.reason.lock().unwrap_or_else(PoisonError::into_inner);
        reason.as_ref().map(super::failure::reason)
    }

    /// Removes every file.
    pub fn clear(&self) -> Removed {
        let mut removed = Removed::default();
        for (path, _, bytes) in self.files() {
            if fs::remove_file(path).is_ok() {
                removed = Removed { files: removed.files + 1, bytes: removed.bytes + bytes };
            }
        }
        *self.held.lock().unwrap_or_else(PoisonError::into_inner) = 0;
        removed
    }

    /// What a file of this number holds, as `read` understands it; a file that it does not understand is removed.
    pub fn get<T>(&self, number: u128, read: impl FnOnce(&[u8]) -> Option<T>) -> Option<T> {
        let bytes = self.read(number).ok()?;
        let value = read(&bytes);
        if value.is_none() {
            let _ = fs::remove_file(self.path(number));
        }
        value
    }

    /// Whether it is worth while to make a file's bytes.
    pub fn keeps(&self) -> bool {
        !self.broken.load(Ordering::Relaxed)
    }

    /// Keeps a file's bytes.
    pub fn put(&self, number: u128, bytes: &[u8]) {
        let length = bytes.len() as u64;
        if !self.keeps() || length > self.limit {
            return;
        }
        if let Err(error) = self.write(number, bytes) {
            self.broken.store(true, Ordering::Relaxed);
            self.reason.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert(error);
            return;
        }
        let mut held = self.held.lock().unwrap_or_else(PoisonError::into_inner);
        *held += length;
        if *held > self.limit {
            // An eighth less than what may be held, so that this does not happen with each file from now on.
            *held = self.trim(self.limit - self.limit / 8);
        }
    }

    /// The file of a number.
    pub fn path(&self, number: u128) -> PathBuf {
        self.folder.join(format!("{number:032x}.{}", self.ending))
    }

    /// Every file that is ours, when it was last used, and its bytes.
    fn files(&self) -> Vec<(PathBuf, SystemTime, u64)> {
        self.all_with(self.ending).filter(|(path, ..)| is_number(path)).collect()
    }

    /// The files with this ending.
    fn all_with(&self, ending: &'static str) -> impl Iterator<Item = (PathBuf, SystemTime, u64)> + use<> {
        let entries = fs::read_dir(&self.folder).into_iter().flatten().flatten();
        entries.filter_map(move |entry| {
            let path = entry.path();
            let told = entry.metadata().ok().filter(fs::Metadata::is_file)?;
            let used = told.modified().unwrap_or(SystemTime::UNIX_EPOCH);
            (path.extension() == Some(OsStr::new(ending))).then_some((path, used, told.len()))
        })
    }

    fn sweep_temporary(&self) {
        let (now, lead) = (SystemTime::now(), format!(".{}.", self.ending));
        for (path, written, _) in self.all_with(ON_ITS_WAY) {
            let ours = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(&lead));
            if ours && now.duration_since(written).is_ok_and(|age| age > STALE) {
                // Another program may have been quicker.
                let _ = fs::remove_file(path);
            }
        }
    }

    /// Removes what was least recently used until at most `most` bytes are held; how many are.
    fn trim(&self, most: u64) -> u64 {
        let mut files = self.files();
        let mut held: u64 = files.iter().map(|file| file.2).sum();
        if held <= most {
            return held;
        }
        files.sort_by(|a, b| (a.1, &a.0).cmp(&(b.1, &b.0)));
        for (path, _, bytes) in files {
            if held <= most {
                break;
            }
            let _ = fs::remove_file(path);
            held -= bytes;
        }
        held
    }

    /// Writes a whole file.
    fn write(&self, number: u128, bytes: &[u8]) -> io::Result<()> {
        let (prefix, suffix) = (format!(".{}.", self.ending), format!(".{ON_ITS_WAY}"));
        let mut file = tempfile::Builder::new().prefix(&prefix).suffix(&suffix).tempfile_in(&self.folder)?;
        file.write_all(bytes)?;
        file.persist(self.path(number)).map_err(|error| error.error)?;
        Ok(())
    }

    /// Reads a file and marks it as used.
    fn read(&self, number: u128) -> io::Result<Vec<u8>> {
        let path = self.path(number);
        // Some systems let only writers set the time.
        let mut file = File::options().read(true).write(true).open(&path).or_else(|_| File::open(&path))?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes)?;
        // A folder that may only be read still serves.
        let _ = file.set_modified(SystemTime::now());
        Ok(bytes)
    }
}

/// Whether a file's name is one that a kept file has.
fn is_number(path: &Path) -> bool {
    let stem = path.file_stem().and_then(OsStr::to_str).unwrap_or_default();
    stem.len() == 32 && stem.bytes().all(|byte| byte.is_ascii_hexdigit())
}
