//! What a cue shows on the board: marks, arrows, and a ghost that must be legal.

use super::find::{self, Outcome, Refusal};
use super::tree::Tree;
use super::{Arrow, Ghost, Mark, Node, NodeId, rules};
use crate::diag::{Code, Diagnostic};
use crate::source::Spanned;
use crate::timeline::{self, Cue, MarkRole};
use crate::units::{Piece, Side, Square};
use shakmaty::Position;

/// What was read of a cue.
#[derive(Clone, Debug, Default)]
pub(super) struct Shown {
    pub marks: Vec<Mark>,
    pub arrows: Vec<Arrow>,
    pub ghost: Option<Ghost>,
}

/// Reads all a cue shows in the position after its moves.
pub(super) fn read(tree: &Tree, here: NodeId, cue: &Cue, diagnostics: &mut Vec<Diagnostic>) -> Shown {
    let node = tree.node(here);
    let marks = marks(&cue.marks);
    let arrows = cue.arrows.iter().filter_map(|arrow| self::arrow(&arrow.value, node)).collect();
    let ghost = cue.ghost.as_ref().and_then(|ghost| self::ghost(tree, here, ghost, diagnostics));
    Shown { marks, arrows, ghost }
}

/// Looks only at the form, where the position is not known.
pub(super) fn check_words(cue: &Cue, diagnostics: &mut Vec<Diagnostic>) {
    if let Some(ghost) = &cue.ghost {
        let refusal = find::form(&ghost.value.san);
        diagnostics.extend(refusal.map(|refusal| refusal.at(ghost.span, &ghost.value.san)));
    }
}

/// The timeline has refused words that are no squares, so what is none here is passed over.
fn marks(marks: &[Spanned<timeline::Mark>]) -> Vec<Mark> {
    let read = marks.iter().filter_map(|mark| {
        let squares: Vec<Square> = mark.value.squares.iter().filter_map(|word| Square::parse(word)).collect();
        match (mark.value.role, squares.as_slice()) {
            (MarkRole::Force, [from, to]) => Some(Mark::Force(*from, *to)),
            (MarkRole::Force, _) | (_, []) => None,
            (role, _) => Some(Mark::Squares(role, squares)),
        }
    });
    read.collect()
}

fn arrow(arrow: &timeline::Arrow, node: &Node) -> Option<Arrow> {
    let (from, to) = (Square::parse(&arrow.from)?, Square::parse(&arrow.to)?);
    let side = arrow.side.unwrap_or(node.placement.get(from).map_or(node.turn, |piece| piece.side));
    Some(Arrow { from, to, side, plan: arrow.plan })
}

/// A ghost of the side to move must be legal; one of the other side, after a null move.
fn ghost(
    tree: &Tree,
    here: NodeId,
    ghost: &Spanned<timeline::Ghost>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<Ghost> {
    let position = tree.position(here);
    let turn = rules::side(position.turn());
    let side = ghost.value.side.unwrap_or(turn);
    let san = &ghost.value.san;
    let swapped;
    let position = if side == turn {
        position
    } else if let Some(other) = rules::null_move(position) {
        swapped = other;
        &swapped
    } else {
        diagnostics.push(
            Diagnostic::error(Code::IllegalGhost, ghost.span, format!("`{san}` cannot be shown for {side} here"))
                .label(format!("{turn} is in check and cannot pass"))
                .hint("show it before the check, or after the answer to it"),
        );
        return None;
    };
    match find::find(position, san, None) {
        Outcome::Move(found, sign) => {
            diagnostics.extend(sign.map(|sign| sign.at(ghost.span, san)));
            let chosen = found.chosen;
            let role = chosen.promotion().unwrap_or(chosen.role());
            Some(Ghost {
                piece: Piece { side, role: rules::role(role) },
                from: rules::square(rules::origin(chosen)),
                to: rules::square(rules::target(chosen)),
            })
        }
        Outcome::Nothing | Outcome::EnPassant(..) => {
            let error = Diagnostic::error(Code::SanSyntax, ghost.span, format!("`{san}` is no move"));
            diagnostics.push(error.label("no move stands here").hint("a ghost shows one move: `ghost = \"c8=Q\"`"));
            None
        }
        Outcome::Refused(refusal) => {
            diagnostics.push(refused(refusal, ghost, side, turn, tree, here));
            None
        }
    }
}

fn refused(
    refusal: Refusal,
    ghost: &Spanned<timeline::Ghost>,
    side: Side,
    turn: Side,
    tree: &Tree,
    here: NodeId,
) -> Diagnostic {
    let san = &ghost.value.san;
    let mut error = refusal.at(ghost.span, san);
    if error.code != Code::IllegalMove {
        return error;
    }
    error.code = Code::IllegalGhost;
    error.message = format!("the ghost `{san}` is not legal for {side}");
    // A ghost of the other side is often meant where no side is named.
    if ghost.value.side.is_none()
        && let Some(other) = rules::null_move(tree.position(here))
        && matches!(find::find(&other, san, None), Outcome::Move(..))
    {
        let letter = match turn {
            Side::White => 'b',
            Side::Black => 'w',
        };
        let meant = format!("for {}'s move write `ghost = \"{letter} {san}\"`", turn.other());
        error.hints.insert(0, meant);
    }
    error
}
