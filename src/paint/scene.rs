//! A scene as parts that do not overlap: board, head, list, caption. Each is painted when it changes and kept.

use super::board::{BoardGeometry, paint_empty_board, paint_position, repaint_position};
use super::caption::{self, paint_caption};
use super::coordinates::paint_coordinates;
use super::drawn;
use super::head::{MovesPlace, set_head};
use super::kit::Kit;
use super::list::{Block, SetList, set_list};
use super::rows::paint_list;
use super::strip::{SetStrip, set_chip, set_strip};
use super::tile::{Tile, intersection};
use crate::film::{BoardPicture, CaptionPicture, Head, MoveList, ScenePicture};
use crate::units::PixelRect;
use std::sync::Arc;
use tiny_skia::Pixmap;

/// The parts of the scene painted last.
#[derive(Default)]
pub(super) struct SceneParts {
    board: Option<BoardPart>,
    head: Option<HeadPart>,
    list: Option<ListPart>,
    caption: Option<CaptionPart>,
}

/// The caption; in a box the head stands in for it.
struct CaptionPart {
    shown: Option<(CaptionPicture, Arc<Head>)>,
    tile: Tile,
}

impl SceneParts {
    /// Brings every part up to date with a scene.
    pub fn update(&mut self, scene: &ScenePicture, kit: &mut Kit) {
        self.board.get_or_insert_with(|| BoardPart::new(kit)).update(&scene.board, kit);
        if self.head.as_ref().is_none_or(|part| part.head != scene.head) {
            self.head = Some(HeadPart::new(&scene.head, kit));
            self.list = None;
        }
        let place = self.head.as_ref().map_or(MovesPlace::Nowhere, |part| part.moves);
        if place != MovesPlace::Nowhere {
            self.list.get_or_insert_with(|| ListPart::new(place, kit)).update(scene, kit);
        }
        self.update_caption(scene, kit);
    }

    fn update_caption(&mut self, scene: &ScenePicture, kit: &mut Kit) {
        let part = self
            .caption
            .get_or_insert_with(|| CaptionPart { shown: None, tile: Tile::cut(kit.bed(), caption::area(&kit.plan)) });
        if part.shown.as_ref().is_none_or(|(caption, head)| *caption != scene.caption || *head != scene.head) {
            part.tile.clear(kit.bed());
            paint_caption(&mut part.tile, &scene.caption, &scene.head, kit);
            part.shown = Some((scene.caption.clone(), Arc::clone(&scene.head)));
        }
    }

    /// Copies what of the parts lies within `rect` into a frame that shows the bare ground there.
    pub fn lay(&self, frame: &mut Pixmap, rect: PixelRect) {
        let heads = self.head.iter().flat_map(|part| &part.tiles);
        let others = [
            self.board.as_ref().map(|part| &part.tile),
            self.list.as_ref().map(|part| &part.tile),
            self.caption.as_ref().map(|part| &part.tile),
        ];
        for tile in others.into_iter().flatten().chain(heads) {
            tile.lay(frame, rect);
        }
    }
}

/// The board: its bed (ground, empty board, coordinates) never changes in a film.
struct BoardPart {
    bed: Tile,
    tile: Tile,
    shown: Option<BoardPicture>,
}

impl BoardPart {
    fn new(kit: &mut Kit) -> BoardPart {
        let mut bed = Tile::cut(kit.bed(), kit.plan.board_area);
        let geometry = within(kit.plan.board, bed.place());
        paint_empty_board(bed.pixels_mut(), geometry, kit.theme);
        let unit = kit.plan.grid.long(1.0);
        paint_coordinates(&mut bed.canvas(), kit.plan.board, unit, kit.theme, &mut kit.typesetter);
        let tile = Tile::cut(kit.bed(), kit.plan.board_area);
        BoardPart { bed, tile, shown: None }
    }

    fn update(&mut self, board: &BoardPicture, kit: &mut Kit) {
        let geometry = within(kit.plan.board, self.tile.place());
        match &self.shown {
            Some(shown) if shown == board => return,
            Some(shown) => {
                let (bed, tile) = (self.bed.pixels(), self.tile.pixels_mut());
                repaint_position(tile, bed, geometry, kit.theme, (shown, board), &mut kit.sprites);
            }
            None => {
                self.tile.copy_from(&self.bed);
                paint_position(self.tile.pixels_mut(), geometry, kit.theme, board, &mut kit.sprites);
            }
        }
        self.shown = Some(board.clone());
    }
}

/// A board's geometry as seen from a part's own corner.
fn within(board: BoardGeometry, place: PixelRect) -> BoardGeometry {
    BoardGeometry { x: board.x - place.x as f32, y: board.y - place.y as f32, square: board.square }
}

struct HeadPart {
    head: Arc<Head>,
    moves: MovesPlace,
    tiles: Vec<Tile>,
}

impl HeadPart {
    fn new(head: &Arc<Head>, kit: &mut Kit) -> HeadPart {
        let set = set_head(head, &kit.plan, &mut kit.typesetter);
        let mut tiles = Vec::new();
        for place in set.places {
            let place = kit.plan.area(place.left, place.top, place.right, place.bottom);
            let mut tile = Tile::cut(kit.bed(), place);
            set.words.draw(&mut tile.canvas(), &mut kit.typesetter, &mut kit.sprites, kit.theme);
            tiles.push(tile);
        }
        HeadPart { head: Arc::clone(head), moves: set.moves, tiles }
    }
}

/// Left and right edge of what a panel's list may touch: the panel with a little air for overhanging letters.
fn panel_edges(kit: &Kit) -> (f32, f32) {
    let air = kit.plan.grid.long(10.0);
    (kit.plan.head.left - air, kit.plan.head.right + air)
}

/// The list, and what a change of it is made of.
struct ListPart {
    place: MovesPlace,
    tile: Tile,
    shown: Option<Shown>,
    now: Option<Painted>,
    change: Option<Change>,
}

/// A list and, while it changes, the one before and how far the change has come.
type Shown = (Arc<MoveList>, Option<(Arc<MoveList>, f32)>);

/// A list that has been painted.
struct Painted {
    list: Arc<MoveList>,
    set: SetMoves,
    tile: Tile,
}

/// Moves, set as their place has it.
enum SetMoves {
    Rows(SetList),
    Strip(SetStrip),
    Chip(SetStrip),
}

impl SetMoves {
    fn set(list: &MoveList, place: MovesPlace, kit: &mut Kit) -> SetMoves {
        let (plan, notation, typesetter) = (&kit.plan, kit.notation, &mut kit.typesetter);
        let em = plan.type_sizes.moves;
        match place {
            MovesPlace::Rows(top) => SetMoves::Rows(set_list(list, top, plan, notation, typesetter)),
            MovesPlace::Strip(place) => SetMoves::Strip(set_strip(list, place, em, notation, typesetter)),
            MovesPlace::Chip(place) => SetMoves::Chip(set_chip(list, place, em, notation, typesetter)),
            MovesPlace::Nowhere => SetMoves::Strip(SetStrip::default()),
        }
    }

    fn unlit(&self, later: &SetMoves) -> SetMoves {
        match (self, later) {
            (SetMoves::Rows(now), SetMoves::Rows(later)) => SetMoves::Rows(now.unlit(later)),
            (SetMoves::Rows(now), _) => SetMoves::Rows(now.clone()),
            (SetMoves::Strip(now), SetMoves::Strip(later)) => SetMoves::Strip(now.unlit(later)),
            (SetMoves::Strip(now), _) => SetMoves::Strip(now.unlit(&SetStrip::default())),
            (SetMoves::Chip(_), _) => SetMoves::Chip(SetStrip::default()),
        }
    }

    fn scroll_to(&self, later: &SetMoves) -> f32 {
        match (self, later) {
            (SetMoves::Rows(now), SetMoves::Rows(later)) => now.scroll_to(later),
            _ => 0.0,
        }
    }

    fn paint(&self, tile: &mut Tile, kit: &mut Kit) {
        let canvas = &mut tile.canvas();
        match self {
            SetMoves::Rows(list) => paint_list(canvas, list, &kit.plan, kit.theme, &mut kit.typesetter),
            SetMoves::Strip(strip) | SetMoves::Chip(strip) => strip.paint(canvas, kit.theme, &mut kit.typesetter),
        }
    }
}

/// The list before a change, with its move lit and without, and how far it moves down to become the new one.
struct Change {
    before: Painted,
    unlit: Tile,
    scroll: f32,
}

impl ListPart {
    fn new(place: MovesPlace, kit: &Kit) -> ListPart {
        let tile = Tile::cut(kit.bed(), list_area(place, kit));
        ListPart { place, tile, shown: None, now: None, change: None }
    }

    fn update(&mut self, scene: &ScenePicture, kit: &mut Kit) {
        let wanted = (Arc::clone(&scene.list), scene.list_before.clone());
        if self.shown.as_ref() == Some(&wanted) {
            return;
        }
        let is_new = self.now.as_ref().is_none_or(|now| now.list != scene.list);
        let kept = if is_new { self.now.take() } else { None };
        let now = match self.now.take() {
            Some(now) => now,
            None => self.painted(&scene.list, kit),
        };
        match &scene.list_before {
            None => self.change = None,
            Some((list, _)) if is_new || self.change.as_ref().is_none_or(|change| change.before.list != *list) => {
                // What was shown last is most often what the change begins with.
                let before = match kept.filter(|kept| kept.list == *list) {
                    Some(kept) => kept,
                    None => self.painted(list, kit),
                };
                let unlit = self.painted_tile(&before.set.unlit(&now.set), kit);
                self.change = Some(Change { scroll: before.set.scroll_to(&now.set), before, unlit });
            }
            Some(_) => {}
        }
        match (&self.change, &scene.list_before) {
            (Some(change), Some((_, t))) => change.show(*t, &now, &mut self.tile, kit.bed()),
            _ => self.tile.copy_from(&now.tile),
        }
        self.now = Some(now);
        self.shown = Some(wanted);
    }

    fn painted(&self, list: &Arc<MoveList>, kit: &mut Kit) -> Painted {
        let set = SetMoves::set(list, self.place, kit);
        Painted { list: Arc::clone(list), tile: self.painted_tile(&set, kit), set }
    }

    fn painted_tile(&self, set: &SetMoves, kit: &mut Kit) -> Tile {
        let mut tile = Tile::cut(kit.bed(), self.tile.place());
        set.paint(&mut tile, kit);
        tile
    }
}

impl Change {
    /// Shows the change `t` of the way (0 to 1, linear in time): the scroll takes all of it, the old chip goes in the
    /// first half, the new one comes in the second.
    fn show(&self, t: f32, now: &Painted, tile: &mut Tile, ground: &Pixmap) {
        let scrolled = (self.scroll * eased(t)).round() as i32;
        if t < 0.5 {
            tile.copy_moved(&self.before.tile, scrolled, ground);
            tile.blend_moved(&self.unlit, scrolled, 2.0 * t);
        } else {
            tile.copy_moved(&self.unlit, scrolled, ground);
            tile.blend_moved(&now.tile, scrolled - self.scroll.round() as i32, 2.0 * t - 1.0);
        }
    }
}

/// How things on the board and in the list set out and arrive: the cubic Bézier curve (.45, 0) (.15, 1), its time
/// solved for by halving.
fn eased(t: f32) -> f32 {
    let curve = |a: f32, b: f32, s: f32| {
        let r = 1.0 - s;
        3.0 * r * r * s * a + 3.0 * r * s * s * b + s * s * s
    };
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..20 {
        let middle = f32::midpoint(low, high);
        if curve(0.45, 0.15, middle) < t { low = middle } else { high = middle }
    }
    curve(0.0, 1.0, low)
}

/// Where moves are painted, in the frame.
pub(super) fn list_area(place: MovesPlace, kit: &Kit) -> PixelRect {
    let air = kit.plan.grid.long(4.0) + 2.0;
    match place {
        MovesPlace::Rows(top) => {
            let (left, right) = panel_edges(kit);
            kit.plan.area(left, (top - air).floor(), right, kit.plan.head.bottom + air)
        }
        // Between the task and the frame's edge, from the words above to the board.
        MovesPlace::Strip(place) => {
            let left = (place.left - kit.plan.grid.long(10.0)).round();
            kit.plan.area(left, place.top.floor(), place.right + air, place.bottom)
        }
        MovesPlace::Chip(place) => kit.plan.area(place.left - air, place.top, place.right + 1.0, place.bottom),
        MovesPlace::Nowhere => kit.plan.area(0.0, 0.0, 0.0, 0.0),
    }
}

/// The rectangles outside which two scenes under one head are the same.
pub(super) fn damage(before: &ScenePicture, after: &ScenePicture, kit: &mut Kit) -> Vec<PixelRect> {
    let mut rects: Vec<PixelRect> = drawn::damage(&before.board, &after.board, kit.plan.board, kit.sprites.set())
        .into_iter()
        .filter_map(|rect| intersection(rect, kit.plan.board_area))
        .collect();
    rects.extend(list_damage(before, after, kit));
    if before.caption != after.caption {
        rects.push(caption::area(&kit.plan));
    }
    rects
}

/// From the first to the last row that is not the same in all lists that shine through.
fn list_damage(before: &ScenePicture, after: &ScenePicture, kit: &mut Kit) -> Option<PixelRect> {
    if before.list == after.list && before.list_before == after.list_before {
        return None;
    }
    let top = match set_head(&after.head, &kit.plan, &mut kit.typesetter).moves {
        MovesPlace::Rows(top) => top,
        MovesPlace::Nowhere => return None,
        place => return Some(list_area(place, kit)),
    };
    let mut lists = vec![&before.list, &after.list];
    lists.extend(before.list_before.iter().chain(&after.list_before).map(|(list, _)| list));
    let set: Vec<SetList> =
        lists.into_iter().map(|list| set_list(list, top, &kit.plan, kit.notation, &mut kit.typesetter)).collect();
    let is_scrolling = |scene: &ScenePicture, now: &SetList, before: Option<&SetList>| {
        scene.list_before.is_some() && before.is_some_and(|before| before.scroll_to(now) != 0.0)
    };
    let before_lists = (set.get(2), set.get(2 + usize::from(before.list_before.is_some())));
    if is_scrolling(before, &set[0], before_lists.0) || is_scrolling(after, &set[1], before_lists.1) {
        return Some(list_area(MovesPlace::Rows(top), kit));
    }
    let is_common = |entry: &(f32, Block)| set.iter().all(|list| list.blocks.contains(entry));
    let mut edges: Option<(f32, f32)> = None;
    for list in &set {
        for (i, entry) in list.blocks.iter().enumerate().filter(|(_, entry)| !is_common(entry)) {
            let end = list.blocks.get(i + 1).map_or(kit.plan.head.bottom, |(next, _)| *next);
            let (top, bottom) = edges.unwrap_or((entry.0, end));
            edges = Some((top.min(entry.0), bottom.max(end)));
        }
    }
    let (left, right) = panel_edges(kit);
    // A chip reaches a little out of its row, and is rounded to whole pixels.
    let air = kit.plan.grid.long(4.0) + 2.0;
    edges.map(|(top, bottom)| kit.plan.area(left, (top - air).floor(), right, bottom + air))
}
