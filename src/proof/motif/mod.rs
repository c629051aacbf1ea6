//! Motifs that narrators name, found on the board by geometry and, where material hangs on it, by play.
//!
//! Comes in: a position, with the move that led to it. Goes out: [`Sighting`]s: what stands there, which men take part,
//! the sentence that says so and the marks that would show it. One file a motif.
//!
//! Where a motif needs play (fork, skewer, trapped piece, relative pin, interference) it is that of one exchange, with
//! legal moves only: what the answers to a capture leave of it (`gain`). The definitions stand with each motif and, in
//! short, in the help of `plyreel prove`.

mod battery;
mod discovered_check;
mod double_check;
mod flights;
mod fork;
mod gain;
mod interference;
mod lines;
mod pin;
mod rescue;
mod skewer;
mod stalemate_net;
mod suggest;
mod trapped;

pub(super) use suggest::fresh;
pub use suggest::suggestions;

use super::decide::{Ruling, proven, refuted};
use crate::game::{Board, Motif, NodeId, rules};
use crate::units::Square;
use shakmaty::{Chess, Move, Position};

/// A motif that stands on the board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sighting {
    /// Which motif.
    pub motif: Motif,
    /// Those that take part: of a pin the pinned man, the pinning one, the one behind; of a skewer the front man, the
    /// attacker, the one behind; of a fork the forking man, then what it attacks; of a battery the front man, the rear
    /// man, then the king or the squares beside it; of checks those that give them, then the king; of an interference
    /// the man that moved, the cut one, what it no longer reaches; of a net where the man stands, where it is offered, and the king; of a
    /// trapped man itself, then where it is lost; of flights the king, then its flights.
    pub squares: Vec<Square>,
    /// A sentence without its stop.
    pub told: String,
    /// Marks that show it, as a timeline writes them.
    pub marks: Vec<String>,
    /// Arrows that show it, as a timeline writes them.
    pub arrows: Vec<String>,
}

/// A position and the move that led to it.
#[derive(Clone, Copy)]
struct Sight<'a> {
    position: &'a Chess,
    last: Option<(&'a Chess, Move)>,
}

/// Everything seen at a node of a scene's tree, in the order of the motifs' names; the flights of both kings last.
pub fn sightings(board: &Board, node: NodeId) -> Vec<Sighting> {
    let (position, last) = seen(board, node);
    all(Sight { position: &position, last: last.as_ref().map(|(before, chosen)| (before, *chosen)) })
}

/// The position of a node, and the position and move before it.
fn seen(board: &Board, node: NodeId) -> (Chess, Option<(Chess, Move)>) {
    at(&board.nodes, node)
}

fn at(nodes: &[crate::game::Node], node: NodeId) -> (Chess, Option<(Chess, Move)>) {
    let position = rules::position_at(&nodes[node.0]);
    let last = nodes[node.0].came.as_ref().and_then(|(parent, ply)| {
        let before = rules::position_at(&nodes[parent.0]);
        let chosen = before.legal_moves().into_iter().find(|chosen| rules::san(&before, *chosen) == ply.san)?;
        Some((before, chosen))
    });
    (position, last)
}

fn all(sight: Sight<'_>) -> Vec<Sighting> {
    let mut all = Vec::new();
    for motif in [
        Motif::DoubleCheck,
        Motif::DiscoveredCheck,
        Motif::Fork,
        Motif::Skewer,
        Motif::Pin,
        Motif::Battery,
        Motif::Interference,
        Motif::StalemateNet,
        Motif::Trapped,
        Motif::Flights,
    ] {
        all.extend(find(sight, motif));
    }
    all
}

/// What is seen of one motif; both kinds of batteries, and interpositions beside interferences, come together.
fn find(sight: Sight<'_>, motif: Motif) -> Vec<Sighting> {
    match motif {
        Motif::Battery | Motif::DirectBattery | Motif::IndirectBattery => battery::find(sight.position),
        Motif::Pin => pin::find(sight.position),
        Motif::Skewer => skewer::find(sight.position),
        Motif::Fork => fork::find(sight.position),
        Motif::DoubleCheck => double_check::find(sight.position),
        Motif::DiscoveredCheck => discovered_check::find(sight),
        Motif::Interference | Motif::Interposition => interference::find(sight),
        Motif::StalemateNet => stalemate_net::find(sight.position),
        Motif::Trapped => trapped::find(sight.position),
        Motif::Flights => flights::find(sight.position),
    }
}

/// Rules on a claim of a motif, made where `node` is on the board.
pub(super) fn rule(nodes: &[crate::game::Node], node: NodeId, motif: Motif, named: &[Square]) -> Ruling {
    let (position, last) = at(nodes, node);
    let sight = Sight { position: &position, last: last.as_ref().map(|(before, chosen)| (before, *chosen)) };
    let mut found = find(sight, motif);
    found.retain(|sighting| motif == Motif::Battery || sighting.motif == motif);
    let told = |sightings: &[&Sighting]| sightings.iter().map(|one| one.told.clone()).collect::<Vec<_>>().join("; ");
    // Of pinned and of trapped men each one named must be one; of the other motifs all named take part in the same.
    let chosen: Vec<&Sighting> = match (motif, named) {
        (_, []) => found.iter().collect(),
        (Motif::Pin | Motif::Trapped, _) => {
            let one = |square: &Square| found.iter().find(|sighting| sighting.squares.first() == Some(square));
            let ones: Vec<&Sighting> = named.iter().filter_map(one).collect();
            if ones.len() == named.len() { ones } else { Vec::new() }
        }
        _ => found.iter().filter(|sighting| named.iter().all(|square| sighting.squares.contains(square))).collect(),
    };
    if !chosen.is_empty() {
        return proven(told(&chosen));
    }
    let inner: Vec<shakmaty::Square> = named.iter().map(|square| rules::inner_square(*square)).collect();
    let why = match motif {
        Motif::Trapped => trapped::missing(&position, &inner),
        Motif::Fork => fork::missing(&position, &inner),
        Motif::Skewer => skewer::missing(&position, &inner),
        _ => None,
    };
    match why {
        Some(ruling) => ruling,
        None => refuted(match (found.as_slice(), named) {
            ([], []) => format!("there is no {} here", motif.phrase()),
            ([], _) => format!("there is no {} on {}", motif.phrase(), lines::names(&inner)),
            _ => format!("not on {}: {}", lines::names(&inner), told(&found.iter().collect::<Vec<_>>())),
        }),
    }
}

/// Rules on `flights h8 g7 h7`.
pub(super) fn rule_flights(position: &Chess, king: Square, claimed: &[Square]) -> Ruling {
    flights::rule(position, rules::inner_square(king), claimed)
}

/// The position with this side to move, the other having passed if need be; `None` where it is in check and cannot.
fn to_move(position: &Chess, color: shakmaty::Color) -> Option<Chess> {
    if position.turn() == color { Some(position.clone()) } else { rules::null_move(position) }
}

/// Whether the side to move wins the man on a square, or something for it, in one exchange.
pub(super) fn is_lost(position: &Chess, at: shakmaty::Square) -> bool {
    gain::on(position, at) > 0
}

/// The position without one man; `None` where that is no legal position.
fn without(position: &Chess, at: shakmaty::Square) -> Option<Chess> {
    let mut setup = position.to_setup(shakmaty::EnPassantMode::Legal);
    setup.board.discard_piece_at(at);
    setup.ep_square = None;
    setup.castling_rights.discard(at);
    rules::position_of(setup)
}

fn sighting(
    motif: Motif,
    squares: impl IntoIterator<Item = shakmaty::Square>,
    told: String,
    marks: Vec<String>,
    arrows: Vec<String>,
) -> Sighting {
    Sighting { motif, squares: squares.into_iter().map(rules::square).collect(), told, marks, arrows }
}

#[cfg(test)]
mod tests;
