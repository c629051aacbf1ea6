//! Published studies and problems, all from memory: their lines are legal, end as they are said to end, and no sign in
//! them is false. Their final positions were worked out with python-chess.

use super::*;

struct Composition {
    author: &'static str,
    fen: &'static str,
    /// With the check signs as printed.
    line: &'static str,
    last: &'static str,
    ends: State,
}

const COMPOSITIONS: [Composition; 8] = [
    Composition {
        author: "G. E. Barbier and F. Saavedra 1895, White to play and win",
        fen: SAAVEDRA,
        line: "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4 c8=R Ra4 Kb3",
        last: "2R5/8/8/8/r7/1K6/8/k7 b - - 2 7",
        ends: State::Quiet,
    },
    Composition {
        author: "R. R\u{e9}ti 1921, White to play and draw",
        fen: "7K/8/k1P5/7p/8/8/8/8 w - - 0 1",
        line: "Kg7 h4 Kf6 Kb6 Ke5 h3 Kd6 h2 c7 Kb7 Kd7 h1=Q c8=Q+",
        last: "2Q5/1k1K4/8/8/8/8/8/7q b - - 0 7",
        ends: State::Check,
    },
    Composition {
        author: "A. A. Troitzky 1895, White to play and win",
        fen: "5k2/4p2p/6P1/3K4/8/8/8/2B5 w - - 0 1",
        line: "Bh6+ Kg8 g7 Kf7 g8=Q+ Kxg8 Ke6 Kh8 Kf7 e5 Bg7#",
        last: "7k/5KBp/8/4p3/8/8/8/8 b - - 1 6",
        ends: State::Mate,
    },
    Composition {
        author: "theory of queen against bishop's pawn (author and year uncertain), Black to play and draw",
        fen: "8/8/8/8/6K1/1Q6/2p5/1k6 b - - 0 1",
        line: "Ka1 Qxc2",
        last: "8/8/8/8/6K1/8/2Q5/k7 b - - 0 2",
        ends: State::Stalemate,
    },
    Composition {
        author: "P. Morphy 1856, mate in 2",
        fen: "kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1",
        line: "Ra6 bxa6 b7#",
        last: "kbK5/pP6/p7/8/8/8/8/8 b - - 0 2",
        ends: State::Mate,
    },
    Composition {
        author: "T. Taverner 1889, mate in 2",
        fen: "3brrb1/2N4B/8/2p4Q/2p2k2/5P2/4P1KR/2N2RB1 w - - 0 1",
        line: "Rh1",
        last: "3brrb1/2N4B/8/2p4Q/2p2k2/5P2/4P1K1/2N2RBR b - - 1 1",
        ends: State::Quiet,
    },
    Composition {
        author: "S. Loyd, Charles XII at Bender (1) 1859, mate in 3",
        fen: "8/6R1/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1",
        line: "Rxg3 Bxg3 Nf3 Bxh2 g4#",
        last: "8/8/7p/5K1k/6P1/5N2/7b/8 b - - 0 3",
        ends: State::Mate,
    },
    Composition {
        author: "S. Loyd 1868, mate in 3 by promotion to a knight",
        fen: "b7/PP6/8/8/7K/6B1/6N1/4R1bk w - - 0 1",
        line: "bxa8=N Kxg2 Nb6",
        last: "8/P7/1N6/8/7K/6B1/6k1/4R1b1 b - - 1 2",
        ends: State::Quiet,
    },
];

#[test]
fn published_lines_are_legal_and_end_as_they_should() {
    for composition in COMPOSITIONS {
        let (board, diagnostics) = board(composition.fen, vec![moves(0, composition.line)]);
        assert!(diagnostics.is_empty(), "{}: {diagnostics:#?}", composition.author);
        let last = board.nodes.last().unwrap();
        assert_eq!((last.fen.as_str(), last.state), (composition.last, composition.ends), "{}", composition.author);
        assert_eq!(sans(&board).join(" "), composition.line, "{}", composition.author);
    }
}

/// Each sign of each line is taken out (no mistake), and turned into the other, or put where none belongs (each a
/// mistake at its place).
#[test]
fn false_signs_in_published_lines_are_refused() {
    for composition in COMPOSITIONS {
        let words: Vec<&str> = composition.line.split(' ').collect();
        for at in 0..words.len() {
            let bare = words[at].trim_end_matches(['+', '#']);
            for sign in ["", "+", "#"] {
                let mut spoilt = words.clone();
                let word = format!("{bare}{sign}");
                spoilt[at] = &word;
                let (_, diagnostics) = board(composition.fen, vec![moves(0, &spoilt.join(" "))]);
                if sign.is_empty() || word == words[at] {
                    assert!(diagnostics.is_empty(), "{word}: {diagnostics:#?}");
                    continue;
                }
                let place = words[..at].iter().map(|word| word.len() + 1).sum::<usize>() + bare.len();
                assert_eq!(diagnostics.len(), 1, "{} {word}", composition.author);
                let found = &diagnostics[0];
                assert_eq!(
                    (found.code, found.primary.span),
                    (Code::WrongSuffix, Span::new(place, place + 1)),
                    "{word}"
                );
            }
        }
    }
}
