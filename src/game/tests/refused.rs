//! Every reason for which a move is refused, in the words the author reads.

use super::*;

/// The one error of a move from a position.
fn refusal(fen: &str, word: &str) -> Diagnostic {
    let (_, mut diagnostics) = board(fen, vec![moves(0, word)]);
    diagnostics.retain(|found| found.severity == Severity::Error);
    assert_eq!(diagnostics.len(), 1, "{fen} {word}: {diagnostics:#?}");
    diagnostics.remove(0)
}

#[test]
fn each_refusal_has_its_own_reason() {
    for (fen, word, code, label) in CASES {
        let found = refusal(fen, word);
        assert_eq!((found.code.name(), found.primary.text.as_str()), (*code, *label), "`{word}` in {fen}");
        assert!(found.message.contains(&format!("`{word}`")), "the headline stands alone: {}", found.message);
    }
}

#[test]
fn the_hint_says_what_would_be_accepted() {
    let hints = |fen: &str, word: &str| refusal(fen, word).hints.join("; ");
    assert_eq!(hints(START, "Nd4"), "the legal knight moves are Na3, Nc3, Nf3, Nh3");
    assert_eq!(hints(START, "Nxf3"), "without the `x`: Nf3");
    assert_eq!(hints(START, "Sf3"), "did you mean `Nf3`?");
    assert_eq!(hints(SAAVEDRA, "d6"), "the only legal pawn move is c7");
    assert!(hints(START, "Ra3").ends_with("f3, f4 and 4 more"));
    assert_eq!(hints("8/2P5/8/3r4/8/1K6/8/k7 w - - 0 1", "c8"), "write c8=Q, c8=R, c8=B, c8=N");
    assert_eq!(hints("4k3/8/8/8/8/2N5/8/4K1N1 w - - 0 1", "Ne2"), "write Nce2 or Nge2");
    assert_eq!(hints("6k1/8/8/6K1/8/8/8/R7 w - - 0 1", "Ra8#"), "Black can answer Kf7, Kg7 or Kh7; write `+`");
}

/// A word that is no move, the part under the carets, what is said of it, what is to be written, and such words.
type NoMove = (&'static str, &'static str, &'static str, &'static str, &'static [&'static str]);

const NO_MOVES: &[NoMove] = &[
    ("e4++", "+", "a second check sign", "one `+` for check, double check too; one `#` for mate", &["e4+", "e4#"]),
    (
        "e4!!!",
        "!!!",
        "`!!!` is none of the signs for a move",
        "the signs are `!`, `?`, `!!`, `??`, `!?`, `?!`",
        &["e4!", "e4?", "e4!!", "e4??", "e4!?", "e4?!"],
    ),
    (
        "e8=X",
        "X",
        "`X` is no piece to promote to",
        "a pawn becomes `Q`, `R`, `B` or `N`",
        &["e8=Q", "e8=R", "e8=B", "e8=N"],
    ),
    ("e8=", "", "the piece to promote to is missing", "a pawn becomes `Q`, `R`, `B` or `N`", &["e8Q"]),
    ("e8=K", "K", "a pawn never becomes a king", "a pawn becomes `Q`, `R`, `B` or `N`", &[]),
    ("e8P", "P", "a pawn never becomes a pawn", "a pawn becomes `Q`, `R`, `B` or `N`", &[]),
    ("e8(R", "", "the bracket stays open", "write `=R`", &["e8=R", "e8(R)"]),
    (
        "--",
        "--",
        "a null move is no move of the game",
        "to show what a side threatens use `ghost`, to claim it `claim = \"threat …\"`",
        &[],
    ),
    ("1-0", "1-0", "not a move", "a result is not played: leave it out, and claim it: `claim = \"White wins\"`", &[]),
    ("0-1", "0-1", "not a move", "a result is not played: leave it out, and claim it: `claim = \"Black wins\"`", &[]),
    ("1/2-1/2", "1/2-1/2", "not a move", "a result is not played: leave it out, and claim it: `claim = \"draw\"`", &[]),
    ("*", "*", "not a move", "leave it out: a line ends with its last move", &[]),
    ("(d4", "(d4", "not a move", "a variation is played in cues of its own, after a return: `back = 1`", &[]),
    ("{so", "{so", "not a move", "what is said of a move is a caption: `text = \"…\"`", &[]),
    ("e4$1", "e4$1", "not a move", "a sign is written behind the move: `!`, `?`, `!!`, `??`, `!?` or `?!`", &["e4!"]),
    ("c7,Rd6+", "c7,Rd6", "not a move", "moves stand apart by spaces: `c7 Rd6+`", &["c7", "Rd6+"]),
    ("nf3", "n", "a piece's letter is a capital", "did you mean `Nf3`?", &["Nf3"]),
    ("Sf3", "S", "`S` is the letter of no piece in English", "did you mean `Nf3`?", &["Nf3"]),
    ("NF3", "NF3", "files are written in small letters", "did you mean `Nf3`?", &["Nf3"]),
    (
        "Wf3",
        "W",
        "`W` is the letter of no piece",
        "`play` takes English letters, K Q R B N, or figurines, whatever the film's notation",
        &["Kf3", "Qf3", "Rf3", "Bf3", "Nf3", "\u{2658}f3", "\u{265e}f3"],
    ),
    ("Nf9", "9", "there is no rank 9", "ranks go from 1 to 8, files from a to h", &["Nf8", "Nh1", "Na8"]),
    (
        "hello",
        "hello",
        "not in the form of a move",
        "a move looks like `Rd6+`, `exd5`, `c8=Q`, `O-O` or `d5d6`",
        &["Rd6+", "exd5", "c8=Q", "O-O", "d5d6"],
    ),
];

#[test]
fn what_is_no_move_is_told_what_to_write() {
    let reads = |word: &str| matches!(word::read(word), Ok(word::Read::Move(_)));
    for (written, carets, label, hint, accepted) in NO_MOVES {
        let found = refusal(START, written);
        let Span { start, end } = found.primary.span;
        assert_eq!((found.code, found.primary.text.as_str()), (Code::SanSyntax, *label), "`{written}`");
        assert_eq!((written.get(start..end), found.hints.as_slice()), (Some(*carets), &[(*hint).to_owned()][..]));
        assert!(!reads(written), "`{written}`");
        for word in *accepted {
            assert!(reads(word), "`{word}` is offered for `{written}`");
        }
    }
    for claim in ["White wins", "Black wins", "draw"] {
        assert!(is_claim(claim), "{claim}");
    }
}

#[test]
fn a_false_sign_is_shown_at_the_sign_itself() {
    let found = refusal(SAAVEDRA, "c7+!");
    assert_eq!(found.primary.span, Span::new(2, 3));
    let found = refusal(SAAVEDRA, "c7!?!");
    assert_eq!((found.code, found.primary.span), (Code::SanSyntax, Span::new(2, 5)));
}

const START: &str = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";

const CASES: &[(&str, &str, &str, &str)] = &[
    (SAAVEDRA, "Rd6+", "illegal-move", "it is White's move; the black rook stands on d5"),
    (SAAVEDRA, "Nd6", "illegal-move", "White has no knight"),
    (SAAVEDRA, "Qd6", "illegal-move", "White has no queen"),
    (SAAVEDRA, "Kb4", "illegal-move", "the king on b6 goes only one square"),
    (SAAVEDRA, "Kb5", "illegal-move", "the king would step into the attack of the rook on d5"),
    (SAAVEDRA, "Kc5", "illegal-move", "the king would step into the attack of the rook on d5"),
    (SAAVEDRA, "Kxc6", "illegal-move", "White's own pawn stands on c6"),
    (SAAVEDRA, "c8=Q", "illegal-move", "the pawn on c6 has left its starting rank and goes only one square"),
    (SAAVEDRA, "c7=Q", "illegal-move", "a white pawn is promoted only on rank 8"),
    (SAAVEDRA, "cxd7", "illegal-move", "nothing stands on d7 to be taken"),
    (SAAVEDRA, "d6", "illegal-move", "no white pawn can reach d6"),
    (SAAVEDRA, "d5d6", "illegal-move", "a black rook stands on d5, and it is White's move"),
    (SAAVEDRA, "e2e4", "illegal-move", "nothing stands on e2"),
    (SAAVEDRA, "Rb6b7", "illegal-move", "a king stands on b6, not a rook"),
    (SAAVEDRA, "O-O", "illegal-move", "no white king stands on e1"),
    (SAAVEDRA, "c7#", "wrong-suffix", "it gives no check"),
    (SAAVEDRA, "c7+", "wrong-suffix", "it gives no check"),
    ("8/2P5/8/3r4/8/1K6/8/k7 w - - 0 1", "c8", "illegal-move", "which piece the pawn becomes is not said"),
    ("1r6/2P5/8/8/8/1K6/8/k7 w - - 0 1", "cxb8", "illegal-move", "which piece the pawn becomes is not said"),
    (
        "1r6/2P5/8/8/8/1K6/8/k7 w - - 0 1",
        "b8=Q",
        "illegal-move",
        "a black rook stands on b8, and a pawn's capture names the file it comes from",
    ),
    (
        "1r6/2P5/8/8/8/1K6/8/k7 w - - 0 1",
        "b8",
        "illegal-move",
        "a black rook stands on b8, and a pawn's capture names the file it comes from",
    ),
    (START, "Nd4", "illegal-move", "no white knight can reach d4"),
    (START, "Ra3", "illegal-move", "the rook on a1 is blocked by the white pawn on a2"),
    (START, "Bc4", "illegal-move", "the bishop on f1 is blocked by the white pawn on e2"),
    (START, "Qd2", "illegal-move", "White's own pawn stands on d2"),
    (START, "Nxf3", "illegal-move", "nothing stands on f3 to be taken"),
    (START, "exd3", "illegal-move", "nothing stands on d3 to be taken"),
    (START, "e5", "illegal-move", "it is White's move; the black pawn stands on e7"),
    (START, "e6", "illegal-move", "it is White's move; the black pawn stands on e7"),
    (START, "Nf6", "illegal-move", "it is White's move; the black knight stands on g8"),
    (START, "Ke2", "illegal-move", "White's own pawn stands on e2"),
    (START, "Kg1", "illegal-move", "White's own knight stands on g1"),
    (START, "O-O", "illegal-move", "the bishop on f1 stands between king and rook"),
    (START, "O-O-O", "illegal-move", "the knight on b1 stands between king and rook"),
    (START, "Nbf3", "illegal-move", "the white knight on b1 does not reach f3"),
    (START, "N2f3", "illegal-move", "no white knight stands on rank 2"),
    (START, "Sf3", "san-syntax", "`S` is the letter of no piece in English"),
    (START, "nf3", "san-syntax", "a piece's letter is a capital"),
    (START, "Nf9", "san-syntax", "there is no rank 9"),
    (START, "e4!!!", "san-syntax", "`!!!` is none of the signs for a move"),
    (START, "e4++", "san-syntax", "a second check sign"),
    (START, "e4=K", "san-syntax", "a pawn never becomes a king"),
    (START, "e8=X", "san-syntax", "`X` is no piece to promote to"),
    (START, "hello", "san-syntax", "not in the form of a move"),
    (START, "1-0", "san-syntax", "not a move"),
    (START, "(d4)", "san-syntax", "not a move"),
    (START, "{so}", "san-syntax", "not a move"),
    (START, "e4$1", "san-syntax", "not a move"),
    (START, "e4,", "san-syntax", "not a move"),
    (START, "--", "san-syntax", "a null move is no move of the game"),
    (
        "4k3/8/8/8/1b6/8/3N4/4K3 w - - 0 1",
        "Nf3",
        "illegal-move",
        "the knight on d2 is pinned to the king on e1 by the bishop on b4",
    ),
    ("4k3/8/8/8/4r3/8/3N4/4K3 w - - 0 1", "Nb3", "illegal-move", "the king on e1 stays in check from the rook on e4"),
    (
        "4k3/8/8/8/4r3/8/3N4/4K3 w - - 0 1",
        "Ke2",
        "illegal-move",
        "the king would step into the attack of the rook on e4",
    ),
    ("4k3/8/8/8/1b2r3/8/3N4/4K3 w - - 0 1", "Ne2", "illegal-move", "the white knight on d2 does not reach e2"),
    ("4k3/8/8/8/3n4/8/4r3/4K3 w - - 0 1", "Kxe2", "illegal-move", "the rook on e2 is protected by the knight on d4"),
    ("4k3/8/8/8/8/4r3/4r3/4K3 w - - 0 1", "Kxe2", "illegal-move", "the rook on e2 is protected by the rook on e3"),
    ("4k3/8/8/8/8/5n2/8/R3K2R w KQ - 0 1", "O-O", "illegal-move", "the king is in check from the knight on f3"),
    (
        "4k3/8/8/8/8/8/5r2/R3K2R w KQ - 0 1",
        "O-O",
        "illegal-move",
        "the king would pass over f1, attacked by the rook on f2",
    ),
    (
        "4k3/8/8/8/8/8/6r1/R3K2R w KQ - 0 1",
        "O-O",
        "illegal-move",
        "the king would arrive on g1, attacked by the rook on g2",
    ),
    ("4k3/8/8/8/8/8/8/R3K2R w Q - 0 1", "O-O", "illegal-move", "White has no right to castle on this wing"),
    ("4k3/8/8/8/8/8/8/RN2K2R w KQ - 0 1", "O-O-O", "illegal-move", "the knight on b1 stands between king and rook"),
    ("4k3/8/8/8/8/8/8/RN2K2R w KQ - 0 1", "Ke1g1+", "wrong-suffix", "it gives no check"),
    (
        "4k3/8/8/3pP3/8/8/8/4K3 w - - 0 1",
        "exd6",
        "illegal-move",
        "nothing stands on d6 to be taken, and en passant is not possible: the pawn on d5 has not just made its double step",
    ),
    (
        "4k3/8/8/3pP3/8/8/8/4K3 w - - 0 1",
        "exd6e.p.",
        "illegal-move",
        "nothing stands on d6 to be taken, and en passant is not possible: the pawn on d5 has not just made its double step",
    ),
    (
        "8/8/8/K2pP2r/8/8/8/4k3 w - d6 0 1",
        "exd6",
        "illegal-move",
        "en passant: the pawn on e5 is pinned to the king on a5 by the rook on h5",
    ),
    ("4k3/8/8/3p4/3P4/8/8/4K3 w - - 0 1", "d5", "illegal-move", "the pawn on d4 is blocked by the black pawn on d5"),
    ("4k3/8/8/3p4/3P4/8/8/4K3 w - - 0 1", "dxd5", "illegal-move", "a pawn does not take straight ahead"),
    (
        "4k3/8/8/3p4/2P1P3/8/8/4K3 w - - 0 1",
        "d5",
        "illegal-move",
        "a black pawn stands on d5, and a pawn's capture names the file it comes from",
    ),
    ("4k3/8/8/3p4/2P1P3/8/8/4K3 w - - 0 1", "xd5", "ambiguous-move", "the pawns on c4 and e4 can both play it"),
    (
        "4k3/8/8/3p4/2P1P3/8/8/4K3 w - - 0 1",
        "c4c6",
        "illegal-move",
        "the pawn on c4 has left its starting rank and goes only one square",
    ),
    ("4k3/8/8/8/8/8/4K3/R6R w - - 0 1", "Rd1", "ambiguous-move", "the rooks on a1 and h1 can both play it"),
    ("4k3/8/8/8/8/2N5/8/4K1N1 w - - 0 1", "Ne2", "ambiguous-move", "the knights on c3 and g1 can both play it"),
    ("8/k7/8/8/1Q5Q/8/8/K6Q w - - 0 1", "Qe4", "ambiguous-move", "the queens on b4, h1 and h4 can all play it"),
    ("7k/5KQ1/8/8/8/8/8/8 b - - 0 1", "Kh7", "illegal-move", "the game is over: Black is checkmated"),
    ("7k/5K2/6Q1/8/8/8/8/8 b - - 0 1", "Kh7", "illegal-move", "the game is over: Black is stalemated"),
    ("6k1/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8+", "wrong-suffix", "it is mate"),
    ("6k1/8/8/6K1/8/8/8/R7 w - - 0 1", "Ra8#", "wrong-suffix", "it is only check"),
    ("4k3/8/8/8/8/8/3p4/4K3 w - - 0 1", "Ke1-d3", "illegal-move", "the king on e1 goes only one square"),
    (
        "4k3/4r3/8/8/8/8/3PN3/4K3 w - - 0 1",
        "Nc3",
        "illegal-move",
        "the knight on e2 is pinned to the king on e1 by the rook on e7",
    ),
    ("4k3/8/4p3/8/8/8/4R3/4K3 w - - 0 1", "Re7", "illegal-move", "the rook on e2 is blocked by the black pawn on e6"),
    ("4k3/8/4p3/8/8/8/4R3/4K3 w - - 0 1", "e.p.", "illegal-move", "the move before is no such capture"),
];
