//! Chunks that were coded before, in the user's cache folder.

use super::kept::{Kept, Removed};
use crate::encode::{ChunkName, Store, Unit};
use crate::units::Fnv;
use std::io::{self, Read, Write};
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

/// A chunk's file, in memory.
pub fn pack(name: ChunkName, units: &[Unit]) -> Vec<u8> {
    let length: usize = units.iter().map(|unit| unit.data.len() + 4).sum();
    let mut file = Vec::with_capacity(HEADER + length);
    let each = |take: &mut dyn FnMut(&[u8], bool) -> io::Result<()>| {
        units.iter().try_for_each(|unit| take(&unit.data, unit.key))
    };
    write(name, units.len(), length as u64, &each, &mut file).expect("nothing fails in memory");
    file
}

/// The units of a chunk's file; `None` if it is not the whole file of this name.
pub fn unpack(name: ChunkName, file: &[u8]) -> Option<Vec<Unit>> {
    let mut units = Vec::new();
    let taken = read(name, &mut &file[..], &mut |unit| {
        units.push(unit);
        Ok(())
    });
    taken.is_ok().then_some(units)
}

/// Gives each unit's bytes, and whether it is a key, to the function.
pub type EachUnit<'a> = dyn Fn(&mut dyn FnMut(&[u8], bool) -> io::Result<()>) -> io::Result<()> + 'a;

/// Writes a chunk's file: the header, then for each unit its length, twice it and one more if it is a key, and its bytes.
/// `length` is that of all units with four bytes more for each. The units are asked for twice, since their hash comes
/// first: however many there are, none is held here.
pub fn write(name: ChunkName, count: usize, length: u64, units: &EachUnit, out: &mut dyn Write) -> io::Result<()> {
    let mut header = Vec::with_capacity(HEADER);
    header.extend(MAGIC);
    header.extend(name.0.to_le_bytes());
    header.extend((count as u32).to_le_bytes());
    header.extend(length.to_le_bytes());
    let mut sum = Fnv::default();
    sum.bytes(&header);
    let head = |data: &[u8], key: bool| {
        let length = u32::try_from(data.len()).expect("a unit is far smaller than 2 GiB");
        assert!(length < 1 << 31, "a unit is far smaller than 2 GiB");
        (length << 1 | u32::from(key)).to_le_bytes()
    };
    units(&mut |data, key| {
        sum.bytes(&head(data, key));
        sum.bytes(data);
        Ok(())
    })?;
    header.extend(sum.value().to_le_bytes());
    out.write_all(&header)?;
    units(&mut |data, key| {
        out.write_all(&head(data, key))?;
        out.write_all(data)
    })
}

/// Reads a chunk's file unit by unit. Only at its end it is known whether it was the whole file of this name and sound:
/// before that, nothing may be made of the units. Damage is [`io::ErrorKind::InvalidData`].
pub fn read(name: ChunkName, file: &mut dyn Read, take: &mut dyn FnMut(Unit) -> io::Result<()>) -> io::Result<()> {
    let damaged = || io::Error::from(io::ErrorKind::InvalidData);
    let cut = |error: io::Error| if error.kind() == io::ErrorKind::UnexpectedEof { damaged() } else { error };
    let mut header = [0; HEADER];
    file.read_exact(&mut header).map_err(cut)?;
    let (told, sum) = header.split_at(HEADER - 16);
    let (count, length) = (told[28..32].try_into(), told[32..40].try_into());
    let (count, mut left) = (u32::from_le_bytes(count.expect("four")), u64::from_le_bytes(length.expect("eight")));
    if &told[..12] != MAGIC || told[12..28] != name.0.to_le_bytes() {
        return Err(damaged());
    }
    let mut fnv = Fnv::default();
    fnv.bytes(told);
    for _ in 0..count {
        let mut head = [0; 4];
        file.read_exact(&mut head).map_err(cut)?;
        let length = u32::from_le_bytes(head);
        left = left.checked_sub(4 + u64::from(length >> 1)).ok_or_else(damaged)?;
        // Taken as it comes: a damaged length asks for no memory.
        let mut data = Vec::new();
        Read::take(&mut *file, u64::from(length >> 1)).read_to_end(&mut data)?;
        if data.len() as u64 != u64::from(length >> 1) {
            return Err(damaged());
        }
        fnv.bytes(&head);
        fnv.bytes(&data);
        take(Unit { data, key: length & 1 == 1 })?;
    }
    let is_over = left == 0 && file.read(&mut [0])? == 0;
    if is_over && sum == fnv.value().to_le_bytes() { Ok(()) } else { Err(damaged()) }
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
