//! Chunks that were coded before, in the user's cache folder.

use super::kept::{Kept, Removed};
use crate::encode::{ChunkName, Store, Unit};
use crate::units::Fnv;
use std::path::{Path, PathBuf};

/// What the folder may hold, in MiB, if the user does not say: some ten hours of film.
pub const LIMIT: u64 = 2048;

/// The ending of a chunk's file; its stem is the chunk's name.
const ENDING: &str = "chunk";

/// The first bytes of a chunk's file: a word and the form's version.
const MAGIC: &[u8; 12] = b"plychunk\x00\x00\x00\x01";
/// Magic, name, units, bytes after the header, and the hash of the rest of the header and of those bytes.
const HEADER: usize = 12 + 16 + 4 + 8 + 16;

/// A folder of chunks.
pub struct Cache {
    kept: Kept,
}

impl Cache {
    /// The chunks in `folder`, of which at most `limit` bytes are held.
    pub fn open(folder: PathBuf, limit: u64) -> Cache {
        Cache { kept: Kept::open(folder, ENDING, limit) }
    }

    /// Where it is.
    pub fn folder(&self) -> &Path {
        self.kept.folder()
    }

    /// Why chunks are not kept, if they are not.
    pub fn trouble(&self) -> Option<String> {
        self.kept.trouble()
    }

    /// Removes every chunk.
    pub fn clear(&self) -> Removed {
        self.kept.clear()
    }

    #[cfg(test)]
    fn path(&self, name: ChunkName) -> PathBuf {
        self.kept.path(name.0)
    }
}

impl Store for Cache {
    fn get(&self, name: ChunkName) -> Option<Vec<Unit>> {
        self.kept.get(name.0, |bytes| unpack(name, bytes))
    }

    fn put(&self, name: ChunkName, units: &[Unit]) {
        if self.kept.keeps() {
            self.kept.put(name.0, &pack(name, units));
        }
    }
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
    use std::fs::{self, File};
    use std::time::{Duration, SystemTime};

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
