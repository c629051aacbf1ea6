//! Drafts that their author has corrected, heard again: what was corrected stays to the byte, whatever its form, and
//! what comes of it is a timeline.

mod spoken;

use plyreel::diag::has_errors;
use plyreel::draft::{Language, redraft};
use plyreel::narration::transcript::read;
use plyreel::source::Source;
use plyreel::timeline::{self, At, Timeline};
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// White's pawn runs to c8; every narration here is about it.
const FEN: &str = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1";

const WORDS: &str = "[0:02.0] The pawn goes to c seven. [0:05.0] Rook d six check. [0:08.0] King b five. \
                     [0:12.0] Rook d five check. [0:16.0] King b four.";

/// Hears it again. The text must have been, and must be again, without a mistake.
fn again(text: &str, words: &str) -> Result<String, std::ops::Range<usize>> {
    let pgn = spoken::no_pgn();
    let (timeline, game, lines) = spoken::resolved(text, &pgn);
    let (_, told) = timeline::parse(&Source::new("film.toml", text));
    assert!(!has_errors(&told), "{told:?}\n{text}");
    let transcript = read(&Source::new("words", words)).0;
    let english = Language::named("en").expect("English is built in");
    let drafted = redraft(&transcript, &english, text, (&timeline, &game, &lines), None)?.text;
    spoken::played(&drafted, &pgn);
    Ok(drafted)
}

fn scene(cues: &str) -> String {
    format!("[[scene]]\nname = \"One\"\nat = \"0:00\"\nfen = \"{FEN}\"\ncues = [\n{cues}]\n")
}

fn parsed(text: &str) -> Timeline {
    timeline::parse(&Source::new("film.toml", text)).0
}

/// What is played, cue by cue.
fn moves(text: &str) -> Vec<String> {
    let cue = |cue: &timeline::Cue| cue.play.iter().map(|san| san.value.clone()).collect::<Vec<_>>().join(" ");
    parsed(text).scenes.iter().flat_map(|scene| &scene.cues).map(cue).filter(|moves| !moves.is_empty()).collect()
}

const LINE: [&str; 5] = ["c7", "Rd6+", "Kb5", "Rd5+", "Kb4"];

#[test]
fn thumbnails_may_stand_anywhere() {
    let still = "[[thumbnail]]\nat = \"0:03\"\n";
    let text = format!("{still}\n{}\n{still}", scene("  { at = \"0:02\", play = \"c7\" },\n"));
    let text = again(&text, WORDS).expect("lines can come and go");
    assert_eq!(moves(&text), LINE, "{text}");
}

#[test]
fn a_scene_without_cues_gets_them() {
    let heads = ["", "cues = []\n", "cues = [\n]\n", "cues = [  # none yet\n  # ? 0:02 \"a\": no legal move\n]\n"];
    for (head, line_end) in heads.into_iter().flat_map(|head| [(head, "\n"), (head, "\r\n")]) {
        let text = format!("[[scene]]\nname = \"One\"\nfen = \"{FEN}\"\n{head}\n[[thumbnail]]\nat = \"0:03\"\n");
        let text = again(&text.replace('\n', line_end), WORDS).expect("lines can come and go");
        assert_eq!(moves(&text), LINE, "{text}");
        assert!(!text.contains("# ? 0:02"), "{text}");
        assert_eq!(text.matches('\n').count(), text.matches(line_end).count(), "line ends are those of the file");
    }
    let text =
        again(&format!("[[scene]]\nname = \"One\"\nfen = \"{FEN}\""), WORDS).expect("a place behind the last line");
    assert_eq!(moves(&text), LINE, "{text}");
}

#[test]
fn a_cue_that_shares_its_lines_is_refused_and_any_other_form_is_not() {
    let crowded = [
        "[ { at = \"0:02\", play = \"c7\" },\n]",
        "[\n  { at = \"0:02\", play = \"c7\" }, ]",
        "[\n  { at = \"0:02\", play = \"c7\" }]",
        "[\n  { at = \"0:02\", play = \"c7\" }, { at = \"0:05\", play = \"Rd6+\" },\n]",
    ];
    let whole = |list: &str| format!("[[scene]]\nfen = \"{FEN}\"\ncues = {list}\n");
    for list in crowded {
        assert!(again(&whole(list), WORDS).is_err(), "{list}");
    }
    let fit = [
        "[\n  { at = \"0:02\", play = \"c7\" },\t# ? 0.41 \"see seven\": c7 | Kc7\n]",
        "[\n  { at = \"0:02\", play = \"c7\" }   # no comma behind the last\n]",
        "[\n\t{ at = \"0:02\", play = \"c7\" },# sure\n]",
    ];
    for list in fit {
        let text = again(&whole(list), WORDS).expect("alone on its line");
        assert_eq!(moves(&text), LINE, "{text}");
    }
}

#[test]
fn what_hangs_on_a_cue_keeps_its_time() {
    // The rook's check is doubtful, so all between the pinned moves is heard again; the caption hangs on a mark.
    let cues = "  { at = \"0:02\", play = \"c7\" },\n  { at = \"0:04.5\", marks = [\"key c7\"] },\n  \
                { at = \"+3.0\", text = \"held\" },\n  { at = \"0:07.9\", play = \"Rd7\" },  # ? 0.3 \"rook\": Rd7\n  \
                { at = \"0:12.0\", text = \"later\" },\n  { at = \"+5.0\", text = \"still\" },\n";
    let text = again(&scene(cues), WORDS).expect("lines can come and go");
    let timeline = parsed(&text);
    let mut clock = 0.0;
    let mut times = Vec::new();
    for cue in &timeline.scenes[0].cues {
        clock = match cue.at.map(|at| at.value) {
            Some(At::Clock(time)) => time.as_secs_f64(),
            Some(At::After(wait)) => clock + wait.as_secs_f64(),
            None => clock,
        };
        if let Some(caption) = &cue.text {
            times.push((caption.value.clone(), clock));
        }
    }
    let expected = [("held".to_owned(), 7.5), ("later".to_owned(), 12.0), ("still".to_owned(), 17.0)];
    assert_eq!(times, expected, "{text}");
    assert_eq!(moves(&text), LINE, "{text}");
}

#[test]
fn what_the_author_added_to_a_doubtful_cue_is_not_lost() {
    let cues = "  { at = \"0:02\", play = \"c7\" },\n  { at = \"0:05\", play = \"Rd7\", text = \"A check\", marks = [\"key d6\"], \
                ghost = \"w Kb7\", claim = \"not check\" },  # ? 0.4 \"Rook\": Rd7\n  { at = \"0:08\", back = 1, text = \"Now\" },  # ? 0.3\n";
    let text = again(&scene(cues), WORDS).expect("lines can come and go");
    assert_eq!(moves(&text), LINE, "{text}");
    let cues = &parsed(&text).scenes[0].cues;
    let check = cues.iter().find(|cue| cue.text.as_ref().is_some_and(|text| text.value == "A check"));
    let check = check.unwrap_or_else(|| panic!("the caption is gone\n{text}"));
    assert!(check.marks.len() == 1 && check.ghost.is_none() && check.play.len() == 1, "{text}");
    assert!(cues.iter().any(|cue| cue.text.as_ref().is_some_and(|text| text.value == "Now")), "{text}");
    // A cue that is heard as before keeps what was said of its position too.
    let cues = "  { at = \"0:02\", play = \"c7\", ghost = \"w c8=Q\", every = \"1s\" },  # ? 0.6 \"see seven\": c7\n";
    let text = again(&scene(cues), WORDS).expect("lines can come and go");
    let pawn = &parsed(&text).scenes[0].cues[0];
    assert!(pawn.ghost.is_some() && pawn.every.is_some() && pawn.play.len() == 1, "{text}");
}

#[test]
fn the_moment_of_a_thumbnail_stays() {
    let cues = "  { at = \"0:02\", play = \"c7\", label = \"run\" },  # ? 0.4 \"see seven\": c7 | Kc7\n";
    let text = format!("{}\n[[thumbnail]]\nscene = \"One\"\nmoment = \"run\"\n", scene(cues));
    let text = again(&text, WORDS).expect("lines can come and go");
    assert!(text.contains(cues.trim_end()) && moves(&text) == LINE, "{text}");
}

#[test]
fn nothing_comes_between_the_moves_of_one_cue() {
    let cues = "  { at = \"0:02\", play = \"c7 Rd6+ Kb5\", every = \"4s\" },\n";
    let text = again(&scene(cues), WORDS).expect("lines can come and go");
    assert_eq!(moves(&text).concat(), ["c7 Rd6+ Kb5", "Rd5+", "Kb4"].concat(), "{text}");
}

#[test]
fn nothing_comes_between_a_sure_scene_and_the_next() {
    let next = format!("\n[[scene]]\nname = \"Two\"\nat = \"0:11\"\nfen = \"{FEN}\"\ncues = []\n");
    let sure = "  { at = \"0:02\", play = \"c7\" },\n";
    let text = again(&(scene(sure) + &next), WORDS).expect("lines can come and go");
    assert_eq!(parsed(&text).scenes[0].cues.len(), 1, "{text}");
    // A doubt behind it, and the words are listened to.
    let doubtful = format!("{sure}  {{ at = \"0:05\", play = \"Rd7\" }},  # ? 0.3 \"rook\": Rd7\n");
    let text = again(&(scene(&doubtful) + &next), WORDS).expect("lines can come and go");
    assert_eq!(moves(&text)[..3], LINE[..3], "{text}");
}

#[test]
fn what_is_doubtful_keeps_its_words_beside_what_is_sure() {
    let words = "[0:02.0] c seven. [0:05.0] Rook d six check. [0:08.0] King b five.";
    // A scene may begin with its first word, and something sure may stand right before a doubtful move.
    let cues = "  { at = \"0:02\", play = \"c7\" },  # ? 0.4 \"c seven\": c7\n  { at = \"0:04.7\", label = \"door\" },\n  \
                { at = \"0:05\", play = \"Rd6+\" },  # ? 0.4 \"rook d six check\": Rd6+\n";
    let text = again(&scene(cues).replace("at = \"0:00\"", "at = \"0:02\""), words).expect("lines can come and go");
    assert_eq!(moves(&text), LINE[..3], "{text}");
    // As something sure may right behind it.
    let cues =
        "  { at = \"0:02\", play = \"c7\" },  # ? 0.4 \"c seven\": c7\n  { at = \"0:02.2\", label = \"door\" },\n";
    let text = again(&scene(cues).replace("at = \"0:00\"", "at = \"0:01\""), words).expect("lines can come and go");
    assert_eq!(moves(&text), LINE[..3], "{text}");
}

fn plyreel(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_plyreel"));
    command.args(arguments).current_dir(folder).env_remove("HOME").env_remove("XDG_CACHE_HOME").stdin(Stdio::null());
    command.output().expect("the program starts")
}

#[test]
fn the_program_keeps_what_it_writes_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name);
    let run = |arguments: &[&str]| {
        let output = plyreel(folder.path(), arguments);
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        (output.status.code().expect("not killed"), text(&output.stdout), text(&output.stderr))
    };
    fs::write(path("talk.txt"), WORDS).expect("a file");
    fs::write(path("noise.flac"), "no sound at all").expect("a file");

    let (code, out, talk) = run(&["draft", "--words", "talk.txt", "--fen", FEN, "-o", "film.toml"]);
    assert_eq!((code, out.as_str()), (0, "film.toml\n"), "{talk}");
    assert!(talk.contains("5 cues with moves"), "{talk}");
    let drafted = fs::read_to_string(path("film.toml")).expect("the draft");
    assert_eq!(moves(&drafted), LINE, "{drafted}");

    // Not over a draft that is there.
    assert_eq!(run(&["draft", "--words", "talk.txt", "--fen", FEN, "-o", "film.toml"]).0, 2);
    // What cannot be read is the world's fault.
    for arguments in [
        ["--fen", FEN, "--narration", "noise.flac", "-o", "other.toml"].as_slice(),
        ["--fen", FEN, "--narration", "nothing.flac", "-o", "other.toml"].as_slice(),
        ["--pin", "--narration", "noise.flac", "-o", "film.toml"].as_slice(),
    ] {
        let (code, _, talk) = run(&[["draft", "--words", "talk.txt"].as_slice(), arguments].concat());
        assert_eq!(code, 3, "{arguments:?}: {talk}");
    }
    assert_eq!(run(&["draft", "--words", "nothing.txt", "--fen", FEN]).0, 3);
    assert!(!path("other.toml").exists());

    // Nothing doubtful: nothing is written.
    let sure: Vec<&str> = drafted.lines().map(|line| line.split("  # ?").next().unwrap_or(line)).collect();
    let drafted = sure.join("\n") + "\n";
    fs::write(path("film.toml"), &drafted).expect("a file");
    let pin = ["draft", "--words", "talk.txt", "--pin", "-o", "film.toml"];
    assert_eq!(run(&pin).0, 0);
    assert_eq!(fs::read_to_string(path("film.toml")).expect("the draft"), drafted);
    assert!(!path("film.toml.bak").exists());

    // A doubt: heard again, and the old text kept.
    let cut: String = drafted.lines().filter(|line| !line.contains("Kb4")).map(|line| line.to_owned() + "\n").collect();
    let cut = cut.replace("\"Rd5+\", claim = \"check\" },", "\"Rd7\" },  # ? 0.4 \"rook the five\": Rd7");
    let cut = cut.replace("Kb5\" },", "Kb5\" },  # sure");
    fs::write(path("film.toml"), &cut).expect("a file");
    let (code, out, talk) = run(&pin);
    assert_eq!((code, out.as_str()), (0, "film.toml\n"), "{talk}");
    assert_eq!(fs::read_to_string(path("film.toml.bak")).expect("what it was"), cut);
    let pinned = fs::read_to_string(path("film.toml")).expect("the draft");
    assert!(moves(&pinned) == LINE && pinned.contains("# sure"), "{pinned}");
}
