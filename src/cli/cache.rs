//! The user's cache folder: chunks that were coded before, one file each.
//!
//! Nothing here can fail a render. A chunk that cannot be read is coded again, one that cannot be written is not kept,
//! and a file that is cut, damaged or not ours is removed. Files are written beside their name and renamed, so that two
//! programs may use the folder at once and a kill at any moment leaves whole chunks and at worst a temporary file, which
//! a later run sweeps away.

use crate::encode::{ChunkName, Store, Unit};
use crate::units::Fnv;
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, SystemTime};

/// What the folder may hold, in MiB, if the user does not say: some ten hours of film.
pub const LIMIT: u64 = 2048;

/// A temporary file older than this belongs to no running program: a chunk is written in much less than a second.
const STALE: Duration = Duration::from_mins(10);

/// The ending of a chunk's file; its stem is the chunk's name.
const ENDING: &str = "chunk";
/// The ending of a file on its way.
const ON_ITS_WAY: &str = "part";

/// The first bytes of a chunk's file: a word and the form's version.
const MAGIC: &[u8; 12] = b"plychunk\x00\x00\x00\x01";
/// Magic, name, units, bytes after the header, and the hash of the rest of the header and of those bytes.
const HEADER: usize = 12 + 16 + 4 + 8 + 16;

/// A folder of chunks.
pub struct Cache {
    folder: PathBuf,
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
    /// Chunks.
    pub files: usize,
    /// Their bytes.
    pub bytes: u64,
}

impl Cache {
    /// The chunks in `folder`, which is made if it is not there, and swept: temporary files that were left behind go,
    /// and chunks least recently used until at most `limit` bytes are held.
    pub fn open(folder: PathBuf, limit: u64) -> Cache {
        let made = fs::create_dir_all(&folder).err();
        let broken = AtomicBool::new(made.is_some());
        let cache = Cache { folder, limit, held: Mutex::new(0), broken, reason: Mutex::new(made) };
        cache.sweep_temporary();
        *cache.held.lock().unwrap_or_else(PoisonError::into_inner) = cache.trim(limit);
        cache
    }

    /// Where it is.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Why chunks are not kept, if they are not.
    pub fn trouble(&self) -> Option<String> {
        let reason = self.reason.lock().unwrap_or_else(PoisonError::into_inner);
        reason.as_ref().map(super::failure::reason)
    }

    /// Removes every chunk.
    pub fn clear(&self) -> Removed {
        let mut removed = Removed::default();
        for (path, _, bytes) in self.chunks() {
            if fs::remove_file(path).is_ok() {
                removed = Removed { files: removed.files + 1, bytes: removed.bytes + bytes };
            }
        }
        *self.held.lock().unwrap_or_else(PoisonError::into_inner) = 0;
        removed
    }

    fn path(&self, name: ChunkName) -> PathBuf {
        self.folder.join(format!("{name}.{ENDING}"))
    }

    /// Every chunk's file, when it was last used, and its bytes.
    fn chunks(&self) -> Vec<(PathBuf, SystemTime, u64)> {
        self.files(ENDING).filter(|(path, ..)| is_chunk(path)).collect()
    }

    /// The files with this ending.
    fn files(&self, ending: &'static str) -> impl Iterator<Item = (PathBuf, SystemTime, u64)> + use<> {
        let entries = fs::read_dir(&self.folder).into_iter().flatten().flatten();
        entries.filter_map(move |entry| {
            let path = entry.path();
            let told = entry.metadata().ok().filter(fs::Metadata::is_file)?;
            let used = told.modified().unwrap_or(SystemTime::UNIX_EPOCH);
            (path.extension() == Some(OsStr::new(ending))).then_some((path, used, told.len()))
        })
    }

    fn sweep_temporary(&self) {
        let now = SystemTime::now();
        for (path, written, _) in self.files(ON_ITS_WAY) {
            let ours = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(".chunk."));
            if ours && now.duration_since(written).is_ok_and(|age| age > STALE) {
                // Another program may have been quicker.
                let _ = fs::remove_file(path);
            }
        }
    }

    /// Removes what was least recently used until at most `most` bytes are held; how many are.
    fn trim(&self, most: u64) -> u64 {
        let mut chunks = self.chunks();
        let mut held: u64 = chunks.iter().map(|chunk| chunk.2).sum();
        if held <= most {
            return held;
        }
        chunks.sort_by(|a, b| (a.1, &a.0).cmp(&(b.1, &b.0)));
        for (path, _, bytes) in chunks {
            if held <= most {
                break;
            }
            let _ = fs::remove_file(path);
            held -= bytes;
        }
        held
    }

    /// Writes a whole file under a chunk's name.
    fn write(&self, name: ChunkName, bytes: &[u8]) -> io::Result<()> {
        let suffix = format!(".{ON_ITS_WAY}");
        let mut file = tempfile::Builder::new().prefix(".chunk.").suffix(&suffix).tempfile_in(&self.folder)?;
        file.write_all(bytes)?;
        file.persist(self.path(name)).map_err(|error| error.error)?;
        Ok(())
    }

    /// Reads a chunk's file and marks it as used.
    fn read(&self, name: ChunkName) -> io::Result<Vec<u8>> {
        let path = self.path(name);
        // Some systems let only writers set the time.
        let mut file = File::options().read(true).write(true).open(&path).or_else(|_| File::open(&path))?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes)?;
        // A folder that may only be read still serves.
        let _ = file.set_modified(SystemTime::now());
        Ok(bytes)
    }
}

impl Store for Cache {
    fn get(&self, name: ChunkName) -> Option<Vec<Unit>> {
        let bytes = self.read(name).ok()?;
        let units = unpack(name, &bytes);
        if units.is_none() {
            let _ = fs::remove_file(self.path(name));
        }
        units
    }

    fn put(&self, name: ChunkName, units: &[Unit]) {
        if self.broken.load(Ordering::Relaxed) {
            return;
        }
        let bytes = pack(name, units);
        let length = bytes.len() as u64;
        if length > self.limit {
            return;
        }
        if let Err(error) = self.write(name, &bytes) {
            self.broken.store(true, Ordering::Relaxed);
            self.reason.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert(error);
            return;
        }
        let mut held = self.held.lock().unwrap_or_else(PoisonError::into_inner);
        *held += length;
        if *held > self.limit {
            // An eighth less than what may be held, so that this does not happen with each chunk from now on.
            *held = self.trim(self.limit - self.limit / 8);
        }
    }
}

/// Whether a file's name is one that a chunk's file has.
fn is_chunk(path: &Path) -> bool {
    let stem = path.file_stem().and_then(OsStr::to_str).unwrap_or_default();
    stem.len() == 32 && stem.bytes().all(|byte| byte.is_ascii_hexdigit())
}

/// A chunk's file: the header, then for each unit its length, twice it and one more if it is a key, and its bytes.
pub fn pack(name: ChunkName, units: &[Unit]) -> Vec<u8> {
    let mut body = Vec::with_capacity(units.iter().map(|unit| unit.data.len() + 4).sum());
    for unit in units {
        let length = u32::try_from(unit.data.len()).expect("a unit is far smaller than 2 GiB");
        assert!(length < 1 << 31, "a unit is far smaller than 2 GiB");
        body.extend((length << 1 | u32::from(unit.key)).to_le_bytes());
        body.extend(&unit.data);
    }
    let mut file = Vec::with_capacity(HEADER + body.len());
    file.extend(MAGIC);
    file.extend(name.0.to_le_bytes());
    file.extend((units.len() as u32).to_le_bytes());
    file.extend((body.len() as u64).to_le_bytes());
    file.extend(checksum(&file, &body).to_le_bytes());
    file.extend(body);
    file
}

/// The units of a chunk's file; `None` if it is not the whole file of this name.
pub fn unpack(name: ChunkName, file: &[u8]) -> Option<Vec<Unit>> {
    let (header, mut body) = file.split_at_checked(HEADER)?;
    let (told, sum) = header.split_at(HEADER - 16);
    let is = |range: std::ops::Range<usize>, what: &[u8]| &told[range] == what;
    let sound = is(0..12, MAGIC)
        && is(12..28, &name.0.to_le_bytes())
        && is(32..40, &(body.len() as u64).to_le_bytes())
        && sum == checksum(told, body).to_le_bytes();
    if !sound {
        return None;
    }
    let mut units = Vec::new();
    while let Some((length, rest)) = body.split_first_chunk() {
        let length = u32::from_le_bytes(*length);
        let (data, rest) = rest.split_at_checked((length >> 1) as usize)?;
        units.push(Unit { data: data.to_vec(), key: length & 1 == 1 });
        body = rest;
    }
    (body.is_empty() && is(28..32, &(units.len() as u32).to_le_bytes())).then_some(units)
}

fn checksum(header: &[u8], body: &[u8]) -> u128 {
    let mut fnv = Fnv::default();
    fnv.bytes(header);
    fnv.bytes(body);
    fnv.value()
}

/// The cache folder of this user: `plyreel` in `XDG_CACHE_HOME` if that is set to an absolute path (XDG Base Directory
/// Specification 0.8), else in the system's usual place. `None` without a home.
pub fn usual_folder() -> Option<PathBuf> {
    let named = |name: &str| std::env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute());
    if let Some(folder) = named("XDG_CACHE_HOME") {
        return Some(folder.join("plyreel"));
    }
    if cfg!(windows) {
        return named("LOCALAPPDATA").map(|folder| folder.join("plyreel").join("cache"));
    }
    let home = named("HOME")?;
    let place = if cfg!(target_os = "macos") { "Library/Caches" } else { ".cache" };
    Some(home.join(place).join("plyreel"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn units(count: u8) -> Vec<Unit> {
        (0..count).map(|i| Unit { data: vec![i; usize::from(i) * 7], key: i == 0 }).collect()
    }

    fn names(cache: &Cache) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(cache.folder())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn what_is_put_is_there() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::open(folder.path().join("a/b"), 1 << 20);
        assert_eq!(cache.get(ChunkName(7)), None);
        cache.put(ChunkName(7), &units(5));
        assert_eq!(cache.get(ChunkName(7)), Some(units(5)));
        assert_eq!(names(&cache), ["00000000000000000000000000000007.chunk"]);
        assert_eq!(cache.clear().files, 1);
        assert_eq!((cache.get(ChunkName(7)), cache.trouble()), (None, None));
    }

    #[test]
    fn a_file_of_another_name_is_removed() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::open(folder.path().to_owned(), 1 << 20);
        fs::write(cache.path(ChunkName(8)), pack(ChunkName(7), &units(3))).unwrap();
        assert_eq!(cache.get(ChunkName(8)), None);
        assert!(names(&cache).is_empty());
    }

    #[test]
    fn the_least_recently_used_go_first_and_strangers_stay() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("letter.txt"), [0; 5000]).unwrap();
        let length = pack(ChunkName(0), &units(9)).len() as u64;
        let cache = Cache::open(folder.path().to_owned(), length * 8);
        for number in 0..8 {
            cache.put(ChunkName(number), &units(9));
            let used = SystemTime::UNIX_EPOCH + Duration::from_secs(1000 + number as u64);
            File::options().write(true).open(cache.path(ChunkName(number))).unwrap().set_modified(used).unwrap();
        }
        assert!(cache.get(ChunkName(0)).is_some(), "read, so used last");
        cache.put(ChunkName(8), &units(9));
        let there: Vec<u128> = (0..9).filter(|&number| cache.path(ChunkName(number)).exists()).collect();
        assert_eq!(there, [0, 3, 4, 5, 6, 7, 8]);
        assert!(folder.path().join("letter.txt").exists());
        drop(Cache::open(folder.path().to_owned(), length * 2));
        assert_eq!(names(&cache).len(), 3);
    }

    #[test]
    fn only_old_temporary_files_are_swept() {
        let folder = tempfile::tempdir().unwrap();
        for name in [".chunk.old.part", ".chunk.new.part", ".other.part"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        for name in [".chunk.old.part", ".other.part"] {
            let file = File::options().write(true).open(folder.path().join(name)).unwrap();
            file.set_modified(SystemTime::UNIX_EPOCH).unwrap();
        }
        let cache = Cache::open(folder.path().to_owned(), 1 << 20);
        assert_eq!(names(&cache), [".chunk.new.part", ".other.part"]);
    }

    #[test]
    fn a_folder_that_cannot_be_made_keeps_nothing() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("file"), "x").unwrap();
        let cache = Cache::open(folder.path().join("file/cache"), 1 << 20);
        cache.put(ChunkName(7), &units(5));
        assert_eq!(cache.get(ChunkName(7)), None);
        assert!(cache.trouble().is_some());
    }

    proptest! {
        #[test]
        fn a_damaged_file_is_no_chunk(at in 0usize..10_000, bit in 0u32..8, cut in 0usize..10_000) {
            let file = pack(ChunkName(7), &units(6));
            prop_assert_eq!(unpack(ChunkName(7), &file), Some(units(6)));
            let mut damaged = file.clone();
            damaged[at % file.len()] ^= 1 << bit;
            prop_assert_eq!(unpack(ChunkName(7), &damaged), None);
            prop_assert_eq!(unpack(ChunkName(7), &file[..cut % file.len()]), None);
            prop_assert_eq!(unpack(ChunkName(7), &[&file[..], &[0]].concat()), None);
        }
    }
}
