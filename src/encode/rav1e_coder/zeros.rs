//! Pages of nothing are given back to the system while their owner still has them.
//!
//! For each picture rav1e keeps the motion towards eight earlier ones, eight megabytes at 1080p, and looks at one of them
//! only: seven are the zeros that it wrote at the beginning. With seven pictures in hand that is a quarter of all that a
//! stream holds. A page of zeros that is given back is a page of zeros when it is next looked at, so nobody notices.
//!
//! Nobody else may write to such a page at that moment. That holds because only blocks are looked at that were asked for
//! by a stream at work, between two of its works, by the stream itself: see [`Owner`].

use std::alloc::Layout;
use std::cell::Cell;
use std::ops::Range;
use std::ptr::NonNull;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// So many blocks are known at once. A stream has about 130 large ones; what finds no place is left alone.
const PLACES: usize = 4096;

/// A block is looked at once, when its owner has worked so many times since it was asked for: motion is known by then,
/// and the picture it belongs to is coded.
const AGE: u32 = 3;

/// One of so many blocks is looked at. A page that was given back is new to the process when the block is used again: of
/// all time that takes 7 % if every block is looked at and half of that if every second is; two streams at 1080p hold 300
/// and 347 MB, and 386 if none is.
const ONE_OF: u32 = 2;

thread_local! {
    /// For whom this thread works.
    static WORKS_FOR: Cell<u32> = const { Cell::new(NOBODY) };
}

const NOBODY: u32 = 0;

static KNOWN: Mutex<Known> = Mutex::new(Known { blocks: [None; PLACES], end: 0 });

/// Somebody whose large blocks are looked through for zeros.
///
/// Whatever is asked for within [`Owner::work`] must, outside of it, be written to by nobody until it is given back.
pub(super) struct Owner(u32);

impl Owner {
    pub fn new() -> Owner {
        static LAST: AtomicU32 = AtomicU32::new(NOBODY);
        // After four thousand million streams one would share its number with an earlier one, which is long gone.
        Owner(LAST.fetch_add(1, Ordering::Relaxed).wrapping_add(1))
    }

    /// Works, and then gives back the zeros of what was asked for some works ago.
    ///
    /// # Safety
    ///
    /// What `work` asked this thread's allocator for is written to in works of the same owner only.
    pub unsafe fn work<T>(&self, work: impl FnOnce() -> T) -> T {
        /// Sets the thread free again, though the work panics.
        struct Free(u32);
        impl Drop for Free {
            fn drop(&mut self) {
                WORKS_FOR.set(self.0);
            }
        }
        let free = Free(WORKS_FOR.replace(self.0));
        let result = work();
        drop(free);
        self.give_back();
        result
    }

    fn give_back(&self) {
        known().grow_older(self.0);
        // The lock is let go from block to block, for others wait to ask for theirs. Under it, no block is given back.
        while known().one(self.0, |block| block.give_back_zeros()) {}
    }
}

/// A large block was asked for.
pub(super) fn asked(at: NonNull<u8>, layout: Layout) {
    static ASKED: AtomicU32 = AtomicU32::new(0);
    let owner = WORKS_FOR.get();
    if owner != NOBODY && ASKED.fetch_add(1, Ordering::Relaxed).is_multiple_of(ONE_OF) {
        known().enter(Block { at, size: layout.size(), owner, age: 0 });
    }
}

/// A large block is no more what it was.
pub(super) fn gone(at: NonNull<u8>) {
    known().strike(at);
}

fn known() -> MutexGuard<'static, Known> {
    KNOWN.lock().unwrap_or_else(PoisonError::into_inner)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Block {
    at: NonNull<u8>,
    size: usize,
    owner: u32,
    /// How many times its owner has worked since.
    age: u32,
}

/// The blocks that somebody has.
struct Known {
    blocks: [Option<Block>; PLACES],
    /// Behind this there are none.
    end: usize,
}

// SAFETY: the addresses are only used under the lock, while somebody has the block.
unsafe impl Send for Known {}

impl Known {
    fn enter(&mut self, block: Block) {
        if self.end < PLACES {
            self.blocks[self.end] = Some(block);
            self.end += 1;
        }
    }

    fn strike(&mut self, at: NonNull<u8>) {
        let Some(place) = self.blocks[..self.end].iter().position(|block| block.is_some_and(|block| block.at == at))
        else {
            return;
        };
        self.end -= 1;
        self.blocks.swap(place, self.end);
        self.blocks[self.end] = None;
    }

    fn grow_older(&mut self, owner: u32) {
        for block in self.blocks[..self.end].iter_mut().flatten().filter(|block| block.owner == owner) {
            block.age += 1;
        }
    }

    /// Looks at one of the owner's blocks that are old enough, and never again; whether there was one.
    fn one(&mut self, owner: u32, look: impl FnOnce(&Block)) -> bool {
        let old = |block: &Block| block.owner == owner && block.age >= AGE;
        let place = self.blocks[..self.end].iter().position(|block| block.as_ref().is_some_and(old));
        let Some(block) = place.and_then(|place| self.blocks[place]) else { return false };
        look(&block);
        self.strike(block.at);
        true
    }
}

impl Block {
    /// Gives back the pages that hold nothing but zeros. They are the owner's still, and hold zeros.
    fn give_back_zeros(&self) {
        if cfg!(not(target_os = "linux")) {
            return;
        }
        let page = page_size();
        let first = self.at.as_ptr().align_offset(page);
        let end = self.size.saturating_sub(first) / page * page + first;
        // Where the zeros begin that reach up to here.
        let mut zeros = first;
        for at in (first..end).step_by(page) {
            // SAFETY: the page lies within the block.
            if !is_zero(unsafe { self.at.add(at) }.cast(), page / size_of::<u64>()) {
                self.give_back(zeros..at);
                zeros = at + page;
            }
        }
        self.give_back(zeros..end);
    }

    /// Gives back whole pages of zeros.
    fn give_back(&self, zeros: Range<usize>) {
        if zeros.is_empty() {
            return;
        }
        #[cfg(target_os = "linux")]
        // SAFETY: the pages lie within the block, nobody writes to them now, and private memory reads as zeros
        // afterwards (madvise(2), MADV_DONTNEED), as it does if the system refuses.
        unsafe {
            libc::madvise(self.at.as_ptr().add(zeros.start).cast(), zeros.len(), libc::MADV_DONTNEED);
        }
    }
}

/// The system's page, in bytes.
fn page_size() -> usize {
    #[cfg(target_os = "linux")]
    // SAFETY: asks for a number.
    let page = unsafe { libc::sysconf(libc::_SC_PAGESIZE) }.try_into().unwrap_or(0);
    #[cfg(not(target_os = "linux"))]
    let page = 0;
    if usize::is_power_of_two(page) { page } else { 1 << 12 }
}

/// Whether so many words of a page are zero.
fn is_zero(page: NonNull<u64>, words: usize) -> bool {
    // SAFETY: the page is somebody's, and nobody writes to it now. Perhaps nobody ever did; what a volatile read finds is
    // what there is.
    (0..words).all(|word| unsafe { page.add(word).read_volatile() } == 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::alloc::{GlobalAlloc, System};

    #[cfg(target_os = "linux")]
    #[test]
    fn zeros_of_an_owner_go_and_are_zeros_still() {
        let layout = Layout::from_size_align(64 * page_size() + 100, 64).unwrap();
        let owner = Owner::new();
        // SAFETY: the block is used within its size and given back once; nobody writes to it but here.
        unsafe {
            let block = NonNull::new(System.alloc(layout)).unwrap();
            block.write_bytes(0, layout.size());
            block.add(20 * page_size()).write(7);
            block.add(layout.size() - 1).write(9);
            owner.work(|| known().enter(Block { at: block, size: layout.size(), owner: owner.0, age: 0 }));
            let resident = |block| resident_pages(block, layout.size());
            let before = resident(block);
            assert!(before >= 63, "{before} pages were written");
            // Somebody else's works are not counted.
            (0..AGE).for_each(|_| Owner::new().work(|| ()));
            assert_eq!(resident(block), before);
            (1..AGE).for_each(|_| owner.work(|| ()));
            // The page with a seven or the two it lies across, and those at the ends, which are not whole.
            let after = resident(block);
            assert!((1..=4).contains(&after), "{after} pages are left");
            let bytes = std::slice::from_raw_parts(block.as_ptr(), layout.size());
            let others: Vec<(usize, u8)> = bytes.iter().copied().enumerate().filter(|(_, byte)| *byte != 0).collect();
            assert_eq!(others, [(20 * page_size(), 7), (layout.size() - 1, 9)]);
            // Looked at once: zeros that come later stay.
            block.write_bytes(0, layout.size());
            (0..2 * AGE).for_each(|_| owner.work(|| ()));
            assert_eq!(resident(block), before);
            gone(block);
            System.dealloc(block.as_ptr(), layout);
        }
    }

    #[cfg(target_os = "linux")]
    /// How many of the pages that lie wholly in a block are in memory.
    fn resident_pages(block: NonNull<u8>, size: usize) -> usize {
        let page = page_size();
        let first = block.as_ptr().align_offset(page);
        let mut pages = vec![0u8; (size - first) / page];
        // SAFETY: the pages lie within the block, and there is a byte for each.
        let said = unsafe { libc::mincore(block.as_ptr().add(first).cast(), pages.len() * page, pages.as_mut_ptr()) };
        assert_eq!(said, 0);
        pages.iter().filter(|&&page| page & 1 == 1).count()
    }

    #[test]
    fn what_is_gone_is_not_looked_at() {
        let block = |at: usize, owner| Block {
            at: NonNull::new(std::ptr::without_provenance_mut(at)).unwrap(),
            size: 1,
            owner,
            age: 0,
        };
        let mut known = Known { blocks: [None; PLACES], end: 0 };
        [(8, 1), (16, 2), (24, 1), (32, 1)].into_iter().for_each(|(at, owner)| known.enter(block(at, owner)));
        known.strike(block(24, 1).at);
        known.strike(block(40, 1).at);
        let mut seen = Vec::new();
        (1..AGE).for_each(|_| known.grow_older(1));
        assert!(!known.one(1, |_| panic!("none is old enough")));
        known.grow_older(1);
        while known.one(1, |block| seen.push(block.at.addr().get())) {}
        seen.sort_unstable();
        assert_eq!((seen, known.end), (vec![8, 32], 1));
        assert_eq!(known.blocks[0], Some(block(16, 2)));
    }
}
