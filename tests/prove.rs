//! `plyreel prove` as a whole: what it prints, and its exit code.

use std::path::Path;
use std::process::{Command, Output};

fn plyreel(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_plyreel"));
    command.args(arguments).env_remove("XDG_CACHE_HOME").env_remove("HOME");
    command
}

fn prove(arguments: &[&str]) -> Output {
    plyreel(&["prove"]).args(arguments).output().expect("the program runs")
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

/// Names and contents of the files in a folder of the cache.
fn kept(cache: &Path, folder: &str) -> Vec<(String, Vec<u8>)> {
    let entries = std::fs::read_dir(cache.join("plyreel").join(folder)).into_iter().flatten().flatten();
    let mut files: Vec<_> = entries
        .map(|entry| (entry.file_name().to_string_lossy().into_owned(), std::fs::read(entry.path()).expect("a file")))
        .collect();
    files.sort();
    files
}

#[test]
fn verdicts_and_tables_are_kept_and_damage_is_mended() {
    let folder = tempfile::tempdir().expect("a folder");
    let (film, cache) = (folder.path().join("film.toml"), folder.path().join("cache"));
    let text = r#"[[scene]]
fen = "7k/8/6K1/8/8/8/8/R7 w - - 0 1"
cues = [{ play = "Ra7", claim = ["mate in 2", "White wins", "check"] }, { play = "Kg8", claim = "mate in 1" }]
"#;
    std::fs::write(&film, text).expect("written");
    let check = |more: &[&str]| {
        let mut command = plyreel(&["check", "--format", "json"]);
        command.arg(&film).args(more).env("XDG_CACHE_HOME", &cache).output().expect("the program runs").stdout
    };
    let first = check(&["--no-cache"]);
    assert!(!cache.exists(), "--no-cache keeps nothing");
    assert!(check(&[]) == first);
    let (verdicts, tables) = (kept(&cache, "verdicts"), kept(&cache, "tables"));
    assert_eq!((verdicts.len(), tables.len()), (3, 1), "a verdict a claim that had to be searched for, and one table");
    assert!(check(&[]) == first);
    assert!(kept(&cache, "verdicts") == verdicts);
    // A verdict is read from its file: without the table, and as long as the file is whole.
    for (name, whole) in &tables {
        std::fs::write(cache.join("plyreel/tables").join(name), &whole[..whole.len() / 2]).expect("written");
    }
    assert!(check(&[]) == first);
    assert!(kept(&cache, "tables") != tables, "nobody needed the table");
    for (name, _) in &verdicts {
        std::fs::write(cache.join("plyreel/verdicts").join(name), "proven\nso they say\n").expect("written");
    }
    assert!(check(&[]) == first);
    assert!((kept(&cache, "verdicts"), kept(&cache, "tables")) == (verdicts, tables), "made again");
    let cleared = plyreel(&["clip", "--clear-cache", "-q"]).env("XDG_CACHE_HOME", &cache).status();
    assert!(cleared.expect("the program runs").success());
    assert_eq!(kept(&cache, "verdicts").len() + kept(&cache, "tables").len(), 0);
}

#[test]
fn a_syzygy_folder_that_cannot_be_used_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let (film, empty) = (folder.path().join("film.toml"), folder.path().join("empty"));
    std::fs::create_dir(&empty).expect("made");
    let code =
        |path: &Path| prove(&["--fen", MORPHY, "--claim", "#2", "--syzygy", &path.to_string_lossy()]).status.code();
    assert_eq!((code(&folder.path().join("nowhere")), code(&empty)), (Some(3), Some(2)));
    let text = format!("[film]\nsyzygy = \"nowhere\"\n[[scene]]\nfen = \"{MORPHY}\"\n");
    std::fs::write(&film, text).expect("written");
    let output = plyreel(&["check", "--format", "short"]).arg(&film).output().expect("the program runs");
    assert_eq!(output.status.code(), Some(1));
    let told = printed(&output);
    assert!(told.contains("the Syzygy folder `nowhere` cannot be used"), "{told}");
}
