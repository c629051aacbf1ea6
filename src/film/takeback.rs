//! Plies taken back: one after the other, or, when there are too many to follow, all pieces home at once.

use super::glide::{Glide, all_standing, on_its_way};
use super::motion::{BACK_LEAST_PLY, BACK_LONGEST, DRAIN, DRAINING, GATHER, RETURNING, Window};
use super::path::Path;
use super::picture::{BoardPicture, Standing};
use crate::game::{Node, NodeId};
use crate::units::{Piece, Placement, Square};

/// A take-back, ready to be shown at any moment.
#[derive(Clone, Debug)]
pub(super) struct TakeBack {
    way: Way,
    length: f64,
}

#[derive(Clone, Debug)]
enum Way {
    /// Each ply with its share of the time.
    InTurn(Vec<(Window, Glide)>),
    /// Every piece straight to where it came from.
    AtOnce { staying: Placement, homing: Vec<(Piece, Path)>, returning: Vec<(Square, Piece)> },
}

impl TakeBack {
    /// Takes back the plies that led to `passed`, the last one first; `None` if there is nothing to take back.
    pub(super) fn new(nodes: &[Node], passed: &[NodeId]) -> Option<TakeBack> {
        let glides: Vec<Glide> = passed.iter().filter_map(|id| Glide::new(nodes, &nodes[id.0])).collect();
        let first = nodes[passed.first()?.0].placement;
        if glides.is_empty() {
            return None;
        }
        let whole: f64 = glides.iter().map(Glide::back_length).sum();
        let length = whole.min(BACK_LONGEST);
        if length < BACK_LEAST_PLY * glides.len() as f64 {
            return Some(TakeBack { way: at_once(&first, &glides), length: GATHER });
        }
        let mut start = 0.0;
        let in_turn = glides.into_iter().map(|glide| {
            let window = Window::new(start, glide.back_length() * length / whole);
            start = window.end();
            (window, glide)
        });
        Some(TakeBack { way: Way::InTurn(in_turn.collect()), length })
    }

    /// How long it takes.
    pub(super) fn length(&self) -> f64 {
        self.length
    }

    /// The board `ms` into it.
    pub(super) fn at(&self, ms: f64) -> BoardPicture {
        let mut board = match &self.way {
            Way::InTurn(plies) => {
                let now = plies.partition_point(|(window, _)| window.end() <= ms).min(plies.len() - 1);
                let (window, glide) = &plies[now];
                glide.backward((ms - window.start) * (glide.back_length() / window.length))
            }
            Way::AtOnce { staying, homing, returning } => {
                let time = Window::new(0.0, self.length).through(ms);
                let opacity = Window::new(self.length - RETURNING, RETURNING).through(ms) as f32;
                let mut standing = all_standing(staying, None);
                if opacity > 0.0 {
                    standing.extend(returning.iter().map(|&(square, piece)| Standing { square, piece, opacity }));
                    standing.sort_by_key(|piece| piece.square);
                }
                let gliding = homing.iter().map(|&(piece, path)| on_its_way(piece, path, time, 1.0)).collect();
                BoardPicture { standing, gliding, ..BoardPicture::default() }
            }
        };
        let drained = Window::new(0.0, DRAINING).through(ms).min(Window::new(0.0, DRAINING).through(self.length - ms));
        board.drained = (DRAIN * drained) as f32;
        board
    }
}

/// Follows every piece of `first` back through the plies.
fn at_once(first: &Placement, glides: &[Glide]) -> Way {
    // Where each piece of the earlier positions stands in `first`; `None` if it has been taken since.
    let mut stands: Vec<Option<Option<Square>>> = Square::all().map(|s| first.get(s).map(|_| Some(s))).collect();
    let mut placement = *first;
    for glide in glides {
        let ply = glide.ply();
        let mover = stands[ply.to.index()].take();
        placement.set(ply.to, None);
        if let Some((from, to)) = ply.castling {
            stands[from.index()] = stands[to.index()].take();
            placement.set(from, placement.get(to));
            placement.set(to, None);
        }
        if let Some((piece, square)) = ply.captured {
            placement.set(square, Some(piece));
            stands[square.index()] = Some(None);
        }
        placement.set(ply.from, Some(ply.piece));
        stands[ply.from.index()] = mover;
    }
    let (mut staying, mut homing, mut returning) = (Placement::default(), Vec::new(), Vec::new());
    for (square, piece) in placement.iter() {
        match stands[square.index()] {
            Some(Some(now)) if now == square => staying.set(square, Some(piece)),
            Some(Some(now)) => homing.push((piece, Path::Straight { from: now, to: square })),
            _ => returning.push((square, piece)),
        }
    }
    Way::AtOnce { staying, homing, returning }
}
