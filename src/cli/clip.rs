//! `plyreel clip`: the film as AV1 with the narration; several films; a part of one.

use super::args::{Clip, Format, Share, Talk};
use super::cache::Cache;
use super::failure::Failure;
use super::inputs;
use super::load::{self, Loaded};
use super::options;
use super::output::{self, Output};
use super::part_file::{self, Label};
use super::render::{self, Made, Order};
use super::report;
use super::signal;
use super::watch;
use crate::encode::{Coded, Layer, Layered, Work};
use crate::mux::Container;
use crate::units::FrameIndex;
use serde_json::json;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

/// Makes what was asked for, once or again and again.
pub fn run(arguments: &Clip, talk: &Talk) -> Result<(), Failure> {
    let cache = render::open_cache(&arguments.caching, talk);
    let cache = cache.as_ref();
    match arguments.chunk {
        _ if arguments.files.is_empty() => Ok(()),
        Some(share) => make_part(arguments, share, cache, talk),
        None if arguments.watch => watch::run(arguments, cache, talk),
        None => {
            let began = Instant::now();
            make(arguments, &load_all(arguments)?, cache, began, talk)
        }
    }
}

/// Reads all the timelines.
pub fn load_all(arguments: &Clip) -> Result<Vec<Loaded>, Failure> {
    let wish = &arguments.wish;
    let overrides = options::settings(&wish.overrides)?;
    let proving = arguments.published.proving(arguments.caching.no_cache);
    let one = |file: &PathBuf| {
        let mut loaded = load::load(file, &overrides, wish.draft, &proving)?;
        loaded.look_for_flashes();
        if arguments.strict {
            loaded.be_strict();
        }
        Ok(loaded)
    };
    arguments.files.iter().map(one).collect()
}

/// Makes the films, or a part of each, and says where they are.
pub fn make(
    arguments: &Clip,
    films: &[Loaded],
    cache: Option<&Cache>,
    began: Instant,
    talk: &Talk,
) -> Result<(), Failure> {
    let places = destinations(&arguments.files, arguments.output.as_deref())?;
    report::before_making_all(talk, films)?;
    let order = |(loaded, (path, container)): (_, (PathBuf, Container))| {
        Order::of(loaded, &options::frames(loaded, &arguments.wish.part)?, &path, container, arguments.levels)
    };
    let orders = films.iter().zip(places).map(order).collect::<Result<Vec<_>, Failure>>()?;
    let orders: Vec<Order> = orders.into_iter().flatten().collect();
    let made = render::films(&orders, render::settings(&arguments.wish, arguments.jobs), cache, talk)?;
    announce(talk, &orders, &made, began)
}

/// Where to write and in which container. Several films go into a folder, or each beside its timeline.
pub fn destinations(files: &[PathBuf], output: Option<&Path>) -> Result<Vec<(PathBuf, Container)>, Failure> {
    if let [file] = files {
        let path = match output {
            Some(folder) if folder.is_dir() => folder.join(film_name(file)),
            Some(path) => path.to_owned(),
            None => file.with_file_name(film_name(file)),
        };
        return Ok(vec![(path.clone(), container(&path)?)]);
    }
    if let Some(folder) = output {
        if folder == Path::new("-") || folder.extension().is_some() && !folder.is_dir() {
            let message = format!("several films go into a folder, and `{}` is none", folder.display());
            return Err(Failure::Usage(message));
        }
        fs::create_dir_all(folder).map_err(|error| Failure::write(folder, error))?;
    }
    let mut places: Vec<(PathBuf, Container)> = Vec::new();
    for file in files {
        let path = output.map_or_else(|| file.with_file_name(film_name(file)), |folder| folder.join(film_name(file)));
        if places.iter().any(|(other, _)| *other == path) {
            let message = format!("two films would be written to `{}`; make them one by one", path.display());
            return Err(Failure::Usage(message));
        }
        places.push((path, Container::Mp4));
    }
    Ok(places)
}

/// The timeline's name with the film's ending.
fn film_name(file: &Path) -> PathBuf {
    let name = if file == Path::new("-") { Path::new("film") } else { file };
    PathBuf::from(name.file_name().unwrap_or_default()).with_extension("mp4")
}

fn container(path: &Path) -> Result<Container, Failure> {
    if path == Path::new("-") {
        return Ok(Container::Matroska);
    }
    Container::from_path(path).map_err(|error| Failure::Usage(error.to_string()))
}

fn announce(talk: &Talk, orders: &[Order], made: &[Made], began: Instant) -> Result<(), Failure> {
    let seconds = began.elapsed().as_secs_f64();
    let mut objects = Vec::new();
    let mut paths = String::new();
    for (Order { loaded, path, layer, .. }, made) in orders.iter().zip(made) {
        if path == Path::new("-") {
            continue;
        }
        if *layer == Layer::Key {
            // It belongs to the fill before it.
            paths.extend([&*path.to_string_lossy(), "\n"]);
            if let Some(object) = objects.last_mut() {
                let object: &mut serde_json::Value = object;
                object["made"]["key_path"] = json!(path.to_string_lossy());
                for (name, more) in [("chunks", made.chunks), ("coded_chunks", made.coded)] {
                    let before = object["made"][name].as_u64().unwrap_or_default();
                    object["made"][name] = json!(before + more as u64);
                }
            }
            continue;
        }
        let mut object = report::film_json(loaded);
        object["made"] = json!({
            "path": path.to_string_lossy(),
            "frames": made.frames,
            "took": seconds,
            "chunks": made.chunks,
            "coded_chunks": made.coded,
        });
        objects.push(object);
        paths.extend([&*path.to_string_lossy(), "\n"]);
        let length = loaded.film.rate().start_of(FrameIndex(made.frames as u64));
        if talk.format != Format::Json {
            let what = if orders.len() == 1 { String::new() } else { format!("{}: ", path.display()) };
            report::say(talk, &format!("{what}{length} of film, {} frames, made in {seconds:.1} s", made.frames));
        }
        if talk.verbose {
            report::say(talk, &format!("{} of {} chunks coded, the others kept from before", made.coded, made.chunks));
        }
    }
    if objects.is_empty() {
        return Ok(());
    }
    report::print(&if talk.format == Format::Json { report::json_text(&report::films_json(objects)) } else { paths })
}

/// Makes one part of a film's pictures, for `join`.
fn make_part(arguments: &Clip, share: Share, cache: Option<&Cache>, talk: &Talk) -> Result<(), Failure> {
    let began = Instant::now();
    let [file] = &arguments.files[..] else {
        return Err(Failure::Usage("--chunk makes a part of one film; give one FILE".to_owned()));
    };
    if arguments.levels.loudness.is_some() {
        let message = "--chunk makes a part of the pictures, without the narration; give --loudness to `plyreel join`";
        return Err(Failure::Usage(message.to_owned()));
    }
    let path = part_path(file, arguments.output.as_deref(), share)?;
    let films = load_all(arguments)?;
    report::before_making_all(talk, &films)?;
    inputs::spare(&path, &films[0])?;
    let film = &films[0].film;
    let settings = render::settings(&arguments.wish, arguments.jobs);
    render::make_ready(settings);
    let frames = options::frames(&films[0], &arguments.wish.part)?;
    let pictures: Vec<Layered> = Layer::of(film).iter().map(|&layer| Layered::new(film, layer)).collect();
    let works = pictures.iter().map(|of| Work::new(of, frames.clone(), settings)).collect::<Result<Vec<_>, _>>()?;
    // The layers of a film are in the same chunks.
    let label = Label::new(share, &works[0], &arguments.wish);
    let works: Vec<Work> = works.into_iter().map(|work| work.only(label.chunks())).collect();
    // Listened for first, so that no moment is left in which a stop would leave the output's beginning behind.
    signal::listen();
    let mut output = Output::create(&path)?;

    let coded: Vec<Mutex<Option<Coded>>> = works.iter().map(|_| Mutex::new(None)).collect();
    let finished = |number: usize, whole: Coded| {
        *coded[number].lock().unwrap_or_else(PoisonError::into_inner) = Some(whole);
        Ok(())
    };
    render::code(&works, settings.workers, cache, talk, &|_| output::reel(&path), &finished)?;
    let mut made = Made { frames: 0, chunks: 0, coded: 0 };
    let mut reels = Vec::new();
    for layer in coded {
        let layer = layer.into_inner().unwrap_or_else(PoisonError::into_inner).expect("the work is finished");
        made = Made { frames: layer.reel.len(), chunks: made.chunks + layer.chunks, coded: made.coded + layer.coded };
        reels.push(layer.reel);
    }
    part_file::write(&label, &reels, &mut output).map_err(|error| Failure::write(&path, error))?;
    output.keep()?;
    if path == Path::new("-") {
        return Ok(());
    }

    let seconds = began.elapsed().as_secs_f64();
    let Share { part, parts } = share;
    if talk.format == Format::Json {
        let mut object = report::film_json(&films[0]);
        object["made"] = json!({
            "path": path.to_string_lossy(),
            "part": part,
            "parts": parts,
            "frames": made.frames,
            "took": seconds,
            "chunks": made.chunks,
            "coded_chunks": made.coded,
        });
        return report::print(&report::json_text(&object));
    }
    report::say(talk, &format!("part {part} of {parts}: {} frames, made in {seconds:.1} s", made.frames));
    report::print(&format!("{}\n", path.display()))
}

/// Where a part goes: `film.part-03-of-12.plyreel`, so that a listing by name is in order, beside the timeline or in the
/// folder asked for; or the very name asked for.
fn part_path(file: &Path, output: Option<&Path>, share: Share) -> Result<PathBuf, Failure> {
    let Share { part, parts } = share;
    let digits = parts.to_string().len();
    let timeline = if file == Path::new("-") { Path::new("film") } else { file };
    let stem = timeline.file_stem().unwrap_or_default().to_string_lossy();
    let name = format!("{stem}.part-{part:0digits$}-of-{parts}.plyreel");
    match output {
        None => Ok(file.with_file_name(name)),
        Some(folder) if folder.is_dir() => Ok(folder.join(name)),
        Some(path) if path == Path::new("-") || path.extension().is_some_and(|ending| ending == "plyreel") => {
            Ok(path.to_owned())
        }
        Some(path) => Err(Failure::Usage(format!(
            "a part is no film yet, and `{}` is no name for one: -o takes a name in .plyreel, a folder that is there, or \
             `-`; `plyreel join` makes the film of the parts",
            path.display()
        ))),
    }
}
