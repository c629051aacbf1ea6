//! Lists of many shapes, laid out.

use super::*;
use crate::film::{Look, Own, TryLine};
use crate::timeline::{Layout, LineKind, ThemeName};
use crate::units::{Side, Size};

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
    let list = MoveList { main: played(120).into(), tries: [].into(), current: Current::None, ..MoveList::default() };
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
    let list =
        MoveList { main: played(60).into(), tries: tries.into(), current: Current::Main(59), ..MoveList::default() };
    assert_eq!(shape(&set(&list))[0], "moves 1 – 23  ·  2 tries");
    for (own, told) in [
        ("Züge {from} – {to}", "Züge 1 – 23"),
        ("Züge {from} – {to} · Proben: {tries}", "Züge 1 – 23  ·  Proben: 2"),
        ("Züge {from} – {to} · Proben: {tries} · Varianten: {variations}", "Züge 1 – 23  ·  Proben: 2"),
        ("bis {to}, {tries} Proben", "bis 23, 2 Proben"),
    ] {
        assert_eq!(shape(&set(&MoveList { fold: own.into(), ..list.clone() }))[0], told);
    }
    // A part is left out where what it counts is not there.
    let folded = Folded { moves: None, tries: 0, variations: 3 };
    assert_eq!(folded.told(""), "3 variations");
    assert_eq!(folded.told("Züge {from} – {to} · Proben: {tries} · Varianten: {variations}"), "Varianten: 3");
    assert_eq!(folded.told("früher"), "früher");
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
    let finished =
        MoveList { main: played(14).into(), tries: tries.into(), current: Current::Main(13), ..MoveList::default() };
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

/// The list's order found the long way: every row looks through all tries, and every try through all that hang.
fn by_looking(list: &MoveList) -> Vec<Entry> {
    fn descends(list: &MoveList, mut parent: Option<usize>, ancestor: usize) -> bool {
        for _ in 0..list.tries.len() {
            match parent {
                Some(index) if index == ancestor => return true,
                Some(index) => parent = list.tries.get(index).and_then(|line| line.within),
                None => return false,
            }
        }
        false
    }
    let mut hung = vec![false; list.tries.len()];
    let mut entries = Vec::new();
    let mut hang = |after: Range<usize>, entries: &mut Vec<Entry>| {
        for (index, line) in list.tries.iter().enumerate() {
            let is_first_level = line.within.is_none_or(|parent| parent >= list.tries.len() || parent == index);
            if hung[index] || !is_first_level || !after.contains(&line.after) {
                continue;
            }
            hung[index] = true;
            entries.push(Entry::Try(index));
            for (inner, line) in list.tries.iter().enumerate() {
                if !hung[inner] && descends(list, line.within, index) {
                    hung[inner] = true;
                    entries.push(Entry::Try(inner));
                }
            }
        }
    };
    hang(0..1, &mut entries);
    let mut at = 0;
    while at < list.main.len() {
        let is = |index: usize, side: Side| list.main.get(index).is_some_and(|played| played.side == side);
        let end = at + 1 + usize::from(is(at, Side::White) && is(at + 1, Side::Black));
        entries.push(Entry::Moves(at..end));
        hang(at + 1..end + 1, &mut entries);
        at = end;
    }
    hang(0..usize::MAX, &mut entries);
    entries
}

proptest::proptest! {
    #[test]
    fn tries_hang_where_one_finds_them_by_looking(
        count in 0usize..12,
        first in 0usize..2,
        lines in proptest::collection::vec((0usize..16, proptest::option::weighted(0.4, 0usize..9)), 0..9),
    ) {
        let main = played(first + count).split_off(first).into();
        let tries = lines.into_iter().map(|(after, within)| a_try(after, within, 2)).collect();
        let list = MoveList { main, tries, ..MoveList::default() };
        proptest::prop_assert_eq!(entries(&list), by_looking(&list));
    }
}

#[test]
fn where_everything_has_room_nothing_is_folded() {
    let shown = |room: f32| window(3, &mut |_| 10.0, 2, room, 5.0);
    assert_eq!(shown(30.0), 0..3, "without a fold line there is room for all three");
    assert_eq!(shown(29.0), 1..3);
    assert_eq!(shown(20.0), 2..3);
}
