//! What is made never takes the place of what it is made of, nor of what is no file.

mod films;

use films::{Film, run};
use std::fs;
use std::process::Output;

/// The film with more in its heading.
fn with(heading: &str) -> Film {
    let film = Film::new();
    let text = fs::read_to_string(film.path()).unwrap();
    fs::write(film.path(), text.replacen("title =", &format!("{heading}\ntitle ="), 1)).unwrap();
    film
}

fn in_folder(film: &Film, arguments: &[&str]) -> Output {
    film.command(arguments).current_dir(film.folder()).output().unwrap()
}

fn refused(film: &Film, arguments: &[&str], what: &str) {
    let output = in_folder(film, arguments);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
    assert!(said.contains(what), "{arguments:?}: {said}");
}

#[test]
fn a_film_is_not_written_over_what_it_is_made_of() {
    // Footage is named like the film, and any recording may bear any name.
    let film = with("narration = \"film.mp4\"");
    film.speak("film.mp4", 60.0, 440.0);
    let before = fs::read(film.out()).unwrap();
    let second = fs::read_to_string(film.path()).unwrap().replace("narration = \"film.mp4\"", "");
    fs::create_dir(film.folder().join("two")).unwrap();
    fs::write(film.folder().join("two/voice.toml"), second).unwrap();
    refused(&film, &["clip", "film.toml"], "`film.mp4` is the narration");
    refused(&film, &["replay", "film.toml", "--scene", "The first", "-o", "film.mp4"], "the narration");
    // Also not what another film of the same call is made of.
    film.speak("voice.mp4", 60.0, 440.0);
    let text = fs::read_to_string(film.path()).unwrap().replace("\"film.mp4\"", "\"voice.mp4\"");
    fs::write(film.path(), text).unwrap();
    let voice = fs::read(film.folder().join("voice.mp4")).unwrap();
    refused(&film, &["clip", "film.toml", "two/voice.toml", "-o", "."], "the narration");
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("voice.mp4", film.folder().join("link.mp4")).unwrap();
        refused(&film, &["clip", "film.toml", "-o", "link.mp4"], "the narration, `voice.mp4`");
    }
    let made = in_folder(&film, &["clip", "-q", "--no-cache", "--chunk", "1/1", "film.toml", "-o", "all.plyreel"]);
    assert!(made.status.success());
    refused(&film, &["join", "film.toml", "all.plyreel", "-o", "voice.mp4"], "the narration");
    assert!(fs::read(film.out()).unwrap() == before);
    assert!(fs::read(film.folder().join("voice.mp4")).unwrap() == voice);
}

#[test]
fn words_and_lines_are_not_written_over_either() {
    let film = Film::new();
    let at = |name: &str| film.folder().join(name);
    fs::write(at("film.vtt"), "WEBVTT\n\n00:01.000 --> 00:04.000\nThe pawn goes on.\n").unwrap();
    let before = fs::read(at("film.vtt")).unwrap();
    let fen = "8/k1P5/p7/K7/8/8/8/8 w - - 0 1";
    refused(&film, &["kit", "film.toml", "--words", "film.vtt", "-o", ".", "--force"], "`film.vtt` is the transcript");
    refused(&film, &["draft", "--words", "film.vtt", "--fen", fen, "-o", "film.vtt", "--force"], "the transcript");
    refused(&film, &["sync", "film.toml", "--words", "film.vtt", "-o", "film.vtt", "--force"], "the transcript");
    let pgn = "[SetUp \"1\"]\n[FEN \"8/k1P5/p7/K7/8/8/8/8 w - - 0 1\"]\n\n1. c8=R *\n";
    fs::write(at("games.txt"), pgn).unwrap();
    fs::write(at("lines.md"), "[[scene]]\npgn = \"games.txt\"\n").unwrap();
    let draft = ["draft", "--words", "film.vtt", "--pgn", "games.txt", "-o", "games.txt", "--force"];
    refused(&film, &draft, "`games.txt` is the file of lines");
    refused(&film, &["prove", "lines.md", "-o", "games.txt"], "`games.txt` is the game file");
    refused(&film, &["prove", "lines.md", "-o", "lines.md"], "`lines.md` is the timeline");
    assert_eq!(fs::read_to_string(at("games.txt")).unwrap(), pgn);
    assert!(fs::read(at("film.vtt")).unwrap() == before);
    assert!(!at("film.srt").exists());
}

#[test]
fn templates_and_styles_are_not_written_over_either() {
    let film = with("description = \"template.png\"");
    let at = |name: &str| film.folder().join(name);
    fs::write(at("template.png"), "{title}").unwrap();
    refused(&film, &["still", "film.toml", "--at", "1", "-o", "template.png"], "the description's template");
    assert_eq!(fs::read_to_string(at("template.png")).unwrap(), "{title}");
    let film = with("style = \"series.toml\"");
    let at = |name: &str| film.folder().join(name);
    fs::write(at("series.toml"), "[film]\nfps = 30\n").unwrap();
    fs::write(at("film.vtt"), "WEBVTT\n\n00:01.000 --> 00:04.000\nThe pawn goes on.\n").unwrap();
    refused(&film, &["sync", "film.toml", "--words", "film.vtt", "-o", "series.toml", "--force"], "the style");
    assert_eq!(fs::read_to_string(at("series.toml")).unwrap(), "[film]\nfps = 30\n");
}

#[cfg(unix)]
#[test]
fn a_pipe_is_written_to_and_stays_a_pipe() {
    use std::os::unix::fs::FileTypeExt;
    let film = Film::new();
    let pipe = film.folder().join("pipe.png");
    run(std::process::Command::new("mkfifo").arg(&pipe));
    let reader = pipe.clone();
    let read = std::thread::spawn(move || fs::read(reader).unwrap());
    assert!(in_folder(&film, &["still", "film.toml", "--at", "2", "-o", "pipe.png"]).status.success());
    assert!(fs::metadata(&pipe).unwrap().file_type().is_fifo());
    assert!(in_folder(&film, &["still", "film.toml", "--at", "2", "-o", "file.png"]).status.success());
    assert!(read.join().unwrap() == fs::read(film.folder().join("file.png")).unwrap());
}
