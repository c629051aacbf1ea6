//! A step on the clock: what the board does, and how much of its motion there is time for.
//!
//! When cues come closer than the motion needs, the motion shortens; it never queues up behind the voice.

use super::calm::Fade;
use super::glide::Glide;
use super::king::Moment;
use super::motion::{CALM, FEWEST_FRAMES, NO_FLASH};
use super::signs;
use super::takeback::TakeBack;
use crate::game::{Action, Board, Node, Step};
use crate::timeline::Motion;
use crate::units::{FrameRate, Time};
use std::time::Duration;

/// What the board does, ready to be shown.
#[derive(Clone, Debug)]
pub(super) enum Deed {
    /// Nothing.
    Stay,
    /// A ply is played.
    Play(Box<Glide>),
    /// Plies are taken back.
    TakeBack(TakeBack),
    /// Another position comes in by a fade, as all moves do in a calm film.
    Fade(Box<Fade>),
    /// Another position appears at once.
    Cut,
}

impl Deed {
    pub(super) fn new(nodes: &[Node], step: &Step, motion: Motion) -> Deed {
        let here = &nodes[step.node.0];
        match &step.action {
            Action::Play if motion == Motion::Calm => match &here.came {
                Some((parent, ply)) => Deed::Fade(Box::new(Fade::of_ply(&nodes[parent.0], here, ply))),
                None => Deed::Cut,
            },
            Action::TakeBack(passed) if motion == Motion::Calm => match passed.first() {
                Some(left) => Deed::Fade(Box::new(Fade::back(&nodes[left.0], here))),
                None => Deed::Cut,
            },
            Action::Stay => Deed::Stay,
            Action::Cut => Deed::Cut,
            Action::Play => {
                Glide::new(nodes, &nodes[step.node.0]).map_or(Deed::Cut, |glide| Deed::Play(Box::new(glide)))
            }
            Action::TakeBack(passed) => TakeBack::new(nodes, passed).map_or(Deed::Cut, Deed::TakeBack),
        }
    }

    /// When the pieces have arrived, in milliseconds at ordinary speed: marks may now speak of the new position.
    fn arrival(&self) -> f64 {
        match self {
            Deed::Stay | Deed::Cut => 0.0,
            Deed::Play(glide) => glide.arrival(),
            Deed::TakeBack(back) => back.length(),
            Deed::Fade(_) => CALM,
        }
    }

    /// When nothing moves any more.
    fn length(&self) -> f64 {
        match self {
            Deed::Play(glide) => glide.length(),
            other => other.arrival(),
        }
    }
}

/// How long a step's motion takes at ordinary speed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Natural {
    /// When the pieces have arrived.
    arrival: f64,
    /// When the board is still, with check, mate or stalemate shown.
    board: f64,
    /// When marks, arrows and ghost are in as well.
    pub(super) whole: f64,
}

impl Natural {
    fn new(deed: &Deed, moment: Option<Moment>, step: &Step, pace: f64, motion: Motion) -> Natural {
        let arrival = deed.arrival() / pace;
        // After a fade, check and mate are there at once.
        let moment = moment.filter(|_| !matches!(deed, Deed::Fade(_))).map_or(0.0, Moment::length);
        let board = deed.length().max(deed.arrival() + moment) / pace;
        Natural { arrival, board, whole: board.max(arrival + signs::length(step, motion)) }
    }

    /// What an untimed step after `step` has to wait for.
    pub(super) fn of(board: &Board, step: &Step, motion: Motion) -> Natural {
        let deed = Deed::new(&board.nodes, step, motion);
        let moment = shown_moment(&deed, &board.nodes[step.node.0]);
        Natural::new(&deed, moment, step, pace(board), motion)
    }
}

/// A scene's speed: below 1 in a slow replay.
pub(super) fn pace(board: &Board) -> f64 {
    board.pace.filter(|pace| pace.is_finite() && *pace > 0.0).unwrap_or(1.0)
}

/// The moment that comes in with a deed; one that only stays brings none.
fn shown_moment(deed: &Deed, node: &Node) -> Option<Moment> {
    if matches!(deed, Deed::Stay) { None } else { Moment::of(node) }
}

/// A step on the clock.
#[derive(Clone, Debug)]
pub(super) struct Beat {
    /// When it begins.
    pub(super) start: Time,
    /// When the board does something else or is cleared, or the scene ends.
    pub(super) next: Time,
    /// What the board does.
    pub(super) deed: Deed,
    /// Check, mate or stalemate in the position it leads to, if there is time to show it.
    pub(super) moment: Option<Moment>,
    /// When, within the deed, that moment begins; milliseconds at ordinary speed.
    pub(super) moment_at: f64,
    /// The board's motion in milliseconds at ordinary speed.
    pub(super) motion: f64,
    /// When the board is still.
    pub(super) still: Time,
    /// When its marks, arrows and ghost begin to come in, and how much faster than usual (0: at once).
    pub(super) signs: (Time, f64),
    /// When all of it is in.
    pub(super) complete: Time,
}

/// Puts the steps of a scene on the clock.
pub(super) fn beats(board: &Board, times: &[Time], end: Time, rate: FrameRate, motion: Motion) -> Vec<Beat> {
    let pace = pace(board);
    let fewest = FEWEST_FRAMES * 1000.0 * f64::from(rate.den()) / f64::from(rate.num());
    let mut next = end;
    let mut beats: Vec<Beat> = Vec::with_capacity(times.len());
    for (step, &start) in board.steps.iter().zip(times).rev() {
        let deed = Deed::new(&board.nodes, step, motion);
        let until = match step.stay {
            Some(stay) if matches!(deed, Deed::Stay) => next.min(start + stay),
            _ => next,
        };
        let room = until.since(start).as_secs_f64() * 1000.0;
        // Jaws that come and go within a third of a second would flash.
        let moment = shown_moment(&deed, &board.nodes[step.node.0])
            .filter(|_| matches!(deed, Deed::Cut) || room - deed.arrival() / pace >= NO_FLASH);
        let natural = Natural::new(&deed, moment, step, pace, motion);
        let speed = if natural.whole <= room {
            1.0
        } else if room < fewest {
            0.0
        } else {
            room / natural.whole
        };
        beats.push(Beat {
            start,
            next,
            moment,
            moment_at: deed.arrival(),
            motion: natural.board * pace,
            still: after(start, natural.board * speed),
            signs: (after(start, natural.arrival * speed), speed),
            complete: after(start, natural.whole * speed),
            deed,
        });
        if !matches!(step.action, Action::Stay) || step.clears {
            next = start;
        }
    }
    beats.reverse();
    beats
}

/// A time so many milliseconds later, to the microsecond.
pub(super) fn after(time: Time, ms: f64) -> Time {
    time + Duration::from_micros((ms.max(0.0) * 1000.0).round() as u64)
}
