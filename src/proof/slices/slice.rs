//! One slice: every place of the kings and the piece at once, both sides to move, backwards from what its exits come to.

use super::super::ending::{Bounds, Ending};
use super::men::{Men, Spot, side};
use shakmaty::Color;

/// The men may not stand like this.
const ILLEGAL: u8 = 255;

/// No exit; or no win.
const NONE: u8 = 255;

/// Slices of so many places are solved by two threads.
const SHARED: usize = 1 << 16;

/// The result by bounds, as one byte.
fn packed(bounds: Bounds) -> u8 {
    let number = |ending| match ending {
        Ending::BlackWins => 0,
        Ending::Draw => 1,
        Ending::WhiteWins => 2,
    };
    number(bounds.low) | number(bounds.high) << 2
}

fn unpacked(cell: u8) -> Bounds {
    let ending = |number| match number & 3 {
        0 => Ending::BlackWins,
        1 => Ending::Draw,
        _ => Ending::WhiteWins,
    };
    Bounds { low: ending(cell), high: ending(cell >> 2) }
}

/// A value for each place, White to move and Black to move.
type Both = [Vec<u8>; 2];

/// What is known of every position of a slice.
pub struct Slice {
    cells: Both,
    /// How many steps within the slice a sure win takes at most; [`NONE`] where there is none.
    steps: Both,
    /// How many moves stay within; [`ILLEGAL`] where the men may not stand like this.
    within: Both,
    /// Every position has its result.
    pub whole: bool,
}

/// A number for where the men stand, whoever is to move.
pub fn place(spot: Spot) -> usize {
    usize::from(spot.at) << 12 | usize::from(spot.kings[0]) << 6 | usize::from(spot.kings[1])
}

fn spot(place: usize, turn: Color) -> Spot {
    Spot { kings: [(place >> 6 & 63) as u8, (place & 63) as u8], at: (place >> 12) as u8, turn }
}

/// The better of two for the side to move.
pub fn better(turn: Color, one: Option<Bounds>, other: Bounds) -> Bounds {
    let Some(one) = one else { return other };
    match turn {
        Color::White => Bounds { low: one.low.max(other.low), high: one.high.max(other.high) },
        Color::Black => Bounds { low: one.low.min(other.low), high: one.high.min(other.high) },
    }
}

/// The same of White and of Black, by two threads where there is much to do.
fn of_both<V: Send>(men: &Men, make: impl Fn(Color) -> V + Sync) -> [V; 2] {
    if men.places() << 12 < SHARED {
        return [make(Color::White), make(Color::Black)];
    }
    std::thread::scope(|scope| {
        let white = scope.spawn(|| make(Color::White));
        let black = make(Color::Black);
        [white.join().expect("no worker panics"), black]
    })
}

/// How many moves of each position stay within the slice.
fn moves_within(men: &Men) -> Both {
    let size = men.places() << 12;
    let legal = of_both(men, |turn| (0..size).map(|number| men.is_legal(spot(number, turn))).collect::<Vec<bool>>());
    of_both(men, |turn| {
        let count = |number| {
            let mut count = 0;
            men.each_way(spot(number, turn), turn, &mut |after| {
                count += u8::from(legal[side(after.turn)][place(after)]);
            });
            count
        };
        (0..size).map(|number| if legal[side(turn)][number] { count(number) } else { ILLEGAL }).collect()
    })
}

impl Slice {
    /// Solves a slice; `leave` tells what the moves out of it come to, the best of them for the side to move. `before` is
    /// an earlier solution, from when less was known. Play that comes back to `lost` is lost for the side to move there.
    pub fn solve(
        men: &Men,
        before: Option<&Slice>,
        lost: Option<Spot>,
        leave: impl Fn(Spot) -> Option<Bounds> + Sync,
    ) -> Slice {
        let size = men.places() << 12;
        let mut within = before.map_or_else(|| moves_within(men), |before| before.within.clone());
        let mut best: Both = of_both(men, |turn| {
            let leaving = |number: usize| {
                if within[side(turn)][number] == ILLEGAL {
                    return NONE;
                }
                let here = spot(number, turn);
                let best = leave(here).or_else(|| {
                    let over = within[side(turn)][number] == 0;
                    let lost = Ending::win_of(!turn);
                    over.then(|| Bounds::exactly(if men.in_check(here) { lost } else { Ending::Draw }))
                });
                best.map_or(NONE, packed)
            };
            (0..size).map(leaving).collect()
        });
        if let Some(lost) = lost {
            best[side(lost.turn)][place(lost)] = packed(Bounds::exactly(Ending::win_of(!lost.turn)));
            within[side(lost.turn)][place(lost)] = 0;
        }
        let forced = |color, counts: &(dyn Fn(Bounds) -> bool + Sync)| forced(men, &within, &best, color, counts);
        let surely = of_both(men, |color| forced(color, &|best| best == Bounds::exactly(Ending::win_of(color))));
        let all_exact = best.iter().flatten().all(|best| *best == NONE || unpacked(*best).known().is_some());
        let can = |color: Color| move |best: Bounds| best.seen_by(color).high == Ending::WhiteWins;
        let maybe = (!all_exact).then(|| of_both(men, |color| forced(color, &can(color))));
        let maybe = maybe.as_ref().unwrap_or(&surely);
        let mut whole = true;
        let mut cell = |turn: usize, number: usize| {
            if within[turn][number] == ILLEGAL {
                return ILLEGAL;
            }
            let reached = |steps: &[Both; 2], color: usize| steps[color][turn][number] != NONE;
            let bounds = Bounds {
                low: match (reached(&surely, 0), reached(maybe, 1)) {
                    (true, _) => Ending::WhiteWins,
                    (_, true) => Ending::BlackWins,
                    _ => Ending::Draw,
                },
                high: match (reached(&surely, 1), reached(maybe, 0)) {
                    (true, _) => Ending::BlackWins,
                    (_, true) => Ending::WhiteWins,
                    _ => Ending::Draw,
                },
            };
            whole &= bounds.known().is_some();
            packed(bounds)
        };
        let cells = [0, 1].map(|turn| (0..size).map(|number| cell(turn, number)).collect());
        let nearer =
            |turn: usize| surely[0][turn].iter().zip(&surely[1][turn]).map(|(one, two)| *one.min(two)).collect();
        let steps = [nearer(0), nearer(1)];
        Slice { cells, steps, within, whole }
    }

    /// What is known of a position that is legal.
    pub fn bounds(&self, spot: Spot) -> Bounds {
        unpacked(self.cells[side(spot.turn)][place(spot)])
    }

    /// How far a sure win is from leaving the slice.
    pub fn steps(&self, spot: Spot) -> u8 {
        self.steps[side(spot.turn)][place(spot)]
    }

    /// Whether another solution of the same slice says the same.
    pub fn says_the_same(&self, other: &Slice) -> bool {
        self.cells == other.cells
    }
}

/// In how many steps within the slice a side can force an exit that counts for it; [`NONE`] where it cannot. More than
/// 254 count as 254.
fn forced(men: &Men, within: &Both, best: &Both, color: Color, counts: &dyn Fn(Bounds) -> bool) -> Both {
    let size = best[0].len();
    let mut steps = [vec![NONE; size], vec![NONE; size]];
    // The other side's moves within that are not yet known to lead there; with an exit that does not, it never has to.
    let other = side(!color);
    let mut escapes: Vec<u8> = within[other]
        .iter()
        .zip(&best[other])
        .map(|(within, best)| if *best == NONE || counts(unpacked(*best)) { *within } else { u8::MAX })
        .collect();
    let mut front: Vec<Spot> = Vec::new();
    for turn in [Color::White, Color::Black] {
        for (number, best) in best[side(turn)].iter().enumerate() {
            if *best != NONE && (turn == color || within[other][number] == 0) && counts(unpacked(*best)) {
                steps[side(turn)][number] = 0;
                front.push(spot(number, turn));
            }
        }
    }
    let mut step = 0_u8;
    while !front.is_empty() {
        step = step.saturating_add(1).min(254);
        for here in std::mem::take(&mut front) {
            men.each_way(here, !here.turn, &mut |before| {
                let (turn, number) = (side(before.turn), place(before));
                if steps[turn][number] != NONE || within[turn][number] == ILLEGAL {
                    return;
                }
                if before.turn != color {
                    if escapes[number] == u8::MAX {
                        return;
                    }
                    escapes[number] -= 1;
                    if escapes[number] > 0 {
                        return;
                    }
                }
                steps[turn][number] = step;
                front.push(before);
            });
        }
    }
    steps
}
