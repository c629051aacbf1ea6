//! The pieces of a scene over time: still boards, and the deeds that lead from one to the next.

use super::beat::{Beat, Deed};
use super::glide::all_standing;
use super::king::Moment;
use super::picture::BoardPicture;
use crate::game::{Board, Node};
use crate::units::Time;

/// The pieces of a scene over time.
#[derive(Clone, Debug)]
pub(super) struct Walk {
    first: BoardPicture,
    acts: Vec<Act>,
}

/// A deed on the clock, with the still board it leads to.
#[derive(Clone, Debug)]
struct Act {
    start: Time,
    still: Time,
    motion: f64,
    deed: Deed,
    leaving: Option<Moment>,
    coming: Option<(Moment, f64)>,
    settled: BoardPicture,
    /// Check, mate or stalemate in the position it leads to, also where the film has no time to show it.
    moment: Option<Moment>,
}

impl Walk {
    pub(super) fn new(board: &Board, beats: &[Beat]) -> Walk {
        let start = &board.nodes[0];
        let mut leaving = Moment::of(start);
        let mut acts = Vec::new();
        for (beat, step) in beats.iter().zip(&board.steps) {
            if matches!(beat.deed, Deed::Stay) {
                continue;
            }
            acts.push(Act {
                start: beat.start,
                still: beat.still,
                motion: beat.motion,
                deed: beat.deed.clone(),
                leaving,
                coming: beat.moment.map(|moment| (moment, beat.moment_at)),
                settled: settled(&board.nodes[step.node.0], &beat.deed, beat.moment),
                moment: Moment::of(&board.nodes[step.node.0]),
            });
            leaving = beat.moment;
        }
        Walk { first: opening(start), acts }
    }

    /// The board at `time`, without what lies on it.
    pub(super) fn at(&self, time: Time) -> BoardPicture {
        match self.acts[..self.acts.partition_point(|act| act.start <= time)].last() {
            None => self.first.clone(),
            Some(act) if time >= act.still => act.settled.clone(),
            Some(act) => act.at(time),
        }
    }

    /// The still board that `time` leads to, as it would be with all the time it needs: check, mate or stalemate are
    /// on it although the film may be past them too soon to show them.
    pub(super) fn at_rest(&self, time: Time) -> BoardPicture {
        match self.acts[..self.acts.partition_point(|act| act.start <= time)].last() {
            None => self.first.clone(),
            Some(act) => BoardPicture { king: act.moment.map(Moment::whole), ..act.settled.clone() },
        }
    }

    /// When the first deed begins.
    pub(super) fn first_deed(&self) -> Option<Time> {
        self.acts.first().map(|act| act.start)
    }

    /// The stretches in which something changes, each from its first change to its last.
    pub(super) fn changes(&self) -> impl Iterator<Item = (Time, Time)> + '_ {
        self.acts.iter().map(|act| (act.start, act.still))
    }
}

impl Act {
    /// The board while it moves.
    fn at(&self, time: Time) -> BoardPicture {
        // Divided in this order, a motion at its own speed gets its milliseconds exactly.
        let length = self.still.since(self.start).as_micros() as f64 / 1000.0;
        let ms = time.since(self.start).as_micros() as f64 / 1000.0 * (self.motion / length);
        let mut board = match &self.deed {
            Deed::Play(glide) => glide.forward(ms),
            Deed::TakeBack(back) => back.at(ms),
            Deed::Fade(fade) => {
                // Nothing grows or bows: what the move did to the king is there with it.
                let king = self.coming.filter(|(_, start)| ms >= *start).map(|(moment, _)| moment.whole());
                return BoardPicture { king, ..fade.at(ms) };
            }
            Deed::Stay | Deed::Cut => self.settled.clone(),
        };
        let coming = self.coming.and_then(|(moment, start)| moment.coming(ms - start));
        board.king = coming.or_else(|| self.leaving.and_then(|moment| moment.leaving(ms)));
        board
    }
}

/// A position at rest, however it came about.
pub(super) fn opening(node: &Node) -> BoardPicture {
    settled(node, &Deed::Stay, Moment::of(node))
}

/// A board at rest.
fn settled(node: &Node, deed: &Deed, moment: Option<Moment>) -> BoardPicture {
    let played = match deed {
        Deed::Play(glide) => Some((glide.ply().from, glide.ply().to)),
        Deed::Fade(fade) => fade.ply(),
        Deed::Stay | Deed::TakeBack(_) | Deed::Cut => None,
    };
    BoardPicture {
        standing: all_standing(&node.placement, None),
        footprint: played.map(|(from, _)| from),
        plinth: played.map(|(_, to)| to),
        king: moment.map(Moment::whole),
        ..BoardPicture::default()
    }
}
