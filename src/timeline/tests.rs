use super::*;
use crate::diag::Code;
use crate::source::Spanned;
use crate::units::{FrameRate, Time};
use std::time::Duration;

/// The format's own example, with every kind of scene.
pub(super) const LANTERN: &str = r#"
[film]
title     = "The longer road"
series    = "Lantern lessons"
number    = 4
presenter = "The Wednesday class"
narration = "lantern-04.flac"
style     = "series.toml"
frame     = "wide"
height    = 1080
fps       = 30
theme     = "dusk"
layout    = "panel"
notation  = "figurine"

[[scene]]
name   = "The first position"
at     = "0:31.2"
fen    = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"
task   = "White to play and win"
credit = "A. Composer, Club Bulletin 1931"
cues = [
  { at = "0:58.4", play = "c7 Rd6+", line = "solution" },
  { at = "1:03.0", play = "Kb5", marks = ["guard d6", "trap a1 b1"] },
  { at = "1:08.2", arrows = ["c7 c8"], ghost = "c8=Q", text = "Why not a queen at once?" },
  { at = "1:21.0", play = "Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4", every = "1.1s", label = "crossroads" },
  { at = "1:34.5", play = "c8=Q?", line = "try" },
  { at = "1:38.0", play = "Rc4+ Qxc4", claim = "stalemate" },
  { at = "1:44.0", back = "crossroads" },
  { at = "1:47.5", play = "c8=R!", claim = ["threat mate in 2", "White wins"] },
]

[[scene]]
name = "Slow replay"
at   = "2:30"
replay = { scene = "The first position", line = "solution", pace = 0.35 }

[[scene]]
at   = "3:05"
card = "end"
text = "Next week: a king on two roads"

[[thumbnail]]
scene = "The first position"
moment = "crossroads"
words = "Not a *queen*!"
arrows = ["c7 c8"]
"#;

fn read(text: &str) -> (Timeline, Vec<Diagnostic>) {
    parse(&Source::new("film.toml", text))
}

/// The timeline of a text without mistakes.
fn clean(text: &str) -> Timeline {
    let (timeline, diagnostics) = read(text);
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
    timeline
}

/// What the spans of all diagnostics cover, with their codes.
fn found(text: &str) -> Vec<(Code, String)> {
    let (_, diagnostics) = read(text);
    let written = |span: Span| text[span.start..span.end].to_owned();
    diagnostics.iter().map(|diagnostic| (diagnostic.code, written(diagnostic.primary.span))).collect()
}

/// What is found in a cue of a scene.
fn found_in_cue(keys: &str) -> Vec<(Code, String)> {
    found(&format!("[[scene]]\ncues = [{{ {keys} }}]\n"))
}

#[test]
fn the_example_is_read_whole() {
    let timeline = clean(LANTERN);
    let film = &timeline.film;
    assert_eq!(film.number.unwrap().value, 4);
    assert_eq!(film.fps.unwrap().value, FrameRate::new(30, 1).unwrap());
    assert_eq!(film.layout.unwrap().value, Layout::Panel);
    assert_eq!(timeline.scenes.len(), 3);

    let scene = &timeline.scenes[0];
    assert_eq!(scene.at.unwrap().value, At::Clock(Time::from_millis(31_200)));
    assert_eq!(&LANTERN[scene.span.start..scene.span.end], "[[scene]]");
    let cue = &scene.cues[1];
    assert!(LANTERN[cue.span.start..cue.span.end].starts_with(r#"{ at = "1:03.0""#));
    assert_eq!(cue.marks[1].value, Mark { role: MarkRole::Trap, squares: vec!["a1".to_owned(), "b1".to_owned()] });
    assert_eq!(scene.cues[2].ghost.as_ref().unwrap().value, Ghost { side: None, san: "c8=Q".to_owned() });
    assert_eq!(scene.cues[3].play.len(), 7);
    assert_eq!(scene.cues[3].every.unwrap().value, Duration::from_millis(1100));
    assert_eq!(scene.cues[6].back.as_ref().unwrap().value, Back::Label("crossroads".to_owned()));
    assert_eq!(scene.cues[7].claims.len(), 2);

    let SceneBody::Replay(replay) = &timeline.scenes[1].body else { panic!("a replay") };
    assert_eq!(replay.pace.unwrap().value, 0.35);
    assert_eq!(timeline.scenes[2].body, SceneBody::Card(Spanned::new(CardKind::End, 0..0)));
    assert_eq!(timeline.thumbnails[0].arrows[0].value.to, "c8");
}

#[test]
fn every_word_of_a_text_has_its_own_place() {
    for (text, wanted) in [
        (r#"play = "c7 Rd6+ Kb5""#, "Rd6+"),
        (r"play = 'c7 Rd6+ Kb5'", "Rd6+"),
        (r#"play = "c7\tR\u00646+ Kb5""#, r"R\u00646+"),
        (r#"play = "c7\x20Rd6+\x20Kb5""#, "Rd6+"),
        ("play = \"\"\"\n  c7 \\\n  Rd6+ Kb5\"\"\"", "Rd6+"),
        ("play = \"\"\"\r\n\u{e4} \\\r\n  Rd6+ Kb5\"\"\"", "Rd6+"),
        ("play = '''\nc7\nRd6+ Kb5'''", "Rd6+"),
        (r#"play = ["c7", "1... Rd6+", "Kb5"]"#, "Rd6+"),
        (r#"play = "1.c7 1...Rd6+ 2.Kb5""#, "Rd6+"),
    ] {
        let text = format!("[[scene]]\ncues = [{{ {text} }}]\n");
        let timeline = clean(&text);
        let play = &timeline.scenes[0].cues[0].play;
        assert_eq!(play.len(), 3, "{text}");
        assert_eq!(play[1].value, "Rd6+", "{text}");
        assert_eq!(&text[play[1].span.start..play[1].span.end], wanted, "{text}");
    }
}

#[test]
fn a_wrong_square_is_pointed_at_alone() {
    assert_eq!(found_in_cue(r#"marks = ["guard d6 x9"]"#), [(Code::BadValue, "x9".to_owned())]);
    assert_eq!(found_in_cue(r#"marks = "guard d6, e6""#), [(Code::BadValue, "d6,".to_owned())]);
    assert_eq!(found_in_cue(r#"arrows = ["c7 c8", "plan w e2 E4"]"#), [(Code::BadValue, "E4".to_owned())]);
    assert_eq!(found_in_cue(r#"arrows = "paln e2 e4""#), [(Code::UnknownWord, "paln".to_owned())]);
    assert_eq!(found_in_cue(r#"marks = "gard e4""#), [(Code::UnknownWord, "gard".to_owned())]);
    assert_eq!(found_in_cue(r#"marks = "force h1""#), [(Code::BadValue, "force h1".to_owned())]);
}

#[test]
fn arrows_name_their_side_and_kind() {
    let timeline = clean("[[scene]]\ncues = [{ arrows = [\"c7 c8\", \"plan c7 c8\", \"b c7 c8\", \"plan w e2 e4\"] }]");
    let arrows = &timeline.scenes[0].cues[0].arrows;
    let kinds: Vec<_> = arrows.iter().map(|arrow| (arrow.value.plan, arrow.value.side)).collect();
    use crate::units::Side::{Black, White};
    assert_eq!(kinds, [(false, None), (true, None), (false, Some(Black)), (true, Some(White))]);
}

#[test]
fn a_style_gives_what_the_film_does_not() {
    let style = Source::new("series.toml", "[film]\ntitle = \"S\"\nfps = 25\nnarration = \"x.flac\"\n");
    let (defaults, diagnostics) = parse_style(&style);
    assert_eq!(diagnostics.len(), 1, "a style has no narration of its own");
    assert_eq!(diagnostics[0].code, Code::UnknownKey);
    assert_eq!(diagnostics[0].source.as_ref().unwrap().path(), style.path());

    let text = "[film]\ntitle = \"T\"\nstyle = \"series.toml\"\n[[scene]]\n";
    let film = clean(text).film.or(defaults);
    assert_eq!(film.title.unwrap().value, "T");
    let fps = film.fps.unwrap();
    assert_eq!(fps.value.num(), 25);
    assert_eq!(&text[fps.span.start..fps.span.end], "series.toml", "the place is the key that brought it in");
}

#[test]
fn times_are_held_against_all_times_above() {
    let back = |text: &str| {
        let spans = found(text).into_iter().filter(|(code, _)| *code == Code::TimeGoesBack);
        spans.map(|(_, written)| written).collect::<Vec<_>>()
    };
    assert_eq!(back("[[scene]]\nat = 5\ncues = [{ at = \"0:04\", text = \"\" }]"), ["0:04"]);
    assert_eq!(back("[[scene]]\nat = 5\ncues = [{ at = \"+1\", text = \"\" }, { at = 5.5, text = \"\" }]"), ["5.5"]);
    assert_eq!(
        back("[[scene]]\nat = 5\ncues = [{ text = \"\" }]\n[[scene]]\n[[scene]]\nat = 4"),
        ["4"],
        "a missing time keeps the last known one"
    );
    assert_eq!(
        back(
            "[[scene]]\ncues = [{ at = 9, text = \"\" }, { at = 3, text = \"\" }, { at = 4, text = \"\" }, { at = 9, text = \"\" }]"
        ),
        ["3", "4"]
    );
    let moves = "[[scene]]\ncues = [{ at = 10, play = \"e4 e5 Nf3\", every = 2 }, { at = AT, text = \"\" }]";
    assert_eq!(back(&moves.replace("AT", "13.9")), ["13.9"], "the last move begins at 14");
    assert_eq!(back(&moves.replace("AT", "14")), Vec::<String>::new());
}

#[test]
fn a_key_given_twice_points_to_the_first() {
    let first = |text: &str| {
        let (_, diagnostics) = read(text);
        assert_eq!(diagnostics.len(), 1, "{text}: {diagnostics:#?}");
        assert_eq!(diagnostics[0].code, Code::Duplicate);
        diagnostics[0].others[0].span.start
    };
    let cue = "[[scene]]\nat = 1\ncues = [{ at = 2, text = \"\" }, { at = 3, text = \"\", at = 4 }]\n";
    assert_eq!(first(cue), cue.find("at = 3").unwrap());
    let scene = "[[scene]]\nat = 1\ncues = [{ at = 2, text = \"\" }]\nat = 4\n";
    assert_eq!(first(scene), scene.find("at = 1").unwrap());
    let film = "[film]\ntitle = \"A\"\n[[scene]]\n[film]\n";
    let (_, diagnostics) = read(film);
    assert_eq!(diagnostics[0].code, Code::Duplicate);
}

#[test]
fn what_is_not_there_is_missed_at_the_end() {
    let (timeline, diagnostics) = read("");
    assert_eq!(timeline, Timeline::default());
    assert_eq!((diagnostics[0].code, diagnostics[0].primary.span), (Code::MissingKey, Span::new(0, 0)));
}
