//! What holds for every board: same picture, same pixels; nothing leaves its place; damage is never understated; every
//! mark is known by its shape.

use super::board::{BoardGeometry, board_alone, paint_board, paint_empty_board, paint_position, repaint_position};
use super::brush::Bounds;
use super::drawn::{Drawn, damage};
use super::silhouette::PieceSet;
use super::sprites::Sprites;
use super::theme::Theme;
use crate::film::{
    ArrowPicture, BoardPicture, ForcePicture, GhostPicture, Gliding, KingMoment, MarkPicture, Own, Promoting, Sliced,
    Standing,
};
use crate::timeline::{MarkRole, ThemeName};
use crate::units::{Piece, PixelRect, Role, Side, Square};
use proptest::prelude::*;
use tiny_skia::Pixmap;

const THEMES: [ThemeName; 3] = [ThemeName::Dusk, ThemeName::Tide, ThemeName::Ink];

fn square(name: &str) -> Square {
    Square::parse(name).expect("a square")
}

fn piece(side: Side, role: Role) -> Piece {
    Piece { side, role }
}

fn mark(role: MarkRole, name: &str) -> MarkPicture {
    MarkPicture { role, square: square(name), enter: 1.0, opacity: 1.0 }
}

fn arrow(from: &str, to: &str, corner: Option<&str>) -> ArrowPicture {
    ArrowPicture {
        from: square(from),
        to: square(to),
        side: Side::White,
        plan: false,
        corner: corner.map(square),
        drawn: 1.0,
        head: 1.0,
        opacity: 1.0,
    }
}

/// One of everything.
fn busy() -> BoardPicture {
    let standing = |side, role, name| Standing { square: square(name), piece: piece(side, role), opacity: 1.0 };
    BoardPicture {
        standing: vec![
            standing(Side::White, Role::King, "g1"),
            standing(Side::White, Role::Knight, "f3"),
            standing(Side::Black, Role::King, "g8"),
            standing(Side::Black, Role::Rook, "c5"),
            standing(Side::Black, Role::Queen, "a6"),
        ],
        gliding: vec![Gliding { piece: piece(Side::White, Role::Bishop), x: 3.4, y: 4.3, lift: 0.8 }],
        sliced: vec![Sliced { piece: piece(Side::Black, Role::Pawn), square: square("e5"), progress: 0.4 }],
        promoting: Some(Promoting {
            square: square("b8"),
            side: Side::White,
            role: Role::Rook,
            climbed: 0.5,
            pawn: 0.8,
        }),
        footprint: Some(square("b2")),
        plinth: Some(square("f3")),
        marks: vec![
            mark(MarkRole::Key, "g7"),
            mark(MarkRole::Threat, "c5"),
            mark(MarkRole::Guard, "b3"),
            mark(MarkRole::Trap, "f8"),
            mark(MarkRole::Dot, "h6"),
        ],
        forces: vec![ForcePicture { from: square("b2"), to: square("g7"), enter: 1.0, opacity: 1.0 }],
        arrows: vec![arrow("c5", "c1", None), arrow("f3", "g5", Some("g3")), arrow("a6", "h6", None)],
        ghosts: vec![GhostPicture {
            piece: piece(Side::White, Role::Queen),
            square: square("d8"),
            enter: 1.0,
            opacity: 1.0,
        }],
        king: Some(KingMoment::Mate { square: square("g8"), shut: 1.0, bow: -1.0 }),
        drained: 0.0,
        dimmed: 0.0,
    }
}

const GEOMETRY: BoardGeometry = BoardGeometry { x: 24.0, y: 18.0, square: 36.0 };
const FRAME: (u32, u32) = (340, 336);

fn painted(geometry: BoardGeometry, theme: ThemeName, picture: &BoardPicture, sprites: &mut Sprites) -> Pixmap {
    let mut pixmap = Pixmap::new(FRAME.0, FRAME.1).expect("a size");
    paint_board(&mut pixmap, geometry, Theme::named(theme), picture, sprites);
    pixmap
}

/// Where two pictures differ.
fn differing(a: &Pixmap, b: &Pixmap) -> Vec<(u32, u32)> {
    let width = a.width();
    let pairs = a.pixels().iter().zip(b.pixels()).enumerate();
    pairs.filter(|(_, (a, b))| a != b).map(|(i, _)| (i as u32 % width, i as u32 / width)).collect()
}

#[test]
fn the_same_picture_gives_the_same_bytes_whatever_was_painted_before() {
    for theme in THEMES {
        let cold = painted(GEOMETRY, theme, &busy(), &mut Sprites::new());
        let mut sprites = Sprites::new();
        let mut other = busy();
        other.gliding[0].x = 1.23;
        other.king = None;
        painted(GEOMETRY, theme, &other, &mut sprites);
        painted(BoardGeometry { square: 31.5, ..GEOMETRY }, theme, &busy(), &mut sprites);
        let warm = painted(GEOMETRY, theme, &busy(), &mut sprites);
        assert!(cold.data() == warm.data(), "{theme:?}: what the cache keeps changes what is drawn");
    }
}

#[test]
fn an_odd_geometry_paints_without_fault() {
    for (x, y, square) in [(-200.0, -150.0, 40.0), (1000.0, 0.0, 20.0), (3.3, 7.7, 9.1), (0.0, 0.0, 900.0)] {
        painted(BoardGeometry { x, y, square }, ThemeName::Ink, &busy(), &mut Sprites::new());
    }
}

#[test]
fn nothing_leaves_the_rectangle_it_is_said_to_keep() {
    let picture = busy();
    let alone = |f: &dyn Fn(&mut BoardPicture)| {
        let mut one = BoardPicture::default();
        f(&mut one);
        one
    };
    let mut cases: Vec<BoardPicture> = Vec::new();
    cases.extend(picture.standing.iter().map(|s| alone(&|p| p.standing.push(*s))));
    cases.extend(picture.gliding.iter().map(|g| alone(&|p| p.gliding.push(*g))));
    cases.extend(picture.arrows.iter().map(|a| alone(&|p| p.arrows.push(*a))));
    cases.push(alone(&|p| p.promoting = picture.promoting));
    cases.push(alone(&|p| p.footprint = picture.footprint));
    cases.push(alone(&|p| p.plinth = picture.plinth));
    cases.push(alone(&|p| p.forces.clone_from(&picture.forces)));
    cases.push(alone(&|p| p.ghosts.clone_from(&picture.ghosts)));
    for step in [0.0, 0.1, 0.5, 0.97, 1.0] {
        cases.push(alone(&|p| p.sliced.push(Sliced { progress: step, ..picture.sliced[0] })));
        for mark in &picture.marks {
            cases.push(alone(&|p| p.marks.push(MarkPicture { enter: step, ..*mark })));
        }
        for king in [
            KingMoment::Check { square: square("e4"), enter: step },
            KingMoment::Mate { square: square("e4"), shut: step, bow: step * 1.1 },
            KingMoment::Stalemate { square: square("d4"), enter: step },
        ] {
            cases.push(alone(&|p| p.king = Some(king)));
        }
    }
    let mut empty = Pixmap::new(FRAME.0, FRAME.1).expect("a size");
    paint_empty_board(&mut empty, GEOMETRY, Theme::named(ThemeName::Tide));
    for case in cases {
        let mut with = empty.clone();
        paint_position(&mut with, GEOMETRY, Theme::named(ThemeName::Tide), &case, &mut Sprites::new());
        let bounds =
            Drawn::of(&case, PieceSet::staunton()).iter().map(Drawn::bounds).reduce(Bounds::joined).expect("one thing");
        let bounds = bounds.seen(GEOMETRY.view()).grown(1.0);
        for (x, y) in differing(&empty, &with) {
            let (x, y) = (x as f32 + 0.5, y as f32 + 0.5);
            assert!(
                (bounds.left..bounds.right).contains(&x) && (bounds.top..bounds.bottom).contains(&y),
                "({x}, {y}) lies outside {bounds:?} for {case:?}"
            );
        }
    }
}

#[test]
fn a_settled_picture_shows_every_element() {
    let whole = painted(GEOMETRY, ThemeName::Dusk, &busy(), &mut Sprites::new());
    let without = |f: &dyn Fn(&mut BoardPicture)| {
        let mut picture = busy();
        f(&mut picture);
        differing(&whole, &painted(GEOMETRY, ThemeName::Dusk, &picture, &mut Sprites::new())).len()
    };
    assert!(without(&|p| p.footprint = None) > 20);
    assert!(without(&|p| p.plinth = None) > 20);
    assert!(without(&|p| p.king = None) > 100);
    assert!(without(&|p| p.forces.clear()) > 100);
    assert!(without(&|p| p.ghosts.clear()) > 200);
    assert!(without(&|p| p.promoting = None) > 200);
    assert!(without(&|p| p.sliced.clear()) > 200);
    assert!(without(&|p| p.gliding.clear()) > 200);
    for i in 0..5 {
        assert!(without(&|p| p.marks.retain(|mark| *mark != busy().marks[i])) > 20, "mark {i}");
    }
}

/// The squares of the pixels a mark touches on an empty square, as a mask: its shape without its colour.
fn shape(theme: ThemeName, f: &dyn Fn(&mut BoardPicture)) -> Vec<bool> {
    let mut picture = BoardPicture::default();
    f(&mut picture);
    let (with, without) = (
        board_alone(theme, &Own::default(), &picture, 48),
        board_alone(theme, &Own::default(), &BoardPicture::default(), 48),
    );
    let grey = |pixmap: &Pixmap| -> Vec<i32> {
        let luma = |p: &tiny_skia::PremultipliedColorU8| {
            (i32::from(p.red()) * 54 + i32::from(p.green()) * 183 + i32::from(p.blue()) * 19) >> 8
        };
        pixmap.pixels().iter().map(luma).collect()
    };
    grey(&with).iter().zip(grey(&without)).map(|(a, b)| (a - b).abs() > 24).collect()
}

#[test]
fn marks_and_moments_are_known_by_shape_alone() {
    for theme in THEMES {
        for name in ["e4", "e5"] {
            let at = square(name);
            let mut shapes: Vec<(String, Vec<bool>)> = Vec::new();
            for role in [MarkRole::Key, MarkRole::Threat, MarkRole::Guard, MarkRole::Trap, MarkRole::Dot] {
                shapes.push((format!("{role:?}"), shape(theme, &|p| p.marks.push(mark(role, name)))));
            }
            shapes.push(("footprint".into(), shape(theme, &|p| p.footprint = Some(at))));
            shapes.push(("plinth".into(), shape(theme, &|p| p.plinth = Some(at))));
            for king in [
                KingMoment::Check { square: at, enter: 1.0 },
                KingMoment::Mate { square: at, shut: 1.0, bow: 1.0 },
                KingMoment::Stalemate { square: at, enter: 1.0 },
            ] {
                shapes.push((format!("{king:?}"), shape(theme, &|p| p.king = Some(king))));
            }
            for (i, (a, mask_a)) in shapes.iter().enumerate() {
                assert!(mask_a.iter().filter(|&&on| on).count() > 40, "{a} is hardly seen on {name} in {theme:?}");
                for (b, mask_b) in &shapes[..i] {
                    let both = mask_a.iter().zip(mask_b).filter(|(a, b)| **a && **b).count();
                    let either = mask_a.iter().zip(mask_b).filter(|(a, b)| **a || **b).count();
                    let alike = both as f64 / either as f64;
                    // Jaws and the frame they shut to share their sides by design, and a king in stalemate is framed too, but
                    // by dashes.
                    let limit = match (&a[..3], &b[..3]) {
                        ("Mat", "Che") => 0.85,
                        ("Sta", "Che" | "Mat") => 0.6,
                        _ => 0.55,
                    };
                    assert!(alike < limit, "{a} and {b} are {alike:.2} alike on {name} in {theme:?}");
                }
            }
        }
    }
}

fn any_square() -> impl Strategy<Value = Square> {
    (0_usize..64).prop_map(|i| Square::from_index(i).expect("one of 64"))
}

fn any_piece() -> impl Strategy<Value = Piece> {
    (any::<bool>(), 0_usize..6)
        .prop_map(|(white, role)| piece(if white { Side::White } else { Side::Black }, Role::ALL[role]))
}

/// 0, 1 or something between.
fn progress() -> impl Strategy<Value = f32> {
    prop_oneof![Just(0.0_f32), Just(1.0), 0.0_f32..1.0]
}

fn any_arrow() -> impl Strategy<Value = ArrowPicture> {
    let parts = (any_square(), any_square(), any::<bool>(), any::<bool>(), progress(), progress(), progress());
    parts.prop_map(|(from, to, white, plan, drawn, head, opacity)| {
        let (files, ranks) = (from.file().abs_diff(to.file()), from.rank().abs_diff(to.rank()));
        let corner =
            if files + ranks == 3 && files.abs_diff(ranks) == 1 { Square::at(from.file(), to.rank()) } else { None };
        ArrowPicture {
            from,
            to,
            side: if white { Side::White } else { Side::Black },
            plan,
            corner,
            drawn,
            head,
            opacity,
        }
    })
}

fn any_mark() -> impl Strategy<Value = MarkPicture> {
    let roles =
        prop::sample::select(vec![MarkRole::Key, MarkRole::Threat, MarkRole::Guard, MarkRole::Trap, MarkRole::Dot]);
    (roles, any_square(), progress(), progress()).prop_map(|(role, square, enter, opacity)| MarkPicture {
        role,
        square,
        enter,
        opacity,
    })
}

fn any_king() -> impl Strategy<Value = KingMoment> {
    prop_oneof![
        (any_square(), progress()).prop_map(|(square, enter)| KingMoment::Check { square, enter }),
        (any_square(), progress(), -1.1_f32..1.1).prop_map(|(square, shut, bow)| KingMoment::Mate {
            square,
            shut,
            bow
        }),
        (any_square(), progress()).prop_map(|(square, enter)| KingMoment::Stalemate { square, enter }),
    ]
}

/// A change a film can make to a board.
#[derive(Clone, Debug)]
enum Change {
    Stand(Square, Piece, f32),
    Lift(usize),
    Glide(Piece, f32, f32, f32),
    Slice(Piece, Square, f32),
    Promote(Square, f32, f32),
    Trace(Option<Square>, Option<Square>),
    Mark(MarkPicture),
    Force(Square, Square, f32),
    Arrow(ArrowPicture),
    DropArrow(usize),
    Ghost(Piece, Square, f32),
    King(Option<KingMoment>),
    Veil(f32, f32),
}

fn any_change() -> impl Strategy<Value = Change> {
    prop_oneof![
        (any_square(), any_piece(), progress()).prop_map(|(s, p, o)| Change::Stand(s, p, o)),
        (0_usize..6).prop_map(Change::Lift),
        (any_piece(), -0.2_f32..7.2, -0.2_f32..7.2, progress()).prop_map(|(p, x, y, l)| Change::Glide(p, x, y, l)),
        (any_piece(), any_square(), progress()).prop_map(|(p, s, t)| Change::Slice(p, s, t)),
        (any_square(), progress(), progress()).prop_map(|(s, c, o)| Change::Promote(s, c, o)),
        (prop::option::of(any_square()), prop::option::of(any_square())).prop_map(|(f, p)| Change::Trace(f, p)),
        any_mark().prop_map(Change::Mark),
        (any_square(), any_square(), progress()).prop_map(|(a, b, e)| Change::Force(a, b, e)),
        any_arrow().prop_map(Change::Arrow),
        (0_usize..4).prop_map(Change::DropArrow),
        (any_piece(), any_square(), progress()).prop_map(|(p, s, o)| Change::Ghost(p, s, o)),
        prop::option::of(any_king()).prop_map(Change::King),
        (0.0_f32..0.4, 0.0_f32..0.15).prop_map(|(drained, dimmed)| Change::Veil(drained, dimmed)),
    ]
}

fn apply(picture: &mut BoardPicture, change: &Change) {
    match change.clone() {
        Change::Stand(square, piece, opacity) => {
            picture.standing.retain(|s| s.square != square);
            picture.standing.push(Standing { square, piece, opacity });
            picture.standing.sort_by_key(|s| s.square);
        }
        Change::Lift(i) if i < picture.standing.len() => drop(picture.standing.remove(i)),
        Change::DropArrow(i) if i < picture.arrows.len() => drop(picture.arrows.remove(i)),
        Change::Lift(_) | Change::DropArrow(_) => {}
        Change::Glide(piece, x, y, lift) => picture.gliding = vec![Gliding { piece, x, y, lift }],
        Change::Slice(piece, square, progress) => picture.sliced = vec![Sliced { piece, square, progress }],
        Change::Promote(square, climbed, pawn) => {
            picture.promoting = Some(Promoting { square, side: Side::Black, role: Role::Knight, climbed, pawn });
        }
        Change::Trace(from, to) => (picture.footprint, picture.plinth) = (from, to),
        Change::Mark(mark) => picture.marks.push(mark),
        Change::Force(from, to, enter) => picture.forces.push(ForcePicture { from, to, enter, opacity: 1.0 }),
        Change::Arrow(arrow) => picture.arrows.push(arrow),
        Change::Ghost(piece, square, opacity) => {
            picture.ghosts.push(GhostPicture { piece, square, enter: 1.0, opacity });
        }
        Change::King(king) => picture.king = king,
        Change::Veil(drained, dimmed) => (picture.drained, picture.dimmed) = (drained, dimmed),
    }
}

fn covers(rects: &[PixelRect], (x, y): (u32, u32)) -> bool {
    rects.iter().any(|r| (r.x..r.x + r.width).contains(&x) && (r.y..r.y + r.height).contains(&y))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn damage_is_never_understated(
        before in prop::collection::vec(any_change(), 0..14),
        after in prop::collection::vec(any_change(), 1..4),
    ) {
        let mut old = BoardPicture::default();
        for change in &before {
            apply(&mut old, change);
        }
        let mut new = old.clone();
        for change in &after {
            apply(&mut new, change);
        }
        let mut sprites = Sprites::new();
        let a = painted(GEOMETRY, ThemeName::Dusk, &old, &mut sprites);
        let b = painted(GEOMETRY, ThemeName::Dusk, &new, &mut sprites);
        let rects = damage(&old, &new, GEOMETRY, PieceSet::staunton());
        for pixel in differing(&a, &b) {
            prop_assert!(covers(&rects, pixel), "{pixel:?} changes outside {rects:?}");
        }
        let (mut again, mut bed) = (a, Pixmap::new(FRAME.0, FRAME.1).expect("a size"));
        let theme = Theme::named(ThemeName::Dusk);
        paint_empty_board(&mut bed, GEOMETRY, theme);
        repaint_position(&mut again, &bed, GEOMETRY, theme, (&old, &new), &mut sprites);
        prop_assert!(again.data() == b.data(), "repainting differs at {:?}", differing(&again, &b));
    }
}

#[test]
fn a_glide_damages_little_and_stillness_nothing() {
    let mut before = busy();
    before.arrows.clear();
    let mut after = before.clone();
    assert!(damage(&before, &after, GEOMETRY, PieceSet::staunton()).is_empty());
    after.gliding[0].x += 0.1;
    let area: u32 = damage(&before, &after, GEOMETRY, PieceSet::staunton()).iter().map(|r| r.width * r.height).sum();
    let square = (GEOMETRY.square * GEOMETRY.square) as u32;
    assert!(area < 5 * square, "{area} pixels for two places of one piece");
}
