//! The move list that a scene will show, as far as its depth goes: a main line, lines that leave it, lines that leave
//! those. A third level cannot be shown, and a film with one is refused; the draft begins a new scene instead.

use super::ground::Spot;
use crate::timeline::LineKind;

/// The lines of a scene so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Lines {
    start: Option<Spot>,
    main: Vec<Spot>,
    branches: Vec<Branch>,
}

#[derive(Clone, Debug)]
struct Branch {
    is_second: bool,
    moves: Vec<Spot>,
}

impl Lines {
    /// A scene that begins with `start`.
    pub fn new(start: Spot) -> Lines {
        Lines { start: Some(start), main: Vec::new(), branches: Vec::new() }
    }

    pub fn start(&self) -> Option<Spot> {
        self.start
    }

    /// Adds a ply of a kind; whether it is too deep.
    pub fn play(&mut self, spot: Spot, parent: Option<Spot>, kind: LineKind) -> bool {
        let Some(parent) = parent else { return false };
        if self.main.contains(&spot) || self.branches.iter().any(|branch| branch.moves.contains(&spot)) {
            return false;
        }
        if let Some(index) = self.branches.iter().position(|branch| branch.moves.contains(&parent)) {
            let branch = &mut self.branches[index];
            if branch.moves.last() == Some(&parent) {
                branch.moves.push(spot);
                return false;
            }
            let too_deep = branch.is_second;
            self.branches.push(Branch { is_second: true, moves: vec![spot] });
            return too_deep;
        }
        let depth = self.main.iter().position(|on_main| *on_main == parent).map_or(0, |index| index + 1);
        if kind != LineKind::Try && depth == self.main.len() {
            self.main.push(spot);
        } else {
            self.branches.push(Branch { is_second: false, moves: vec![spot] });
        }
        false
    }

    /// Whether playing these plies from `from` would go too deep.
    pub fn too_deep(&self, from: Spot, ahead: &[Spot], kinds: &[LineKind]) -> bool {
        let mut trial = self.clone();
        let mut parent = from;
        ahead.iter().zip(kinds).any(|(spot, kind)| {
            let too_deep = trial.play(*spot, Some(parent), *kind);
            parent = *spot;
            too_deep
        })
    }
}
