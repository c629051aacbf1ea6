//! What a film may bring to its look, and what is refused because it could not be seen, read or borne.

mod films;

use films::plyreel;
use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::Output;

/// A folder with a film of one scene, these lines in `[film]` and these files beside it.
fn folder(film: &str, files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let text = format!(
        "[film]\ntitle = \"A film\"\nframe = \"640x360\"\n{film}\n\n[[scene]]\nname = \"The longer road\"\n\
         fen = \"8/8/1KP5/3r4/8/8/8/k7 w - - 0 1\"\ncues = [{{ at = 1, play = \"c7\", marks = [\"threat d5\"] }}]\n"
    );
    fs::write(folder.path().join("film.toml"), text).expect("a film");
    for (name, text) in files {
        fs::write(folder.path().join(name), text).expect("a file");
    }
    folder
}

fn check(folder: &Path, more: &[&str]) -> (bool, String) {
    let film = folder.join("film.toml");
    let mut command = plyreel(&["check", film.to_str().expect("a plain path"), "--format", "short"]);
    let output: Output = command.args(more).output().expect("the program starts");
    (output.status.success(), String::from_utf8_lossy(&output.stdout).into_owned())
}

fn still(folder: &Path) -> Vec<u8> {
    let (film, out) = (folder.join("film.toml"), folder.join("still.png"));
    let path = |path: &Path| path.to_str().expect("a plain path").to_owned();
    films::run(&mut plyreel(&["still", &path(&film), "--at", "2", "-q", "-o", &path(&out)]));
    fs::read(out).expect("a still")
}

#[test]
fn colours_are_given_in_the_film_in_a_file_or_in_the_series() {
    let colours = "base = \"tide\"\naccent = \"#FFD27F\"\n";
    let usual = still(folder("theme = \"tide\"", &[]).path());
    let inline = folder("theme = { base = \"tide\", accent = \"#FFD27F\" }", &[]);
    let own = still(inline.path());
    assert!(own != usual, "the colour is seen");
    assert!(still(folder(&format!("[film.theme]\n{colours}"), &[]).path()) == own);
    assert!(still(folder("theme = \"night.toml\"", &[("night.toml", colours)]).path()) == own);
    let series = format!("[film.theme]\n{colours}");
    assert!(still(folder("style = \"series.toml\"", &[("series.toml", &series)]).path()) == own);
    let series = [("series.toml", "[film]\ntheme = \"night.toml\"\n"), ("night.toml", colours)];
    assert!(still(folder("style = \"series.toml\"", &series).path()) == own);
}

#[test]
fn colours_that_cannot_be_told_apart_are_refused_at_their_place() {
    let found = check(folder("theme = { text = \"#555555\" }", &[]).path(), &[]);
    assert!(
        !found.0 && found.1.contains("film.toml:4:19: error[low-contrast]: `text` cannot be told from `ground`"),
        "{}",
        found.1
    );
    let file = [("night.toml", "base = \"dusk\"\n\nthreat = \"#4A3A50\"\n")];
    let found = check(folder("theme = \"night.toml\"", &file).path(), &[]);
    assert!(
        found.1.contains("night.toml:3:11: error[low-contrast]: `threat` cannot be told from `dark-square`"),
        "{}",
        found.1
    );
    let series = [("series.toml", "[film.theme]\ncasing = \"#B0A0B0\"\n")];
    let found = check(folder("style = \"series.toml\"", &series).path(), &[]);
    assert!(found.1.contains("series.toml:2:11: error[low-contrast]: `"), "{}", found.1);
}

#[test]
fn a_colour_that_is_none_and_a_file_that_is_missing_are_named() {
    let found = check(folder("theme = { accent = \"red\", acent = \"#FFFFFF\" }", &[]).path(), &[]).1;
    assert!(found.contains("error[bad-value]: `red` is not a value of `accent`"), "{found}");
    assert!(found.contains("error[unknown-key]: `acent` is not a key of a theme"), "{found}");
    let found = check(folder("theme = \"none.toml\"", &[]).path(), &[]).1;
    assert!(found.contains("error[media]: the file `none.toml` cannot be used"), "{found}");
    let found = check(folder("theme = \"dust\"", &[]).path(), &[]).1;
    assert!(found.contains("error[unknown-word]: `dust` is not a value of `theme`"), "{found}");
}

#[test]
fn a_film_that_flashes_is_refused_at_the_scene_that_does() {
    let mut text = String::from("[film]\ntitle = \"A film\"\nframe = \"640x360\"\n");
    for i in 0..20 {
        let what = if i % 2 == 0 { "fen = \"8/8/8/3k4/8/8/8/K7 w - - 0 1\"" } else { "card = \"chapter\"" };
        writeln!(text, "[[scene]]\nname = \"{i}\"\nat = {}\n{what}", f64::from(i) / 10.0).expect("a text");
    }
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("film.toml"), text).expect("a film");
    let (passes, found) = check(folder.path(), &[]);
    assert!(!passes && found.contains("error[flash]: at 0:00.7"), "{found}");
    let film = folder.path().join("film.toml");
    let output = plyreel(&["clip", film.to_str().expect("a plain path")]).output().expect("the program starts");
    assert_eq!(output.status.code(), Some(1), "no such film is made");
}

#[test]
fn a_reading_profile_warns_and_strict_refuses() {
    let folder = folder("", &[]);
    let text = "[film]\ncaptions = \"broadcast\"\n\n[[scene]]\nat = 0\nname = \"Captions\"\ncues = [\n\
                { at = 1, text = \"Nine quick words that nobody will ever read quite\" },\n{ at = 3, text = \"\" }]\n";
    fs::write(folder.path().join("film.toml"), text).expect("a film");
    let (passes, found) = check(folder.path(), &[]);
    assert!(passes && found.contains("warning[hurried-caption]: the caption `Nine quick"), "{found}");
    let (passes, found) = check(folder.path(), &["--strict"]);
    assert!(!passes && found.contains("error[hurried-caption]"), "{found}");
}

const PIECES: &str = include_str!("../src/paint/staunton.pieces");

/// Pieces that are read from a file and drawn, with other rooks than the usual ones.
#[test]
fn pieces_of_a_film_s_own_are_drawn_and_their_mistakes_have_a_line() {
    let usual = still(folder("", &[]).path());
    assert!(still(folder("pieces = \"own.pieces\"", &[("own.pieces", PIECES)]).path()) == usual);
    let rook = PIECES.find("piece rook").expect("a rook");
    let pawn = PIECES.find("piece pawn").expect("a pawn");
    let next = |from: usize| PIECES[from + 1..].find("\npiece ").map_or(PIECES.len(), |at| from + 1 + at);
    // The rook gets the pawn's drawing.
    let pawns = PIECES[pawn..next(pawn)].replacen("piece pawn", "piece rook", 1);
    let swapped = format!("{}{pawns}{}", &PIECES[..rook], &PIECES[next(rook)..]);
    assert!(still(folder("pieces = \"own.pieces\"", &[("own.pieces", &swapped)]).path()) != usual);
    let found = check(folder("pieces = \"own.pieces\"", &[("own.pieces", "grid 100\npiece earl\n")]).path(), &[]).1;
    assert!(found.contains("own.pieces:2:1: error[bad-value]: the pieces `own.pieces` cannot be read"), "{found}");
    let found = check(folder("pieces = \"none.pieces\"", &[]).path(), &[]).1;
    assert!(found.contains("error[media]: the file `none.pieces` cannot be used"), "{found}");
}

#[test]
fn fonts_of_a_film_s_own_are_set_and_a_folder_without_any_is_refused() {
    let own = folder("fonts = \"letters\"", &[]);
    fs::create_dir(own.path().join("letters")).expect("a folder");
    let found = check(own.path(), &[]).1;
    assert!(found.contains("error[media]: the fonts `letters` cannot be used"), "{found}");
    let font = Path::new(env!("CARGO_MANIFEST_DIR")).join("fonts/Lato-Heavy.ttf");
    fs::copy(font, own.path().join("letters/title.ttf")).expect("a font");
    assert!(still(own.path()) != still(folder("", &[]).path()), "the title is set in another font");
    fs::write(own.path().join("letters/text.ttf"), "no font").expect("a file");
    let found = check(own.path(), &[]).1;
    assert!(found.contains("error[media]: the fonts `letters` cannot be used"), "{found}");
}

#[test]
fn a_text_that_runs_both_ways_and_captions_that_are_never_shown_are_checked() {
    let text = "[film]\ntitle = \"Réti, סיום\"\n\n[[scene]]\nat = 0\nfen = \"nothing\"\n\
                cues = [{ at = 1, text = \"a 漢\" }]\n";
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("film.toml"), text).expect("a film");
    let found = check(folder.path(), &[]).1;
    assert!(found.contains("error[mixed-directions]"), "{found}");
    assert!(found.contains("error[fen]"), "{found}");
    assert!(found.contains("can draw `漢` (U+6F22) in the caption `a 漢`"), "{found}");
}
