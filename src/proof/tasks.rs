//! What a scene asks under its diagram, held against its position and against the lines that are shown.
//!
//! The task is the first claim of every composition. If it is refuted it is not shown; if a line contradicts it, a
//! solution that throws the win away or a try that reaches it, that is a doubt, for a line may be meant otherwise. What is
//! not decided is passed over: a study of many men seldom is, and `prove` says so.

use super::budget::Fives;
use super::decide::{self, Ruling, open, proven, refuted};
use super::mate::Search;
use super::memory::{self, Memory};
use super::{Budget, Stipulation, Verdict, report};
use crate::diag::{Code, Diagnostic};
use crate::game::rules::{self, listed};
use crate::game::{Action, Board, Body, Claim, Game, NodeId, Ply, Words};
use crate::timeline::LineKind;
use shakmaty::{Color, Position};
use std::collections::HashSet;

/// A move of a line may cost this part of what the task itself may.
const FOR_A_MOVE: u64 = 10;

/// Tables of so many men are made in no time.
const QUICK: usize = 3;

/// Of so many, in seconds.
const FEW: usize = 4;

/// At most this many keys are named.
const NAMED: usize = 4;

/// Errors for tasks that are not true, doubts for lines that contradict theirs.
pub fn tasks(game: &Game, budget: Budget, memory: &dyn Memory) -> Vec<Diagnostic> {
    let boards = game.scenes.iter().filter_map(|scene| match &scene.body {
        // A replay shows what its scene asked.
        Body::Board(board) if board.pace.is_none() => Some(board),
        Body::Board(_) | Body::Card(_) => None,
    });
    // A table of five men takes half a minute: a report waits for it, a film does not.
    let budget = Budget { fives: Fives::None, ..budget };
    let asked = boards.filter_map(|board| Some(Asked { board, task: board.task.as_ref()?, budget, memory }));
    asked.flat_map(|asked| asked.faults()).collect()
}

/// A scene with a task.
struct Asked<'a> {
    board: &'a Board,
    task: &'a Words,
    budget: Budget,
    memory: &'a dyn Memory,
}

impl Asked<'_> {
    fn faults(&self) -> Vec<Diagnostic> {
        let task = self.task.text.as_str();
        if !Stipulation::is_plain(task) {
            // `White cannot win` tells, and asks for nothing.
            return Vec::new();
        }
        let turn = rules::position_at(&self.board.nodes[0]).turn();
        if let Some(side) = Stipulation::begins(task).filter(|side| *side != turn) {
            let label = format!("it sends {} first, but {} is to move", rules::side(side), rules::side(turn));
            let hint = "change the task, or the side to move in the FEN (its second field, `w` or `b`)";
            return vec![self.untrue(label).hint(hint)];
        }
        let Some(stipulation) = Stipulation::read(task) else { return Vec::new() };
        let solver = Stipulation::solver(task, turn);
        if matches!(stipulation, Stipulation::Mate(_)) && solver != turn {
            // `Black to move, White mates in 2` is no claim that is searched for.
            return Vec::new();
        }
        let ruling = self.ruling(stipulation, solver);
        match (ruling.verdict, stipulation) {
            (Verdict::Refuted, _) => vec![self.untrue(ruling.witness).hint("`plyreel prove` tells more")],
            (_, Stipulation::Win | Stipulation::Draw) => self.contradictions_of_study(stipulation, solver),
            (Verdict::Proven, Stipulation::Mate(moves)) => self.contradictions_of_mate(moves),
            _ => Vec::new(),
        }
    }

    fn untrue(&self, label: String) -> Diagnostic {
        let headline = format!("the task `{}` is not true", self.task.text);
        Diagnostic::error(Code::ClaimRefuted, self.task.span, headline).label(label)
    }

    /// Whether the task can be fulfilled.
    fn ruling(&self, stipulation: Stipulation, solver: Color) -> Ruling {
        match stipulation {
            Stipulation::Win => self.claimed(NodeId(0), &Claim::Wins(rules::side(solver)), self.budget),
            Stipulation::Draw => self.claimed(NodeId(0), &Claim::Draw, self.budget),
            Stipulation::Mate(moves) => self.claimed(NodeId(0), &Claim::MateIn(moves), self.budget),
            Stipulation::SelfMate(_) | Stipulation::HelpMate(_) | Stipulation::ReflexMate(_) => {
                let asked = format!("task {}", self.task.text);
                self.remembered(&asked, || {
                    let (verdict, witness) = report::fulfilled(self.board, self.budget);
                    Ruling { verdict, witness }
                })
            }
        }
    }

    /// A claim of one of the scene's positions. To make tables of four men takes seconds: they are made only for
    /// positions of four men, and only where nothing else decides.
    fn claimed(&self, node: NodeId, claim: &Claim, budget: Budget) -> Ruling {
        let nodes = &*self.board.nodes;
        let within = |budget| {
            memory::remembered(self.memory, (nodes, node, claim, budget), || decide::decide(nodes, node, claim, budget))
        };
        let quick = within(Budget { men: QUICK, ..budget });
        let men = rules::position_at(&nodes[node.0]).board().occupied().count();
        if quick.verdict == Verdict::Open && men <= FEW { within(budget) } else { quick }
    }

    /// Something else about the scene's first position.
    fn remembered(&self, asked: &str, decide: impl FnOnce() -> Ruling) -> Ruling {
        memory::remembered_as(self.memory, (&self.board.nodes[0].fen, asked, self.budget), decide)
    }

    /// First moves shown as the solution that are no key, and tries that are one.
    fn contradictions_of_mate(&self, moves: u32) -> Vec<Diagnostic> {
        let known = self.remembered(&format!("keys in {moves}"), || {
            let start = rules::position_at(&self.board.nodes[0]);
            match Search::new(self.budget).firsts(&start, moves) {
                Some(keys) => proven(rules::sans(&start, keys).join(" ")),
                None => open(""),
            }
        });
        if known.verdict != Verdict::Proven {
            return Vec::new();
        }
        let keys: Vec<String> = known.witness.split_whitespace().map(str::to_owned).collect();
        let firsts = self.plies().filter(|(parent, ..)| parent.0 == 0);
        let contradiction = |(_, node, ply): (NodeId, NodeId, &Ply)| {
            let is_key = keys.contains(&ply.san);
            let san = ply.numbered();
            match self.board.nodes[node.0].line {
                LineKind::Solution if !is_key => {
                    let headline = format!("`{san}` does not mate in {moves}, as the task asks");
                    let label = format!("{} does", listed(&keys, NAMED));
                    Some(doubt(ply, headline, label).hint("give it `line = \"try\"` if that is what it is"))
                }
                LineKind::Try if is_key => {
                    let headline = format!("the try `{san}` does mate in {moves}, as the task asks");
                    Some(doubt(ply, headline, "a try is refuted by one defence".to_owned()))
                }
                _ => None,
            }
        };
        firsts.filter_map(contradiction).collect()
    }

    /// Moves of the solver in the solution that throw the result away, and first moves of tries that do not.
    fn contradictions_of_study(&self, stipulation: Stipulation, solver: Color) -> Vec<Diagnostic> {
        let goal = if stipulation == Stipulation::Win { "wins" } else { "draws" };
        let mut lost: Vec<NodeId> = Vec::new();
        let mut doubts = Vec::new();
        for (parent, node, ply) in self.plies() {
            if lost.contains(&parent) {
                // What follows is judged no more.
                lost.push(node);
                continue;
            }
            let kind = |node: NodeId| self.board.nodes[node.0].line;
            let is_first = kind(parent) != LineKind::Try;
            if ply.piece.side != rules::side(solver) || kind(node) == LineKind::Replay {
                continue;
            }
            if kind(node) == LineKind::Try && !is_first {
                continue;
            }
            let reached = self.reached(node, stipulation, solver);
            let san = ply.numbered();
            match (kind(node), reached.verdict) {
                (LineKind::Solution, Verdict::Refuted) => {
                    lost.push(node);
                    let headline = format!("after `{san}` {} no longer {goal}, as the task asks", rules::side(solver));
                    doubts.push(
                        doubt(ply, headline, reached.witness).hint("give it `line = \"try\"` if that is what it is"),
                    );
                }
                (LineKind::Try, Verdict::Proven) => {
                    let headline = format!("the try `{san}` {goal} too");
                    doubts.push(doubt(ply, headline, reached.witness));
                }
                _ => {}
            }
        }
        doubts
    }

    /// Whether the solver still has in this position what the task asks.
    fn reached(&self, node: NodeId, stipulation: Stipulation, solver: Color) -> Ruling {
        let budget = self.budget.part(FOR_A_MOVE);
        if stipulation == Stipulation::Win {
            return self.claimed(node, &Claim::Wins(rules::side(solver)), budget);
        }
        let lost = self.claimed(node, &Claim::Wins(rules::side(!solver)), budget);
        match lost.verdict {
            Verdict::Proven => refuted(lost.witness),
            Verdict::Refuted => proven(lost.witness),
            Verdict::Open => lost,
        }
    }

    /// Every ply that the film plays, parents first: the position before, the position after, and the ply. A PGN file may
    /// have more.
    fn plies(&self) -> impl Iterator<Item = (NodeId, NodeId, &Ply)> {
        let played = self.board.steps.iter().filter(|step| step.action == Action::Play);
        let shown: HashSet<usize> = played.map(|step| step.node.0).collect();
        let nodes = self.board.nodes.iter().enumerate().filter(move |(node, _)| shown.contains(node));
        nodes.filter_map(|(node, of)| {
            let (parent, ply) = of.came.as_ref()?;
            Some((*parent, NodeId(node), ply))
        })
    }
}

fn doubt(ply: &Ply, headline: String, label: String) -> Diagnostic {
    // The plies of a PGN file all have the place of its name.
    Diagnostic::warning(Code::LineContradicts, ply.span, headline.clone()).about(headline).label(label)
}

#[cfg(test)]
mod tests;
