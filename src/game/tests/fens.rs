//! FENs that are wrong, each with the place inside the text and what is said of it.

use super::*;

/// `message @ the text under the carets: label`, one a fault.
fn faults(text: &str) -> Vec<String> {
    let (position, faults) = fen::read(text);
    assert_eq!(position.is_none(), faults.iter().any(|fault| !fault.harmless), "{text}");
    faults.iter().map(|fault| format!("{} @ {}: {}", fault.message, &text[fault.place.clone()], fault.label)).collect()
}

#[test]
fn each_fault_is_shown_where_it_stands() {
    for (text, expected) in FAULTS {
        assert_eq!(faults(text), *expected, "{text}");
    }
}

#[test]
fn all_faults_are_shown_at_once() {
    let found = faults("8/8/1KPX5/3r4/7/8/8/k7 x KX z9 -1 0");
    assert_eq!(found.len(), 7, "{found:#?}");
}

#[test]
fn the_counters_may_be_left_out() {
    let fen = |text: &str| fen::read(text).0.map(|position| rules::fen(&position));
    assert_eq!(fen("8/8/1KP5/3r4/8/8/8/k7 w - -").as_deref(), Some(SAAVEDRA));
    assert_eq!(fen("8/8/1KP5/3r4/8/8/8/k7 w - - 7").as_deref(), Some("8/8/1KP5/3r4/8/8/8/k7 w - - 7 1"));
    assert_eq!(fen("  8/8/1KP5/3r4/8/8/8/k7  w - - 0 1 ").as_deref(), Some(SAAVEDRA));
    let later = "4k3/8/8/8/8/8/4P3/4K3 w - - 5 39";
    assert_eq!(fen(later).as_deref(), Some(later), "PGN standard 1994, §16.1.4");
}

#[test]
fn a_fault_is_shown_inside_the_quotes() {
    let text = "8/8/1KP5/3r4/8/8/9/k7 w - - 0 1";
    let mut film = film(vec![scene(text, vec![])]);
    let mut at = |span: Span| {
        film.scenes[0].body = SceneBody::Position { fen: Some(Spanned::new(text.to_string(), span)) };
        resolve(&film, &PgnFiles::new()).1[0].primary.span
    };
    let place = text.find('9').unwrap();
    assert_eq!(at(Span::new(100, 102 + text.len())), Span::new(101 + place, 102 + place));
    let long = Span::new(100, 106 + text.len());
    assert_eq!(at(long), long, "where long quotes or escapes hide the column, the whole value is shown");
}

#[test]
fn composed_positions_may_hold_what_no_game_leads_to() {
    // Three checkers, and eight pawns with a third knight.
    for text in ["4k3/8/8/8/1b2r2n/8/4n3/R3K3 w - - 0 1", "4k3/8/8/8/8/NNN5/PPPPPPPP/4K3 w - - 0 1"] {
        let (board, diagnostics) = board(text, vec![]);
        assert!(diagnostics.iter().all(|found| found.severity == Severity::Warning), "{diagnostics:#?}");
        assert_eq!(
            (diagnostics.len(), board.nodes[0].fen.as_str()),
            (usize::from(text.starts_with("4k3/8/8/8/8")), text)
        );
    }
}

/// The FEN and its faults: `message @ the text under the carets: label`.
const FAULTS: &[(&str, &[&str])] = &[
    ("8/8/1KP5/3r4/8/8/k7 w - - 0 1", &["has 7 ranks instead of 8 @ 8/8/1KP5/3r4/8/8/k7: 7 of 8 ranks"]),
    ("8/8/1KP5/3r4/8/8/8/8/k7 w - - 0 1", &["has 9 ranks instead of 8 @ 8/8/1KP5/3r4/8/8/8/8/k7: 9 of 8 ranks"]),
    ("8/8/1KP4/3r4/8/8/8/k7 w - - 0 1", &["has 7 squares on rank 6 @ 1KP4: 1 short of 8"]),
    ("8/8/1KP5/3r5/8/8/8/k7 w - - 0 1", &["has 9 squares on rank 5 @ 3r5: 1 over 8"]),
    ("8//1KP5/3r4/8/8/8/k7 w - - 0 1", &["has 0 squares on rank 7 @ //: 8 short of 8"]),
    ("8/8/1SP5/3r4/8/8/8/k7 w - - 0 1", &["has `S` in its placement @ S: no man and no count of squares"]),
    ("8/9/1KP5/3r4/8/8/8/k7 w - - 0 1", &["has `9` in its placement @ 9: no man and no count of squares"]),
    ("8/8/1KP5/3r4/8/8/8/k7 W - - 0 1", &["has `W` as its side to move @ W: neither `w` nor `b`"]),
    ("8/8/1KP5/3r4/8/8/8/k7 s - - 0 1", &["has `s` as its side to move @ s: neither `w` nor `b`"]),
    ("8/8/1KP5/3r4/8/8/8/k7 whte - - 0 1", &["has `whte` as its side to move @ whte: neither `w` nor `b`"]),
    ("8/8/1KP5/3r4/8/8/8/k7 w K - 0 1", &["gives the castling right `K` @ K: no white king stands on e1"]),
    (
        "8/8/1KP5/3r4/8/8/8/k7 w HA - 0 1",
        &[
            "has `H` in its castling rights @ H: no castling right",
            "has `A` in its castling rights @ A: no castling right",
        ],
    ),
    ("r3k2r/8/8/8/8/8/8/4K2R w KQkq - 0 1", &["gives the castling right `Q` @ Q: no white rook stands on a1"]),
    ("r3k2r/8/8/8/8/8/8/4K2R w KK - 0 1", &["has the castling right `K` twice @ K: the second time"]),
    ("8/8/1KP5/3r4/8/8/8/k7 w - e9 0 1", &["has `e9` as its en passant square @ e9: neither a square nor `-`"]),
    ("8/8/1KP5/3r4/8/8/8/k7 w - e6 0 1", &["has e6 as its en passant square @ e6: no black pawn stands on e5"]),
    (
        "4k3/8/8/3pP3/8/8/8/4K3 w - d3 0 1",
        &["has d3 as its en passant square @ d3: with White to move it lies on rank 6"],
    ),
    (
        "4k3/3q4/8/3pP3/8/8/8/4K3 w - d6 0 1",
        &["has d6 as its en passant square @ d6: d7 is not empty, so no pawn has just passed"],
    ),
    ("8/8/1KP5/3r4/8/8/8/k7 w - - x 1", &["has `x` as its half-move clock @ x: not a half-move clock"]),
    ("8/8/1KP5/3r4/8/8/8/k7 w - - 0 0", &["has `0` as its move number @ 0: not a move number"]),
    ("8/8/1KP5/3r4/8/8/8/k7 w - - 0 1 c7", &["has text after the move number @ c7: a seventh field"]),
    ("8/8/1KP5/3r4/8/8/8/k7 w -", &["ends after the castling rights @ -: missing: en passant square"]),
    (
        "8/8/1KP5/3r4/8/8/8/k7",
        &[
            "ends after the placement @ 8/8/1KP5/3r4/8/8/8/k7: missing: side to move, castling rights and en passant square",
        ],
    ),
    ("8/8/1KP5/3r4/8/8/8/k7 w", &["ends after the side to move @ w: missing: castling rights and en passant square"]),
    ("", &["is empty @ : no position"]),
    ("8/8/2P5/3r4/8/8/8/k7 w - - 0 1", &["has no white king @ 8/8/2P5/3r4/8/8/8/k7: no `K`"]),
    ("8/8/1KP5/3r4/8/4K3/8/k7 w - - 0 1", &["has 2 white kings @ K: a king on b6 besides e3"]),
    (
        "3P4/8/1KP5/3r4/8/8/8/k4p2 w - - 0 1",
        &["has a pawn on d8 @ P: no pawn can stand on rank 8", "has a pawn on f1 @ p: no pawn can stand on rank 1"],
    ),
    (
        "8/8/1KP5/8/3r4/8/8/k2R4 w - - 0 1",
        &["has Black's king in check with White to move @ w: the king on a1 is attacked by the rook on d1"],
    ),
    (
        "pppppppp/pppppppp/p7/8/8/8/K7/6k1 w - - 0 1",
        &[
            "has pawns on a8, b8, c8, d8, e8, f8, g8 and h8 @ p: no pawn can stand on rank 8",
            "has 18 black men @ pppppppp/pppppppp/p7/8/8/8/K7/6k1: a side has 16 at most",
        ],
    ),
    (
        "4k3/8/8/8/1b2r3/5n2/8/4K3 w - - 0 1",
        &[
            "has a check that no game leads to @ 4k3/8/8/8/1b2r3/5n2/8/4K3: no last move gives check from the knight on f3, the bishop on b4 and the rook on e4",
        ],
    ),
    (
        "4k3/8/8/8/8/3n1n2/8/4K3 w - - 0 1",
        &[
            "has a check that no game leads to @ 4k3/8/8/8/8/3n1n2/8/4K3: no last move gives check from the knight on d3 and the knight on f3",
        ],
    ),
    (
        "4k3/8/8/8/8/NNN5/PPPPPPPP/4K3 w - - 0 1",
        &[
            "has more men than promotions can give @ 4k3/8/8/8/8/NNN5/PPPPPPPP/4K3: White has 3 knights where the set has 2, and no pawn is missing",
        ],
    ),
    (
        "4k3/8/8/8/8/8/1PPPPPPP/BBBBK3 w - - 0 1",
        &[
            "has more men than promotions can give @ 4k3/8/8/8/8/8/1PPPPPPP/BBBBK3: White has 2 bishops on light squares where the set has 1 and 2 bishops on dark squares where the set has 1, and only 1 pawn is missing",
        ],
    ),
    (
        "4k3/8/8/8/8/P7/PPPPPPPP/4K3 w - - 0 1",
        &[
            "has more men than promotions can give @ 4k3/8/8/8/8/P7/PPPPPPPP/4K3: White has 9 pawns, and a side begins with 8",
        ],
    ),
    ("8/8/8/8/3Kk3/8/8/8 w - - 0 1", &["has the kings on e4 and d4 side by side @ k: touches the king on d4"]),
    (
        "7k/8/8/2pP4/8/8/8/r3K3 w - c6 0 1",
        &[
            "has c6 as its en passant square and a check that excludes it @ c6: the pawn that passed c6 gave no check from the rook on a1",
        ],
    ),
    ("8/8/1KP5/3ö4/8/8/8/k7 w - - 0 1", &["has `ö` in its placement @ ö: no man and no count of squares"]),
];
