//! A small film in a folder of its own with a cache of its own, for tests of the whole program.
#![allow(dead_code)] // each test takes what it needs

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// The program with these arguments, as nobody's own: without a terminal.
pub fn plyreel(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_plyreel"));
    command.args(arguments).stdin(Stdio::null()).env_remove("NO_COLOR");
    command
}

/// Runs a command that must do what it was told.
pub fn run(command: &mut Command) -> Output {
    let output = command.output().expect("the program starts");
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
    output
}

/// How many chunks a render had, and how many it coded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chunks {
    pub chunks: usize,
    pub coded: usize,
}

/// Reads them off a render's JSON.
pub fn chunks_made(output: &Output) -> Chunks {
    let object: serde_json::Value = serde_json::from_slice(&output.stdout).expect("one JSON object");
    let number = |name: &str| object["made"][name].as_u64().expect("a number") as usize;
    Chunks { chunks: number("chunks"), coded: number("coded_chunks") }
}

/// Three scenes of twenty seconds with eighteen moves and returns between them, and captions.
pub struct Film {
    folder: tempfile::TempDir,
}

impl Film {
    pub fn new() -> Film {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("film.toml"), text()).unwrap();
        Film { folder }
    }

    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub fn path(&self) -> PathBuf {
        self.folder().join("film.toml")
    }

    pub fn out(&self) -> PathBuf {
        self.folder().join("film.mp4")
    }

    pub fn cache(&self) -> PathBuf {
        self.folder().join("cache")
    }

    /// The program, which keeps its chunks in the film's folder.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = plyreel(arguments);
        command.env("XDG_CACHE_HOME", self.cache());
        command
    }

    /// The bytes of the film, and what was coded for it.
    pub fn clip(&self, more: &[&str]) -> (Vec<u8>, Chunks) {
        let mut command = self.command(&["clip", "-q", "--format", "json", "-o"]);
        let output = run(command.args([self.out(), self.path()]).args(more));
        (fs::read(self.out()).unwrap(), chunks_made(&output))
    }

    /// A recording of one tone: mono 16-bit PCM at 8 kHz in a WAV file.
    pub fn speak(&self, name: &str, seconds: f64, pitch: f64) {
        let samples = (seconds * 8000.0) as usize;
        let tone = |i: usize| ((i as f64 * pitch / 8000.0).fract() * 16_000.0 - 8000.0) as i16;
        let data: Vec<u8> = (0..samples).flat_map(|i| tone(i).to_le_bytes()).collect();
        let mut wav = b"RIFF".to_vec();
        wav.extend((36 + data.len() as u32).to_le_bytes());
        wav.extend(b"WAVEfmt \x10\0\0\0\x01\0\x01\0");
        wav.extend(8000u32.to_le_bytes());
        wav.extend(16_000u32.to_le_bytes());
        wav.extend(b"\x02\0\x10\0data");
        wav.extend((data.len() as u32).to_le_bytes());
        wav.extend(data);
        fs::write(self.folder().join(name), wav).unwrap();
    }
}

fn text() -> String {
    let mut text =
        String::from("[film]\ntitle = \"A film\"\nframe = \"426x240\"\nfps = 24\ntheme = \"dusk\"\nends = 60\n");
    for (scene, name) in ["first", "second", "third"].into_iter().enumerate() {
        let start = scene as f64 * 20.0;
        write!(
            text,
            "\n[[scene]]\nname = \"The {name}\"\nat = {start} # {name}\nfen = \"8/k1P5/p7/K7/8/8/8/8 w - - 0 1\"\n\
             cues = [\n"
        )
        .unwrap();
        for (move_number, key) in ["Q", "R", "B", "N"].into_iter().enumerate() {
            // A scene that is moved takes its cues along, but for the second, whose cues stand on the film's clock.
            let (play, back) = match (scene, move_number) {
                (1, i) => (format!("{}", start + 1.5 + 4.5 * i as f64), format!("{}", start + 4.5 * i as f64 + 2.5)),
                (_, 0) => ("\"+1.5\"".to_owned(), "\"+1\"".to_owned()),
                _ => ("\"+3.5\"".to_owned(), "\"+1\"".to_owned()),
            };
            let line = if key == "N" { "solution" } else { "try" };
            let words = ["A first caption", "A second caption", "The third caption", "The last caption"][move_number];
            writeln!(
                text,
                "  {{ at = {play}, play = \"c8={key}\", line = \"{line}\", text = \"{words} of {name}\" }},"
            )
            .unwrap();
            writeln!(text, "  {{ at = {back}, back = \"start\" }},").unwrap();
        }
        text.push_str("]\n");
    }
    text
}
