//! A table from its men: every position looked at once, then backwards from the mates.
//!
//! A cell is 0 for a draw (or nothing known yet), [`ILLEGAL`], or one more than the plies to mate: even when the side
//! to move mates, odd when it is mated. Every position keeps the number of moves that are not known to lose; when the
//! last one is known, it is lost.
//!
//! Captures and promotions lead to other tables, which are ready before. A pawn's double step that lets itself be taken
//! in passing is no move like the others: its worth is the better, for the opponent, of the position without the right
//! and of the capture. Where the capture wins, the move is counted at the ply at which the first of the two is known.

use super::men::{self, Man, Placement, bit, king_reach, queen_reach, reach, squares};
use super::shape::Shape;
use super::{Library, Table, backwards};
use shakmaty::{Color, Role};
use std::sync::Mutex;

/// The men may not stand like this.
pub const ILLEGAL: u8 = 255;

/// From so many places on a table is made by all cores together.
pub(super) const SHARED: usize = 1 << 24;

const PROMOTIONS: [Role; 4] = [Role::Queen, Role::Rook, Role::Bishop, Role::Knight];

/// A double step that may be answered by a winning capture in passing.
pub(super) struct Passing {
    /// When the capture is known to win: the cell's value of the side that captures.
    pub level: u8,
    pub mover: Color,
    pub before: usize,
    /// The place after the step, without the right to capture in passing.
    pub after: usize,
}

/// The worth of captures in passing.
pub(super) struct InPassing {
    /// The best of them, for the side that captures, as a cell before the capture.
    pub best: u8,
    /// There is no other move.
    pub forced: bool,
}

/// One side's positions of a table on its way.
pub(super) struct Half {
    pub cells: Vec<u8>,
    /// Moves that are not known to lose.
    pub open: Vec<u8>,
}

/// What is known before the first step back.
pub(super) struct Start {
    /// White to move, Black to move.
    pub halves: [Half; 2],
    pub passing: Vec<Passing>,
    /// No cell is higher.
    pub highest: u8,
}

/// A table on its way: its shape, and the tables that captures and promotions lead to.
pub(super) struct Builder<'a> {
    pub shape: Shape,
    library: &'a Library,
}

/// Makes the table of men in their one form; the library holds all the tables that its captures and promotions lead to.
pub fn build(men: &[Man], library: &Library) -> Table {
    let builder = Builder { shape: Shape::new(men), library };
    let start = builder.look_at_every_position();
    let cells = backwards::go(&builder, start);
    Table::new(builder.shape, cells)
}

/// The materials that a capture or a promotion leads to, in their one form.
pub fn next_materials(men: &[Man]) -> Vec<Vec<Man>> {
    let mut found: Vec<Vec<Man>> = Vec::new();
    let mut add = |men: &[Man]| {
        let (men, _) = men::settled(men);
        if !men::cannot_mate(&men) && !found.contains(&men) {
            found.push(men);
        }
    };
    let promoted = |men: &[Man], which: usize, role| {
        let mut men = men.to_vec();
        men[which] = Man::piece(men[which].color, role);
        men
    };
    for (i, man) in men.iter().enumerate() {
        if man.is_pawn() {
            for role in PROMOTIONS {
                add(&promoted(men, i, role));
            }
        }
        let mut left = men.to_vec();
        left.remove(i);
        add(&left);
        // A pawn that takes this man comes to another file, perhaps to the last rank.
        for (j, pawn) in left.iter().enumerate().filter(|(_, other)| other.is_pawn() && other.color != man.color) {
            for file in [pawn.file.wrapping_sub(1), pawn.file + 1].into_iter().filter(|file| *file < 8) {
                if !man.is_pawn() || man.file == file {
                    let mut taken = left.clone();
                    taken[j].file = file;
                    add(&taken);
                }
            }
            if !man.is_pawn() {
                for role in PROMOTIONS {
                    add(&promoted(&left, j, role));
                }
            }
        }
    }
    found
}

/// What moves out of the table, and the number of those within, say of a position.
#[derive(Default)]
struct First {
    win: u8,
    loss: u8,
    draws: bool,
}

impl First {
    /// A move after which the opponent's cell is `cell`.
    fn leads_to(&mut self, cell: u8) {
        match cell {
            0 => self.draws = true,
            lost if lost & 1 == 1 => self.win = if self.win == 0 { lost + 1 } else { self.win.min(lost + 1) },
            won => self.loss = self.loss.max(won + 1),
        }
    }
}

/// The places that moves within the table lead to; each counts once.
pub(super) struct Within<'a> {
    shape: &'a Shape,
    /// Two moves may lead to one place.
    coinciding: bool,
    seen: Vec<usize>,
    count: usize,
}

impl<'a> Within<'a> {
    pub(super) fn new(shape: &'a Shape, coinciding: bool) -> Within<'a> {
        Within { shape, coinciding, seen: Vec::new(), count: 0 }
    }

    /// Counts a move; false if another one led to the same place.
    fn add(&mut self, after: &Placement) -> bool {
        if self.coinciding { self.add_place(self.shape.place(after.kings, after.at)) } else { self.add_place(0) }
    }

    /// Counts a move to a place; false if another one led there.
    #[inline]
    pub(super) fn add_place(&mut self, place: usize) -> bool {
        if self.coinciding {
            if self.seen.contains(&place) {
                return false;
            }
            self.seen.push(place);
        }
        self.count += 1;
        true
    }

    /// Counts moves of a man to these squares.
    fn add_all(&mut self, targets: u64, after: impl Fn(u8) -> Placement) {
        if self.coinciding {
            squares(targets).for_each(|to| {
                self.add(&after(to));
            });
        } else {
            self.count += targets.count_ones() as usize;
        }
    }
}

pub(super) fn step(color: Color, square: u8) -> u8 {
    color.fold_wb(square.wrapping_add(8), square.wrapping_sub(8))
}

pub(super) fn is_start(color: Color, square: u8) -> bool {
    square >> 3 == color.fold_wb(1, 6)
}

fn is_last(square: u8) -> bool {
    matches!(square >> 3, 0 | 7)
}

impl Builder<'_> {
    /// Mates, moves into other tables, and the number of moves within. All cores share the work on a large table; small
    /// ones are made side by side.
    fn look_at_every_position(&self) -> Start {
        const BLOCK: usize = 1 << 13;
        let threads = if self.shape.size() < SHARED { 1 } else { super::threads() };
        let passing = Mutex::new(Vec::new());
        let highest = Mutex::new(0_u8);
        let half = |color| {
            let (mut cells, mut open) = (vec![0; self.shape.size()], vec![0; self.shape.size()]);
            let work = Mutex::new(cells.chunks_mut(BLOCK).zip(open.chunks_mut(BLOCK)).enumerate());
            let worker = || {
                let mut own_passing = Vec::new();
                let mut own_highest = 0;
                loop {
                    let Some((block, (cells, open))) = work.lock().expect("no worker panics").next() else { break };
                    for (i, (cell, open)) in cells.iter_mut().zip(open).enumerate() {
                        (*cell, *open) = self.first_look(block * BLOCK + i, color, &mut own_passing);
                        if *cell != ILLEGAL {
                            own_highest = own_highest.max(*cell);
                        }
                    }
                }
                own_highest =
                    own_passing.iter().fold(own_highest, |highest, passing: &Passing| highest.max(passing.level));
                passing.lock().expect("no worker panics").extend(own_passing);
                let mut highest = highest.lock().expect("no worker panics");
                *highest = own_highest.max(*highest);
            };
            std::thread::scope(|scope| {
                for _ in 1..threads {
                    scope.spawn(worker);
                }
                worker();
            });
            Half { cells, open }
        };
        let halves = [half(Color::White), half(Color::Black)];
        let (passing, highest) = (passing.into_inner(), highest.into_inner());
        Start { halves, passing: passing.expect("no worker panics"), highest: highest.expect("no worker panics") }
    }

    /// The cell and the open moves of a place, as far as mate and other tables tell.
    fn first_look(&self, place: usize, turn: Color, passing: &mut Vec<Passing>) -> (u8, u8) {
        let Some(here) = self.shape.placement(place, turn) else { return (ILLEGAL, 0) };
        let occupied = here.occupied();
        let (king, enemy_king) = (here.king(turn), here.king(!turn));
        let mut reaches = [0; men::MOST];
        for (i, (man, at)) in here.men().iter().zip(here.at).enumerate().filter(|(_, (man, _))| man.color == turn) {
            reaches[i] = reach(*man, at, occupied);
            if reaches[i] & bit(enemy_king) != 0 {
                return (ILLEGAL, 0);
            }
        }
        let own = here.of_color(turn);
        let enemies = occupied & !own;
        let after = here.passed();
        let mut first = First::default();
        let mut within = Within::new(&self.shape, self.shape.may_coincide(&here, !turn));
        let mut any = false;

        let mut guarded = king_reach(enemy_king);
        let mut in_check = false;
        for (man, at) in here.men().iter().zip(here.at).filter(|(man, _)| man.color != turn) {
            let attacked = reach(*man, at, occupied);
            guarded |= attacked;
            if attacked & bit(king) != 0 {
                in_check = true;
                // The king does not hide behind itself.
                guarded |= reach(*man, at, occupied & !bit(king));
            }
        }
        let flights = king_reach(king) & !own & !guarded;
        any |= flights != 0;
        within.add_all(flights & !enemies, |to| after.with_king(turn, to));
        for to in squares(flights & enemies) {
            let taken = here.man_on(to).expect("an enemy stands there");
            first.leads_to(self.library.cell(after.with_king(turn, to).without(taken)));
        }

        // Only a man in line with its own king can be pinned; if it is not, and there is no check, it moves as it likes.
        let lines = queen_reach(king, occupied);
        for (which, (man, from)) in here.men().iter().zip(here.at).enumerate().filter(|(_, (man, _))| man.color == turn)
        {
            let bound = in_check || lines & bit(from) != 0 && here.attacked(king, !turn, occupied & !bit(from), None);
            let safe = |to: u8| {
                let moved = occupied & !bit(from) | bit(to);
                !bound || !here.attacked(king, !turn, moved, here.man_on(to))
            };
            if !man.is_pawn() {
                let mut targets = reaches[which] & !own;
                if bound {
                    targets = squares(targets).filter(|to| safe(*to)).fold(0, |all, to| all | bit(to));
                }
                any |= targets != 0;
                within.add_all(targets & !enemies, |to| after.moved(which, to));
                for to in squares(targets & enemies) {
                    let taken = here.man_on(to).expect("an enemy stands there");
                    first.leads_to(self.library.cell(after.moved(which, to).without(taken)));
                }
                continue;
            }
            let promoted = |placement: Placement, to: u8, first: &mut First, taken: Option<usize>| {
                for role in PROMOTIONS {
                    let placement = placement.with_man(which, Man::piece(turn, role), to);
                    first.leads_to(self.library.cell(taken.map_or(placement, |taken| placement.without(taken))));
                }
            };
            let to = step(turn, from);
            if occupied & bit(to) == 0 {
                if safe(to) {
                    any = true;
                    if is_last(to) {
                        promoted(after, to, &mut first, None);
                    } else {
                        within.add(&after.moved(which, to));
                    }
                }
                let far = step(turn, to);
                if is_start(turn, from) && occupied & bit(far) == 0 && safe(far) {
                    any = true;
                    let stepped = after.moved(which, far);
                    match self.in_passing(&stepped, which, to) {
                        Some(InPassing { best, forced: true }) => first.leads_to(best),
                        Some(InPassing { best, .. }) if best != 0 && best & 1 == 0 => {
                            within.add(&stepped);
                            let after = self.shape.place(stepped.kings, stepped.at);
                            passing.push(Passing { level: best, mover: turn, before: place, after });
                        }
                        _ => {
                            within.add(&stepped);
                        }
                    }
                }
            }
            for to in squares(reaches[which] & enemies).filter(|to| safe(*to)) {
                any = true;
                let taken = here.man_on(to).expect("an enemy stands there");
                if is_last(to) {
                    promoted(after, to, &mut first, Some(taken));
                } else {
                    let placement = after.with_man(which, Man::pawn(turn, to), to).without(taken);
                    first.leads_to(self.library.cell(placement));
                }
            }
        }

        match (any, in_check) {
            (false, true) => (1, 0),
            // Stalemate: a draw that no count can turn into a loss.
            (false, false) => (0, u8::MAX),
            _ => {
                let open = (within.count + usize::from(first.draws)) as u8;
                (if first.win == 0 { first.loss } else { first.win }, open)
            }
        }
    }

    /// What captures in passing are worth after the double step of a pawn over `passed`; `None` if none is legal.
    pub(super) fn in_passing(&self, stepped: &Placement, which: usize, passed: u8) -> Option<InPassing> {
        let turn = stepped.turn;
        let mut best: Option<u8> = None;
        for (i, (man, at)) in stepped.men().iter().zip(stepped.at).enumerate() {
            if !man.is_pawn() || man.color != turn || reach(*man, at, 0) & bit(passed) == 0 {
                continue;
            }
            let taken = stepped.with_man(i, Man::pawn(turn, passed), passed).without(which);
            if taken.attacked(taken.king(turn), !turn, taken.occupied(), None) {
                continue;
            }
            let cell = match self.library.cell(taken.passed()) {
                0 => 0,
                known => known + 1,
            };
            let worth = |cell: u8| match cell {
                0 => 0,
                won if won & 1 == 0 => 1000 - i32::from(won),
                lost => i32::from(lost) - 1000,
            };
            if best.is_none_or(|best| worth(cell) > worth(best)) {
                best = Some(cell);
            }
        }
        best.map(|best| InPassing { best, forced: !has_plain_move(stepped) })
    }
}

/// Whether the side to move has a legal move other than a capture in passing.
fn has_plain_move(here: &Placement) -> bool {
    let turn = here.turn;
    let occupied = here.occupied();
    let own = here.of_color(turn);
    let (king, enemy_king) = (here.king(turn), here.king(!turn));
    let king_moves = squares(king_reach(king) & !own & !king_reach(enemy_king))
        .any(|to| !here.attacked(to, !turn, occupied & !bit(king) | bit(to), here.man_on(to)));
    king_moves
        || here.men().iter().zip(here.at).filter(|(man, _)| man.color == turn).any(|(man, from)| {
            let targets = if man.is_pawn() {
                bit(step(turn, from)) & !occupied | reach(*man, from, occupied) & occupied
            } else {
                reach(*man, from, occupied)
            };
            squares(targets & !own & !bit(enemy_king))
                .any(|to| !here.attacked(king, !turn, occupied & !bit(from) | bit(to), here.man_on(to)))
        })
}
