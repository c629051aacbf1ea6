//! Endgame tables made on demand: a position of few men → its result with best play and the plies to mate.
//!
//! Comes in: a position without castling rights. Goes out: [`Worth`], exact, both sides to move, with captures in
//! passing and all promotions; the fifty-move rule plays no part (Codex for Chess Composition 2019, art. 17). Knows no
//! file and no clock: what is made stays in memory, and in a [`TableStore`] if there is one ([`keep_in`]).
//!
//! A table is made by retrograde analysis (`builder`, `backwards`) after all tables that its captures and promotions lead to. Eight
//! symmetries of the board (`shape`) and one form for colours and mirrored files (`men`) keep it small: four men
//! without pawns take 3.8 MB, with one pawn on a given file 2.8 MB.

mod backwards;
mod builder;
pub mod men;
mod shape;
mod stored;

use men::{Key, Man, Placement};
use shakmaty::{Chess, Color, EnPassantMode, Position};
use shape::Shape;
use std::collections::{BTreeMap, HashMap};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock};

#[cfg(test)]
use builder::ILLEGAL;
#[cfg(test)]
pub use stored::Unreadable;
pub use stored::{TableStore, VERSION};

/// What a position is worth to the side to move, with best play by both.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Worth {
    /// It mates in so many plies, at the latest.
    Win(u32),
    /// Neither side can force mate.
    Draw,
    /// It is mated in so many plies, if it holds out as long as it can; 0 is mate on the board.
    Loss(u32),
}

impl Worth {
    fn of_cell(cell: u8) -> Worth {
        match cell {
            0 => Worth::Draw,
            lost if lost & 1 == 1 => Worth::Loss(u32::from(lost) - 1),
            won => Worth::Win(u32::from(won) - 1),
        }
    }

    /// For the side that moved there: one ply more, and the other way round.
    #[must_use]
    pub fn before(self) -> Worth {
        match self {
            Worth::Win(plies) => Worth::Loss(plies + 1),
            Worth::Draw => Worth::Draw,
            Worth::Loss(plies) => Worth::Win(plies + 1),
        }
    }

    /// The higher, the better: a short mate before a long one, a draw, a long defence before a short one.
    pub fn order(self) -> i64 {
        match self {
            Worth::Win(plies) => 1000 - i64::from(plies),
            Worth::Draw => 0,
            Worth::Loss(plies) => i64::from(plies) - 1000,
        }
    }
}

/// One material, all positions.
pub struct Table {
    shape: Shape,
    /// White's moves, Black's moves.
    cells: [Vec<u8>; 2],
}

/// What a table holds.
#[cfg(test)]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Census {
    /// Legal positions, each symmetric family once.
    pub positions: usize,
    /// Won for the side to move.
    pub wins: usize,
    /// Lost for the side to move.
    pub losses: usize,
    /// The longest mate, in plies.
    pub longest: u32,
}

impl Table {
    fn new(shape: Shape, cells: [Vec<u8>; 2]) -> Table {
        Table { shape, cells }
    }

    fn cell(&self, settled: &Placement) -> u8 {
        self.cells[men::index_of(settled.turn)][self.shape.place(settled.kings, settled.at)]
    }

    /// A name for a file: equal for all placements of one material.
    pub fn name(&self) -> String {
        name_of(self.key())
    }

    /// The longest mate that the stronger side, which is White, can force when it is to move; in plies, 0 for none.
    fn longest_win(&self) -> u32 {
        let won = self.cells[men::index_of(Color::White)].iter().filter(|cell| **cell & 1 == 0 && **cell != 0);
        won.max().map_or(0, |cell| u32::from(*cell) - 1)
    }

    /// Counts what one side to move has; White is the stronger side.
    #[cfg(test)]
    pub fn census(&self, turn: Color) -> Census {
        let mut census = Census::default();
        for cell in self.cells[men::index_of(turn)].iter().filter(|cell| **cell != ILLEGAL) {
            census.positions += 1;
            match Worth::of_cell(*cell) {
                Worth::Win(plies) => (census.wins, census.longest) = (census.wins + 1, census.longest.max(plies)),
                Worth::Loss(plies) => (census.losses, census.longest) = (census.losses + 1, census.longest.max(plies)),
                Worth::Draw => {}
            }
        }
        census
    }
}

fn name_of(key: Key) -> String {
    format!("{:x}", key.0)
}

/// Tables by material.
#[derive(Default)]
pub struct Library {
    tables: HashMap<Key, Arc<Table>>,
    /// Where tables of earlier runs are found and those of this one are kept.
    store: Option<Arc<dyn TableStore>>,
}

/// At most so many tables of five men stay in memory; each takes 240 MB.
const FIVES: usize = 3;

impl Library {
    fn add(&mut self, key: Key, table: Table) {
        let is_five = |table: &Table| table.shape.men().len() > 2;
        if is_five(&table) && self.tables.values().filter(|table| is_five(table)).count() >= FIVES {
            self.tables.retain(|_, table| !is_five(table));
        }
        self.tables.insert(key, Arc::new(table));
    }

    fn cell(&self, placement: Placement) -> u8 {
        let (settled, key) = placement.settled();
        if men::cannot_mate(settled.men()) {
            return 0;
        }
        self.tables.get(&key).expect("tables are made after those they lead to").cell(&settled)
    }
}

/// The tables of this process. Whoever needs one that is being made waits for it.
fn shelf() -> &'static Mutex<Library> {
    static SHELF: OnceLock<Mutex<Library>> = OnceLock::new();
    SHELF.get_or_init(Mutex::default)
}

/// From now on tables are looked for in this store, and kept in it.
pub fn keep_in(store: Option<Arc<dyn TableStore>>) {
    shelf().lock().unwrap_or_else(std::sync::PoisonError::into_inner).store = store;
}

/// The table of a material, made with all it leads to if it is not there.
fn table(men: &[Man], key: Key) -> Arc<Table> {
    let mut shelf = shelf().lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    make(&mut shelf, men, key)
}

fn make(library: &mut Library, men: &[Man], key: Key) -> Arc<Table> {
    let mut missing = BTreeMap::new();
    missing_for(library, men, key, &mut missing);
    // A capture leaves fewer men, a promotion fewer pawns: what comes before in this order is made before, and tables
    // of equal numbers do not need each other.
    let stage = |men: &[Man]| (men.len(), men.iter().filter(|man| man.is_pawn()).count());
    let mut stages: BTreeMap<_, Vec<(Key, Vec<Man>)>> = BTreeMap::new();
    for (key, men) in missing {
        stages.entry(stage(&men)).or_default().push((key, men));
    }
    for materials in stages.into_values() {
        for (key, table) in side_by_side(&materials, |men| builder::build(men, library)) {
            if let Some(store) = &library.store {
                store.put(&table.name(), &table.to_bytes());
            }
            library.add(key, table);
        }
    }
    library.tables.get(&key).expect("it was made just now").clone()
}

/// Which tables are wanting, of a material and of all that its captures and promotions lead to.
fn missing_for(library: &mut Library, men: &[Man], key: Key, missing: &mut BTreeMap<Key, Vec<Man>>) {
    if library.tables.contains_key(&key) || missing.contains_key(&key) {
        return;
    }
    let kept = library.store.as_ref().and_then(|store| store.get(&name_of(key)));
    // What cannot be read is made again and takes the other's place.
    if let Some(table) = kept.and_then(|bytes| Table::from_bytes(&bytes).ok()).filter(|table| table.key() == key) {
        library.add(key, table);
        return;
    }
    missing.insert(key, men.to_vec());
    for men in builder::next_materials(men) {
        let (men, key) = men::settled(&men);
        missing_for(library, &men, key, missing);
    }
}

/// Makes each of these; all cores share the work.
fn side_by_side(materials: &[(Key, Vec<Man>)], make: impl Fn(&[Man]) -> Table + Sync) -> Vec<(Key, Table)> {
    let next = AtomicUsize::new(0);
    let made = Mutex::new(Vec::new());
    let worker = || {
        while let Some((key, men)) = materials.get(next.fetch_add(1, Ordering::Relaxed)) {
            let table = make(men);
            made.lock().expect("no worker panics").push((*key, table));
        }
    };
    std::thread::scope(|scope| {
        for _ in 1..threads().min(materials.len()) {
            scope.spawn(worker);
        }
        worker();
    });
    made.into_inner().expect("no worker panics")
}

/// How many threads share the work.
fn threads() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from).min(8)
}

/// Whether [`probe`] answers for so many men: four, and five without pawns where that may cost minutes and half a
/// gigabyte.
pub fn reaches(position: &Chess, five: bool) -> bool {
    let men = position.board().occupied().count();
    position.castles().is_empty() && (men <= 4 || five && men == 5 && position.board().pawns().is_empty())
}

/// The worth of a position that [`reaches`] says yes of; `None` for any other.
pub fn probe(position: &Chess, five: bool) -> Option<Worth> {
    if !reaches(position, five) {
        return None;
    }
    let may_take_in_passing = position.ep_square(EnPassantMode::Legal).is_some();
    if !may_take_in_passing {
        let (settled, key) = Placement::of(position)?.settled();
        if men::cannot_mate(settled.men()) {
            return Some(Worth::Draw);
        }
        return Some(Worth::of_cell(table(settled.men(), key).cell(&settled)));
    }
    // The tables know no right to capture in passing: the moves are tried.
    let mut best: Option<Worth> = None;
    for chosen in position.legal_moves() {
        let mut after = position.clone();
        after.play_unchecked(chosen);
        let worth = probe(&after, five)?.before();
        if best.is_none_or(|best| worth.order() > best.order()) {
            best = Some(worth);
        }
    }
    best
}

/// The worth of a placement of at most four men, the kings among them, in which nothing stands to be taken in passing.
pub fn worth_of(placement: Placement) -> Worth {
    let (settled, key) = placement.settled();
    if men::cannot_mate(settled.men()) {
        return Worth::Draw;
    }
    Worth::of_cell(table(settled.men(), key).cell(&settled))
}

/// A number for a position's men, the same for all placements of one material; `None` for more men than tables hold.
pub fn material(position: &Chess) -> Option<u64> {
    Some(Placement::of(position)?.settled().1.0)
}

/// In how many plies at most the stronger side of a position's material mates when it is to move and can force it.
pub fn longest_win(position: &Chess) -> Option<u32> {
    Some(table_of(position, true)?.longest_win())
}

/// The table that a position belongs to.
pub fn table_of(position: &Chess, five: bool) -> Option<Arc<Table>> {
    let (settled, key) = reaches(position, five).then(|| Placement::of(position))??.settled();
    (!men::cannot_mate(settled.men())).then(|| table(settled.men(), key))
}

#[cfg(test)]
mod tests;
