//! Bare text with stamps: `[1:02] The rook …`, `(0:05)`, `1:02 text`, or a stamp on a line of its own; stamps in brackets
//! may also stand inside a line. What is said before the first stamp begins at zero.

use super::clock::clock;
use super::piece::Piece;
use crate::units::Time;

/// How much slower than unhurried a stamped piece may be before silence is assumed at its end.
const SLOWEST: u32 = 2;

/// Reads the stamped pieces; empty if there is no stamp at all.
pub(super) fn read(text: &str) -> Vec<Piece> {
    let mut pieces: Vec<(Time, String)> = Vec::new();
    let mut stamped = false;
    for line in text.split(['\n', '\r']) {
        let mut rest = line.trim_start_matches(['\u{feff}', ' ', '\t', '-', '*']);
        if let Some((time, after)) = bare(rest) {
            stamped = true;
            pieces.push((time, String::new()));
            rest = after;
        }
        while let Some((before, time, after)) = bracketed(rest) {
            stamped = true;
            say(&mut pieces, before);
            pieces.push((time, String::new()));
            rest = after;
        }
        say(&mut pieces, rest);
    }
    if !stamped {
        return Vec::new();
    }
    let starts: Vec<Time> = pieces.iter().map(|(time, _)| *time).collect();
    let piece = |(index, (start, text)): (usize, (Time, String))| {
        // A piece lasts until the next stamp, but not through a silence that follows it.
        let mut piece = Piece::of_text(Some(start), None, &text);
        let longest = start + piece.natural() * SLOWEST;
        piece.end = starts[index + 1..].iter().find(|next| **next > start).map(|next| longest.min(*next));
        piece
    };
    pieces.into_iter().enumerate().map(piece).collect()
}

fn say(pieces: &mut Vec<(Time, String)>, text: &str) {
    let text = text.trim();
    if text.is_empty() {
        return;
    }
    if pieces.is_empty() {
        pieces.push((Time::ZERO, String::new()));
    }
    if let Some((_, said)) = pieces.last_mut() {
        said.push(' ');
        said.push_str(text);
    }
}

/// A stamp without brackets at the start of a line: two or three numbers with colons, then white space or the end.
fn bare(line: &str) -> Option<(Time, &str)> {
    let end = line.find(|c: char| !(c.is_ascii_digit() || matches!(c, ':' | '.' | ','))).unwrap_or(line.len());
    let (stamp, rest) = line.split_at(end);
    let stamp = stamp.trim_end_matches([':', ',', '.']);
    let parted = rest.is_empty() || rest.starts_with([' ', '\t', '\u{a0}', '-', '\u{2013}', '\u{2014}']);
    (stamp.contains(':') && parted).then(|| clock(stamp)).flatten().map(|time| (time, rest))
}

/// The first stamp in brackets: what is before it, its time, what is after it.
fn bracketed(text: &str) -> Option<(&str, Time, &str)> {
    text.match_indices(['[', '(', '<']).find_map(|(at, bracket)| {
        let inside = &text[at + 1..];
        let end = inside.find(match bracket {
            "[" => ']',
            "(" => ')',
            _ => '>',
        })?;
        let stamp = &inside[..end];
        let time = clock(stamp).filter(|_| stamp.contains(':'))?;
        Some((&text[..at], time, &inside[end + 1..]))
    })
}
