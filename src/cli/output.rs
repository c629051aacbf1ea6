//! Files that are whole or not there: written beside their name and renamed when done.

use super::failure::Failure;
use crate::encode::Reel;
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use tempfile::{NamedTempFile, TempPath};

/// How the names of files on their way end.
const PART: &str = ".part";

/// A file on its way. Dropped before [`Output::keep`], it leaves nothing behind.
pub struct Output {
    /// As it was asked for.
    path: PathBuf,
    target: Target,
}

enum Target {
    /// A file that will bear the second name.
    File(BufWriter<NamedTempFile>, PathBuf),
    /// A pipe or a device: what stands there is written to, for nothing can take its place.
    Stream(BufWriter<fs::File>),
    Standard(BufWriter<io::Stdout>),
}

/// A file that is whole but has not got its name. Dropped before [`Whole::keep`], it leaves nothing behind.
pub struct Whole {
    /// As it was asked for.
    path: PathBuf,
    /// The file and the name it will bear; none for what is no file.
    written: Option<(TempPath, PathBuf)>,
}

/// A folder for many files, looked through once for what writers left behind who were killed: to look again for every
/// file would take time by the square of their number.
///
/// If it was made for them, it is taken away again when nothing has come of it.
pub struct Folder {
    path: PathBuf,
    made: bool,
}

impl Drop for Folder {
    fn drop(&mut self) {
        if self.made {
            // It stays where something lies in it.
            let _ = fs::remove_dir(&self.path);
        }
    }
}

impl Folder {
    /// Makes the folder if it is not there; `ours` are the names of files that will be written to it.
    pub fn open(path: &Path, ours: impl Fn(&str) -> bool) -> Result<Folder, Failure> {
        let made = !path.is_dir();
        make_folder(path)?;
        sweep(path, ours);
        Ok(Folder { path: path.to_owned(), made })
    }

    /// Opens a file of this name.
    pub fn create(&self, name: &str) -> Result<Output, Failure> {
        let path = self.path.join(name);
        let target = Target::at(&path)?;
        Ok(Output { path, target })
    }
}

impl Output {
    /// Opens `path` for writing; `-` is standard output. The folder must be there. A link is followed, and a pipe or a
    /// device written to as it stands.
    pub fn create(path: &Path) -> Result<Output, Failure> {
        if path == Path::new("-") {
            let target = Target::Standard(BufWriter::with_capacity(1 << 20, io::stdout()));
            return Ok(Output { path: path.to_owned(), target });
        }
        let real = followed(path);
        let own = shortened(&real.file_name().unwrap_or_default().to_string_lossy()).to_owned();
        sweep(folder_of(&real), |name| name == own);
        Ok(Output { path: path.to_owned(), target: Target::at(path)? })
    }

    /// Flushes, and gives the file its name, replacing what bore it.
    pub fn keep(self) -> Result<(), Failure> {
        self.close()?.keep()
    }

    /// The same for one picture of a sequence: the system writes it to the disk in its own time, for to wait for each
    /// takes far longer than to paint it. Should the power fail, the sequence is made again.
    pub fn keep_in_passing(self) -> Result<(), Failure> {
        self.finish(false)?.keep()
    }

    /// Writes all to the disk and closes the file, which has not got its name yet.
    pub fn close(self) -> Result<Whole, Failure> {
        self.finish(true)
    }

    fn finish(self, on_disk: bool) -> Result<Whole, Failure> {
        let Output { path, target } = self;
        let failed = |error| Failure::write(&path, error);
        let written = match target {
            Target::Standard(mut out) => {
                out.flush().map_err(failed)?;
                None
            }
            Target::Stream(mut out) => {
                out.flush().map_err(failed)?;
                None
            }
            Target::File(out, real) => {
                let file = out.into_inner().map_err(|error| failed(error.into_error()))?;
                if on_disk {
                    file.as_file().sync_all().map_err(failed)?;
                }
                Some((file.into_temp_path(), real))
            }
        };
        Ok(Whole { path, written })
    }
}

impl Whole {
    /// Gives the file its name, replacing what bore it.
    pub fn keep(self) -> Result<(), Failure> {
        let Some((written, real)) = self.written else { return Ok(()) };
        written.persist(real).map_err(|error| Failure::write(&self.path, error.error))
    }

    /// The same, and what it replaced under another name, which is gone when dropped.
    fn keep_but_set_aside(self, real: &Path) -> Result<Option<TempPath>, Failure> {
        let before = set_aside(real).map_err(|error| Failure::write(&self.path, error))?;
        match self.keep() {
            Ok(()) => Ok(before),
            Err(failure) => {
                // What was linked is still there under its own name, and dropping the other takes that away.
                if !real.exists() {
                    put_back(real, before);
                }
                Err(failure)
            }
        }
    }
}

impl Target {
    /// What is written to for this path.
    fn at(path: &Path) -> Result<Target, Failure> {
        let failed = |error| Failure::write(path, error);
        match fs::metadata(path) {
            // Said before the work, for a file cannot take a folder's name.
            Ok(there) if there.is_dir() => Err(failed(io::ErrorKind::IsADirectory.into())),
            Ok(there) if !there.is_file() => {
                let stream = fs::File::options().write(true).open(path).map_err(failed)?;
                Ok(Target::Stream(BufWriter::with_capacity(1 << 20, stream)))
            }
            _ => {
                let real = followed(path);
                Ok(Target::File(begun(&real)?, real))
            }
        }
    }
}

/// Where a link leads, also one to a file that is not there yet; any other path as it is. A film that is to lie on
/// another disk is written there, and the link stays.
fn followed(path: &Path) -> PathBuf {
    // As many links in a row as Linux follows (path_resolution(7)).
    const MOST_LINKS: usize = 40;
    let mut path = path.to_owned();
    for _ in 0..MOST_LINKS {
        let Ok(to) = fs::read_link(&path) else { break };
        path = folder_of(&path).join(to);
    }
    path
}

/// A file beside `path`, locked while it is written to.
fn begun(path: &Path) -> Result<BufWriter<NamedTempFile>, Failure> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let file = tempfile::Builder::new()
        .prefix(&format!(".{}.", shortened(&name)))
        .suffix(PART)
        .permissions_of_new_files()
        .tempfile_in(folder_of(path))
        .map_err(|error| Failure::write(path, error))?;
    // The lock says that somebody is still writing; where a file system knows none, nothing is ever swept.
    let _ = file.as_file().try_lock();
    Ok(BufWriter::with_capacity(1 << 20, file))
}

impl Write for Output {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match &mut self.target {
            Target::File(out, _) => out.write(bytes),
            Target::Stream(out) => out.write(bytes),
            Target::Standard(out) => out.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match &mut self.target {
            Target::File(out, _) => out.flush(),
            Target::Stream(out) => out.flush(),
            Target::Standard(out) => out.flush(),
        }
    }
}

/// Makes a folder for several files, if it is not there. A name that stands for standard output is none.
pub fn make_folder(path: &Path) -> Result<(), Failure> {
    if path == Path::new("-") {
        let message = "several files go into a folder, not to standard output; `./-` is a folder of that name";
        return Err(Failure::Usage(message.to_owned()));
    }
    fs::create_dir_all(path).map_err(|error| Failure::write(path, error))
}

/// Gives several files their names, or none: if one cannot have its own, what the others have replaced is put back.
pub fn keep_all(files: impl IntoIterator<Item = Whole>) -> Result<(), Failure> {
    let mut kept: Vec<(PathBuf, Option<TempPath>)> = Vec::new();
    for file in files {
        let Some((_, real)) = &file.written else { continue };
        let real = real.clone();
        match file.keep_but_set_aside(&real) {
            Ok(before) => kept.push((real, before)),
            Err(failure) => {
                for (path, before) in kept {
                    if before.is_none() {
                        // The failure that is told is the first one.
                        let _ = fs::remove_file(&path);
                    }
                    put_back(&path, before);
                }
                return Err(failure);
            }
        }
    }
    Ok(())
}

/// A second name for the file at `path`, if there is one, under which it outlives being replaced.
fn set_aside(path: &Path) -> io::Result<Option<TempPath>> {
    if !path.is_file() {
        return Ok(None);
    }
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let mut named = tempfile::Builder::new();
    let aside = named.prefix(&format!(".{}.", shortened(&name))).suffix(PART).make_in(folder_of(path), |aside| {
        // With a link there is no moment without the file; a file system without links has the short one.
        fs::hard_link(path, aside).or_else(|error| match error.kind() {
            io::ErrorKind::AlreadyExists => Err(error),
            _ => fs::rename(path, aside),
        })
    })?;
    Ok(Some(aside.into_temp_path()))
}

fn put_back(path: &Path, before: Option<TempPath>) {
    if let Some(before) = before {
        // Where not even this can be done, the file stays under the name it has.
        let _ = before.persist(path).map_err(|error| error.path.keep());
    }
}

/// Removes what writers of the same files left behind who were killed: each writer holds a lock on its own.
fn sweep(folder: &Path, ours: impl Fn(&str) -> bool) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        // The letters that the library puts between are six.
        let is_ours = name.strip_prefix('.').and_then(|rest| rest.strip_suffix(PART)).is_some_and(|rest| {
            rest.rsplit_once('.').is_some_and(|(name, letters)| {
                letters.len() == 6 && letters.bytes().all(|b| b.is_ascii_alphanumeric()) && ours(name)
            })
        });
        if is_ours && fs::File::options().write(true).open(entry.path()).is_ok_and(|file| file.try_lock().is_ok()) {
            // Another program may have been quicker.
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// A reel for a film that goes to `path`: what does not fit into memory goes to a nameless file in the same folder, where
/// the film itself must fit too.
pub fn reel(path: &Path) -> Reel {
    let folder = if path == Path::new("-") { std::env::temp_dir() } else { folder_of(&followed(path)).to_owned() };
    Reel::with_file(Box::new(move || tempfile::tempfile_in(folder)))
}

/// The folder a path lies in; `.` for a bare name.
pub fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Keeps the temporary name inside the 255 bytes a file name may have, at a character's end.
fn shortened(name: &str) -> &str {
    &name[..name.floor_char_boundary(200)]
}

/// Temporary files are made private by default; the kept file should have the permissions of any new file.
trait PermissionsOfNewFiles {
    fn permissions_of_new_files(&mut self) -> &mut Self;
}

impl PermissionsOfNewFiles for tempfile::Builder<'_, '_> {
    #[cfg(unix)]
    fn permissions_of_new_files(&mut self) -> &mut Self {
        use std::os::unix::fs::PermissionsExt;
        // The umask is applied to this mode when the file is opened.
        self.permissions(fs::Permissions::from_mode(0o666))
    }

    #[cfg(not(unix))]
    fn permissions_of_new_files(&mut self) -> &mut Self {
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(path: &Path, text: &str) -> Output {
        let mut output = Output::create(path).unwrap();
        output.write_all(text.as_bytes()).unwrap();
        output
    }

    fn names_in(folder: &Path) -> Vec<String> {
        let names = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
        let mut names: Vec<String> = names.collect();
        names.sort();
        names
    }

    #[test]
    fn what_was_replaced_is_put_back_if_another_file_cannot_have_its_name() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::write(at("old"), "the old one").unwrap();
        let outputs = ["new", "old", "barred", "later"].map(|name| written(&at(name), "another"));
        let whole = outputs.map(|output| output.close().unwrap());
        // A folder takes the third one's name while the files are written.
        fs::create_dir(at("barred")).unwrap();
        assert!(keep_all(whole).is_err());
        assert_eq!(names_in(folder.path()), ["barred", "old"]);
        assert_eq!(fs::read_to_string(at("old")).unwrap(), "the old one");

        fs::remove_dir(at("barred")).unwrap();
        let outputs = ["new", "old"].map(|name| written(&at(name), "another"));
        keep_all(outputs.map(|output| output.close().unwrap())).unwrap();
        assert_eq!(names_in(folder.path()), ["new", "old"]);
        assert_eq!(fs::read_to_string(at("old")).unwrap(), "another");
    }

    #[test]
    fn a_folders_name_is_refused_before_the_work() {
        let folder = tempfile::tempdir().unwrap();
        assert!(matches!(Output::create(folder.path()), Err(Failure::Write { .. })));
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_followed_also_to_a_file_that_is_not_there_yet() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::create_dir(at("disk")).unwrap();
        std::os::unix::fs::symlink("disk/second", at("first")).unwrap();
        std::os::unix::fs::symlink("real", at("disk/second")).unwrap();
        for text in ["one", "two"] {
            written(&at("first"), text).keep().unwrap();
            assert_eq!(fs::read_to_string(at("disk/real")).unwrap(), text);
            assert_eq!(names_in(folder.path()), ["disk", "first"]);
            assert_eq!(names_in(&at("disk")), ["real", "second"]);
        }
    }
}
