//! Data flows one way: reads the paths named in every room and fails on a wrong arrow.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// What each room may use beside `units`, `source` and `diag`.
const ARROWS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("source", &[]),
    ("diag", &["source"]),
    ("timeline", &[]),
    ("game", &["timeline"]),
    ("proof", &["timeline", "game"]),
    ("narration", &[]),
    ("draft", &["timeline", "game", "narration"]),
    ("sync", &["timeline", "game", "narration", "draft"]),
    ("film", &["timeline", "game"]),
    ("paint", &["timeline", "film"]),
    ("thumbnail", &["timeline", "film", "paint"]),
    ("kit", &["timeline", "game", "proof", "narration", "film", "paint"]),
    ("animation", &["timeline", "film", "paint"]),
    ("encode", &["timeline", "film", "paint", "narration"]),
    ("mux", &["encode"]),
    (
        "cli",
        &[
            "timeline",
            "game",
            "proof",
            "narration",
            "draft",
            "sync",
            "film",
            "paint",
            "thumbnail",
            "kit",
            "animation",
            "encode",
            "mux",
        ],
    ),
];

/// Rooms that any other may use, and that use none of the others.
const FOR_ALL: &[&str] = &["units", "source", "diag"];

/// Libraries that only some rooms may name.
const KEPT: &[(&str, &[&str])] = &[
    ("shakmaty", &["game", "proof"]),
    ("shakmaty_syzygy", &["game", "proof"]),
    ("pgn_reader", &["game"]),
    ("tiny_skia", &["paint"]),
    ("rustybuzz", &["paint"]),
    ("rav1e", &["encode"]),
    ("symphonia", &["narration"]),
    ("rubato", &["narration"]),
    ("unsafe_libopus", &["narration", "encode"]),
    ("gif::", &["animation"]),
    ("image_webp", &["animation"]),
    ("imagequant", &["animation"]),
    ("clap", &["cli"]),
    ("indicatif", &["cli"]),
    ("ctrlc", &["cli"]),
    ("ebur128", &["narration"]),
    ("toml_edit", &["draft", "sync"]),
    ("tempfile", &["cli"]),
    ("std::env", &["cli"]),
    ("Instant::now", &["cli"]),
    ("SystemTime", &["cli"]),
];

fn source_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("the source folder can be listed") {
        let path = entry.expect("an entry can be read").path();
        if path.is_dir() {
            source_files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// The room a source file belongs to: its first folder under `src`, or its own name.
fn room_of(path: &Path) -> String {
    let inside = path.strip_prefix(Path::new(env!("CARGO_MANIFEST_DIR")).join("src")).expect("a file under src");
    let first = inside.components().next().expect("a name").as_os_str().to_string_lossy().into_owned();
    first.trim_end_matches(".rs").to_owned()
}

/// The code without its comments and without its tests, which may look further than the room itself.
fn code_of(text: &str) -> String {
    let before_tests = text.split("\n#[cfg(test)]\nmod ").next().unwrap_or(text);
    let lines = before_tests.lines().map(|line| line.split("//").next().unwrap_or(""));
    lines.collect::<Vec<_>>().join("\n")
}

/// Every `crate::name` in the code.
fn rooms_named(code: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        if let Some(inside) = rest.strip_prefix('{') {
            let inside = inside.split('}').next().unwrap_or("");
            found.extend(inside.split(',').map(|name| name.trim().split(':').next().unwrap_or("").to_owned()));
        } else {
            found.insert(rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect());
        }
    }
    found
}

/// Every room with its files and their code.
fn rooms() -> BTreeMap<String, Vec<(PathBuf, String)>> {
    let mut files = Vec::new();
    source_files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut files);
    let mut rooms: BTreeMap<String, Vec<(PathBuf, String)>> = BTreeMap::new();
    for path in files {
        let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        if stem.ends_with("tests") || path.components().any(|part| part.as_os_str() == "tests") {
            continue;
        }
        let code = code_of(&fs::read_to_string(&path).expect("a source file is text"));
        rooms.entry(room_of(&path)).or_default().push((path, code));
    }
    rooms
}

#[test]
fn every_arrow_points_onward() {
    let mut wrong = Vec::new();
    for (room, files) in rooms() {
        if room == "lib" || room == "main" {
            continue;
        }
        let Some((_, may)) = ARROWS.iter().find(|(name, _)| *name == room) else {
            panic!("the room `{room}` has no line in ARROWS: say what it may use");
        };
        let for_all = if FOR_ALL.contains(&room.as_str()) { &[] } else { FOR_ALL };
        for (path, code) in files {
            for used in rooms_named(&code) {
                let is_room = ARROWS.iter().any(|(name, _)| *name == used);
                let allowed = used == room || may.contains(&used.as_str()) || for_all.contains(&used.as_str());
                if is_room && !allowed {
                    wrong.push(format!("{}: {room} uses {used}", path.display()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "wrong arrows:\n{}", wrong.join("\n"));
}

#[test]
fn every_arrow_is_needed() {
    let rooms = rooms();
    let named = |room: &str| -> BTreeSet<String> {
        rooms.get(room).into_iter().flatten().flat_map(|(_, code)| rooms_named(code)).collect()
    };
    for (room, may) in ARROWS {
        let unused: Vec<&&str> = may.iter().filter(|used| !named(room).contains(**used)).collect();
        assert!(unused.is_empty(), "`{room}` may use {unused:?} and does not: take it out of ARROWS");
    }
}

/// The arrows of a drawing: `a, b → c → d, e` and the like, several on a line with three spaces between.
fn arrows_drawn(drawing: &str) -> BTreeSet<(String, String)> {
    let mut found = BTreeSet::new();
    for chain in drawing.lines().flat_map(|line| line.split("   ")).filter(|chain| chain.contains('→')) {
        let stations: Vec<Vec<&str>> = chain.split('→').map(|part| part.split(',').map(str::trim).collect()).collect();
        for pair in stations.windows(2) {
            let ends = pair[0].iter().flat_map(|from| pair[1].iter().map(move |to| (*from, *to)));
            found.extend(ends.map(|(from, to)| (from.to_owned(), to.to_owned())));
        }
    }
    found
}

#[test]
fn the_developers_page_draws_these_arrows() {
    let page = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md")).expect("DEVELOPERS.md");
    let drawn = arrows_drawn(page.split("```").nth(1).expect("the drawing"));
    let (knows_all, others): (Vec<_>, Vec<_>) = ARROWS.iter().partition(|(room, _)| *room == "cli");
    for (from, to) in &drawn {
        let needed = others.iter().any(|(room, may)| room == to && may.contains(&from.as_str()));
        assert!(needed, "DEVELOPERS.md draws {from} → {to}, which is not in ARROWS");
    }
    // What lies before each room, any number of steps.
    let mut before = drawn;
    loop {
        let further: Vec<_> = before
            .iter()
            .flat_map(|(from, by)| {
                before.iter().filter(move |(next, _)| next == by).map(|(_, to)| (from.clone(), to.clone()))
            })
            .collect();
        let known = before.len();
        before.extend(further);
        if before.len() == known {
            break;
        }
    }
    for (room, may) in others.iter().filter(|(room, _)| !FOR_ALL.contains(room)) {
        for used in *may {
            let is_drawn = before.contains(&((*used).to_owned(), (*room).to_owned()));
            assert!(is_drawn, "{room} uses {used}, and DEVELOPERS.md draws no way from {used} to {room}");
        }
    }
    let left_out = others.iter().map(|(room, _)| *room).filter(|room| !FOR_ALL.contains(room));
    let left_out: Vec<&str> = left_out.filter(|room| !knows_all[0].1.contains(room)).collect();
    assert!(left_out.is_empty(), "cli calls any room, but not {left_out:?}");
}

#[test]
fn a_drawing_is_read() {
    let drawn = arrows_drawn("a → b → c\nd, e → f   c → g, h\nothers: any\n");
    let pairs: Vec<String> = drawn.iter().map(|(from, to)| format!("{from}{to}")).collect();
    assert_eq!(pairs, ["ab", "bc", "cg", "ch", "df", "ef"]);
}

#[test]
fn libraries_stay_in_their_rooms() {
    let mut wrong = Vec::new();
    for (room, files) in rooms() {
        if room == "main" {
            continue; // the program's own arguments
        }
        for (path, code) in files {
            for (library, homes) in KEPT {
                if !homes.contains(&room.as_str()) && code.contains(library) {
                    wrong.push(format!("{}: {room} names {library}", path.display()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "libraries outside their rooms:\n{}", wrong.join("\n"));
}

#[test]
fn the_developers_page_names_what_is_there() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let page = fs::read_to_string(top.join("DEVELOPERS.md")).expect("DEVELOPERS.md");
    for (room, _) in ARROWS {
        assert!(page.contains(&format!("`{room}`")), "DEVELOPERS.md does not name the room `{room}`");
    }
    for word in page.split('`').skip(1).step_by(2) {
        let is_path =
            ["src/", "tests/", "scripts/", "out-example/", "benches/"].iter().any(|top| word.starts_with(top));
        if is_path && !word.contains(['<', '*', ' ']) {
            assert!(top.join(word).exists(), "DEVELOPERS.md names `{word}`, which is not there");
        }
    }
}

#[test]
fn a_wrong_arrow_would_be_seen() {
    let named = rooms_named(&code_of("use crate::film::Film;\nuse crate::{paint, cli::run}; // crate::mux\n"));
    assert_eq!(named.into_iter().collect::<Vec<_>>(), ["cli", "film", "paint"]);
}
