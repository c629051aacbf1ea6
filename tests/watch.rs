//! `--watch` makes the film again when it is saved, says what changed, and ends with Ctrl-C.
#![cfg(unix)]

mod films;

use films::{Film, run};
use std::fs;
use std::io::{BufRead, BufReader, Lines};
use std::process::{ChildStderr, Command, Stdio};

/// Lines until one with this word; the last.
fn until(lines: &mut Lines<BufReader<ChildStderr>>, word: &str) -> String {
    let mut before = Vec::new();
    for line in lines.by_ref() {
        let line = line.unwrap();
        if line.contains(word) {
            return line;
        }
        before.push(line);
    }
    panic!("it ended without `{word}`:\n{}", before.join("\n"));
}

#[test]
fn a_saved_timeline_is_made_again() {
    let film = Film::new();
    let text = fs::read_to_string(film.path()).unwrap();
    let text = text.replacen("title =", "narration = \"voice.wav\"\nfonts = \"letters\"\ntitle =", 1);
    fs::write(film.path(), &text).unwrap();
    film.speak("voice.wav", 60.0, 440.0);
    let letters = film.folder().join("letters");
    fs::create_dir(&letters).unwrap();
    let font = |name: &str| fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/fonts/").to_owned() + name).unwrap();
    fs::write(letters.join("title.ttf"), font("Lato-Bold.ttf")).unwrap();
    let mut child = film
        .command(&["clip", "--watch", "-v", "--format", "short", "-o"])
        .args([film.out(), film.path()])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stderr.take().unwrap()).lines();
    until(&mut lines, "made in");
    until(&mut lines, "waiting");

    let saying = text.replacen("third caption", "third saying and more", 1);
    fs::write(film.path(), &saying).unwrap();
    assert_eq!(until(&mut lines, "changed"), "changed: the scene `The first`: 1 cue");
    until(&mut lines, "made in");
    let few = until(&mut lines, "chunks coded");
    assert!(few.starts_with("1 of") || few.starts_with("2 of"), "{few}");
    until(&mut lines, "waiting");

    fs::write(film.path(), saying.replacen("c8=Q", "c8=K", 1)).unwrap();
    until(&mut lines, "error");
    until(&mut lines, "waiting");
    fs::write(film.path(), &saying).unwrap();
    until(&mut lines, "changed");
    assert!(until(&mut lines, "chunks coded").starts_with("0 of"));
    until(&mut lines, "waiting");

    film.speak("voice.wav", 59.0, 330.0);
    assert_eq!(until(&mut lines, "changed"), "changed: the narration");
    until(&mut lines, "waiting");

    // A folder's own time does not change when a file in it is written over.
    fs::write(letters.join("title.ttf"), font("Lato-Heavy.ttf")).unwrap();
    assert_eq!(until(&mut lines, "changed"), "changed: `letters`");
    until(&mut lines, "waiting");

    run(Command::new("kill").args(["-INT", &child.id().to_string()]));
    assert_eq!(child.wait().unwrap().code(), Some(0));
    let made = fs::read(film.out()).unwrap();
    assert!(film.clip(&["--no-cache"]).0 == made);
}

#[test]
fn a_name_that_is_gone_for_a_moment_does_not_end_it() {
    let film = Film::new();
    let text = fs::read_to_string(film.path()).unwrap();
    let command = ["clip", "--watch", "--format", "short", "--scene", "The second", "-o"];
    let mut command = film.command(&command);
    command.args([film.out(), film.path()]).stdout(Stdio::null()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut lines = BufReader::new(child.stderr.take().unwrap()).lines();
    until(&mut lines, "waiting");
    fs::write(film.path(), text.replacen("\"The second\"", "\"Another\"", 1)).unwrap();
    until(&mut lines, "--scene");
    until(&mut lines, "waiting");
    fs::write(film.path(), &text).unwrap();
    until(&mut lines, "made in");
    until(&mut lines, "waiting");
    run(Command::new("kill").args(["-INT", &child.id().to_string()]));
    assert_eq!(child.wait().unwrap().code(), Some(0));

    // At the start it is a slip of the hand.
    let mut command = film.command(&["clip", "--watch", "--scene", "The scond"]);
    assert_eq!(command.arg(film.path()).output().unwrap().status.code(), Some(2));
}
