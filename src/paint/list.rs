//! The move list, laid out: rows of two moves, tries hanging under the move they branch from, and, when space is
//! short, one fold line at the top for what came first.
//!
//! 1. Only what the picture gives is shown: moves played so far, in a replay those to come.
//! 2. When not all fits, finished tries shrink to their first move and verdict; then the oldest rows fold.
//! 3. The current move stays in the last row while the line grows. When it lies inside the fold, the fold opens: two
//!    blocks before the current one stay in view, and as much after it as fits.

mod entries;
mod fold;
#[cfg(test)]
mod tests;

pub(super) use fold::Folded;

use entries::{Entry, entries};
use fold::window;

use super::layout::Plan;
use super::notation::{numbered, san};
use super::rows::{Row, Setter, TryBlock, Word};
use super::text::Typesetter;
use crate::film::{Current, ListMove, MoveList};
use crate::timeline::Notation;
use crate::units::Side;
use std::ops::Range;

/// One block of the list.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Block {
    /// What has been folded, in words.
    Fold(String),
    /// A move of White's and its answer.
    Row(Row),
    /// A try, in running text.
    Try(TryBlock),
}

impl Block {
    /// Whether a later block has the same words in the same places, and perhaps more after them.
    fn is_begun_by(&self, later: &Block) -> bool {
        match (self, later) {
            (Block::Fold(text), Block::Fold(other)) => text == other,
            (Block::Row(row), Block::Row(other)) => {
                let text = |cell: &Option<(String, Tone)>| cell.as_ref().map(|(text, _)| text.clone());
                let same = |(cell, other)| match (text(cell), text(other)) {
                    (None, _) => true,
                    (some, other) => some == other,
                };
                row.number == other.number && row.cells.iter().zip(&other.cells).all(same)
            }
            (Block::Try(block), Block::Try(other)) => {
                let begins = |(line, other): (&Vec<Word>, &Vec<Word>)| {
                    line.len() <= other.len() && line.iter().zip(other).all(|(word, other)| word.text == other.text)
                };
                block.label == other.label
                    && block.lines.len() <= other.lines.len()
                    && block.lines.iter().zip(&other.lines).all(begins)
            }
            _ => false,
        }
    }
}

/// A list laid out: each block with its top edge in pixels of the frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct SetList {
    pub blocks: Vec<(f32, Block)>,
}

/// How a move stands in the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Tone {
    /// Played, or part of the try that is being played.
    Plain,
    /// Part of a finished try.
    Quiet,
    /// Not yet played, or left behind.
    Ahead,
    /// The current one.
    Lit,
}

impl SetList {
    /// The same list with its move put out, unless a later one has the very same block; and without the blocks that
    /// the later one does not have in the same place once it has scrolled, so that they go before others come.
    #[must_use]
    pub fn unlit(&self, later: &SetList) -> SetList {
        let put_out = |tone: &mut Tone| {
            if *tone == Tone::Lit {
                *tone = Tone::Plain;
            }
        };
        let mut unlit = self.clone();
        for (_, block) in &mut unlit.blocks {
            if later.blocks.iter().any(|(_, other)| other == block) {
                continue;
            }
            match block {
                Block::Fold(_) => {}
                Block::Row(row) => row.cells.iter_mut().flatten().for_each(|(_, tone)| put_out(tone)),
                Block::Try(block) => block.lines.iter_mut().flatten().for_each(|word| put_out(&mut word.tone)),
            }
        }
        let scroll = self.scroll_to(later);
        let stays = |(top, block): &(f32, Block)| {
            let in_place = later.blocks.iter().filter(|(place, _)| (top + scroll - place).abs() < 1.0);
            in_place.clone().any(|(_, other)| block.is_begun_by(other))
        };
        unlit.blocks.retain(stays);
        unlit
    }

    /// How far the list moves down to become a later one, in pixels: the way of the first row that both have.
    pub fn scroll_to(&self, later: &SetList) -> f32 {
        let number = |block: &Block| match block {
            Block::Row(row) => Some(row.number.clone()),
            _ => None,
        };
        for (from, block) in &self.blocks {
            let same = |(_, other): &&(f32, Block)| number(block).is_some() && number(other) == number(block);
            if let Some((to, _)) = later.blocks.iter().find(same) {
                return to - from;
            }
        }
        0.0
    }
}

/// Lays a list out below `top`.
pub(super) fn set_list(
    list: &MoveList,
    top: f32,
    plan: &Plan,
    notation: Notation,
    typesetter: &mut Typesetter,
) -> SetList {
    let mut setter = Setter::new(plan, typesetter);
    let room = (plan.head.bottom - top).max(0.0);
    let entries = entries(list);
    let mut parts = Parts { list, entries: &entries, notation, short: false, set: vec![None; entries.len()] };
    // From the newest on, so that a long list is known to be one after a few blocks.
    let mut used = 0.0;
    let all_fit = (0..entries.len()).rev().all(|index| {
        used += parts.height(index, &mut setter);
        used <= room
    });
    let shown = if all_fit {
        0..entries.len()
    } else {
        parts.shorten();
        let current = entries.iter().position(|entry| entry.holds(list.current)).unwrap_or(0);
        let fold = setter.fold_height();
        window(entries.len(), &mut |index| parts.height(index, &mut setter), current, room, fold)
    };
    let mut set = SetList::default();
    let mut y = top;
    if shown.start > 0 {
        set.blocks.push((y, Block::Fold(Folded::of(&entries[..shown.start], list).told(&list.fold))));
        y += setter.fold_height();
    }
    for index in shown {
        let block = parts.block(index, &mut setter);
        let height = setter.height(&block);
        set.blocks.push((y, block));
        y += height;
    }
    set
}

/// A list's blocks, set as far as they are asked for: of a long list most are never seen, and their words are never set.
struct Parts<'a> {
    list: &'a MoveList,
    entries: &'a [Entry],
    notation: Notation,
    /// Where space is short, tries that are not being played keep only their first move and verdict, if that saves a
    /// line.
    short: bool,
    /// The tries that have been set.
    set: Vec<Option<TryBlock>>,
}

impl Parts<'_> {
    fn shorten(&mut self) {
        self.short = true;
        self.set.fill(None);
    }

    fn a_try(&mut self, place: usize, index: usize, setter: &mut Setter<'_>) -> &TryBlock {
        let (list, notation, short) = (self.list, self.notation, self.short);
        self.set[place].get_or_insert_with(|| {
            let long = set_try(list, index, notation, setter, false);
            if short && !long.is_playing && long.lines.len() > 1 {
                set_try(list, index, notation, setter, true)
            } else {
                long
            }
        })
    }

    fn height(&mut self, place: usize, setter: &mut Setter<'_>) -> f32 {
        match &self.entries[place] {
            Entry::Moves(_) => setter.row_height(),
            Entry::Try(index) => {
                let lines = self.a_try(place, *index, setter).lines.len();
                setter.try_height(lines)
            }
        }
    }

    fn block(&mut self, place: usize, setter: &mut Setter<'_>) -> Block {
        match &self.entries[place] {
            Entry::Moves(range) => Block::Row(set_row(self.list, range.clone(), self.notation)),
            Entry::Try(index) => Block::Try(self.a_try(place, *index, setter).clone()),
        }
    }
}

fn set_row(list: &MoveList, range: Range<usize>, notation: Notation) -> Row {
    let mut row = Row { number: String::new(), is_ahead: true, cells: [None, None] };
    for (index, played) in range.clone().filter_map(|index| Some((index, list.main.get(index)?))) {
        if index == range.start {
            row.number = played.number.to_string();
            if played.side == Side::Black {
                row.cells[0] = Some(("…".into(), Tone::Quiet));
            }
        }
        let tone = match list.current {
            Current::Main(current) if current == index => Tone::Lit,
            _ if played.muted => Tone::Ahead,
            _ => Tone::Plain,
        };
        row.is_ahead &= tone == Tone::Ahead;
        row.cells[usize::from(played.side == Side::Black)] = Some((san(&played.san, notation), tone));
    }
    row
}

fn set_try(list: &MoveList, index: usize, notation: Notation, setter: &mut Setter<'_>, short: bool) -> TryBlock {
    let line = &list.tries[index];
    let lit = match list.current {
        Current::Try(current, at) if current == index => Some(at),
        _ => None,
    };
    let tone = |at: usize, played: &ListMove| match lit {
        Some(current) if current == at => Tone::Lit,
        Some(_) if played.muted => Tone::Ahead,
        Some(_) => Tone::Plain,
        None => Tone::Quiet,
    };
    let rest = if lit.is_some() { Tone::Plain } else { Tone::Quiet };
    let mut words: Vec<(String, Tone)> = line
        .moves
        .iter()
        .enumerate()
        .map(|(at, played)| (numbered(&played, at == 0, notation), tone(at, &played)))
        .collect();
    if short && words.len() > 1 {
        words.truncate(1);
        words.push(("…".into(), rest));
    }
    if !line.verdict.is_empty() {
        words.push((line.verdict.to_string(), rest));
    }
    let level = usize::from(line.within.is_some());
    setter.set_try(&words, &line.label, level, lit)
}
