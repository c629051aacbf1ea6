//! The whole program: what it prints, where, and with which exit code.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn plyreel(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_plyreel"));
    // Chunks of an earlier run must not stand in for what is tested.
    command.args(arguments).env_remove("NO_COLOR").env_remove("HOME").env_remove("XDG_CACHE_HOME").stdin(Stdio::null());
    command
}

fn run(arguments: &[&str]) -> Output {
    plyreel(arguments).output().expect("the program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("the program prints UTF-8")
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("the program was not killed")
}

/// A folder with a small film in it: 240 lines, 24 frames a second, four seconds.
fn small_film() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("film.toml");
    fs::write(&path, SMALL).expect("a file");
    (folder, path)
}

const SMALL: &str = r#"
[film]
title = "Small"
height = 240
fps = 24
ends = "0:04"

[[scene]]
name = "One"
fen = "8/k1P5/p7/K7/8/8/8/8 w - - 0 1"
task = "White to play and win"
cues = [
  { at = "0:00.5", play = "c8=Q?", line = "try", claim = "stalemate", label = "quiet" },
  { at = "0:02.0", back = "start" },
  { at = "0:03.0", play = "c8=R!", line = "solution" },
]
"#;

#[test]
fn help_and_version_are_results() {
    let help = run(&["--help"]);
    assert_eq!(code(&help), 0);
    let shown = text(&help.stdout);
    for word in ["Examples:", "Exit codes:"].iter().chain(&COMMANDS) {
        assert!(shown.contains(word), "--help does not mention {word}");
    }
    let version = run(&["--version"]);
    assert_eq!(text(&version.stdout), format!("plyreel {}\n", env!("CARGO_PKG_VERSION")));
}

#[test]
fn bad_usage_is_code_2_and_talks_on_standard_error() {
    let (_folder, film) = small_film();
    let film = film.to_str().expect("a plain path");
    let cases: &[&[&str]] = &[
        &["clop"],
        &["clip"],
        &["clip", film, "-o", "x.avi"],
        &["clip", film, "--from", "noon"],
        &["clip", film, "--from", "0:03", "--to", "0:01"],
        &["clip", film, "--scene", "Two"],
        &["clip", film, "--layout", "pannel"],
        &["still", film, "--at", "quite", "-o", "x.png"],
        &["still", film, "--at", "0:01", "-o", "x.jpg"],
        &["still", film, "--at", "9:00", "-o", "x.png"],
    ];
    for case in cases {
        let output = run(case);
        assert_eq!(code(&output), 2, "{case:?}: {}", text(&output.stderr));
        assert!(output.stdout.is_empty(), "{case:?} talks on standard output");
        assert!(!output.stderr.is_empty(), "{case:?} says nothing");
    }
    let misspelt = run(&["clip", film, "--layout", "pannel"]);
    assert!(text(&misspelt.stderr).contains("panel"), "{}", text(&misspelt.stderr));
    let container = run(&["clip", film, "-o", "x.avi"]);
    assert!(text(&container.stderr).contains(".mp4"), "{}", text(&container.stderr));
}

/// What `--help` says below the options, at a width of so many columns.
fn end_of_help(command: &str, columns: &str) -> String {
    let mut help = plyreel(&[command, "--help"]);
    let shown = text(&help.env("COLUMNS", columns).output().expect("the program starts").stdout);
    let start = shown.find("\nExample").unwrap_or_else(|| panic!("{command} --help has no example"));
    shown[start..].to_owned()
}

const COMMANDS: [&str; 14] = [
    "new",
    "check",
    "clip",
    "join",
    "frames",
    "still",
    "thumb",
    "replay",
    "draft",
    "kit",
    "sync",
    "prove",
    "schema",
    "completions",
];

#[test]
fn examples_stand_on_their_lines_in_a_terminal_of_80_columns() {
    for command in COMMANDS {
        assert_eq!(end_of_help(command, "80"), end_of_help(command, "200"), "{command}");
    }
}

#[test]
fn help_is_in_order_and_names_values() {
    let clip = text(&run(&["clip", "--help"]).stdout);
    let places: Vec<Option<usize>> = [
        "What is made:",
        "How it looks:",
        "How it sounds:",
        "Speed, and what is kept:",
        "What is checked:",
        "Messages:",
    ]
    .iter()
    .map(|heading| clip.find(heading))
    .collect();
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{places:?}\n{clip}");
    for command in COMMANDS {
        let help = text(&run(&[command, "--help"]).stdout);
        assert_eq!(help.contains("markdown"), command == "prove", "{command}");
        for short in ["-h, --help", "-q, --quiet", "--format"] {
            assert!(help.contains(short), "{command} --help lacks {short}");
        }
    }
    for command in ["draft", "sync"] {
        assert!(text(&run(&[command, "--help"]).stdout).contains("[possible values: en, de]"), "{command}");
    }
}

#[test]
fn what_is_missing_is_named_with_what_could_stand_for_it() {
    for (arguments, named) in
        [(&["prove"][..], &["--fen", "FILE"][..]), (&["draft", "--words", "w.vtt"], &["--pgn", "--fen", "--pin"])]
    {
        let output = run(arguments);
        assert_eq!(code(&output), 2);
        let shown = text(&output.stderr);
        assert!(named.iter().all(|word| shown.contains(word)), "{arguments:?}: {shown}");
    }
}

#[test]
fn a_moment_that_is_none_is_told_why() {
    let (_folder, film) = small_film();
    let film = film.to_str().unwrap();
    for (at, why) in [
        ("quite", "did you mean `quiet`?"),
        ("xyz", "its labels are: quiet"),
        ("1:75", "00 to 59"),
        ("-1", "`-1` is no time"),
    ] {
        let output = run(&["still", film, "--at", at, "-o", "x.png"]);
        assert_eq!(code(&output), 2, "{at}");
        assert!(text(&output.stderr).contains(why), "{at}: {}", text(&output.stderr));
    }
    let output = run(&["clip", film, "--height", "-3"]);
    assert_eq!((code(&output), text(&output.stderr).contains("240 to 2160")), (2, true), "{}", text(&output.stderr));
    let output = run(&["replay", film, "--line", "quite", "-o", "x.webp"]);
    assert!(text(&output.stderr).contains("did you mean `quiet`?"), "{}", text(&output.stderr));
}

#[test]
fn many_files_go_into_a_folder_and_a_film_that_is_watched_into_a_file() {
    let (folder, film) = small_film();
    let film = film.to_str().unwrap();
    let thumbnail = "\n[[thumbnail]]\nscene = \"One\"\nwords = \"Not *yet*\"\n";
    fs::write(film, format!("{SMALL}{thumbnail}")).unwrap();
    for arguments in [
        &["frames", film, "-o", "-"][..],
        &["kit", film, "-o", "-"],
        &["thumb", film, "-o", "-"],
        &["clip", film, "--watch", "-o", "-"],
    ] {
        let output = plyreel(arguments).current_dir(folder.path()).output().unwrap();
        assert_eq!(code(&output), 2, "{arguments:?}: {}", text(&output.stderr));
    }
    assert_eq!(names_in(folder.path()), ["film.toml"]);
    // Beside a timeline in this folder its film has a plain name.
    let output = plyreel(&["clip", "film.toml", "--draft"]).current_dir(folder.path()).output().unwrap();
    assert_eq!(text(&output.stdout), "film.mp4\n");
}

#[test]
fn a_text_that_is_not_in_utf_8_is_told_how_to_become_it() {
    let (folder, film) = small_film();
    let utf16: Vec<u8> = "\u{feff}[film]\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let mut latin = SMALL.replace("Small", "Gro\u{1}").into_bytes();
    latin.iter_mut().filter(|byte| **byte == 1).for_each(|byte| *byte = 0xDF);
    for (bytes, why) in [(&utf16, "UTF-16"), (&latin, "not UTF-8 from line 3 on")] {
        fs::write(&film, bytes).unwrap();
        let output = run(&["check", film.to_str().unwrap()]);
        assert_eq!(code(&output), 3);
        let shown = text(&output.stderr);
        assert!(shown.contains(why) && shown.contains("save it as UTF-8"), "{shown}");
    }
    drop(folder);
}

#[test]
fn a_file_that_is_named_and_not_there_says_where_it_is_looked_for() {
    let (folder, film) = small_film();
    let named = "fps = 24\nnarration = \"voice.flac\"\ndescription = \"words.txt\"";
    fs::write(&film, SMALL.replace("fps = 24", named)).unwrap();
    let shown = text(&run(&["check", film.to_str().unwrap()]).stdout);
    assert!(shown.contains("voice.flac: no such file or folder"), "{shown}");
    assert!(shown.contains("words.txt: no such file or folder"), "{shown}");
    assert_eq!(shown.matches("the path is taken from the timeline's own folder").count(), 2, "{shown}");
    // Colours named on the command line lie where the command is typed.
    let output = run(&["check", film.to_str().unwrap(), "--format", "short"]);
    assert_eq!(code(&output), 1);
    fs::write(&film, SMALL).unwrap();
    let still = |theme: &str| {
        let film = film.to_str().unwrap();
        let out = folder.path().join("x.png");
        let mut command = plyreel(&["still", film, "--at", "1", "-o", out.to_str().unwrap(), "--theme", theme]);
        command.current_dir(folder.path().join("colours")).output().unwrap()
    };
    fs::create_dir(folder.path().join("colours")).unwrap();
    let output = still("night.toml");
    assert_eq!((code(&output), text(&output.stderr).contains("cannot read night.toml")), (3, true));
    fs::write(folder.path().join("colours/night.toml"), "base = \"tide\"\n").unwrap();
    let output = still("night.toml");
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
}

#[test]
fn a_recording_that_breaks_off_is_doubted() {
    let (folder, film) = small_film();
    let named = SMALL.replace("ends = \"0:04\"", "narration = \"voice.wav\"");
    fs::write(&film, named).unwrap();
    // RIFF WAVE of six seconds in its header and four in the file: 8000 Hz, one channel, 8 bits.
    let mut wav = b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0\x40\x1F\0\0\x40\x1F\0\0\x01\0\x08\0data".to_vec();
    wav.extend(48_000_u32.to_le_bytes());
    let riff = (wav.len() as u32 - 8 + 48_000).to_le_bytes();
    wav[4..8].copy_from_slice(&riff);
    wav.extend(vec![128; 48_000]);
    let check = |wav: &[u8]| {
        fs::write(folder.path().join("voice.wav"), wav).unwrap();
        text(&run(&["check", film.to_str().unwrap()]).stdout)
    };
    assert!(!check(&wav).contains("is not whole"), "{}", check(&wav));
    let shown = check(&wav[..wav.len() - 16_000]);
    assert!(shown.contains("is not whole"), "{shown}");
}

#[test]
fn a_stipulation_of_another_kind_is_not_taken_for_one_that_is_known() {
    for claim in ["ser-h#5", "hs#3", "z#2", "stalemate in 2"] {
        let output = run(&["prove", "--fen", "kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1", "--claim", claim]);
        assert_eq!(code(&output), 1, "{claim}");
        assert!(text(&output.stderr).contains("no claim that can be checked"), "{claim}: {}", text(&output.stderr));
    }
}

#[test]
fn a_height_beside_a_frame_from_elsewhere_is_not_left_out_in_silence() {
    let (folder, film) = small_film();
    let path = film.to_str().expect("a plain path");
    fs::write(folder.path().join("series.toml"), "[film]\nframe = \"426x240\"\n").expect("a file");
    let styled = SMALL.replace("fps = 24", "fps = 24\nstyle = \"series.toml\"");
    fs::write(&film, &styled).expect("a file");
    let output = run(&["check", path, "--format", "short"]);
    let said = text(&output.stdout) + &text(&output.stderr);
    assert!(
        said.contains("film.toml:4:10: warning[conflict]: `height` has no effect with a frame of 426x240"),
        "{said}"
    );
    // What is the film's own goes before the style's, without a word.
    fs::write(&film, styled.replace("height = 240", "frame = \"300x240\"")).expect("a file");
    fs::write(folder.path().join("series.toml"), "[film]\nheight = 720\n").expect("a file");
    let output = run(&["check", path, "--format", "short"]);
    let said = text(&output.stdout) + &text(&output.stderr);
    assert!(code(&output) == 0 && !said.contains("height"), "{said}");
    // On the command line it cannot be meant.
    let png = folder.path().join("x.png");
    let still = |more: &[&str]| {
        let output = run(&[&["still", path, "--at", "1", "-o", png.to_str().unwrap()], more].concat());
        (code(&output), text(&output.stderr))
    };
    let (status, said) = still(&["--height", "480"]);
    assert!(status == 2 && said.contains("--height: `height` has no effect with a frame of 300x240"), "{said}");
    assert_eq!(still(&["--height", "240", "--frame", "wide"]).0, 0);
    assert_eq!(still(&[]).0, 0);
}

#[test]
fn the_world_failing_is_code_3() {
    let missing = run(&["check", "no-such-film.toml"]);
    assert_eq!(code(&missing), 3);
    assert_eq!(text(&missing.stderr), "plyreel: cannot read no-such-film.toml: no such file or folder\n");

    let (_folder, film) = small_film();
    let nowhere = run(&["still", film.to_str().unwrap(), "--at", "1", "-o", "/no-such-folder/x.png"]);
    assert_eq!(code(&nowhere), 3, "{}", text(&nowhere.stderr));
}

/// What each command that writes is told besides the film and the place.
const WRITERS: &[(&str, &[&str])] = &[
    ("x.mp4", &["clip"]),
    ("x.webm", &["clip", "--coder", "rav1e"]),
    ("x.mp4", &["clip", "--layout", "overlay"]),
    ("x.plyreel", &["clip", "--chunk", "2/2"]),
    ("frames", &["frames"]),
    ("x.png", &["still", "--at", "1"]),
    ("kit", &["kit"]),
];

#[cfg(unix)]
#[test]
fn a_full_disk_is_code_3_and_leaves_nothing() {
    let (folder, film) = small_film();
    for (place, command) in WRITERS {
        // No file may be larger than a kilobyte or half of one: a write fails in the middle, as on a full disk. Without
        // the trap the system would end the program instead of failing the write.
        let limited = ["-c", "trap '' XFSZ; ulimit -f 1; exec \"$@\"", "sh", env!("CARGO_BIN_EXE_plyreel")];
        let mut program = Command::new("sh");
        program.args(limited).args(*command).arg(&film).arg("-o").arg(folder.path().join(place));
        let output = program.env_remove("HOME").env_remove("XDG_CACHE_HOME").output().expect("a shell");
        let said = text(&output.stderr);
        assert_eq!(code(&output), 3, "{command:?}: {said}");
        // An overlay's files are `x.fill.mp4` and `x.key.mp4`.
        let stem = place.split('.').next().unwrap_or(place);
        let begins = format!("cannot write {}", folder.path().join(stem).display());
        assert!(said.contains(&begins) && output.stdout.is_empty(), "{command:?}: {said}");
        assert_eq!(names_in(folder.path()), ["film.toml"], "{command:?}");
    }
}

/// Nobody may write into this folder, not even root.
#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_cannot_be_written_to_is_code_3() {
    let (folder, film) = small_film();
    for (place, command) in WRITERS {
        let place = Path::new("/sys").join(place);
        let output = plyreel(command).arg(&film).arg("-o").arg(&place).output().expect("the program starts");
        let said = text(&output.stderr);
        assert_eq!(code(&output), 3, "{command:?}: {said}");
        assert!(said.contains("cannot write /sys/") && output.stdout.is_empty(), "{command:?}: {said}");
        assert_eq!(names_in(folder.path()), ["film.toml"], "{command:?}");
    }
}

#[test]
fn what_killed_writers_left_is_swept_once() {
    let (folder, film) = small_film();
    let frames = folder.path().join("frames");
    fs::create_dir(&frames).unwrap();
    let left = [".00036.png.abc123.part", ".99999.png.ABCdef.part"];
    let kept = [".notes.png.abc123.part", ".00036.png.abc12.part", ".00036.png.part"];
    for name in left.iter().chain(&kept) {
        fs::write(frames.join(name), "").unwrap();
    }
    let part =
        ["frames", film.to_str().unwrap(), "-q", "-o", frames.to_str().unwrap(), "--from", "1.5", "--to", "1.51"];
    assert_eq!(code(&run(&part)), 0);
    assert_eq!(names_in(&frames), [kept[1], kept[2], kept[0], "00036.png"]);

    fs::write(frames.join("00096.png"), "of a longer film").unwrap();
    let said = text(&run(&part.map(|word| if word == "-q" { "-v" } else { word })).stderr);
    assert!(said.contains("1 picture is there of frames after the film's end"), "{said}");
}

#[test]
fn a_part_goes_where_a_part_may_go() {
    let (folder, film) = small_film();
    let film = film.to_str().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let refused = |more: &[&str], words: &[&str]| {
        let output = run(&[&["clip", film, "-q", "--chunk", "1/2"], more].concat());
        let said = text(&output.stderr);
        assert_eq!(code(&output), 2, "{said}");
        assert!(words.iter().all(|word| said.contains(word)), "{said}");
        assert_eq!(names_in(folder.path()), ["film.toml"]);
    };
    refused(&["-o", &at("film.mp4")], &["film.mp4", ".plyreel", "a folder", "join"]);
    refused(&["-o", &at("new-folder")], &["new-folder", "a folder that is there"]);
    refused(&["--loudness", "-14"], &["--loudness", "join"]);

    fs::create_dir(at("parts")).unwrap();
    for (output, made) in [("parts", "parts/film.part-1-of-2.plyreel"), ("own.plyreel", "own.plyreel")] {
        let output = run(&["clip", film, "-q", "--chunk", "1/2", "-o", &at(output)]);
        assert_eq!((code(&output), text(&output.stdout)), (0, format!("{}\n", at(made))));
    }
    let piped = run(&["clip", film, "-q", "--chunk", "1/2", "-o", "-"]);
    assert_eq!(piped.stdout, fs::read(at("own.plyreel")).unwrap(), "nothing but the part is on standard output");
    fs::write(at("two.plyreel"), run(&["clip", film, "-q", "--chunk", "2/2", "-o", "-"]).stdout).unwrap();
    let parts = [&at("two.plyreel"), &at("own.plyreel")];
    let joined = plyreel(&["join", film, "-q", "--no-cache", "--syzygy", &at("no-tables"), "-o", &at("x.mp4")])
        .args(parts)
        .output()
        .unwrap();
    assert_eq!(code(&joined), 3, "{}", text(&joined.stderr));
    assert!(text(&joined.stderr).contains("no-tables"), "{}", text(&joined.stderr));
    let joined = plyreel(&["join", film, "-q", "-o", &at("x.mp4")]).args(parts).output().unwrap();
    assert_eq!(code(&joined), 0, "{}", text(&joined.stderr));
}

#[test]
fn mistakes_are_code_1_and_nothing_is_made() {
    let (folder, film) = small_film();
    fs::write(&film, SMALL.replace("c8=R!", "c8=R#")).unwrap();
    let out = folder.path().join("x.mp4");
    let output = run(&["clip", film.to_str().unwrap(), "-o", out.to_str().unwrap()]);
    assert_eq!(code(&output), 1);
    assert!(output.stdout.is_empty());
    assert!(text(&output.stderr).contains("wrong-suffix"), "{}", text(&output.stderr));
    assert_eq!(names_in(folder.path()), ["film.toml"]);
}

#[test]
fn a_missing_narration_is_a_mistake_at_its_line() {
    let (_folder, film) = small_film();
    fs::write(&film, SMALL.replace("fps = 24", "fps = 24\nnarration = \"voice.flac\"")).unwrap();
    let output = run(&["check", film.to_str().unwrap(), "--format", "short"]);
    assert_eq!(code(&output), 1);
    let shown = text(&output.stdout);
    assert!(shown.contains(":6:14: error[media]"), "{shown}");
}

#[test]
fn json_has_diagnostics_claims_and_the_film() {
    let (_folder, film) = small_film();
    let output = run(&["check", film.to_str().unwrap(), "--format", "json"]);
    assert_eq!(code(&output), 0, "{}", text(&output.stdout));
    let object: serde_json::Value = serde_json::from_slice(&output.stdout).expect("one JSON object");
    assert_eq!(object["diagnostics"], serde_json::json!([]));
    assert_eq!(object["film"]["frames"], 96);
    assert_eq!(object["film"]["fps"], "24");
    assert_eq!(object["film"]["scenes"][0]["name"], "One");
    assert_eq!(object["claims"][0]["verdict"], "proven");
    assert_eq!(object["claims"][0]["move"], "1.c8=Q");

    fs::write(&film, SMALL.replace("\"stalemate\"", "\"mate\"")).unwrap();
    let output = run(&["check", film.to_str().unwrap(), "--format", "json"]);
    assert_eq!(code(&output), 1);
    let object: serde_json::Value = serde_json::from_slice(&output.stdout).expect("one JSON object");
    let first = &object["diagnostics"][0];
    assert_eq!(first["severity"], "error");
    assert_eq!(first["code"], "claim-refuted");
    assert_eq!((first["line"].as_u64(), first["column"].as_u64()), (Some(13), Some(59)));
    assert_eq!(object["claims"][0]["verdict"], "refuted");
}

#[test]
fn a_task_that_is_not_true_stops_the_film_and_a_line_against_it_is_doubted() {
    let (folder, film) = small_film();
    let told = |from: &str, to: &str, more: &[&str]| {
        fs::write(&film, SMALL.replace(from, to)).unwrap();
        let output = run(&[&["check", film.to_str().unwrap(), "--format", "short"], more].concat());
        (code(&output), text(&output.stdout).replace(film.to_str().unwrap(), ""))
    };
    let as_solution = ("line = \"try\"", "line = \"solution\"");
    assert_eq!(told("", "", &["--strict"]).0, 0);
    let (code, shown) = told(as_solution.0, as_solution.1, &[]);
    let doubt = "warning[line-contradicts]: after `1.c8=Q` White no longer wins, as the task asks";
    assert!(code == 0 && shown.contains(doubt), "{shown}");
    assert_eq!(told(as_solution.0, as_solution.1, &["--strict"]).0, 1);
    let (code, shown) = told("White to play and win", "Black to play and draw", &[]);
    assert_eq!(code, 1);
    assert!(shown.contains("error[claim-refuted]: the task `Black to play and draw` is not true"), "{shown}");
    let out = folder.path().join("out.mp4");
    assert_eq!(run(&["clip", film.to_str().unwrap(), "-o", out.to_str().unwrap()]).status.code(), Some(1));
    assert!(!out.exists());
}

#[test]
fn a_timeline_comes_from_standard_input_too() {
    let mut child = plyreel(&["check", "-"]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(SMALL.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(code(&output), 0, "{}", text(&output.stdout));
    assert!(text(&output.stdout).contains("96 frames"), "{}", text(&output.stdout));
}

#[test]
fn the_starter_passes_and_is_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("Ünïcode and spaces").join("film one");
    let made = run(&["new", place.to_str().unwrap()]);
    assert_eq!(code(&made), 0, "{}", text(&made.stderr));
    let film = place.join("film.toml");
    let checked = run(&["check", film.to_str().unwrap(), "--strict"]);
    assert_eq!(code(&checked), 0, "{}", text(&checked.stdout));

    fs::write(&film, "mine").unwrap();
    assert_eq!(code(&run(&["new", place.to_str().unwrap()])), 2);
    assert_eq!(fs::read_to_string(&film).unwrap(), "mine");
}

#[test]
fn a_still_is_the_frame_of_the_film() {
    let (folder, film) = small_film();
    let film = film.to_str().unwrap();
    let frames = folder.path().join("frames");
    let part = ["frames", film, "-o", frames.to_str().unwrap(), "--from", "1.5", "--to", "1.7"];
    let output = run(&part);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    assert_eq!(names_in(&frames), ["00036.png", "00037.png", "00038.png", "00039.png", "00040.png"]);

    let still = folder.path().join("still.png");
    let output = run(&["still", film, "--at", "1.6", "-o", still.to_str().unwrap()]);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    assert_eq!(pixels(&still), pixels(&frames.join("00039.png")));
    let piped = run(&["still", film, "--at", "1.6", "-o", "-"]);
    assert_eq!(piped.stdout, fs::read(&still).unwrap());
}

fn pixels(path: &Path) -> (u32, u32, Vec<u8>) {
    let decoder = png::Decoder::new(std::io::BufReader::new(fs::File::open(path).unwrap()));
    let mut reader = decoder.read_info().unwrap();
    let mut data = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut data).unwrap();
    (info.width, info.height, data)
}

fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn completions_and_schema_are_printed() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let output = run(&["completions", shell]);
        assert_eq!(code(&output), 0);
        assert!(text(&output.stdout).contains("plyreel"));
    }
    // What bash offers for an option's value.
    let script = "source /dev/stdin; COMP_WORDS=(plyreel clip \"$1\" ''); COMP_CWORD=3; _plyreel plyreel '' \"$1\"; \
                  echo \"${COMPREPLY[@]}\"";
    let offered = |option: &str| {
        let mut bash = Command::new("bash");
        bash.args(["-c", script, "bash", option]).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut bash = bash.spawn().expect("bash is there");
        let completions = run(&["completions", "bash"]).stdout;
        bash.stdin.take().expect("a pipe").write_all(&completions).expect("bash reads it");
        text(&bash.wait_with_output().expect("bash ends").stdout).trim().to_owned()
    };
    assert_eq!(offered("--layout"), "panel lower-third overlay");
    assert_eq!(offered("--theme"), "dusk tide ink");
    assert_eq!(offered("--coder"), "patch rav1e");
    let schema: serde_json::Value = serde_json::from_slice(&run(&["schema"]).stdout).expect("JSON");
    assert!(schema["properties"]["scene"].is_object(), "{schema}");
}

#[test]
fn colours_only_where_they_are_wanted() {
    let (_folder, film) = small_film();
    fs::write(&film, SMALL.replace("c8=R!", "c8=R#")).unwrap();
    let output = run(&["check", film.to_str().unwrap()]);
    assert!(!text(&output.stdout).contains('\u{1b}'), "a pipe is not a terminal");
}

#[cfg(unix)]
#[test]
fn a_stop_leaves_nothing_behind() {
    use std::io::Read;
    let (folder, film) = small_film();
    let there_and_back = |at| format!("  {{ at = {at}, back = \"start\" }},\n  {{ at = {at}.5, play = \"c8=R!\" }},\n");
    let cues: Vec<String> = (4..60).map(there_and_back).collect();
    let cues = cues.concat();
    let long = SMALL.replace("height = 240", "height = 1080").replace("ends = \"0:04\"", "ends = \"1:01\"");
    let open = long.trim_end().strip_suffix(']').expect("the cues come last");
    fs::write(&film, format!("{open}{cues}]\n")).unwrap();
    let out = folder.path().join("x.mp4");
    let mut child = plyreel(&["clip", film.to_str().unwrap(), "-o", out.to_str().unwrap(), "--coder", "rav1e"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The output is opened before the work begins: once its temporary file is there, the work is under way.
    while names_in(folder.path()).len() < 2 {
        assert!(child.try_wait().unwrap().is_none(), "the program ended before it began to work");
        std::thread::yield_now();
    }
    let killed = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(killed.success());
    let mut said = String::new();
    child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(130), "{said}");
    assert_eq!(names_in(folder.path()), ["film.toml"]);
    assert!(said.contains("stopped"), "{said}");
}

/// Width and height stand in a PNG's first chunk (PNG specification, third edition, §11.2.1).
fn png_size(bytes: &[u8]) -> (u32, u32) {
    assert_eq!(&bytes[..8], b"\x89PNG\r\n\x1a\n");
    let number = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().expect("four bytes"));
    (number(16), number(20))
}

#[test]
fn every_thumbnail_is_painted_small_and_the_same_each_time() {
    let (folder, path) = small_film();
    let wishes = "\n[[thumbnail]]\nmoment = \"quiet\"\nwords = \"No *way* out\"\n\n\
                  [[thumbnail]]\nscene = \"One\"\nwords = \"Which *piece?*\"\narrows = [\"c7 c8\"]\ntheme = \"ink\"\n";
    fs::write(&path, format!("{SMALL}{wishes}")).expect("a file");
    let (one, other) = (folder.path().join("one"), folder.path().join("other"));
    for out in [&one, &other] {
        let made = run(&["thumb", path.to_str().unwrap(), "-o", out.to_str().unwrap(), "--sheet"]);
        assert_eq!(code(&made), 0, "{}", text(&made.stderr));
        assert_eq!(text(&made.stdout).lines().count(), 3);
    }
    for name in ["film-thumb-1.png", "film-thumb-2.png", "film-thumbs.png"] {
        let bytes = fs::read(one.join(name)).expect("it was made");
        assert!(bytes == fs::read(other.join(name)).expect("it was made"), "{name} is the same each time");
        assert!(bytes.len() < 2_000_000, "{name} has {} bytes", bytes.len());
        assert!(name.contains("thumbs") || png_size(&bytes) == (1280, 720));
    }
}

#[test]
fn a_film_without_thumbnails_is_told_how_to_have_one() {
    let (_folder, path) = small_film();
    let refused = run(&["thumb", path.to_str().unwrap(), "--format", "short"]);
    assert_eq!(code(&refused), 1);
    assert!(text(&refused.stderr).contains("the timeline has no `[[thumbnail]]`"), "{}", text(&refused.stderr));
}
