//! Published mates and some made for this list, each with its key, against an exhaustive search by another program; the
//! ends of published games are replayed by python-chess and by our own reader.
//!
//! Needs `python3` with the package `chess`.

use plyreel::game::{Body, PgnFiles};
use plyreel::proof::{self, Budget, Verdict};
use plyreel::source::Source;
use std::io::Write;
use std::process::{Command, Stdio};
use std::sync::Arc;

/// A line of `problems.txt`.
struct Problem {
    moves: u32,
    key: &'static str,
    fen: &'static str,
    whose: &'static str,
}

fn problems() -> Vec<Problem> {
    let lines = include_str!("problems.txt").lines().filter(|line| !line.starts_with('#'));
    lines
        .map(|line| {
            let [moves, key, fen, whose] = line.split("; ").collect::<Vec<_>>()[..] else {
                panic!("four fields: {line}")
            };
            Problem { moves: moves.parse().expect("a number of moves"), key, fen, whose }
        })
        .collect()
}

/// What `tests/judges/mates.py` writes, asked like this and given this to read.
fn judged(asked: &str, given: &str) -> Vec<String> {
    let mut judge = Command::new("python3")
        .args([concat!(env!("CARGO_MANIFEST_DIR"), "/tests/judges/mates.py"), asked])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("this test needs python3");
    judge.stdin.take().expect("piped").write_all(given.as_bytes()).expect("the judge listens");
    let output = judge.wait_with_output().expect("the judge ends");
    assert!(output.status.success(), "the judge failed");
    String::from_utf8(output.stdout).expect("the judge writes UTF-8").lines().map(str::to_owned).collect()
}

/// The verdict and the witness of each claim made in a position.
fn verdicts(fen: &str, claims: &[String; 2]) -> Vec<(Verdict, String)> {
    let text = format!("[[scene]]\nfen = \"{fen}\"\ncues = [{{ text = \"-\", claim = {claims:?} }}]\n");
    let (timeline, _) = plyreel::timeline::parse(&Source::new("problems.toml", &*text));
    let (game, diagnostics) = plyreel::game::resolve(&timeline, &PgnFiles::new());
    assert!(diagnostics.is_empty(), "{text}\n{diagnostics:#?}");
    let findings = proof::judge_within(&game, Budget::of(25_000_000));
    findings.into_iter().map(|finding| (finding.verdict, finding.witness)).collect()
}

/// Each has its key and no other, no shorter mate, and so says another program of those in two and three moves; in a
/// build without debug assertions of those in four too.
#[test]
fn problems_have_the_keys_that_another_program_finds() {
    let problems = problems();
    let published = problems.iter().filter(|problem| problem.whose != "made").count();
    let compositions = published - problems.iter().filter(|problem| problem.whose.starts_with("game ")).count();
    assert_eq!((problems.len(), published, compositions), (40, 27, 9));
    let most = if cfg!(debug_assertions) { 3 } else { 4 };
    let judging: Vec<&Problem> = problems.iter().filter(|problem| problem.moves <= most).collect();
    let lines: Vec<String> = judging.iter().map(|problem| format!("{};{}\n", problem.fen, problem.moves)).collect();
    let lines = lines.concat();
    let judge = std::thread::spawn(move || judged("--keys", &lines));
    for Problem { moves, key, fen, whose } in &problems {
        let found = verdicts(fen, &[format!("mate in {moves}"), format!("mate in {}", moves - 1)]);
        assert_eq!((found[0].0, found[1].0), (Verdict::Proven, Verdict::Refuted), "{whose}, {fen}: {found:?}");
        let first =
            found[0].1.split(' ').next().unwrap_or_default().trim_start_matches(|sign: char| !sign.is_alphabetic());
        assert_eq!(first.trim_end_matches(['+', '#']), *key, "{whose}, {fen}: {found:?}");
    }
    let expected: Vec<&str> = judging.iter().map(|problem| problem.key).collect();
    assert_eq!(judge.join().expect("the judge ends"), expected);
}

/// The position of each game is where another program and our own reader come by its moves, and the key was played.
#[test]
fn ends_of_games_are_where_their_moves_lead() {
    let text = include_str!("game_ends.pgn");
    let problems = problems();
    let ends: Vec<&Problem> = problems.iter().filter(|problem| problem.whose.starts_with("game ")).collect();
    let expected: Vec<String> =
        ends.iter().map(|Problem { moves, key, fen, .. }| format!("{moves};{key};{fen}")).collect();
    assert_eq!(judged("--ends", text), expected);
    let files = PgnFiles::from([("ends.pgn".to_owned(), Ok(Arc::new(Source::new("ends.pgn", text))))]);
    let scenes: Vec<String> =
        (1..=ends.len()).map(|number| format!("[[scene]]\npgn = \"ends.pgn\"\ngame = {number}\n")).collect();
    let scenes = scenes.concat();
    let (timeline, mut diagnostics) = plyreel::timeline::parse(&Source::new("ends.toml", &*scenes));
    let (game, found) = plyreel::game::resolve(&timeline, &files);
    diagnostics.extend(found);
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
    assert_eq!(game.scenes.len(), ends.len());
    for (scene, problem) in game.scenes.iter().zip(ends) {
        let Body::Board(board) = &scene.body else { panic!("a game has a board") };
        let next = board.nodes.iter().find_map(|node| {
            let (before, ply) = node.came.as_ref()?;
            (board.nodes[before.0].fen == problem.fen).then_some(ply.san.trim_end_matches(['+', '#']))
        });
        assert_eq!(next, Some(problem.key), "{}", problem.whose);
    }
}
