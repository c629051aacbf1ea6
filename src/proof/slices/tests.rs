use super::super::graph::{Graph, Returning};
use super::super::{known, notation};
use super::*;
use shakmaty::Square;

fn position(fen: &str) -> Chess {
    let fen: shakmaty::fen::Fen = fen.parse().expect("a FEN");
    crate::game::rules::position_of(fen.into_setup()).expect("a legal position")
}

fn asked(usual: usize) -> usize {
    std::env::var("PLYREEL_SLICES").ok().and_then(|count| count.parse().ok()).unwrap_or(usual)
}

/// Random positions with these men besides the kings.
fn random(chance: &mut u64, men: &str) -> Chess {
    let mut next = |below: u64| {
        *chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (*chance >> 33) % below
    };
    loop {
        let mut board = shakmaty::Board::empty();
        for letter in ['K', 'k'].into_iter().chain(men.chars()) {
            let square = if letter.eq_ignore_ascii_case(&'p') { 8 + next(48) } else { next(64) };
            let piece = shakmaty::Piece::from_char(letter).expect("a man's letter");
            board.set_piece_at(Square::new(square as u32), piece);
        }
        let turn = Color::from_white(next(2) == 0);
        let setup = shakmaty::Setup { board, turn, ..shakmaty::Setup::empty() };
        let legal = crate::game::rules::position_of(setup).filter(|here| !here.legal_moves().is_empty());
        if let Some(here) = legal.filter(|here| here.board().occupied().count() == men.len() + 2) {
            return here;
        }
    }
}

/// Four men by slices alone, which then go on to those of three or fewer, against the tables. `PLYREEL_SLICES` is how
/// many positions of each kind are looked at.
#[test]
fn slices_never_contradict_the_tables() {
    let mut chance = 1895;
    let (mut looked_at, mut decided) = (0, 0);
    for men in ["Pp", "PP", "P", "Rp", "Bp", "bP", "Np", "Qp"] {
        for _ in 0..asked(1) {
            let here = random(&mut chance, men);
            let few = if men.len() == 1 { 2 } else { 3 };
            let budget = Budget { men: few, ..Budget::of(2_500_000) };
            let Some(explored) = look(&here, For::EveryMove, budget) else { panic!("{men}: slices hold it") };
            let mut check = |here: &Chess| {
                let bounds = explored.bounds(here);
                let truth = known::at_leaf(here, Budget::default()).expect("few men");
                let fen = crate::game::rules::fen(here);
                assert!(bounds.low <= truth && truth <= bounds.high, "{fen}: {bounds:?}, but {truth}");
                looked_at += 1;
                decided += usize::from(bounds.known().is_some());
            };
            check(&here);
            here.legal_moves().into_iter().for_each(|chosen| check(&notation::after(&here, chosen)));
        }
    }
    assert!(decided > looked_at / 4, "{decided} of {looked_at} decided");
}

/// Five and six men against the graph, which knows no slices, and each position against its own moves; and which moves
/// only waste time.
#[test]
fn slices_and_graph_never_contradict_each_other() {
    let mut chance = 1921;
    let (mut decided, mut both, mut wasting) = (0, 0, 0);
    for men in ["PPp", "PPpp", "PPP"] {
        for _ in 0..asked(2) {
            let here = random(&mut chance, men);
            let fen = crate::game::rules::fen(&here);
            let Some(explored) = look(&here, For::EveryMove, Budget::of(1_000_000)) else { continue };
            let moves = here.legal_moves();
            let after = moves.iter().map(|chosen| explored.bounds(&notation::after(&here, *chosen)));
            let best = after.fold(None, |best, bounds| Some(better(here.turn(), best, bounds))).expect("moves");
            let own = explored.bounds(&here);
            assert!(own.low <= best.high && best.low <= own.high, "{fen}: {own:?}, but its moves {best:?}");
            let graph = Graph::explore(&here, Returning::Allowed, Budget::of(300_000));
            for (chosen, by_graph) in graph.root_moves() {
                let bounds = explored.bounds(&notation::after(&here, chosen));
                let agree = bounds.low <= by_graph.high && by_graph.low <= bounds.high;
                assert!(agree, "{fen} {chosen:?}: {bounds:?}, by the graph {by_graph:?}");
                decided += usize::from(bounds.known().is_some());
                both += usize::from(bounds.known().is_some() && by_graph.known().is_some());
            }
            let never_back = explored.without_return(&here).expect("the root was looked at");
            let graph = Graph::explore(&here, Returning::Fails, Budget::of(300_000));
            for ((chosen, bounds), (other, by_graph)) in never_back.into_iter().zip(graph.root_moves()) {
                assert_eq!(chosen, other);
                let agree = bounds.low <= by_graph.high && by_graph.low <= bounds.high;
                assert!(agree, "{fen} {chosen:?} without return: {bounds:?}, by the graph {by_graph:?}");
                wasting += usize::from(bounds.known().is_some() && by_graph.known().is_some());
            }
        }
    }
    println!("{decided} decided, {both} by both, {wasting} without return");
    assert!(both > 0 && wasting > 0, "{decided} decided, {both} by both, {wasting} without return");
}

/// Taking in passing, from a double step within the slices: the only move, and the one that loses.
#[test]
fn taking_in_passing_counts() {
    // After 1.a4 bxa3 Black's pawn runs; without the right to take, White's would.
    let here = position("8/8/8/8/1p6/7k/P7/7K w - - 0 1");
    let budget = Budget { men: 3, ..Budget::of(4_000_000) };
    let explored = look(&here, For::EveryMove, budget).expect("slices hold it");
    for chosen in here.legal_moves() {
        let after = notation::after(&here, chosen);
        let (bounds, truth) = (explored.bounds(&after), known::at_leaf(&after, Budget::default()).expect("few men"));
        assert!(bounds.low <= truth && truth <= bounds.high, "{chosen:?}: {bounds:?}, but {truth}");
        if chosen.to() == Square::A4 {
            assert_eq!(bounds.known(), Some(truth), "the answer takes in passing");
        }
    }
}
