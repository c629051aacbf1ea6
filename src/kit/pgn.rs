//! PGN in the export format of the 1994 standard: one game a scene, the solution as main line, all else as
//! variations, the author's signs and what is proven as numeric glyphs, captions as comments, set as in the film.
//!
//! Two departures from the letter, both common practice: the text is UTF-8, for names outside ISO 8859-1; and where a
//! solution ends and only tries go on, the first of them continues the main line, since PGN has no variation without
//! a move beside it.

use super::credit::Credit;
use super::fen;
use super::material::{Comments, Material, Position};
use super::wording::{one_line, prose};
use crate::game::{Claim, Node, NodeId, Ply};
use crate::units::Side;
use std::fmt::Write as _;

/// Movetext lines have fewer than 80 printing characters (PGN standard 1994, §8.2.1).
const LINE: usize = 79;
/// A tag's value has at most 255 characters (§8.1).
const TAG_VALUE: usize = 255;

/// Every position as a game.
pub(super) fn write(material: &Material) -> String {
    let mut text = String::new();
    for position in material.positions() {
        tags(&mut text, material, &position);
        text.push('\n');
        movetext(&mut text, material, &position);
        text.push('\n');
    }
    text
}

/// The Seven Tag Roster in its order, then the others in the order of ASCII (§8.1.1).
fn tags<'a>(text: &mut String, material: &Material<'a>, position: &Position<'a>) {
    let credit = Credit::read(position.credit().unwrap_or_default());
    let task = position.task().unwrap_or("?");
    let composed = !position.is_game();
    let (white, black) = match (&credit.opponent, composed) {
        (Some(opponent), _) => (credit.author.clone(), opponent.clone()),
        (None, true) => (credit.author.clone(), task.to_owned()),
        (None, false) => (credit.author.clone(), "?".to_owned()),
    };
    let known = |value: String| if value.is_empty() { "?".to_owned() } else { value };
    // What the game's own file says goes before what can be made of a credit, whose words are free.
    let roster = position.board.roster.as_deref().cloned().unwrap_or_default();
    let date = credit.year.map_or_else(|| "????.??.??".to_owned(), |year| format!("{year:04}.??.??"));
    let mut tag = |name: &str, value: &str| {
        // Writing to a text never fails.
        writeln!(text, "[{name} \"{}\"]", tag_value(value)).unwrap_or_default();
    };
    tag("Event", &roster.event.unwrap_or(known(credit.source)));
    tag("Site", roster.site.as_deref().unwrap_or("?"));
    tag("Date", &roster.date.unwrap_or(date));
    tag("Round", roster.round.as_deref().unwrap_or("-"));
    tag("White", &roster.white.unwrap_or(known(white)));
    tag("Black", &roster.black.unwrap_or(known(black)));
    tag("Result", position.outcome(material).marker());
    if let Some(presenter) = material.presenter() {
        tag("Annotator", presenter);
    }
    if composed {
        tag("FEN", &fen::export(position.root()));
    }
    tag("PlyCount", &(main_line(position).len() - 1).to_string());
    if composed {
        tag("SetUp", "1");
    }
}

/// One line, at most 255 characters, quotes and backslashes escaped.
fn tag_value(value: &str) -> String {
    let mut room = TAG_VALUE;
    let mut escaped = String::new();
    for sign in one_line(value).chars() {
        let length = if matches!(sign, '"' | '\\') { 2 } else { 1 };
        if length > room {
            break;
        }
        room -= length;
        if length == 2 {
            escaped.push('\\');
        }
        escaped.push(sign);
    }
    escaped
}

/// The line that is written as the main one: the solution, and what alone goes on from its end.
fn main_line(position: &Position) -> Vec<NodeId> {
    let mut line = vec![NodeId(0)];
    let mut here = NodeId(0);
    while let Some(next) = position.children(here).into_iter().next() {
        line.push(next);
        here = next;
    }
    line
}

fn movetext<'a>(text: &mut String, material: &Material<'a>, position: &Position<'a>) {
    let mut writer = Writer { material, position, comments: position.comments(), words: Vec::new(), number_due: true };
    let head =
        [Some(position.chapter.name.clone()), position.credit().map(str::to_owned), position.task().map(str::to_owned)];
    let head = head.into_iter().flatten().map(|part| sentence(&prose(&part))).collect::<Vec<_>>().join(" ");
    let mut opening = vec![head];
    opening.append(&mut writer.comments.after[0]);
    writer.comment(&opening);
    writer.line_from(NodeId(0));
    writer.words.push(position.outcome(material).marker().to_owned());
    for line in lines(&writer.words) {
        text.push_str(&line);
        text.push('\n');
    }
}

/// Words in lines. None begins with a `%`, which would hide the rest of it from a reader, a brace or a bracket that
/// closes among it (§6): such a word stays beside the one before.
fn lines(words: &[String]) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for together in words.chunk_by(|_, next| next.starts_with('%')) {
        let together = together.join(" ");
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + together.chars().count() <= LINE => {
                line.push(' ');
                line.push_str(&together);
            }
            _ => lines.push(together),
        }
    }
    lines
}

/// With a full stop at its end, unless it has a sign there.
pub(super) fn sentence(text: &str) -> String {
    let text = one_line(text);
    if text.ends_with(['.', '!', '?', '…', ':', ';']) { text } else { format!("{text}.") }
}

struct Writer<'a, 'b> {
    material: &'a Material<'b>,
    position: &'a Position<'b>,
    comments: Comments,
    /// What stands between spaces.
    words: Vec<String>,
    /// Whether a black move now needs its number: at the start, and after a comment or variation (§8.2.2.2).
    number_due: bool,
}

impl Writer<'_, '_> {
    /// The moves that follow `here`, each with what stands beside it as variations.
    fn line_from(&mut self, mut here: NodeId) {
        loop {
            let children = self.position.children(here);
            let Some((&main, others)) = children.split_first() else { return };
            self.ply(main);
            for &other in others {
                self.variation(other);
            }
            here = main;
        }
    }

    fn variation(&mut self, first: NodeId) {
        let opened = self.words.len();
        self.number_due = true;
        let words = std::mem::take(&mut self.comments.before[first.0]);
        self.comment(&words);
        self.ply(first);
        self.line_from(first);
        // Brackets need no space on their inner side, and no line breaks there.
        self.words[opened].insert(0, '(');
        if let Some(last) = self.words.last_mut() {
            last.push(')');
        }
        self.number_due = true;
    }

    fn ply(&mut self, id: NodeId) {
        let Some(ply) = self.position.ply(id) else { return };
        match ply.piece.side {
            Side::White => self.words.push(format!("{}.", ply.number)),
            Side::Black if self.number_due => self.words.push(format!("{}...", ply.number)),
            Side::Black => {}
        }
        self.number_due = false;
        self.words.push(ply.san.clone());
        let node = self.position.node(id);
        let proven: Vec<&Claim> = self.material.proven(self.position, id).collect();
        self.words.extend(glyphs(ply, node, &proven).into_iter().map(|glyph| format!("${glyph}")));
        let words = std::mem::take(&mut self.comments.after[id.0]);
        self.comment(&words);
    }

    fn comment(&mut self, parts: &[String]) {
        let text =
            parts.iter().map(|part| one_line(part)).filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
        // Comments do not nest (§5), so no brace may stand in one.
        let text = text.replace('{', "(").replace('}', ")");
        if text.is_empty() {
            return;
        }
        let mut words: Vec<String> = text.split(' ').map(str::to_owned).collect();
        words[0].insert(0, '{');
        if let Some(last) = words.last_mut() {
            last.push('}');
        }
        self.words.extend(words);
        self.number_due = true;
    }
}

/// Numeric glyphs (§10): the author's sign, then what is proven of the move and of the position, ascending.
fn glyphs(ply: &Ply, node: &Node, proven: &[&Claim]) -> Vec<u8> {
    let mut glyphs = Vec::new();
    let sign = ["!", "?", "!!", "??", "!?", "?!"].iter().position(|sign| *sign == ply.suffix);
    glyphs.extend(sign.map(|index| index as u8 + 1));
    glyphs.extend(proven.iter().filter_map(|claim| {
        Some(match claim {
            Claim::OnlyMove => 7,
            Claim::OnlyWinningMove | Claim::OnlyDrawingMove => 8,
            Claim::Draw => 10,
            Claim::Wins(Side::White) => 18,
            Claim::Wins(Side::Black) => 19,
            Claim::Zugzwang if node.turn == Side::White => 22,
            Claim::Zugzwang => 23,
            _ => return None,
        })
    }));
    glyphs.sort_unstable();
    glyphs.dedup();
    glyphs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_hidden_and_none_is_too_long() {
        let text = "one 50 %25 %line %has enough ".repeat(60);
        let words: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
        let lines = lines(&words);
        assert_eq!(lines.join(" "), words.join(" "));
        assert!(lines.len() > 10);
        for line in lines {
            assert!(!line.starts_with('%'), "{line:?}");
            assert!(line.len() <= LINE, "{line:?}");
        }
        let alone: Vec<String> = ["x".repeat(70), "%".repeat(20), "y".to_owned()].to_vec();
        assert_eq!(super::lines(&alone), [alone[..2].join(" "), "y".to_owned()]);
    }
}
