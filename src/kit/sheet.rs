//! A solution sheet to print on A4: every position with its diagram, credit, stipulation and lines. One HTML file that
//! needs nothing beside it.
//!
//! The layout round a diagram is the problemists' custom: author and source above, piece count and stipulation below.

use super::material::{Comments, Material, Position};
use super::wording::{escaped, one_line, prose};
use crate::game::{NodeId, Ply};
use crate::paint::{set_san, svg_board, svg_symbols};
use crate::timeline::{LineKind, Notation};
use crate::units::{Role, Side};
use std::fmt::Write as _;

const STYLE: &str = "\
@page { size: A4; margin: 18mm 18mm 20mm }
:root { color-scheme: light }
body { font: 11pt/1.5 'Vollkorn', Georgia, 'Times New Roman', serif; color: #1a1d22; background: #fff;
  max-width: 174mm; margin: 12mm auto; padding: 0 6mm }
h1 { font-size: 20pt; line-height: 1.15; margin: 0 0 1mm }
.series { color: #53575e; margin: 0 0 10mm }
section { display: grid; grid-template-columns: 66mm 1fr; column-gap: 9mm; align-items: start;
  break-inside: avoid; margin-bottom: 11mm }
figure { margin: 0 }
figure > svg { width: 66mm; height: 66mm; display: block }
figcaption { display: flex; justify-content: space-between; gap: 4mm; margin-top: 1.5mm; font-size: 10pt }
.credit { font-size: 10pt; margin: 0 0 1.5mm; min-height: 1.5em }
h2 { font-size: 13pt; line-height: 1.25; margin: 0 0 2mm }
.line { margin: 0 }
.line p { margin: 0 0 1.5mm }
.main { font-weight: 600 }
.words { color: #53575e; font-style: italic }
.side { padding-left: 5mm }
.man { width: .95em; height: 1.1em; vertical-align: -.17em; margin: 0 .02em }
.move { white-space: nowrap }
.fen { font: 7.5pt/1.4 ui-monospace, 'DejaVu Sans Mono', monospace; color: #53575e; overflow-wrap: anywhere }
@media print { body { margin: 0; padding: 0; max-width: none } }
";

/// The sheet.
pub(super) fn write(material: &Material) -> String {
    let set = |words: &str| prose(&one_line(words));
    let title = escaped(&set(material.title()));
    let mut page = format!(
        "<!doctype html>\n<html{}>\n<head>\n<meta charset=\"utf-8\">\n<title>{title}: solutions</title>\n\
         <style>\n{STYLE}</style>\n</head>\n<body>\n<svg width=\"0\" height=\"0\" style=\"position:absolute\" \
         aria-hidden=\"true\"><defs>\n{}</defs></svg>\n<h1>{title}</h1>\n",
        material.lang_attribute(),
        svg_symbols(&material.film.look().own)
    );
    let series = set(&material.series());
    let presenter = material.presenter().map(set).unwrap_or_default();
    let beneath = [series, presenter].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" – ");
    let _ = writeln!(page, "<p class=\"series\">{}</p>", escaped(&beneath));
    for position in material.positions() {
        section(&mut page, material, &position);
    }
    page.push_str("</body>\n</html>\n");
    page
}

fn section<'a>(page: &mut String, material: &Material<'a>, position: &Position<'a>) {
    let root = position.root();
    let count = |side| root.placement.iter().filter(|(_, piece)| piece.side == side).count();
    let set = |words: &str| escaped(&prose(&one_line(words)));
    let credit = position.credit().map(set).unwrap_or_default();
    let task = set(position.task().unwrap_or(&material.who_moves(root.turn)));
    let name = set(&position.chapter.name);
    let spoken = escaped(&super::telling::position(&root.placement));
    let (white, black) = (count(Side::White), count(Side::Black));
    let fen = super::fen::export(root);
    let board = svg_board(&root.placement);
    let _ = write!(
        page,
        "<section>\n<figure>\n<p class=\"credit\">{credit}</p>\n<svg viewBox=\"-12 -12 824 824\" role=\"img\" \
         lang=\"en\" aria-label=\"{spoken}\">\n{board}</svg>\n<figcaption><span>{task}</span><span>({white}+{black})</span>\
         </figcaption>\n<p class=\"fen\">{fen}</p>\n</figure>\n<div>\n<h2>{name}</h2>\n<div class=\"line\">\n"
    );
    let (comments, notation) = (position.comments(), material.film.look().notation);
    Lines { page, position, comments, notation, is_problem: position.is_problem() }.write();
    page.push_str("</div>\n</div>\n</section>\n");
}

struct Lines<'p, 'a> {
    page: &'p mut String,
    position: &'p Position<'a>,
    comments: Comments,
    notation: Notation,
    /// Whether defences stand one under the other, each with what follows it.
    is_problem: bool,
}

impl Lines<'_, '_> {
    fn write(&mut self) {
        let opening = std::mem::take(&mut self.comments.after[0]);
        self.words(&opening);
        self.line_from(NodeId(0), Vec::new(), 0);
    }

    /// The moves after a node; what stands beside one comes indented after the move it stands beside.
    /// `run` is what is to be written before it.
    fn line_from(&mut self, mut here: NodeId, mut run: Vec<NodeId>, depth: usize) {
        loop {
            let children = self.position.children(here);
            let Some((&main, others)) = children.split_first() else { break };
            if self.parts(&children) {
                self.moves(&run, depth);
                for child in children {
                    self.beside(child, depth + 1);
                }
                return;
            }
            run.push(main);
            let commented = !self.comments.after[main.0].is_empty();
            if commented || !others.is_empty() {
                self.moves(&run, depth);
                run.clear();
                let words = std::mem::take(&mut self.comments.after[main.0]);
                self.words(&words);
            }
            for &other in others {
                self.beside(other, depth + 1);
            }
            here = main;
        }
        self.moves(&run, depth);
    }

    /// Whether these moves are a problem's defences, or its solutions, of which none is more than the others.
    fn parts(&self, moves: &[NodeId]) -> bool {
        let solves = |id: &&NodeId| self.position.node(**id).line == LineKind::Solution;
        self.is_problem && moves.iter().filter(solves).count() > 1
    }

    fn beside(&mut self, first: NodeId, depth: usize) {
        self.page.push_str("<div class=\"side\">\n");
        let words = std::mem::take(&mut self.comments.before[first.0]);
        self.words(&words);
        self.branch(first, depth);
        self.page.push_str("</div>\n");
    }

    fn branch(&mut self, first: NodeId, depth: usize) {
        if self.comments.after[first.0].is_empty() {
            return self.line_from(first, vec![first], depth);
        }
        self.moves(&[first], depth);
        let words = std::mem::take(&mut self.comments.after[first.0]);
        self.words(&words);
        self.line_from(first, Vec::new(), depth);
    }

    fn moves(&mut self, run: &[NodeId], depth: usize) {
        if run.is_empty() {
            return;
        }
        let class = if depth == 0 { " class=\"main\"" } else { "" };
        let plies = run.iter().filter_map(|id| self.position.ply(*id));
        let moves: Vec<String> = plies.enumerate().map(|(at, ply)| self.printed(ply, at == 0)).collect();
        let _ = writeln!(self.page, "<p{class}>{}</p>", moves.join(" "));
    }

    fn words(&mut self, words: &[String]) {
        if !words.is_empty() {
            let words = words.iter().map(|words| escaped(&one_line(words))).collect::<Vec<_>>().join(" ");
            let _ = writeln!(self.page, "<p class=\"words\">{words}</p>");
        }
    }

    /// A move with its number where it needs one; figurines are our own pieces.
    fn printed(&self, ply: &Ply, is_first: bool) -> String {
        let number = match ply.piece.side {
            Side::White => format!("{}.", ply.number),
            Side::Black if is_first => format!("{}…", ply.number),
            Side::Black => String::new(),
        };
        let san = if self.notation == Notation::Figurine && ply.castling.is_none() {
            ply.san.chars().map(figurine).collect()
        } else {
            escaped(&set_san(&ply.san, self.notation))
        };
        format!("<span class=\"move\">{number}{san}{}</span>", escaped(&ply.suffix))
    }
}

fn figurine(sign: char) -> String {
    match Role::ALL.into_iter().find(|role| *role != Role::Pawn && role.letter() == sign) {
        Some(role) => {
            format!("<svg class=\"man\" role=\"img\" aria-label=\"{role}\"><use href=\"#man-{role}\"/></svg>")
        }
        None => escaped(&sign.to_string()),
    }
}
