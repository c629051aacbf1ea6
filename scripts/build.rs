//! Names the version of all that decides coded bytes, verdicts and endgame tables: `PLYREEL_SOURCES`, `PLYREEL_PROOF`
//! and `PLYREEL_TABLES`, hashes of the sources.
//!
//! What is kept from an earlier run is named by them among other things, so that a changed program never takes what it
//! would have made differently. A name made by hand would be forgotten one day. The hash is over contents and
//! places inside the project, so it is the same on every machine.

use std::env;
use std::fs;
use std::path::Path;

#[path = "../src/units/fnv.rs"]
mod fnv;

/// What shapes pixels, samples, the coders' choices or the coded bytes. The piece file lies in `src/paint`.
const SHAPING: [&str; 9] = [
    "Cargo.lock",
    "fonts",
    "src/encode",
    "src/film",
    "src/narration",
    "src/paint",
    "src/timeline/colours.rs",
    "src/timeline/model.rs",
    "src/units",
];

/// What the compiler is asked for beside the sources: processor and hand-written code.
const TARGET: [&str; 3] = ["CARGO_CFG_TARGET_ARCH", "CARGO_CFG_TARGET_FEATURE", "CARGO_FEATURE_ASM"];

/// What decides verdicts and the words of their witnesses.
const PROVING: [&str; 4] = ["Cargo.lock", "src/game", "src/proof", "src/units"];

/// What decides endgame tables.
const TABLES: [&str; 2] = ["Cargo.lock", "src/proof/tables"];

fn main() {
    let target: Vec<String> = TARGET.iter().map(|name| env::var(name).unwrap_or_default()).collect();
    println!("cargo::rerun-if-changed=scripts/build.rs");
    println!("cargo::rustc-env=PLYREEL_SOURCES={:032x}", version(&SHAPING, &target));
    println!("cargo::rustc-env=PLYREEL_PROOF={:032x}", version(&PROVING, &[]));
    println!("cargo::rustc-env=PLYREEL_TABLES={:032x}", version(&TABLES, &[]));
}

/// A hash of the files at these places and of some words more.
fn version(places: &[&str], words: &[String]) -> u128 {
    let mut hash = fnv::Fnv::default();
    let mut feed = |bytes: &[u8]| {
        hash.bytes(&(bytes.len() as u64).to_le_bytes());
        hash.bytes(bytes);
    };
    for place in places {
        println!("cargo::rerun-if-changed={place}");
        let mut files = Vec::new();
        list(Path::new(place), place, &mut files);
        files.sort();
        for file in files {
            feed(file.as_bytes());
            feed(&fs::read(&file).unwrap_or_else(|error| panic!("cannot read {file}: {error}")));
        }
    }
    for word in words {
        feed(word.as_bytes());
    }
    hash.value()
}

/// Adds the files at `path`, which is `name` with slashes on every system, and in the folders under it.
fn list(path: &Path, name: &str, files: &mut Vec<String>) {
    if !path.is_dir() {
        files.push(name.to_owned());
        return;
    }
    let entries = fs::read_dir(path).unwrap_or_else(|error| panic!("cannot list {name}: {error}"));
    for entry in entries {
        let entry = entry.unwrap_or_else(|error| panic!("cannot list {name}: {error}"));
        let inside = entry.file_name().into_string().unwrap_or_else(|_| panic!("{name} holds a name that is not text"));
        list(&entry.path(), &format!("{name}/{inside}"), files);
    }
}
