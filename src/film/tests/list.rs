//! The move list, as the lesson goes on.

use super::*;
use crate::film::{Current, Line, ListMove, MoveList};
use std::fmt::Write;

/// The list as one line: `[x]` lit, `(x)` muted, tries in braces after their place.
pub(super) fn written(list: &MoveList) -> String {
    let moves = |moves: &Line, lit: Option<usize>| {
        let word = |(index, ply): (usize, ListMove)| match (lit == Some(index), ply.muted) {
            (true, _) => format!("[{}]", ply.san),
            (false, true) => format!("({})", ply.san),
            (false, false) => ply.san.to_string(),
        };
        moves.iter().enumerate().map(word).collect::<Vec<_>>().join(" ")
    };
    let lit = if let Current::Main(index) = list.current { Some(index) } else { None };
    let mut text = moves(&list.main, lit);
    for (index, line) in list.tries.iter().enumerate() {
        let lit = if let Current::Try(at, ply) = list.current { (at == index).then_some(ply) } else { None };
        let within = line.within.map_or(String::new(), |within| format!(" in {within}"));
        let verdict = if line.verdict.is_empty() { String::new() } else { format!(" {}", line.verdict) };
        let shown = moves(&line.moves, lit);
        write!(text, " {{{}{within}: {shown}{verdict}}}", line.after).expect("a string takes all that is written");
    }
    text
}

fn list(film: &Film, ms: u32) -> String {
    written(&scene(film.at(ms_time(ms))).list)
}

#[test]
fn nothing_is_given_away_and_what_is_left_behind_is_muted() {
    let film = Draft::default()
        .position(Some(0), SAAVEDRA)
        .play(1000, "c7")
        .play(2000, "Rd6+")
        .back(3000, Back::Plies(1))
        .cue(4000, |cue| {
            cue.play = vec![Spanned::new("Kb2".to_owned(), 0..0)];
            cue.line = Some(line(LineKind::Try));
        })
        .play(5000, "c8=Q")
        .back(6000, Back::Plies(1))
        .play(7000, "c8=R")
        .back(8000, Back::Start)
        .play(9000, "c7 Rd6+ Kb5")
        .good();
    assert_eq!(list(&film, 999), "");
    assert_eq!(list(&film, 1000), "[c7]");
    assert_eq!(list(&film, 2000), "c7 [Rd6+]");
    assert_eq!(list(&film, 3000), "[c7] (Rd6+)");
    assert_eq!(list(&film, 4000), "c7 (Rd6+) {1: [Kb2]}");
    assert_eq!(list(&film, 5000), "c7 (Rd6+) {1: Kb2 [c8=Q]}");
    assert_eq!(list(&film, 7000), "c7 (Rd6+) {1: Kb2 (c8=Q)} {1 in 0: [c8=R]}");
    assert_eq!(list(&film, 8000), "(c7) (Rd6+) {1: (Kb2) (c8=Q)} {1 in 0: (c8=R)}");
    assert_eq!(list(&film, 20_000), "c7 Rd6+ [Kb5] {1: (Kb2) (c8=Q)} {1 in 0: (c8=R)}");
}

#[test]
fn a_try_played_out_has_its_verdict() {
    let film = untimed().good();
    let end = film.chapters()[1].end;
    let list = scene(film.at(Time::from_micros(end.as_micros() - 1))).list;
    assert!(
        written(&list).ends_with("Rd4! c8=R! Ra4 [Kb3] {10: (c8=Q?) (Rc4+) (Qxc4) stalemate}"),
        "{}",
        written(&list)
    );
}

#[test]
fn a_mate_is_said_by_its_sign_and_the_list_s_words_may_be_the_film_s_own() {
    let own = |settings: &mut FilmSettings| {
        let word = |text: &str| Some(Spanned::new(text.to_owned(), 3..4));
        (settings.words.r#try, settings.words.or, settings.words.stalemate) =
            (word("PROBE"), word("ODER"), word("Patt"));
    };
    let tries = |settings: fn(&mut FilmSettings), fen: &str, moves: &str| {
        let film = Draft::new(settings).position(Some(0), fen).cue(1000, |cue| {
            cue.play = moves.split(' ').map(|word| Spanned::new(word.to_owned(), 0..0)).collect();
            cue.line = Some(line(LineKind::Try));
        });
        let list = scene(film.good().at(ms_time(9000))).list;
        list.tries.iter().map(|line| format!("{}/{}", line.label, line.verdict)).collect::<Vec<_>>()
    };
    assert_eq!(tries(|_| {}, "8/8/8/8/8/1K6/3R4/k7 w - - 0 1", "Rd1#"), ["TRY/"]);
    // The king in the corner has no square left.
    assert_eq!(tries(own, "8/8/8/8/8/2K5/2Q5/k7 w - - 0 1", "Kb3"), ["PROBE/Patt"]);
}

#[test]
fn who_is_to_move_and_what_is_folded_are_said_in_the_film_s_own_words() {
    let own = |settings: &mut FilmSettings| {
        let word = |text: &str| Some(Spanned::new(text.to_owned(), 3..4));
        (settings.words.white, settings.words.black, settings.words.fold) =
            (word("Weiß am Zug"), word("Schwarz am Zug"), word("Züge {from} – {to}"));
    };
    for (fen, task) in
        [("8/8/8/8/8/1K6/3R4/k7 w - - 0 1", "Weiß am Zug"), ("8/8/8/8/8/1K6/3R4/k7 b - - 0 1", "Schwarz am Zug")]
    {
        let film = Draft::new(own).position(Some(0), fen).good();
        let scene = scene(film.at(ms_time(500)));
        assert_eq!((scene.head.task.as_str(), &*scene.list.fold), (task, "Züge {from} – {to}"));
    }
}

#[test]
fn a_list_scrolls_for_240_ms_and_jumps_when_hurried() {
    let film =
        Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7").play(1299, "Rd6+").play(1599, "Kb5").good();
    let before = |ms: u32| scene(film.at(ms_time(ms))).list_before.map(|(list, share)| (list.main.len(), share));
    assert_eq!((before(999), before(1000), before(1120), before(1240)), (None, Some((0, 0.0)), Some((0, 0.5)), None));
    assert_eq!(before(1299), None, "299 ms after the last scroll");
    assert_eq!(before(1599), Some((2, 0.0)));
    let (one, other) = (scene(film.at(ms_time(1700))), scene(film.at(ms_time(1800))));
    assert!(std::sync::Arc::ptr_eq(&one.list, &other.list), "a list is made once a change, not once a frame");
}

#[test]
fn there_is_no_third_level() {
    let tries = |draft: Draft, at: u32, moves: &str| {
        let moves = moves.split(' ').map(|word| Spanned::new(word.to_owned(), 7..9)).collect();
        draft.cue(at, |cue| (cue.play, cue.line) = (moves, Some(line(LineKind::Try))))
    };
    let draft = Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7 Rd6+").back(10_000, Back::Start);
    let draft = tries(draft, 20_000, "Kb7 Kb2 c7 Kc3").back(40_000, Back::Plies(2));
    let draft = tries(draft, 50_000, "Kc7 Kb3 Kb6").back(70_000, Back::Plies(1));
    assert!(draft.film(None).1.is_empty(), "two levels are shown");
    let draft = tries(draft, 80_000, "Kb8");
    let (film, mistakes) = draft.film(None);
    assert_eq!(
        mistakes.iter().map(|mistake| (mistake.code, mistake.primary.span)).collect::<Vec<_>>(),
        [(crate::diag::Code::Conflict, Span::new(7, 9))]
    );
    assert_eq!(list(&film, 99_000), "(c7) (Rd6+) {0: Kb7 Kb2 (c7) (Kc3)} {0 in 0: Kc7 Kb3 (Kb6)} {0 in 0: [Kb8]}");
    let mut overlay = draft;
    overlay.timeline.film.layout = Some(Spanned::new(crate::timeline::Layout::Overlay, 0..0));
    assert!(overlay.film(None).1.is_empty(), "an overlay has no list");
}

#[test]
fn a_sign_comes_with_the_cue_that_gives_it() {
    let film = good_text(
        r#"
        [[scene]]
        fen  = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"
        cues = [
          { at = 1, play = "c7 Rd6+ Kb5", every = "2s" },
          { at = 12, back = "start" },
          { at = 14, play = "c7! Rd6+ Kb7??", line = "try", every = "2s" },
          { at = 22, back = "start" },
          { at = 25, play = "c7 Rd6+!?" },
        ]
        "#,
    );
    assert_eq!(list(&film, 8000), "c7 Rd6+ [Kb5]");
    assert_eq!(list(&film, 13_900), "(c7) (Rd6+) (Kb5)");
    assert_eq!(list(&film, 14_000), "[c7!] (Rd6+) (Kb5)");
    assert_eq!(list(&film, 21_000), "c7! Rd6+ (Kb5) {2: [Kb7??]}");
    assert!(list(&film, 40_000).starts_with("c7! [Rd6+!?]"), "{}", list(&film, 40_000));
    let replay = |last: &str| {
        good_text(&format!(
            "[[scene]]\nname = \"A\"\ncues = [{{ play = \"e4\" }}, {{ back = \"start\" }}, {{ play = \"{last}\" }}]\n\
             [[scene]]\nreplay = {{ scene = \"A\" }}\n"
        ))
    };
    let (key, plain) = (replay("e4!"), replay("e4"));
    let start = key.chapters()[1].start;
    assert_eq!(written(&scene(key.at(start)).list), "(e4!)", "what has been shown is given away by nothing");
    // The second playing is the one of a key, and so is held longer: in the scene itself, and in its replay.
    for chapter in 0..2 {
        let length = |film: &Film| film.chapters()[chapter].end.since(film.chapters()[chapter].start);
        assert_eq!(length(&key), length(&plain) + Duration::from_millis(400), "1600 ms in the place of 1200");
    }
}
