//! A scene's cues, played on its tree: each becomes one or more steps.

use super::find::{self, Outcome};
use super::tree::{START, Tree};
use super::{Action, Claimed, NodeId, Ply, Step, When, Words, claim, shown};
use crate::diag::{Code, Diagnostic, nearest};
use crate::source::{Span, Spanned};
use crate::timeline::{Back, Cue, LineKind};
use std::collections::HashSet;

/// Plays all cues; the steps end where a move could not be played, unless a later `back` leads to known ground.
pub(super) fn walk(tree: &mut Tree, known: bool, cues: &[Cue], diagnostics: &mut Vec<Diagnostic>) -> Vec<Step> {
    let mut walker = Walker {
        tree,
        diagnostics,
        here: known.then_some(START),
        line: None,
        said: None,
        names: HashSet::new(),
        steps: Vec::new(),
    };
    for cue in cues {
        walker.cue(cue);
    }
    walker.end_line();
    walker.steps
}

struct Walker<'a> {
    tree: &'a mut Tree,
    diagnostics: &'a mut Vec<Diagnostic>,
    /// The position on the board; `None` after a move that could not be played.
    here: Option<NodeId>,
    /// What a cue said the moves belong to, until the next `back`.
    line: Option<LineKind>,
    /// The cue's word for it, and what has come of it.
    said: Option<Said>,
    /// Every label so far, also those of unknown positions.
    names: HashSet<String>,
    steps: Vec<Step>,
}

/// A `line`, and whether anything that is played under it belongs to it.
struct Said {
    line: Spanned<LineKind>,
    holds: bool,
    /// The first ply under it that belongs to another line, because it was played before.
    foreign: Option<NodeId>,
}

impl Walker<'_> {
    fn cue(&mut self, cue: &Cue) {
        let first = self.steps.len();
        if let Some(back) = &cue.back {
            self.back(back, cue);
        }
        if let Some(line) = &cue.line {
            if self.said.as_ref().is_none_or(|said| said.line.value != line.value) {
                self.end_line();
                self.said = Some(Said { line: *line, holds: false, foreign: None });
            }
            self.line = Some(line.value);
        }
        self.play(cue, first);
        if let Some(label) = &cue.label {
            self.label(label);
        }
        self.show(cue, first);
    }

    /// What the cue shows goes to its last step, the caption to its first.
    fn show(&mut self, cue: &Cue, first: usize) {
        let claims = claim::read_all(&cue.claims, self.diagnostics);
        let Some(here) = self.here else {
            shown::check_words(cue, self.diagnostics);
            return;
        };
        if self.steps.len() == first {
            self.push(cue, first, Action::Stay, here);
        }
        let claims = self.with_last_move(claims, here);
        let shown = shown::read(self.tree, here, cue, self.diagnostics);
        let (Some(last), text) = (self.steps.last_mut(), &cue.text) else { return };
        last.marks = shown.marks;
        last.arrows = shown.arrows;
        last.ghost = shown.ghost;
        last.claims = claims;
        last.stay = cue.stay.as_ref().map(|stay| stay.value);
        last.rest = cue.rest.as_ref().map(|rest| rest.value);
        self.steps[first].text = text.as_ref().map(|text| Words { text: text.value.clone(), span: text.span });
    }

    /// `only …`, `discovered check` and their like speak of the last move, so there must be one.
    fn with_last_move(&mut self, claims: Vec<Claimed>, here: NodeId) -> Vec<Claimed> {
        let moved = self.tree.parent(here).is_some();
        let (kept, idle): (Vec<_>, Vec<_>) =
            claims.into_iter().partition(|claimed| moved || !claimed.claim.needs_a_move());
        for claimed in idle {
            let message = "the claim is about the last move, and none has been played";
            self.diagnostics.push(
                Diagnostic::error(Code::BadValue, claimed.span, message)
                    .label("the scene's first position is on the board")
                    .hint("claim it in the cue that plays the move"),
            );
        }
        kept
    }

    fn push(&mut self, cue: &Cue, first: usize, action: Action, node: NodeId) {
        let when = if self.steps.len() == first {
            cue.at.as_ref().map_or(When::Follow, |at| When::At(at.value))
        } else {
            cue.every.as_ref().map_or(When::Follow, |every| When::Every(every.value))
        };
        self.steps.push(Step::bare(when, action, node, cue.span));
    }

    fn play(&mut self, cue: &Cue, first: usize) {
        let mut last = None;
        for (index, word) in cue.play.iter().enumerate() {
            let Some(here) = self.here else {
                let refusal = find::form(&word.value);
                self.diagnostics.extend(refusal.map(|refusal| refusal.at(word.span, &word.value)));
                continue;
            };
            match find::find(self.tree.position(here), &word.value, last) {
                Outcome::Nothing => {}
                Outcome::EnPassant(sign, wrong) => {
                    self.diagnostics.extend(wrong.map(|wrong| wrong.at(word.span, &word.value)));
                    if !sign.is_empty() {
                        self.tree.sign(here, &sign);
                        if let Some(step) = self.steps.last_mut() {
                            step.sign = Some(sign);
                        }
                    }
                }
                Outcome::Refused(refusal) => {
                    self.said = None;
                    self.diagnostics.push(refusal.at(word.span, &word.value));
                    self.here = None;
                }
                Outcome::Move(found, sign) => {
                    self.diagnostics.extend(sign.map(|sign| sign.at(word.span, &word.value)));
                    let node = if let Some(child) = self.tree.child(here, found.chosen) {
                        self.tree.name_ply(child, &found.suffix, word.span);
                        child
                    } else {
                        // The sign may stand on an `e.p.` behind the move.
                        let behind = || cue.play.get(index + 1).and_then(|next| find::sign_of_en_passant(&next.value));
                        let signs = behind().filter(|_| found.chosen.is_en_passant()).unwrap_or_default();
                        let line = self.line_of(here, &(found.suffix.clone() + &signs), word, index);
                        self.tree.grow(here, found.chosen, &found.suffix, word.span, line)
                    };
                    if let Some(said) = &mut self.said {
                        if self.tree.node(node).line == said.line.value {
                            said.holds = true;
                        } else {
                            said.foreign.get_or_insert(node);
                        }
                    }
                    last = Some(found.chosen);
                    self.here = Some(node);
                    self.push(cue, first, Action::Play, node);
                    let sign = self.tree.node(node).came.as_ref().map(|(_, ply)| ply.suffix.clone());
                    if let Some(step) = self.steps.last_mut() {
                        step.sign = sign;
                    }
                }
            }
        }
    }

    /// The author hears of a `line` under which nothing was played but moves that belong to another.
    fn end_line(&mut self) {
        let Some(Said { line, holds: false, foreign: Some(node) }) = self.said.take() else { return };
        let node = self.tree.node(node);
        // A replay is of moves that are there already.
        if line.value == LineKind::Replay {
            return;
        }
        if let Some((_, ply)) = &node.came {
            let (san, sign, owner) = (&ply.san, &ply.suffix, node.line);
            let message = format!("`line = \"{}\"` changes nothing: `{san}{sign}` belongs to the {owner}", line.value);
            self.diagnostics.push(
                Diagnostic::warning(Code::Conflict, line.span, message)
                    .label("no move of its own is played under it")
                    .also(ply.span, format!("{san} is first played here"))
                    .hint(format!("write `line` in the cue that first plays {san}, or leave it out here")),
            );
        }
    }

    /// What a new ply belongs to: what the cues say; else, what its parent belongs to; but beside a ply of the
    /// solution it is a try, and unless its sign says as much, the author hears of it.
    fn line_of(&mut self, here: NodeId, suffix: &str, word: &Spanned<String>, index: usize) -> LineKind {
        if let Some(line) = self.line {
            return line;
        }
        let parent = self.tree.node(here).line;
        let is_solution = |child: &&NodeId| self.tree.node(**child).line == LineKind::Solution;
        let solution = self.tree.children(here).iter().find(is_solution);
        match solution.and_then(|child| self.tree.node(*child).came.as_ref()) {
            Some((_, played)) if parent == LineKind::Solution => {
                if !suffix.starts_with('?') {
                    self.diagnostics.push(unsaid_branch(word, played, index));
                }
                LineKind::Try
            }
            _ => parent,
        }
    }

    fn label(&mut self, label: &Spanned<String>) {
        // A label given twice is the timeline's to report; the first one counts.
        if !self.names.insert(label.value.clone()) {
            return;
        }
        if let Some(here) = self.here {
            self.tree.label(here, &label.value);
        }
    }

    fn back(&mut self, back: &Spanned<Back>, cue: &Cue) {
        self.end_line();
        self.line = None;
        let Some(target) = self.target(back) else { return };
        let first = self.steps.len();
        let Some(here) = self.here else {
            // The board is on unknown ground: whatever was refused, the film goes on from here.
            self.here = Some(target);
            self.push(cue, first, Action::Cut, target);
            return;
        };
        let path = self.tree.path(here);
        let action = match path.iter().position(|node| *node == target) {
            Some(at) if at + 1 == path.len() => Action::Stay,
            Some(at) if !cue.cut => Action::TakeBack(path[at + 1..].iter().rev().copied().collect()),
            _ => Action::Cut,
        };
        self.here = Some(target);
        let clears = action == Action::Stay;
        self.push(cue, first, action, target);
        if let Some(step) = self.steps.last_mut() {
            step.clears = clears;
        }
    }

    fn target(&mut self, back: &Spanned<Back>) -> Option<NodeId> {
        match &back.value {
            Back::Start => Some(START),
            Back::Plies(plies) => {
                let here = self.here?;
                let path = self.tree.path(here);
                let found = path.len().checked_sub(1 + *plies as usize).map(|at| path[at]);
                if found.is_none() {
                    let played = path.len() - 1;
                    let message = format!("`back = {plies}` goes back further than to the scene's start");
                    let label = match played {
                        0 => "no ply has been played".to_string(),
                        1 => "only 1 ply leads here".to_string(),
                        more => format!("only {more} plies lead here"),
                    };
                    self.diagnostics.push(
                        Diagnostic::error(Code::BackNowhere, back.span, message)
                            .label(label)
                            .hint("`back = \"start\"` returns to the first position"),
                    );
                    self.here = None;
                }
                found
            }
            Back::Label(name) => {
                let found = self.tree.labelled(name);
                if found.is_none() {
                    if !self.names.contains(name) {
                        self.unknown_label(name, back.span);
                    }
                    self.here = None;
                }
                found
            }
        }
    }

    fn unknown_label(&mut self, name: &str, span: Span) {
        let mut names: Vec<&str> = self.names.iter().map(String::as_str).collect();
        names.sort_unstable();
        let error = Diagnostic::error(Code::BackNowhere, span, format!("no cue before has the label `{name}`"))
            .label("no such label so far");
        let error = match nearest(name, names.iter().copied().chain(["start"])) {
            Some(near) => error.hint(format!("did you mean `{near}`?")),
            None if names.is_empty() => error.hint("`label = \"…\"` in a cue names the position after its moves"),
            None => error.hint(format!("the labels so far are {}", names.join(", "))),
        };
        self.diagnostics.push(error);
    }
}

/// A second move from a position of the solution, the first being `played`, that no `line` explains.
fn unsaid_branch(word: &Spanned<String>, played: &Ply, index: usize) -> Diagnostic {
    let (san, sign) = (&played.san, &played.suffix);
    let message = format!("`{}` leaves the solution, and no `line` says what it is", word.value);
    let hint = "write `line = \"try\"`, or `line = \"solution\"` for a variation of it";
    Diagnostic::warning(Code::MissingKey, word.span, message)
        .label(format!("the solution plays {san}{sign} here; this is taken for a try"))
        .hint(match (sign.starts_with('?'), index) {
            (true, _) => format!("if {san}{sign} is the try, write `line = \"try\"` in its cue"),
            (false, 0) => hint.to_string(),
            (false, _) => format!("give it a cue of its own and {hint}"),
        })
}
