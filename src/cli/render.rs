//! Loaded films → files: pictures and narration side by side, each film muxed as soon as it is whole.

use super::args::{self, Caching, Talk, Wish};
use super::cache::{self, Cache};
use super::failure::Failure;
use super::inputs;
use super::levels::{self, Levels};
use super::load::Loaded;
use super::output::{self, Output, Whole};
use super::progress::Progress;
use super::proving;
use super::report;
use super::signal;
use crate::encode::{
    self, Coded, Coder, Layer, Layered, NoStore, Reel, Settings, SoundTrack, Store, Work, keep_large_blocks,
};
use crate::mux::{self, Container, Movie};
use crate::units::{FrameIndex, Time};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::ptr;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Mutex, PoisonError};
use std::thread;

/// A film to be made: which frames of it, and where they go.
pub struct Order<'a> {
    /// The film.
    pub loaded: &'a Loaded,
    /// What of its pictures. The layers of one film stand side by side.
    pub layer: Layer,
    /// Which frames.
    pub frames: Range<FrameIndex>,
    /// The file's name; `-` is standard output.
    pub path: PathBuf,
    /// What sort of file.
    pub container: Container,
    /// How loud the narration is to be.
    pub levels: Levels,
}

impl<'a> Order<'a> {
    /// The orders for a film that goes to `path`: one, or an overlay's fill and key in files of their own.
    pub fn of(
        loaded: &'a Loaded,
        frames: &Range<FrameIndex>,
        path: &Path,
        container: Container,
        levels: Levels,
    ) -> Result<Vec<Order<'a>>, Failure> {
        let layers = Layer::of(&loaded.film);
        if layers.len() > 1 && path == Path::new("-") {
            let message = "an overlay becomes two files, fill and key; name them with -o X.mp4";
            return Err(Failure::Usage(message.to_owned()));
        }
        let order =
            |&layer| Order { loaded, layer, frames: frames.clone(), path: layer_path(path, layer), container, levels };
        Ok(layers.iter().map(order).collect())
    }
}

/// `X.mp4`, or `X.fill.mp4` and `X.key.mp4`.
pub fn layer_path(path: &Path, layer: Layer) -> PathBuf {
    let word = match layer {
        Layer::Whole => return path.to_owned(),
        Layer::Fill => "fill",
        Layer::Key => "key",
    };
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let ending = path.extension().map(|ending| format!(".{}", ending.to_string_lossy())).unwrap_or_default();
    path.with_file_name(format!("{stem}.{word}{ending}"))
}

/// How many chunks a film's pictures are in, and how many of them had to be coded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Made {
    /// Pictures.
    pub frames: usize,
    /// Chunks.
    pub chunks: usize,
    /// Those that were not in the cache.
    pub coded: usize,
}

/// Where a film's narration arrives when it is coded.
type Heard = Mutex<Receiver<Result<Option<SoundTrack>, Failure>>>;

/// What the coder is asked for.
pub fn settings(wish: &Wish, jobs: Option<u16>) -> Settings {
    let cores = thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let coder = match wish.coder {
        args::Coder::Patch => Coder::Patch,
        args::Coder::Rav1e => Coder::Rav1e,
    };
    Settings { coder, workers: jobs.map_or(cores, usize::from), draft: wish.draft }
}

/// Memory as the coder wants it, before anything is coded.
pub fn make_ready(settings: Settings) {
    if settings.coder == Coder::Rav1e {
        keep_large_blocks();
    }
}

/// The user's cache, cleared if asked for; `None` if there is to be none.
pub fn open_cache(caching: &Caching, talk: &Talk) -> Option<Cache> {
    let folder = cache::usual_folder();
    if folder.is_none() && talk.verbose {
        report::say(talk, "note: neither XDG_CACHE_HOME nor HOME is set; nothing is kept");
    }
    let wanted = !caching.no_cache || caching.clear_cache;
    let cache = Cache::open(folder.filter(|_| wanted)?, caching.cache_limit << 20);
    if caching.clear_cache {
        let removed = cache.clear();
        proving::clear(cache.folder());
        let size = removed.bytes as f64 / f64::from(1 << 20);
        report::say(
            talk,
            &format!("{} chunks ({size:.1} MiB) removed from {}", removed.files, cache.folder().display()),
        );
    }
    Some(cache).filter(|_| !caching.no_cache)
}

/// Makes the films of `orders`, in which `settings` hold for all, and tells how much had to be coded for each.
///
/// The films' chunks are in one queue, so that the cores are busy to the end; the narrations are coded beside them.
pub fn films(orders: &[Order], settings: Settings, cache: Option<&Cache>, talk: &Talk) -> Result<Vec<Made>, Failure> {
    inputs::spare_all(orders)?;
    make_ready(settings);
    // Listened for first, so that no moment is left in which a stop would leave the outputs' beginnings behind.
    signal::listen();
    // Opened before the work, so that a place that cannot be written is told at once.
    let outputs = orders.iter().map(|order| Output::create(&order.path)).collect::<Result<Vec<_>, _>>()?;
    let outputs: Vec<Mutex<Option<Output>>> = outputs.into_iter().map(|output| Mutex::new(Some(output))).collect();
    let pictures: Vec<Layered> = orders.iter().map(|order| Layered::new(&order.loaded.film, order.layer)).collect();
    let works = orders.iter().zip(&pictures).map(|(order, of)| Work::new(of, order.frames.clone(), settings));
    let works = works.collect::<Result<Vec<_>, _>>()?;
    let made: Vec<Mutex<Option<Made>>> = orders.iter().map(|_| Mutex::new(None)).collect();
    let (sounds, heard): (Vec<_>, Vec<_>) = orders.iter().map(|_| channel()).unzip();
    let heard: Vec<Heard> = heard.into_iter().map(Mutex::new).collect();
    let whole: Mutex<Vec<Option<Whole>>> = Mutex::new(orders.iter().map(|_| None).collect());

    let over = AtomicBool::new(false);
    let finish = |number: usize, coded: Coded| -> Result<(), Failure> {
        // The sender is gone without a word only if another film has failed, or its thread, which ends the program.
        let sound = lock(&heard[number]).recv().unwrap_or(Err(Failure::Stopped))?;
        let output = lock(&outputs[number]).take().expect("a film is finished once");
        let output = write(&orders[number], &coded.reel, sound.as_ref(), output)?.close()?;
        *lock(&made[number]) = Some(Made { frames: coded.reel.len(), chunks: coded.chunks, coded: coded.coded });
        // A film's layers get their names together.
        let layers: Vec<usize> =
            (0..orders.len()).filter(|other| ptr::eq(orders[*other].loaded, orders[number].loaded)).collect();
        let mut whole = lock(&whole);
        whole[number] = Some(output);
        if layers.iter().all(|layer| whole[*layer].is_some()) {
            output::keep_all(layers.iter().filter_map(|layer| whole[*layer].take()))?;
        }
        Ok(())
    };
    // One that fails does not let the others wait for their narrations.
    let finished =
        |number: usize, coded: Coded| finish(number, coded).inspect_err(|_| over.store(true, Ordering::Relaxed));
    thread::scope(|scope| {
        scope.spawn(|| {
            let stop = || signal::stopped() || over.load(Ordering::Relaxed);
            one_by_one(orders, sounds, &stop, |order| sound(order, cache, settings.workers, &stop, talk));
        });
        // Whatever ends the pictures ends the narrations too: a failure, a panic, or that all is done.
        let _over = Over(&over);
        let reel = |number: usize| output::reel(&orders[number].path);
        code(&works, settings.workers, cache, talk, &reel, &finished)
    })?;
    let made = made.into_iter().map(|made| made.into_inner().unwrap_or_else(PoisonError::into_inner));
    Ok(made.map(|made| made.expect("every film is finished")).collect())
}

/// Says when dropped that nobody waits for the narrations any more.
struct Over<'a>(&'a AtomicBool);

impl Drop for Over<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// Makes one thing of each order and sends it where it is waited for, until a stop is asked for.
fn one_by_one<O, T>(orders: &[O], receivers: Vec<Sender<T>>, stop: &dyn Fn() -> bool, make: impl Fn(&O) -> T) {
    for (order, receiver) in orders.iter().zip(receivers) {
        if stop() {
            return;
        }
        // The receivers are there to the end; whether anybody will look is asked above.
        let _ = receiver.send(make(order));
    }
}

/// Codes the works with a progress bar, and says what the cache did.
pub fn code(
    works: &[Work],
    workers: usize,
    cache: Option<&Cache>,
    talk: &Talk,
    reel: &dyn Fn(usize) -> Reel,
    finished: &(dyn Fn(usize, Coded) -> Result<(), Failure> + Sync),
) -> Result<(), Failure> {
    let progress = Progress::new(talk, "filming", works.iter().map(Work::frames).sum());
    encode::code(works, workers, store(cache), reel, &|done| progress.set(done), finished, signal::listen())?;
    drop(progress);
    if let Some(cache) = cache.filter(|_| talk.verbose)
        && let Some(trouble) = cache.trouble()
    {
        report::say(talk, &format!("note: nothing is kept in {}: {trouble}", cache.folder().display()));
    }
    Ok(())
}

/// The cache, or a store that keeps nothing.
fn store(cache: Option<&Cache>) -> &dyn Store {
    cache.map_or(&NoStore, |cache| cache)
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The narration under the frames, cut to the sample; none in a container without a place for it, nor beside a key: it
/// is with the fill.
pub fn sound(
    order: &Order,
    cache: Option<&Cache>,
    workers: usize,
    stop: &(dyn Fn() -> bool + Sync),
    talk: &Talk,
) -> Result<Option<SoundTrack>, Failure> {
    let Some(recording) = order.loaded.recording.as_ref().filter(|_| order.layer != Layer::Key) else {
        return Ok(None);
    };
    let container = order.container;
    if !container.carries_sound() {
        report::say(talk, &format!("note: {container} carries no sound; the narration is left out"));
        return Ok(None);
    }
    let recording = &levels::apply(recording, order.levels, talk)?;
    let rate = order.loaded.film.rate();
    let part = rate.start_of(order.frames.start)..rate.start_of(order.frames.end);
    Ok(encode::sound(recording, part, container.aac(), store(cache), workers, stop)?)
}

/// Muxes pictures and sound; the file is whole, but has not got its name.
pub fn write(order: &Order, units: &Reel, sound: Option<&SoundTrack>, mut output: Output) -> Result<Output, Failure> {
    let loaded = order.loaded;
    let chapters = chapters_within(loaded, &order.frames);
    let movie = Movie {
        size: loaded.film.look().size,
        rate: loaded.film.rate(),
        units,
        sound,
        chapters: &chapters,
        title: loaded.timeline.film.title.as_ref().map(|title| title.value.as_str()),
    };
    mux::write(order.container, &movie, &mut output).map_err(|error| Failure::mux(&order.path, error))?;
    if signal::stopped() {
        return Err(Failure::Stopped);
    }
    Ok(output)
}

/// The chapters that begin inside the frames, and the one already under way, on the clip's own clock.
fn chapters_within(loaded: &Loaded, frames: &Range<FrameIndex>) -> Vec<(Time, String)> {
    let rate = loaded.film.rate();
    let (from, to) = (rate.start_of(frames.start), rate.start_of(frames.end));
    let chapters = loaded.film.chapters().iter();
    let within = chapters.filter(|chapter| chapter.start < to && chapter.end > from);
    within.map(|chapter| (Time::ZERO + chapter.start.since(from), chapter.name.clone())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_made_any_more_once_it_is_over() {
        let over = AtomicBool::new(false);
        let (senders, receivers): (Vec<_>, Vec<_>) = (0..4).map(|_| channel()).unzip();
        // The second film cannot be written.
        let make = |order: &usize| {
            if *order == 1 {
                drop(Over(&over));
            }
            *order
        };
        one_by_one(&[0, 1, 2, 3], senders, &|| over.load(Ordering::Relaxed), make);
        let made: Vec<usize> = receivers.into_iter().filter_map(|receiver| receiver.recv().ok()).collect();
        assert_eq!(made, [0, 1]);
    }
}
