use super::*;
use shakmaty::fen::Fen;
use shakmaty::{Bitboard, Board, FromSetup, Piece, PositionError, Role, Setup, Square};

fn position(fen: &str) -> Chess {
    let setup = fen.parse::<Fen>().expect("a FEN").into_setup();
    Chess::from_setup(setup, shakmaty::CastlingMode::Standard)
        .or_else(PositionError::ignore_impossible_check)
        .expect("a legal position")
}

/// White to move, then Black.
const BOTH: [Color; 2] = [Color::White, Color::Black];

fn on_board(men: &[(Square, Color, Role)], turn: Color) -> Option<Chess> {
    let mut board = Board::empty();
    for (square, color, role) in men {
        if board.piece_at(*square).is_some() {
            return None;
        }
        board.set_piece_at(*square, Piece { color: *color, role: *role });
    }
    let setup = Setup { board, turn, castling_rights: Bitboard::EMPTY, ..Setup::empty() };
    Chess::from_setup(setup, shakmaty::CastlingMode::Standard).or_else(PositionError::ignore_impossible_check).ok()
}

/// The longest mates of the handbooks, in moves (from memory): queen 10, rook 16; two bishops 19, bishop and knight 33,
/// queen against rook 35.
#[test]
fn the_longest_mates_are_those_of_the_handbooks() {
    for (fen, moves) in [
        ("4k3/8/8/8/8/8/8/2B1KB2 w - - 0 1", 19),
        ("4k3/8/8/8/8/8/8/2B1KN2 w - - 0 1", 33),
        ("4k2r/8/8/8/8/8/8/2Q1K3 w - - 0 1", 35),
    ] {
        let table = table_of(&position(fen), false).expect("four men");
        let [white, black] = BOTH.map(|turn| table.census(turn));
        // The weaker side's king may be in check or not: the longest defence has the other side to move in the end.
        assert_eq!(white.longest.div_ceil(2), moves, "{fen}: {white:?} {black:?}");
        assert_eq!(longest_win(&position(fen)).map(|plies| plies.div_ceil(2)), Some(moves), "{fen}");
    }
    for (fen, moves, positions) in
        [("4k3/8/8/8/8/8/8/2Q1K3 w - - 0 1", 10, 28_056), ("4k3/8/8/8/8/8/8/2R1K3 w - - 0 1", 16, 28_056)]
    {
        let table = table_of(&position(fen), false).expect("three men");
        let (white, black) = (table.census(Color::White), table.census(Color::Black));
        assert_eq!((white.longest + 1, black.longest), (2 * moves, 2 * moves), "{fen}");
        assert_eq!((white.wins, white.losses, black.wins), (white.positions, 0, 0), "{fen}");
        assert_eq!(black.positions, positions, "{fen}");
    }
}

/// King and pawn against king, every placement: counts made with another program by trying everything.
#[test]
fn a_pawn_wins_in_222_564_placements_and_160_are_mutual_zugzwangs() {
    let (mut states, mut wins, mut zugzwangs) = (0, [0, 0], 0);
    for king in Square::ALL {
        for pawn in Square::ALL {
            for enemy in Square::ALL {
                let men = [
                    (king, Color::White, Role::King),
                    (pawn, Color::White, Role::Pawn),
                    (enemy, Color::Black, Role::King),
                ];
                let won = BOTH.map(|turn| {
                    let here = on_board(&men, turn)?;
                    Some(probe(&here, false).expect("three men") != Worth::Draw)
                });
                states += won.iter().flatten().count();
                wins[0] += usize::from(won[0] == Some(true));
                wins[1] += usize::from(won[1] == Some(true));
                zugzwangs += usize::from(won == [Some(false), Some(true)]);
            }
        }
    }
    assert_eq!((states, wins, zugzwangs), (331_352, [124_960, 97_604], 160));
}

/// The worth of a position is that of its best move: every cell against the rules as another library knows them.
#[test]
fn every_worth_is_that_of_the_best_move() {
    let check = |here: &Chess| {
        let best = here.legal_moves().into_iter().map(|chosen| {
            let mut after = here.clone();
            after.play_unchecked(chosen);
            probe(&after, false).expect("no more men than before").before()
        });
        let at_the_end = if here.is_check() { Worth::Loss(0) } else { Worth::Draw };
        let best = best.max_by_key(|worth| worth.order()).unwrap_or(at_the_end);
        assert_eq!(probe(here, false), Some(best), "{}", Fen::from_position(here, EnPassantMode::Legal));
    };
    let mut checked = 0;
    let squares = |step: usize| Square::ALL.into_iter().step_by(step);
    for role in [Role::Pawn, Role::Rook, Role::Queen] {
        for king in squares(3) {
            for man in squares(1) {
                for enemy in squares(5) {
                    for turn in BOTH {
                        // Black is the stronger side here, so that the exchange of colours is looked at too.
                        let men = [
                            (king, Color::Black, Role::King),
                            (man, Color::Black, role),
                            (enemy, Color::White, Role::King),
                        ];
                        if let Some(here) = on_board(&men, turn) {
                            check(&here);
                            checked += 1;
                        }
                    }
                }
            }
        }
    }
    assert!(checked > 60_000, "{checked}");
}

#[test]
fn what_no_table_holds_is_not_answered() {
    assert_eq!(probe(&position("4k3/8/8/8/8/8/8/4K2R w K - 0 1"), false), None, "castling is no part of the tables");
    assert_eq!(probe(&position("4k3/pp6/8/8/8/8/8/Q3K3 w - - 0 1"), true), None, "five men with pawns");
    assert_eq!(probe(&position("4k3/8/8/8/8/8/8/4K2R w - - 0 1"), false).map(Worth::order).map(i64::signum), Some(1));
    assert_eq!(probe(&position("4k3/8/8/8/8/8/8/4KB2 w - - 0 1"), false), Some(Worth::Draw));
}

#[test]
fn a_table_comes_back_from_its_bytes() {
    let table = table_of(&position("4k3/8/8/8/8/8/8/2R1K3 w - - 0 1"), false).expect("three men");
    let bytes = table.to_bytes();
    let again = Table::from_bytes(&bytes).expect("written just now");
    assert_eq!(again.cells, table.cells);
    assert_eq!(again.to_bytes(), bytes);
    assert_eq!(Table::from_bytes(b"something else").err(), Some(Unreadable::NoTable));
    for cut in [10, 31, 40, bytes.len() - 1] {
        assert!(Table::from_bytes(&bytes[..cut]).is_err(), "{cut}");
    }
    for at in [8, 16, 24, 100, bytes.len() - 1] {
        let mut spoilt = bytes.clone();
        spoilt[at] ^= 1;
        assert!(Table::from_bytes(&spoilt).is_err(), "byte {at}");
    }
}
