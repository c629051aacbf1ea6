//! Which slices to look at next.

use super::super::ending::Bounds;
use super::Explored;
use super::men::{Kind, Men, Spot, side};
use super::names::ByMen;
use super::slice;
use shakmaty::Role;
use std::collections::VecDeque;

/// A walk through undecided play for slices that are wanting.
pub struct Wanting<'a> {
    explored: &'a Explored,
    wanted: Vec<Men>,
    /// So many more of kings alone are asked for, and with a piece.
    bare: u64,
    with_piece: u64,
}

impl<'a> Wanting<'a> {
    /// For so many slices of kings alone, and with a piece for as many as cost as much, but one at least.
    pub fn new(explored: &'a Explored, most: u64) -> Wanting<'a> {
        Wanting { explored, wanted: Vec::new(), bare: most, with_piece: most.div_ceil(64) }
    }

    /// What was found, the nearest first.
    pub fn found(self) -> Vec<Men> {
        self.wanted
    }

    /// From positions of which nothing more is known than this window. What is known to lie on one side of it decides
    /// nothing there.
    pub fn look<'b>(&mut self, targets: impl Iterator<Item = &'b (Men, Spot)>, window: Bounds) {
        let matters = |bounds: Bounds| bounds.known().is_none() && bounds.high > window.low && bounds.low < window.high;
        let mut seen: ByMen<Vec<u64>> = ByMen::default();
        let mut front: VecDeque<(Men, Spot)> = VecDeque::new();
        let mut next: Vec<(Men, Spot)> = targets.copied().collect();
        loop {
            for (men, spot) in next.drain(..) {
                if men.count() <= self.explored.few {
                    continue;
                }
                let Some(slice) = self.explored.slices.get(&men) else {
                    self.want(men);
                    continue;
                };
                if !matters(slice.bounds(spot)) {
                    continue;
                }
                let bits = seen.entry(men).or_insert_with(|| vec![0; men.places() << 7]);
                let number = slice::place(spot) << 1 | side(spot.turn);
                if bits[number >> 6] & 1 << (number & 63) == 0 {
                    bits[number >> 6] |= 1 << (number & 63);
                    front.push_back((men, spot));
                }
            }
            let Some((men, spot)) = front.pop_front().filter(|_| self.bare > 0 || self.with_piece > 0) else { return };
            men.each_within(spot, |after| next.push((men, after)));
            men.each_exit(spot, |exit| {
                if !matters(self.explored.worth(&exit)) {
                    return;
                }
                match exit.kind {
                    Kind::Promotion { second: Some(_), .. } => {}
                    // Other pieces only where what the queen does is known.
                    Kind::Promotion { role, .. } if role != Role::Queen => {
                        let queen = Men { piece: Some((spot.turn, Role::Queen)), ..exit.men };
                        let known = self.explored.slices.get(&queen).map(|slice| slice.bounds(exit.spot));
                        if known.is_some_and(|known| !matters(known)) {
                            next.push((exit.men, exit.spot));
                        }
                    }
                    _ => next.push((exit.men, exit.spot)),
                }
            });
        }
    }

    fn want(&mut self, men: Men) {
        let left = if men.piece.is_some() { &mut self.with_piece } else { &mut self.bare };
        if *left > 0 && !self.wanted.contains(&men) {
            *left -= 1;
            self.wanted.push(men);
        }
    }
}
