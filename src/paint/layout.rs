//! A design laid on a frame: the same figures in pixels.

use super::board::BoardGeometry;
use super::brush::Bounds;
use super::design::{BOARD_DOWN, BOARD_UP, CaptionForm, Design, Form, Frame, TypeSizes, design};
use super::fit::Rule;
use super::tile::covering;
use crate::film::Look;
use crate::units::{PixelRect, Size};

/// A design grid laid on a frame: as large as fits, in the middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Grid {
    unit: f32,
    left: f32,
    top: f32,
}

impl Grid {
    /// The grid of this width and height on a frame.
    pub fn on(size: Size, design: (f32, f32)) -> Grid {
        let (width, height) = (size.width as f32, size.height as f32);
        let unit = (width / design.0).min(height / design.1);
        Grid { unit, left: (width - design.0 * unit) / 2.0, top: (height - design.1 * unit) / 2.0 }
    }

    /// A design column in pixels.
    pub fn x(self, design: f32) -> f32 {
        self.left + design * self.unit
    }

    /// A design row in pixels.
    pub fn y(self, design: f32) -> f32 {
        self.top + design * self.unit
    }

    /// A design length in pixels.
    pub fn long(self, design: f32) -> f32 {
        design * self.unit
    }

    /// A design rectangle in pixels.
    fn bounds(self, design: Bounds) -> Bounds {
        Bounds::new(self.x(design.left), self.y(design.top), self.x(design.right), self.y(design.bottom))
    }

    /// A board whose squares are a whole number of pixels wide, the most that the design leaves room for, its corner at
    /// a whole pixel. What rounding takes from it is left on both sides.
    fn board(self, (x, y, square): (f32, f32, f32)) -> BoardGeometry {
        let exact = self.long(square);
        let square = (exact + 0.01).floor().max(1.0);
        let aside = 4.0 * (exact - square).max(0.0);
        BoardGeometry { x: (self.x(x) + aside).round(), y: (self.y(y) + aside).round(), square }
    }
}

/// A caption's place and type.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CaptionPlan {
    pub form: CaptionForm,
    /// Bar or plate included.
    pub place: Bounds,
    pub em: f32,
    pub rule: Rule,
}

/// Where the parts of a scene lie, in pixels of the frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Plan {
    /// The frame.
    pub size: Size,
    /// The grid the rest was laid out on; small distances are lengths on it.
    pub grid: Grid,
    /// How the words are arranged.
    pub form: Form,
    /// The board.
    pub board: BoardGeometry,
    /// All that the board, its shadow, its coordinates and what lies on it can reach.
    pub board_area: PixelRect,
    /// The words above or beside the board; in a panel the list too, down to the lower edge.
    pub head: Bounds,
    /// Kicker and credit, where they stand apart.
    pub aside: Bounds,
    /// Task and moves where they share a row; the move's place in a box.
    pub row: Bounds,
    pub caption: CaptionPlan,
    /// What stands on a plate of its own from beginning to end.
    pub plate: Option<Bounds>,
    /// Sizes of type in pixels.
    pub type_sizes: TypeSizes,
    /// What cards are laid out on.
    pub cards: CardFrame,
}

/// A frame as cards see it: 1920 × 1080 in wide frames; in others 1080 wide and as tall as it takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CardFrame {
    pub grid: Grid,
    pub is_wide: bool,
    /// Where words may stand, in units of the grid.
    pub clear: Bounds,
    /// Height of the grid.
    pub height: f32,
}

impl CardFrame {
    fn of(size: Size) -> CardFrame {
        let frame = Frame::of(size, 2560.0);
        let (width, height) = if frame.is_wide() { (1920.0, 1080.0) } else { (frame.width, frame.height) };
        let clear = if frame.is_wide() { Bounds::new(96.0, 54.0, 1824.0, 1026.0) } else { frame.clear };
        CardFrame { grid: Grid::on(size, (width, height)), is_wide: frame.is_wide(), clear, height }
    }
}

impl Plan {
    /// The plan for a look.
    pub fn of(look: Look) -> Plan {
        Plan::laid(look.size, &design(look.layout, look.size))
    }

    fn laid(size: Size, design: &Design) -> Plan {
        let grid = Grid::on(size, design.grid);
        let board = grid.board(design.board);
        let caption = design.caption;
        let TypeSizes { kicker, title, credit, task, moves } = design.type_sizes;
        Plan {
            size,
            grid,
            form: design.form,
            board,
            board_area: board_area(board, size, design),
            head: grid.bounds(design.head),
            aside: grid.bounds(design.aside),
            row: grid.bounds(design.row),
            caption: CaptionPlan {
                form: caption.form,
                place: grid.bounds(caption.place),
                em: grid.long(caption.em),
                rule: caption.rule.scaled(grid.long(1.0)),
            },
            plate: design.plate.map(|plate| whole_pixels(grid.bounds(plate))),
            type_sizes: TypeSizes {
                kicker: grid.long(kicker),
                title: grid.long(title),
                credit: grid.long(credit),
                task: grid.long(task),
                moves: grid.long(moves),
            },
            cards: CardFrame::of(size),
        }
    }

    /// A rectangle with these edges, at least one pixel of the frame.
    pub fn area(&self, left: f32, top: f32, right: f32, bottom: f32) -> PixelRect {
        covering(left, top, right, bottom, self.size).unwrap_or(PixelRect { x: 0, y: 0, width: 1, height: 1 })
    }
}

fn whole_pixels(bounds: Bounds) -> Bounds {
    Bounds::new(bounds.left.round(), bounds.top.round(), bounds.right.round(), bounds.bottom.round())
}
/// A board with its coordinates and what may reach over its edge: shadows, pieces on their way, casings of arrows. Where
/// words stand right above and below, that is just what shadow and coordinates need.
fn board_area(board: BoardGeometry, size: Size, design: &Design) -> PixelRect {
    let BoardGeometry { x, y, square } = board;
    let (above, below) = match design.form {
        Form::Line | Form::Stack | Form::Lower => (BOARD_UP - 0.02, BOARD_DOWN),
        Form::Panel | Form::Bare => (0.45, 0.58),
    };
    let (right, bottom) = (x + 8.0 * square, y + 8.0 * square);
    covering(x - 0.6 * square, y - above * square, right + 0.4 * square, bottom + below * square, size)
        .unwrap_or(PixelRect { x: 0, y: 0, width: 1, height: 1 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::film::Own;
    use crate::timeline::{Layout, Notation, ThemeName};

    fn look(width: u32, height: u32, layout: Layout) -> Look {
        Look {
            size: Size { width, height },
            theme: ThemeName::Dusk,
            layout,
            notation: Notation::Figurine,
            own: Own::default(),
        }
    }

    const LAYOUTS: [Layout; 3] = [Layout::Panel, Layout::LowerThird, Layout::Overlay];

    #[test]
    fn the_panel_keeps_its_figures_at_every_size() {
        let plan = Plan::of(look(1920, 1080, Layout::Panel));
        assert_eq!((plan.board.x, plan.board.y, plan.board.square), (136.0, 58.0, 97.0));
        assert_eq!((plan.head.left, plan.head.right), (1000.0, 1824.0));
        let double = Plan::of(look(3840, 2160, Layout::Panel));
        assert_eq!(double.board.square, 194.0);
        assert_eq!(double.head.left, 2000.0);
    }

    /// The parts in which words, board and plates are painted, in pixels.
    fn parts(plan: &Plan) -> Vec<(&'static str, Bounds)> {
        let PixelRect { x, y, width, height } = plan.board_area;
        let board = Bounds::new(x as f32, y as f32, (x + width) as f32, (y + height) as f32);
        let all = [
            ("board", board),
            ("head", plan.head),
            ("aside", plan.aside),
            ("row", plan.row),
            ("caption", plan.caption.place),
        ];
        all.into_iter().filter(|(_, place)| place.width() > 0.0).collect()
    }

    #[test]
    fn parts_never_overlap_and_words_keep_to_the_safe_frame() {
        let sizes = [
            (1920, 1080),
            (1280, 720),
            (3840, 2160),
            (854, 480),
            (320, 180),
            (1620, 1080),
            (1440, 1080),
            (2560, 1080),
            (3840, 1000),
            (1080, 1080),
            (720, 720),
            (1350, 1080),
            (1080, 1350),
            (1000, 1400),
            (1080, 1920),
            (360, 640),
            (900, 2000),
            (240, 3840),
            (3840, 240),
        ];
        for (layout, (width, height)) in LAYOUTS.into_iter().flat_map(|layout| sizes.map(|size| (layout, size))) {
            let plan = Plan::of(look(width, height, layout));
            let parts = parts(&plan);
            for (i, (name, a)) in parts.iter().enumerate() {
                let what = format!("{name} in {layout:?} {width} × {height}: {a:?}");
                assert!(a.height() > 0.0, "{what}");
                let (x, y) = (width as f32 * 0.05 - 0.51, height as f32 * 0.05 - 0.51);
                if *name != "board" {
                    assert!(a.left >= x && a.right <= width as f32 - x, "{what}");
                    assert!(a.top >= y && a.bottom <= height as f32 - y, "{what}");
                }
                for (other, b) in &parts[i + 1..] {
                    let apart = a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top;
                    assert!(apart, "{what} and {other}: {b:?}");
                }
            }
        }
    }

    #[test]
    fn a_telephone_s_film_keeps_clear_of_what_platforms_cover() {
        for layout in LAYOUTS {
            let plan = Plan::of(look(1080, 1920, layout));
            let BoardGeometry { x, y, square } = plan.board;
            let coordinates = Bounds::new(x - 0.4 * square, y, x + 8.1 * square, y + 8.45 * square);
            let words = parts(&plan).into_iter().filter(|(name, _)| *name != "board");
            for (name, part) in words.chain([("board", coordinates)]) {
                assert!(part.top >= 190.0 && part.bottom <= 1920.0 * 0.79 + 1.0, "{name} in {layout:?}: {part:?}");
                assert!(part.right <= 1080.0 * 0.87 + 1.0, "{name} in {layout:?}: {part:?}");
            }
        }
    }
}
