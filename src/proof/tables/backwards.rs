//! Retrograde analysis: from the mates backwards, one ply at a time.
//!
//! What is known of one side's positions at a level tells something of the other side's only, at a higher level. So the
//! two sides go back side by side where the table is large.

use super::builder::{Builder, Half, ILLEGAL, InPassing, SHARED, Start, Within, is_start, step};
use super::men::{self, bit, king_reach, reach, squares};
use shakmaty::Color;

/// The longest mate that a cell can hold, in plies, with room for the steps above it.
const LONGEST: u8 = 250;

/// One side's positions, and how high its cells are.
struct Side {
    half: Half,
    /// No cell is higher.
    highest: u8,
}

/// Goes back from what is known at first; the cells of White to move and of Black to move.
pub(super) fn go(builder: &Builder, start: Start) -> [Vec<u8>; 2] {
    let Start { halves, mut passing, highest } = start;
    passing.sort_by_key(|passing| passing.level);
    let mut passing = passing.into_iter().peekable();
    let mut sides = halves.map(|half| Side { half, highest });
    let mut level = 1;
    while sides.iter().any(|side| level <= side.highest) {
        assert!(level < LONGEST, "no mate with five men is as long as a cell can count");
        one_level_back(builder, &mut sides, level);
        while let Some(step) = passing.next_if(|step| step.level == level) {
            // If the position without the capture was lost for the mover before, the step is counted already.
            let after = sides[men::index_of(!step.mover)].half.cells[step.after];
            if after == 0 || after & 1 == 1 || after >= level {
                sides[men::index_of(step.mover)].count_losing_move(step.before, level + 1);
            }
        }
        level += 1;
    }
    sides.map(Side::settled)
}

fn one_level_back(builder: &Builder, sides: &mut [Side; 2], level: u8) {
    if builder.shape.size() < SHARED {
        for turn in [Color::White, Color::Black] {
            let known = sides[men::index_of(turn)].known_at(level);
            let other = &mut sides[men::index_of(!turn)];
            for place in known {
                other.hear_of(builder, place as usize, turn, level);
            }
        }
        return;
    }
    let [white, black] = sides;
    let hear_of_all = |other: &mut Side, known: Vec<u32>, turn| {
        for place in known {
            other.hear_of(builder, place as usize, turn, level);
        }
    };
    let (known_white, known_black) = std::thread::scope(|scope| {
        let known_white = scope.spawn(|| white.known_at(level));
        let known_black = black.known_at(level);
        (known_white.join().expect("no worker panics"), known_black)
    });
    std::thread::scope(|scope| {
        scope.spawn(|| hear_of_all(black, known_white, Color::White));
        hear_of_all(white, known_black, Color::Black);
    });
}

impl Side {
    /// The places that are known at this level. Eight cells are looked at together.
    fn known_at(&self, level: u8) -> Vec<u32> {
        const LOW: u64 = 0x0101_0101_0101_0101;
        let Half { cells, open } = &self.half;
        let sought = LOW * u64::from(level);
        let mut known = Vec::new();
        for (block, eight) in cells.chunks(8).enumerate() {
            if let Ok(eight) = <[u8; 8]>::try_from(eight) {
                let differing = u64::from_le_bytes(eight) ^ sought;
                if differing.wrapping_sub(LOW) & !differing & (LOW << 7) == 0 {
                    continue;
                }
            }
            for place in (block * 8..).zip(eight).filter(|(_, cell)| **cell == level).map(|(place, _)| place) {
                if level & 1 == 0 || open[place] == 0 {
                    known.push(place as u32);
                }
            }
        }
        known
    }

    /// The other side, whose turn it is at `place`, is known there at this level: tells every position of this side
    /// from which a move leads there.
    fn hear_of(&mut self, builder: &Builder, place: usize, turn: Color, level: u8) {
        let shape = &builder.shape;
        let here = shape.placement(place, turn).expect("a known place holds a position");
        let mover = !turn;
        let free = !here.occupied();
        let occupied = !free;
        let mut within = Within::new(shape, shape.may_coincide(&here, turn));
        let foothold = shape.foothold(&here, place);

        let king = here.king(mover);
        for from in squares(king_reach(king) & free & !king_reach(here.king(turn))) {
            let before = here.with_king(mover, from);
            let before = shape.place(before.kings, before.at);
            if within.add_place(before) {
                self.arrived(before, level, level + 1);
            }
        }
        for (which, (man, at)) in here.men().iter().zip(here.at).enumerate().filter(|(_, (man, _))| man.color == mover)
        {
            if !man.is_pawn() {
                for from in squares(reach(*man, at, occupied) & free) {
                    let before = shape.place_of_moved(foothold, &here, which, from);
                    if within.add_place(before) {
                        self.arrived(before, level, level + 1);
                    }
                }
                continue;
            }
            if is_start(mover, at) {
                continue;
            }
            let from = step(turn, at);
            if free & bit(from) == 0 {
                continue;
            }
            // A pawn never comes from its own first rank: `from` is at least the start.
            self.arrived(shape.place_of_moved(foothold, &here, which, from), level, level + 1);
            let far = step(turn, from);
            if !is_start(mover, far) || free & bit(far) == 0 {
                continue;
            }
            let stepped = shape.place_of_moved(foothold, &here, which, far);
            match builder.in_passing(&here, which, from) {
                None => self.arrived(stepped, level, level + 1),
                Some(InPassing { forced: true, .. }) => {}
                Some(InPassing { best, .. }) => match (level & 1 == 1, best) {
                    // The opponent is lost here; taking in passing saves it, or at least may last longer.
                    (true, 0) => {}
                    (true, lost) if lost & 1 == 1 => self.arrived(stepped, level, level.max(lost) + 1),
                    (true, _) => {}
                    // The opponent wins here; if taking in passing wins sooner or as soon, that counts the step.
                    (false, won) if won != 0 && won & 1 == 0 && won <= level => {}
                    (false, _) => self.arrived(stepped, level, level + 1),
                },
            }
        }
    }

    /// A move from `place` leads to a position known at `level`; it makes the cell `known`.
    #[inline]
    fn arrived(&mut self, place: usize, level: u8, known: u8) {
        let cell = &mut self.half.cells[place];
        if *cell == ILLEGAL {
            return;
        }
        if level & 1 == 0 {
            self.count_losing_move(place, known);
        } else if *cell == 0 || *cell & 1 == 1 || *cell > known {
            *cell = known;
            self.highest = self.highest.max(known);
        }
    }

    /// One more move of a position is known to lose; `known` is the cell if it is the longest.
    fn count_losing_move(&mut self, place: usize, known: u8) {
        let open = &mut self.half.open[place];
        *open -= 1;
        let cell = &mut self.half.cells[place];
        if *open == 0 && (*cell == 0 || *cell & 1 == 1) {
            *cell = (*cell).max(known);
            self.highest = self.highest.max(*cell);
        }
    }

    /// The cells at the end. A loss was only noted down where some move does not lose.
    fn settled(self) -> Vec<u8> {
        let Half { mut cells, open } = self.half;
        for (cell, open) in cells.iter_mut().zip(open) {
            if *cell != ILLEGAL && *cell & 1 == 1 && open != 0 {
                *cell = 0;
            }
        }
        cells
    }
}
