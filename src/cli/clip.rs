//! `plyreel clip`: the film as AV1 with the narration.

use super::args::{self, Clip, Format, Talk};
use super::failure::Failure;
use super::load::{self, Loaded};
use super::options;
use super::output::Output;
use super::progress::Progress;
use super::report;
use super::signal;
use crate::encode::{self, Coder, Settings, SoundTrack, Unit};
use crate::mux::{self, Container, Movie};
use crate::units::{FrameIndex, Time};
use serde_json::json;
use std::ops::Range;
use std::panic::resume_unwind;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;
use std::thread;
use std::time::Instant;

/// Makes the film, or a part of it, and says where it is.
pub fn run(arguments: &Clip, talk: &Talk) -> Result<(), Failure> {
    let began = Instant::now();
    // Before anything is opened, so that a stop always finds someone to clear up.
    let stop = signal::listen();
    let (path, container) = destination(arguments)?;
    let mut loaded = load::load(&arguments.file, &options::settings(&arguments.overrides)?, arguments.draft)?;
    if arguments.strict {
        loaded.be_strict();
    }
    report::before_making(talk, &loaded)?;
    let frames = options::frames(&loaded, &arguments.part)?;
    // Opened before the work, so that a place that cannot be written is told at once.
    let mut output = Output::create(&path)?;

    // The narration is coded beside the pictures: it takes about as long as they do.
    let (units, sound) = thread::scope(|scope| {
        let sound = scope.spawn(|| code_sound(talk, &loaded, &frames, container, stop));
        let units = code_pictures(arguments, talk, &loaded, frames.clone(), stop);
        (units, sound.join().unwrap_or_else(|panic| resume_unwind(panic)))
    });
    let (units, sound) = (units?, sound?);
    let chapters = chapters_within(&loaded, &frames);
    let movie = Movie {
        size: loaded.film.look().size,
        rate: loaded.film.rate(),
        units: &units,
        sound: sound.as_ref(),
        chapters: &chapters,
        title: loaded.timeline.film.title.as_ref().map(|title| title.value.as_str()),
    };
    mux::write(container, &movie, &mut output).map_err(|error| Failure::mux(&path, error))?;
    if signal::stopped() {
        return Err(Failure::Stopped);
    }
    output.keep()?;
    announce(talk, &loaded, &path, units.len(), began)
}

/// Where to write and in which container.
fn destination(arguments: &Clip) -> Result<(PathBuf, Container), Failure> {
    let path = match &arguments.output {
        Some(path) => path.clone(),
        None if arguments.file == Path::new("-") => PathBuf::from("film.mp4"),
        None => arguments.file.with_extension("mp4"),
    };
    if path == Path::new("-") {
        return Ok((path, Container::Matroska));
    }
    let container = Container::from_path(&path).map_err(|error| Failure::Usage(error.to_string()))?;
    Ok((path, container))
}

fn code_pictures(
    arguments: &Clip,
    talk: &Talk,
    loaded: &Loaded,
    frames: Range<FrameIndex>,
    stop: &AtomicBool,
) -> Result<Vec<Unit>, Failure> {
    let cores = thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let coder = match arguments.coder {
        args::Coder::Patch => Coder::Patch,
        args::Coder::Rav1e => Coder::Rav1e,
    };
    let settings = Settings { coder, workers: arguments.jobs.map_or(cores, usize::from), draft: arguments.draft };
    let progress = Progress::new(talk, "filming", frames.end.0 - frames.start.0);
    Ok(encode::pictures(&loaded.film, frames, settings, &|done| progress.set(done), stop)?)
}

/// The narration under the frames, cut to the sample; none in a container without a place for it.
fn code_sound(
    talk: &Talk,
    loaded: &Loaded,
    frames: &Range<FrameIndex>,
    container: Container,
    stop: &AtomicBool,
) -> Result<Option<SoundTrack>, Failure> {
    let Some(recording) = &loaded.recording else { return Ok(None) };
    if !container.carries_sound() {
        report::say(talk, &format!("note: {container} carries no sound; the narration is left out"));
        return Ok(None);
    }
    let rate = loaded.film.rate();
    let part = rate.start_of(frames.start)..rate.start_of(frames.end);
    Ok(encode::sound(recording, part, container.aac(), stop)?)
}

/// The chapters that begin inside the frames, and the one already under way, on the clip's own clock.
fn chapters_within(loaded: &Loaded, frames: &Range<FrameIndex>) -> Vec<(Time, String)> {
    let rate = loaded.film.rate();
    let (from, to) = (rate.start_of(frames.start), rate.start_of(frames.end));
    let chapters = loaded.film.chapters().iter();
    let within = chapters.filter(|chapter| chapter.start < to && chapter.end > from);
    within.map(|chapter| (Time::ZERO + chapter.start.since(from), chapter.name.clone())).collect()
}

fn announce(talk: &Talk, loaded: &Loaded, path: &Path, frames: usize, began: Instant) -> Result<(), Failure> {
    if path == Path::new("-") {
        return Ok(());
    }
    let seconds = began.elapsed().as_secs_f64();
    if talk.format == Format::Json {
        let mut object = report::film_json(loaded);
        object["made"] = json!({ "path": path.to_string_lossy(), "frames": frames, "took": seconds });
        return report::print(&report::json_text(&object));
    }
    let length = loaded.film.rate().start_of(FrameIndex(frames as u64));
    report::say(talk, &format!("{length} of film, {frames} frames, made in {seconds:.1} s"));
    report::print(&format!("{}\n", path.display()))
}
