//! The kit as a folder: what it holds, where its files point, and what is never overwritten.
//!
//! Needs `python3` with `opentimelineio`, ffmpeg and mkvtoolnix; `scripts/tools test` installs them.

#[path = "judges/kit.rs"]
mod judges;

use judges::judged;
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::process::Command;

fn plyreel(arguments: &[&str]) -> std::process::Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_plyreel"));
    command.args(arguments).env_remove("HOME").env_remove("XDG_CACHE_HOME").output().expect("the program starts")
}

const SMALL: &str = r#"
[film]
title = "Small"
height = 240
fps = 24
ends = "0:06"

[[scene]]
name = "Žubr & Łoś"
at = "0:01"
fen = "8/k1P5/p7/K7/8/8/8/8 w - - 0 1"
task = "White to play and win"
credit = "A. Composer, Club Bulletin 1931"
cues = [{ at = "0:01.5", play = "c8=R!" }]

[[scene]]
name = "Zweite “Szene”"
at = "0:04"
fen = "8/k1P5/p7/K7/8/8/8/8 w - - 0 1"
credit = "A. Composer, Club Bulletin 1931"
"#;

#[test]
fn editors_find_picture_and_sound_where_they_lie() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("Žubr & co, 2");
    fs::create_dir_all(place.join("sound")).expect("a folder");
    let film = place.join("film one.toml");
    let text = SMALL.replace("[film]", "[film]\nnarration = \"sound/täke #2.wav\"");
    fs::write(&film, text).expect("a file");
    // Three and a half seconds of silence: 16-bit PCM at 8 kHz.
    let mut wav = b"RIFF\xe4\xda\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0\x40\x1f\0\0\x80\x3e\0\0\x02\0\x10\0data".to_vec();
    wav.extend(56_000u32.to_le_bytes());
    wav.extend(vec![0; 56_000]);
    fs::write(place.join("sound/täke #2.wav"), wav).expect("a file");
    fs::write(place.join("film one.mp4"), "").expect("a file");
    let kit = folder.path().join("kits").join("first kit");
    let made = plyreel(&["kit", film.to_str().expect("a path"), "-q", "-o", kit.to_str().expect("a path")]);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/judges/kit.py");
    let output = Command::new("python3").args([script, "media"]).arg(kit.join("film one.otio")).output();
    let output = output.expect("python3 starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let media: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let real = fs::canonicalize(&place).expect("it is there");
    let at = |name: &str| real.join(name).to_str().expect("a path").to_owned();
    // The film has 144 frames, the narration 84 of them.
    assert_eq!(media, json!([[at("film one.mp4"), 144, 144], [at("sound/täke #2.wav"), 84, 84]]));
    let edl = fs::read_to_string(kit.join("film one.edl")).expect("a list");
    assert!(
        edl.contains("* FROM CLIP NAME: film one.mp4\n") && edl.contains("* FROM CLIP NAME: täke #2.wav\n"),
        "{edl}"
    );
    assert!(edl.contains("A     C        00:00:00:00 00:00:03:12"), "{edl}");
}

#[test]
fn a_series_template_lies_beside_its_style() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).to_str().expect("a path").to_owned();
    fs::create_dir(at("one")).expect("a folder");
    fs::write(at("series.toml"), "[film]\ndescription = \"template.txt\"\n").expect("a file");
    fs::write(at("template.txt"), "Told of {title}\n").expect("a file");
    fs::write(at("one/film.toml"), SMALL.replace("[film]", "[film]\nstyle = \"../series.toml\"")).expect("a file");
    let made = plyreel(&["kit", &at("one/film.toml"), "-q", "-o", &at("kit")]);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    assert!(fs::read_to_string(at("kit/film.description.txt")).expect("a text").starts_with("Told of Small"));
}

/// Every pixel of a picture, red, green and blue.
fn pixels(path: &Path) -> Vec<[u8; 3]> {
    let decoder = png::Decoder::new(std::io::BufReader::new(fs::File::open(path).expect("a picture")));
    let mut reader = decoder.read_info().expect("a PNG");
    let mut data = vec![0; reader.output_buffer_size().expect("a size")];
    reader.next_frame(&mut data).expect("a whole PNG");
    data.chunks_exact(3).map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect()
}

#[test]
fn diagrams_have_the_films_own_colours_and_pieces() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).to_str().expect("a path").to_owned();
    let top = concat!(env!("CARGO_MANIFEST_DIR"), "/src/paint/staunton.pieces");
    // The rook is another one: a plain block with the king's strokes left out.
    let pieces = fs::read_to_string(top).expect("the pieces");
    let rook = pieces.find("piece rook").expect("a rook");
    let end = rook + pieces[rook..].find("\npiece ").expect("a piece behind it");
    let block =
        "piece rook\npath body M 20 90 L 20 20 L 80 20 L 80 90 Z\nsmall\npath body M 20 90 L 20 20 L 80 20 L 80 90 Z\n";
    fs::write(at("own.pieces"), format!("{}{block}{}", &pieces[..rook], &pieces[end..])).expect("a file");
    let own = "[film]\npieces = \"own.pieces\"";
    let colours = "\n[film.theme]\nbase = \"tide\"\nlight-square = \"#F4E9D8\"\n\n[[scene]]\nname = \"Žubr";
    let rooks = SMALL.replace("8/k1P5/p7/K7/8/8/8/8 w", "8/k7/p1R5/K7/8/8/8/8 w").replace("c8=R!", "Rc8");
    for (name, text) in [
        ("plain", rooks.replace("[film]", "[film]\ntheme = \"tide\"")),
        ("own", rooks.replace("[film]", own).replacen("\n[[scene]]\nname = \"Žubr", colours, 1)),
    ] {
        fs::write(at(&format!("{name}.toml")), text).expect("a file");
        let made = plyreel(&["kit", &at(&format!("{name}.toml")), "-q", "-o", &at(name)]);
        assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    }
    let diagram = |name: &str, ending: &str| {
        let files = fs::read_dir(folder.path().join(name).join("diagrams")).expect("diagrams");
        let mut files: Vec<_> = files.map(|file| file.expect("a file").path()).collect();
        files.sort();
        files.into_iter().find(|file| file.extension().is_some_and(|e| e == ending)).expect("a diagram")
    };
    let count = |name: &str| pixels(&diagram(name, "png")).iter().filter(|p| **p == [0xF4, 0xE9, 0xD8]).count();
    assert!(count("plain") == 0 && count("own") > 100_000, "{} and {}", count("plain"), count("own"));
    let block = "d=\"M20 90L20 20L80 20L80 90Z\"";
    for file in [diagram("own", "svg"), folder.path().join("own/own.sheet.html")] {
        assert!(fs::read_to_string(&file).expect("a text").contains(block), "{}", file.display());
    }
    assert!(!fs::read_to_string(diagram("plain", "svg")).expect("a text").contains(block));
}

#[test]
fn a_kit_never_overwrites_unasked_and_lists_its_files() {
    let folder = tempfile::tempdir().expect("a folder");
    let film = folder.path().join("film.toml");
    let kit = folder.path().join("kit");
    fs::write(&film, SMALL).expect("a file");
    let (film, kit_name) = (film.to_str().expect("a path"), kit.to_str().expect("a path"));
    let words = folder.path().join("talk.srt");
    fs::write(&words, "1\n00:00:01,500 --> 00:00:03,000\nnow pawn c eight\n").expect("a file");
    let words = words.to_str().expect("a path");
    let made = plyreel(&["kit", film, "-o", kit_name, "--words", words, "--format", "json"]);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    let object: Value = serde_json::from_slice(&made.stdout).expect("one object");
    let listed = object["made"].as_array().expect("a list");
    assert!(listed.len() > 14);
    for file in listed {
        let path = file["path"].as_str().expect("a path");
        assert!(fs::metadata(path).is_ok_and(|data| data.len() > 0), "{path}");
    }
    assert!(fs::read_to_string(kit.join("film.srt")).unwrap().contains("now pawn c8"));
    // Every address on the page is a file of the kit.
    let page = fs::read_to_string(kit.join("index.html")).unwrap();
    for address in page.split("href=\"").skip(1).map(|rest| rest.split('"').next().unwrap()) {
        let name = String::from_utf8(percent(address)).unwrap();
        assert!(kit.join(&name).is_file(), "{name}");
    }
    fs::write(kit.join("film.pgn"), "mine").unwrap();
    fs::remove_file(kit.join("film.srt")).unwrap();
    let again = plyreel(&["kit", film, "-o", kit_name]);
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&again.stderr).contains("--force"));
    assert_eq!(fs::read_to_string(kit.join("film.pgn")).unwrap(), "mine");
    assert!(!kit.join("film.srt").exists(), "all or nothing");
    let forced = plyreel(&["kit", film, "-o", kit_name, "--force", "-q"]);
    assert_eq!(forced.status.code(), Some(0));
    assert!(fs::read_to_string(kit.join("film.pgn")).unwrap().starts_with("[Event \"Club Bulletin\"]"));
    let left = fs::read_dir(&kit)
        .unwrap()
        .filter(|entry| entry.as_ref().unwrap().path().extension().is_some_and(|e| e == "part"));
    assert_eq!(left.count(), 0);
}

/// `%C5` and the like as bytes.
fn percent(address: &str) -> Vec<u8> {
    let mut parts = address.split('%');
    let mut bytes = parts.next().unwrap_or_default().as_bytes().to_vec();
    for part in parts {
        bytes.push(u8::from_str_radix(&part[..2], 16).unwrap());
        bytes.extend(part[2..].bytes());
    }
    bytes
}

/// The scenes as they stand in the file, with their starts and ends in milliseconds. The first scene is on screen from
/// the start, whenever its own time is.
#[test]
fn containers_carry_the_chapters() {
    let folder = tempfile::tempdir().expect("a folder");
    let film = folder.path().join("film.toml");
    fs::write(&film, SMALL).expect("a file");
    let expected = json!([[0, 4000, "Žubr & Łoś"], [4000, 6000, "Zweite “Szene”"]]);
    for ending in ["mp4", "mkv", "webm"] {
        let path = folder.path().join(format!("film.{ending}"));
        let name = path.to_str().expect("a path");
        let made = plyreel(&["clip", film.to_str().expect("a path"), "-o", name, "-q", "--no-cache"]);
        assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
        let probe = Command::new("ffprobe")
            .args(["-v", "error", "-show_chapters", "-of", "json", name])
            .output()
            .expect("this test needs ffprobe");
        let probe: Value = serde_json::from_slice(&probe.stdout).expect("ffprobe writes JSON");
        let millis = |value: &Value| (value.as_str().unwrap().parse::<f64>().unwrap() * 1000.0).round() as i64;
        let found: Vec<Value> = probe["chapters"]
            .as_array()
            .expect("chapters")
            .iter()
            .map(|found| json!([millis(&found["start_time"]), millis(&found["end_time"]), found["tags"]["title"]]))
            .collect();
        assert_eq!(json!(found), expected, "{ending}");
        let merge = Command::new("mkvmerge").args(["-J", name]).output().expect("this test needs mkvmerge");
        let merge: Value = serde_json::from_slice(&merge.stdout).expect("mkvmerge writes JSON");
        assert_eq!(merge["chapters"][0]["num_entries"], 2, "{ending}");
        if ending == "mkv" {
            let out = Command::new("mkvextract").args([name, "chapters", "-s"]).output().expect("mkvextract starts");
            let simple = String::from_utf8(out.stdout).expect("UTF-8");
            for line in [
                "CHAPTER01=00:00:00.000",
                "CHAPTER01NAME=Žubr & Łoś",
                "CHAPTER02=00:00:04.000",
                "CHAPTER02NAME=Zweite “Szene”",
            ] {
                assert!(simple.contains(line), "{simple}");
            }
        }
    }
}

/// The kit of a film with these files beside it, in a folder of its own.
fn kit_of(film: &str, files: &[(&str, &str)]) -> (tempfile::TempDir, impl Fn(&str) -> String + use<>) {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in files.iter().chain(&[("film.toml", film)]) {
        fs::write(folder.path().join(name), text).expect("a file");
    }
    let (film, kit) = (folder.path().join("film.toml"), folder.path().join("kit"));
    let made = plyreel(&["kit", film.to_str().expect("a path"), "-q", "-o", kit.to_str().expect("a path")]);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    (folder, move |name: &str| fs::read_to_string(kit.join(name)).expect("a file of the kit"))
}

#[test]
fn a_game_keeps_what_its_file_says_of_it() {
    let game = "[Event \"Club evening\"]\n[Site \"Here\"]\n[Date \"1988.05.03\"]\n[Round \"4\"]\n[White \"First, Anna\"]\n\
                [Black \"Second, Max\"]\n[Result \"1-0\"]\n\n1. e4 e5 2. Qh5 Ke7 1-0\n";
    let film = r#"
[film]
title = "Games"
height = 240

[[scene]]
name = "All of it"
pgn = "g.pgn"

[[scene]]
name = "Credited here"
pgn = "g.pgn"
credit = "A. Composer, Club Bulletin 1931"

[[scene]]
name = "Gone on with"
pgn = "g.pgn"
cues = [{ play = "e4 e5 Qh5 Ke7 d4", every = "2s", line = "solution" }]

[[scene]]
name = "Told here"
pgn = "unknown.pgn"
credit = "A. Composer, Club Bulletin 1931"
"#;
    let unknown = game.replace("Club evening", "?").replace("1988.05.03", "????.??.??").replace("First, Anna", "?");
    let (_folder, kit) = kit_of(film, &[("g.pgn", game), ("unknown.pgn", &unknown)]);
    let games = judged("pgn", "film.pgn", &kit("film.pgn"), &[]);
    let tags = |index: usize| {
        let names = ["Event", "Site", "Date", "Round", "White", "Black", "Result"];
        names.map(|name| games[index]["tags"][name].as_str().expect("a tag").to_owned())
    };
    assert_eq!(tags(0), ["Club evening", "Here", "1988.05.03", "4", "First, Anna", "Second, Max", "1-0"]);
    // Words for the screen take nothing away from what the file is sure of, but tell what it does not.
    assert_eq!(tags(1), tags(0));
    assert_eq!(tags(3), ["Club Bulletin", "Here", "1931.??.??", "4", "Composer, A.", "Second, Max", "1-0"]);
    // The result belongs to the game's last position.
    assert_eq!(tags(2)[6], "*");
    assert!(kit("film.pgn").contains("2. Qh5 Ke7 1-0"));
}

#[test]
fn a_list_by_lines_has_a_line_for_each_and_movetext_hides_none() {
    let words = "50 %25 %line %and %of %it %is %to %be %lost %or %so %on";
    let film = SMALL.replace("name = \"Žubr & Łoś\"", "name = \"One\\nTwo\"");
    let film = film.replace("play = \"c8=R!\"", &format!("play = \"c8=R!\", label = \"a\\nb\", text = \"{words}\""));
    let (_folder, kit) = kit_of(&film, &[]);
    let fens = kit("film.fen");
    assert!(fens.lines().count() >= 3, "{fens}");
    assert!(
        fens.lines().all(|line| line.contains(" ; ") && line.split(' ').nth(1).is_some_and(|turn| turn.len() == 1))
    );
    assert!(kit("film.description.txt").contains("One Two\n"), "{}", kit("film.description.txt"));
    let pgn = kit("film.pgn");
    assert!(pgn.contains("%line") && !pgn.lines().any(|line| line.starts_with('%')), "{pgn}");
}

#[test]
fn an_overlays_list_names_its_fill() {
    let film = SMALL.replace("[film]", "[film]\nlayout = \"overlay\"");
    let (_folder, kit) = kit_of(&film, &[]);
    assert!(kit("film.edl").contains("FROM CLIP NAME: film.fill.mp4"), "{}", kit("film.edl"));
}
