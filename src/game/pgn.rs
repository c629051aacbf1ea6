//! Games and studies from PGN files (PGN standard 1994; both its editions are read alike).
//!
//! The reading is our own, since every mistake is shown at its line and column in the file, and nothing may be
//! skipped in silence. A game's main line is the solution, every variation a try; `$1` to `$6` and `!?` become the
//! moves' signs; comments and judgements of positions are passed over.

mod credit;
mod lex;
mod load;

use super::tree::Tree;
use super::{Action, Board, NodeId, PgnFiles, Roster, Step, When, Words, walk};
use crate::diag::{Code, Diagnostic};
use crate::source::{Source, Spanned};
use crate::timeline::{self, LineKind};
use std::sync::Arc;

/// A scene whose position and lines come from a game of a PGN file; its cues are played on that game's tree.
///
/// Without any cue the main line is played, each move after the motion of the one before.
pub(super) fn board(
    scene: &timeline::Scene,
    file: &Spanned<String>,
    game: Option<&Spanned<u32>>,
    files: &PgnFiles,
    diagnostics: &mut Vec<Diagnostic>,
) -> Board {
    let loaded = open(file, files, diagnostics).and_then(|source| {
        let chosen = choose(&source, file, game, diagnostics)?;
        let (credit, task) = credit::of(&chosen);
        let (tree, end) = load::load(&chosen, &source, file.span, diagnostics)?;
        let roster = Roster { end, ..credit::roster(&chosen, scene.task.is_some()) };
        Some((tree, credit, task, Some(Box::new(roster))))
    });
    let known = loaded.is_some();
    let (mut tree, credit, task, roster) =
        loaded.unwrap_or_else(|| (Tree::new(shakmaty::Chess::default()), None, None, None));
    let steps = if scene.cues.is_empty() && known {
        main_line(&tree, scene)
    } else {
        walk::walk(&mut tree, known, &scene.cues, diagnostics)
    };
    let from_tags = |text: String| Words { text, span: file.span };
    Board {
        nodes: tree.into_nodes(),
        steps,
        task: scene.task.as_ref().map(super::words).or(task.map(from_tags)),
        credit: scene.credit.as_ref().map(super::words).or(credit.map(from_tags)),
        pace: None,
        roster,
    }
}

/// How many games a file holds.
pub(super) fn count(source: &Source) -> usize {
    lex::games(source.text()).len()
}

fn open(file: &Spanned<String>, files: &PgnFiles, diagnostics: &mut Vec<Diagnostic>) -> Option<Arc<Source>> {
    let why = match files.get(&file.value) {
        Some(Ok(source)) => return Some(source.clone()),
        Some(Err(why)) => why.clone(),
        None => "it was not read".to_string(),
    };
    let message = format!("the PGN file `{}` cannot be read", file.value);
    diagnostics.push(Diagnostic::error(Code::Media, file.span, message).label(why));
    None
}

fn choose(
    source: &Arc<Source>,
    file: &Spanned<String>,
    game: Option<&Spanned<u32>>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<lex::Game> {
    let mut games = lex::games(source.text());
    let wanted = game.map_or(1, |game| game.value) as usize;
    let count = games.len();
    if count == 0 {
        let message = format!("the PGN file `{}` holds no game", file.value);
        diagnostics.push(Diagnostic::error(Code::Pgn, file.span, message).label("neither tags nor moves in it"));
        return None;
    }
    if wanted == 0 || wanted > count {
        let span = game.map_or(file.span, |game| game.span);
        let message = format!("the PGN file `{}` has no game {wanted}", file.value);
        let held = if count == 1 { "it holds 1 game".to_string() } else { format!("it holds {count} games") };
        let error = Diagnostic::error(Code::BadValue, span, message).label(held);
        diagnostics.push(error.hint(format!("games are counted from 1 to {count}")));
        return None;
    }
    Some(games.swap_remove(wanted - 1))
}

/// The steps of the main line, in a scene without cues.
fn main_line(tree: &Tree, scene: &timeline::Scene) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut here = super::tree::START;
    let next = |at: NodeId| {
        let is_solution = |child: &&NodeId| tree.node(**child).line == LineKind::Solution;
        tree.children(at).iter().find(is_solution).copied()
    };
    while let Some(node) = next(here) {
        steps.push(Step::bare(When::Follow, Action::Play, node, scene.span));
        here = node;
    }
    steps
}
