//! A scene as parts that do not overlap: board, head, list, caption. Each is painted when it changes and kept.

use super::board::{BoardGeometry, paint_empty_board, paint_position, repaint_position};
use super::caption::{self, paint_caption};
use super::coordinates::paint_coordinates;
use super::drawn;
use super::head::set_head;
use super::kit::Kit;
use super::list::{Block, SetList, set_list};
use super::rows::paint_list;
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
    caption: Option<(CaptionPicture, Tile)>,
}

impl SceneParts {
    /// Brings every part up to date with a scene.
    pub fn update(&mut self, scene: &ScenePicture, kit: &mut Kit) {
        self.board.get_or_insert_with(|| BoardPart::new(kit)).update(&scene.board, kit);
        if self.head.as_ref().is_none_or(|part| part.head != scene.head) {
            self.head = Some(HeadPart::new(&scene.head, kit));
            self.list = None;
        }
        let top = self.head.as_ref().map_or(0.0, |part| part.list_top);
        self.list.get_or_insert_with(|| ListPart::new(top, kit)).update(scene, kit);
        self.update_caption(&scene.caption, kit);
    }

    fn update_caption(&mut self, caption: &CaptionPicture, kit: &mut Kit) {
        let (shown, tile) = self
            .caption
            .get_or_insert_with(|| (CaptionPicture::default(), Tile::cut(&kit.ground, caption::area(&kit.plan))));
        if shown != caption {
            tile.clear(&kit.ground);
            paint_caption(&mut tile.canvas(), caption, &kit.plan, kit.theme, &mut kit.typesetter);
            *shown = caption.clone();
        }
    }

    /// Copies what of the parts lies within `rect` into a frame that shows the bare ground there.
    pub fn lay(&self, frame: &mut Pixmap, rect: PixelRect) {
        let tiles = [
            self.board.as_ref().map(|part| &part.tile),
            self.head.as_ref().map(|part| &part.tile),
            self.list.as_ref().map(|part| &part.tile),
            self.caption.as_ref().map(|(_, tile)| tile),
        ];
        for tile in tiles.into_iter().flatten() {
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
        let mut bed = Tile::cut(&kit.ground, kit.plan.board_area);
        let geometry = within(kit.plan.board, bed.place());
        paint_empty_board(bed.pixels_mut(), geometry, kit.theme);
        paint_coordinates(&mut bed.canvas(), kit.plan.board, kit.theme, &mut kit.typesetter);
        let tile = Tile::cut(&kit.ground, kit.plan.board_area);
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
    list_top: f32,
    tile: Tile,
}

/// From the foot of the head to the top of the list's first row, on the design grid.
const LIST_BELOW_HEAD: f32 = 21.0;

impl HeadPart {
    fn new(head: &Arc<Head>, kit: &mut Kit) -> HeadPart {
        let set = set_head(head, &kit.plan, &mut kit.typesetter);
        let list_top = set.bottom + kit.plan.grid.long(LIST_BELOW_HEAD);
        // Down to the list's own part: descenders of the last line and the tile's edge lie within.
        let (left, right) = panel_edges(kit);
        let place = kit.plan.area(left, 0.0, right, (list_top - kit.plan.grid.long(4.0) - 2.0).floor());
        let mut tile = Tile::cut(&kit.ground, place);
        set.words.draw(&mut tile.canvas(), &mut kit.typesetter, &mut kit.sprites, kit.theme);
        HeadPart { head: Arc::clone(head), list_top, tile }
    }
}

/// Left and right edge of what head and list may touch: the panel with a little air for overhanging letters.
fn panel_edges(kit: &Kit) -> (f32, f32) {
    let air = kit.plan.grid.long(10.0);
    (kit.plan.panel.left - air, kit.plan.panel.right + air)
}

/// The list, and what a change of it is made of.
struct ListPart {
    top: f32,
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
    set: SetList,
    tile: Tile,
}

/// The list before a change, with its move lit and without, and how far it moves down to become the new one.
struct Change {
    before: Painted,
    unlit: Tile,
    scroll: f32,
}

impl ListPart {
    fn new(top: f32, kit: &Kit) -> ListPart {
        let tile = Tile::cut(&kit.ground, list_area(top, kit));
        ListPart { top, tile, shown: None, now: None, change: None }
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
            (Some(change), Some((_, t))) => change.show(*t, &now, &mut self.tile, &kit.ground),
            _ => self.tile.copy_from(&now.tile),
        }
        self.now = Some(now);
        self.shown = Some(wanted);
    }

    fn painted(&self, list: &Arc<MoveList>, kit: &mut Kit) -> Painted {
        let set = set_list(list, self.top, &kit.plan, kit.notation, &mut kit.typesetter);
        Painted { list: Arc::clone(list), tile: self.painted_tile(&set, kit), set }
    }

    fn painted_tile(&self, set: &SetList, kit: &mut Kit) -> Tile {
        let mut tile = Tile::cut(&kit.ground, self.tile.place());
        paint_list(&mut tile.canvas(), set, &kit.plan, kit.theme, &mut kit.typesetter);
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

fn list_area(top: f32, kit: &Kit) -> PixelRect {
    let (left, right) = panel_edges(kit);
    let air = kit.plan.grid.long(4.0) + 2.0;
    kit.plan.area(left, (top - air).floor(), right, kit.plan.list_bottom + air)
}

/// The rectangles outside which two scenes under one head are the same.
pub(super) fn damage(before: &ScenePicture, after: &ScenePicture, kit: &mut Kit) -> Vec<PixelRect> {
    let mut rects: Vec<PixelRect> = drawn::damage(&before.board, &after.board, kit.plan.board)
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
    let head = set_head(&after.head, &kit.plan, &mut kit.typesetter);
    let top = head.bottom + kit.plan.grid.long(LIST_BELOW_HEAD);
    let mut lists = vec![&before.list, &after.list];
    lists.extend(before.list_before.iter().chain(&after.list_before).map(|(list, _)| list));
    let set: Vec<SetList> =
        lists.into_iter().map(|list| set_list(list, top, &kit.plan, kit.notation, &mut kit.typesetter)).collect();
    let is_scrolling = |scene: &ScenePicture, now: &SetList, before: Option<&SetList>| {
        scene.list_before.is_some() && before.is_some_and(|before| before.scroll_to(now) != 0.0)
    };
    let before_lists = (set.get(2), set.get(2 + usize::from(before.list_before.is_some())));
    if is_scrolling(before, &set[0], before_lists.0) || is_scrolling(after, &set[1], before_lists.1) {
        return Some(list_area(top, kit));
    }
    let is_common = |entry: &(f32, Block)| set.iter().all(|list| list.blocks.contains(entry));
    let mut edges: Option<(f32, f32)> = None;
    for list in &set {
        for (i, entry) in list.blocks.iter().enumerate().filter(|(_, entry)| !is_common(entry)) {
            let end = list.blocks.get(i + 1).map_or(kit.plan.list_bottom, |(next, _)| *next);
            let (top, bottom) = edges.unwrap_or((entry.0, end));
            edges = Some((top.min(entry.0), bottom.max(end)));
        }
    }
    let (left, right) = panel_edges(kit);
    // A chip reaches a little out of its row, and is rounded to whole pixels.
    let air = kit.plan.grid.long(4.0) + 2.0;
    edges.map(|(top, bottom)| kit.plan.area(left, (top - air).floor(), right, bottom + air))
}
