//! What the list is made of, in order: rows of two moves, and the tries after the row they branch off from.

use crate::film::{Current, MoveList, TryLine};
use crate::units::Side;
use std::ops::Range;

/// What a block is made of: main moves by index, or a try by index.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Entry {
    Moves(Range<usize>),
    Try(usize),
}

impl Entry {
    pub(super) fn holds(&self, current: Current) -> bool {
        match (self, current) {
            (Entry::Moves(range), Current::Main(index)) => range.contains(&index),
            (Entry::Try(mine), Current::Try(index, _)) => *mine == index,
            _ => false,
        }
    }
}

/// The list's blocks in order: after each row the tries that branch off before its end.
pub(super) fn entries(list: &MoveList) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut hung = vec![false; list.tries.len()];
    let mut at = 0;
    hang_tries(list, 0..1, &mut hung, &mut entries);
    while at < list.main.len() {
        let is = |index: usize, side: Side| list.main.side(index) == Some(side);
        let is_pair = is(at, Side::White) && is(at + 1, Side::Black);
        let end = at + 1 + usize::from(is_pair);
        entries.push(Entry::Moves(at..end));
        hang_tries(list, at + 1..end + 1, &mut hung, &mut entries);
        at = end;
    }
    // A try beyond the moves shown hangs at the end rather than nowhere.
    hang_tries(list, 0..usize::MAX, &mut hung, &mut entries);
    entries
}

/// Appends the tries that branch off after so many moves, each followed by those that branch off from it.
fn hang_tries(list: &MoveList, after: Range<usize>, hung: &mut [bool], entries: &mut Vec<Entry>) {
    for (index, line) in list.tries.iter().enumerate() {
        let is_first_level = line.within.is_none_or(|parent| parent >= list.tries.len() || parent == index);
        if !hung[index] && is_first_level && after.contains(&line.after) {
            hung[index] = true;
            entries.push(Entry::Try(index));
            for (inner, line) in list.tries.iter().enumerate() {
                if !hung[inner] && descends(&list.tries, line, index) {
                    hung[inner] = true;
                    entries.push(Entry::Try(inner));
                }
            }
        }
    }
}

/// Whether a try branches off from the one with this index, directly or through others.
fn descends(tries: &[TryLine], line: &TryLine, ancestor: usize) -> bool {
    let mut parent = line.within;
    for _ in 0..tries.len() {
        match parent {
            Some(index) if index == ancestor => return true,
            Some(index) => parent = tries.get(index).and_then(|line| line.within),
            None => return false,
        }
    }
    false
}
