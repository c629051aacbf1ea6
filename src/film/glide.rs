//! One ply on the board: its timetable, and the picture at every moment of it, played or taken back.

use super::motion::{
    BACK_SHARE, CASTLING_KING, CASTLING_ROOK, CASTLING_ROOK_LIFT, GLIDE, RETURNING, SLICE, SLICE_AT_KNIGHT,
    SLICE_AT_PAWN, SLICE_AT_SHARE, SLICING, TURNING, TURNING_BACK, TURNING_PAWN_LEFT, Window,
};
use super::path::Path;
use super::picture::{BoardPicture, Gliding, Promoting, Sliced, Standing};
use crate::game::{Node, Ply};
use crate::units::{Piece, Placement, Role, Square};

/// A ply, ready to be shown at any moment.
#[derive(Clone, Debug)]
pub(super) struct Glide {
    ply: Ply,
    before: Placement,
    after: Placement,
    path: Path,
    mover: Window,
    /// The castling rook's squares and time.
    rook: Option<(Path, Window)>,
    slice: Option<Window>,
    turning: Option<Window>,
}

impl Glide {
    /// The ply that led to `node`; `None` for a start.
    pub(super) fn new(nodes: &[Node], node: &Node) -> Option<Glide> {
        let (parent, ply) = node.came.as_ref()?;
        let before = nodes[parent.0].placement;
        let path = Path::new(ply.from, ply.to, &before);
        let mover = if ply.castling.is_some() { CASTLING_KING } else { Window::new(0.0, path.takes()) };
        let slice = ply.captured.map(|_| Window::new(slice_at(ply.piece.role, mover.length), SLICING));
        Some(Glide {
            before,
            after: node.placement,
            path,
            mover,
            rook: ply.castling.map(|(from, to)| (Path::Straight { from, to }, CASTLING_ROOK)),
            slice,
            turning: ply.promotion.map(|_| Window::new(mover.end(), TURNING)),
            ply: ply.clone(),
        })
    }

    /// When the piece that moves has its final form on its final square.
    pub(super) fn arrival(&self) -> f64 {
        self.turning.map_or(self.mover.end(), Window::end)
    }

    /// When nothing moves any more.
    pub(super) fn length(&self) -> f64 {
        let rook = self.rook.map_or(0.0, |(_, window)| window.end());
        let slice = self.slice.map_or(0.0, Window::end);
        self.arrival().max(rook).max(slice)
    }

    /// The board `ms` into the ply.
    pub(super) fn forward(&self, ms: f64) -> BoardPicture {
        let mut board = BoardPicture { footprint: Some(self.ply.from), ..BoardPicture::default() };
        let mut standing = self.before;
        standing.set(self.ply.from, None);
        if let Some((path, window)) = self.rook {
            self.show_rook(path, window.through(ms), &mut standing, &mut board);
        }
        if let (Some(window), Some((piece, square))) = (self.slice, self.ply.captured)
            && ms > window.start
        {
            standing.set(square, None);
            if ms < window.end() {
                let progress = SLICE.at(window.through(ms)) as f32;
                board.sliced.push(Sliced { piece, square, progress });
            }
        }
        if ms < self.mover.end() {
            board.gliding.push(on_its_way(self.ply.piece, self.path, self.mover.through(ms), 1.0));
        } else {
            board.plinth = Some(self.ply.to);
            match (self.turning, self.ply.promotion) {
                (Some(window), Some(role)) if ms < window.end() => {
                    board.promoting = Some(self.turn(role, window.through(ms)));
                }
                _ => standing.set(self.ply.to, self.after.get(self.ply.to)),
            }
        }
        board.standing = all_standing(&standing, None);
        board
    }

    /// How long it takes to take the ply back.
    pub(super) fn back_length(&self) -> f64 {
        let rook = self.rook.map_or(0.0, |(_, window)| window.times(BACK_SHARE).end());
        self.back_mover().end().max(rook)
    }

    /// The board `ms` into taking the ply back. The drained colour is not part of it.
    pub(super) fn backward(&self, ms: f64) -> BoardPicture {
        let mut board = BoardPicture::default();
        let mut standing = self.after;
        let mut returning = None;
        standing.set(self.ply.to, None);
        if let Some((path, window)) = self.rook {
            self.show_rook(path, 1.0 - window.times(BACK_SHARE).through(ms), &mut standing, &mut board);
        }
        if let Some((piece, square)) = self.ply.captured {
            let opacity = Window::new(self.back_length() - RETURNING, RETURNING).through(ms);
            if opacity > 0.0 {
                standing.set(square, Some(piece));
                returning = Some((square, opacity as f32));
            }
        }
        let mover = self.back_mover();
        match self.ply.promotion {
            Some(role) if ms < mover.start => {
                board.promoting = Some(self.turn(role, 1.0 - ms / mover.start));
            }
            _ if ms < mover.end() => {
                board.gliding.push(on_its_way(self.ply.piece, self.path.reversed(), mover.through(ms), 1.0));
            }
            _ => standing.set(self.ply.from, Some(self.ply.piece)),
        }
        board.standing = all_standing(&standing, returning);
        board
    }

    /// The ply itself.
    pub(super) fn ply(&self) -> &Ply {
        &self.ply
    }

    fn back_mover(&self) -> Window {
        let turning = if self.turning.is_some() { TURNING_BACK } else { 0.0 };
        Window::new(turning, self.mover.length * BACK_SHARE)
    }

    fn turn(&self, role: Role, through: f64) -> Promoting {
        Promoting {
            square: self.ply.to,
            side: self.ply.piece.side,
            role,
            climbed: GLIDE.at(through) as f32,
            pawn: (1.0 - (1.0 - TURNING_PAWN_LEFT) * through) as f32,
        }
    }

    /// The castling rook, somewhere on its way.
    fn show_rook(&self, path: Path, through: f64, standing: &mut Placement, board: &mut BoardPicture) {
        let (from, to) = path.ends();
        let piece = Piece { side: self.ply.piece.side, role: Role::Rook };
        // The king may stand on either square of the rook in a castling from Chess960; only the rook is moved here.
        for square in [from, to] {
            if standing.get(square) == Some(piece) {
                standing.set(square, None);
            }
        }
        if through <= 0.0 {
            standing.set(from, Some(piece));
        } else if through >= 1.0 {
            standing.set(to, Some(piece));
        } else {
            board.gliding.push(on_its_way(piece, path, through, CASTLING_ROOK_LIFT));
        }
    }
}

/// When the taken piece begins to fall apart.
fn slice_at(taker: Role, length: f64) -> f64 {
    match taker {
        Role::Knight => SLICE_AT_KNIGHT,
        Role::Pawn => SLICE_AT_PAWN,
        _ => (length * SLICE_AT_SHARE / 10.0).round() * 10.0,
    }
}

/// A piece `time` (0 to 1) into its way.
pub(super) fn on_its_way(piece: Piece, path: Path, time: f64, lift: f64) -> Gliding {
    let (x, y, height) = path.at(time);
    Gliding { piece, x: x as f32, y: y as f32, lift: (height * lift) as f32 }
}

/// Every piece of a placement at rest, a1 first, one of them perhaps still coming in.
pub(super) fn all_standing(placement: &Placement, entering: Option<(Square, f32)>) -> Vec<Standing> {
    placement
        .iter()
        .map(|(square, piece)| {
            let opacity = entering.filter(|(there, _)| *there == square).map_or(1.0, |(_, opacity)| opacity);
            Standing { square, piece, opacity }
        })
        .collect()
}
