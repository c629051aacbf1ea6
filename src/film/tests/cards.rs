use super::super::{Body, CardPicture, Film, KingMoment};
use crate::diag::Diagnostic;
use crate::units::Time;
use std::time::Duration;

fn film(text: &str) -> (Film, Vec<Diagnostic>) {
    super::of_text(text, None)
}

fn card(film: &Film, ms: i64) -> CardPicture {
    match film.at(Time::from_millis(ms)).body {
        Body::Card(card) => (*card).clone(),
        Body::Scene(_) => panic!("a card is on screen"),
    }
}

/// Two positions made up for this.
const LESSON: &str = r#"
[film]
title     = "A lesson"
presenter = "The class"
music     = "The keeper"

[[scene]]
at   = 0
card = "position"
ring = "20s"

[[scene]]
name   = "Modest"
at     = 25
fen    = "8/k1P5/p7/K7/8/8/8/8 w - - 0 1"
task   = "White to play and win"
credit = "Made for this test"
cues   = [{ at = 26, play = "c8=R! Kb7 Rc1", every = "1s" }]

[[scene]]
name = "Door"
at   = 30
fen  = "8/8/1K6/8/1P6/5k2/8/1r6 w - - 0 1"

[[scene]]
at   = 35
card = "position"

[[scene]]
name = "Again"
at   = 40
fen  = "8/8/1K6/8/1P6/5k2/8/1r6 b - - 0 1"
cues = [{ at = 41, play = "Rxb4+" }]

[[scene]]
at   = 45
card = "end"
text = "Good night"

[[scene]]
at   = 50
card = "credits"
text = "Light: The harbour"
"#;

#[test]
fn a_position_card_shows_what_comes_and_counts_down_to_it() {
    let (film, doubts) = film(LESSON);
    assert!(doubts.is_empty(), "{doubts:?}");
    let first = card(&film, 1000);
    assert_eq!(first.title, "White to play and win");
    assert_eq!(first.line.as_deref(), Some("Made for this test"));
    assert_eq!(first.task.as_ref().map(|(text, _)| text.as_str()), Some("Modest"));
    assert_eq!(first.kicker.as_deref(), Some("Position 1 of 3"));
    assert_eq!(first.pause.as_deref(), Some("Pause and think"));
    assert_eq!(first.board.as_ref().map(|board| board.standing.len()), Some(4));
    let left = |ms| card(&film, ms).ring.map(|ring| (ring.left, ring.spent));
    assert_eq!(left(4900), Some((20, 0.0)), "it waits until it can end with the card");
    assert_eq!(left(15_000), Some((10, 10.0)));
    assert!(left(24_900).is_some_and(|(seconds, spent)| seconds == 1 && spent > 19.9));
    let second = card(&film, 37_000);
    assert_eq!((second.title.as_str(), second.kicker.as_deref()), ("Again", Some("Position 3 of 3")));
    assert_eq!(second.ring, None);
}

#[test]
fn an_end_card_has_the_last_moves_and_credits_leave_nobody_out() {
    let (film, _) = film(LESSON);
    let end = card(&film, 47_000);
    assert_eq!(end.moves.iter().map(|played| &*played.san).collect::<Vec<_>>(), ["Rxb4+"]);
    assert!(end.board.is_some());
    let rows = card(&film, 51_000).rows;
    let rows: Vec<(&str, &str)> = rows.iter().map(|(label, text)| (label.as_str(), text.as_str())).collect();
    assert_eq!(
        rows,
        [
            ("Modest", "Made for this test"),
            ("Presented by", "The class"),
            ("Music", "The keeper"),
            ("Light", "The harbour")
        ]
    );
}

/// The last move comes too late for jaws of its own: on the card after it they stand.
#[test]
fn an_end_card_has_the_check_that_its_scene_had_no_time_for() {
    let (film, _) = film(&LESSON.replace("at = 41, play", "at = 44.8, play"));
    let Body::Scene(scene) = film.at(Time::from_millis(44_990)).body else { panic!("a board is on screen") };
    assert_eq!(scene.board.king, None);
    let king = card(&film, 47_000).board.and_then(|board| board.king);
    assert!(matches!(king, Some(KingMoment::Check { enter: 1.0, .. })), "{king:?}");
}

#[test]
fn forty_credits_take_four_pages_of_ten() {
    let scene =
        |number| format!("[[scene]]\nfen = \"8/k1P5/p7/K7/8/8/8/8 w - - 0 1\"\ncredit = \"Composer {number}\"\n");
    let scenes: Vec<String> = (0..40).map(scene).collect();
    let thanks = "[[scene]]\nname = \"Thanks\"\ncard = \"credits\"\n";
    let text = format!("[film]\ntitle = \"Many\"\n{}{thanks}", scenes.concat());
    let (film, doubts) = film(&text);
    assert!(doubts.is_empty(), "{doubts:?}");
    let last = film.chapters().last().expect("a chapter").clone();
    assert_eq!(film.chapters().len(), 41, "pages are no chapters");
    assert!(last.end.since(last.start) >= Duration::from_secs(16));
    let quarter = last.end.since(last.start) / 4;
    let mut seen = Vec::new();
    for page in 0..4 {
        let middle = last.start + quarter * page + quarter / 2;
        let rows = card(&film, middle.as_micros() / 1000).rows;
        assert_eq!(rows.len(), 10);
        seen.extend(rows.into_iter().map(|(_, text)| text));
    }
    assert_eq!(seen, (0..40).map(|number| format!("Composer {number}")).collect::<Vec<_>>());
}

#[test]
fn a_ring_longer_than_its_card_is_doubted() {
    let (_, doubts) = film(&LESSON.replace("20s", "30s"));
    assert_eq!(doubts.len(), 1);
    assert_eq!(doubts[0].message, "the ring counts 30 s and its card is on screen for 25.0 s");
}

#[test]
fn the_words_on_cards_may_be_the_series_own() {
    let words = "[film]\nwords = { position = \"Stellung {n}/{count}\", pause = \"Nachdenken\", music = \"Musik\" }";
    let (film, _) = film(&LESSON.replacen("[film]", words, 1));
    let first = card(&film, 1000);
    assert_eq!((first.kicker.as_deref(), first.pause.as_deref()), (Some("Stellung 1/3"), Some("Nachdenken")));
    assert!(card(&film, 51_000).rows.iter().any(|(label, _)| label == "Musik"));
}

#[test]
fn a_card_before_a_replay_counts_no_position() {
    let replay = "[[scene]]\nat = 42\ncard = \"position\"\n\n[[scene]]\nat = 43\nreplay = { scene = \"Modest\" }\n\n[[scene]]\nat   = 45";
    let (film, _) = film(
        &LESSON.replace("[[scene]]\nat   = 45", replay).replace("at = 45", "at = 60").replace("at   = 50", "at = 65"),
    );
    assert_eq!(card(&film, 37_000).kicker.as_deref(), Some("Position 3 of 3"));
    assert_eq!(card(&film, 42_500).kicker, None);
}

#[test]
fn a_scene_s_own_name_goes_before_what_another_is_called_for_want_of_one() {
    let (film, _) = film(&LESSON.replace("\"Again\"", "\"Pause\""));
    let named = film.chapter("Pause").expect("a scene of that name");
    assert_eq!((named.start, named.is_named), (Time::from_millis(40_000), true));
    let stand_in = film.chapter("End").expect("the end goes by its kind");
    assert_eq!((stand_in.start, stand_in.is_named), (Time::from_millis(45_000), false));
    assert_eq!(film.chapter("Nowhere"), None);
}
