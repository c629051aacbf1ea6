//! What is known of published studies and problems, each fact a row, as a report tells it. The positions are from memory;
//! the facts come from Syzygy tables, from solving again with a move forbidden, and from an exhaustive search by another
//! program.

use plyreel::game::{Body, PgnFiles};
use plyreel::proof::{self, Budget, Report};
use plyreel::source::Source;

/// Name, position, line, and what the report says of some of its moves.
type Facts<'a> = (&'a str, &'a str, &'a str, &'a [(&'a str, &'a str)]);

/// A composition with its solution and its tries.
struct Composition {
    fen: &'static str,
    task: &'static str,
    line: &'static str,
    tries: &'static [&'static str],
}

fn reported(composition: &Composition, budget: Budget) -> Report {
    let Composition { fen, task, line, tries } = composition;
    let mut text = format!("[[scene]]\nfen = \"{fen}\"\ntask = \"{task}\"\ncues = [\n  {{ play = \"{line}\" }},\n");
    for tried in *tries {
        text.extend(["  { back = \"start\" },\n  { line = \"try\", play = \"", tried, "\" },\n"]);
    }
    text.push_str("]\n");
    let (timeline, mut diagnostics) = plyreel::timeline::parse(&Source::new("facts.toml", &*text));
    let (game, found) = plyreel::game::resolve(&timeline, &PgnFiles::new());
    diagnostics.extend(found);
    assert!(diagnostics.is_empty(), "{text}\n{diagnostics:#?}");
    let Body::Board(board) = &game.scenes[0].body else { panic!("a scene with a FEN has a board") };
    proof::report(None, board, &[], budget)
}

/// Each fact: a section, and how one of its rows begins, `moves word note`.
fn holds(composition: &Composition, facts: &[(&str, &str)]) -> Report {
    holds_within(composition, facts, Budget::default())
}

fn holds_within(composition: &Composition, facts: &[(&str, &str)], budget: Budget) -> Report {
    let report = reported(composition, budget);
    for (id, start) in facts {
        let rows: Vec<String> = report
            .sections
            .iter()
            .filter(|section| section.id == *id)
            .flat_map(|section| &section.rows)
            .map(|row| format!("{} {} {}", row.moves, row.word, row.note))
            .collect();
        let found = rows.iter().any(|row| row.starts_with(start));
        assert!(found, "no row of `{id}` begins with `{start}`: {rows:#?}\n{}", proof::human(&[report]));
    }
    report
}

#[test]
fn saavedra_1895() {
    // G. E. Barbier and F. Saavedra, Glasgow 1895 (from memory).
    let report = holds(
        &Composition {
            fen: "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1",
            task: "White to play and win",
            line: "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4 c8=R Ra4 Kb3",
            tries: &["c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4 c8=Q Rc4+ Qxc4", "c7 Rd6+ Kc5 Rd1"],
        },
        &[
            ("moves", "1.c7 only none of the 4 other moves wins"),
            ("moves", "2.Kb5 only none of the 4 other moves wins"),
            ("moves", "3.Kb4 only* "),
            ("wasters", "3.Kb6 wastes time instead of Kb4"),
            ("moves", "4.Kb3 dual 4.Kc3 wins too"),
            ("duals", "4.Kc3 dual instead of Kb3: 4.Kc3 Rd1 5.Kc2 Rd4 transposes"),
            ("moves", "5.Kc2 only "),
            ("moves", "6.c8=R only* "),
            ("wasters", "6.Kb3 wastes time"),
            ("wasters", "6.Kc3 wastes time"),
            ("moves", "7.Kb3 only none of the 17 other moves wins"),
            ("tries", "6.c8=Q? Rc4+! 7.Qxc4 try refuted by 6...Rc4+ alone; it is stalemate"),
            ("tries", "2.Kc5? Rd1 fails refuted by 2...Rd1, Rd2 and Rd3; neither side can force mate"),
            ("motifs", "6.c8=Q stalemate net 6...Rc4+ 7.Qxc4 is stalemate"),
        ],
    );
    assert_eq!((report.verdict, report.soundness), (Some("proven"), Some("sound")));
    assert_eq!((report.gbr.as_str(), report.men.as_str()), ("+0300.10b6a1", "2+2"));
    assert_eq!(
        report.solution,
        [
            "1.c7! Rd6+ 2.Kb5! Rd5+ 3.Kb4! (Kb6 only wastes time) 3...Rd4+ 4.Kb3 (minor dual: Kc3; Kb5 only wastes time) \
             4...Rd3+ 5.Kc2! Rd4 6.c8=R! (Kb3 and Kc3 only waste time) 6...Ra4 7.Kb3! and wins.",
            "6.c8=Q? Rc4+! 7.Qxc4 stalemate.",
            "2.Kc5? Rd1 and it is a draw.",
        ]
    );
}

#[test]
fn reti_1921() {
    // R. Réti, Kagans Neueste Schachnachrichten 1921 (from memory).
    let report = holds(
        &Composition {
            fen: "7K/8/k1P5/7p/8/8/8/8 w - - 0 1",
            task: "White to play and draw",
            line: "Kg7 h4 Kf6 Kb6 Ke5 h3 Kd6 h2 c7 Kb7 Kd7 h1=Q c8=Q+",
            tries: &["Kh7 h4 Kg6 h3"],
        },
        &[
            ("moves", "1.Kg7 only "),
            ("moves", "2.Kf6 only "),
            ("moves", "3.Ke5 only "),
            ("moves", "4.Kd6 only "),
            ("moves", "5.c7 only "),
            ("moves", "6.Kd7 only "),
            ("moves", "7.c8=Q+ only "),
            ("tries", "1.Kh7? h4 2.Kg6 h3 fails refuted by 1..."),
        ],
    );
    assert_eq!((report.verdict, report.soundness), (Some("proven"), Some("sound")));
    assert!(report.solution[1].ends_with("and Black wins."), "{:?}", report.solution);
}

#[test]
fn troitzky_1895() {
    // A. A. Troitzky, Novoye Vremya 1895 (from memory, where the white men stood at first is not sure). Every position of
    // the line is won by a line that forces it; whether other moves win too is open: six men with pawns.
    let report = holds_within(
        &Composition {
            fen: "5k2/4p2p/6P1/3K4/8/8/8/2B5 w - - 0 1",
            task: "White to play and win",
            line: "Bh6+ Kg8 g7 Kf7 g8=Q+ Kxg8 Ke6 Kh8 Kf7 e5 Bg7#",
            tries: &[],
        },
        &[
            ("moves", "1.Bh6+ open whether 1."),
            ("moves", "2.g7 open whether 2."),
            ("moves", "3.g8=Q+ open whether 3."),
            ("moves", "4.Ke6 open whether 4."),
            ("moves", "5.Kf7 open whether 5."),
            ("moves", "6.Bg7# dual 6.Kf8 wins too"),
            ("replies", "1...Kg8 holds Ke8 loses too"),
            ("replies", "2...Kf7 holds e5 and e6+ lose too"),
            ("replies", "3...Kxg8 holds Kf6 loses too"),
            ("replies", "4...Kh8 forced"),
            ("replies", "5...e5 holds e6 loses too"),
            ("motifs", "2.g7 stalemate net 2...e6+ 3.Kxe6 is stalemate"),
        ],
        // Without the tables of four men, which the proofs do without and which take longer to make than all of this.
        Budget { men: 3, ..Budget::of(12_000_000) },
    );
    assert_eq!((report.verdict, report.soundness), (Some("proven"), Some("open")));
    assert!(report.witness.starts_with("White wins: 1.Bh6+ "), "{}", report.witness);
    assert!(report.solution[0].ends_with("6.Bg7# (minor dual: Kf8)."), "{:?}", report.solution);
}

#[test]
fn queen_against_bishops_pawn() {
    // Theory; the author is uncertain.
    let report = holds(
        &Composition {
            fen: "8/8/8/8/6K1/1Q6/2p5/1k6 b - - 0 1",
            task: "Black to play and draw",
            line: "Ka1 Qxc2",
            tries: &["Kc1 Kf3"],
        },
        &[("moves", "1...Ka1 only "), ("tries", "1...Kc1? 2.Kf3 ")],
    );
    assert_eq!((report.verdict, report.soundness), (Some("proven"), Some("sound")));
    assert!(report.solution[0].starts_with("1...Ka1! 2.Qxc2 stalemate."), "{:?}", report.solution);
    assert!(report.solution[1].ends_with("and White wins."), "{:?}", report.solution);
}

#[test]
fn problems_with_one_key() {
    // P. Morphy 1856, T. Taverner 1889, S. Loyd 1859 ("Charles XII") and 1868: each key is the only one, and there is no
    // shorter mate.
    let facts: [Facts; 4] = [
        (
            "kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1",
            "#2",
            "Ra6 bxa6 b7#",
            &[("key", "1.Ra6 key zugzwang"), ("variations", "1...bxa6 mate 2.b7#")],
        ),
        ("3brrb1/2N4B/8/2p4Q/2p2k2/5P2/4P1KR/2N2RB1 w - - 0 1", "#2", "Rh1", &[("key", "1.Rh1 key zugzwang")]),
        (
            "8/6R1/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1",
            "#3",
            "Rxg3 Bxg3 Nf3 Bxh2 g4#",
            &[("key", "1.Rxg3 key "), ("variations", "1...Bxg3 mate 2.Nf3")],
        ),
        (
            "b7/PP6/8/8/7K/6B1/6N1/4R1bk w - - 0 1",
            "#3",
            "bxa8=N Kxg2 Nb6",
            &[("key", "1.bxa8=N key "), ("variations", "1...Kxg2 mate 2.Nb6")],
        ),
    ];
    for (fen, task, line, facts) in facts {
        let report = holds(&Composition { fen, task, line, tries: &[] }, facts);
        assert_eq!((report.verdict, report.soundness), (Some("proven"), Some("sound")), "{fen}");
        assert!(report.sections.iter().all(|section| section.id != "cooks" && section.id != "short"), "{fen}");
    }
}

/// King and pawn against king, by trying everything.
#[test]
fn mutual_zugzwangs_of_a_pawn_ending() {
    for fen in [
        "2k5/8/2KP4/8/8/8/8/8 w - - 0 1",
        "8/3k4/8/3K4/3P4/8/8/8 w - - 0 1",
        "8/8/8/4k3/8/4K3/4P3/8 w - - 0 1",
        "8/8/8/3k4/8/3K4/4P3/8 w - - 0 1",
    ] {
        let position = proof_of(fen, "=");
        let row = position.sections.iter().find(|section| section.id == "zugzwangs").map(|section| &section.rows[0]);
        let note = row.map_or("", |row| row.note.as_str());
        assert!(note.starts_with("with White to move it is a draw; with Black to move White wins"), "{fen}: {note}");
    }
    let never = proof_of("1k6/8/PK6/8/8/8/8/8 w - - 0 1", "=");
    assert!(never.sections.iter().all(|section| section.id != "zugzwangs"), "draw either way");
}

/// The report of a position without a line.
fn proof_of(fen: &str, task: &str) -> Report {
    let text = format!("[[scene]]\nfen = \"{fen}\"\ntask = \"{task}\"\ncues = [\n  {{ text = \"-\" }},\n]\n");
    let (timeline, _) = plyreel::timeline::parse(&Source::new("facts.toml", &*text));
    let (game, diagnostics) = plyreel::game::resolve(&timeline, &PgnFiles::new());
    assert!(diagnostics.is_empty(), "{text}\n{diagnostics:#?}");
    let Body::Board(board) = &game.scenes[0].body else { panic!("a scene with a FEN has a board") };
    proof::report(None, board, &[], Budget::of(200_000))
}

/// R. Kubbel, 1st prize, Shakhmaty 1925: the code and the count of men under the diagram, and a line that ends in
/// stalemate.
#[test]
fn kubbel_1925() {
    let report = proof_of("6n1/8/2p4P/8/8/r1p3K1/B7/4B1k1 w - - 0 1", "White to play and draw");
    assert_eq!((report.gbr.as_str(), report.men.as_str()), ("=0323.12g3g1", "4+5"));
}
