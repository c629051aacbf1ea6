//! What is accepted: the ways of the trade to write a move, and the vectors of the PGN standard.

use super::*;

/// The SAN that the film writes for a word.
fn canonical(fen: &str, word: &str) -> String {
    let (board, diagnostics) = board(fen, vec![moves(0, word)]);
    assert!(diagnostics.is_empty(), "{word}: {diagnostics:#?}");
    let (_, ply) = board.nodes[1].came.clone().expect("a move was played");
    format!("{}{}", ply.san, ply.suffix)
}

#[test]
fn a_move_may_be_written_in_many_ways() {
    let study = "8/8/1KP5/3r4/8/8/8/k7 b - - 0 1";
    for word in
        ["Rd6", "d5d6", "d5-d6", "Rd5-d6", "Rd5d6", "\u{265c}d6", "\u{2656}d5\u{2013}d6", "1...Rd6", "R5d6", "Rdd6"]
    {
        assert_eq!(canonical(study, word), "Rd6", "{word}");
    }
    let promotion = "1r6/2P5/8/3r4/8/2K5/8/k7 w - - 0 1";
    for word in
        ["c8=R", "c8R", "c8(R)", "c8/R", "c7c8r", "c7-c8=R", "c8=r", "Pc8=R", "c8=\u{2656}", "\u{2659}c8\u{2656}"]
    {
        assert_eq!(canonical(promotion, word), "c8=R", "{word}");
    }
    for word in ["cxb8=N", "cb8N", "c7xb8=N", "c7b8n", "c:b8=N", "c7:b8N", "xb8=N", "c\u{d7}b8=N"] {
        assert_eq!(canonical(promotion, word), "cxb8=N", "{word}");
    }
    let castling = "r3k2r/8/8/8/8/8/8/R3K2R w KQkq - 0 1";
    for word in ["O-O", "0-0", "o-o", "O\u{2013}O", "e1g1", "Ke1-g1", "1.O-O"] {
        assert_eq!(canonical(castling, word), "O-O", "{word}");
    }
    for word in ["O-O-O!", "0-0-0!", "e1c1!"] {
        assert_eq!(canonical(castling, word), "O-O-O!", "{word}");
    }
    let en_passant = "4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 2";
    for word in ["exd6", "ed6", "e5d6", "exd6e.p.", "exd6ep", "e5xd6e.p.", "e5:d6"] {
        assert_eq!(canonical(en_passant, word), "exd6", "{word}");
    }
    assert_eq!(canonical(START, "Nf3\u{2049}"), "Nf3!?");
    assert_eq!(canonical("6k1/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8!"), "Ra8#!", "a missing sign is added");
    assert_eq!(canonical("6k1/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8!#"), "Ra8#!");
}

#[test]
fn numbers_and_a_lone_en_passant_mark_are_no_moves() {
    let (board, diagnostics) = board("4k3/3p4/8/4P3/8/8/8/4K3 b - - 0 1", vec![moves(0, "1... d5 2. exd6 e.p. Kd7")]);
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
    assert_eq!(sans(&board), ["d5", "exd6", "Kd7"]);
    assert_eq!(board.steps.len(), 3);
    for (word, sign) in [("exd6 e.p.!", "!"), ("exd6 ep?!", "?!"), ("exd6 e.p.", "")] {
        let (board, diagnostics) =
            self::board("4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1", vec![moves(0, &format!("{word} Kd7"))]);
        assert!(diagnostics.is_empty(), "{diagnostics:#?}");
        assert_eq!(board.sign_at(&board.steps[0]), sign, "{word}");
    }
}

#[test]
fn what_stands_behind_a_lone_en_passant_mark_is_of_the_capture() {
    let told = |fen: &str, words: &str| {
        let (_, diagnostics) = board(fen, vec![moves(0, words)]);
        diagnostics.into_iter().map(|found| found.message).collect::<Vec<_>>()
    };
    // From d6 the pawn attacks c7 and e7: the king on e7 is in check, the one on e8 is not.
    let (quiet, check) = ("4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1", "8/4k3/8/3pP3/8/8/8/4K3 w - d6 0 1");
    assert_eq!(told(quiet, "exd6 e.p.+"), ["`e.p.+` gives no check"]);
    assert_eq!(told(check, "exd6 e.p.#"), ["`e.p.#` is check, not mate"]);
    assert_eq!(told(check, "exd6 e.p.+!"), [""; 0]);
    // A branch of the solution is a try by its sign, wherever that stands.
    let branch = |words| {
        let (_, diagnostics) = board(quiet, vec![moves(0, "Kd2"), back(Back::Start), moves(50, words)]);
        diagnostics.len()
    };
    assert_eq!(["exd6?", "exd6 e.p.?", "exd6 e.p."].map(branch), [0, 0, 1]);
}

const START: &str = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";

/// PGN standard 1994, §16.1.4, with the en passant square only where a capture is legal.
#[test]
fn the_standards_example_game_has_its_fens() {
    let (board, _) = board(START, vec![moves(0, "e4 c5 Nf3")]);
    let fens: Vec<&str> = board.nodes.iter().map(|node| node.fen.as_str()).collect();
    assert_eq!(
        fens,
        [
            START,
            "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1",
            "rnbqkbnr/pp1ppppp/8/2p5/4P3/8/PPPP1PPP/RNBQKBNR w KQkq - 0 2",
            "rnbqkbnr/pp1ppppp/8/2p5/4P3/5N2/PPPP1PPP/RNBQKB1R b KQkq - 1 2",
        ]
    );
}

/// Vectors worked out with another program; §8.2.3.4 of the PGN standard 1994 is the rule.
#[test]
fn disambiguation_follows_the_standard() {
    let all = |fen: &str, to: &str| {
        let (position, faults) = fen::read(fen);
        assert!(faults.iter().all(|fault| fault.harmless), "{faults:?}");
        let position = position.expect("a sound FEN");
        let target = |chosen: &shakmaty::Move| rules::target(*chosen).to_string() == to;
        rules::sans(&position, shakmaty::Position::legal_moves(&position).into_iter().filter(target))
    };
    assert_eq!(all("4k3/8/8/8/8/2N5/8/4K1N1 w - - 0 1", "e2"), ["Ke2", "Nce2", "Nge2"]);
    assert_eq!(all("4k3/8/8/8/1b6/2N5/8/4K1N1 w - - 0 1", "e2"), ["Ke2", "Ne2"], "the knight on c3 is pinned");
    assert_eq!(all("2k5/8/8/8/Q6Q/8/8/K6Q w - - 0 1", "e4"), ["Q1e4", "Qae4", "Qh4e4"]);
    assert_eq!(all("R6R/8/8/8/8/5k2/8/2K5 w - - 0 1", "d8"), ["Rad8", "Rhd8"]);
    assert_eq!(all("8/8/R7/8/8/R7/7k/K7 w - - 0 1", "a5"), ["R3a5", "R6a5"]);
}

/// Published counts: the initial array, and the position known as number 3 of the usual perft set.
#[test]
fn the_counts_of_moves_are_the_published_ones() {
    for (fen, counts) in [(START, [20, 400, 8902]), ("8/2p5/3p4/KP5r/1R3p1k/8/4P1P1/8 w - - 0 1", [14, 191, 2812])] {
        let position = fen::read(fen).0.expect("a sound FEN");
        for (depth, count) in (1..).zip(counts) {
            assert_eq!(shakmaty::perft(&position, depth), count, "{fen} at depth {depth}");
        }
    }
}
