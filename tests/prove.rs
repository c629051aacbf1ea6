//! `plyreel prove` as a whole: what it prints, and its exit code.

use std::process::{Command, Output};

fn prove(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_plyreel")).arg("prove").args(arguments).output().expect("the program runs")
}

fn printed(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("the report is UTF-8")
}

/// P. Morphy 1856, mate in 2 (from memory).
const MORPHY: &str = "kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1";

#[test]
fn a_problem_is_reported_in_three_forms() {
    let human = prove(&["--fen", MORPHY, "--claim", "#2"]);
    assert_eq!(human.status.code(), Some(0));
    assert!(printed(&human).contains("#2  proven: Ra6 is the only key"), "{}", printed(&human));
    let markdown = printed(&prove(&["--fen", MORPHY, "--claim", "#2", "--markdown"]));
    assert!(markdown.starts_with("## kbK5") && markdown.contains("| 1...bxa6 | mate | 2.b7# |"), "{markdown}");
    let json = prove(&["--fen", MORPHY, "--claim", "#2", "--format", "json"]);
    let value: serde_json::Value = serde_json::from_slice(&json.stdout).expect("one JSON object");
    assert_eq!(value["reports"][0]["verdict"], "proven");
    assert_eq!(value["reports"][0]["sections"][0]["rows"][0]["moves"], "1.Ra6");
}

#[test]
fn exit_codes_tell_what_happened() {
    let code = |arguments: &[&str]| prove(arguments).status.code();
    assert_eq!(code(&["--fen", MORPHY, "--claim", "mate in 1"]), Some(1), "refuted");
    assert_eq!(code(&["--fen", MORPHY, "--claim", "a fine thing"]), Some(1), "no claim");
    assert_eq!(code(&["--fen", MORPHY, "--line", "Ra6 Kb8"]), Some(1), "an illegal move");
    assert_eq!(code(&["--fen", MORPHY, "--budget", "soon"]), Some(2));
    assert_eq!(code(&[]), Some(2));
    assert_eq!(code(&["there-is-no-such-film.toml"]), Some(3));
}

#[test]
fn a_claim_is_judged_where_the_line_ends() {
    let output = prove(&["--fen", "7k/8/6K1/6P1/8/8/8/8 w - - 0 1", "--line", "Kf7 Kh7 g6+", "--claim", "White wins"]);
    assert_eq!(output.status.code(), Some(0));
    let text = printed(&output);
    assert!(text.contains("White wins: proven: White mates in"), "{text}");
    assert!(text.contains("1.Kf6 and Kh6 only waste time"), "{text}");
}
