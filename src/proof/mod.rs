//! Claim + position → [`Verdict`] with its witness.
//!
//! Comes in: a resolved [`Game`]. Goes out: a verdict for each claim in it. Says *proven* or *refuted* only of what
//! was decided without doubt; everything else is *open*. With `game` the only room that names shakmaty.
//!
//! What the laws decide at once (check, mate, stalemate, the only legal move) is looked at. A mate within a number of
//! moves is searched to the end (`mate`). Four men and fewer are decided by endgame tables made on demand (`tables`);
//! with more, a result is decided where a short mate, the slices of a pawn ending (`slices`) or the graph of all that can
//! arise (`graph`) settles it within the [`Budget`]. What `only` makes of moves that waste time stands there. Neither repetition nor the fifty-move rule ends a
//! line of a composition (Codex for Chess Composition 2019, art. 17 and 18), so they play no part here.

mod budget;
mod decide;
mod ending;
mod forcing;
mod gbr;
mod graph;
mod helped;
mod keys;
mod known;
mod mate;
mod memory;
mod motif;
mod notation;
mod only;
mod outcome;
mod report;
mod slices;
mod stipulation;
mod syzygy;
mod tables;
mod tasks;

pub use budget::{Budget, Fives};
pub use ending::Ending;
pub use mate::NoTree;
pub use memory::{Memory, NoMemory};
pub use motif::{Sighting, sightings, suggestions};
pub use report::{Report, Row, Section, human, markdown, page, report, short};
pub use stipulation::Stipulation;
pub use syzygy::{Syzygy, SyzygyFault};
pub use tables::{TableStore, VERSION as TABLES_VERSION, Worth, keep_in as keep_tables_in};
pub use tasks::tasks;

use crate::diag::{Code, Diagnostic};
use crate::game::{Action, Body, Claim, Game, Node, NodeId, rules};
use crate::source::Span;

/// What became of a claim.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// It is true.
    Proven,
    /// It is false.
    Refuted,
    /// Neither was shown within the budget.
    Open,
}

impl Verdict {
    /// `proven`, `refuted`, `open`.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Proven => "proven",
            Verdict::Refuted => "refuted",
            Verdict::Open => "open",
        }
    }

    /// The verdict that a word stands for.
    pub fn of_word(word: &str) -> Option<Verdict> {
        [Verdict::Proven, Verdict::Refuted, Verdict::Open].into_iter().find(|verdict| verdict.word() == word)
    }
}

/// A claim of the film with its verdict.
#[derive(Clone, Debug)]
pub struct Finding {
    /// Index of the scene.
    pub scene: usize,
    /// The position the claim is about.
    pub node: NodeId,
    /// The position it is made in: the cue's last, which for a claim of the last move is not the one it is about.
    pub made: NodeId,
    /// The phrase, as the timeline has it.
    pub claim: String,
    /// True, false or open.
    pub verdict: Verdict,
    /// The line that proves or refutes it, in SAN; or a sentence that says why it is open.
    pub witness: String,
    /// What the author may have meant, where the claim is refuted.
    pub remedy: Option<String>,
    /// Where the claim is written.
    pub span: Span,
}

/// What a position of at most four men, without castling rights, is worth to the side to move. `None` for more men,
/// for rights to castle, and for what is no legal position.
///
/// Makes the endgame tables it needs: up to some seconds for a new material.
pub fn worth(fen: &str) -> Option<Worth> {
    let fen: shakmaty::fen::Fen = fen.parse().ok()?;
    tables::probe(&rules::position_of(fen.into_setup())?, false)
}

/// The same, and of five men without pawns: their table takes up to half a minute of two cores and 240 MB.
pub fn worth_of_five(fen: &str) -> Option<Worth> {
    let fen: shakmaty::fen::Fen = fen.parse().ok()?;
    tables::probe(&rules::position_of(fen.into_setup())?, true)
}

/// The longest mate, in moves, that the stronger side can force with the men of a position when it is to move; for five
/// men without pawns too. `None` as for [`worth_of_five`], and where the men cannot mate.
pub fn longest_mate(fen: &str) -> Option<u32> {
    let fen: shakmaty::fen::Fen = fen.parse().ok()?;
    let plies = tables::longest_win(&rules::position_of(fen.into_setup())?)?;
    Some(plies.div_ceil(2))
}

/// The proof that the side to move mates in `moves`: a PGN game (1994, export form) whose main line is the longest
/// defence and whose variations answer every other one.
pub fn mating_tree(fen: &str, moves: u32, budget: Budget) -> Result<String, NoTree> {
    let setup: shakmaty::fen::Fen = fen.parse().map_err(|_| NoTree::NoPosition)?;
    let position = rules::position_of(setup.into_setup()).ok_or(NoTree::NoPosition)?;
    let moves = mate::Search::new(budget).tree(&position, moves)?;
    let fen = rules::fen(&position);
    let tags = [
        ("Event", "?"),
        ("Site", "?"),
        ("Date", "????.??.??"),
        ("Round", "?"),
        ("White", "?"),
        ("Black", "?"),
        ("Result", "*"),
        ("FEN", &fen),
        ("SetUp", "1"),
    ];
    let tags: Vec<String> = tags.iter().map(|(name, value)| format!("[{name} \"{value}\"]")).collect();
    Ok(format!("{}\n\n{moves}\n", tags.join("\n")))
}

/// Judges every claim of the film, each within the usual budget.
pub fn judge(game: &Game) -> Vec<Finding> {
    judge_within(game, Budget::default())
}

/// Judges every claim of the film, each within a budget.
pub fn judge_within(game: &Game, budget: Budget) -> Vec<Finding> {
    judge_remembering(game, budget, &NoMemory)
}

/// Judges every claim of the film, each within a budget; what an earlier run decided is not decided again.
pub fn judge_remembering(game: &Game, budget: Budget, memory: &dyn Memory) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (scene, body) in game.scenes.iter().map(|scene| &scene.body).enumerate() {
        let Body::Board(board) = body else { continue };
        for step in &board.steps {
            for claimed in &step.claims {
                let Some(node) = spoken_of(&board.nodes, step.node, claimed.claim.is_about_last_move()) else {
                    continue;
                };
                let asked = (&*board.nodes, step.node, &claimed.claim, budget);
                let decide = || decide::decide(&board.nodes, step.node, &claimed.claim, budget);
                let ruling = memory::remembered(memory, asked, decide);
                let is_wrong_side = ruling.verdict == Verdict::Refuted && step.action == Action::Play;
                findings.push(Finding {
                    scene,
                    node,
                    made: step.node,
                    claim: claimed.claim.to_string(),
                    verdict: ruling.verdict,
                    witness: ruling.witness,
                    remedy: remedy(&board.nodes[step.node.0], &claimed.claim).filter(|_| is_wrong_side),
                    span: claimed.span,
                });
            }
        }
    }
    findings
}

/// What may be meant by a mate that the side to move is said to have, made in a cue that plays a move: the mate of the
/// side that moved, which it had one move earlier, or threatens.
fn remedy(node: &Node, claim: &Claim) -> Option<String> {
    let (Claim::MateIn(moves), Some((_, ply))) = (claim, &node.came) else { return None };
    let side = ply.piece.side;
    let threat = moves.checked_sub(1).filter(|left| *left > 0);
    let threat =
        threat.map_or_else(String::new, |left| format!("; that it threatens to, with `threat mate in {left}`"));
    Some(format!("claim in the cue before {} that {side} mates in {moves}{threat}", ply.san))
}

/// The position a claim is about: the cue's last, or the one before its last move.
fn spoken_of(nodes: &[Node], last: NodeId, about_last_move: bool) -> Option<NodeId> {
    if about_last_move { nodes[last.0].came.as_ref().map(|(parent, _)| *parent) } else { Some(last) }
}

/// What the author hears of: an error for each refuted claim, a warning for each open one.
pub fn diagnostics(findings: &[Finding]) -> Vec<Diagnostic> {
    findings
        .iter()
        .filter_map(|finding| {
            let claim = &finding.claim;
            let found = match finding.verdict {
                Verdict::Proven => return None,
                Verdict::Refuted => {
                    Diagnostic::error(Code::ClaimRefuted, finding.span, format!("the claim `{claim}` is not true"))
                }
                Verdict::Open => {
                    let message = format!("the claim `{claim}` is neither proven nor refuted");
                    Diagnostic::warning(Code::ClaimOpen, finding.span, message)
                }
            };
            let found = found.label(finding.witness.clone());
            Some(finding.remedy.iter().fold(found, |found, remedy| found.hint(remedy.as_str())))
        })
        .collect()
}

#[cfg(test)]
mod tests;
