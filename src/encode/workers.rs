//! Chunks of one film or several side by side on several threads, their units in order.

use super::canvas::Canvas;
use super::reel::{Reel, Strip};
use super::store::Store;
use super::work::Work;
use super::{EncodeError, Unit};
use std::io;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::thread;

/// Counts one more finished frame, and returns an error if the work is to end.
pub type Tick<'a> = &'a dyn Fn() -> Result<(), EncodeError>;

/// What became of a work.
#[derive(Debug)]
pub struct Coded {
    /// One unit a frame, in order.
    pub reel: Reel,
    /// How many chunks they are in.
    pub chunks: usize,
    /// How many of those were not in the store.
    pub coded: usize,
}

/// Codes all chunks of all works on `workers` threads: one work after the other, but no thread waits for a work's end
/// before it begins the next. Each chunk is taken from the store if it is there, and put there if not.
///
/// `reel` gives an empty reel for each work, `done` is told how many frames of all works are finished; `finished` is
/// given each work's number and units as soon as they are whole, on one of the threads. The units do not depend on the
/// number of threads. The first error ends the work.
pub fn code<E: From<EncodeError> + Send>(
    works: &[Work],
    workers: usize,
    store: &dyn Store,
    reel: &dyn Fn(usize) -> Reel,
    done: &(dyn Fn(u64) + Sync),
    finished: &(dyn Fn(usize, Coded) -> Result<(), E> + Sync),
    stop: &AtomicBool,
) -> Result<(), E> {
    let queue: Vec<(usize, usize)> =
        works.iter().enumerate().flat_map(|(work, of)| (0..of.chunks()).map(move |chunk| (work, chunk))).collect();
    let shelves: Vec<Mutex<Shelf>> =
        works.iter().enumerate().map(|(number, work)| Mutex::new(Shelf::new(work.chunks(), reel(number)))).collect();
    let next = AtomicUsize::new(0);
    let failed = AtomicBool::new(false);
    let failure: Mutex<Option<E>> = Mutex::new(None);
    let ticks = Mutex::new(0u64);
    let count = |frames: u64| {
        // Told under the lock, the numbers only grow.
        let mut ticks = lock(&ticks);
        *ticks += frames;
        done(*ticks);
        let stopped = stop.load(Ordering::Relaxed) || failed.load(Ordering::Relaxed);
        if stopped { Err(EncodeError::Stopped) } else { Ok(()) }
    };
    let thread = || {
        let mut hand = Hand { works, store, canvas: None };
        loop {
            let Some(&(work, chunk)) = queue.get(next.fetch_add(1, Ordering::Relaxed)) else { return Ok(()) };
            let (units, coded) = hand.chunk(work, chunk, &count)?;
            let whole = lock(&shelves[work]).put(chunk, &units, coded).map_err(EncodeError::Reel)?;
            if let Some(coded) = whole {
                finished(work, coded)?;
            }
        }
    };
    let run = || {
        // The others stop because of the first failure; what they say of it does not count.
        if let Err(error) = thread() {
            let mut first = lock(&failure);
            failed.store(true, Ordering::Relaxed);
            first.get_or_insert(error);
        }
    };
    for (number, _) in works.iter().enumerate().filter(|(_, work)| work.chunks() == 0) {
        finished(number, Coded { reel: Reel::default(), chunks: 0, coded: 0 })?;
    }
    thread::scope(|scope| {
        let threads: Vec<_> = (0..workers.clamp(1, queue.len().max(1))).map(|_| scope.spawn(run)).collect();
        for thread in threads {
            thread.join().unwrap_or_else(|panic| resume_unwind(panic));
        }
    });
    failure.into_inner().unwrap_or_else(PoisonError::into_inner).map_or(Ok(()), Err)
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// One thread's place: it keeps its canvas as long as it works on the same film.
struct Hand<'a> {
    works: &'a [Work<'a>],
    store: &'a dyn Store,
    canvas: Option<(usize, Canvas<'a>)>,
}

impl Hand<'_> {
    /// A chunk's units, and whether they had to be coded.
    fn chunk(
        &mut self,
        work: usize,
        chunk: usize,
        count: &dyn Fn(u64) -> Result<(), EncodeError>,
    ) -> Result<(Vec<Unit>, bool), EncodeError> {
        let of = &self.works[work];
        let name = self.store.keeps().then(|| of.name(chunk)).flatten();
        if let Some(units) = name.and_then(|name| self.store.get(name))
            && units.len() as u64 == of.frames_in(chunk..chunk + 1)
        {
            count(units.len() as u64)?;
            return Ok((units, false));
        }
        // What was painted for another film is no use; a chunk from the store needs no canvas at all.
        let canvas = match &mut self.canvas {
            Some((at, canvas)) if *at == work => canvas,
            canvas => &mut canvas.insert((work, of.canvas())).1,
        };
        let units = of.code(chunk, canvas, &|| count(1))?;
        if let Some(name) = name {
            self.store.put(name, &units);
        }
        Ok((units, true))
    }
}

/// Where a work's chunks wait for each other.
struct Shelf {
    reel: Reel,
    chunks: Vec<Option<Strip>>,
    missing: usize,
    coded: usize,
}

impl Shelf {
    fn new(chunks: usize, reel: Reel) -> Shelf {
        Shelf { reel, chunks: vec![None; chunks], missing: chunks, coded: 0 }
    }

    /// Puts a chunk in its place; the work, if that was the last.
    fn put(&mut self, chunk: usize, units: &[Unit], coded: bool) -> io::Result<Option<Coded>> {
        self.chunks[chunk] = Some(self.reel.lay(units)?);
        self.missing -= 1;
        self.coded += usize::from(coded);
        if self.missing > 0 {
            return Ok(None);
        }
        let chunks = self.chunks.len();
        let mut reel = std::mem::take(&mut self.reel);
        reel.arrange(self.chunks.drain(..).flatten());
        Ok(Some(Coded { reel, chunks, coded: self.coded }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(name: u8) -> Unit {
        Unit { data: vec![name], key: false }
    }

    #[test]
    fn chunks_are_put_in_the_order_of_the_film() {
        let mut shelf = Shelf::new(4, Reel::default());
        assert!(shelf.put(1, &[unit(1)], true).unwrap().is_none());
        assert!(shelf.put(3, &[unit(4)], true).unwrap().is_none());
        assert!(shelf.put(0, &[unit(0)], false).unwrap().is_none());
        let whole = shelf.put(2, &[unit(2), unit(3)], true).unwrap().unwrap();
        assert_eq!((whole.chunks, whole.coded), (4, 3));
        assert_eq!(whole.reel.units().unwrap(), (0..5).map(unit).collect::<Vec<_>>());
    }
}
