//! How long proofs take: mates in two to six, endgame tables cold and warm, pawn endings by the graph; every answer is
//! checked, and the most memory that was held is printed.
//!
//! Not a microbenchmark: each question is asked once, as a user asks it, in a process of its own where it is about
//! tables. `cargo bench --features asm --bench proofs`.

use plyreel::game::PgnFiles;
use plyreel::proof::{self, Budget, TableStore, Verdict, Worth};
use plyreel::source::Source;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// No question takes longer by default, and no process holds more.
const LONGEST: Duration = Duration::from_mins(1);
const LARGEST: f64 = 4096.0;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    if let [state, folder, men] = words.as_slice()
        && state == "tables"
    {
        return tables(folder, men);
    }
    mates();
    pawn_endings();
    println!("\nmost memory held so far: {:.0} MB", held());
    tables_in_processes();
}

/// Megabytes that this process held at most.
fn held() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().trim_end_matches(" kB").parse::<f64>().ok()).unwrap_or(0.0) / 1024.0
}

/// Seconds of all cores that this process has taken; of a hundredth of a second each on Linux.
fn of_the_cores() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // The name in brackets may hold anything; behind it the times are the twelfth and the thirteenth word.
    let words = stat.rsplit_once(')').map_or("", |(_, words)| words).split_whitespace();
    words.skip(11).take(2).filter_map(|word| word.parse::<f64>().ok()).sum::<f64>() / 100.0
}

/// The time of a question, which is never longer than it may be.
fn timed<T>(ask: impl FnOnce() -> T) -> (T, Duration) {
    let start = Instant::now();
    let answer = ask();
    let took = start.elapsed();
    assert!(took < LONGEST, "{took:?}");
    assert!(held() < LARGEST, "{} MB", held());
    (answer, took)
}

/// The verdicts of claims made in a position.
fn judged(fen: &str, claims: &[&str], budget: Budget) -> Vec<(Verdict, String)> {
    let claims: Vec<String> = claims.iter().map(|claim| format!("\"{claim}\"")).collect();
    let cue = format!("{{ text = \"-\", claim = [{}] }}", claims.join(", "));
    let text = format!("[[scene]]\nfen = \"{fen}\"\ncues = [{cue}]\n");
    let (timeline, _) = plyreel::timeline::parse(&Source::new("proofs.toml", &*text));
    let (game, diagnostics) = plyreel::game::resolve(&timeline, &PgnFiles::new());
    assert!(diagnostics.is_empty(), "{text}\n{diagnostics:#?}");
    let findings = proof::judge_within(&game, budget);
    findings.into_iter().map(|finding| (finding.verdict, finding.witness)).collect()
}

/// The problems of the tests: the mate is found, and none shorter; then the whole report, which looks for cooks, duals,
/// set play and tries. Behind them the middle and the longest time for each number of moves, published ones by themselves.
fn mates() {
    println!("{:<5} {:<8} {:>12} {:>12}  position", "mate", "key", "mate found", "report");
    let mut times: BTreeMap<(&str, bool), Vec<(Duration, Duration)>> = BTreeMap::new();
    for line in include_str!("../tests/problems.txt").lines().filter(|line| !line.starts_with('#')) {
        let [moves, key, fen, whose] = line.split("; ").collect::<Vec<_>>()[..] else { panic!("four fields: {line}") };
        let claim = format!("mate in {moves}");
        let (found, took) = timed(|| judged(fen, &[&claim], Budget::default()));
        let first = found[0].1.split(' ').next().unwrap_or_default();
        let first = first.trim_start_matches(|sign: char| !sign.is_alphabetic()).trim_end_matches(['+', '#']);
        assert!(found[0].0 == Verdict::Proven && first == key, "{line}: {found:?}");
        let text = format!("[[scene]]\nfen = \"{fen}\"\ntask = \"#{moves}\"\n");
        let (timeline, _) = plyreel::timeline::parse(&Source::new("proofs.toml", &*text));
        let (game, _) = plyreel::game::resolve(&timeline, &PgnFiles::new());
        let plyreel::game::Body::Board(board) = &game.scenes[0].body else { panic!("a board") };
        let (report, all) = timed(|| proof::report(None, board, &[], Budget::of(25_000_000)));
        // A game need not have been a sound problem.
        let sound = report.soundness == Some("sound") || whose.starts_with("game ");
        assert!(sound, "{line}: {}", report.summary);
        println!("#{moves:<4} {key:<8} {:>9.2} ms {:>9.1} ms  {fen}  {whose}", millis(took), millis(all));
        times.entry((moves, whose == "made")).or_default().push((took, all));
    }
    println!(
        "\n{:<5} {:<10} {:>5} {:>26} {:>26}",
        "mate", "whose", "", "found: middle, longest", "report: middle, longest"
    );
    for ((moves, made), times) in times {
        let spread = |mut times: Vec<Duration>| {
            times.sort_unstable();
            format!("{:.2}, {:.2} ms", millis(times[times.len() / 2]), millis(times[times.len() - 1]))
        };
        let (found, reported): (Vec<_>, Vec<_>) = times.into_iter().unzip();
        let whose = if made { "made" } else { "published" };
        let count = found.len();
        println!("#{moves:<4} {whose:<10} {count:>5} {:>26} {:>26}", spread(found), spread(reported));
    }
}

fn millis(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

/// What no line can prove: all that can arise is looked at.
fn pawn_endings() {
    println!("\npawn endings by all that can arise");
    let usual = Budget::default();
    for (name, fen, claim, budget) in [
        // Every square by which a king could cross is guarded by a pawn that nothing can move.
        ("a wall of eight pawns", "4k3/8/p1p1p1p1/P1P1P1P1/8/8/8/4K3 w - - 0 1", "draw", usual),
        ("a wall one row lower", "4k3/8/8/p1p1p1p1/P1P1P1P1/8/8/4K3 w - - 0 1", "draw", usual),
        // A mutual zugzwang, by trying everything with another program; here without any table.
        ("king and pawn against king", "8/8/8/3k4/8/3K4/4P3/8 w - - 0 1", "draw", Budget { men: 2, ..usual }),
        // From memory: 1.Kb1 and corresponding squares.
        (
            "Em. Lasker and G. Reichhelm 1901",
            "8/k7/3p4/p2P1p2/P2P1P2/8/8/K7 w - - 0 1",
            "White wins",
            Budget::of(120_000_000),
        ),
    ] {
        let (found, took) = timed(|| judged(fen, &[claim], budget));
        assert_eq!(found[0].0, Verdict::Proven, "{name}: {}", found[0].1);
        println!("{:>9.1} ms  {name}: {}", millis(took), found[0].1);
    }
}

/// Tables in a folder, a file each.
struct Folder(PathBuf);

impl TableStore for Folder {
    fn get(&self, name: &str) -> Option<Vec<u8>> {
        std::fs::read(self.0.join(name)).ok()
    }

    fn put(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.0.join(name), bytes).expect("the folder takes a table");
    }
}

/// A table each of these materials, made in one process and read back by another.
fn tables_in_processes() {
    println!("\nendgame tables: made, then read back by another process");
    let program = std::env::current_exe().expect("this program");
    // Behind a material of five men the longest mate that handbooks give for it (from memory).
    let fives = [("BBn", 78), ("RBr", 65), ("QQq", 30), ("QNq", 41), ("BNn", 107)];
    let four = ["Q", "P", "BB", "BN", "Qr", "Rp", "Pp", "all four"].map(|men| (men, 0));
    for (men, longest) in four.into_iter().chain(fives) {
        let folder = tempfile::tempdir().expect("a folder");
        let mut told = Vec::new();
        for state in ["cold", "warm"] {
            let output = Command::new(&program).args(["tables", folder.path().to_str().expect("UTF-8"), men]).output();
            let output = output.expect("this program runs");
            assert!(output.status.success(), "{men}: {}", String::from_utf8_lossy(&output.stderr));
            let text = String::from_utf8_lossy(&output.stdout).into_owned();
            let (took, worths) = text.trim().split_once('\n').expect("two lines");
            println!("{men:<9} {state}: {took}");
            told.push(worths.to_owned());
        }
        assert_eq!(told[0], told[1], "{men}: what was read back says something else");
        if longest > 0 {
            assert!(told[0].ends_with(&format!("\n{longest}")), "{men}: {}", told[0]);
            println!("{men:<9} longest mate: {longest} moves, as the handbooks have it");
        }
    }
}

/// Asks for a position of each table, and prints the time and the answers; `tests/proof.rs` judges the tables.
fn tables(folder: &str, men: &str) {
    proof::keep_tables_in(Some(Arc::new(Folder(folder.into()))));
    let every: Vec<String> = if men == "all four" { of_four() } else { vec![men.to_owned()] };
    let fens: Vec<String> = every.iter().flat_map(|men| placements(men)).collect();
    let ask = || fens.iter().map(|fen| proof::worth_of_five(fen)).collect::<Vec<Option<Worth>>>();
    // All of them together are no question that anybody asks.
    let start = Instant::now();
    let (worths, took) = if every.len() > 1 { (ask(), start.elapsed()) } else { timed(ask) };
    assert!(worths.iter().any(Option::is_some));
    println!("{:.2} s, {:.1} s of the cores, {:.0} MB held at most", took.as_secs_f64(), of_the_cores(), held());
    println!("{worths:?}");
    if let [men] = every.as_slice()
        && men.len() == 3
    {
        println!("{}", proof::longest_mate(&fens[0]).unwrap_or(0));
    }
}

/// Every way to add two men to the kings, colours once.
fn of_four() -> Vec<String> {
    let men: Vec<char> = "QRBNPqrbnp".chars().collect();
    let mut found = Vec::new();
    for (i, one) in men.iter().enumerate() {
        found.extend(men[i..].iter().map(|other| format!("{one}{other}")));
    }
    found
}

/// A position with these men for each file that their pawns may stand on, the kings out of the way.
fn placements(men: &str) -> Vec<String> {
    let files = |letter: char| if letter.eq_ignore_ascii_case(&'p') { 8 } else { 1 };
    let letters: Vec<char> = men.chars().collect();
    let mut found = Vec::new();
    let count: usize = letters.iter().map(|letter| files(*letter)).product();
    for number in 0..count {
        let mut rows = [[' '; 8]; 8];
        (rows[0][7], rows[7][0]) = ('k', 'K');
        let mut left = number;
        for (index, letter) in letters.iter().enumerate() {
            let file = left % files(*letter);
            left /= files(*letter);
            // Each man on a row of its own, pieces where they attack neither king.
            let row = 2 + index;
            let file = if files(*letter) == 1 { 2 + index } else { file };
            rows[row][file] = *letter;
        }
        let mut placement = rows.map(|row| row.iter().collect::<String>()).join("/");
        for empty in (1..=8).rev() {
            placement = placement.replace(&" ".repeat(empty), &empty.to_string());
        }
        found.extend(["w", "b"].map(|turn| format!("{placement} {turn} - - 0 1")));
    }
    found
}
