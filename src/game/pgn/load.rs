//! The movetext, played on a tree.

use super::lex::{Fault, Game, Kind};
use crate::diag::{Code, Diagnostic, Severity};
use crate::game::find::{self, Outcome, Refusal};
use crate::game::tree::{START, Tree};
use crate::game::{NodeId, fen, inside};
use crate::source::{Source, Span};
use crate::timeline::LineKind;
use shakmaty::{Chess, Move};
use std::sync::Arc;

/// Signs for a position, a novelty or a diagram, as printed in books: not moves, and nothing to show.
const JUDGEMENTS: [&str; 30] = [
    "=", "+=", "=+", "+/=", "=/+", "+-", "-+", "+/-", "-/+", "+--", "--+", "\u{b1}", "\u{2213}", "\u{2a72}",
    "\u{2a71}", "\u{221e}", "\u{25a1}", "\u{2206}", "\u{2192}", "\u{2191}", "\u{21c6}", "\u{2a00}", "\u{25cb}", "N",
    "TN", "D", "RR", "\u{2312}", "\u{22a5}", "~",
];

/// What stands for a null move in some files.
const NULL_MOVES: [&str; 5] = ["--", "Z0", "null", "0000", "@@@@"];

/// The tree of a game and the end of its main line, if it could be read that far, with every mistake at its place in the
/// file; `None` if its first position is none.
///
/// A false `+` or `#` in a file is only a warning: the film writes its own.
pub(super) fn load(
    game: &Game,
    source: &Arc<Source>,
    named: Span,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<(Tree, Option<NodeId>)> {
    let mut found: Vec<Diagnostic> = game.faults.iter().map(fault).collect();
    let tree = start(game, &mut found).map(|start| {
        let mut loader = Loader {
            text: source.text(),
            named,
            tree: Tree::new(start),
            line: Line { here: Some(START), last: None },
            around: Vec::new(),
            found: &mut found,
        };
        for token in &game.tokens {
            loader.token(token.kind, token.span);
        }
        if let Some((_, open)) = loader.around.last() {
            let error = Diagnostic::error(Code::Pgn, *open, "the PGN has a variation without an end");
            loader.found.push(error.label("no `)` closes it"));
        }
        let end = loader.line.here.filter(|_| loader.around.is_empty());
        (loader.tree, end)
    });
    diagnostics.extend(found.into_iter().map(|diagnostic| diagnostic.in_source(source.clone())));
    tree
}

fn fault(fault: &Fault) -> Diagnostic {
    Diagnostic::error(Code::Pgn, fault.span, fault.message.clone()).label(fault.label.clone())
}

/// The position of the `FEN` tag, or the initial array. `SetUp` is not asked for: both editions agree on what a FEN
/// tag means.
fn start(game: &Game, found: &mut Vec<Diagnostic>) -> Option<Chess> {
    let Some(tag) = game.tag("FEN") else { return Some(Chess::default()) };
    let (position, faults) = fen::read(&tag.value);
    found.extend(faults.into_iter().map(|fault| {
        let span = inside(tag.span, &tag.value, fault.place.clone());
        fault.at(span)
    }));
    position
}

/// Where a line of moves stands.
#[derive(Clone, Copy)]
struct Line {
    /// `None` after a move that could not be played.
    here: Option<NodeId>,
    last: Option<Move>,
}

struct Loader<'a> {
    text: &'a str,
    /// The scene's `pgn` value, the place of plies that no cue names.
    named: Span,
    tree: Tree,
    line: Line,
    /// The lines around the variation being read, and where each variation was opened.
    around: Vec<(Line, Span)>,
    found: &'a mut Vec<Diagnostic>,
}

impl Loader<'_> {
    fn token(&mut self, kind: Kind, span: Span) {
        match kind {
            Kind::Word => self.word(span),
            Kind::Nag(value) => {
                if let Some(sign) = ["!", "?", "!!", "??", "!?", "?!"].get((value as usize).wrapping_sub(1)) {
                    self.sign(sign);
                }
            }
            Kind::Open => {
                self.around.push((self.line, span));
                let here = self.line.here.and_then(|here| self.tree.parent(here));
                if here.is_none() && self.line.here.is_some() {
                    let error = Diagnostic::error(Code::Pgn, span, "the PGN has a variation before any move");
                    self.found.push(error.label("a variation replaces the move before it"));
                }
                self.line = Line { here, last: None };
            }
            Kind::Close => {
                if let Some((line, _)) = self.around.pop() {
                    self.line = line;
                } else {
                    let error = Diagnostic::error(Code::Pgn, span, "the PGN has a `)` without a `(`");
                    self.found.push(error.label("it closes no variation"));
                }
            }
        }
    }

    fn sign(&mut self, sign: &str) {
        if let (Some(here), Some(_)) = (self.line.here, self.line.last) {
            self.tree.sign(here, sign);
        }
    }

    fn word(&mut self, span: Span) {
        let word = &self.text[span.start..span.end];
        let Some(here) = self.line.here else { return };
        if JUDGEMENTS.contains(&word) || word.chars().all(|sign| matches!(sign, '.' | '\u{2026}')) {
            return;
        }
        if matches!(word, "!" | "?" | "!!" | "??" | "!?" | "?!") {
            return self.sign(word);
        }
        if NULL_MOVES.contains(&word) {
            let message = format!("the PGN has a null move `{word}`");
            let warning = Diagnostic::warning(Code::Pgn, span, message);
            self.found.push(warning.label("no move of a game: the line is read only up to here"));
            self.line.here = None;
            return;
        }
        match find::find(self.tree.position(here), word, self.line.last) {
            Outcome::Nothing => {}
            Outcome::EnPassant(sign, wrong) => {
                self.doubt(wrong, span, word);
                if !sign.is_empty() {
                    self.sign(&sign);
                }
            }
            Outcome::Refused(refusal) => {
                self.found.push(refusal.at(span, word));
                self.line.here = None;
            }
            Outcome::Move(played, sign) => {
                self.doubt(sign, span, word);
                let kind = if self.around.is_empty() { LineKind::Solution } else { LineKind::Try };
                let node = self.tree.child(here, played.chosen).unwrap_or_else(|| {
                    let node = self.tree.grow(here, played.chosen, &played.suffix, self.named, kind);
                    self.tree.leave_unnamed(node);
                    node
                });
                self.line = Line { here: Some(node), last: Some(played.chosen) };
            }
        }
    }

    /// A false check sign; the move is known all the same.
    fn doubt(&mut self, wrong: Option<Refusal>, span: Span, word: &str) {
        self.found.extend(wrong.map(|wrong| Diagnostic { severity: Severity::Warning, ..wrong.at(span, word) }));
    }
}
