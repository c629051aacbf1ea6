//! Whether words fit: generated titles, credits, tasks, captions and lines in every layout and shape of frame, each box of
//! words drawn alone and its covered pixels looked at. A short form runs by default; `PLYREEL_TEXTS=500` sets how many.

use super::card::card_words;
use super::design::Form;
use super::head::{MovesPlace, set_head};
use super::kit::Kit;
use super::layout::Plan;
use super::list::set_list;
use super::rows::paint_list;
use super::scene::list_area;
use super::strip::{set_chip, set_strip};
use super::tile::{Tile, whole};
use super::words::SetWords;
use super::{caption, kit};
use crate::film::{
    BoardPicture, CaptionPicture, CardPicture, Current, Head, Line, ListMove, Look, MoveList, Own, TryLine,
};
use crate::timeline::{CardKind, Layout, LineKind, Notation, ThemeName};
use crate::units::{PixelRect, Role, Side, Size};
use std::collections::BTreeMap;
use tiny_skia::Pixmap;

/// The shapes: wide, wider, narrow wide, square, between, tall, telephone's.
const FRAMES: [(u32, u32); 8] =
    [(640, 360), (860, 360), (480, 360), (360, 360), (360, 400), (360, 450), (400, 560), (360, 640)];

/// Words of several scripts, lengths and habits, with figurines.
const WORDS: [&str; 40] = [
    "the",
    "a",
    "of",
    "king",
    "Rook",
    "two",
    "roads,",
    "pawn",
    "mate!",
    "Zugzwang",
    "underpromotion",
    "counter-attack",
    "Donaudampfschifffahrtskapitän",
    "Überlastungsanzeige",
    "ÉTUDE",
    "Świątynia",
    "Příliš",
    "žluťoučký",
    "kůň",
    "ångström",
    "Győzelem",
    "şövalye",
    "маяк",
    "Ладья",
    "превышение",
    "достопримечательность",
    "и",
    "Η",
    "σκακιέρα",
    "1895",
    "½–½",
    "♔g7!",
    "♘f3+",
    "8.♕xd4#",
    "WWW",
    "illicit",
    "jqpy",
    "(2nd",
    "prize)",
    "—",
];

/// Marsaglia's xorshift of 64 bits: the same texts every time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 33) as usize % count
    }

    /// Words of this many characters at most.
    fn words(&mut self, most: usize) -> String {
        let mut text = String::new();
        for _ in 0..60 {
            let word = WORDS[self.below(WORDS.len())];
            let longer = if text.is_empty() { word.to_owned() } else { format!("{text} {word}") };
            if longer.chars().count() > most {
                break;
            }
            text = longer;
        }
        if text.is_empty() { "i".into() } else { text }
    }

    fn moves(&mut self, first: usize, count: usize) -> Line {
        const SANS: [&str; 8] = ["Kf2", "O-O-O", "Rd5+", "exd8=Q+!?", "Nb1xd2+!!", "c7", "Qh4xe1#", "Bg5"];
        let played = |ply: usize, san: &str| ListMove {
            number: ply as u32 / 2 + 1,
            side: if ply.is_multiple_of(2) { Side::White } else { Side::Black },
            san: san.into(),
            muted: false,
        };
        let moves: Vec<ListMove> = (first..first + count).map(|ply| played(ply, SANS[self.below(8)])).collect();
        moves.into()
    }

    /// A line of 1 to 60 moves, tries hanging from it, one move of it all current.
    fn list(&mut self) -> MoveList {
        let count = 1 + self.below(120);
        let main = self.moves(0, count);
        let mut tries = Vec::new();
        for _ in 0..self.below(4) {
            let after = self.below(count);
            let moves = 1 + self.below(24);
            let moves = self.moves(after, moves);
            tries.push(TryLine {
                after,
                within: None,
                line: LineKind::Try,
                label: "TRY".into(),
                moves,
                verdict: "stalemate".into(),
            });
        }
        tries.sort_by_key(|line| line.after);
        let current = match self.below(8) {
            0 => Current::None,
            1 | 2 if !tries.is_empty() => {
                let index = self.below(tries.len());
                Current::Try(index, self.below(tries[index].moves.len()))
            }
            3 => Current::Main(self.below(count)),
            _ => Current::Main(count - 1),
        };
        MoveList { main, tries: tries.into(), current, ..MoveList::default() }
    }
}

/// The pixels that something drawn on nothing covers.
struct Mask {
    name: String,
    cover: Vec<bool>,
}

impl Mask {
    fn of(name: impl Into<String>, pixels: &Pixmap) -> Mask {
        Mask { name: name.into(), cover: pixels.pixels().iter().map(|pixel| pixel.alpha() > 0).collect() }
    }

    /// The first covered pixel that is nowhere in these rectangles (left, top, right, bottom), told.
    fn outside(&self, places: &[(f32, f32, f32, f32)], width: u32) -> Option<String> {
        let covered = self.cover.iter().enumerate().filter(|(_, covered)| **covered);
        let mut at = covered.map(|(index, _)| ((index as u32 % width) as f32, (index as u32 / width) as f32));
        let is_in = |x: f32, y: f32| {
            places
                .iter()
                .any(|(left, top, right, bottom)| x + 1.0 > *left && x < *right && y + 1.0 > *top && y < *bottom)
        };
        let (x, y) = at.find(|(x, y)| !is_in(*x, *y))?;
        Some(format!("{}: ({x}, {y}) lies outside {places:?}", self.name))
    }

    /// How much it shares with another, told.
    fn shared(&self, other: &Mask) -> Option<String> {
        let both = self.cover.iter().zip(&other.cover).filter(|(a, b)| **a && **b).count();
        (both > 0).then(|| format!("{} and {} share {both} pixels", self.name, other.name))
    }
}

fn frame(size: Size) -> Pixmap {
    Pixmap::new(size.width, size.height).expect("a frame")
}

/// The boxes of a head, each with its place: lines of one type size and colour are one box.
fn head_masks(words: &SetWords, kit: &mut Kit) -> Vec<Mask> {
    let mut groups: Vec<(String, SetWords)> = Vec::new();
    for line in &words.lines {
        let name = format!("{:?} {:?} {:.1} px", line.ink, line.style.font, line.style.size);
        match groups.iter_mut().find(|(other, _)| *other == name) {
            Some((_, group)) => group.lines.push(line.clone()),
            None => groups.push((name, SetWords { lines: vec![line.clone()], ..SetWords::default() })),
        }
    }
    groups.push(("tile".into(), SetWords { tile: words.tile, ..SetWords::default() }));
    let mut masks = Vec::new();
    for (name, group) in groups {
        let mut pixels = frame(kit.plan.size);
        group.draw(&mut kit::canvas(&mut pixels), &mut kit.typesetter, &mut kit.sprites, kit.theme);
        masks.push(Mask::of(name, &pixels));
    }
    masks
}

/// The moves as they are drawn, and the part of the frame they are painted in.
fn moves_mask(list: &MoveList, place: MovesPlace, kit: &mut Kit) -> Option<(Mask, PixelRect)> {
    let mut pixels = frame(kit.plan.size);
    let (plan, em) = (&kit.plan, kit.plan.type_sizes.moves);
    let canvas = &mut kit::canvas(&mut pixels);
    match place {
        MovesPlace::Rows(top) => {
            let set = set_list(list, top, plan, kit.notation, &mut kit.typesetter);
            paint_list(canvas, &set, plan, kit.theme, &mut kit.typesetter);
        }
        MovesPlace::Strip(place) => {
            set_strip(list, place, em, kit.notation, &mut kit.typesetter).paint(canvas, kit.theme, &mut kit.typesetter);
        }
        MovesPlace::Chip(place) => {
            set_chip(list, place, em, kit.notation, &mut kit.typesetter).paint(canvas, kit.theme, &mut kit.typesetter);
        }
        MovesPlace::Nowhere => return None,
    }
    Some((Mask::of("moves", &pixels), list_area(place, kit)))
}

fn caption_mask(words: Option<&str>, head: &Head, kit: &mut Kit) -> Mask {
    let picture = CaptionPicture { text: words.map(Into::into), ..CaptionPicture::default() };
    let mut tile = Tile::cut(&frame(kit.plan.size), whole(kit.plan.size));
    caption::paint_caption(&mut tile, &picture, head, kit);
    Mask::of("caption", tile.pixels())
}

fn edges(rect: PixelRect) -> (f32, f32, f32, f32) {
    (rect.x as f32, rect.y as f32, (rect.x + rect.width) as f32, (rect.y + rect.height) as f32)
}

#[test]
fn words_of_any_length_fit_their_places_and_never_touch() {
    let count = option_env!("PLYREEL_TEXTS").and_then(|text| text.parse().ok()).unwrap_or(24);
    let layouts = [Layout::Panel, Layout::LowerThird, Layout::Overlay];
    let mut kits: Vec<Kit> = Vec::new();
    for (layout, (width, height)) in layouts.into_iter().flat_map(|layout| FRAMES.map(|frame| (layout, frame))) {
        let size = Size { width, height };
        let look = Look { size, theme: ThemeName::Dusk, layout, notation: Notation::Figurine, own: Own::default() };
        kits.push(Kit::of(look));
    }
    let mut dice = Dice(0x5EED_CE11_B0A7_D1CE);
    let (mut boxes, mut set, mut refused) = (0, 0, 0);
    let mut refusals: BTreeMap<String, usize> = BTreeMap::new();
    let mut kinds: BTreeMap<String, (usize, String)> = BTreeMap::new();
    for text in 0..count {
        let lengths = [1, 8, 20, 40, 70, 100, 120];
        let most = lengths[text % lengths.len()];
        let head = Head {
            kicker: dice.words(28),
            title: dice.words(most),
            credit: {
                let most = 10 + dice.below(90);
                dice.words(most)
            },
            task: {
                let most = 24 + dice.below(16);
                dice.words(most)
            },
            side: Some([Side::White, Side::Black][text % 2]),
        };
        let most = 12 + dice.below(73);
        let words = dice.words(most);
        let words = (text % 6 != 5).then_some(words.as_str());
        let list = dice.list();
        for kit in &mut kits {
            let Plan { size, form, .. } = kit.plan;
            let what = format!("{head:?}, {words:?}");
            let mut found: Vec<(&str, String)> = Vec::new();
            let head_set = set_head(&head, &kit.plan, &mut kit.typesetter);
            // A text that is refused is never in a film; what it would cover does not matter.
            if !head_set.words.refused.is_empty()
                || words.is_some_and(|words| caption::is_too_long(words, &kit.plan, &mut kit.typesetter))
            {
                refused += 1;
                *refusals.entry(format!("{form:?} {} × {}", size.width, size.height)).or_insert(0) += 1;
                continue;
            }
            let safe = |side: u32| (side as f32 * 0.05 - 0.5, side as f32 * 0.95 + 0.5);
            let ((left, right), (top, bottom)) = (safe(size.width), safe(size.height));
            let safe = [(left, top, right, bottom)];
            let mut masks = head_masks(&head_set.words, kit);
            let places: Vec<_> = head_set
                .places
                .iter()
                .map(|place| edges(kit.plan.area(place.left, place.top, place.right, place.bottom)))
                .collect();
            found.extend(masks.iter().filter_map(|mask| mask.outside(&places, size.width)).map(|told| ("head", told)));
            let caption = caption_mask(words, &head, kit);
            let place = [edges(caption::area(&kit.plan))];
            found.extend(caption.outside(&place, size.width).map(|told| ("caption", told)));
            masks.push(caption);
            if let Some((moves, area)) = moves_mask(&list, head_set.moves, kit) {
                found.extend(moves.outside(&[edges(area)], size.width).map(|told| ("moves", told)));
                masks.push(moves);
            }
            found.extend(masks.iter().filter_map(|mask| mask.outside(&safe, size.width)).map(|told| ("safe", told)));
            if form != Form::Bare {
                let board = edges(kit.plan.board_area);
                let mut pixels = frame(size);
                kit::canvas(&mut pixels).rectangle(
                    board.0,
                    board.1,
                    board.2 - board.0,
                    board.3 - board.1,
                    kit.theme.text,
                );
                masks.push(Mask::of("board", &pixels));
            }
            for (i, mask) in masks.iter().enumerate() {
                let shared = masks[i + 1..].iter().filter_map(|other| mask.shared(other));
                found.extend(shared.map(|told| ("shared", told)));
            }
            for (kind, found) in found {
                let kind = format!("{kind} in {form:?} {} × {}", size.width, size.height);
                kinds.entry(kind).or_insert_with(|| (0, format!("{found}; {what}"))).0 += 1;
            }
            boxes += masks.len();
            set += 1;
        }
    }
    let told: Vec<String> =
        kinds.iter().map(|(kind, (count, first))| format!("{count} × {kind}, as {first}")).collect();
    assert!(kinds.is_empty(), "of {boxes} boxes in {set} heads\n{}", told.join("\n"));
    println!(
        "{count} texts in {} layouts and frames: {set} heads with {boxes} boxes set and {refused} refused, no box outside its \
         place, none touching; refused in {refusals:?}",
        kits.len()
    );
}

#[test]
fn words_of_cards_leave_the_safe_frame_neither_above_nor_below_or_are_refused() {
    let count = option_env!("PLYREEL_TEXTS").and_then(|text| text.parse().ok()).unwrap_or(24);
    let mut dice = Dice(0x0CA2_D5A9_E0FF_1CE5);
    let kinds = [CardKind::Title, CardKind::Chapter, CardKind::Position, CardKind::End, CardKind::Credits];
    let (mut set, mut beyond) = (0, Vec::new());
    for text in 0..count {
        let most = [8, 20, 40, 70, 100, 120][text % 6];
        let mut maybe = |most: usize| (dice.below(3) > 0).then(|| dice.words(most));
        let (kicker, line, second, task) = (maybe(28), maybe(60), maybe(60), maybe(34));
        let (pause, title) = (maybe(20), dice.words(most));
        let rows = (0..dice.below(12)).map(|_| (dice.words(20), dice.words(50))).collect::<Vec<_>>();
        for (kind, (width, height)) in kinds.into_iter().flat_map(|kind| FRAMES.map(|frame| (kind, frame))) {
            let card = CardPicture {
                kind,
                kicker: kicker.clone(),
                title: title.clone(),
                line: line.clone(),
                second: second.clone(),
                task: task.clone().map(|task| (task, Side::White)),
                hero: Role::Rook,
                progress: (kind == CardKind::Chapter).then_some((1, 3)),
                board: (kind == CardKind::Position).then(BoardPicture::default),
                moves: Vec::new(),
                rows: if kind == CardKind::Credits { rows.clone() } else { Vec::new() },
                pause: pause.clone().filter(|_| kind == CardKind::Position),
                ring: None,
            };
            let size = Size { width, height };
            let layout = Layout::Panel;
            let look = Look { size, theme: ThemeName::Dusk, layout, notation: Notation::Figurine, own: Own::default() };
            let mut kit = Kit::of(look);
            let words = card_words(&card, &kit.plan, &mut kit.typesetter);
            if !words.refused.is_empty() {
                continue;
            }
            set += 1;
            let (top, bottom) = (height as f32 * 0.05 - 1.0, height as f32 * 0.95 + 1.0);
            if let Some((first, last)) = words.ink(0, &mut kit.typesetter)
                && (first < top || last > bottom)
            {
                beyond.push(format!("{kind:?} {width} × {height}: {first} to {last}, {:?}", words.lines));
            }
        }
    }
    println!("{set} cards set, {} beyond the safe frame", beyond.len());
    assert!(2 * set > count * kinds.len() * FRAMES.len(), "only {set} cards can be set");
    assert!(
        beyond.is_empty(),
        "{} of {set}: {}",
        beyond.len(),
        beyond.iter().take(12).cloned().collect::<Vec<_>>().join("\n")
    );
}
