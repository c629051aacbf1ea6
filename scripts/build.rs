//! Names the version of all that decides coded bytes: `PLYREEL_SOURCES`, a hash of the sources.
//!
//! Chunks kept from an earlier render are named by it among other things, so that a changed program never takes a chunk
//! that it would have made differently. A name made by hand would be forgotten one day. The hash is over contents and
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

fn main() {
    let mut hash = fnv::Fnv::default();
    let mut feed = |bytes: &[u8]| {
        hash.bytes(&(bytes.len() as u64).to_le_bytes());
        hash.bytes(bytes);
    };
    for place in SHAPING {
        println!("cargo::rerun-if-changed={place}");
        let mut files = Vec::new();
        list(Path::new(place), place, &mut files);
        files.sort();
        for file in files {
            feed(file.as_bytes());
            feed(&fs::read(&file).unwrap_or_else(|error| panic!("cannot read {file}: {error}")));
        }
    }
    for name in TARGET {
        feed(env::var(name).unwrap_or_default().as_bytes());
    }
    println!("cargo::rerun-if-changed=scripts/build.rs");
    println!("cargo::rustc-env=PLYREEL_SOURCES={:032x}", hash.value());
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
