//! Which unit each frame becomes, before a pixel is painted: where the keys stand, and what is held.
//!
//! A film is cut into chunks that begin with a key and know nothing of each other, so that they can be coded side by
//! side. Three facts shape the plan:
//!
//! - A shown key may not be shown again (AV1 specification §6.8.2): after a key one frame is coded, if only as a copy,
//!   before anything is held.
//! - A key inside a hold is seen: coding the same picture afresh changes a third of its pixels a little. So keys stand
//!   on frames that change anyway, best on the last frame of a move, just before the picture rests.
//! - A hold too long to do without a key can have the bytes of its key and of the copy after it written once more: the
//!   decoder ends in the state it was in. That needs a hold that began with a key, so such holds do.
//!
//! Chunks are kept from one render to the next, so an edit must not move the keys of what it leaves alone. Walking from
//! key to key would: each key's place hangs on the one before. So some keys stand on [`landmarks`], places that are
//! told by what is around them: where a scene begins, and where the picture comes to its longest rest far and wide.
//! The walk begins anew at each. A film that is shifted in time from some place on has the same landmarks after it.

use std::ops::Range;

/// What a frame becomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Step {
    /// A key frame: the whole picture, and the place to seek to.
    Key,
    /// An inter frame: the picture changed.
    Coded,
    /// An inter frame of the same picture, right after its key, so that there is something that may be held.
    Copy,
    /// A few bytes that show the last picture again.
    Held,
    /// The bytes of the chunk's key once more. The picture has rested since that key.
    Rekey,
    /// The bytes of the copy after that key once more, right after the key's.
    Recopy,
}

/// Where in a chunk its key stands.
pub const KEY: usize = 0;
/// Where in a chunk the copy after its key stands, if the picture rests there.
pub const COPY: usize = 1;

/// Frames coded together, from a key on.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Chunk {
    /// The first frame in the film.
    pub start: u64,
    /// What each frame from there on becomes. The first is the only [`Step::Key`].
    pub steps: Vec<Step>,
}

/// What decides a plan.
pub struct Motion<'a> {
    /// Whether a frame differs from the one before it. Not asked for the first frame of the range.
    pub changes: &'a dyn Fn(u64) -> bool,
    /// Frames at which a scene begins, in order: places worth seeking to.
    pub cuts: &'a [u64],
    /// The greatest number of frames from one key to the next, at least 4.
    pub limit: u64,
}

/// Plans the frames of `range`: chunk after chunk, each frame once.
pub fn plan(range: Range<u64>, motion: &Motion) -> Vec<Chunk> {
    assert!(motion.limit >= 4, "a key, its copy and a frame either side need room");
    let landmarks = landmarks(range.clone(), motion);
    let mut chunks = Vec::new();
    let mut rekeys = Vec::new();
    let (mut start, mut last_key) = (range.start, range.start);
    while start < range.end {
        let next = match next_key(last_key, range.end, &landmarks, motion) {
            Next::Rekey(frame) => {
                rekeys.push(frame);
                last_key = frame;
                continue;
            }
            Next::Key(frame) => frame,
            Next::End => range.end,
        };
        chunks.push(Chunk { start, steps: steps(start..next, &rekeys, motion) });
        rekeys.clear();
        (start, last_key) = (next, next);
    }
    chunks
}

/// How far a landmark's rest is the longest, in greatest distances between keys: the farther, the fewer keys stand
/// closer than they need, and the longer the stretch that an edit may plan anew.
const FAR_AND_WIDE: u64 = 2;

/// Frames that get a key whatever stands before them, in order: the first change of each scene, and the frame before
/// each rest that is longer than all others within [`FAR_AND_WIDE`]. Scenes outdo rests; of equal rests the first wins.
fn landmarks(range: Range<u64>, motion: &Motion) -> Vec<u64> {
    let cuts = motion.cuts.iter().filter(|cut| range.contains(cut) && **cut > range.start);
    let ends = motion.cuts.iter().copied().filter(|&cut| cut > range.start).skip(1).chain([range.end]);
    let first_changes =
        cuts.zip(ends).filter_map(|(&cut, end)| (cut..end.min(range.end)).find(|&f| (motion.changes)(f)));
    let mut places: Vec<(u64, u64)> = first_changes.map(|frame| (frame, u64::MAX)).collect();
    // The first frame of all has its key anyway and counts as a scene's; it may be seen to rest.
    let mut settled = range.start;
    for frame in range.start + 1..range.end {
        if (motion.changes)(frame) {
            if settled + 1 < frame {
                places.push((settled, frame - settled));
            }
            settled = frame;
        }
    }
    places.push((settled, range.end - settled));
    places.push((range.start, u64::MAX));
    // At one frame the greater comes first and the rest are left out.
    places.sort_by_key(|&(frame, rest)| (frame, std::cmp::Reverse(rest)));
    places.dedup_by_key(|place| place.0);
    let reach = FAR_AND_WIDE * motion.limit;
    let outdone = |at: usize| {
        let (frame, rest) = places[at];
        let near = |other: &&(u64, u64)| other.0.abs_diff(frame) <= reach;
        let before = places[..at].iter().rev().take_while(near).any(|other| other.1 >= rest);
        before || places[at + 1..].iter().take_while(near).any(|other| other.1 > rest)
    };
    let stands = |&at: &usize| places[at].1 == u64::MAX || (places[at].1 > 1 && !outdone(at));
    (0..places.len()).filter(stands).map(|at| places[at].0).collect()
}

enum Next {
    /// Code a key here: a chunk begins.
    Key(u64),
    /// Write the chunk's key again here and its copy after it.
    Rekey(u64),
    /// No further key is needed.
    End,
}

/// What the next key after `last` is, in a film that goes to `end`.
fn next_key(last: u64, end: u64, landmarks: &[u64], motion: &Motion) -> Next {
    let changes = motion.changes;
    let deadline = last + motion.limit;
    let window = last + 1..(deadline + 1).min(end);
    let landmark = landmarks.get(landmarks.partition_point(|&frame| frame <= last));
    if let Some(&landmark) = landmark.filter(|frame| window.contains(frame)) {
        return Next::Key(landmark);
    }
    if deadline + 1 >= end {
        return Next::End;
    }
    let Some(last_change) = window.clone().rev().find(|&frame| changes(frame)) else {
        // The picture has rested since the key itself. The copy needs a frame of the same rest.
        return Next::Rekey(if changes(deadline + 1) { deadline - 1 } else { deadline });
    };
    // The picture rests beyond the deadline after this change, or is on the move at the deadline.
    let settles = |frame: u64| changes(frame) && !changes(frame + 1);
    let late = last + motion.limit / 2 + 1..deadline + 1;
    let settled = if last_change < deadline { Some(last_change) } else { late.rev().find(|&frame| settles(frame)) };
    Next::Key(settled.unwrap_or(deadline))
}

/// What the frames of one chunk become.
fn steps(frames: Range<u64>, rekeys: &[u64], motion: &Motion) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    // They rise, so that each is looked at once: a still of a day has thousands.
    let mut rekeys = rekeys.iter().peekable();
    for frame in frames {
        steps.push(match steps.last() {
            None => Step::Key,
            Some(_) if rekeys.next_if(|&&rekey| rekey == frame).is_some() => Step::Rekey,
            Some(Step::Rekey) => Step::Recopy,
            Some(_) if (motion.changes)(frame) => Step::Coded,
            Some(Step::Key) => Step::Copy,
            Some(_) => Step::Held,
        });
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use proptest::test_runner::TestRunner;
    use std::cell::Cell;

    /// `x` changes, `.` holds; the plan as one letter a frame, chunks apart.
    fn planned(film: &str, cuts: &[u64], limit: u64) -> String {
        let film = film.as_bytes();
        let motion = Motion { changes: &|frame| film[frame as usize] == b'x', cuts, limit };
        let letter = |step: &Step| match step {
            Step::Key => 'K',
            Step::Coded => 'x',
            Step::Copy => 'c',
            Step::Held => '.',
            Step::Rekey => 'R',
            Step::Recopy => 'r',
        };
        let chunks = plan(0..film.len() as u64, &motion);
        chunks.iter().map(|chunk| chunk.steps.iter().map(letter).collect::<String>()).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn a_short_film_is_one_chunk() {
        assert_eq!(planned("x....xxx...", &[], 20), "Kc...xxx...");
        assert_eq!(planned("xx...", &[], 20), "Kx...");
        assert_eq!(planned("x", &[], 20), "K");
    }

    #[test]
    fn a_scene_begins_a_chunk_with_its_first_change() {
        assert_eq!(planned("x....xxx...", &[4], 20), "Kc... Kxx...");
        assert_eq!(planned("x....xxx...", &[0, 5], 20), "Kc... Kxx...");
        assert_eq!(planned("x..........", &[4], 20), "Kc.........", "nothing changes: a key would be seen");
    }

    #[test]
    fn a_key_stands_where_the_picture_comes_to_rest() {
        assert_eq!(planned("x..xxx..xxx....xxx...", &[], 16), "Kc.xxx..xx Kc...xxx...");
        assert_eq!(planned("x..xxxxxxxxxxxxxxxxxx...", &[], 10), "Kc.xxxxxxx Kxxxxxxxxx Kc..", "or at the deadline");
    }

    #[test]
    fn a_long_hold_has_its_key_again() {
        assert_eq!(planned("x..............", &[], 6), "Kc....Rr....Rr.");
        assert_eq!(planned("x..xx...............xx", &[], 6), "Kc.x Kc....Rr....Rr..xx");
        assert_eq!(planned("x......x.......", &[], 6), "Kc...Rr Kc....Rr", "the copy rests with its key");
    }

    #[test]
    fn the_longest_rest_far_and_wide_begins_a_chunk() {
        // From the key at 12 the walk would go on to 18, where it settles last before its deadline.
        assert_eq!(planned("x.x.x.x.x.x.x.x...x.x.x.x", &[], 6), "Kcx.x. Kcx.x. Kc Kc..x. Kcx.x");
    }

    /// The plan from its first landmark at `from` or later on, counted from `from`.
    fn planned_after(changes: &[bool], from: u64, reach: u64, limit: u64) -> Option<Vec<Chunk>> {
        let motion = Motion { changes: &|frame| changes[frame as usize], cuts: &[], limit };
        let range = 0..changes.len() as u64;
        let landmark = landmarks(range.clone(), &motion).into_iter().find(|&frame| frame > from + reach)?;
        let chunks = plan(range, &motion).into_iter().filter(|chunk| chunk.start >= landmark);
        Some(chunks.map(|chunk| Chunk { start: chunk.start - from, ..chunk }).collect())
    }

    #[test]
    fn an_edit_leaves_the_plan_alone_after_the_next_landmark() {
        let mut runner = TestRunner::deterministic();
        let runs = |count| proptest::collection::vec((1usize..9, 1usize..30), 0..count);
        let met = Cell::new(0);
        let law = (runs(20), runs(20), runs(120), 4u64..30);
        runner
            .run(&law, |(one, other, rest, limit)| {
                let changes = |runs: &[(usize, usize)]| -> Vec<bool> {
                    let letters = runs.iter().flat_map(|&(moves, rests)| {
                        std::iter::repeat_n(true, moves).chain(std::iter::repeat_n(false, rests))
                    });
                    letters.collect()
                };
                let (one, other, rest) = (changes(&one), changes(&other), changes(&rest));
                let reach = 2 * FAR_AND_WIDE * limit;
                let after = |before: &[bool]| {
                    let film = [&[true], before, &rest].concat();
                    planned_after(&film, before.len() as u64 + 1, reach, limit)
                };
                let (one, other) = (after(&one), after(&other));
                prop_assert_eq!(&one, &other);
                met.set(met.get() + usize::from(one.is_some()));
                Ok(())
            })
            .unwrap();
        assert!(met.get() > 100, "only {} films have a landmark after the edit", met.get());
    }

    proptest! {
        #[test]
        fn every_plan_keeps_the_laws(
            changes in proptest::collection::vec(proptest::bool::weighted(0.3), 1..200),
            rests in proptest::collection::vec((0usize..200, 0usize..60), 0..4),
            cuts in proptest::collection::btree_set(0u64..200, 0..5),
            limit in 4u64..40,
            start in 0u64..20,
        ) {
            let mut changes = changes;
            for (from, count) in rests {
                changes.iter_mut().skip(from).take(count).for_each(|change| *change = false);
            }
            let cuts: Vec<u64> = cuts.into_iter().collect();
            let end = changes.len() as u64;
            let start = start.min(end);
            let motion = Motion { changes: &|frame| changes[frame as usize], cuts: &cuts, limit };
            let mut frame = start;
            let mut last_key = start;
            for chunk in plan(start..end, &motion) {
                prop_assert_eq!(chunk.start, frame);
                prop_assert_eq!(chunk.steps[0], Step::Key);
                for (i, &step) in chunk.steps.iter().enumerate() {
                    let before = i.checked_sub(1).map(|i| chunk.steps[i]);
                    let changed = frame == start || changes[frame as usize];
                    prop_assert_eq!(changed, matches!(step, Step::Key | Step::Coded), "frame {}", frame);
                    match before {
                        Some(Step::Key) => prop_assert!(matches!(step, Step::Coded | Step::Copy)),
                        Some(Step::Rekey) => prop_assert_eq!(step, Step::Recopy),
                        _ => prop_assert!(!matches!(step, Step::Copy | Step::Recopy)),
                    }
                    if step == Step::Rekey {
                        prop_assert!(chunk.steps[1..i].iter().all(|&step| step != Step::Coded));
                        prop_assert!(chunk.steps.get(i + 1).is_some(), "a last frame needs no key");
                    }
                    if matches!(step, Step::Key | Step::Rekey) {
                        prop_assert!(frame - last_key <= limit);
                        last_key = frame;
                    }
                    frame += 1;
                }
            }
            prop_assert_eq!(frame, end);
            prop_assert!(end == start || end - last_key <= limit + 1);
        }
    }
}
