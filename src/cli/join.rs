//! `plyreel join`: the parts of a film put together, with the narration.

use super::args::{Format, Join, Share, Talk};
use super::clip::destinations;
use super::failure::Failure;
use super::inputs;
use super::load;
use super::options;
use super::output::{self, Output};
use super::part_file::{self, NoPart, PartFile};
use super::render::{self, Order};
use super::report;
use super::signal;
use crate::encode::{Layer, Layered, Reel, SOURCES_VERSION, Work};
use crate::units::FrameIndex;
use serde_json::json;
use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// A part and the file it came from.
struct Named<'a> {
    path: &'a Path,
    part: PartFile,
}

impl Named<'_> {
    /// Reads the part once more, its layers onto a reel each: they stand one after the other in it.
    fn reel_off(&self, reels: &mut [Reel], film: &Path) -> Result<(), Failure> {
        let frames = (self.part.units / reels.len() as u64).max(1);
        let mut at = 0;
        let mut unwritten = None;
        let label = part_file::read(&mut open(self.path)?, &mut |unit| {
            let layer = usize::try_from(at / frames).ok().and_then(|layer| reels.get_mut(layer));
            at += 1;
            // Longer than it was: told below.
            layer.map_or(Ok(()), |reel| reel.push(&unit)).map_err(|error| {
                let kind = error.kind();
                unwritten = Some(error);
                kind.into()
            })
        });
        if let Some(error) = unwritten {
            return Err(Failure::write(film, error));
        }
        if label.map_err(|refusal| refused(self.path, refusal))? != self.part.label || at != self.part.units {
            let message = format!("`{}` was changed while it was joined", self.path.display());
            return Err(Failure::Parts(message));
        }
        Ok(())
    }
}

fn open(path: &Path) -> Result<BufReader<File>, Failure> {
    File::open(path).map(|file| BufReader::with_capacity(1 << 18, file)).map_err(|error| Failure::read(path, error))
}

fn refused(path: &Path, refusal: NoPart) -> Failure {
    match refusal {
        NoPart::Read(error) => Failure::read(path, error),
        refusal => Failure::Parts(format!("`{}` {refusal}", path.display())),
    }
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
    for part in &parts {
        part.reel_off(&mut reels, &path)?;
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
        PartFile::examine(&mut open(path)?).map_err(|refusal| refused(path, refusal))
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
        if part.label.chunks() != chunks || part.units != work.frames_in(chunks) * layers as u64 {
            return Err(Failure::Parts(format!("`{}` does not hold what its label says", path.display())));
        }
    }
    Ok(())
}
