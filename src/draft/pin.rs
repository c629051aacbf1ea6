//! A timeline that its author has corrected → the same with its doubtful cues decoded again.
//!
//! A cue with `# ?` behind it on its line is doubtful; all others are pinned: they stay as they are, to the byte, and
//! the story has to lead through them. Between two pinned cues with nothing doubtful between them nothing is added;
//! where there is a doubt, in a scene without a pinned cue, and behind the film's last, the words are listened to again.

mod edit;

use super::decode::Fixed;
use super::ground::{Ground, Spot, Study};
use crate::game::{Body, Game, NodeId, Position, When};
use crate::timeline::{self, At, Back, Timeline};
use crate::units::Time;
use edit::List;
use std::ops::Range;
use std::time::Duration;

/// How a doubt begins, behind its cue or on a line of its own.
const MARK: &str = "# ?";
/// How long after a pinned move its words may still go on, in microseconds.
const WORDS: i64 = 900_000;
/// How long before it they may begin.
const EARLY: Duration = Duration::from_millis(350);

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
    list: List,
}

/// A cue of the file.
struct Kept {
    bytes: Range<usize>,
    at: Time,
    /// When the last of its moves begins, as far as the text says it.
    until: Time,
    /// Whether its time stands in it; else it hangs on the cue before.
    has_clock: bool,
    is_doubtful: bool,
    /// The position it leads to, as a node of its scene, if what it says depends on one; and the one it needs to leave
    /// from, which is any if it returns to the start or a label.
    shows: Option<(Option<NodeId>, NodeId)>,
    written: timeline::Cue,
}

impl<'a> Corrected<'a> {
    /// Takes a timeline apart that was resolved without mistakes.
    pub fn new(text: &'a str, timeline: &Timeline, game: &Game) -> Corrected<'a> {
        let mut lists = edit::lists(text);
        let mut boards = Vec::new();
        let mut clock = Time::ZERO;
        let named = named(timeline);
        for (number, (scene, resolved)) in timeline.scenes.iter().zip(&game.scenes).enumerate() {
            let Body::Board(board) = &resolved.body else { continue };
            if board.pace.is_some() {
                continue;
            }
            let clock_of = |at: Option<At>| match at {
                Some(At::Clock(time)) => Some(time),
                _ => None,
            };
            let own = clock_of(scene.at.map(|at| at.value));
            // A scene without a time of its own begins with its first cue, or behind the scene before.
            let first = scene.cues.first().and_then(|cue| clock_of(cue.at.map(|at| at.value)));
            let start = own.or(first).unwrap_or(clock);
            let mut here = NodeId(0);
            clock = start;
            let mut cues: Vec<Kept> = Vec::new();
            for cue in &scene.cues {
                let from = here;
                for step in board.steps.iter().filter(|step| step.span == cue.span) {
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
                let has_clock = clock_of(cue.at.map(|at| at.value)).is_some();
                if !has_clock && let Some(before) = cues.last_mut() {
                    // Its time hangs on the cue before, which therefore stays.
                    before.is_doubtful = false;
                }
                let more = u32::try_from(cue.play.len().saturating_sub(1)).unwrap_or(0);
                let moves = !cue.play.is_empty() || cue.back.is_some();
                let speaks = cue.ghost.is_some() || !cue.claims.is_empty() || cue.label.is_some();
                let is_named = cue.label.as_ref().is_some_and(|label| named.contains(&label.value.as_str()));
                cues.push(Kept {
                    bytes: cue.span.start..cue.span.end,
                    at: clock,
                    until: clock + cue.every.map_or(Duration::ZERO, |every| every.value.saturating_mul(more)),
                    has_clock,
                    // A cue whose label is returned to, or whose moment is a thumbnail, stays.
                    is_doubtful: is_doubtful(text, cue.span.end) && !is_named,
                    shows: (moves || speaks).then_some((needed, here)),
                    written: cue.clone(),
                });
            }
            let list = lists.get_mut(number).map(std::mem::take).unwrap_or_default();
            boards.push(BoardScene { number, at: start, cues, list });
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
        // The token behind the scene before, if there is nothing to listen for from there on.
        let mut behind: Option<usize> = None;
        for (study, scene) in self.boards.iter().enumerate() {
            let Some(Body::Board(board)) = game.scenes.get(scene.number).map(|scene| &scene.body) else { continue };
            let root = ground.roots[study];
            let spots = spots(ground, root, board);
            let first = token_at(scene.at);
            fixed.push(Fixed { token: first, to: root, sealed: behind.map_or(first, |end| end.min(first))..first });
            pins.push(Pin { study, cue: None, from: None });
            let pinned: Vec<usize> = (0..scene.cues.len())
                .filter(|cue| !scene.cues[*cue].is_doubtful && scene.cues[*cue].shows.is_some())
                .collect();
            let mut open_from = first;
            for (place, &cue) in pinned.iter().enumerate() {
                let kept = &scene.cues[cue];
                let Some((from, to)) = kept.shows else { continue };
                // What is doubtful beside it is listened to again, so the words around its time are left to it.
                let is_close = |before: &Kept| before.is_doubtful && before.at > kept.at - EARLY;
                let early = if scene.cues[..cue].last().is_some_and(is_close) { Duration::ZERO } else { EARLY };
                let token = token_at(kept.at - early).max(open_from);
                let before = if place == 0 { 0 } else { pinned[place - 1] + 1 };
                let settled = !scene.cues[before..cue].iter().any(|kept| kept.is_doubtful);
                let next = scene.cues[cue + 1..].iter().map(|next| next.at).find(|next| *next > kept.at);
                let words = Time::from_micros(kept.until.as_micros() + WORDS);
                let end = token_at(next.map_or(words, |next| words.min(next))).max(token);
                let sealed = if settled { open_from..end } else { token..end };
                fixed.push(Fixed { token, to: spots[to.0], sealed });
                pins.push(Pin { study, cue: Some(cue), from: from.map(|from| spots[from.0]) });
                open_from = end;
            }
            let last = pinned.last().filter(|last| !scene.cues[**last..].iter().any(|kept| kept.is_doubtful));
            behind = last.map(|_| open_from);
        }
        (fixed, pins)
    }

    /// The label of a pinned cue.
    pub fn label(&self, pin: &Pin) -> Option<String> {
        pin.cue.and_then(|cue| self.boards[pin.study].cues[cue].written.label.as_ref()).map(|label| label.value.clone())
    }

    /// Whether a doubtful cue was written at a time.
    pub fn was_doubtful(&self, time: Time) -> bool {
        self.boards.iter().flat_map(|board| &board.cues).any(|kept| kept.is_doubtful && kept.at == time)
    }

    /// When a pinned cue happens.
    pub fn time(&self, pin: &Pin) -> Time {
        let board = &self.boards[pin.study];
        pin.cue.map_or(board.at, |cue| board.cues[cue].at)
    }

    /// When the last move of a pinned cue begins.
    pub fn until(&self, pin: &Pin) -> Time {
        let board = &self.boards[pin.study];
        pin.cue.map_or(board.at, |cue| board.cues[cue].until)
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

/// The labels that something returns to or shows.
fn named(timeline: &Timeline) -> Vec<&str> {
    let returns = timeline.scenes.iter().flat_map(|scene| &scene.cues).filter_map(|cue| match &cue.back {
        Some(back) => match &back.value {
            Back::Label(name) => Some(name.as_str()),
            Back::Start | Back::Plies(_) => None,
        },
        None => None,
    });
    let moments = timeline.thumbnails.iter().filter_map(|still| still.moment.as_ref());
    returns.chain(moments.map(|moment| moment.value.as_str())).collect()
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
