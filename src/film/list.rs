//! The move list over time: what has been played, what hangs under it as a try, and which move is lit.

use super::beat::{Beat, Deed, after};
use super::lines::Lines;
use super::motion::{LIST, LIST_APART};
use super::picture::MoveList;
use super::signs::share;
use crate::game::{Action, Board, NodeId};
use crate::timeline::Motion;
use crate::units::Time;
use std::sync::Arc;

/// The move list of a scene over time.
#[derive(Clone, Debug)]
pub(super) struct Lists {
    first: Arc<MoveList>,
    changes: Vec<Change>,
    too_deep: Vec<NodeId>,
}

/// The list's own words.
#[derive(Clone, Debug)]
pub(super) struct ListWords {
    pub(super) r#try: Arc<str>,
    pub(super) or: Arc<str>,
    pub(super) stalemate: Arc<str>,
    /// Empty if the film has none of its own.
    pub(super) fold: Arc<str>,
}

#[derive(Clone, Debug)]
struct Change {
    start: Time,
    end: Time,
    list: Arc<MoveList>,
}

impl Lists {
    pub(super) fn new(board: &Board, beats: &[Beat], end: Time, motion: Motion, words: &ListWords) -> Lists {
        let mut lines = Lines::new(board);
        if board.pace.is_some() {
            // In a replay nothing is given away: the moves to come are shown from the start.
            for step in board.steps.iter().filter(|step| step.action == Action::Play) {
                lines.play(step.node);
            }
        }
        let mut taken = vec![lines.take(NodeId(0))];
        let mut times: Vec<(Time, Time)> = Vec::new();
        for (index, (beat, step)) in beats.iter().zip(&board.steps).enumerate() {
            if matches!(beat.deed, Deed::Stay) {
                continue;
            }
            lines.play(step.node);
            let mut is_rewritten = false;
            if let (Action::Play, Some((_, ply))) = (&step.action, &board.nodes[step.node.0].came) {
                is_rewritten = lines.sign(step.node, &ply.san, board.sign_at(step), taken.len());
            }
            let before = &taken[taken.len() - 1];
            let list = if is_rewritten { lines.take(step.node) } else { lines.take_after(before, step.node) };
            if !is_rewritten && *before == list {
                continue;
            }
            let apart = times.last().is_none_or(|last| beat.start >= after(last.0, LIST_APART));
            let next = beats[index + 1..].iter().find(|later| !matches!(later.deed, Deed::Stay));
            let room = next.map_or(end, |next| next.start);
            let stop = if apart && motion == Motion::Full { after(beat.start, LIST).min(room) } else { beat.start };
            times.push((beat.start, stop));
            taken.push(list);
        }
        let mut lists = lines.lists(&taken, words).into_iter();
        let first = lists.next().expect("the first list is taken before any change");
        let changes = lists.zip(times).map(|(list, (start, end))| Change { start, end, list }).collect();
        Lists { first, changes, too_deep: lines.too_deep }
    }

    /// The plies that leave a line of the second level: the list has no third.
    pub(super) fn too_deep(&self) -> &[NodeId] {
        &self.too_deep
    }

    /// The list at `time`; while it changes, the one before and how far the change has come.
    pub(super) fn at(&self, time: Time) -> (Arc<MoveList>, Option<(Arc<MoveList>, f32)>) {
        let now = self.changes.partition_point(|change| change.start <= time);
        let Some(change) = now.checked_sub(1).map(|index| &self.changes[index]) else {
            return (Arc::clone(&self.first), None);
        };
        let before = (time < change.end).then(|| {
            let before = now.checked_sub(2).map_or(&self.first, |index| &self.changes[index].list);
            (Arc::clone(before), share(time, change.start, change.end) as f32)
        });
        (Arc::clone(&change.list), before.filter(|(_, share)| *share < 1.0))
    }

    /// The stretches in which something changes.
    pub(super) fn changes(&self) -> impl Iterator<Item = (Time, Time)> + '_ {
        self.changes.iter().map(|change| (change.start, change.end))
    }
}
