//! Marks, lines of force, arrows and ghosts: coming in one after the other, going out together.

use super::beat::{Beat, Deed, after};
use super::motion::{ARROW, ARROW_HEAD, CALM, ENTER, MARK_IN, NO_FLASH, OUT, STAGGER};
use super::path::knight_corner;
use super::picture::{ArrowPicture, BoardPicture, ForcePicture, GhostPicture, MarkPicture};
use crate::game::{Board, Mark, Step};
use crate::timeline::{MarkRole, Motion};
use crate::units::{Piece, Placement, Side, Square, Time};

/// One thing shown on the board that is no piece of the position.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Sign {
    Mark(MarkRole, Square),
    Force(Square, Square),
    Arrow { from: Square, to: Square, side: Side, plan: bool, corner: Option<Square> },
    Ghost(Piece, Square),
}

impl Sign {
    /// How long it takes to come in.
    fn length(self, motion: Motion) -> f64 {
        match (motion, self) {
            (Motion::Calm, _) => CALM,
            (Motion::Full, Sign::Arrow { .. }) => ARROW,
            (Motion::Full, _) => MARK_IN,
        }
    }
}

/// A step's signs with the moment each begins to come in, in milliseconds: one after the other, the squares of one
/// mark together.
fn staggered(step: &Step, placement: Option<&Placement>, motion: Motion) -> Vec<(f64, Sign)> {
    let mut signs = Vec::new();
    let mut start = 0.0;
    let stagger = if motion == Motion::Calm { 0.0 } else { STAGGER };
    for mark in &step.marks {
        match mark {
            Mark::Squares(role, squares) => {
                signs.extend(squares.iter().map(|&square| (start, Sign::Mark(*role, square))));
            }
            Mark::Force(from, to) => signs.push((start, Sign::Force(*from, *to))),
        }
        start += stagger;
    }
    for arrow in &step.arrows {
        let corner = placement.and_then(|placement| knight_corner(arrow.from, arrow.to, placement));
        let (from, to, side, plan) = (arrow.from, arrow.to, arrow.side, arrow.plan);
        signs.push((start, Sign::Arrow { from, to, side, plan, corner }));
        start += stagger;
    }
    signs.extend(step.ghost.iter().map(|ghost| (start, Sign::Ghost(ghost.piece, ghost.to))));
    signs
}

/// How long a step's signs take to come in, in milliseconds.
pub(super) fn length(step: &Step, motion: Motion) -> f64 {
    staggered(step, None, motion).iter().map(|(start, sign)| start + sign.length(motion)).fold(0.0, f64::max)
}

/// A sign on the clock.
#[derive(Clone, Copy, Debug)]
struct Shown {
    sign: Sign,
    enters: Time,
    entered: Time,
    leaves: Time,
    gone: Time,
    /// Whether a cut makes it leave.
    cut: bool,
}

/// All signs of a scene over time.
#[derive(Clone, Debug, Default)]
pub(super) struct Signs {
    /// In the order they come.
    shown: Vec<Shown>,
    /// For each of them, when it and all before it are gone.
    all_gone: Vec<Time>,
    motion: Motion,
}

impl Signs {
    pub(super) fn new(board: &Board, beats: &[Beat], end: Time, motion: Motion) -> Signs {
        let mut shown: Vec<Shown> = Vec::new();
        for (index, (beat, step)) in beats.iter().zip(&board.steps).enumerate() {
            let (start, speed) = beat.signs;
            let stay = step.stay.map_or(end, |stay| start + stay);
            let leaves = stay.min(beat.next);
            // A cut leaves nothing behind: what was said of the old position would be said of the new one.
            let mut later = beats.iter().zip(&board.steps).skip(index + 1);
            let next = later.find(|(later, step)| !matches!(later.deed, Deed::Stay) || step.clears);
            let at_once = leaves == beat.next && next.is_some_and(|(next, _)| matches!(next.deed, Deed::Cut));
            let gone = if leaves >= end {
                end
            } else if at_once {
                leaves
            } else {
                after(leaves, OUT)
            };
            for (offset, sign) in staggered(step, Some(&board.nodes[step.node.0].placement), motion) {
                let enters = after(start, offset * speed);
                let entered = after(enters, sign.length(motion) * speed);
                // What stands already, or would be back before it could leave without a flash, simply stays; but not
                // beyond a cut, unless it had stood there too short a time for that not to flash.
                let stays = |other: &Shown| {
                    let over = other.cut && enters > other.leaves && other.leaves >= after(other.enters, NO_FLASH);
                    other.sign == sign && enters < after(other.leaves, NO_FLASH) && !over
                };
                match shown.iter_mut().rev().find(|other| stays(other)) {
                    Some(other) if other.leaves < leaves => {
                        (other.leaves, other.gone, other.cut) = (leaves, gone, at_once);
                    }
                    Some(_) => {}
                    None => shown.push(Shown { sign, enters, entered, leaves, gone, cut: at_once }),
                }
            }
        }
        shown.sort_by_key(|sign| sign.enters);
        let all_gone = shown
            .iter()
            .scan(Time::ZERO, |latest, sign| {
                *latest = sign.gone.max(*latest);
                Some(*latest)
            })
            .collect();
        Signs { shown, all_gone, motion }
    }

    /// Lays the signs of `time` on the board.
    pub(super) fn lay(&self, time: Time, board: &mut BoardPicture) {
        let from = self.all_gone.partition_point(|gone| *gone <= time);
        let to = self.shown.partition_point(|sign| sign.enters <= time);
        for shown in self.shown.get(from..to).unwrap_or_default().iter().filter(|shown| time < shown.gone) {
            shown.lay(time, self.motion, board);
        }
    }

    /// The stretches in which something changes.
    pub(super) fn changes(&self) -> impl Iterator<Item = (Time, Time)> + '_ {
        self.shown.iter().flat_map(|sign| [(sign.enters, sign.entered), (sign.leaves, sign.gone)])
    }
}

impl Shown {
    fn lay(&self, time: Time, motion: Motion, board: &mut BoardPicture) {
        let time_in = share(time, self.enters, self.entered);
        let opacity = (1.0 - share(time, self.leaves, self.gone)) as f32;
        // In a calm film a sign neither grows nor is drawn: it fades in as a whole.
        let (enter, opacity, time_in) = match motion {
            Motion::Full => (ENTER.at(time_in) as f32, opacity, time_in),
            Motion::Calm => (1.0, opacity * time_in as f32, 1.0),
        };
        match self.sign {
            Sign::Mark(role, square) => board.marks.push(MarkPicture { role, square, enter, opacity }),
            Sign::Force(from, to) => board.forces.push(ForcePicture { from, to, enter, opacity }),
            Sign::Ghost(piece, square) => board.ghosts.push(GhostPicture { piece, square, enter, opacity }),
            Sign::Arrow { from, to, side, plan, corner } => {
                let head = ARROW_HEAD.through(time_in * ARROW) as f32;
                board.arrows.push(ArrowPicture { from, to, side, plan, corner, drawn: enter, head, opacity });
            }
        }
    }
}

/// How much of the stretch has passed; exactly 1 from its end on, even if it has no length.
pub(super) fn share(time: Time, start: Time, end: Time) -> f64 {
    if time < start {
        0.0
    } else if time >= end {
        1.0
    } else {
        time.since(start).as_secs_f64() / end.since(start).as_secs_f64()
    }
}
