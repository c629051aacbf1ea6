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

/// The list's blocks in order: after each row the tries that branch off before its end, each followed by those that
/// branch off from it. In time that grows as the list does: it is asked for frame by frame.
pub(super) fn entries(list: &MoveList) -> Vec<Entry> {
    let rows = rows(list);
    let mut hanging = hanging(list, &rows).into_iter().peekable();
    let mut entries = Vec::with_capacity(rows.len() + list.tries.len());
    // Those before any move come first; one beyond the moves shown hangs at the end rather than nowhere.
    let slots = std::iter::once(None).chain(rows.into_iter().map(Some)).enumerate();
    for (slot, row) in slots {
        entries.extend(row.map(Entry::Moves));
        while let Some((_, tries)) = hanging.next_if(|(own, _)| *own == slot) {
            entries.extend(tries.into_iter().map(Entry::Try));
        }
    }
    entries.extend(hanging.flat_map(|(_, tries)| tries).map(Entry::Try));
    entries
}

/// The main moves, two in a row.
fn rows(list: &MoveList) -> Vec<Range<usize>> {
    let is = |index: usize, side: Side| list.main.side(index) == Some(side);
    let mut rows = Vec::with_capacity(list.main.len() / 2 + 1);
    let mut at = 0;
    while at < list.main.len() {
        let end = at + 1 + usize::from(is(at, Side::White) && is(at + 1, Side::Black));
        rows.push(at..end);
        at = end;
    }
    rows
}

/// The tries that branch off from the main line, each with those that branch off from it behind it, and after how many
/// rows they hang; in this order, then in the list's.
fn hanging(list: &MoveList, rows: &[Range<usize>]) -> Vec<(usize, Vec<usize>)> {
    let mut slots = vec![0];
    for (row, moves) in rows.iter().enumerate() {
        slots.resize(moves.end + 1, row + 1);
    }
    let mut families: Vec<Vec<usize>> = vec![Vec::new(); list.tries.len()];
    for index in 0..list.tries.len() {
        if let Some(first) = first_level(&list.tries, index) {
            let family = &mut families[first];
            // One that a later try branches off from stands before all of them.
            if first == index { family.insert(0, index) } else { family.push(index) }
        }
    }
    let hung = list.tries.iter().zip(families).filter(|(_, family)| !family.is_empty());
    let slot = |line: &TryLine| slots.get(line.after).copied().unwrap_or(rows.len() + 1);
    let mut hung: Vec<_> = hung.map(|(line, family)| (slot(line), family)).collect();
    hung.sort_by_key(|(slot, _)| *slot);
    hung
}

/// The try of the first level that this one branches off from, directly or through others; itself, if it is one.
fn first_level(tries: &[TryLine], index: usize) -> Option<usize> {
    let mut at = index;
    for _ in 0..tries.len() {
        match tries[at].within {
            Some(parent) if parent < tries.len() && parent != at => at = parent,
            _ => return Some(at),
        }
    }
    None
}
