//! `plyreel join`: the parts of a film put together, with the narration.

use super::args::{Format, Join, Share, Talk};
use super::clip::destinations;
use super::failure::Failure;
use super::inputs;
use super::load;
use super::options;
use super::output::{self, Output};
use super::part_file::PartFile;
use super::render::{self, Order};
use super::report;
use super::signal;
use crate::encode::{Layer, Layered, Reel, SOURCES_VERSION, Work};
use crate::units::FrameIndex;
use serde_json::json;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// A part and the file it came from.
struct Named<'a> {
    path: &'a Path,
    part: PartFile,
}

/// Reads the parts, makes sure that they are all of this film, and writes it.
pub fn run(arguments: &Join, talk: &Talk) -> Result<(), Failure> {
    let began = Instant::now();
    let places = destinations(std::slice::from_ref(&arguments.file), arguments.output.as_deref())?;
    let (path, container) = places.into_iter().next().expect("one film has one place");
    let parts = in_order(read(&arguments.parts)?)?;
    let wish = parts[0].part.label.wish.clone();

    let proving = arguments.published.proving(arguments.caching.no_cache);
    let mut loaded = load::load(&arguments.file, &options::settings(&wish.overrides)?, wish.draft, &proving)?;
    if arguments.strict {
        loaded.be_strict();
    }
    report::before_making(talk, &loaded)?;
    let frames = options::frames(&loaded, &wish.part)?;
    let settings = render::settings(&wish, None);
    let layers = Layer::of(&loaded.film);
    let pictures = Layered::new(&loaded.film, layers[0]);
    let work = Work::new(&pictures, frames.clone(), settings)?;
    examine(&parts, &work, layers.len(), &arguments.file)?;
    let expected = work.frames();
    drop(work);
    let orders = Order::of(&loaded, &frames, &path, container, arguments.levels)?;
    inputs::spare_all(&orders)?;
    let mut reels: Vec<Reel> = orders.iter().map(|order| output::reel(&order.path)).collect();
    for Named { part, .. } in parts {
        // A part holds its layers one after the other.
        let frames = part.units.len() / layers.len();
        for (at, unit) in part.units.iter().enumerate() {
            reels[at / frames.max(1)].push(unit).map_err(|error| Failure::write(&path, error))?;
        }
    }
    for reel in &reels {
        assert_eq!(reel.len() as u64, expected, "the parts of a film have all its frames");
    }

    let cache = render::open_cache(&arguments.caching, talk);
    signal::listen();
    let outputs = orders.iter().map(|order| Output::create(&order.path)).collect::<Result<Vec<_>, _>>()?;
    let mut whole = Vec::new();
    for ((order, reel), output) in orders.iter().zip(&reels).zip(outputs) {
        let sound = render::sound(order, cache.as_ref(), settings.workers, &signal::stopped, talk)?;
        whole.push(render::write(order, reel, sound.as_ref(), output)?.close()?);
    }
    output::keep_all(whole)?;
    if path == Path::new("-") {
        return Ok(());
    }
    let seconds = began.elapsed().as_secs_f64();
    if talk.format == Format::Json {
        let mut object = report::film_json(&loaded);
        object["made"] = json!({ "path": orders[0].path.to_string_lossy(), "frames": expected, "took": seconds });
        if let Some(key) = orders.get(1) {
            object["made"]["key_path"] = json!(key.path.to_string_lossy());
        }
        return report::print(&report::json_text(&object));
    }
    let length = loaded.film.rate().start_of(FrameIndex(expected));
    report::say(talk, &format!("{length} of film, {expected} frames, joined in {seconds:.1} s"));
    let paths: Vec<String> = orders.iter().map(|order| order.path.display().to_string()).collect();
    report::print(&format!("{}\n", paths.join("\n")))
}

fn read(paths: &[PathBuf]) -> Result<Vec<Named<'_>>, Failure> {
    let one = |path: &'_ PathBuf| -> Result<PartFile, Failure> {
        let bytes = fs::read(path).map_err(|error| Failure::read(path, error))?;
        PartFile::unpack(&bytes).map_err(|refusal| Failure::Parts(format!("`{}` {refusal}", path.display())))
    };
    paths.iter().map(|path| Ok(Named { path, part: one(path)? })).collect()
}

/// Sorts the parts, each of which must be there once.
fn in_order(mut parts: Vec<Named<'_>>) -> Result<Vec<Named<'_>>, Failure> {
    let refused = |message: String| Err(Failure::Parts(message));
    let all = parts[0].part.label.share.parts;
    let first = &parts[0];
    for named in &parts {
        let (label, path) = (&named.part.label, named.path.display());
        let (other, first) = (&first.part.label, first.path.display());
        if label.share.parts != all {
            return refused(format!("`{first}` is one of {all} parts, `{path}` one of {}", label.share.parts));
        }
        if label.version != other.version {
            return refused(format!("`{first}` and `{path}` were made by different versions of plyreel"));
        }
        if label.wish != other.wish {
            return refused(format!("`{first}` and `{path}` were made with different options"));
        }
        if label.film != other.film {
            return refused(format!(
                "`{first}` and `{path}` are parts of different films, or the timeline was changed between them"
            ));
        }
    }
    parts.sort_by_key(|named| named.part.label.share.part);
    for pair in parts.windows(2) {
        let Share { part, .. } = pair[0].part.label.share;
        if pair[1].part.label.share.part == part {
            let (one, other) = (pair[0].path.display(), pair[1].path.display());
            return refused(format!("part {part} is there twice: `{one}` and `{other}`"));
        }
    }
    let there = |number: &u64| parts.iter().any(|named| named.part.label.share.part == *number);
    let missing: Vec<String> = (1..=all).filter(|number| !there(number)).map(|number| number.to_string()).collect();
    match &missing[..] {
        [] => Ok(parts),
        [one] => refused(format!("part {one} of {all} is missing")),
        several => refused(format!("parts {} of {all} are missing", several.join(", "))),
    }
}

/// Whether the parts are of this film, made by this program.
fn examine(parts: &[Named], work: &Work, layers: usize, film: &Path) -> Result<(), Failure> {
    let Named { path, part } = &parts[0];
    let (path, film) = (path.display(), film.display());
    if part.label.version != SOURCES_VERSION {
        let made = &part.label.program;
        return Err(Failure::Parts(format!(
            "`{path}` was made by another version of plyreel ({made}); parts are joined by the version that made them"
        )));
    }
    if Some(&part.label.film) != work.digest().map(|digest| format!("{digest:032x}")).as_ref() {
        return Err(Failure::Parts(format!(
            "`{path}` is not a part of {film} as it is now: it is of another film, or the timeline was changed since"
        )));
    }
    for Named { path, part } in parts {
        let share = part.label.share;
        let chunks = work.part(share.part, share.parts);
        if part.label.chunks() != chunks || part.units.len() as u64 != work.frames_in(chunks) * layers as u64 {
            return Err(Failure::Parts(format!("`{}` does not hold what its label says", path.display())));
        }
    }
    Ok(())
}
