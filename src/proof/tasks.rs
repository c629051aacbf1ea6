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
use crate::game::{Board, Body, Claim, Game, NodeId, Ply, Words};
use crate::timeline::LineKind;
use shakmaty::{Color, Position};

/// A move of a line may cost this part of what the task itself may.
const FOR_A_MOVE: u64 = 10;

/// Tables of so many men are made in no time.
const QUICK: usize = 3;

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
        let turn = rules::position_at(&self.board.nodes[0]).turn();
        let stipulation = Stipulation::read(&self.task.text);
        if let Some(side) = self.sent_first(stipulation).filter(|side| *side != turn) {
            let label = format!("it sends {} first, but {} is to move", rules::side(side), rules::side(turn));
            let hint = "change the task, or the side to move in the FEN (its second field, `w` or `b`)";
            return vec![self.untrue(label).hint(hint)];
        }
        let Some(stipulation) = stipulation else { return Vec::new() };
        let solver = Stipulation::solver(&self.task.text, turn);
        let ruling = self.ruling(stipulation, solver);
        match (ruling.verdict, stipulation) {
            (Verdict::Refuted, _) => vec![self.untrue(ruling.witness).hint("`plyreel prove` tells more")],
            (_, Stipulation::Win | Stipulation::Draw) => self.contradictions_of_study(stipulation, solver),
            (Verdict::Proven, Stipulation::Mate(moves)) => self.contradictions_of_mate(moves),
            _ => Vec::new(),
        }
    }

    /// The side that the words send first. Without a stipulation only words at the very beginning count: `Black to move`,
    /// but not `What does White threaten?`.
    fn sent_first(&self, stipulation: Option<Stipulation>) -> Option<Color> {
        let task = &self.task.text;
        if stipulation.is_some() { Stipulation::begins(task) } else { Stipulation::begins_at_once(task) }
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

    /// A claim of one of the scene's positions. To make tables of four men takes seconds, so what can be is decided
    /// without.
    fn claimed(&self, node: NodeId, claim: &Claim, budget: Budget) -> Ruling {
        let nodes = &*self.board.nodes;
        let within = |budget| {
            memory::remembered(self.memory, (nodes, node, claim, budget), || decide::decide(nodes, node, claim, budget))
        };
        let quick = within(Budget { men: QUICK, ..budget });
        if quick.verdict == Verdict::Open { within(budget) } else { quick }
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

    /// Every ply of the scene's tree, parents first: the position before, the position after, and the ply.
    fn plies(&self) -> impl Iterator<Item = (NodeId, NodeId, &Ply)> {
        self.board.nodes.iter().enumerate().filter_map(|(node, of)| {
            let (parent, ply) = of.came.as_ref()?;
            Some((*parent, NodeId(node), ply))
        })
    }
}

fn doubt(ply: &Ply, headline: String, label: String) -> Diagnostic {
    Diagnostic::warning(Code::LineContradicts, ply.span, headline).label(label)
}

#[cfg(test)]
mod tests {
    use super::super::NoMemory;
    use super::*;
    use crate::game::PgnFiles;
    use crate::source::{Span, Spanned};
    use crate::timeline::{Back, Cue, Scene, SceneBody, Timeline};

    /// What is found of a scene: `error: …` or `doubt: …`, and the label.
    fn told(fen: &str, task: &str, lines: &[(LineKind, &str)]) -> Vec<String> {
        let spanned = |text: &str| Spanned::new(text.to_string(), 0..0);
        let cues = lines.iter().map(|(kind, moves)| Cue {
            back: Some(Spanned::new(Back::Start, 0..0)),
            play: moves.split_whitespace().map(spanned).collect(),
            line: Some(Spanned::new(*kind, 0..0)),
            ..Cue::default()
        });
        let scene = Scene {
            name: None,
            at: None,
            body: SceneBody::Position { fen: Some(spanned(fen)) },
            task: Some(spanned(task)),
            credit: None,
            text: None,
            ring: None,
            cues: cues.collect(),
            span: Span::default(),
        };
        let timeline = Timeline { scenes: vec![scene], ..Timeline::default() };
        let (game, diagnostics) = crate::game::resolve(&timeline, &PgnFiles::new());
        assert!(!crate::diag::has_errors(&diagnostics), "{diagnostics:#?}");
        let print = |found: Diagnostic| {
            let severity = if found.severity == crate::diag::Severity::Error { "error" } else { "doubt" };
            format!("{severity}: {}", found.message)
        };
        tasks(&game, Budget::default(), &NoMemory).into_iter().map(print).collect()
    }

    const NOTHING: [&str; 0] = [];
    /// F. Saavedra and G. Barbier, Glasgow Weekly Citizen 1895 (from memory).
    const SAAVEDRA: &str = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1";
    /// R. Réti, Deutsch-Österreichische Tages-Zeitung 1921 (from memory).
    const RETI: &str = "7K/8/k1P5/7p/8/8/8/8 w - - 0 1";
    /// P. Morphy, New York Clipper 1856, mate in 2 (from memory).
    const MORPHY: &str = "kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1";
    const BARE: &str = "8/8/8/8/8/2k5/8/K7 w - - 0 1";

    #[test]
    fn a_task_that_is_not_true_is_refused() {
        let untrue = |fen: &str, task: &str| {
            let expected = [format!("error: the task `{task}` is not true")];
            assert_eq!(told(fen, task, &[]), expected, "{fen}");
        };
        let fine = |fen: &str, task: &str| assert_eq!(told(fen, task, &[]), NOTHING, "{fen} {task}");
        fine(SAAVEDRA, "White to play and win");
        fine(SAAVEDRA, "+");
        untrue(SAAVEDRA, "White to play and draw");
        untrue(SAAVEDRA, "Black to play and win");
        fine(RETI, "White to play and draw");
        fine(RETI, "=");
        untrue(RETI, "White to play and win");
        untrue(BARE, "White to play and win");
        untrue(BARE, "h#2");
        fine(MORPHY, "Mate in 2");
        fine(MORPHY, "#2");
        untrue(MORPHY, "Mate in 1");
        // Whose move it is, is said without a stipulation too.
        fine(BARE, "White to move");
        untrue(BARE, "Black to move");
        untrue(BARE, "Schwarz am Zug");
        untrue(SAAVEDRA, "Schwarz am Zug gewinnt");
        fine(SAAVEDRA, "Weiß am Zug gewinnt");
        fine(SAAVEDRA, "Black plays his rook away. White to play and win");
        fine(BARE, "What can Black to move do here?");
        fine(BARE, "The white king and the black one");
    }

    #[test]
    fn what_is_not_decided_is_passed_over() {
        let start = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";
        assert_eq!(told(start, "White to play and win", &[(LineKind::Solution, "e4 e5")]), NOTHING);
    }

    #[test]
    fn a_line_that_contradicts_a_study_is_doubted() {
        let up_to_promotion = "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4";
        let study = |lines: &[(LineKind, &str)]| told(SAAVEDRA, "White to play and win", lines);
        let rook = format!("{up_to_promotion} c8=R Ra4 Kb3");
        let queen = format!("{up_to_promotion} c8=Q Rc4+ Qxc4");
        assert_eq!(study(&[(LineKind::Solution, &rook), (LineKind::Try, &queen)]), NOTHING);
        let doubted = ["doubt: after `6.c8=Q` White no longer wins, as the task asks"];
        assert_eq!(study(&[(LineKind::Solution, &queen)]), doubted);
        let both = [(LineKind::Solution, queen.as_str()), (LineKind::Try, rook.as_str())];
        assert_eq!(study(&both), [doubted[0], "doubt: the try `6.c8=R` wins too"]);
        // A replay shows what has been judged, and a defence may be as bad as it likes.
        assert_eq!(study(&[(LineKind::Replay, &queen)]), NOTHING);
        assert_eq!(study(&[(LineKind::Solution, "c7 Rd2 c8=Q")]), NOTHING);
        let reti = |lines: &[(LineKind, &str)]| told(RETI, "White to play and draw", lines);
        assert_eq!(reti(&[(LineKind::Solution, "Kg7 h4 Kf6 Kb6 Ke5"), (LineKind::Try, "Kh7 h4")]), NOTHING);
        assert_eq!(
            reti(&[(LineKind::Solution, "Kh7 h4 Kg6 h3"), (LineKind::Try, "Kg7 h4 Kf6")]),
            ["doubt: after `1.Kh7` White no longer draws, as the task asks", "doubt: the try `1.Kg7` draws too"]
        );
    }

    #[test]
    fn a_line_that_contradicts_a_mate_is_doubted() {
        let told = |lines: &[(LineKind, &str)]| told(MORPHY, "Mate in 2", lines);
        assert_eq!(told(&[(LineKind::Try, "Ra5 bxa6"), (LineKind::Solution, "Ra6 bxa6 b7#")][1..]), NOTHING);
        assert_eq!(told(&[(LineKind::Try, "Ra5 Bh2"), (LineKind::Solution, "Ra6 bxa6 b7#")]), NOTHING);
        assert_eq!(
            told(&[(LineKind::Solution, "Ra5 Bh2"), (LineKind::Try, "Ra6 bxa6 b7#")]),
            [
                "doubt: `1.Ra5` does not mate in 2, as the task asks",
                "doubt: the try `1.Ra6` does mate in 2, as the task asks"
            ]
        );
    }
}
