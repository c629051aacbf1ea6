//! Proof-number search: can a side force an end that counts for it?
//!
//! Depth first with thresholds (A. Nagai 2002, after L. V. Allis's proof numbers, 1994): the position whose proof looks
//! nearest is looked at next. Ends are mates, stalemates, too little material and the positions of the tables.
//!
//! Only proofs are believed. A line that comes back to a position on its own path, or grows too long, counts as failed
//! for the side that wants to force something. What is proven so rests on ends alone, whatever path led to it: every
//! proven position has a move (or, for the other side, all moves) to positions proven before, so no cycle and no
//! transposition can spoil it. What failed may have failed for its path only, and is never called refuted: that is left
//! to the graph, which judges repetition rightly.

use super::ending::Ending;
use super::keys::{self, ByPosition, Key, Positions};
use super::notation::after;
use super::{Budget, known};
use shakmaty::{Chess, Color, Move, Position};

/// What a side wants to force.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Aim {
    pub side: Color,
    pub goal: Goal,
}

/// The ends that count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Goal {
    /// A win.
    Win,
    /// A win or a draw.
    Hold,
}

/// What came of a search.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Answer {
    /// The side can force it: by this line, the other side holding out.
    Forced(Vec<Move>),
    /// Nothing is known.
    Unknown,
}

/// Beyond all sums.
const INFINITE: u32 = 1 << 30;

/// A line is given up after so many plies.
const DEEPEST: usize = 160;

/// A line that is printed is cut after so many plies.
const SHOWN: usize = 24;

/// The budget has ended.
struct Exhausted;

/// How many ends at least must turn out well to prove that the aim can be forced, and how many ill to give it up; and
/// for what is proven, how many plies it takes at most.
#[derive(Clone, Copy, Debug)]
struct Numbers {
    proof: u32,
    disproof: u32,
    plies: u32,
}

impl Numbers {
    const FAILED: Numbers = Numbers { proof: INFINITE, disproof: 0, plies: 0 };

    fn forced(plies: u32) -> Numbers {
        Numbers { proof: 0, disproof: INFINITE, plies }
    }
}

struct Search {
    aim: Aim,
    budget: Budget,
    left: u64,
    most: usize,
    known: ByPosition<Numbers>,
    path: Positions,
}

/// Looks for a way to force the aim within the budget.
pub(super) fn force(position: &Chess, aim: Aim, budget: Budget) -> Answer {
    let most = keys::most(budget);
    let (known, path) = (ByPosition::default(), Positions::default());
    let mut search = Search { aim, budget, left: budget.positions, most, known, path };
    if search.end(position).is_none() && search.go(position, INFINITE, INFINITE).is_err() {
        return Answer::Unknown;
    }
    let found = search.end(position).or_else(|| search.known.get(&Key::of(position)).copied());
    match found {
        Some(Numbers { proof: 0, .. }) => Answer::Forced(search.line(position)),
        _ => Answer::Unknown,
    }
}

impl Search {
    fn counts(&self, ending: Ending) -> Numbers {
        let least = match self.aim.goal {
            Goal::Win => Ending::WhiteWins,
            Goal::Hold => Ending::Draw,
        };
        if ending.seen_by(self.aim.side) >= least { Numbers::forced(0) } else { Numbers::FAILED }
    }

    /// The numbers of a position that is an end.
    fn end(&self, here: &Chess) -> Option<Numbers> {
        if here.legal_moves().is_empty() {
            let ending = if here.is_check() { Ending::win_of(!here.turn()) } else { Ending::Draw };
            return Some(self.counts(ending));
        }
        if let Some(ending) = known::at_leaf(here, self.budget) {
            return Some(self.counts(ending));
        }
        match self.aim.goal {
            Goal::Win if here.has_insufficient_material(self.aim.side) => Some(Numbers::FAILED),
            Goal::Hold if here.has_insufficient_material(!self.aim.side) => Some(Numbers::forced(0)),
            _ => None,
        }
    }

    /// The numbers of a position seen for the first time: an end's, or how many answers there are.
    fn first(&self, here: &Chess) -> Numbers {
        self.end(here).unwrap_or_else(|| {
            let moves = here.legal_moves().len() as u32;
            let (proof, disproof) = if here.turn() == self.aim.side { (1, moves) } else { (moves, 1) };
            Numbers { proof, disproof, plies: 0 }
        })
    }

    /// Works on a position that is no end until its numbers reach the thresholds.
    fn go(&mut self, here: &Chess, most_proof: u32, most_disproof: u32) -> Result<Numbers, Exhausted> {
        let key = Key::of(here);
        let mut answers = Vec::new();
        for chosen in here.legal_moves() {
            self.left = self.left.checked_sub(1).ok_or(Exhausted)?;
            let next = after(here, chosen);
            let next_key = Key::of(&next);
            if !self.known.contains_key(&next_key) {
                let first = self.first(&next);
                self.known.insert(next_key, first);
            }
            answers.push((next_key, next));
        }
        if self.known.len() > self.most {
            return Err(Exhausted);
        }
        self.path.insert(key);
        let ours = here.turn() == self.aim.side;
        let numbers = loop {
            let (numbers, next) = self.gathered(&answers, ours);
            let enough = numbers.proof >= most_proof || numbers.disproof >= most_disproof;
            let Some(next) = next.filter(|_| !enough && numbers.proof > 0 && numbers.disproof > 0) else {
                break numbers;
            };
            // Seen from the side to move, its own number is the least of its moves', the other one their sum.
            let (own, other) = if ours { (most_proof, most_disproof) } else { (most_disproof, most_proof) };
            let own = own.min(next.second.saturating_add(next.second / 4 + 1)).min(INFINITE);
            let other = if other >= INFINITE { INFINITE } else { other - next.all + next.its };
            let (proof, disproof) = if ours { (own, other) } else { (other, own) };
            let (next_key, position) = answers[next.index].clone();
            let found = self.go(&position, proof, disproof)?;
            self.known.insert(next_key, found);
        };
        self.path.remove(&key);
        self.known.insert(key, numbers);
        Ok(numbers)
    }

    /// A position's numbers from those of the positions one move on, and which of these to work on.
    fn gathered(&self, answers: &[(Key, Chess)], ours: bool) -> (Numbers, Option<Next>) {
        let mut next: Option<Next> = None;
        let (mut least, mut all) = (INFINITE, 0_u64);
        let (mut shortest, mut longest) = (u32::MAX, 0);
        for (index, (key, _)) in answers.iter().enumerate() {
            let failed = self.path.contains(key) || self.path.len() >= DEEPEST;
            let known = self.known.get(key).copied().unwrap_or(Numbers { proof: 1, disproof: 1, plies: 0 });
            let known = if failed && known.proof > 0 { Numbers::FAILED } else { known };
            if known.proof == 0 {
                shortest = shortest.min(known.plies);
                longest = longest.max(known.plies);
            }
            let (own, other) = if ours { (known.proof, known.disproof) } else { (known.disproof, known.proof) };
            all += u64::from(other);
            match &mut next {
                Some(best) if own >= best.own => best.second = best.second.min(own),
                _ => {
                    let second = next.as_ref().map_or(INFINITE, |best| best.own);
                    next = Some(Next { index, own, its: other, second, all: 0 });
                }
            }
            least = least.min(own);
        }
        let all = all.min(u64::from(INFINITE)) as u32;
        if let Some(next) = &mut next {
            next.all = all;
        }
        let (proof, disproof) = if ours { (least, all) } else { (all, least) };
        let plies = if ours { shortest } else { longest }.saturating_add(1);
        let numbers = match (proof, disproof) {
            (0, _) => Numbers::forced(plies),
            (_, 0) => Numbers::FAILED,
            _ => Numbers { proof, disproof, plies: 0 },
        };
        (numbers, next)
    }

    /// From a proven position: the shortest proven way against the longest defence, to an end or as far as is worth
    /// reading. The plies left sink with every move, so that it comes to an end.
    fn line(&self, position: &Chess) -> Vec<Move> {
        let mut here = position.clone();
        let mut line = Vec::new();
        while line.len() < SHOWN && self.end(&here).is_none() {
            let ours = here.turn() == self.aim.side;
            let proven = here.legal_moves().into_iter().filter_map(|chosen| {
                let known = self.known.get(&Key::of(&after(&here, chosen))).filter(|known| known.proof == 0)?;
                Some((chosen, known.plies))
            });
            let next =
                if ours { proven.min_by_key(|(_, plies)| *plies) } else { proven.max_by_key(|(_, plies)| *plies) };
            let Some((chosen, _)) = next else { break };
            line.push(chosen);
            here = after(&here, chosen);
        }
        line
    }
}

/// The move to work on.
struct Next {
    index: usize,
    /// Its number for the side to move.
    own: u32,
    /// Its other number.
    its: u32,
    /// The next best move's number for the side to move.
    second: u32,
    /// The other numbers of all moves together.
    all: u32,
}
