//! One scene on the clock: everything that is on screen in it, at every time.

use super::beat::{Beat, after, beats, pace};
use super::caption::Captions;
use super::list::{ListWords, Lists};
use super::motion::{BOARD_IN, CALM, CARD_IN, DIM, DIMMING, FEWEST_FRAMES, GLIDE, NO_FLASH};
use super::picture::{BoardPicture, Body, CardPicture, Current, Head, ListMove, MoveList, Picture, ScenePicture};
use super::ring::Ring;
use super::schedule::SceneTimes;
use super::signs::{Signs, share};
use super::walk::Walk;
use crate::game::{Action, Board, NodeId};
use crate::source::Span;
use crate::timeline::Motion;
use crate::units::{FrameIndex, FrameRate, Side, Time};
use std::sync::Arc;
use std::time::Duration;

/// A scene on the clock.
#[derive(Clone, Debug)]
pub(super) struct Shot {
    pub(super) start: Time,
    /// When it covers what was before.
    in_full: Time,
    /// What was before.
    beneath: Option<Arc<Body>>,
    content: Content,
}

#[derive(Clone, Debug)]
enum Content {
    Card(Arc<CardPicture>, Option<Ring>),
    Scene(Box<Stage>),
}

/// A board scene, layer by layer.
#[derive(Clone, Debug)]
pub(super) struct Stage {
    end: Time,
    head: Arc<Head>,
    walk: Walk,
    signs: Signs,
    lists: Lists,
    captions: Captions,
    /// The slow replay's dark ground: when it comes, is there, goes, and is gone.
    dim: Option<[Time; 4]>,
    /// For each cue with each node it leads to, when its position is complete.
    moments: Vec<(Span, NodeId, Time)>,
    /// For each step, when it begins and when all of it is there.
    steps: Vec<(Time, Time)>,
}

impl Stage {
    pub(super) fn new(
        board: &Board,
        (head, words): (Head, &ListWords),
        times: &SceneTimes,
        rate: FrameRate,
        motion: Motion,
    ) -> Stage {
        let beats = beats(board, &times.steps, times.end, rate, motion);
        let walk = Walk::new(board, &beats);
        let goes_home = board.steps.last().is_some_and(|step| matches!(step.action, Action::TakeBack(_)));
        let home = beats.last().filter(|_| goes_home).map(|beat| (beat.start, beat.still));
        let slow = board.pace.and_then(|_| walk.first_deed());
        let dim = slow.map(|first| dim(first, times, home));
        Stage {
            end: times.end,
            head: Arc::new(head),
            signs: Signs::new(board, &beats, times.end, motion),
            lists: Lists::new(board, &beats, times.end, motion, words),
            captions: Captions::new(board, &times.steps, times.end, motion),
            dim: dim.filter(|_| pace(board) < 1.0),
            moments: moments(board, &beats, times, rate),
            steps: beats.iter().map(|beat| (beat.start, beat.complete.min(last_of(beat)))).collect(),
            walk,
        }
    }

    pub(super) fn captions(&self) -> &Captions {
        &self.captions
    }

    pub(super) fn lists(&self) -> &Lists {
        &self.lists
    }

    /// When the position that a cue labels is complete on the board, with what the cue lays on it.
    pub(super) fn moment(&self, cue: Span, is_labelled: impl Fn(NodeId) -> bool) -> Option<Time> {
        let of_cue = || self.moments.iter().filter(|(span, ..)| *span == cue);
        // A position has one label; a second one given to it is known by its cue alone.
        let named = of_cue().find(|(_, node, _)| is_labelled(*node));
        named.or_else(|| of_cue().next_back()).map(|(.., time)| *time)
    }

    fn at(&self, time: Time) -> ScenePicture {
        let mut board = self.walk.at(time);
        self.signs.lay(time, &mut board);
        if let Some([comes, there, goes, gone]) = self.dim {
            board.dimmed = (DIM * share(time, comes, there).min(1.0 - share(time, goes, gone))) as f32;
        }
        let (list, list_before) = self.lists.at(time);
        ScenePicture { board, head: Arc::clone(&self.head), list, list_before, caption: self.captions.at(time) }
    }

    /// What the step under way at `time` comes to: its board at rest, and all that it lays there.
    pub(super) fn at_rest(&self, time: Time) -> ScenePicture {
        let begun = self.steps.iter().filter(|(start, _)| *start <= time);
        let complete = begun.map(|(_, complete)| *complete).fold(time, Time::max);
        let mut board = self.walk.at_rest(time);
        self.signs.lay(complete, &mut board);
        ScenePicture { board, list_before: None, ..self.at(time) }
    }

    fn changes(&self) -> impl Iterator<Item = (Time, Time)> + '_ {
        let dim = self.dim.into_iter().flat_map(|[comes, there, goes, gone]| [(comes, there), (goes, gone)]);
        self.walk
            .changes()
            .chain(self.signs.changes())
            .chain(self.lists.changes())
            .chain(self.captions.changes())
            .chain(dim)
    }
}

/// When the ground of a slow replay darkens: before the first move if there is room, so that the move still begins
/// with its cue; and when it lightens: as the pieces go home, if the scene ends with that, else at the scene's end.
fn dim(first_deed: Time, times: &SceneTimes, home: Option<(Time, Time)>) -> [Time; 4] {
    let length = Duration::from_micros((DIMMING * 1000.0) as u64);
    let comes = (first_deed - length).max(times.start);
    let there = comes + length;
    if let Some((goes, gone)) = home.filter(|(goes, _)| *goes >= there) {
        return [comes, there, goes, gone];
    }
    let goes = (times.end - length).max(there);
    [comes, there, goes, times.end.max(goes)]
}

fn moments(board: &Board, beats: &[Beat], times: &SceneTimes, rate: FrameRate) -> Vec<(Span, NodeId, Time)> {
    // What the first cue lays on the board is there at the earliest when the board itself is.
    let start = after(times.start, BOARD_IN).min(times.end);
    let complete = board.steps.iter().zip(beats);
    complete.map(|(step, beat)| (step.span, step.node, beat.complete.max(start).min(last_frame(beat, rate)))).collect()
}

/// When the last frame begins that shows a step's position. Where there is none between the step and the next one, it
/// is on no picture at all, and its own beginning stands for it.
fn last_frame(beat: &Beat, rate: FrameRate) -> Time {
    let next = rate.first_at(beat.next).0;
    next.checked_sub(1).map_or(beat.start, |last| rate.start_of(FrameIndex(last)).max(beat.start))
}

/// The last moment at which a step's position is on the board: where the next one follows at once, what it needs is
/// complete when that begins, which is too late.
fn last_of(beat: &Beat) -> Time {
    (beat.next - Duration::from_micros(1)).max(beat.start)
}

/// The last moves of the line that is on the board: three or four, beginning with White's.
fn last_moves(list: &MoveList) -> Vec<ListMove> {
    let line = match list.current {
        Current::None => None,
        Current::Main(index) => Some((&list.main, index)),
        Current::Try(index, at) => list.tries.get(index).map(|line| (&line.moves, at)),
    };
    let Some((line, last)) = line else { return Vec::new() };
    let moves = (last.saturating_sub(3)..=last).filter_map(|index| line.get(index));
    let mut moves: Vec<ListMove> = moves.collect();
    if let Some(lead) = moves.iter().position(|played| played.side == Side::White) {
        moves.drain(..lead);
    }
    moves
}

impl Shot {
    /// A card on the clock.
    pub(super) fn card(
        card: CardPicture,
        ring: Option<Ring>,
        times: &SceneTimes,
        beneath: Option<Body>,
        (rate, motion): (FrameRate, Motion),
    ) -> Shot {
        let length = if motion == Motion::Calm { CALM } else { CARD_IN };
        Shot::new(Content::Card(Arc::new(card), ring), length, times, beneath, rate)
    }

    /// A board scene on the clock.
    pub(super) fn scene(
        stage: Stage,
        times: &SceneTimes,
        beneath: Option<Body>,
        (rate, motion): (FrameRate, Motion),
    ) -> Shot {
        let length = if motion == Motion::Calm { CALM } else { BOARD_IN };
        Shot::new(Content::Scene(Box::new(stage)), length, times, beneath, rate)
    }

    fn new(content: Content, length: f64, times: &SceneTimes, beneath: Option<Body>, rate: FrameRate) -> Shot {
        let room = times.end.since(times.start).as_secs_f64() * 1000.0;
        let fewest = FEWEST_FRAMES * 1000.0 * f64::from(rate.den()) / f64::from(rate.num());
        let length = if room < fewest.max(NO_FLASH) { 0.0 } else { length.min(room) };
        let in_full = if beneath.is_some() { after(times.start, length) } else { times.start };
        Shot { start: times.start, in_full, beneath: beneath.map(Arc::new), content }
    }

    /// What is on screen.
    pub(super) fn at(&self, time: Time) -> Picture {
        let covered = GLIDE.at(share(time, self.start, self.in_full)) as f32;
        let beneath = self.beneath.as_ref().filter(|_| time < self.in_full && covered < 1.0);
        Picture { body: self.body(time), beneath: beneath.map(|body| (Arc::clone(body), covered)) }
    }

    /// What is on screen but for what it covers.
    pub(super) fn body(&self, time: Time) -> Body {
        match &self.content {
            Content::Card(card, None) => Body::Card(Arc::clone(card)),
            Content::Card(card, Some(ring)) => {
                Body::Card(Arc::new(CardPicture { ring: Some(ring.at(time)), ..CardPicture::clone(card) }))
            }
            Content::Scene(stage) => Body::Scene(Box::new(stage.at(time))),
        }
    }

    /// The board at rest, as the scene leaves it, with the last moves that led to it.
    pub(super) fn left_behind(&self) -> Option<(BoardPicture, Vec<ListMove>)> {
        let stage = self.stage()?;
        Some((stage.walk.at_rest(stage.end), last_moves(&stage.lists.at(stage.end).0)))
    }

    /// Its layers, if it is a board scene.
    pub(super) fn stage(&self) -> Option<&Stage> {
        if let Content::Scene(stage) = &self.content { Some(stage) } else { None }
    }

    /// The stretches in which something changes; its own beginning is one.
    pub(super) fn changes(&self) -> Vec<(Time, Time)> {
        let mut changes = vec![(self.start, self.in_full)];
        changes.extend(self.stage().into_iter().flat_map(Stage::changes));
        if let Content::Card(_, Some(ring)) = &self.content {
            changes.push(ring.change());
        }
        changes
    }
}
