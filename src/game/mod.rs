//! [`Timeline`] → [`Game`]: the tree of positions, every ply legal, with its time and span.
//!
//! Comes in: a timeline, and the texts of the PGN files it names. Goes out: a [`Game`] and every mistake. With
//! `proof` the only room that names shakmaty. Must not know: pixels, sound, how long a motion takes.
//!
//! The rules of a scene's tree:
//! - A move that has been played from a position before leads to the same node again.
//! - A new ply belongs to what its cue's `line` says, from that cue until the next `line` or `back`. Unsaid, it
//!   belongs to what the ply before it belongs to; but beside a ply of the solution it is a try, with a warning
//!   unless its own `?` says the same.
//! - `back` to a position on the way here takes the plies back; to any other position, or with `cut`, it cuts.
//! - A move that cannot be played ends a scene's steps, since the position is unknown from there on; a later `back`
//!   to a known position takes up the search for mistakes again.

mod claim;
mod fen;
pub(crate) mod find;
mod model;
mod pgn;
mod position;
mod reason;
mod replay;
pub(crate) mod rules;
mod shown;
mod tree;
mod walk;
mod word;

pub use model::{
    Action, Arrow, Board, Body, Card, Claim, Claimed, Game, Ghost, Mark, Motif, Node, NodeId, Ply, Roster, Scene,
    State, Step, When, Words,
};
pub use position::{LegalMove, Position, Wing};
pub use replay::round;

use crate::diag::{Code, Diagnostic};
use crate::source::{Source, Span, Spanned};
use crate::timeline::{self, SceneBody, Timeline};
use shakmaty::Chess;
use std::collections::HashMap;
use std::sync::Arc;
use tree::Tree;

/// The PGN files a timeline names, by the name it uses; `Err` holds why one could not be read.
pub type PgnFiles = HashMap<String, Result<Arc<Source>, String>>;

/// Whether a phrase is a claim that a cue could make.
pub fn is_claim(phrase: &str) -> bool {
    claim::read(phrase).is_ok()
}

/// How many games a PGN file holds.
pub fn games_in(source: &Source) -> usize {
    pgn::count(source)
}

/// Replays the timeline by the laws of chess.
///
/// The game has as many scenes as the timeline, whatever is wrong with them; with an error in it, it is not to be
/// shown.
pub fn resolve(timeline: &Timeline, files: &PgnFiles) -> (Game, Vec<Diagnostic>) {
    let mut diagnostics = Vec::new();
    let mut resolved = Game::default();
    for scene in &timeline.scenes {
        let body = match &scene.body {
            SceneBody::Card(kind) => Body::Card(card(scene, kind)),
            SceneBody::Position { fen } => Body::Board(position(scene, fen.as_ref(), &mut diagnostics)),
            SceneBody::Pgn { file, game } => {
                Body::Board(pgn::board(scene, file, game.as_ref(), files, &mut diagnostics))
            }
            SceneBody::Replay(replay) => Body::Board(replay::board(scene, replay, &resolved.scenes, &mut diagnostics)),
        };
        resolved.scenes.push(Scene {
            name: scene.name.as_ref().map(|name| name.value.clone()),
            at: scene.at.as_ref().map(|at| at.value),
            body,
            span: scene.span,
        });
    }
    positions_without_boards(timeline, &mut diagnostics);
    (resolved, diagnostics)
}

/// A position card shows the board that comes; after the last board there is none.
fn positions_without_boards(timeline: &Timeline, diagnostics: &mut Vec<Diagnostic>) {
    let is_card = |scene: &timeline::Scene| matches!(scene.body, SceneBody::Card(_));
    let boards = timeline.scenes.iter().rposition(|scene| !is_card(scene)).map_or(0, |last| last + 1);
    for scene in timeline.scenes.iter().skip(boards) {
        if let SceneBody::Card(Spanned { value: timeline::CardKind::Position, span }) = scene.body {
            diagnostics.push(
                Diagnostic::error(Code::MissingKey, span, "no scene with a board comes after this position card")
                    .label("shows the coming position")
                    .hint("put it before the scene whose position is to be shown"),
            );
        }
    }
}

fn card(scene: &timeline::Scene, kind: &Spanned<timeline::CardKind>) -> Card {
    let text = scene.text.as_ref();
    Card {
        kind: kind.value,
        text: text.map(|text| text.value.clone()),
        ring: scene.ring,
        span: text.map_or(kind.span, |text| text.span),
    }
}

/// A scene that begins with a FEN, or with the initial array.
fn position(scene: &timeline::Scene, fen: Option<&Spanned<String>>, diagnostics: &mut Vec<Diagnostic>) -> Board {
    let start = match fen {
        None => Some(Chess::default()),
        Some(fen) => start(fen, diagnostics),
    };
    let known = start.is_some();
    let mut tree = Tree::new(start.unwrap_or_default());
    let steps = walk::walk(&mut tree, known, &scene.cues, diagnostics);
    Board {
        nodes: tree.into_nodes(),
        steps,
        task: scene.task.as_ref().map(words),
        credit: scene.credit.as_ref().map(words),
        pace: None,
        roster: None,
    }
}

/// The position of a FEN in the timeline, with its faults at their own columns.
fn start(fen: &Spanned<String>, diagnostics: &mut Vec<Diagnostic>) -> Option<Chess> {
    let (position, faults) = fen::read(&fen.value);
    diagnostics.extend(faults.into_iter().map(|fault| {
        let span = inside(fen.span, &fen.value, fault.place.clone());
        fault.at(span)
    }));
    position
}

/// Bytes of a string value, as a place in the timeline: exact where the value stands there bare or in plain quotes,
/// else (escapes, long quotes) the whole value.
fn inside(whole: Span, value: &str, place: std::ops::Range<usize>) -> Span {
    let lead = match (whole.end - whole.start).checked_sub(value.len()) {
        Some(0) => 0,
        Some(2) => 1,
        _ => return whole,
    };
    Span::new(whole.start + lead + place.start, whole.start + lead + place.end)
}

fn words(text: &Spanned<String>) -> Words {
    Words { text: text.value.clone(), span: text.span }
}

#[cfg(test)]
mod tests;
