//! Pieces and boards as SVG, for print: the same outlines as on screen, in ink on paper.
//!
//! A text is made of [`svg_symbols`], once a document, and as many [`svg_board`]s as are wanted.

use super::outline::{Segment, swelling};
use super::own;
use super::silhouette::{Form, PieceSet};
use super::theme::{INK, PieceInk, Rgba};
use crate::film::Own;
use crate::units::{Piece, Placement, Role, Side, Square, escaped};
use std::fmt::Write as _;
use tiny_skia::PathSegment;

/// A square's side in the units of [`svg_board`].
const SQUARE: u32 = 100;
/// From one line of the hatch to the next, in the same units.
const HATCH: u32 = 20;

/// The symbols of all pieces (`white-king`), of their figurines for text (`man-king`, in the text's colour) and of a
/// dark square, as the inside of a `<defs>`. The pieces are the film's own, the ink is the printer's.
pub fn svg_symbols(own: &Own) -> String {
    let set = own::pieces(own);
    let mut text = String::new();
    dark_square(&mut text);
    for (side, ink) in [(Side::White, &INK.light), (Side::Black, &INK.dark)] {
        for role in Role::ALL {
            symbol(&mut text, set, Piece { side, role }, ink);
        }
    }
    for role in Role::ALL {
        figurine(&mut text, set, role);
    }
    text
}

/// A whole board: 800 units wide with a frame of 12 around it, as `<g>`. The symbols must be in the same document.
pub fn svg_board(placement: &Placement) -> String {
    let mut text = String::from("<g>\n<rect x=\"-12\" y=\"-12\" width=\"824\" height=\"824\" fill=\"#23262b\"/>\n");
    let _ = writeln!(text, "<rect width=\"800\" height=\"800\" fill=\"#fff\"/>");
    for square in Square::all().filter(|square| square.is_dark()) {
        let (x, y) = corner(square);
        let _ = writeln!(text, "<use href=\"#dark\" x=\"{x}\" y=\"{y}\"/>");
    }
    for (square, piece) in placement.iter() {
        let (x, y) = corner(square);
        // A use without a size takes the symbol's own.
        let _ = writeln!(text, "<use href=\"#{}\" x=\"{x}\" y=\"{y}\" width=\"100\" height=\"100\"/>", id(piece));
    }
    text.push_str("</g>\n");
    text
}

/// A picture of its own, `pixels` wide unless the reader scales it.
pub fn svg_diagram(placement: &Placement, own: &Own, title: &str, pixels: u32) -> String {
    let title = escaped(title);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{pixels}\" height=\"{pixels}\" \
         viewBox=\"-12 -12 824 824\" role=\"img\">\n<title>{title}</title>\n<defs>\n{}</defs>\n{}</svg>\n",
        svg_symbols(own),
        svg_board(placement)
    )
}

fn corner(square: Square) -> (u32, u32) {
    (u32::from(square.file()) * SQUARE, u32::from(7 - square.rank()) * SQUARE)
}

/// `white-king`.
fn id(piece: Piece) -> String {
    format!("{}-{}", piece.side.to_string().to_lowercase(), piece.role)
}

/// A tint under fine lines that rise to the right, as printed diagrams have them.
fn dark_square(text: &mut String) {
    let _ = write!(
        text,
        "<g id=\"dark\"><rect width=\"100\" height=\"100\" fill=\"#e3e0d9\"/><path fill=\"none\" \
         stroke=\"#8b8880\" stroke-width=\"2.2\" d=\""
    );
    for reach in (HATCH / 2..2 * SQUARE).step_by(HATCH as usize) {
        // Each line is cut where it leaves the square.
        let (from, to) = (reach.min(SQUARE), reach.saturating_sub(SQUARE));
        let _ = write!(text, "M{to} {from}L{from} {to}");
    }
    text.push_str("\"/></g>\n");
}

fn symbol(text: &mut String, set: &PieceSet, piece: Piece, ink: &PieceInk) {
    let form = &set.of(piece.role).large;
    let body = outline(&form.body);
    let id = id(piece);
    let (fill, shade, edge, line) = (hex(ink.fill), hex(ink.shade), hex(ink.outline), hex(ink.line));
    let _ = writeln!(text, "<symbol id=\"{id}\" viewBox=\"0 0 100 100\">");
    let _ = writeln!(text, "<clipPath id=\"{id}-body\"><path d=\"{body}\"/></clipPath>");
    // The shaded side is what the body moved towards the light leaves uncovered, as on screen.
    let _ = writeln!(text, "<path d=\"{body}\" fill=\"{shade}\"/>");
    let _ = writeln!(text, "<g clip-path=\"url(#{id}-body)\">");
    let _ = writeln!(text, "<path d=\"{body}\" fill=\"{fill}\" transform=\"translate(-8.5 -1)\"/>");
    if form.shade_below > 0.0 {
        let _ = writeln!(text, "<rect width=\"100\" height=\"{}\" fill=\"{fill}\"/>", rounded(form.shade_below));
    }
    for plane in &form.shades {
        let _ = writeln!(text, "<path d=\"{}\" fill=\"{shade}\"/>", outline(plane));
    }
    if ink.is_dark {
        for gleam in form.gleams.iter().filter_map(|(width, path)| swelling(path, width * 0.9)) {
            let _ = writeln!(text, "<path d=\"{}\" fill=\"{line}\"/>", drawn(&gleam));
        }
    }
    lines(text, form, ink, &fill, &line);
    text.push_str("</g>\n");
    for solid in &form.fills {
        let _ = writeln!(text, "<path d=\"{}\" fill=\"{line}\"/>", outline(solid));
    }
    let _ = writeln!(
        text,
        "<path d=\"{body}\" fill=\"none\" stroke=\"{edge}\" stroke-width=\"2.8\" stroke-linejoin=\"round\"/>"
    );
    text.push_str("</symbol>\n");
}

/// The small silhouette in the colour of the text around it, its inner lines left open.
fn figurine(text: &mut String, set: &PieceSet, role: Role) {
    let form = &set.of(role).small;
    let body = outline(&form.body);
    let _ = writeln!(text, "<symbol id=\"man-{role}\" viewBox=\"8 0 84 100\">");
    let _ = writeln!(text, "<path d=\"{body}\" fill=\"currentColor\"/>");
    for inner in &form.lines {
        let path = outline(&inner.path);
        let _ = writeln!(text, "<path d=\"{path}\" fill=\"none\" stroke=\"#fff\" stroke-width=\"4.5\"/>");
    }
    text.push_str("</symbol>\n");
}

/// Inner lines; bright ones stand in a gap of the body's colour.
fn lines(text: &mut String, form: &Form, ink: &PieceInk, fill: &str, line: &str) {
    let mut stroke = |path: &str, colour: &str, width: f32| {
        let width = rounded(width);
        let _ = writeln!(
            text,
            "<path d=\"{path}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-linecap=\"round\"/>"
        );
    };
    for inner in &form.lines {
        let (path, width) = (outline(&inner.path), inner.weight * 1.9);
        if ink.is_dark {
            stroke(&path, fill, width + 2.6);
        }
        stroke(&path, line, width);
    }
}

fn hex(colour: Rgba) -> String {
    let [r, g, b, _] = colour.0;
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// At most two decimals: a hundredth of a unit is a hundredth of a percent of a square.
fn rounded(number: f32) -> String {
    let text = format!("{number:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// An outline as SVG path data.
fn outline(segments: &[Segment]) -> String {
    let mut text = String::new();
    let n = rounded;
    for segment in segments {
        let _ = match *segment {
            Segment::Move(p) => write!(text, "M{} {}", n(p.x), n(p.y)),
            Segment::Line(p) => write!(text, "L{} {}", n(p.x), n(p.y)),
            Segment::Cubic(a, b, p) => {
                write!(text, "C{} {} {} {} {} {}", n(a.x), n(a.y), n(b.x), n(b.y), n(p.x), n(p.y))
            }
            Segment::Close => write!(text, "Z"),
        };
    }
    text
}

fn drawn(path: &tiny_skia::Path) -> String {
    let mut text = String::new();
    let n = rounded;
    for segment in path.segments() {
        let _ = match segment {
            PathSegment::MoveTo(p) => write!(text, "M{} {}", n(p.x), n(p.y)),
            PathSegment::LineTo(p) => write!(text, "L{} {}", n(p.x), n(p.y)),
            PathSegment::QuadTo(a, p) => write!(text, "Q{} {} {} {}", n(a.x), n(a.y), n(p.x), n(p.y)),
            PathSegment::CubicTo(a, b, p) => {
                write!(text, "C{} {} {} {} {} {}", n(a.x), n(a.y), n(b.x), n(b.y), n(p.x), n(p.y))
            }
            PathSegment::Close => write!(text, "Z"),
        };
    }
    text
}
