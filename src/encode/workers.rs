//! Chunks side by side on several threads, their units in order.

use super::canvas::{Canvas, Pictures};
use super::plan::Chunk;
use super::{EncodeError, Unit};
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;

/// Counts one more finished frame, and returns an error if the work is to end.
pub type Tick<'a> = &'a dyn Fn() -> Result<(), EncodeError>;

/// Codes one chunk, ticking after each frame.
pub type ChunkCoder<'a> = &'a (dyn Fn(&Chunk, &mut Canvas, Tick) -> Result<Vec<Unit>, EncodeError> + Sync);

/// What one worker did: the places of its chunks in the film, and their units.
type Share = Vec<(usize, Vec<Unit>)>;

/// Codes all chunks on `workers` threads, each with a canvas of its own. The units do not depend on how many there are.
pub fn code_chunks(
    pictures: &dyn Pictures,
    chunks: &[Chunk],
    workers: usize,
    coder: ChunkCoder,
    done: &(dyn Fn(u64) + Sync),
    stop: &AtomicBool,
) -> Result<Vec<Unit>, EncodeError> {
    let next = AtomicUsize::new(0);
    let failed = AtomicBool::new(false);
    let finished = Mutex::new(0u64);
    let tick = || {
        // Told under the lock, the numbers only grow.
        let mut finished = finished.lock().unwrap_or_else(PoisonError::into_inner);
        *finished += 1;
        done(*finished);
        let stopped = stop.load(Ordering::Relaxed) || failed.load(Ordering::Relaxed);
        if stopped { Err(EncodeError::Stopped) } else { Ok(()) }
    };
    let work = || {
        let mut canvas = Canvas::new(pictures);
        let mut coded = Share::new();
        loop {
            let place = next.fetch_add(1, Ordering::Relaxed);
            let Some(chunk) = chunks.get(place) else { return Ok(coded) };
            let units = coder(chunk, &mut canvas, &tick).inspect_err(|_| failed.store(true, Ordering::Relaxed))?;
            coded.push((place, units));
        }
    };
    let results: Vec<_> = thread::scope(|scope| {
        let threads: Vec<_> = (0..workers.clamp(1, chunks.len().max(1))).map(|_| scope.spawn(work)).collect();
        threads.into_iter().map(|thread| thread.join().unwrap_or_else(|panic| resume_unwind(panic))).collect()
    });
    in_order(results)
}

/// The units of all workers in the order of their chunks; or what went wrong, rather than that others stopped for it.
fn in_order(results: Vec<Result<Share, EncodeError>>) -> Result<Vec<Unit>, EncodeError> {
    let mut coded = Share::new();
    let mut failure = None;
    for result in results {
        match result {
            Ok(chunks) => coded.extend(chunks),
            Err(EncodeError::Stopped) => failure = failure.or(Some(EncodeError::Stopped)),
            Err(error) => failure = Some(error),
        }
    }
    if let Some(failure) = failure {
        return Err(failure);
    }
    coded.sort_by_key(|&(place, _)| place);
    Ok(coded.into_iter().flat_map(|(_, units)| units).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(name: u8) -> Unit {
        Unit { data: vec![name], key: false }
    }

    fn refused() -> EncodeError {
        EncodeError::Video { frame: 7, reason: "refused".to_owned() }
    }

    #[test]
    fn shares_are_put_in_the_order_of_the_film() {
        let shares = vec![
            Ok(vec![(1, vec![unit(1)]), (3, vec![unit(4)])]),
            Ok(vec![(0, vec![unit(0)])]),
            Ok(vec![(2, vec![unit(2), unit(3)])]),
        ];
        assert_eq!(in_order(shares).unwrap(), (0..5).map(unit).collect::<Vec<_>>());
    }

    #[test]
    fn a_failure_outweighs_the_stops_it_caused() {
        for shares in [
            vec![Err(EncodeError::Stopped), Err(refused()), Ok(Vec::new())],
            vec![Err(refused()), Ok(Vec::new()), Err(EncodeError::Stopped)],
        ] {
            assert!(matches!(in_order(shares), Err(EncodeError::Video { frame: 7, .. })));
        }
    }
}
