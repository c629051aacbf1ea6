//! Where everything goes. The figures of each layout are data on a design grid (1920 × 1080 for wide frames); a
//! [`Plan`] is that grid laid on a frame, in pixels.

use super::board::BoardGeometry;
use super::tile::covering;
use crate::film::Look;
use crate::timeline::Layout;
use crate::units::{PixelRect, Size};

/// A design grid laid on a frame: as large as fits, in the middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Grid {
    unit: f32,
    left: f32,
    top: f32,
}

impl Grid {
    fn on(size: Size, design: (f32, f32)) -> Grid {
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

    /// A board whose squares are a whole number of pixels wide, nearest to the design, its corner at a whole pixel.
    fn board(self, (x, y, square): (f32, f32, f32)) -> BoardGeometry {
        BoardGeometry { x: self.x(x).round(), y: self.y(y).round(), square: self.long(square).round().max(1.0) }
    }
}

/// A column of words: left and right edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Column {
    pub left: f32,
    pub right: f32,
}

impl Column {
    /// From edge to edge.
    pub fn width(self) -> f32 {
        self.right - self.left
    }
}

/// Where the parts of a scene lie, in pixels of the frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Plan {
    /// The frame.
    pub size: Size,
    /// The grid the rest was laid out on; sizes of type are lengths on it.
    pub grid: Grid,
    /// The board.
    pub board: BoardGeometry,
    /// All that the board, its shadow, its coordinates and what lies on it can reach.
    pub board_area: PixelRect,
    /// Head and list.
    pub panel: Column,
    /// Where nothing of the list may go on.
    pub list_bottom: f32,
    /// Caption, the bar included.
    pub caption: Column,
    /// The baseline of its first line.
    pub caption_baseline: f32,
}

/// The figures of a layout on its design grid.
struct Design {
    grid: (f32, f32),
    /// Left, top, square.
    board: (f32, f32, f32),
    panel: (f32, f32),
    list_bottom: f32,
    caption: (f32, f32),
    caption_baseline: f32,
}

/// The panel layout in a wide frame. The caption ends, and the list's last row, short of the 5 % title-safe margin.
const WIDE_PANEL: Design = Design {
    grid: (1920.0, 1080.0),
    board: (136.0, 58.0, 97.0),
    panel: (1000.0, 1824.0),
    list_bottom: 880.0,
    caption: (136.0, 1806.0),
    caption_baseline: 948.0,
};

/// From which and to which ratio of width to height a frame counts as wide. Others have layouts of their own.
const WIDE: std::ops::RangeInclusive<f32> = 1.5..=2.4;

/// Why a look cannot be painted as asked for.
pub(super) fn unsupported(look: Look) -> Option<String> {
    let Size { width, height } = look.size;
    let layout = match look.layout {
        Layout::Panel if WIDE.contains(&(width as f32 / height.max(1) as f32)) => return None,
        Layout::Panel => "panel",
        Layout::LowerThird => "lower-third",
        Layout::Overlay => "overlay",
    };
    Some(format!("the `{layout}` layout cannot be painted in a frame of {width} × {height}"))
}

impl Plan {
    /// The plan for a look. One that [`unsupported`] names gets the panel as large as fits, so that nothing fails here.
    pub fn of(look: Look) -> Plan {
        Plan::laid(look.size, &WIDE_PANEL)
    }

    fn laid(size: Size, design: &Design) -> Plan {
        let grid = Grid::on(size, design.grid);
        let column = |(left, right): (f32, f32)| Column { left: grid.x(left), right: grid.x(right) };
        let board = grid.board(design.board);
        Plan {
            size,
            grid,
            board,
            board_area: board_area(board, size),
            panel: column(design.panel),
            list_bottom: grid.y(design.list_bottom),
            caption: column(design.caption),
            caption_baseline: grid.y(design.caption_baseline).round(),
        }
    }

    /// A rectangle with these edges, at least one pixel of the frame.
    pub fn area(&self, left: f32, top: f32, right: f32, bottom: f32) -> PixelRect {
        covering(left, top, right, bottom, self.size).unwrap_or(PixelRect { x: 0, y: 0, width: 1, height: 1 })
    }
}

/// A board with its coordinates and what may reach over its edge: shadows, pieces on their way, casings of arrows.
pub(super) fn board_area(board: BoardGeometry, size: Size) -> PixelRect {
    let BoardGeometry { x, y, square } = board;
    let (right, bottom) = (x + 8.0 * square, y + 8.0 * square);
    covering(x - 0.6 * square, y - 0.45 * square, right + 0.4 * square, bottom + 0.58 * square, size)
        .unwrap_or(PixelRect { x: 0, y: 0, width: 1, height: 1 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::film::Own;
    use crate::timeline::{Notation, ThemeName};

    fn look(width: u32, height: u32, layout: Layout) -> Look {
        Look {
            size: Size { width, height },
            theme: ThemeName::Dusk,
            layout,
            notation: Notation::Figurine,
            own: Own::default(),
        }
    }

    #[test]
    fn the_panel_keeps_its_figures_at_every_size() {
        let plan = Plan::of(look(1920, 1080, Layout::Panel));
        assert_eq!((plan.board.x, plan.board.y, plan.board.square), (136.0, 58.0, 97.0));
        let double = Plan::of(look(3840, 2160, Layout::Panel));
        assert_eq!(double.board.square, 194.0);
        assert_eq!(double.panel.left, 2000.0);
        let taller = Plan::of(look(1920, 1200, Layout::Panel));
        assert_eq!((taller.board.y, taller.panel.left), (118.0, 1000.0));
    }

    #[test]
    fn parts_never_overlap() {
        for (width, height) in
            [(1920, 1080), (1280, 720), (3840, 2160), (1600, 900), (854, 480), (320, 180), (1620, 1080)]
        {
            let plan = Plan::of(look(width, height, Layout::Panel));
            let board = plan.board_area;
            assert!((board.x + board.width) as f32 <= plan.panel.left - plan.grid.long(10.0), "{width}");
            let caption_top = plan.caption_baseline - plan.grid.long(46.0);
            assert!((board.y + board.height) as f32 <= caption_top + 0.5, "{width}×{height}");
            assert!(plan.list_bottom < caption_top);
        }
    }

    #[test]
    fn what_cannot_be_painted_is_named() {
        assert_eq!(unsupported(look(1920, 1080, Layout::Panel)), None);
        assert_eq!(unsupported(look(1600, 900, Layout::Panel)), None);
        let tall = unsupported(look(1080, 1920, Layout::Panel)).unwrap();
        assert_eq!(tall, "the `panel` layout cannot be painted in a frame of 1080 × 1920");
        assert!(unsupported(look(1920, 1080, Layout::Overlay)).unwrap().contains("overlay"));
    }
}
