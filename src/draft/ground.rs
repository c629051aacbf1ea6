//! The positions a narration may be about: one tree for each composition, prepared lines marked as known, growing as
//! other moves are heard.

use super::mention::Said;
use crate::game::{LegalMove, Node, NodeId, Position, State};
use crate::timeline::LineKind;
use crate::units::Side;
use std::collections::HashMap;
use std::rc::Rc;

/// One composition, or one game: where it begins, and the lines that are known of it.
#[derive(Clone, Debug)]
pub struct Study {
    /// The first position.
    pub start: Position,
    /// The prepared tree as `game` reads it from a PGN; its first node is the start. Empty if only the start is known.
    pub lines: Vec<Node>,
}

/// A position in the ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Spot(u32);

/// All positions met so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Ground {
    places: Vec<Place>,
    /// The first position of each study.
    pub roots: Vec<Spot>,
    /// The known places of each study, the root left out.
    pub known: Vec<Vec<Spot>>,
    children: HashMap<(Spot, LegalMove), Spot>,
}

#[derive(Clone, Debug)]
struct Place {
    came: Option<(Spot, LegalMove)>,
    depth: u32,
    study: u32,
    known: bool,
    line: LineKind,
    position: Position,
    moves: Option<Rc<[LegalMove]>>,
    /// What the side that moved last could play if it were its turn again.
    passed: Option<Rc<[LegalMove]>>,
    state: Option<State>,
}

impl Ground {
    /// The ground of these studies.
    pub fn new(studies: &[Study]) -> Ground {
        let mut ground = Ground::default();
        for (index, study) in studies.iter().enumerate() {
            let root = ground.add(study.start.clone(), None, index as u32, true);
            ground.roots.push(root);
            let mut spots: HashMap<NodeId, Spot> = HashMap::from([(NodeId(0), root)]);
            let mut known = Vec::new();
            for (id, node) in study.lines.iter().enumerate().skip(1) {
                let Some((parent, ply)) = &node.came else { continue };
                let Some(&from) = spots.get(parent) else { continue };
                let legal = ground.moves(from).iter().copied().find(|legal| legal.is_ply(ply));
                let Some(legal) = legal else { continue };
                let spot = ground.child(from, legal);
                ground.places[spot.index()].known = true;
                ground.places[spot.index()].line = node.line;
                spots.insert(NodeId(id), spot);
                known.push(spot);
            }
            ground.known.push(known);
        }
        ground
    }

    fn add(&mut self, position: Position, came: Option<(Spot, LegalMove)>, study: u32, known: bool) -> Spot {
        let spot = Spot(u32::try_from(self.places.len()).expect("fewer positions than memory holds"));
        let depth = came.map_or(0, |(parent, _)| self.depth(parent) as u32 + 1);
        let line = LineKind::Solution;
        self.places.push(Place { came, depth, study, known, line, position, moves: None, passed: None, state: None });
        spot
    }

    /// Where a legal move of `from` leads.
    pub fn child(&mut self, from: Spot, legal: LegalMove) -> Spot {
        if let Some(spot) = self.children.get(&(from, legal)) {
            return *spot;
        }
        let position = self.position(from).after(&legal);
        let study = self.places[from.index()].study;
        let spot = self.add(position, Some((from, legal)), study, false);
        self.children.insert((from, legal), spot);
        spot
    }

    pub fn position(&self, spot: Spot) -> &Position {
        &self.places[spot.index()].position
    }

    pub fn came(&self, spot: Spot) -> Option<(Spot, LegalMove)> {
        self.places[spot.index()].came
    }

    pub fn parent(&self, spot: Spot) -> Option<Spot> {
        self.came(spot).map(|(parent, _)| parent)
    }

    /// Plies from the study's start.
    pub fn depth(&self, spot: Spot) -> usize {
        self.places[spot.index()].depth as usize
    }

    pub fn study(&self, spot: Spot) -> usize {
        self.places[spot.index()].study as usize
    }

    /// Whether it lies on a prepared line.
    pub fn is_known(&self, spot: Spot) -> bool {
        self.places[spot.index()].known
    }

    /// What a known spot's last ply belongs to.
    pub fn line(&self, spot: Spot) -> LineKind {
        self.places[spot.index()].line
    }

    /// Whether lines were prepared for this spot's study.
    pub fn is_prepared(&self, spot: Spot) -> bool {
        !self.known[self.study(spot)].is_empty()
    }

    /// The legal moves.
    pub fn moves(&mut self, spot: Spot) -> Rc<[LegalMove]> {
        let place = &mut self.places[spot.index()];
        place.moves.get_or_insert_with(|| place.position.legal_moves().into()).clone()
    }

    /// Whether `said` fits no move that can be played, but one of the side that moved last, if it could move again.
    pub fn is_next(&mut self, spot: Spot, said: &Said) -> bool {
        let turn = self.turn(spot);
        if self.moves(spot).iter().any(|legal| said.against(legal, turn, None).is_some()) {
            return false;
        }
        let place = &mut self.places[spot.index()];
        let passed = place.passed.get_or_insert_with(|| {
            let passed = place.position.passed();
            passed.map_or_else(|| [].into(), |passed| passed.legal_moves().into())
        });
        let other = if turn == Side::White { Side::Black } else { Side::White };
        passed.iter().any(|legal| said.against(legal, other, None).is_some())
    }

    /// Check, mate, stalemate.
    pub fn state(&mut self, spot: Spot) -> State {
        let place = &mut self.places[spot.index()];
        *place.state.get_or_insert_with(|| place.position.state())
    }

    pub fn turn(&self, spot: Spot) -> Side {
        self.position(spot).turn()
    }

    /// The spots from the start to this one, both included.
    pub fn path(&self, spot: Spot) -> Vec<Spot> {
        let mut path = vec![spot];
        let mut at = spot;
        while let Some(parent) = self.parent(at) {
            path.push(parent);
            at = parent;
        }
        path.reverse();
        path
    }

    /// The last spot that lies on the way to both; `None` between two studies.
    pub fn fork(&self, one: Spot, other: Spot) -> Option<Spot> {
        if self.study(one) != self.study(other) {
            return None;
        }
        let (mut one, mut other) = (one, other);
        while one != other {
            if self.depth(one) >= self.depth(other) {
                one = self.parent(one)?;
            } else {
                other = self.parent(other)?;
            }
        }
        Some(one)
    }

    /// The move that led here as SAN; empty for a start.
    pub fn san(&self, spot: Spot) -> String {
        self.came(spot).map_or_else(String::new, |(parent, legal)| self.position(parent).san(&legal))
    }

    /// What is against `said` being the move that led here; `None` if it is not.
    pub fn against(&self, said: &Said, spot: Spot) -> Option<f32> {
        let (parent, legal) = self.came(spot)?;
        said.against(&legal, self.turn(parent), self.came(parent).map(|(_, legal)| legal.to))
    }
}

impl Spot {
    fn index(self) -> usize {
        self.0 as usize
    }
}
