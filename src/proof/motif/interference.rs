//! Interference: the man that moved stands on the line of an enemy's man, or of one of its own side, and cuts it off
//! from what that man guarded; and the other side of that line can use it: by a capture there that wins material in
//! one exchange, by mate there, or by a promotion that nobody takes.
//! Interposition: the man that moved stands between an enemy's man and one of its own side that it attacked.

use super::super::notation::after;
use super::lines::{line_men, man};
use super::{Sight, Sighting, gain, sighting, to_move};
use crate::game::{Motif, rules};
use shakmaty::{Chess, Color, Move, Position, Square, attacks};

pub(super) fn find(sight: Sight<'_>) -> Vec<Sighting> {
    let Some((before, chosen)) = sight.last else { return Vec::new() };
    let position = sight.position;
    let moved = rules::target(chosen);
    let mut found = Vec::new();
    for color in Color::ALL {
        for (slider, _) in line_men(position.board(), color) {
            if slider == moved || before.board().piece_at(slider) != position.board().piece_at(slider) {
                continue;
            }
            let lost = before.board().attacks_from(slider).without(position.board().attacks_from(slider));
            let cut: Vec<Square> =
                lost.into_iter().filter(|square| attacks::between(slider, *square).contains(moved)).collect();
            found.extend(cut.iter().filter_map(|square| judged(before, position, moved, slider, *square)));
        }
    }
    found
}

/// What becomes of one square that a man no longer reaches.
fn judged(before: &Chess, position: &Chess, moved: Square, slider: Square, square: Square) -> Option<Sighting> {
    let board = position.board();
    let owner = board.color_at(slider)?;
    let [mover, cut] = [man(position, moved), man(position, slider)];
    if board.color_at(square) == Some(!owner) {
        // What it attacked, not what it guarded; a mover that shuts its own line off is no motif.
        return (owner != before.turn()).then(|| {
            let told = format!("{mover} stands between {cut} and {}", man(position, square));
            let marks = vec![format!("force {slider} {square}"), format!("guard {moved}")];
            sighting(Motif::Interposition, [moved, slider, square], told, marks, Vec::new())
        });
    }
    let theirs = to_move(position, !owner)?;
    let using = used(&theirs, square)?;
    // What could be done before does not come from the cut.
    if to_move(before, !owner).is_some_and(|uncut| used(&uncut, square).is_some()) {
        return None;
    }
    let does = if after(&theirs, using).is_checkmate() { "mates" } else { "wins material" };
    let told = format!("{mover} cuts {cut} off from {square}, where {} now {does}", rules::san(&theirs, using));
    let marks = vec![format!("force {slider} {square}"), format!("key {moved}")];
    Some(sighting(Motif::Interference, [moved, slider, square], told, marks, Vec::new()))
}

/// A move to the square that mates, wins material, or makes a queen that nobody takes.
fn used(position: &Chess, square: Square) -> Option<Move> {
    let there: Vec<Move> =
        position.legal_moves().into_iter().filter(|chosen| rules::target(*chosen) == square).collect();
    let mates = there.iter().copied().find(|chosen| after(position, *chosen).is_checkmate());
    mates.or_else(|| {
        let wins = |chosen: &Move| (chosen.is_capture() || chosen.is_promotion()) && gain::of(position, *chosen) > 0;
        there.iter().copied().filter(wins).max_by_key(|chosen| gain::of(position, *chosen))
    })
}
