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
    assert!(printed(&human).contains("#2, proven: Ra6 is the only key"), "{}", printed(&human));
    assert!(
        printed(&human).contains("\n  1.Ra6! (zugzwang)\n     1...B\u{7e} 2.Rxa7#\n     1...bxa6 2.b7#\n"),
        "{}",
        printed(&human)
    );
    let markdown = printed(&prove(&["--fen", MORPHY, "--claim", "#2", "--format", "markdown"]));
    assert!(markdown.starts_with("## kbK5") && markdown.contains("\n- 1...bxa6 2.b7#\n"), "{markdown}");
    let html = printed(&prove(&["--fen", MORPHY, "--claim", "#2", "--format", "html"]));
    assert!(html.starts_with("<!doctype html>") && html.contains(">1...bxa6 2.b7#</p>"), "{html}");
    assert!(!html.contains("<img") && !html.contains("<script") && !html.contains("http"), "it stands alone");
    let json = prove(&["--fen", MORPHY, "--claim", "#2", "--format", "json"]);
    let value: serde_json::Value = serde_json::from_slice(&json.stdout).expect("one JSON object");
    assert_eq!(value["reports"][0]["verdict"], "proven");
    assert_eq!(value["reports"][0]["soundness"], "sound");
    assert_eq!(value["reports"][0]["sections"][0]["id"], "key");
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
    assert_eq!(code(&["--fen", MORPHY, "-o", "report.docx"]), Some(2));
    assert_eq!(code(&["there-is-no-such-film.toml"]), Some(3));
}

#[test]
fn a_claim_of_the_last_move_stands_beside_it() {
    let line = ["--fen", "7k/8/6K1/6P1/8/8/8/8 w - - 0 1", "--line", "Kf7 Kh7 g6+", "--claim", "only winning move"];
    let text = printed(&prove(&line));
    assert!(text.contains("\n    2.g6+  proven  only winning move: "), "{text}");
}

#[test]
fn a_tree_has_the_exit_codes_and_the_words_of_the_others() {
    let tree = |fen: &str, claim: &str, more: &[&str]| {
        let output = prove(&[&["--tree", "--fen", fen, "--claim", claim], more].concat());
        (output.status.code(), printed(&output), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let (code, text, told) = tree(MORPHY, "#2", &[]);
    assert_eq!((code, told.as_str()), (Some(0), ""));
    assert!(text.starts_with("[Event ") && text.contains("1. Ra6"), "{text}");
    let (code, text, told) = tree(MORPHY, "mate in 1", &[]);
    assert_eq!((code, text.as_str()), (Some(1), ""));
    assert!(told.contains("error[claim-refuted]: the claim `mate in 1` is not true"), "{told}");
    let array = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";
    let (code, text, told) = tree(array, "#4", &["--budget", "1ms"]);
    assert_eq!((code, text.as_str()), (Some(1), ""));
    assert!(told.contains("error[claim-open]") && told.contains("--budget"), "{told}");
    let (code, _, told) = tree("kbK5/pp6/1P6/8/8/8/8/R8 w - - 0 1", "#2", &[]);
    assert_eq!(code, Some(1));
    assert!(told.contains("error[fen]") && told.contains('^'), "{told}");
    let (code, text, _) = tree(MORPHY, "#1", &["--format", "json"]);
    let value: serde_json::Value = serde_json::from_str(&text).expect("one JSON object");
    assert_eq!((code, value["diagnostics"][0]["code"].as_str()), (Some(1), Some("claim-refuted")));
    assert_eq!(tree(MORPHY, "White wins", &[]).0, Some(2));
}

#[test]
fn doubts_of_the_input_are_told_on_standard_error() {
    let folder = tempfile::tempdir().expect("a folder");
    let film = folder.path().join("film.toml");
    let text = format!("[[scene]]\nfen = \"{MORPHY}\"\ntask = \"#2\"\ncues = [{{ play = \"Ra6\", every = \"1s\" }}]\n");
    std::fs::write(&film, text).expect("written");
    let path = film.to_str().expect("a path in UTF-8");
    for form in ["human", "short", "markdown", "html"] {
        let output = prove(&[path, "--format", form]);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{form}: {told}");
        assert!(told.contains("`every` has no effect") && !printed(&output).contains("`every`"), "{form}: {told}");
    }
    let json = prove(&[path, "--format", "json"]);
    assert!(json.stderr.is_empty() && printed(&json).contains("`every` has no effect"));
    let wrong = prove(&["--fen", "8/8/8/8/8/8/8/8 w - - 0 1", "--format", "markdown"]);
    assert_eq!(wrong.status.code(), Some(1));
    assert!(!wrong.stderr.is_empty(), "mistakes are told, whatever the form of the report");
}

#[test]
fn a_claim_is_judged_where_the_line_ends() {
    let output = prove(&["--fen", "7k/8/6K1/6P1/8/8/8/8 w - - 0 1", "--line", "Kf7 Kh7 g6+", "--claim", "White wins"]);
    assert_eq!(output.status.code(), Some(0));
    let text = printed(&output);
    assert!(text.contains("2.g6+  proven  White wins: White mates in"), "{text}");
    assert!(text.contains("1.Kf6 and Kh6 only waste time"), "{text}");
    assert!(text.contains("  1.Kf7! (Kf6 and Kh6 only waste time) 1...Kh7 2.g6+! "), "{text}");
}

#[test]
fn a_film_is_reported_as_a_whole_into_a_file() {
    let film = concat!(env!("CARGO_MANIFEST_DIR"), "/out-example/not-a-queen.toml");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let into = |name: &str| {
        let path = folder.join(name);
        let path_name = path.to_str().expect("a path in UTF-8");
        let output = prove(&[film, "-o", path_name]);
        assert_eq!((output.status.code(), printed(&output)), (Some(0), format!("{path_name}\n")));
        std::fs::read_to_string(path).expect("the report was written")
    };
    // What lies beside the example is what the program writes.
    for name in ["report.md", "report.html"] {
        let kept = format!("{}/out-example/{name}", env!("CARGO_MANIFEST_DIR"));
        assert_eq!(
            into(name),
            std::fs::read_to_string(&kept).expect("the example's report"),
            "{kept}: run scripts/example"
        );
    }
    let value: serde_json::Value = serde_json::from_str(&into("report.json")).expect("one JSON object");
    assert_eq!(value["title"], "Not a queen tonight");
    let reports = value["reports"].as_array().expect("a list");
    assert_eq!(reports.len(), 1, "the slow replay shows what was shown before");
    assert_eq!(reports[0]["soundness"], "sound");
    assert_eq!(value["claims"].as_array().map(Vec::len), Some(3));
}

#[test]
fn a_motif_is_claimed_of_a_position() {
    let fork = ["--fen", "r3k3/8/8/1N6/8/8/8/4K3 w - - 0 1", "--line", "Nc7+"];
    let claimed = |claim: &str| prove(&[&fork[..], &["--claim", claim]].concat());
    assert_eq!(claimed("fork a8").status.code(), Some(0));
    assert_eq!(claimed("pin").status.code(), Some(1));
    let refused = claimed("fork z9");
    assert_eq!(refused.status.code(), Some(1));
    let told = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(told.contains("`z9` is no square of the board") && told.contains("`fork e4`"), "{told}");
}

#[test]
fn only_prove_makes_pages() {
    let output = Command::new(env!("CARGO_BIN_EXE_plyreel"))
        .args(["check", "film.toml", "--format", "html"])
        .output()
        .expect("the program runs");
    assert_eq!(output.status.code(), Some(2));
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
    // Every command that proves a film's claims takes the folder.
    std::fs::write(&film, format!("[[scene]]\nfen = \"{MORPHY}\"\n")).expect("written");
    for words in [
        &["check"][..],
        &["still", "--at", "0:00", "-o", "out.png"],
        &["frames", "-o", "out"],
        &["replay"],
        &["clip"],
        &["kit", "-o", "out"],
        &["thumb"],
    ] {
        let output = plyreel(words).arg(&film).args(["--syzygy", "nowhere"]).current_dir(&folder).output();
        let output = output.expect("the program runs");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.code() == Some(3) && told.contains("nowhere"), "{words:?}: {told}");
    }
    let text = format!("[film]\nsyzygy = \"nowhere\"\n[[scene]]\nfen = \"{MORPHY}\"\n");
    std::fs::write(&film, text).expect("written");
    let output = plyreel(&["check", "--format", "short"]).arg(&film).output().expect("the program runs");
    assert_eq!(output.status.code(), Some(1));
    let told = printed(&output);
    assert!(told.contains("the Syzygy folder `nowhere` cannot be used"), "{told}");
}
