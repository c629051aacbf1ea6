//! An earlier scene's line again: its moves with their marks and arrows, without its words.

use super::{Action, Board, Body, Node, NodeId, Scene, Step, When, Words};
use crate::diag::{Code, Diagnostic, nearest};
use crate::source::{Span, Spanned};
use crate::timeline::{self, LineKind, Replay};
use std::time::Duration;

/// Speed of a replay against the ordinary glide, if the timeline does not say.
const PACE: f64 = 0.35;
/// How long a replay that goes round rests at its start, before it begins again.
const ROUND_REST: Duration = Duration::from_millis(900);

/// The replay of a line of one of the scenes before; an empty board where there is none.
///
/// `solution` is the path of solution plies to the last one, always by the first played; `try` the path to the first
/// try and on to its end; any other word is a label, and the path ends there.
pub(super) fn board(
    scene: &timeline::Scene,
    replay: &Replay,
    before: &[Scene],
    diagnostics: &mut Vec<Diagnostic>,
) -> Board {
    // The timeline has refused a replay of a scene that is missing, later or a card, and the solution of a replay.
    let named = before.iter().find(|scene| scene.name.as_deref() == Some(replay.scene.value.as_str()));
    let shown = named.and_then(|scene| match &scene.body {
        Body::Board(board) => match path(replay, board) {
            Ok(path) => Some((board, path)),
            Err(mistake) => {
                diagnostics.push(*mistake);
                None
            }
        },
        Body::Card(_) => None,
    });
    let (nodes, steps) = match &shown {
        Some((shown, path)) => (nodes(shown, path), steps(shown, path, scene)),
        None => (super::Tree::new(shakmaty::Chess::default()).into_nodes(), Vec::new()),
    };
    let shown = shown.map(|(shown, _)| shown);
    Board {
        nodes,
        steps,
        task: scene.task.as_ref().map(super::words).or_else(|| shown?.task.clone()),
        credit: scene.credit.as_ref().map(super::words).or_else(|| shown?.credit.clone()),
        pace: Some(replay.pace.as_ref().map_or(PACE, |pace| pace.value)),
        roster: None,
    }
}

/// A line of a board by itself, to go round: it rests where it ends, goes home and rests there, so that its last
/// picture is its first.
///
/// `span` is the place that its steps are told to come from. `words`: with the captions of the line's moves.
///
/// # Errors
/// The board has no such line.
pub fn round(replay: &Replay, shown: &Board, span: Span, words: bool) -> Result<Board, Box<Diagnostic>> {
    let path = path(replay, shown)?;
    let clear = || Some(Words { text: String::new(), span }).filter(|_| words);
    let steps = path.iter().enumerate().flat_map(|(index, id)| {
        let mut steps = visit(shown, index, *id, span);
        if words {
            // The words of the move itself, and at the start the first that do not speak of a ghost; later ones do, or
            // of tries. What was said of the position before would be wrong of this one.
            let mut words =
                first_visit(shown, *id).filter(|then| index > 0 || then.ghost.is_none() && then.text.is_some());
            let said = words.next().and_then(|then| then.text.clone()).filter(|said| !said.text.is_empty());
            steps[0].text = said.or_else(|| clear().filter(|_| index > 0));
        }
        steps
    });
    let mut steps: Vec<Step> = steps.filter(does_something).collect();
    let passed = (1..path.len()).rev().map(NodeId).collect();
    let mut home = Step::bare(When::Follow, Action::TakeBack(passed), NodeId(0), span);
    (home.rest, home.text) = (Some(ROUND_REST), clear());
    steps.push(home);
    Ok(Board {
        nodes: nodes(shown, &path),
        steps,
        task: shown.task.clone(),
        credit: shown.credit.clone(),
        pace: Some(replay.pace.as_ref().map_or(PACE, |pace| pace.value)),
        roster: None,
    })
}

/// The nodes of the line, start first.
fn path(replay: &Replay, shown: &Board) -> Result<Vec<NodeId>, Box<Diagnostic>> {
    let word = replay.line.as_ref().map_or("solution", |line| line.value.as_str());
    let last = match word {
        "solution" => Some(follow(shown, NodeId(0), LineKind::Solution)).filter(|last| last.0 > 0),
        "try" => {
            let first = shown.nodes.iter().position(|node| node.line == LineKind::Try);
            first.map(|first| follow(shown, NodeId(first), LineKind::Try))
        }
        label => shown.nodes.iter().position(|node| node.label.as_deref() == Some(label)).map(NodeId),
    };
    let Some(last) = last else {
        let span = replay.line.as_ref().map_or(replay.scene.span, |line| line.span);
        return Err(Box::new(no_line(word, &replay.scene, shown, span)));
    };
    if last == NodeId(0) {
        let span = replay.line.as_ref().map_or(replay.scene.span, |line| line.span);
        let message = format!("no move leads to `{word}` in the scene `{}`", replay.scene.value);
        let error = Diagnostic::error(Code::UnknownName, span, message).label("the scene's first position");
        return Err(Box::new(error.hint("a line is `solution`, `try`, or a label that is given to a later position")));
    }
    let mut path = vec![last];
    while let Some((parent, _)) = &shown.nodes[path[path.len() - 1].0].came {
        path.push(*parent);
    }
    path.reverse();
    Ok(path)
}

/// From a node on by the first child of this kind, to the last.
fn follow(shown: &Board, from: NodeId, kind: LineKind) -> NodeId {
    let mut at = from;
    // A child always comes after its parent, so one pass in order finds the whole line.
    for (index, node) in shown.nodes.iter().enumerate().skip(from.0 + 1) {
        if node.line == kind && node.came.as_ref().is_some_and(|(parent, _)| *parent == at) {
            at = NodeId(index);
        }
    }
    at
}

fn no_line(word: &str, scene: &Spanned<String>, shown: &Board, span: Span) -> Diagnostic {
    let message = format!("the scene `{}` has no line `{word}`", scene.value);
    let error = Diagnostic::error(Code::UnknownName, span, message);
    let labels: Vec<&str> = shown.nodes.iter().filter_map(|node| node.label.as_deref()).collect();
    let error = match word {
        "solution" | "try" => error.label(format!("no move of it belongs to a {word}")),
        _ => error.label("no such label in that scene"),
    };
    match nearest(word, labels.iter().copied().chain(["solution", "try"])) {
        Some(near) if near != word => error.hint(format!("did you mean `{near}`?")),
        _ if labels.is_empty() => error.hint("a line is `solution`, `try`, or a label in that scene"),
        _ => error.hint(format!("a line is `solution`, `try`, or a label in that scene: {}", labels.join(", "))),
    }
}

fn nodes(shown: &Board, path: &[NodeId]) -> Vec<Node> {
    let copied = path.iter().enumerate().map(|(index, id)| {
        let mut node = shown.nodes[id.0].clone();
        node.came = node.came.map(|(_, ply)| (NodeId(index.saturating_sub(1)), ply));
        if node.line == LineKind::Solution {
            node.line = LineKind::Replay;
        }
        node
    });
    copied.collect()
}

/// What each ply of a line does and what the earlier scene showed when it first came there.
fn steps(shown: &Board, path: &[NodeId], scene: &timeline::Scene) -> Vec<Step> {
    let steps = path.iter().enumerate().flat_map(|(index, id)| visit(shown, index, *id, scene.span));
    steps.filter(does_something).collect()
}

/// The steps at the `index`th node of a line, the board's `id`: the ply with its signs, then those of each later stay.
///
/// As in the scene itself, signs stand until the next ply; but those with a time of their own (`for`) have had it when
/// the next stay shows others.
fn visit(shown: &Board, index: usize, id: NodeId, span: Span) -> Vec<Step> {
    let action = if index == 0 { Action::Stay } else { Action::Play };
    let mut steps = vec![Step::bare(When::Follow, action, NodeId(index), span)];
    let mut lasting = (Vec::new(), Vec::new());
    let mut passes = false;
    for (stay, then) in first_visit(shown, id).enumerate() {
        if stay > 0 && then.marks.is_empty() && then.arrows.is_empty() {
            continue;
        }
        if stay > 0 && bears_signs(&steps[steps.len() - 1]) {
            let mut next = Step::bare(When::Follow, Action::Stay, NodeId(index), span);
            if passes {
                next.clears = true;
                (next.marks, next.arrows) = lasting.clone();
            }
            steps.push(next);
            passes = false;
        }
        let last = steps.len() - 1;
        steps[last].marks.extend(then.marks.iter().cloned());
        steps[last].arrows.extend(then.arrows.iter().cloned());
        if then.stay.is_some() {
            passes = true;
        } else {
            lasting.0.extend(then.marks.iter().cloned());
            lasting.1.extend(then.arrows.iter().cloned());
        }
    }
    steps
}

/// Whether a step is more than a stay that shows nothing.
fn does_something(step: &Step) -> bool {
    step.action != Action::Stay || bears_signs(step) || step.text.as_ref().is_some_and(|words| !words.text.is_empty())
}

fn bears_signs(step: &Step) -> bool {
    !step.marks.is_empty() || !step.arrows.is_empty()
}

/// The step that first came to a node, and those that stayed there before anything else was played.
fn first_visit(shown: &Board, id: NodeId) -> impl Iterator<Item = &Step> {
    let came = shown.steps.iter().position(|step| step.node == id && step.action == Action::Play);
    let from = if id == NodeId(0) { Some(0) } else { came };
    let visit = &shown.steps[from.unwrap_or(shown.steps.len())..];
    let stays = move |(index, step): &(usize, &Step)| {
        step.node == id
            && ((step.action == Action::Stay && !step.clears) || (*index == 0 && step.action == Action::Play))
    };
    let length = visit.iter().enumerate().take_while(stays).count();
    visit[..length].iter()
}
