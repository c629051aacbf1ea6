//! Reads the piece file `staunton.pieces`: one closed silhouette a piece, large and small, with its inner lines.
//!
//! One item a line; `#` begins a comment. A path is `M`, `L`, `C`, `Z` with numbers apart by spaces.
//! - `grid 100`: the only grid there is.
//! - `let NAME PATH`: a stretch of path, used as `{NAME}` in later and earlier lines, also inside another `let`.
//! - `piece ROLE`: what follows belongs to it; `small`: what follows is its second, complete drawing, for squares
//!   under [`SMALL_UNDER`] pixels and for figurines.
//! - `turn body PATH`: the left half of a turned body, from axis to axis; `path body PATH`: a whole silhouette.
//! - `line [W] PATH`: an inner line, W × 1.9 units wide; `fine` the same, but dropped under [`FINE_FROM`] pixels.
//! - `fill PATH`: solid in the line colour; `shade PATH`: in the shade colour, clipped to the body.
//! - `autoshade Y`: the lathe shade is drawn only below Y.
//! - `gleam [W] PATH`: on dark pieces, a highlight that swells to W units.

use super::outline::{Point, Segment, flattened, turned};
use crate::units::Role;
use std::collections::HashMap;
use std::sync::OnceLock;

/// Squares under this many pixels show the small drawing.
pub(super) const SMALL_UNDER: f32 = 60.0;
/// Squares under this many pixels drop the fine lines.
pub(super) const FINE_FROM: f32 = 110.0;

/// An inner line.
#[derive(Clone, Debug)]
pub(super) struct InnerLine {
    /// Times the common width.
    pub weight: f32,
    /// Dropped in small sizes.
    pub fine: bool,
    pub path: Vec<Segment>,
}

/// One drawing of a piece, in grid units.
#[derive(Clone, Debug, Default)]
pub(super) struct Form {
    /// One closed silhouette.
    pub body: Vec<Segment>,
    pub lines: Vec<InnerLine>,
    pub fills: Vec<Vec<Segment>>,
    pub shades: Vec<Vec<Segment>>,
    /// Width in the middle, and the path along which the highlight swells.
    pub gleams: Vec<(f32, Vec<Segment>)>,
    /// The lathe shade begins here (0: at the top).
    pub shade_below: f32,
}

/// Both drawings of a piece.
#[derive(Clone, Debug, Default)]
pub(super) struct Silhouette {
    pub large: Form,
    pub small: Form,
    /// The large body as a polygon, for arrows that stop short of it.
    pub hull: Vec<Point>,
}

impl Silhouette {
    /// The drawing for a square of `size` pixels.
    pub fn form(&self, size: f32) -> &Form {
        if size < SMALL_UNDER { &self.small } else { &self.large }
    }
}

/// Why a piece file could not be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct PieceFileError {
    /// Counted from 1.
    pub line: usize,
    /// What is wrong there.
    pub what: String,
}

/// The six pieces of a set.
#[derive(Clone, Debug)]
pub(super) struct PieceSet(HashMap<Role, Silhouette>);

impl PieceSet {
    /// Our own set, read once.
    pub fn staunton() -> &'static PieceSet {
        static SET: OnceLock<PieceSet> = OnceLock::new();
        SET.get_or_init(|| parse(include_str!("staunton.pieces")).expect("the built-in piece file is sound"))
    }

    /// A piece's drawings.
    pub fn of(&self, role: Role) -> &Silhouette {
        &self.0[&role]
    }
}

/// Reads a piece file. All six pieces must be there, each in both sizes.
pub(super) fn parse(text: &str) -> Result<PieceSet, PieceFileError> {
    let macros = read_macros(text)?;
    let mut set: HashMap<Role, Silhouette> = HashMap::new();
    let mut current: Option<(Role, bool)> = None;
    for (line, content) in items(text) {
        let fail = |what: String| PieceFileError { line, what };
        let (word, rest) = content.split_once(' ').unwrap_or((content, ""));
        match word {
            "let" => {}
            "grid" if rest.trim() == "100" => {}
            "piece" => {
                let role = Role::ALL.into_iter().find(|role| role.to_string() == rest.trim());
                let role = role.ok_or_else(|| fail(format!("`{rest}` is no piece")))?;
                if set.insert(role, Silhouette::default()).is_some() {
                    return Err(fail(format!("a second {role}")));
                }
                current = Some((role, false));
            }
            "small" if rest.is_empty() => match &mut current {
                Some((_, small)) if !*small => *small = true,
                _ => return Err(fail("`small` without a large drawing before it".into())),
            },
            _ => {
                let (role, small) = current.ok_or_else(|| fail(format!("`{content}` belongs to no piece")))?;
                let silhouette = set.entry(role).or_default();
                let form = if small { &mut silhouette.small } else { &mut silhouette.large };
                read_item(form, word, rest, &macros).map_err(fail)?;
            }
        }
    }
    let last = text.lines().count();
    for role in Role::ALL {
        let missing = |what| PieceFileError { line: last, what: format!("the {role} has no {what} drawing") };
        let silhouette = set.get_mut(&role).ok_or_else(|| missing("large"))?;
        if silhouette.large.body.is_empty() {
            return Err(missing("large"));
        }
        if silhouette.small.body.is_empty() {
            return Err(missing("small"));
        }
        for form in [&silhouette.large, &silhouette.small] {
            if flattened(&form.body, 8).iter().any(|p| !(0.0..=100.0).contains(&p.x) || !(0.0..=100.0).contains(&p.y)) {
                return Err(PieceFileError { line: last, what: format!("the {role} leaves its square of 100 by 100") });
            }
        }
        silhouette.hull = flattened(&silhouette.large.body, 8);
    }
    Ok(PieceSet(set))
}

/// The lines that say something, with their numbers from 1.
fn items(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines()
        .enumerate()
        .map(|(i, line)| (i + 1, line.trim()))
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
}

fn read_macros(text: &str) -> Result<HashMap<&str, &str>, PieceFileError> {
    let mut macros = HashMap::new();
    for (line, content) in items(text) {
        let Some(rest) = content.strip_prefix("let ") else { continue };
        let Some((name, path)) = rest.split_once(' ') else {
            return Err(PieceFileError { line, what: format!("`{rest}` is a name without a path") });
        };
        if macros.insert(name, path).is_some() {
            return Err(PieceFileError { line, what: format!("a second `{name}`") });
        }
    }
    Ok(macros)
}

/// One line of a drawing.
fn read_item(form: &mut Form, word: &str, rest: &str, macros: &HashMap<&str, &str>) -> Result<(), String> {
    let (word, rest) = match (word, rest.split_once(' ')) {
        ("turn" | "path", Some(("body", path))) => (word, path),
        ("turn" | "path", _) => return Err(format!("`{word}` must be followed by `body`")),
        _ => (word, rest),
    };
    match word {
        "turn" => form.body = turned(&read_path(rest, macros)?),
        "path" => form.body = read_path(rest, macros)?,
        "line" | "fine" => {
            let (weight, path) = read_weighted(rest, 1.0, macros)?;
            form.lines.push(InnerLine { weight, fine: word == "fine", path });
        }
        "gleam" => form.gleams.push(read_weighted(rest, 2.4, macros)?),
        "fill" => form.fills.push(read_path(rest, macros)?),
        "shade" => form.shades.push(read_path(rest, macros)?),
        "autoshade" => form.shade_below = rest.trim().parse().map_err(|_| format!("`{rest}` is no number"))?,
        _ => return Err(format!("unknown line `{word}`")),
    }
    Ok(())
}

/// A path with a number before it, or the usual number.
fn read_weighted(text: &str, usual: f32, macros: &HashMap<&str, &str>) -> Result<(f32, Vec<Segment>), String> {
    let (first, rest) = text.split_once(' ').unwrap_or((text, ""));
    match first.parse() {
        Ok(weight) => Ok((weight, read_path(rest, macros)?)),
        Err(_) => Ok((usual, read_path(text, macros)?)),
    }
}

/// A path, its macros put in.
fn read_path(text: &str, macros: &HashMap<&str, &str>) -> Result<Vec<Segment>, String> {
    let text = expanded(text, macros, 4)?;
    let mut outline = Vec::new();
    let mut words = text.split_whitespace().peekable();
    while let Some(command) = words.next() {
        let mut numbers = Vec::new();
        while let Some(number) = words.peek().and_then(|word| word.parse::<f32>().ok()) {
            numbers.push(number);
            words.next();
        }
        let arity = match command {
            "M" | "L" => 2,
            "C" => 6,
            "Z" if numbers.is_empty() => {
                outline.push(Segment::Close);
                continue;
            }
            _ => return Err(format!("`{command}` is no step of a path")),
        };
        if numbers.is_empty() || numbers.len() % arity != 0 {
            return Err(format!("`{command}` takes {arity} numbers, not {}", numbers.len()));
        }
        if outline.is_empty() && command != "M" {
            return Err("a path begins with `M`".into());
        }
        for n in numbers.chunks(arity) {
            let p = |i: usize| Point::new(n[i], n[i + 1]);
            outline.push(match command {
                "M" => Segment::Move(p(0)),
                "L" => Segment::Line(p(0)),
                _ => Segment::Cubic(p(0), p(2), p(4)),
            });
        }
    }
    if outline.len() < 2 {
        return Err("a path without a step".into());
    }
    Ok(outline)
}

/// Puts the macros in, to a depth at which a macro that names itself is refused.
fn expanded(text: &str, macros: &HashMap<&str, &str>, depth: usize) -> Result<String, String> {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        let (name, after) = after.split_once('}').ok_or("`{` without `}`")?;
        let path = macros.get(name).ok_or_else(|| format!("no `{name}` is defined"))?;
        if depth == 0 {
            return Err(format!("`{name}` is nested too deep"));
        }
        out.push_str(before);
        out.push_str(&expanded(path, macros, depth - 1)?);
        rest = after;
    }
    out.push_str(rest);
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ends(outline: &[Segment]) -> (Point, Point) {
        let points = flattened(outline, 1);
        (points[0], points[points.len() - 1])
    }

    #[test]
    fn every_body_is_one_closed_outline_on_its_foot_and_inside_the_square() {
        for role in Role::ALL {
            let silhouette = PieceSet::staunton().of(role);
            for form in [&silhouette.large, &silhouette.small] {
                let (first, last) = ends(&form.body);
                assert!(first.distance(last) < 0.5, "{role}: {first:?} and {last:?} do not meet");
                assert_eq!(form.body.iter().filter(|s| matches!(s, Segment::Move(_))).count(), 1, "{role}");
                assert!(matches!(form.body.last(), Some(Segment::Close)), "{role}");
                let points = flattened(&form.body, 8);
                let foot = points.iter().map(|p| p.y).fold(0.0, f32::max);
                assert!((92.0..94.0).contains(&foot), "{role}: foot at {foot}");
                assert!(points.iter().all(|p| (1.0..99.0).contains(&p.x) && (0.5..95.0).contains(&p.y)), "{role}");
            }
        }
    }

    #[test]
    fn the_kinds_differ_in_height_as_a_staunton_set_does() {
        let top = |role| PieceSet::staunton().of(role).hull.iter().map(|p| p.y).fold(f32::MAX, f32::min);
        assert!(top(Role::King) < top(Role::Queen));
        assert!(top(Role::Queen) < top(Role::Bishop));
        assert!(top(Role::Bishop) < top(Role::Rook));
        assert!(top(Role::Rook) < top(Role::Pawn));
    }

    #[test]
    fn mistakes_are_named_with_their_line() {
        let at = |text: &str| parse(text).expect_err("a mistake");
        assert_eq!(at("grid 100\npiece earl\n").line, 2);
        assert_eq!(at("piece king\n\n# a comment\nglow M 1 2 L 3 4\n").line, 4);
        assert_eq!(at("line M 1 2 L 3 4\n").line, 1);
        assert_eq!(at("piece king\nline M 1 2 L 3\n").what, "`L` takes 2 numbers, not 1");
        assert_eq!(at("piece king\nline {nothing}\n").what, "no `nothing` is defined");
        assert_eq!(at("let a {a}\npiece king\nline {a}\n").what, "`a` is nested too deep");
        assert_eq!(at("piece king\nturn head M 1 2 L 3 4\n").what, "`turn` must be followed by `body`");
        assert_eq!(at("piece king\nline L 1 2\n").what, "a path begins with `M`");
        assert_eq!(at("piece king\npiece king\n").what, "a second king");
        assert_eq!(at("grid 100\n").what, "the king has no large drawing");
    }
}
