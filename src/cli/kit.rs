//! `plyreel kit`: everything that is published beside the film.

use super::args::{Format, Talk};
use super::failure::Failure;
use super::inputs;
use super::load::{self, Loaded};
use super::output::{self, Folder, folder_of};
use super::png_file;
use super::proving::Published;
use super::render::layer_path;
use super::report;
use crate::diag::Code;
use crate::encode::Layer;
use crate::film::{PROFILES, Profile};
use crate::kit::{self, Content, KitFile, Material, Wishes};
use crate::narration::Recording;
use crate::narration::transcript::{self, Transcript};
use crate::source::Source;
use crate::timeline::FilmSettings;
use clap::{Args, ValueHint};
use serde_json::json;
use std::borrow::Cow;
use std::collections::HashSet;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

#[derive(Args, Debug)]
pub struct Kit {
    /// The timeline; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// The folder for the kit, made if it is not there
    #[arg(short, long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub output: PathBuf,
    /// The timed transcript of the narration, for the subtitles: SRT, WebVTT, JSON or text with times
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub words: Option<PathBuf>,
    /// The house rules of the subtitles: broadcast, online, streaming [default: the timeline's `captions`, else online]
    #[arg(long, value_name = "PROFILE", value_parser = profile)]
    pub profile: Option<&'static Profile>,
    /// Write the moves of spoken words with figurines: ♘f3 instead of knight f3
    #[arg(long)]
    pub figurines: bool,
    /// The description's template, a text with fields such as {title} and {chapters}, instead of the series' own
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub template: Option<PathBuf>,
    /// A line for the description's {links}; may be given several times
    #[arg(long = "link", value_name = "TEXT")]
    pub links: Vec<String>,
    /// The finished film, as an editor's project shall name it: its path from the kit's folder, or an address [default:
    /// the timeline's name with .mp4 (an overlay's with .fill.mp4), beside the timeline]
    #[arg(long, value_name = "NAME")]
    pub media: Option<String>,
    /// Replace files that are there already
    #[arg(long)]
    pub force: bool,
    #[command(flatten)]
    pub published: Published,
}

/// Reads a profile's name.
fn profile(name: &str) -> Result<&'static Profile, String> {
    Profile::named(name).ok_or_else(|| {
        let known: Vec<String> = PROFILES.iter().map(|known| format!("{} ({})", known.name, known.about)).collect();
        format!("the profiles are {}", known.join("; "))
    })
}

/// Makes the kit, and writes it only if nothing stands in its way.
pub fn run(arguments: &Kit, talk: &Talk) -> Result<(), Failure> {
    let mut loaded = load::load(&arguments.file, &FilmSettings::default(), false, &arguments.published.proving(false))?;
    let wishes = wishes(arguments, &mut loaded)?;
    let transcript = match &arguments.words {
        Some(path) => Some(spoken(path, &mut loaded)?),
        None => None,
    };
    let material = Material {
        timeline: &loaded.timeline,
        game: &loaded.game,
        findings: &loaded.findings,
        film: &loaded.film,
        transcript: transcript.as_ref(),
        narration: loaded.recording.as_ref().map(Recording::length),
    };
    let (files, of_kit) = if loaded.has_mistakes() { (Vec::new(), Vec::new()) } else { kit::make(&material, &wishes) };
    loaded.diagnostics.extend(of_kit);
    report::before_making(talk, &loaded)?;
    let folder = &arguments.output;
    let paths: Vec<PathBuf> = files.iter().map(|file| folder.join(&file.name)).collect();
    if !arguments.force {
        nothing_there(&paths)?;
    }
    let (words, template) = (arguments.words.as_ref(), arguments.template.as_ref());
    let given = [("the transcript", words), ("the description's template", template)];
    for path in &paths {
        inputs::spare(path, &loaded)?;
        inputs::spare_given(path, &given)?;
    }
    write(&files, &paths)?;
    if talk.format == Format::Json {
        let mut object = report::film_json(&loaded);
        let made = files
            .iter()
            .zip(&paths)
            .map(|(file, path)| json!({ "path": path.to_string_lossy(), "name": file.name, "about": file.about }));
        object["made"] = made.collect();
        return report::print(&report::json_text(&object));
    }
    report::say(talk, &format!("{} files; begin with {}", files.len(), folder.join("index.html").display()));
    let lines: Vec<String> = paths.iter().map(|path| path.display().to_string()).collect();
    report::print(&(lines.join("\n") + "\n"))
}

fn wishes(arguments: &Kit, loaded: &mut Loaded) -> Result<Wishes, Failure> {
    let stem = match arguments.file.file_stem() {
        Some(stem) if arguments.file != Path::new("-") => stem.to_string_lossy().into_owned(),
        _ => "film".to_owned(),
    };
    let template = match &arguments.template {
        Some(path) => Some(Arc::new(Source::new(path, load::read_text(path)?))),
        None => own_template(arguments, loaded),
    };
    let from_kit = |name: &Path| path_from(&arguments.output, &folder_of(&arguments.file).join(name));
    // An overlay's picture is its fill, with the key beside it.
    let layer = Layer::of(&loaded.film)[0];
    let film = layer_path(Path::new(&format!("{stem}.mp4")), layer);
    Ok(Wishes {
        profile: arguments.profile,
        figurines: arguments.figurines,
        template,
        links: arguments.links.clone(),
        media: arguments.media.clone().unwrap_or_else(|| from_kit(&film)),
        narration: loaded.timeline.film.narration.as_ref().map(|name| from_kit(Path::new(&name.value))),
        frames: from_kit(Path::new("frames")),
        ..Wishes::of(&stem)
    })
}

/// The template that the film or its series names; one that cannot be read is a mistake of the timeline.
fn own_template(arguments: &Kit, loaded: &mut Loaded) -> Option<Arc<Source>> {
    let name = loaded.timeline.film.description.clone()?;
    let path = folder_of(&arguments.file).join(&name.value);
    match load::read_text(&path) {
        Ok(text) => Some(Arc::new(Source::new(&path, text))),
        Err(failure) => {
            // It may have been told as a doubt before.
            loaded.diagnostics.retain(|found| found.code != Code::Media || found.primary.span != name.span);
            loaded.diagnostics.push(load::no_template(&name, &failure));
            None
        }
    }
}

/// The transcript, with what is wrong in it.
fn spoken(path: &Path, loaded: &mut Loaded) -> Result<Transcript, Failure> {
    let bytes = fs::read(path).map_err(|error| Failure::read(path, error))?;
    let (transcript, found) = transcript::read(&Source::new(path, transcript::decode(&bytes)));
    loaded.diagnostics.extend(found);
    Ok(transcript)
}

/// Refuses to overwrite, and names what is there.
fn nothing_there(paths: &[PathBuf]) -> Result<(), Failure> {
    let there: Vec<&PathBuf> = paths.iter().filter(|path| path.exists()).collect();
    let Some(first) = there.first() else { return Ok(()) };
    let others = match there.len() {
        1 => String::new(),
        count => format!(" and {} more", count - 1),
    };
    Err(Failure::Usage(format!(
        "`{}`{others} would be overwritten, and nothing was written; --force replaces what is there",
        first.display()
    )))
}

/// Writes all files beside their names, and only when all are whole gives them their names. Each picture is painted when
/// its turn comes, and each file closed when it is whole: a film may have hundreds.
fn write(files: &[KitFile], paths: &[PathBuf]) -> Result<(), Failure> {
    // The inner folders first, for they are taken away in this order should something fail.
    let mut folders: Vec<(&Path, Folder)> = Vec::new();
    let mut whole = Vec::new();
    for (file, path) in files.iter().zip(paths) {
        let place = folder_of(path);
        let at = folders.iter().position(|(known, _)| *known == place);
        if at.is_none() {
            let beside = paths.iter().filter(|other| folder_of(other) == place);
            let names: HashSet<Cow<str>> =
                beside.filter_map(|other| Some(other.file_name()?.to_string_lossy())).collect();
            folders.insert(0, (place, Folder::open(place, |name| names.contains(name))?));
        }
        let folder = &folders[at.unwrap_or(0)].1;
        let mut output = folder.create(&path.file_name().unwrap_or_default().to_string_lossy())?;
        let written = match &file.content {
            Content::Text(text) => output.write_all(text.as_bytes()),
            Content::Picture(picture) => output.write_all(&png_file::encode(&picture.paint(), png_file::Effort::Small)),
        };
        written.map_err(|error| Failure::write(path, error))?;
        whole.push(output.close()?);
    }
    output::keep_all(whole)
}

/// The way from a folder to a file, parted by `/`; on another drive the file's whole path.
fn path_from(folder: &Path, file: &Path) -> String {
    let (folder, file) = (resolved(folder), resolved(file));
    let shared = folder.components().zip(file.components()).take_while(|(a, b)| a == b).count();
    if shared == 0 {
        return format!("file:///{}", file.to_string_lossy().replace('\\', "/").trim_start_matches('/'));
    }
    let up = folder.components().skip(shared).map(|_| "..".into());
    let down = file.components().skip(shared).map(|part| part.as_os_str().to_string_lossy());
    up.chain(down).collect::<Vec<Cow<str>>>().join("/")
}

/// A path from the root with its links followed, as far as it is there already.
fn resolved(path: &Path) -> PathBuf {
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let there = path.ancestors().find_map(|part| Some((part, fs::canonicalize(part).ok()?)));
    match there {
        Some((part, real)) => path.strip_prefix(part).map_or_else(|_| real.clone(), |rest| real.join(rest)),
        None => path,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_named_from_the_kits_folder() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::create_dir_all(at("films/one")).unwrap();
        for (kit, file, way) in [
            ("films/one/kit", "films/one/voice.ogg", "../voice.ogg"),
            ("films/one", "films/one/voice.ogg", "voice.ogg"),
            ("kits/first one", "films/one/../sound/take 2.wav", "../../films/sound/take 2.wav"),
        ] {
            let _ = fs::create_dir_all(at("films/sound"));
            fs::write(at("films/sound/take 2.wav"), "").unwrap();
            assert_eq!(path_from(&at(kit), &at(file)), way);
        }
    }
}
