//! The film told in words, for people who cannot see the board: every position, every move with its time, what is
//! pointed at and what is written. A text to be read, or to be spoken over the film's silences.

use super::material::{Material, Position, numbered, own};
use super::wording::{clock_tenths, one_line, prose, spoken_length};
use crate::film::TextKind;
use crate::game::{Action, Arrow, Board, Body, Ghost, Mark, Node, NodeId, Ply, State, Step};
use crate::timeline::{LineKind, MarkRole};
use crate::units::{Piece, Placement, Role, Side, Square, listed};
use std::fmt::Write as _;

/// The whole telling.
pub(super) fn write(material: &Material) -> String {
    let mut text = format!("{}\n", prose(&one_line(material.title())));
    let mut head = Vec::new();
    let series = material.series();
    if !series.is_empty() {
        head.push(series);
    }
    let words = &material.timeline.film.words;
    let by = own(words.presenter.as_ref()).map_or_else(|| "Presented by".to_owned(), |own| format!("{own}:"));
    head.extend(material.presenter().map(|presenter| format!("{by} {}", one_line(presenter))));
    head.push(format!("The film lasts {}", spoken_length(material.film.length())));
    let head: Vec<String> = head.iter().map(|part| sentence(part)).collect();
    // Writing to a text never fails.
    writeln!(text, "{}", head.join(" ")).unwrap_or_default();
    for (scene, chapter) in material.film.chapters().iter().enumerate() {
        write!(text, "\n{}  {}\n", clock_tenths(chapter.start), prose(&one_line(&chapter.name))).unwrap_or_default();
        match &material.scene_at(scene).body {
            Body::Card(_) => card(&mut text, material, scene),
            Body::Board(board) => told(&mut text, material, scene, board),
        }
    }
    text
}

/// A card's words, from the top.
fn card(text: &mut String, material: &Material, scene: usize) {
    let chapter = &material.film.chapters()[scene];
    let on_card = |shown: &&crate::film::TextUse| shown.shown.0 == chapter.start && shown.kind != TextKind::Caption;
    let words: Vec<String> = material.film.texts().iter().filter(on_card).map(|shown| sentence(&shown.text)).collect();
    if !words.is_empty() {
        writeln!(text, "A card: {}", words.join(" ")).unwrap_or_default();
    }
}

/// A scene with a board.
fn told(text: &mut String, material: &Material, scene: usize, board: &Board) {
    let Some(root) = board.nodes.first() else { return };
    if board.pace.is_some() {
        text.push_str("The moves once more, in slow motion.\n");
    } else {
        let words = [&board.credit, &board.task].into_iter().flatten().map(|words| sentence(&words.text));
        let words = words.collect::<Vec<_>>().join(" ");
        if !words.is_empty() {
            writeln!(text, "{words}").unwrap_or_default();
        }
    }
    let to_move = sentence(&material.who_moves(root.turn));
    writeln!(text, "{} {to_move}", position(&root.placement)).unwrap_or_default();
    let position = Position { scene, chapter: &material.film.chapters()[scene], board };
    let mut teller = Teller { material, position, main: position.main_line(), line: root.line, returned: false };
    if let (Some(_), Some(first)) = (board.pace, board.nodes.get(1)) {
        // A slow replay has said so already.
        teller.line = first.line;
    }
    for timed in material.steps(scene) {
        let said = teller.step(timed.step);
        if !said.is_empty() {
            writeln!(text, "{}  {said}", clock_tenths(timed.time)).unwrap_or_default();
        }
    }
}

/// Tells a scene, step by step.
struct Teller<'m, 'a> {
    material: &'m Material<'a>,
    position: Position<'a>,
    main: Vec<NodeId>,
    /// What the moves before belonged to.
    line: LineKind,
    /// Whether the board went back since the last move.
    returned: bool,
}

impl Teller<'_, '_> {
    /// What happens in a step.
    fn step(&mut self, step: &Step) -> String {
        let node = self.position.node(step.node);
        let mut said = Vec::new();
        match &step.action {
            Action::Play => {
                if let Some((from, ply)) = &node.came {
                    if node.line != self.line || self.returned {
                        said.push(self.announced(*from, step.node).to_owned());
                    }
                    (self.line, self.returned) = (node.line, false);
                    said.push(format!("{}: {}", numbered(ply), played(ply)));
                    said.extend(outcome(node, self.material));
                    said.extend(sign(step.sign.as_deref().unwrap_or(&ply.suffix)).map(str::to_owned));
                }
            }
            Action::TakeBack(_) => said.push(format!("The moves are taken back, to {}.", place(node))),
            Action::Cut => said.push(format!("Back to {}.", place(node))),
            Action::Stay => {}
        }
        self.returned |= matches!(step.action, Action::TakeBack(_) | Action::Cut);
        said.extend(marks(&step.marks));
        said.extend(arrows(&step.arrows, &node.placement));
        said.extend(step.ghost.as_ref().map(ghost));
        let words = step.text.as_ref().map(|words| prose(&one_line(&words.text))).filter(|words| !words.is_empty());
        said.extend(words.map(|words| format!("On screen: “{words}”")));
        said.join(" ")
    }

    /// What the move between two positions begins.
    fn announced(&self, from: NodeId, to: NodeId) -> &'static str {
        let parent = self.position.node(from).line;
        match self.position.node(to).line {
            LineKind::Replay => "Once more.",
            LineKind::Try if from != NodeId(0) && parent == LineKind::Try => "A variation of the try.",
            LineKind::Try => "A try.",
            LineKind::Solution if self.main.contains(&to) => "The solution.",
            LineKind::Solution => "A variation.",
        }
    }
}

/// `the start` or `the position after 5...Kc6`.
fn place(node: &Node) -> String {
    node.came
        .as_ref()
        .map_or_else(|| "the start".to_owned(), |(_, ply)| format!("the position after {}", numbered(ply)))
}

/// `White: king on b6, pawns on b4 and c4. Black: …`, the strongest pieces first.
pub(super) fn position(placement: &Placement) -> String {
    let side = |side: Side| {
        let of_role = |role: Role| {
            let squares: Vec<String> = placement
                .iter()
                .filter(|(_, piece)| *piece == Piece { side, role })
                .map(|(square, _)| square.to_string())
                .collect();
            let many = if squares.len() > 1 { "s" } else { "" };
            (!squares.is_empty()).then(|| format!("{role}{many} on {}", listed(&squares, 64)))
        };
        let men: Vec<String> = Role::ALL.into_iter().filter_map(of_role).collect();
        format!("{side}: {}.", men.join(", "))
    };
    format!("{} {}", side(Side::White), side(Side::Black))
}

/// A move in words.
fn played(ply: &Ply) -> String {
    let side = ply.piece.side;
    if let Some((_, rook)) = ply.castling {
        return format!("{side} castles, the king to {} and the rook to {rook}.", ply.to);
    }
    let moved = format!("the {} {} on {}", side.to_string().to_lowercase(), ply.piece.role, ply.from);
    let mut said = match ply.captured {
        Some((taken, at)) if at != ply.to => {
            format!("{moved} takes the {} on {at} in passing and stands on {}", taken.role, ply.to)
        }
        Some((taken, at)) => format!("{moved} takes the {} on {at}", taken.role),
        None => format!("{moved} goes to {}", ply.to),
    };
    if let Some(role) = ply.promotion {
        write!(said, " and becomes a {role}").unwrap_or_default();
    }
    said.push('.');
    said
}

/// Words as the film sets them, with a full stop at their end unless they have a sign there.
fn sentence(text: &str) -> String {
    super::pgn::sentence(&prose(text))
}

/// What the position itself says, stalemate in the film's own word if it has one.
fn outcome(node: &Node, material: &Material) -> Option<String> {
    match node.state {
        State::Quiet => None,
        State::Check => Some("Check.".to_owned()),
        State::Mate => Some("Checkmate.".to_owned()),
        State::Stalemate => {
            let own = own(material.timeline.film.words.stalemate.as_ref());
            Some(own.map_or_else(|| "Stalemate.".to_owned(), |own| sentence(&own)))
        }
    }
}

/// The author's signs, as the PGN standard words them (1994, §10, glyphs 1 to 6).
fn sign(suffix: &str) -> Option<&'static str> {
    Some(match suffix {
        "!" => "A good move.",
        "?" => "A poor move.",
        "!!" => "A very good move.",
        "??" => "A very poor move.",
        "!?" => "A speculative move.",
        "?!" => "A questionable move.",
        _ => return None,
    })
}

fn marks(marks: &[Mark]) -> Vec<String> {
    let squares = |squares: &[Square]| listed(&squares.iter().map(Square::to_string).collect::<Vec<_>>(), 64);
    let said = |mark: &Mark| match mark {
        Mark::Force(from, to) => format!("A line of force from {from} to {to}."),
        Mark::Squares(role, at) => {
            let at = squares(at);
            match role {
                MarkRole::Key => format!("Pointed out: {at}."),
                MarkRole::Threat => format!("Under attack: {at}."),
                MarkRole::Guard => format!("Guarded: {at}."),
                MarkRole::Trap => format!("Not to be entered: {at}."),
                MarkRole::Dot | MarkRole::Force => format!("Marked: {at}."),
            }
        }
    };
    marks.iter().map(said).collect()
}

fn arrows(arrows: &[Arrow], placement: &Placement) -> Vec<String> {
    let said = |arrow: &Arrow| {
        let what = placement.get(arrow.from).map_or_else(String::new, |piece| {
            format!(" for the {} {}", piece.side.to_string().to_lowercase(), piece.role)
        });
        let kind = if arrow.plan { "A plan" } else { "An arrow" };
        format!("{kind}{what} from {} to {}.", arrow.from, arrow.to)
    };
    arrows.iter().map(said).collect()
}

fn ghost(ghost: &Ghost) -> String {
    let Piece { side, role } = ghost.piece;
    format!("Shown, not played: the {} {role} on {}.", side.to_string().to_lowercase(), ghost.to)
}
