//! A timeline that its author has corrected → the same with its doubtful cues decoded again.
//!
//! A cue with `# ?` behind it on its line is doubtful; all others are pinned: they stay as they are, to the byte, and
//! the story has to lead through them. Between two pinned cues with nothing doubtful between them nothing is added;
//! where there is a doubt, and behind a scene's last pinned cue, the words are listened to again.

use super::decode::Fixed;
use super::ground::{Ground, Spot, Study};
use super::plan::{Cue, Scene};
use super::write::{self, Remark};
use crate::game::{Body, Game, NodeId, Position, When};
use crate::timeline::{self, At, Back, Timeline};
use crate::units::Time;
use std::ops::Range;

/// How a doubt begins, behind its cue or on a line of its own.
const MARK: &str = "# ?";
/// How long after a pinned move its words may still go on, in microseconds.
const WORDS: i64 = 900_000;
/// How long before it they may begin.
const EARLY: i64 = 350_000;

/// A corrected timeline, taken apart.
pub(super) struct Corrected<'a> {
    text: &'a str,
    /// The scenes with boards of their own, in order.
    pub boards: Vec<BoardScene>,
}

/// A scene whose cues may be decoded again.
pub(super) struct BoardScene {
    /// Its number in the file.
    number: usize,
    pub at: Time,
    cues: Vec<Kept>,
    /// The bytes of the scene, header included.
    bytes: Range<usize>,
}

/// A cue of the file.
struct Kept {
    bytes: Range<usize>,
    at: Time,
    is_doubtful: bool,
    /// The position it leads to, as a node of its scene, if it moves anything; and the one it needs to leave from, which
    /// is any if it returns to the start or a label.
    moves: Option<(Option<NodeId>, NodeId)>,
    label: Option<String>,
}

impl<'a> Corrected<'a> {
    /// Takes a timeline apart that was resolved without mistakes.
    pub fn new(text: &'a str, timeline: &Timeline, game: &Game) -> Corrected<'a> {
        let mut boards = Vec::new();
        for (number, (scene, resolved)) in timeline.scenes.iter().zip(&game.scenes).enumerate() {
            let Body::Board(board) = &resolved.body else { continue };
            if board.pace.is_some() {
                continue;
            }
            let end = timeline.scenes[number + 1..].iter().map(|next| next.span.start);
            let end = end.chain(timeline.thumbnails.iter().map(|still| still.span.start)).min().unwrap_or(text.len());
            let start = match scene.at.as_ref().map(|at| at.value) {
                Some(At::Clock(time)) => time,
                _ => Time::ZERO,
            };
            let mut here = NodeId(0);
            let mut clock = start;
            let mut cues: Vec<Kept> = Vec::new();
            for cue in &scene.cues {
                let steps: Vec<_> = board.steps.iter().filter(|step| step.span == cue.span).collect();
                let from = here;
                let moved = !cue.play.is_empty() || cue.back.is_some();
                for step in &steps {
                    clock = match step.when {
                        When::At(At::Clock(time)) => time,
                        When::At(At::After(wait)) => clock + wait,
                        When::Every(_) | When::Follow => clock,
                    };
                    here = step.node;
                }
                let needed = match cue.back.as_ref().map(|back| &back.value) {
                    Some(Back::Start | Back::Label(_)) => None,
                    Some(Back::Plies(_)) | None => Some(from),
                };
                let has_clock = matches!(cue.at.as_ref().map(|at| at.value), Some(At::Clock(_)));
                if !has_clock && let Some(before) = cues.last_mut() {
                    // Its time hangs on the cue before, which therefore stays.
                    before.is_doubtful = false;
                }
                cues.push(Kept {
                    bytes: cue.span.start..cue.span.end,
                    at: clock,
                    is_doubtful: is_doubtful(text, cue.span.end),
                    moves: moved.then_some((needed, here)),
                    label: cue.label.as_ref().map(|label| label.value.clone()),
                });
            }
            keep_named(&mut cues, &scene.cues);
            boards.push(BoardScene { number, at: start, cues, bytes: scene.span.start..end });
        }
        Corrected { text, boards }
    }

    /// The studies its scenes are about: each scene's first position, with the lines of its PGN if it has one.
    pub fn studies(&self, game: &Game, lines: &Game) -> Vec<Study> {
        let board = |game: &Game, number: usize| match game.scenes.get(number).map(|scene| &scene.body) {
            Some(Body::Board(board)) => board.nodes.clone(),
            _ => Vec::new(),
        };
        let study = |scene: &BoardScene| {
            let start = Position::of(&board(game, scene.number)[0]);
            Study { start, lines: board(lines, scene.number) }
        };
        self.boards.iter().map(study).collect()
    }

    /// What is fixed: every scene's beginning and every pinned cue.
    pub fn fixed(&self, ground: &mut Ground, game: &Game, token_at: &dyn Fn(Time) -> usize) -> (Vec<Fixed>, Vec<Pin>) {
        let mut fixed = Vec::new();
        let mut pins = Vec::new();
        for (study, scene) in self.boards.iter().enumerate() {
            let Some(Body::Board(board)) = game.scenes.get(scene.number).map(|scene| &scene.body) else { continue };
            let root = ground.roots[study];
            let spots = spots(ground, root, board);
            let first = token_at(scene.at);
            fixed.push(Fixed { token: first, to: root, sealed: first..first });
            pins.push(Pin { study, cue: None, from: None });
            let pinned: Vec<usize> = (0..scene.cues.len())
                .filter(|cue| !scene.cues[*cue].is_doubtful && scene.cues[*cue].moves.is_some())
                .collect();
            let mut open_from = first;
            for (place, &cue) in pinned.iter().enumerate() {
                let kept = &scene.cues[cue];
                let Some((from, to)) = kept.moves else { continue };
                let token = token_at(kept.at - std::time::Duration::from_micros(EARLY as u64)).max(open_from);
                let before = if place == 0 { 0 } else { pinned[place - 1] + 1 };
                let settled = !scene.cues[before..cue].iter().any(|kept| kept.is_doubtful);
                let next = pinned.get(place + 1).map(|next| scene.cues[*next].at);
                let words = Time::from_micros(kept.at.as_micros() + WORDS);
                let end = token_at(next.map_or(words, |next| words.min(next))).max(token);
                let sealed = if settled { open_from..end } else { token..end };
                fixed.push(Fixed { token, to: spots[to.0], sealed });
                pins.push(Pin { study, cue: Some(cue), from: from.map(|from| spots[from.0]) });
                open_from = end;
            }
        }
        (fixed, pins)
    }

    /// The text with the doubtful cues replaced by those of the new plan.
    pub fn rewritten(&self, scenes: &[Scene], pins: &[Pin], remarks: &[Remark]) -> String {
        let mut edits: Vec<(Range<usize>, String)> = Vec::new();
        for (study, board) in self.boards.iter().enumerate() {
            let new: Vec<&Cue> =
                scenes.iter().filter(|scene| scene.study == study).flat_map(|scene| &scene.cues).collect();
            self.edit(board, &new, pins, &mut edits);
            let next = self.boards.get(study + 1).map(|next| next.at);
            let told =
                remarks.iter().filter(|remark| remark.at >= board.at && next.is_none_or(|next| remark.at < next));
            for remark in told {
                let place = self.place_for(board, remark.at);
                edits.push((place..place, format!("  {}\n", remark.comment())));
            }
        }
        edits.sort_by_key(|(bytes, _)| (bytes.start, bytes.end));
        let mut out = String::new();
        let mut at = 0;
        for (bytes, new) in edits {
            if bytes.start < at {
                continue;
            }
            out.push_str(&self.text[at..bytes.start]);
            out.push_str(&new);
            at = bytes.end;
        }
        out.push_str(&self.text[at..]);
        out
    }

    /// The changes of one scene.
    fn edit(&self, board: &BoardScene, new: &[&Cue], pins: &[Pin], edits: &mut Vec<(Range<usize>, String)>) {
        let old = |cue: &&Cue| cue.pin.and_then(|pin| pins[pin].cue);
        for (number, cue) in new.iter().enumerate().filter(|(_, cue)| old(cue).is_none()) {
            // Behind the pinned cue before it and before the next one; between them by its time.
            let first = new[..number].iter().rev().find_map(old).map_or(0, |before| before + 1);
            let last = new[number + 1..].iter().find_map(old).unwrap_or(board.cues.len());
            let between = board.cues.get(first..last).unwrap_or_default();
            let later = between.iter().find(|kept| !kept.is_doubtful && kept.at > cue.at).or(board.cues.get(last));
            let place = later.map_or_else(
                || self.place_for(board, Time::from_micros(i64::MAX)),
                |kept| self.lines_of(&kept.bytes).start,
            );
            edits.push((place..place, format!("  {}\n", write::line(cue))));
        }
        for kept in board.cues.iter().filter(|kept| kept.is_doubtful) {
            edits.push((self.lines_of(&kept.bytes), String::new()));
        }
        // Remarks on lines of their own.
        let mut at = board.bytes.start;
        for line in self.text[board.bytes.clone()].split_inclusive('\n') {
            if line.trim_start().starts_with(MARK) {
                edits.push((at..at + line.len(), String::new()));
            }
            at += line.len();
        }
    }

    /// Where a new line goes: before the first kept cue that is later, or behind the last cue.
    fn place_for(&self, board: &BoardScene, at: Time) -> usize {
        let later = board.cues.iter().find(|kept| !kept.is_doubtful && kept.at > at);
        match (later, board.cues.last()) {
            (Some(kept), _) => self.lines_of(&kept.bytes).start,
            (None, Some(last)) => self.lines_of(&last.bytes).end,
            (None, None) => board.bytes.end,
        }
    }

    /// The whole lines on which a cue stands.
    fn lines_of(&self, bytes: &Range<usize>) -> Range<usize> {
        let start = self.text[..bytes.start].rfind('\n').map_or(0, |at| at + 1);
        let end = self.text[bytes.end..].find('\n').map_or(self.text.len(), |at| bytes.end + at + 1);
        start..end
    }

    /// Whether every cue has its lines to itself and a comma behind it, so that lines can come and go; else the place
    /// of the first that has not.
    pub fn unfit(&self) -> Option<Range<usize>> {
        let cues = self.boards.iter().flat_map(|board| {
            let empty = board.cues.is_empty().then(|| board.bytes.clone());
            board.cues.iter().map(|kept| kept.bytes.clone()).chain(empty)
        });
        let alone = |bytes: &Range<usize>| {
            let lines = self.lines_of(bytes);
            let before = self.text[lines.start..bytes.start].trim();
            let behind = self.text[bytes.end..lines.end].trim();
            before.is_empty()
                && (behind == "," || behind.starts_with(", ") || behind.starts_with(",#"))
                && bytes.start < bytes.end
        };
        cues.filter(|bytes| !alone(bytes)).map(|bytes| bytes.start..bytes.end).next()
    }

    /// The label of a pinned cue.
    pub fn label(&self, pin: &Pin) -> Option<String> {
        pin.cue.and_then(|cue| self.boards[pin.study].cues[cue].label.clone())
    }

    /// When a pinned cue happens.
    pub fn time(&self, pin: &Pin) -> Time {
        let board = &self.boards[pin.study];
        pin.cue.map_or(board.at, |cue| board.cues[cue].at)
    }
}

/// What a [`Fixed`] stands for.
#[derive(Clone, Debug)]
pub(super) struct Pin {
    pub study: usize,
    /// The cue in its scene; `None` for the scene's beginning.
    pub cue: Option<usize>,
    /// What must be on the board before it.
    pub from: Option<Spot>,
}

/// Whether a doubt stands behind a cue on its line.
fn is_doubtful(text: &str, end: usize) -> bool {
    let line = text[end..].lines().next().unwrap_or("");
    line.trim_start().trim_start_matches(',').trim_start().starts_with(MARK)
}

/// A doubtful cue whose label another cue returns to stays.
fn keep_named(cues: &mut [Kept], written: &[timeline::Cue]) {
    let named: Vec<String> = written
        .iter()
        .filter_map(|cue| match cue.back.as_ref().map(|back| &back.value) {
            Some(Back::Label(name)) => Some(name.clone()),
            _ => None,
        })
        .collect();
    for kept in cues {
        if kept.label.as_ref().is_some_and(|label| named.contains(label)) {
            kept.is_doubtful = false;
        }
    }
}

/// The spot of every node of a scene.
fn spots(ground: &mut Ground, root: Spot, board: &crate::game::Board) -> Vec<Spot> {
    let mut spots = vec![root; board.nodes.len()];
    for (id, node) in board.nodes.iter().enumerate() {
        let Some((parent, ply)) = &node.came else { continue };
        let from = spots[parent.0];
        let legal = ground.moves(from).iter().copied().find(|legal| legal.is_ply(ply));
        spots[id] = legal.map_or(from, |legal| ground.child(from, legal));
    }
    spots
}
