//! The endgame tables against the published Syzygy tables, and what is known of published studies.
//!
//! Needs `python3`, and python-chess's source distribution in `target/judges`, which the judge fetches with pip where
//! it is not there. A build with debug assertions looks at some materials, one without at all of them;
//! `PLYREEL_POSITIONS` asks for more positions than usual.

use plyreel::game::PgnFiles;
use plyreel::proof::{self, Budget, Finding, Syzygy, Verdict, Worth};
use plyreel::source::Source;
use std::collections::BTreeMap;
use std::io::Write;
use std::process::{Command, Stdio};

/// Men besides the kings; one for each way in which a table can be special.
const SOME: [&str; 12] = ["Q", "r", "P", "p", "B", "n", "BN", "bb", "Br", "qR", "Nn", "rn"];

#[test]
fn random_positions_agree_with_the_syzygy_tables() {
    let every = !cfg!(debug_assertions);
    let asked = std::env::var("PLYREEL_POSITIONS").ok().and_then(|count| count.parse().ok());
    let count = asked.unwrap_or(if every { 20_000 } else { 4_000 });
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/target/judges");
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/judges/syzygy.py");
    let output = Command::new("python3")
        .args([script, folder, "1895", &count.to_string()])
        .args(if every { &[][..] } else { &SOME[..] })
        .output()
        .expect("this test needs python3");
    assert!(output.status.success(), "the judge failed\n{}", String::from_utf8_lossy(&output.stderr));
    let lines = String::from_utf8(output.stdout).expect("the judge writes UTF-8");
    let (mut looked_at, mut decisive) = (0, 0);
    for line in lines.lines() {
        let (fen, published) = line.split_once(';').expect("a FEN and a worth");
        let ours = match proof::worth(fen) {
            Some(Worth::Win(_)) => "win",
            Some(Worth::Draw) => "draw",
            Some(Worth::Loss(_)) => "loss",
            None => "none",
        };
        assert_eq!(ours, published, "{fen}");
        looked_at += 1;
        decisive += usize::from(ours != "draw");
    }
    assert_eq!(looked_at, count);
    assert!(decisive > count / 4, "{decisive} of {count} are won or lost");
}

/// The user's files decide where our own tables are left out, and what no file holds stays open.
#[test]
fn a_folder_of_syzygy_tables_decides_as_our_own_tables_do() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/target/judges");
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/judges/syzygy.py");
    let output = Command::new("python3").args([script, folder, "1921", "60", "Qr", "BN", "P", "Pp"]).output();
    let output = output.expect("this test needs python3");
    assert!(output.status.success(), "the judge failed\n{}", String::from_utf8_lossy(&output.stderr));
    let files = format!("{folder}/chess-1.11.2/data/syzygy/regular");
    let syzygy = Some(Syzygy::open(files.as_ref()).expect("the files of the judge"));
    let budget = Budget { men: 2, syzygy, ..Budget::of(20_000) };
    for line in String::from_utf8(output.stdout).expect("the judge writes UTF-8").lines() {
        let (fen, published) = line.split_once(';').expect("a FEN and a worth");
        let winner = match (published, fen.contains(" w ")) {
            ("draw", _) => "draw",
            ("win", true) | ("loss", false) => "White wins",
            _ => "Black wins",
        };
        let (verdict, witness) = &verdicts_within(fen, &[("", winner)], budget)[0];
        assert_eq!(*verdict, Verdict::Proven, "{fen} {winner}: {witness}");
    }
    let six = "r3k3/5p2/8/8/8/8/5P2/R3K3 w - - 0 1";
    let (verdict, witness) = &verdicts_within(six, &[("", "White wins")], budget)[0];
    assert!(*verdict == Verdict::Open && witness.contains("no table of so many men"), "{verdict:?}: {witness}");
}

/// A link is known by the file it leads to; here files of a table's size, in which nothing is read before it is asked.
#[cfg(unix)]
#[test]
fn a_folder_of_links_to_tables_is_known_by_what_they_lead_to() {
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir().expect("a folder");
    let (files, links) = (folder.path().join("files"), folder.path().join("links"));
    std::fs::create_dir(&files).expect("made");
    std::fs::create_dir(&links).expect("made");
    let table = files.join("KQvK.rtbw");
    std::fs::write(&table, [0; 80]).expect("written");
    symlink(&table, links.join("KQvK.rtbw")).expect("linked");
    let before = Syzygy::open(&links).expect("one table");
    assert_eq!(Syzygy::open(&links).expect("the same"), before);
    // The table is replaced where it lies; the link stays as it was.
    std::fs::write(&table, [0; 144]).expect("written");
    assert_ne!(Syzygy::open(&links).expect("another table").identity(), before.identity());
    // A link to nowhere that is named like no table harms nobody.
    symlink(folder.path().join("nowhere"), links.join("notes.txt")).expect("linked");
    assert!(Syzygy::open(&links).is_ok());
}

/// Lines of a judge in `tests/judges`.
fn judged(script: &str, arguments: &[&str]) -> Vec<String> {
    let script = format!("{}/tests/judges/{script}", env!("CARGO_MANIFEST_DIR"));
    let output = Command::new("python3").arg(script).args(arguments).output().expect("this test needs python3");
    assert!(output.status.success(), "the judge failed\n{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("the judge writes UTF-8").lines().map(str::to_owned).collect()
}

/// `mate in N` with and without tables, against a search that tries everything. A build without debug assertions looks
/// at 5,000 claims.
#[test]
fn claims_of_mates_agree_with_an_exhaustive_search() {
    let count = if cfg!(debug_assertions) { 200 } else { 5_000 };
    let (mut proven, mut refuted) = (0, 0);
    for line in judged("mates.py", &["1895", &count.to_string()]) {
        let [fen, moves, truth] = line.split(';').collect::<Vec<_>>()[..] else { panic!("three fields: {line}") };
        let expected = if truth == "true" { Verdict::Proven } else { Verdict::Refuted };
        for men in [0, 4] {
            let budget = Budget { men, ..Budget::default() };
            let (verdict, witness) = &verdicts_within(fen, &[("", &format!("mate in {moves}"))], budget)[0];
            assert_eq!(*verdict, expected, "{fen} mate in {moves}, tables up to {men} men: {witness}");
        }
        *if truth == "true" { &mut proven } else { &mut refuted } += 1;
    }
    assert!(proven > count / 4 && refuted > count / 4, "{proven} true, {refuted} false");
}

/// The whole proof of published mates, read and walked by another program: P. Morphy 1856, T. Taverner 1889, S. Loyd 1859
/// and 1868 (from memory), and a rook that Black mates with.
#[test]
fn the_tree_of_a_mate_answers_every_defence() {
    for (fen, moves) in [
        ("kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1", 2),
        ("3brrb1/2N4B/8/2p4Q/2p2k2/5P2/4P1KR/2N2RB1 w - - 0 1", 2),
        ("8/6R1/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1", 3),
        ("b7/PP6/8/8/7K/6B1/6N1/4R1bk w - - 0 1", 3),
        ("8/3r4/8/8/8/5k2/8/6K1 b - - 0 1", 2),
    ] {
        let tree = proof::mating_tree(fen, moves, Budget::default()).expect("a mate");
        assert!(tree.lines().all(|line| line.len() < 80), "{tree}");
        let mut judge = Command::new("python3")
            .args([concat!(env!("CARGO_MANIFEST_DIR"), "/tests/judges/mates.py"), "--tree"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("this test needs python3");
        judge.stdin.take().expect("piped").write_all(tree.as_bytes()).expect("the judge listens");
        let output = judge.wait_with_output().expect("the judge ends");
        assert!(output.status.success(), "{tree}");
        assert_eq!(String::from_utf8_lossy(&output.stdout).trim(), moves.to_string(), "{tree}");
        assert_eq!(proof::mating_tree(fen, moves - 1, Budget::default()), Err(proof::NoTree::NoMate));
    }
}

/// Graph and proof-number search alone, without tables of four men or without any, never say what is not so. A build
/// without debug assertions looks at 2,000 positions.
#[test]
fn searches_alone_never_contradict_the_syzygy_tables() {
    let count = if cfg!(debug_assertions) { 35 } else { 2_000 };
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/target/judges");
    let (mut decided, mut asked) = (0, 0);
    let mut men = vec![folder.to_owned(), "1921".to_owned(), count.to_string()];
    let two = ["Qr", "QB", "Pp", "PP", "Rp", "Rb", "bp"];
    men.extend(two.into_iter().map(str::to_owned));
    for line in judged("syzygy.py", &men.iter().map(String::as_str).collect::<Vec<_>>()) {
        let (fen, published) = line.split_once(';').expect("a FEN and a worth");
        let truth = match (published, fen.contains(" w ")) {
            ("draw", _) => "draw",
            ("win", true) | ("loss", false) => "White wins",
            _ => "Black wins",
        };
        for men in [0, 3] {
            let budget = Budget { men, ..Budget::of(100_000) };
            for claim in ["White wins", "draw", "Black wins"] {
                let (verdict, witness) = &verdicts_within(fen, &[("", claim)], budget)[0];
                let wrong = if claim == truth { Verdict::Refuted } else { Verdict::Proven };
                assert_ne!(*verdict, wrong, "{fen} {claim}, tables up to {men} men: {witness}");
                asked += 1;
                decided += usize::from(*verdict != Verdict::Open);
            }
        }
    }
    assert!(decided > asked / 8, "{decided} of {asked} claims decided");
}

/// Every worth of few men against python-chess's moves, ply by ply: mate and stalemate are python-chess's, the result of
/// what has four men or fewer that of the Syzygy tables, and each position is worth what its best move leaves. A table in
/// which that holds everywhere is right. `PLYREEL_FIVES` names other materials and a number of positions:
/// `PLYREEL_FIVES="20000 RBr BBn"`.
#[test]
fn tables_of_five_men_are_right_ply_by_ply() {
    let asked = std::env::var("PLYREEL_FIVES").unwrap_or_else(|_| "1500 BBn BN Qr rb".to_owned());
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/target/judges");
    let words: Vec<&str> = [folder, "1851"].into_iter().chain(asked.split_whitespace()).collect();
    // The materials with one or two men besides the kings judge the tables of four men the same way.
    let worth = |fen: &str| proof::worth_of_five(fen).unwrap_or_else(|| panic!("no table holds {fen}"));
    let (mut decisive, mut longest) = (0, BTreeMap::<String, u32>::new());
    let lines = judged("fives.py", &words);
    for line in &lines {
        let mut words = line.split(';');
        let (fen, state) = (words.next().expect("a FEN"), words.next().expect("a state"));
        let after: Vec<Worth> = words
            .map(|word| {
                let (fen, published) = word.split_once('|').expect("a FEN and a worth");
                let worth = worth(fen);
                let told = match worth {
                    Worth::Win(_) => "win",
                    Worth::Draw => "draw",
                    Worth::Loss(_) => "loss",
                };
                assert!(published == "-" || published == told, "{fen}: {told}, but the Syzygy tables say {published}");
                worth
            })
            .collect();
        let shortest_loss =
            after.iter().filter_map(|worth| if let Worth::Loss(plies) = worth { Some(*plies) } else { None });
        let longest_win = after.iter().map(|worth| if let Worth::Win(plies) = worth { Some(*plies) } else { None });
        let expected = match (state, shortest_loss.min(), longest_win.max().flatten()) {
            ("mate", _, _) => Worth::Loss(0),
            ("stalemate", _, _) => Worth::Draw,
            (_, Some(plies), _) => Worth::Win(plies + 1),
            (_, None, Some(plies)) if after.iter().all(|worth| matches!(worth, Worth::Win(_))) => {
                Worth::Loss(plies + 1)
            }
            _ => Worth::Draw,
        };
        let own = worth(fen);
        assert_eq!(own, expected, "{fen}: {after:?}");
        if let Worth::Win(plies) | Worth::Loss(plies) = own {
            decisive += 1;
            let mut men: Vec<char> =
                fen.split(' ').next().expect("men").chars().filter(|c| c.is_alphabetic()).collect();
            men.sort_unstable();
            let known = longest.entry(men.into_iter().collect()).or_default();
            *known = plies.max(*known);
        }
    }
    // The same material in a film: a composition's share of the budget asks for the table as a whole question does.
    if asked.starts_with("1500 ") {
        let fen = "8/8/8/3k4/3n4/8/2BB4/4K3 w - - 0 1";
        // The handbooks' number for two bishops against a knight (from memory).
        assert_eq!(proof::longest_mate(fen), Some(78));
        assert!(matches!(proof::worth_of_five(fen), Some(Worth::Win(_))));
        for budget in [Budget::default(), Budget::default().part(50)] {
            let (verdict, witness) = &verdicts_within(fen, &[("", "White wins")], budget)[0];
            assert!(*verdict == Verdict::Proven && witness.starts_with("White mates in "), "{witness}");
        }
    }
    println!("{} positions, {decisive} of them won or lost; the longest mates met, in plies: {longest:?}", lines.len());
    assert!(decisive > lines.len() / 5, "{decisive} of {} are won or lost", lines.len());
}

/// The verdict and the witness of each claim; the moves before it are played first.
fn verdicts(fen: &str, cues: &[(&str, &str)]) -> Vec<(Verdict, String)> {
    verdicts_within(fen, cues, Budget::default())
}

fn verdicts_within(fen: &str, cues: &[(&str, &str)], budget: Budget) -> Vec<(Verdict, String)> {
    let cues: Vec<String> = cues
        .iter()
        .map(|(moves, claim)| {
            let play = if moves.is_empty() { "text = \"-\"".to_string() } else { format!("play = \"{moves}\"") };
            format!("  {{ {play}, claim = \"{claim}\" }},")
        })
        .collect();
    let text = format!("[[scene]]\nname = \"S\"\nfen = \"{fen}\"\ncues = [\n{}\n]\n", cues.join("\n"));
    let (timeline, mut diagnostics) = plyreel::timeline::parse(&Source::new("study.toml", &*text));
    let (game, found) = plyreel::game::resolve(&timeline, &PgnFiles::new());
    diagnostics.extend(found);
    assert!(diagnostics.is_empty(), "{text}\n{diagnostics:#?}");
    let findings: Vec<Finding> = proof::judge_within(&game, budget);
    findings.into_iter().map(|finding| (finding.verdict, finding.witness)).collect()
}

/// G. E. Barbier and F. Saavedra 1895 (from memory). Which moves are alone is known from the Syzygy tables, and from
/// solving the position again with that move forbidden.
#[test]
fn saavedra_wins_by_moves_that_stand_alone_but_for_one() {
    let found = verdicts(
        "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1",
        &[
            ("c7", "only winning move"),
            ("Rd6+ Kb5", "only winning move"),
            ("Rd5+ Kb4", "only winning move"),
            ("Rd4+ Kb3", "only winning move"),
            ("Rd3+ Kc2", "only winning move"),
            ("Rd4 c8=R", "only winning move"),
            ("Ra4 Kb3", "only winning move"),
            ("", "White wins"),
        ],
    );
    let proven = |index: usize| assert_eq!(found[index].0, Verdict::Proven, "{}: {found:#?}", index + 1);
    [0, 1, 2, 4, 5, 6, 7].into_iter().for_each(proven);
    assert!(found[2].1.ends_with("3.Kb6 only wastes time: it has to come back to this position"), "{}", found[2].1);
    assert_eq!(found[3], (Verdict::Refuted, "4.Kc3 wins too".into()));
    assert!(found[5].1.contains("6.Kb3 and Kc3 only waste time"), "{}", found[5].1);
    let tries =
        verdicts("8/8/1KP5/3r4/8/8/8/k7 w - - 0 1", &[("c7 Rd6+ Kc5", "draw"), ("Rd1", "draw"), ("", "White wins")]);
    assert_eq!((tries[0].0, tries[1].0, tries[2].0), (Verdict::Proven, Verdict::Proven, Verdict::Refuted));
}

/// R. Réti 1921 (from memory): every move of White's is the only one that draws, by the Syzygy tables.
#[test]
fn reti_draws_by_moves_that_stand_alone() {
    let moves = ["Kg7", "h4 Kf6", "Kb6 Ke5", "h3 Kd6", "h2 c7", "Kb7 Kd7", "h1=Q c8=Q+"];
    let cues: Vec<(&str, &str)> = moves.iter().map(|moves| (*moves, "only drawing move")).collect();
    let found = verdicts("7K/8/k1P5/7p/8/8/8/8 w - - 0 1", &cues);
    assert!(found.iter().all(|(verdict, _)| *verdict == Verdict::Proven), "{found:#?}");
    let fails = verdicts("7K/8/k1P5/7p/8/8/8/8 w - - 0 1", &[("Kh7 h4 Kg6 h3", "Black wins")]);
    assert_eq!(fails[0].0, Verdict::Proven);
    // Queen against bishop's pawn: the corner draws, the other square does not (theory, author uncertain).
    let corner = "8/8/8/8/6K1/1Q6/2p5/1k6 b - - 0 1";
    assert_eq!(verdicts(corner, &[("Ka1", "only drawing move")])[0].0, Verdict::Proven);
    assert_eq!(verdicts(corner, &[("Kc1 Kf3", "White wins")])[0].0, Verdict::Proven);
}

/// The study of the example film; every move of White's is the only one that draws, by the Syzygy tables.
#[test]
fn the_example_draws_by_moves_that_stand_alone() {
    let moves = ["b5", "Rc1 Ka7", "Ke4 b6", "Kd5 b7", "Kc6 b8=N+"];
    let cues: Vec<(&str, &str)> = moves.iter().map(|moves| (*moves, "only drawing move")).collect();
    let found = verdicts("8/8/1K6/8/1P6/5k2/8/1r6 w - - 0 1", &cues);
    assert!(found.iter().all(|(verdict, _)| *verdict == Verdict::Proven), "{found:#?}");
}
