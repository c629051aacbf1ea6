//! Memory for rav1e: large blocks that are given back are kept for the next one that asks for the same size.
//!
//! For each picture rav1e asks for twenty blocks between a quarter and three megabytes, 25 MB at 1080p, and gives them
//! back when it has coded nine pictures more. glibc's allocator puts other things into the gaps, so that the next
//! picture's do not fit any more: of 372 MB in use it made 530 and more, and with the length of the film 700. Asked to
//! have all large blocks mapped one by one it wastes nothing, but then every picture's pages are new to the process, which
//! takes a sixth of all time. So they are mapped one by one, and kept here in between.
//!
//! Only a program that makes [`Shelf`] its allocator has it, and only once [`keep_large_blocks`] was called: our own coder,
//! whose blocks hardly ever have the same size twice, would gain nothing and lose time.

use super::zeros;
use std::alloc::{GlobalAlloc, Layout, System};
use std::ptr::NonNull;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

/// Blocks from this size on are kept, in bytes. The chroma planes of small frames are below, and hardly any others.
const LARGE: usize = 256 << 10;

/// At most so many bytes are kept: what two streams give back for a picture each.
const ROOM: usize = 48 << 20;

/// So many blocks are kept at most, and none while so many others came after it. Two streams give back forty for a
/// picture each; what nobody asked for in that time is of a size that nobody asks for again.
const PLACES: usize = 64;

/// The system's allocator, with a shelf for large blocks.
pub struct Shelf;

/// From now on, large blocks are kept in a program whose allocator is [`Shelf`].
pub fn keep_large_blocks() {
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    // SAFETY: `mallopt` takes two numbers and may be called at any time.
    unsafe {
        // Each large block is a mapping of its own, with nothing around it. If it is refused, memory is wasted, no more.
        libc::mallopt(libc::M_MMAP_THRESHOLD, LARGE as libc::c_int);
    }
    ROOM_NOW.store(ROOM, Ordering::Relaxed);
}

/// [`ROOM`] once blocks are to be kept, 0 before.
static ROOM_NOW: AtomicUsize = AtomicUsize::new(0);

static KEPT: Mutex<Kept> = Mutex::new(Kept::new());

// SAFETY: every block comes from `System` with the layout asked for, and goes back to it with the same layout. In between
// it may serve several owners, one after the other: a kept block has none, and leaves the shelf before it has the next.
// Nothing here asks for memory or panics.
unsafe impl GlobalAlloc for Shelf {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        let block = match taken(layout) {
            Some(block) => block.as_ptr(),
            // SAFETY: the caller's promise about `layout`.
            None => unsafe { System.alloc(layout) },
        };
        note(block, layout);
        block
    }

    unsafe fn alloc_zeroed(&self, layout: Layout) -> *mut u8 {
        let block = match taken(layout) {
            Some(block) => {
                // SAFETY: the block has the layout's size and no owner.
                unsafe { block.write_bytes(0, layout.size()) };
                block.as_ptr()
            }
            // SAFETY: the caller's promise about `layout`.
            None => unsafe { System.alloc_zeroed(layout) },
        };
        note(block, layout);
        block
    }

    unsafe fn realloc(&self, block: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        forget(block, layout);
        // SAFETY: the caller's promise; the block came from `System` with this layout.
        unsafe { System.realloc(block, layout, size) }
    }

    unsafe fn dealloc(&self, block: *mut u8, layout: Layout) {
        forget(block, layout);
        let room = ROOM_NOW.load(Ordering::Relaxed);
        let Some(at) = NonNull::new(block).filter(|_| (LARGE..=room).contains(&layout.size())) else {
            // SAFETY: the block came from `System` with this layout, and nobody has it any more.
            return unsafe { System.dealloc(block, layout) };
        };
        // What must make way goes back one by one, outside the lock.
        while let Some(oldest) = lock(|kept| kept.put(at, layout, room)) {
            // SAFETY: as above.
            unsafe { System.dealloc(oldest.at.as_ptr(), oldest.layout) };
        }
    }
}

/// A large block is somebody's, if there is one.
fn note(block: *mut u8, layout: Layout) {
    if let Some(block) = known(block, layout) {
        zeros::asked(block, layout);
    }
}

/// A large block will be nobody's, or of another size.
fn forget(block: *mut u8, layout: Layout) {
    if let Some(block) = known(block, layout) {
        zeros::gone(block);
    }
}

/// A block of which it is known who has it.
fn known(block: *mut u8, layout: Layout) -> Option<NonNull<u8>> {
    NonNull::new(block).filter(|_| layout.size() >= LARGE && ROOM_NOW.load(Ordering::Relaxed) > 0)
}

/// A kept block of exactly this layout.
fn taken(layout: Layout) -> Option<NonNull<u8>> {
    if layout.size() < LARGE || ROOM_NOW.load(Ordering::Relaxed) == 0 {
        return None;
    }
    lock(|kept| kept.take(layout))
}

fn lock<T>(work: impl FnOnce(&mut Kept) -> T) -> T {
    work(&mut KEPT.lock().unwrap_or_else(PoisonError::into_inner))
}

/// A block that nobody has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Block {
    at: NonNull<u8>,
    layout: Layout,
    /// How many blocks had been put on the shelf before this one.
    number: usize,
}

/// The blocks on the shelf, oldest first.
struct Kept {
    blocks: [Option<Block>; PLACES],
    count: usize,
    bytes: usize,
    /// How many blocks were ever put on the shelf.
    ever: usize,
}

// SAFETY: a block on the shelf belongs to no thread.
unsafe impl Send for Kept {}

impl Kept {
    const fn new() -> Kept {
        Kept { blocks: [None; PLACES], count: 0, bytes: 0, ever: 0 }
    }

    /// Takes the newest block of exactly this layout: its pages are the likeliest to be in the processor's cache.
    fn take(&mut self, layout: Layout) -> Option<NonNull<u8>> {
        let same = |block: &Option<Block>| block.is_some_and(|block| block.layout == layout);
        let place = self.blocks[..self.count].iter().rposition(same)?;
        self.remove(place).map(|block| block.at)
    }

    /// Puts a block on the shelf, or gives back the oldest one, which must go before that.
    fn put(&mut self, at: NonNull<u8>, layout: Layout, room: usize) -> Option<Block> {
        let stale = self.blocks[0].is_some_and(|oldest| oldest.number + PLACES <= self.ever);
        if stale || self.bytes + layout.size() > room {
            return self.remove(0);
        }
        // None is stale, so there are fewer than there are places.
        self.blocks[self.count] = Some(Block { at, layout, number: self.ever });
        self.count += 1;
        self.bytes += layout.size();
        self.ever += 1;
        None
    }

    fn remove(&mut self, place: usize) -> Option<Block> {
        let block = self.blocks[place].take()?;
        self.blocks[place..self.count].rotate_left(1);
        self.count -= 1;
        self.bytes -= block.layout.size();
        Some(block)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(at: usize, size: usize, align: usize) -> (NonNull<u8>, Layout) {
        let layout = Layout::from_size_align(size, align).unwrap();
        (NonNull::new(std::ptr::without_provenance_mut(at)).unwrap(), layout)
    }

    #[test]
    fn the_oldest_makes_way_and_only_the_same_layout_is_taken() {
        let mut kept = Kept::new();
        let put =
            |kept: &mut Kept, (at, layout), room| kept.put(at, layout, room).map(|block| (block.at, block.layout));
        let [one, two, three] = [block(8, 300, 8), block(16, 300, 64), block(24, 300, 8)];
        assert_eq!([one, two, three].map(|block| put(&mut kept, block, 1000)), [None; 3]);
        assert_eq!((kept.count, kept.bytes), (3, 900));
        // Two must go before there is room.
        let large = block(32, 500, 8);
        assert_eq!([(); 3].map(|()| put(&mut kept, large, 1000)), [Some(one), Some(two), None]);
        assert_eq!((kept.count, kept.bytes), (2, 800));
        assert_eq!(kept.take(two.1), None, "the alignment is another");
        assert_eq!(put(&mut kept, one, 2000), None);
        assert_eq!(kept.take(one.1), Some(one.0), "the newest first");
        assert_eq!(kept.take(one.1), Some(three.0));
        assert_eq!(kept.take(one.1), None);
        assert_eq!((kept.count, kept.bytes), (1, 500));
    }

    #[test]
    fn what_nobody_asks_for_goes() {
        let mut kept = Kept::new();
        let [odd, usual] = [block(8, 700, 8), block(16, 300, 8)];
        assert_eq!(kept.put(odd.0, odd.1, 2000), None);
        let turns = (0..2 * PLACES).map(|_| {
            let gone = std::iter::from_fn(|| kept.put(usual.0, usual.1, 2000)).count();
            assert_eq!(kept.take(usual.1), Some(usual.0));
            gone
        });
        let gone: Vec<usize> = turns.collect();
        assert_eq!(gone.iter().position(|&gone| gone > 0), Some(PLACES - 1));
        assert_eq!(gone.iter().sum::<usize>(), 1);
        assert_eq!((kept.count, kept.bytes), (0, 0));
        // Many small ones find a place each until the oldest has waited long enough.
        let filled = (0..3 * PLACES).filter(|n| kept.put(block(8 * n + 8, 1, 1).0, usual.1, usize::MAX).is_some());
        // Each attempt that found the oldest stale took it off and put nothing there.
        assert_eq!(filled.count(), PLACES);
        assert_eq!(kept.count, PLACES);
    }

    #[test]
    fn what_is_given_back_is_handed_out_again() {
        keep_large_blocks();
        let layout = Layout::from_size_align(LARGE + 8, 64).unwrap();
        // SAFETY: each block is used within its size and given back once with its layout.
        unsafe {
            let first = Shelf.alloc(layout);
            first.write_bytes(7, layout.size());
            Shelf.dealloc(first, layout);
            let second = Shelf.alloc_zeroed(layout);
            assert_eq!(first, second);
            assert!(std::slice::from_raw_parts(second, layout.size()).iter().all(|&byte| byte == 0));
            let third = Shelf.alloc(layout);
            assert_ne!(second, third);
            let larger = Shelf.realloc(second, layout, 2 * layout.size());
            assert_eq!(larger.read(), 0);
            Shelf.dealloc(larger, Layout::from_size_align(2 * layout.size(), 64).unwrap());
            Shelf.dealloc(third, layout);
            // More than there is room for goes straight back.
            let huge = Layout::from_size_align(ROOM + 1, 8).unwrap();
            Shelf.dealloc(Shelf.alloc(huge), huge);
            assert!(lock(|kept| kept.bytes) <= ROOM);
        }
    }
}
