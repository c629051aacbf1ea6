//! Laws of painting: the same pixels however they come about, damage that holds all that differs, words that keep to
//! the title-safe part of the frame.

mod pictures;

use pictures::{busy, caption, card, card_picture, long_list, look, mark, mate, picture, study};
use plyreel::film::{Body, CaptionPicture, CardPicture, Current, Head, MoveList, Picture, RingPicture, ScenePicture};
use plyreel::paint::{Painter, Pixmap};
use plyreel::timeline::{CardKind, MarkRole, ThemeName};
use plyreel::units::{PixelRect, Square};
use proptest::prelude::*;
use std::sync::Arc;

const SMALL: (u32, u32) = (384, 216);

fn painter(theme: ThemeName) -> Painter {
    Painter::new(look(theme, SMALL.0, SMALL.1))
}

fn painted(painter: &mut Painter, picture: &Picture) -> Pixmap {
    let size = painter.look().size;
    let mut pixmap = Pixmap::new(size.width, size.height).expect("a frame");
    painter.paint(picture, &mut pixmap);
    pixmap
}

fn is_within(x: u32, y: u32, rect: &PixelRect) -> bool {
    (rect.x..rect.x + rect.width).contains(&x) && (rect.y..rect.y + rect.height).contains(&y)
}

/// The places where two frames differ.
fn differences(a: &Pixmap, b: &Pixmap) -> Vec<(u32, u32)> {
    let width = a.width();
    let pairs = a.pixels().iter().zip(b.pixels()).enumerate();
    pairs.filter(|(_, (a, b))| a != b).map(|(i, _)| (i as u32 % width, i as u32 / width)).collect()
}

/// Scenes that differ in one or several parts, as the frames of a film do.
fn scenes() -> impl Strategy<Value = ScenePicture> {
    let captions = prop_oneof![
        Just(CaptionPicture::default()),
        Just(caption("One line.")),
        Just(caption("Two lines, for there is more to be said about this move than one line of a caption can hold.")),
        (0.0f32..1.0, 0.0f32..1.0, 0.0f32..1.0).prop_map(|(enter, opacity, bar)| CaptionPicture {
            text: Some("What comes in.".into()),
            enter,
            leaving: Some(("What goes out.".into(), opacity)),
            bar,
        }),
    ];
    let marks = proptest::collection::vec((0usize..64, 0usize..5, 0.0f32..=1.0), 0..4);
    (0usize..3, 0usize..12, 0usize..12, proptest::option::of(0.0f32..1.0), captions, marks).prop_map(
        |(which, current, before, change, caption, marks)| {
            let mut scene = [study, long_list, busy][which]();
            let lit = |index: usize| {
                let last = scene.list.main.len() - 1;
                let current = if index == 11 { Current::None } else { Current::Main(last.saturating_sub(index)) };
                Arc::new(MoveList { current, ..(*scene.list).clone() })
            };
            let (list, list_before) = (lit(current), change.map(|change| (lit(before), change)));
            for (index, role, enter) in marks {
                let role = [MarkRole::Key, MarkRole::Threat, MarkRole::Guard, MarkRole::Trap, MarkRole::Dot][role];
                let square = Square::from_index(index).expect("on the board");
                let mut mark = mark(role, "a1");
                (mark.square, mark.enter) = (square, enter);
                scene.board.marks.push(mark);
            }
            ScenePicture { list, list_before, caption, ..scene }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn damage_holds_all_that_differs_and_repainting_it_is_enough(before in scenes(), after in scenes()) {
        let (before, after) = (picture(before), picture(after));
        let mut painter = painter(ThemeName::Dusk);
        let damage = painter.damage(&before, &after);
        let (old, new) = (painted(&mut painter, &before), painted(&mut painter, &after));
        for (x, y) in differences(&old, &new) {
            prop_assert!(damage.iter().any(|rect| is_within(x, y, rect)), "({x}, {y}) lies outside {damage:?}");
        }
        let mut repainted = painted(&mut painter, &before);
        painter.paint_within(&after, &mut repainted, &damage);
        prop_assert_eq!(differences(&repainted, &new).len(), 0);
    }

    #[test]
    fn what_was_painted_before_leaves_no_trace(first in scenes(), second in scenes()) {
        let (first, second) = (picture(first), picture(second));
        let mut warm = painter(ThemeName::Tide);
        painted(&mut warm, &first);
        let from_warm = painted(&mut warm, &second);
        let from_cold = painted(&mut painter(ThemeName::Tide), &second);
        prop_assert_eq!(differences(&from_warm, &from_cold).len(), 0);
    }
}

const CARDS: [CardKind; 5] = [CardKind::Title, CardKind::Chapter, CardKind::Position, CardKind::End, CardKind::Credits];

#[test]
fn equal_pictures_have_no_damage_and_another_scene_damages_all() {
    let mut painter = painter(ThemeName::Dusk);
    assert!(painter.damage(&picture(study()), &picture(study())).is_empty());
    let all = painter.damage(&picture(study()), &card_picture(CardKind::End));
    assert_eq!(all, [PixelRect { x: 0, y: 0, width: SMALL.0, height: SMALL.1 }]);
}

#[test]
fn a_change_of_caption_leaves_the_board_alone() {
    let mut painter = painter(ThemeName::Dusk);
    let changed = ScenePicture { caption: caption("Other words."), ..study() };
    let damage = painter.damage(&picture(study()), &picture(changed));
    let lowest_board_row = (58 + 8 * 97) * SMALL.1 / 1080;
    assert!(!damage.is_empty() && damage.iter().all(|rect| rect.y >= lowest_board_row), "{damage:?}");
}

/// Frames of the same scenes without a word in them.
fn wordless(scene: &ScenePicture) -> ScenePicture {
    let side = None;
    ScenePicture {
        head: Arc::new(Head { side, ..Head::default() }),
        list: Arc::default(),
        list_before: None,
        caption: CaptionPicture::default(),
        board: scene.board.clone(),
    }
}

#[test]
fn no_word_leaves_the_title_safe_frame() {
    for (width, height) in [(1280, 720), (640, 400), (854, 480)] {
        let mut painter = Painter::new(look(ThemeName::Dusk, width, height));
        for scene in [study(), long_list(), busy(), mate()] {
            let bare = painted(&mut painter, &picture(wordless(&scene)));
            let full = painted(&mut painter, &picture(scene));
            assert_safe(&differences(&bare, &full), width, height);
        }
        for kind in CARDS {
            let mut bare = card(kind);
            (bare.kicker, bare.line, bare.second, bare.task, bare.pause) = (None, None, None, None, None);
            (bare.title, bare.rows, bare.moves) = (String::new(), Vec::new(), Vec::new());
            let bare = painted(&mut painter, &Picture { body: Body::Card(Arc::new(bare)), beneath: None });
            let full = painted(&mut painter, &card_picture(kind));
            assert_safe(&differences(&bare, &full), width, height);
        }
    }
}

fn assert_safe(places: &[(u32, u32)], width: u32, height: u32) {
    assert!(!places.is_empty());
    let columns = width / 20..width - width / 20;
    let rows = height / 20..height - height / 20;
    for (x, y) in places {
        assert!(columns.contains(x) && rows.contains(y), "a word reaches ({x}, {y}) of {width} × {height}");
    }
}

#[test]
fn a_fade_starts_from_what_was_and_ends_in_what_comes() {
    let mut painter = painter(ThemeName::Dusk);
    let before = picture(study());
    let fading = |covered| Picture {
        body: card_picture(CardKind::Title).body,
        beneath: Some((Arc::new(before.body.clone()), covered)),
    };
    let (old, new) = (painted(&mut painter, &before), painted(&mut painter, &card_picture(CardKind::Title)));
    assert!(differences(&painted(&mut painter, &fading(0.0)), &old).is_empty());
    assert!(differences(&painted(&mut painter, &fading(0.999_9)), &new).is_empty());
    // In the middle there is nothing but the ground, whatever was before and comes after.
    let half = painted(&mut painter, &fading(0.5));
    let others = Picture {
        body: card_picture(CardKind::Chapter).body,
        beneath: Some((Arc::new(picture(long_list()).body), 0.5)),
    };
    assert!(differences(&painted(&mut painter, &others), &half).is_empty());
}

#[test]
fn between_two_boards_the_board_stays_while_the_words_change() {
    let mut painter = painter(ThemeName::Dusk);
    let (before, after) = (picture(study()), picture(busy()));
    let fading = Picture { body: after.body.clone(), beneath: Some((Arc::new(before.body.clone()), 0.5)) };
    let (old, new) = (painted(&mut painter, &before), painted(&mut painter, &after));
    let half = painted(&mut painter, &fading);
    let at = |pixmap: &Pixmap, x, y| u32::from(pixmap.pixel(x, y).expect("inside").red());
    let unit = SMALL.1 as f32 / 1080.0;
    let mut seen = 0;
    for (x, y) in (0..8).flat_map(|file| (0..8).map(move |row| (file, row))) {
        let place = |n: u32, from: f32| ((from + (n as f32 + 0.5) * 97.0) * unit) as u32;
        let (x, y) = (place(x, 136.0), place(y, 58.0));
        let middle = u32::midpoint(at(&old, x, y), at(&new, x, y));
        assert!(middle.abs_diff(at(&half, x, y)) <= 1);
        seen += u32::from(at(&old, x, y) != at(&new, x, y));
    }
    assert!(seen > 4, "pieces dissolve");
    // The title's place: neither text is there.
    let words = |pixmap: &Pixmap| {
        let rows = (100.0 * unit) as u32..(200.0 * unit) as u32;
        let columns = (1000.0 * unit) as u32..(1824.0 * unit) as u32;
        rows.flat_map(|y| columns.clone().map(move |x| (x, y))).filter(|&(x, y)| at(pixmap, x, y) > 128).count()
    };
    assert!(words(&old) > 20 && words(&half) == 0);
}

#[test]
fn a_countdown_damages_its_ring_alone() {
    let mut painter = Painter::new(look(ThemeName::Tide, 640, 360));
    let at = |spent: f32, left, change| {
        let ring = Some(RingPicture { ticks: 30, spent, left, change });
        let card = CardPicture { ring, ..card(CardKind::Position) };
        Picture { body: Body::Card(Arc::new(card)), beneath: None }
    };
    let (before, after) = (at(10.98, 20, None), at(11.01, 19, Some(0.2)));
    let damage = painter.damage(&before, &after);
    let area: u32 = damage.iter().map(|rect| rect.width * rect.height).sum();
    assert!(area < 640 * 360 / 60, "{damage:?}");
    let (old, new) = (painted(&mut painter, &before), painted(&mut painter, &after));
    assert!(!differences(&old, &new).is_empty());
    for (x, y) in differences(&old, &new) {
        assert!(damage.iter().any(|rect| is_within(x, y, rect)), "({x}, {y}) lies outside {damage:?}");
    }
    let mut repainted = old.clone();
    painter.paint_within(&after, &mut repainted, &damage);
    assert!(differences(&repainted, &new).is_empty());
}

#[test]
fn no_size_however_odd_makes_painting_fail() {
    for (width, height) in [(1, 1), (16, 9), (64, 36), (640, 100), (100, 640), (320, 320)] {
        let mut painter = Painter::new(look(ThemeName::Ink, width, height));
        for scene in [study(), long_list()] {
            painted(&mut painter, &picture(scene));
        }
        for kind in CARDS {
            painted(&mut painter, &card_picture(kind));
        }
    }
}

/// Only the tick that melts and the number are painted again, and the whole comes out as if painted anew.
#[test]
fn a_countdown_repaints_what_changed_of_it() {
    let look = look(ThemeName::Tide, 640, 360);
    let at = |spent: f32, left: u32, change: Option<f32>| {
        let picture = card_picture(CardKind::Position);
        let Body::Card(card) = picture.body else { panic!("a card") };
        let ring = Some(RingPicture { ticks: 30, spent, left, change });
        Picture { body: Body::Card(Arc::new(CardPicture { ring, ..(*card).clone() })), beneath: None }
    };
    let (mut painter, mut kept) = (Painter::new(look), Pixmap::new(640, 360).expect("a frame"));
    let mut before = at(10.9, 20, None);
    painter.paint(&before, &mut kept);
    for after in [at(10.95, 20, None), at(11.0, 19, Some(0.5)), at(11.1, 19, None), at(29.9, 1, None)] {
        let rects = painter.damage(&before, &after);
        let area: u32 = rects.iter().map(|rect| rect.width * rect.height).sum();
        assert!(area > 0 && area < 640 * 360 / 8, "{rects:?}");
        painter.paint_within(&after, &mut kept, &rects);
        let mut anew = Pixmap::new(640, 360).expect("a frame");
        Painter::new(look).paint(&after, &mut anew);
        assert!(kept.data() == anew.data(), "{after:?}");
        before = after;
    }
}
