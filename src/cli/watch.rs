//! `plyreel clip --watch`: the film made again whenever something it is made of is saved.
//!
//! Files are looked at, not waited for: five times a second their time and size, which works on every system, over
//! every network and with every editor's way of saving, and costs nothing that could be measured.

use super::args::{Clip, Talk};
use super::cache::Cache;
use super::clip::{load_all, make};
use super::failure::Failure;
use super::inputs::{self, Input, NARRATION};
use super::load::Loaded;
use super::report;
use super::signal;
use crate::timeline::{Cue, Scene};
use crate::units::Fnv;
use std::fs;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant, SystemTime};

/// From one look to the next.
const PAUSE: Duration = Duration::from_millis(200);

/// What a file looked like, or a folder with its files; `None` if it is not there.
type Look = Option<(SystemTime, u64, u128)>;

/// Makes the films, waits for a change, and so on until Ctrl-C.
pub fn run(arguments: &Clip, cache: Option<&Cache>, talk: &Talk) -> Result<(), Failure> {
    if arguments.files.iter().any(|file| file == Path::new("-")) {
        return Err(Failure::Usage("--watch needs a file; standard input cannot be read again".to_owned()));
    }
    if arguments.output.as_deref() == Some(Path::new("-")) {
        return Err(Failure::Usage("--watch needs a place for the film; standard output has no end then".to_owned()));
    }
    signal::listen();
    let mut before: Option<Vec<Loaded>> = None;
    let mut files = arguments.files.clone();
    let mut changed: Vec<PathBuf> = Vec::new();
    while !signal::stopped() {
        let began = Instant::now();
        // Looked at before they are read, so that a change while the film is made is not missed.
        let mut looks = look(&files);
        let made_before = before.is_some();
        match load_all(arguments) {
            Ok(films) => {
                if let Some(before) = &before {
                    report::say(talk, &format!("changed: {}", what_changed(before, &films, &changed)));
                }
                let all = watched(arguments, &films);
                (looks, files) = (look_at_new(&all, &files, &looks), all);
                tell(make(arguments, &films, cache, began, talk), made_before)?;
                before = Some(films);
            }
            Err(failure) => tell(Err(failure), made_before)?,
        }
        report::say(talk, "waiting for a change; Ctrl-C ends");
        let Some(now) = wait(&files, &arguments.files, &looks) else { break };
        changed =
            files.iter().zip(looks.iter().zip(now)).filter(|(_, (a, b))| **a != *b).map(|x| x.0.clone()).collect();
    }
    Ok(())
}

/// Says what went wrong and goes on, but for what a change of a file cannot mend. What is asked for and was there before,
/// such as a scene's name, the next change may bring back.
fn tell(result: Result<(), Failure>, made_before: bool) -> Result<(), Failure> {
    match result {
        Err(Failure::Closed) => Err(Failure::Closed),
        Err(failure @ Failure::Usage(_)) if !made_before => Err(failure),
        Err(Failure::Mistakes | Failure::Stopped) | Ok(()) => Ok(()),
        Err(failure) => {
            eprintln!("plyreel: {failure}");
            Ok(())
        }
    }
}

/// The timelines and all files and folders they name.
fn watched(arguments: &Clip, films: &[Loaded]) -> Vec<PathBuf> {
    let mut files = arguments.files.clone();
    for (file, loaded) in arguments.files.iter().zip(films) {
        for input in inputs::named(&loaded.timeline, loaded.theme_file.as_deref()) {
            let path = super::output::folder_of(file).join(input.name);
            if !files.contains(&path) {
                files.push(path);
            }
        }
    }
    files
}

fn look(files: &[PathBuf]) -> Vec<Look> {
    files.iter().map(|file| look_at(file, true)).collect()
}

/// The same where some files were looked at before: those keep that look, for they may have been saved again while they
/// were read.
fn look_at_new(files: &[PathBuf], known: &[PathBuf], looks: &[Look]) -> Vec<Look> {
    let seen = |file: &PathBuf| known.iter().position(|known| known == file).map(|at| looks[at]);
    files.iter().map(|file| seen(file).unwrap_or_else(|| look_at(file, true))).collect()
}

/// A file's time and size. A folder looks like the names, times and sizes of what lies in it: its own time does not
/// change when a file in it is written over.
fn look_at(path: &Path, with_files: bool) -> Look {
    let told = fs::metadata(path).ok()?;
    let mut hash = Fnv::default();
    if told.is_dir() && with_files {
        let mut names: Vec<PathBuf> = fs::read_dir(path).ok()?.flatten().map(|entry| entry.path()).collect();
        names.sort();
        for name in names {
            hash.bytes(format!("{} {:?}\n", name.display(), look_at(&name, false)).as_bytes());
        }
    }
    Some((told.modified().ok()?, told.len(), hash.value()))
}

/// Waits until the files look different and a moment later still the same, the timelines among them being there; what
/// they look like then. `None` if a stop was asked for.
fn wait(files: &[PathBuf], timelines: &[PathBuf], before: &[Look]) -> Option<Vec<Look>> {
    let mut last = before.to_vec();
    while !signal::stopped() {
        let now = look(files);
        let there = now[..timelines.len()].iter().all(Option::is_some);
        if now != before && now == last && there {
            return Some(now);
        }
        last = now;
        thread::sleep(PAUSE);
    }
    None
}

/// What is different, in the author's words.
fn what_changed(before: &[Loaded], after: &[Loaded], files: &[PathBuf]) -> String {
    let mut said = Vec::new();
    for (before, after) in before.iter().zip(after) {
        let (old, new) = (&before.timeline, &after.timeline);
        if old.film != new.film {
            said.push("the film's settings".to_owned());
        }
        said.extend(changed_scenes(&old.scenes, &new.scenes));
        let saved = |input: &Input| files.iter().any(|file| file.ends_with(input.name));
        said.extend(
            inputs::named(new, after.theme_file.as_deref())
                .into_iter()
                .filter(saved)
                .map(|Input { what, name }| if what == NARRATION { what.to_owned() } else { format!("`{name}`") }),
        );
    }
    if said.is_empty() { "nothing that is shown".to_owned() } else { said.join("; ") }
}

/// What is left of two lists when their common beginning and end are taken away.
fn differing<'a, T: PartialEq>(mut old: &'a [T], mut new: &'a [T]) -> (&'a [T], &'a [T]) {
    while let ([a, x @ ..], [b, y @ ..]) = (old, new)
        && a == b
    {
        (old, new) = (x, y);
    }
    while let ([x @ .., a], [y @ .., b]) = (old, new)
        && a == b
    {
        (old, new) = (x, y);
    }
    (old, new)
}

fn changed_scenes(old: &[Scene], new: &[Scene]) -> Vec<String> {
    let name = |scene: &Scene| match &scene.name {
        Some(name) => format!("the scene `{}`", name.value),
        None => "a scene without a name".to_owned(),
    };
    let (old, new) = differing(old, new);
    if old.len() != new.len() {
        let gone = old.iter().filter(|scene| !new.contains(scene) && !new.iter().any(|other| other.name == scene.name));
        let come = new.iter().filter(|scene| !old.contains(scene));
        let come = come.map(|scene| match old.iter().find(|other| other.name == scene.name) {
            Some(before) => format!("{}: {}", name(scene), changed_cues(&before.cues, &scene.cues)),
            None => format!("{} is new", name(scene)),
        });
        return gone.map(|scene| format!("{} is gone", name(scene))).chain(come).collect();
    }
    let pairs = old.iter().zip(new).filter(|(old, new)| old != new);
    pairs.map(|(old, new)| format!("{}: {}", name(new), changed_cues(&old.cues, &new.cues))).collect()
}

fn changed_cues(old: &[Cue], new: &[Cue]) -> String {
    let (old, new) = differing(old, new);
    let cues = |count: usize| if count == 1 { "1 cue".to_owned() } else { format!("{count} cues") };
    match (old.len(), new.len()) {
        (0, 0) => "its heading".to_owned(),
        (0, more) => format!("{} more", cues(more)),
        (less, 0) => format!("{} less", cues(less)),
        (_, some) => cues(some),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Source;
    use crate::timeline;

    #[test]
    fn what_is_saved_while_the_film_is_first_read_is_seen() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::write(at("film.toml"), "one").unwrap();
        fs::write(at("series.toml"), "").unwrap();
        let timelines = [at("film.toml")];
        let before = look(&timelines);
        fs::write(at("film.toml"), "the second").unwrap();
        // Only now it is known that the film names another file.
        let all = [at("film.toml"), at("series.toml")];
        let looks = look_at_new(&all, &timelines, &before);
        assert_eq!(looks, [before[0], look_at(&all[1], true)]);
        assert_ne!(looks, look(&all));
    }

    fn scenes(text: &str) -> Vec<Scene> {
        timeline::parse(&Source::new("t.toml", text)).0.scenes
    }

    #[test]
    fn what_changed_is_told_by_scene_and_cue() {
        let old = "[[scene]]\nname = \"One\"\ncues = [{ at = 1, play = \"e4\" }, { at = 2, text = \"So\" }]\n\
                   [[scene]]\nname = \"Two\"\ncues = []\n";
        let told = |new: &str| changed_scenes(&scenes(old), &scenes(new)).join("; ");
        assert_eq!(told(&format!("# a comment\n{old}")), "");
        assert_eq!(told(&old.replace("So", "Thus")), "the scene `One`: 1 cue");
        assert_eq!(told(&old.replace("}]", "}, { at = 3, text = \"\" }]")), "the scene `One`: 1 cue more");
        assert_eq!(told(&old.replace("cues = []", "task = \"Win\"")), "the scene `Two`: its heading");
        assert_eq!(told(&format!("{old}[[scene]]\nname = \"Three\"\n")), "the scene `Three` is new");
        assert_eq!(told(old.split("[[scene]]\nname = \"Two\"").next().unwrap()), "the scene `Two` is gone");
    }
}
