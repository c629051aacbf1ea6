//! The move list, laid out: rows of two moves, tries hanging under the move they branch from, and, when space is
//! short, one fold line at the top for what came first.
//!
//! 1. Only what the picture gives is shown: moves played so far, in a replay those to come.
//! 2. When not all fits, finished tries shrink to their first move and verdict; then the oldest rows fold.
//! 3. The current move stays in the last row while the line grows. When it lies inside the fold, the fold opens: two
//!    blocks before the current one stay in view, and as much after it as fits.

use super::layout::Plan;
use super::notation::{numbered, san};
use super::rows::{Row, Setter, TryBlock, Word};
use super::text::Typesetter;
use crate::film::{Current, ListMove, MoveList, TryLine};
use crate::timeline::{LineKind, Notation};
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
    let mut blocks = set_entries(&entries, list, notation, &mut setter);
    if setter.height_of(&blocks) > room {
        shorten_tries(&mut blocks, &entries, list, notation, &mut setter);
    }
    let current = entries.iter().position(|entry| entry.holds(list.current)).unwrap_or(0);
    let shown = window(&blocks, current, room, &setter);
    let mut set = SetList::default();
    let mut y = top;
    let mut push = |block: Block, setter: &Setter<'_>| {
        let height = setter.height(&block);
        set.blocks.push((y, block));
        y += height;
    };
    if shown.start > 0 {
        push(Block::Fold(fold_text(&entries[..shown.start], list)), &setter);
    }
    for block in blocks.drain(shown) {
        push(block, &setter);
    }
    set
}

/// What a block is made of: main moves by index, or a try by index.
#[derive(Clone, Debug, PartialEq)]
enum Entry {
    Moves(Range<usize>),
    Try(usize),
}

impl Entry {
    fn holds(&self, current: Current) -> bool {
        match (self, current) {
            (Entry::Moves(range), Current::Main(index)) => range.contains(&index),
            (Entry::Try(mine), Current::Try(index, _)) => *mine == index,
            _ => false,
        }
    }
}

/// The list's blocks in order: after each row the tries that branch off before its end.
fn entries(list: &MoveList) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut hung = vec![false; list.tries.len()];
    let mut at = 0;
    hang_tries(list, 0..1, &mut hung, &mut entries);
    while at < list.main.len() {
        let is = |index: usize, side: Side| list.main.get(index).is_some_and(|played| played.side == side);
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

fn set_entries(entries: &[Entry], list: &MoveList, notation: Notation, setter: &mut Setter<'_>) -> Vec<Block> {
    let mut blocks = Vec::with_capacity(entries.len());
    for entry in entries {
        blocks.push(match entry {
            Entry::Moves(range) => Block::Row(set_row(list, range.clone(), notation)),
            Entry::Try(index) => Block::Try(set_try(list, *index, notation, setter, false)),
        });
    }
    blocks
}

/// Where space is short, tries that are not being played keep only their first move and verdict, if that saves a line.
fn shorten_tries(
    blocks: &mut [Block],
    entries: &[Entry],
    list: &MoveList,
    notation: Notation,
    setter: &mut Setter<'_>,
) {
    for (block, entry) in blocks.iter_mut().zip(entries) {
        if let (Block::Try(long), Entry::Try(index)) = (&block, entry)
            && !long.is_playing
            && long.lines.len() > 1
        {
            *block = Block::Try(set_try(list, *index, notation, setter, true));
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

/// Which blocks are shown: all, or a stretch that leaves room for a fold line.
fn window(blocks: &[Block], current: usize, room: f32, setter: &Setter<'_>) -> Range<usize> {
    if setter.height_of(blocks) <= room {
        return 0..blocks.len();
    }
    let room = room - setter.fold_height();
    // The newest blocks that fit, at least one.
    let mut start = blocks.len();
    let mut used = 0.0;
    while start > 0 && used + setter.height(&blocks[start - 1]) <= room {
        start -= 1;
        used += setter.height(&blocks[start]);
    }
    if current >= start {
        return start.min(blocks.len() - 1)..blocks.len();
    }
    // The current move lies in the fold: it opens, two blocks before it. Where even those leave no room, fewer.
    for before in [2, 1, 0] {
        let start = current.saturating_sub(before);
        let room = if start == 0 { room + setter.fold_height() } else { room };
        let mut end = start;
        let mut used = 0.0;
        while end < blocks.len() && used + setter.height(&blocks[end]) <= room {
            used += setter.height(&blocks[end]);
            end += 1;
        }
        if end > current {
            return start..end;
        }
    }
    current..current + 1
}

/// `moves 1 – 34 · 1 try`.
fn fold_text(folded: &[Entry], list: &MoveList) -> String {
    let numbers: Vec<u32> = folded
        .iter()
        .filter_map(|entry| match entry {
            Entry::Moves(range) => list.main.get(range.start).map(|played| played.number),
            Entry::Try(_) => None,
        })
        .collect();
    let moves = match (numbers.first(), numbers.last()) {
        (Some(first), Some(last)) if first == last => Some(format!("move {first}")),
        (Some(first), Some(last)) => Some(format!("moves {first} – {last}")),
        _ => None,
    };
    if let (false, Some(first), Some(last)) = (list.fold.is_empty(), numbers.first(), numbers.last()) {
        return list.fold.replace("{from}", &first.to_string()).replace("{to}", &last.to_string());
    }
    let count_of = |wanted: fn(LineKind) -> bool| {
        let is_wanted = |entry: &&Entry| matches!(entry, Entry::Try(index) if wanted(list.tries[*index].line));
        folded.iter().filter(is_wanted).count()
    };
    let counted = |count: usize, one: &str, many: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        count => Some(format!("{count} {many}")),
    };
    let tries = counted(count_of(|line| line == LineKind::Try), "try", "tries");
    let others = counted(count_of(|line| line != LineKind::Try), "variation", "variations");
    moves.into_iter().chain(tries).chain(others).collect::<Vec<_>>().join("  ·  ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::film::{Look, Own};
    use crate::timeline::{Layout, ThemeName};
    use crate::units::Size;

    const TOP: f32 = 366.0;

    fn plan() -> Plan {
        let size = Size { width: 1920, height: 1080 };
        Plan::of(Look {
            size,
            theme: ThemeName::Dusk,
            layout: Layout::Panel,
            notation: Notation::Figurine,
            own: Own::default(),
        })
    }

    fn set(list: &MoveList) -> SetList {
        set_list(list, TOP, &plan(), Notation::Figurine, &mut Typesetter::default())
    }

    fn played(count: usize) -> Vec<ListMove> {
        let side = |ply: usize| if ply.is_multiple_of(2) { Side::White } else { Side::Black };
        (0..count)
            .map(|ply| ListMove { number: ply as u32 / 2 + 1, side: side(ply), san: "Nf3".into(), muted: false })
            .collect()
    }

    fn a_try(after: usize, within: Option<usize>, count: usize) -> TryLine {
        let moves = played(after + count).split_off(after).into();
        let label = if within.is_none() { "TRY" } else { "OR" }.into();
        TryLine { after, within, line: LineKind::Try, label, moves, verdict: "draw".into() }
    }

    fn shape(set: &SetList) -> Vec<String> {
        set.blocks
            .iter()
            .map(|(_, block)| match block {
                Block::Fold(text) => text.clone(),
                Block::Row(row) => row.number.clone(),
                Block::Try(block) => block.label.clone(),
            })
            .collect()
    }

    fn lit_in(set: &SetList) -> usize {
        let tones = |block: &Block| match block {
            Block::Fold(_) => Vec::new(),
            Block::Row(row) => row.cells.iter().flatten().map(|(_, tone)| *tone).collect(),
            Block::Try(block) => block.lines.iter().flatten().map(|word| word.tone).collect(),
        };
        set.blocks.iter().flat_map(|(_, block)| tones(block)).filter(|tone| *tone == Tone::Lit).count()
    }

    /// Where the last block ends.
    fn end(set: &SetList) -> f32 {
        let mut typesetter = Typesetter::default();
        let plan = plan();
        let setter = Setter::new(&plan, &mut typesetter);
        set.blocks.last().map_or(TOP, |(top, block)| top + setter.height(block))
    }

    #[test]
    fn sixty_moves_fold_at_the_top_and_the_current_one_stays_last() {
        for count in 1..=120 {
            let list = MoveList {
                main: played(count).into(),
                tries: [].into(),
                current: Current::Main(count - 1),
                ..MoveList::default()
            };
            let set = set(&list);
            assert!(end(&set) <= plan().head.bottom, "{count} plies end at {}", end(&set));
            assert_eq!(lit_in(&set), 1);
            assert_eq!(shape(&set).last(), Some(&count.div_ceil(2).to_string()));
        }
        let list =
            MoveList { main: played(120).into(), tries: [].into(), current: Current::Main(119), ..MoveList::default() };
        assert_eq!(shape(&set(&list)), ["moves 1 – 53", "54", "55", "56", "57", "58", "59", "60"]);
    }

    #[test]
    fn wherever_one_returns_the_move_is_in_view() {
        for current in 0..120 {
            let list = MoveList {
                main: played(120).into(),
                tries: [].into(),
                current: Current::Main(current),
                ..MoveList::default()
            };
            let set = set(&list);
            assert_eq!(lit_in(&set), 1, "at ply {current}");
            assert!(end(&set) <= plan().head.bottom);
        }
        let list =
            MoveList { main: played(120).into(), tries: [].into(), current: Current::Main(40), ..MoveList::default() };
        assert_eq!(shape(&set(&list))[..4], ["moves 1 – 18", "19", "20", "21"]);
        let list =
            MoveList { main: played(120).into(), tries: [].into(), current: Current::None, ..MoveList::default() };
        assert_eq!(shape(&set(&list))[0], "1");
    }

    #[test]
    fn a_try_hangs_under_its_move_and_another_from_it_under_that() {
        let tries = vec![a_try(3, None, 3), a_try(4, Some(0), 2), a_try(0, None, 1)];
        let list =
            MoveList { main: played(6).into(), tries: tries.into(), current: Current::Main(5), ..MoveList::default() };
        assert_eq!(shape(&set(&list)), ["TRY", "1", "2", "TRY", "OR", "3"]);
    }

    #[test]
    fn the_fold_counts_the_tries_inside() {
        let tries = vec![a_try(3, None, 3), a_try(7, None, 3)];
        let list = MoveList {
            main: played(60).into(),
            tries: tries.into(),
            current: Current::Main(59),
            ..MoveList::default()
        };
        assert_eq!(shape(&set(&list))[0], "moves 1 – 23  ·  2 tries");
        let own = MoveList { fold: "Züge {from} – {to}".into(), ..list };
        assert_eq!(shape(&set(&own))[0], "Züge 1 – 23");
    }

    #[test]
    fn a_finished_try_shortens_where_space_is_short_and_never_takes_four_lines() {
        let tries = vec![a_try(6, None, 40)];
        let playing = MoveList {
            main: played(8).into(),
            tries: tries.clone().into(),
            current: Current::Try(0, 39),
            ..MoveList::default()
        };
        let lines = |set: &SetList| {
            set.blocks
                .iter()
                .find_map(|(_, block)| match block {
                    Block::Try(block) => Some(block.lines.clone()),
                    _ => None,
                })
                .expect("the try is in view")
        };
        let long = lines(&set(&playing));
        assert_eq!(long.len(), 3);
        assert_eq!((long[0][0].text.as_str(), long[0][1].text.as_str()), ("4.♘f3", "…"));
        assert_eq!(lit_in(&set(&playing)), 1);
        let finished = MoveList {
            main: played(14).into(),
            tries: tries.into(),
            current: Current::Main(13),
            ..MoveList::default()
        };
        let short = lines(&set(&finished));
        let words: Vec<&str> = short.iter().flatten().map(|word| word.text.as_str()).collect();
        assert_eq!(words, ["4.♘f3", "…", "draw"]);
    }

    #[test]
    fn black_s_first_move_leaves_white_s_place_open() {
        let main = played(3).split_off(1).into();
        let list = MoveList { main, tries: [].into(), current: Current::Main(0), ..MoveList::default() };
        match &set(&list).blocks[0].1 {
            Block::Row(row) => assert_eq!(row.cells[0], Some(("…".into(), Tone::Quiet))),
            other => panic!("{other:?} is no row"),
        }
    }

    #[test]
    fn a_list_scrolls_by_the_row_it_gains() {
        let list = |count| MoveList {
            main: played(count).into(),
            tries: [].into(),
            current: Current::Main(count - 1),
            ..MoveList::default()
        };
        assert_eq!(set(&list(4)).scroll_to(&set(&list(5))), 0.0);
        assert_eq!(set(&list(40)).scroll_to(&set(&list(41))), -62.0);
    }
}
