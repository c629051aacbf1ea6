//! Times: given, computed, refused.

use super::*;
use crate::diag::{Code, Severity};
use crate::film::TextKind;
use crate::units::FrameIndex;

fn codes(mistakes: &[Diagnostic]) -> Vec<Code> {
    mistakes.iter().map(|mistake| mistake.code).collect()
}

#[test]
fn the_voice_is_the_clock() {
    let draft = Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7 Rd6+").play(None, "Kb5").play(9000, "Rd5+");
    let (film, mistakes) = draft.film(Some(20_000));
    assert_eq!(codes(&mistakes), [Code::MissingKey]);
    assert_eq!(mistakes[0].primary.span, draft.timeline.scenes[0].cues[1].span);
    assert_eq!(film.length(), Duration::from_secs(20));
    assert!(draft.film(None).1.is_empty());
}

#[test]
fn what_has_no_time_follows_motion_and_rest() {
    let start = |draft: &Draft| {
        // The second move begins where the list first has two moves.
        let film = draft.good();
        (0..600_000).step_by(5).find(|&ms| scene(film.at(ms_time(ms))).list.main.len() == 2)
    };
    let draft = |first: &str, rest: Option<u64>| {
        let rest = rest.map(|ms| Spanned::new(Duration::from_millis(ms), 0..0));
        Draft::new(|film| film.rest = rest).position(Some(0), SAAVEDRA).play(1000, first).play(None, "Kb2")
    };
    assert_eq!(start(&draft("c7", None)), Some(1000 + 450 + 1200));
    assert_eq!(start(&draft("c7", Some(100))), Some(1000 + 450 + 700), "a move is held for 700 ms at least");
    assert_eq!(start(&draft("c7!", None)), Some(1000 + 450 + 1600), "a key for 1600");
    let mut read = draft("c7", None);
    let words = "A caption of seventy-five letters and signs, to be read in five seconds ..";
    read.timeline.scenes[0].cues[0].text = Some(Spanned::new(format!("{words}."), 0..0));
    assert_eq!(start(&read), Some(1000 + 5000));
}

#[test]
fn plus_counts_from_where_the_cue_before_began() {
    let draft = Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7 Rd6+").cue(None, |cue| {
        cue.at = Some(Spanned::new(At::After(Duration::from_millis(4500)), 0..0));
        cue.play = vec![Spanned::new("Kb5".to_owned(), 0..0)];
    });
    assert_eq!(board(&draft.good(), 5499).gliding.len(), 0);
    assert_eq!(board(&draft.good(), 5500).gliding.len(), 1);
}

#[test]
fn the_moves_of_a_cue_share_the_room_before_the_next() {
    let draft = Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7 Rd6+ Kb5 Rd5+ Kb4").play(4000, "Rd4+");
    let (film, mistakes) = draft.film(None);
    assert!(mistakes.is_empty(), "{mistakes:#?}");
    let played = |ms: u32| scene(film.at(ms_time(ms))).list.main.len();
    assert_eq!((played(999), played(3999), played(4000)), (0, 5, 6));
    assert!(played(2000) >= 2 && played(3000) >= 3, "they are spread, not crowded at the end");
}

#[test]
fn computed_times_may_not_go_back_either() {
    // Without a time the rook follows the pawn at 1 + 0.45 + 1.2 s.
    let draft = Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7").play(None, "Rd6+").play(2000, "Kb5");
    let (film, mistakes) = draft.film(None);
    assert_eq!(codes(&mistakes), [Code::TimeGoesBack]);
    let cues = &draft.timeline.scenes[0].cues;
    assert_eq!(mistakes[0].primary.span, cues[2].at.as_ref().unwrap().span);
    assert_eq!(mistakes[0].others[0].span, cues[1].span);
    assert!(mistakes[0].message.contains("`0:02.000`") && mistakes[0].message.contains("`0:02.650`"), "{mistakes:#?}");
    assert_eq!(scene(film.at(ms_time(60_000))).list.main.len(), 3, "the film can be looked at all the same");
}

#[test]
fn what_follows_from_a_missing_time_is_not_reported() {
    let draft = Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7").play(None, "Rd6+").play(2000, "Kb5");
    assert_eq!(codes(&draft.film(Some(20_000)).1), [Code::MissingKey]);
}

#[test]
fn two_written_times_are_the_timelines_affair() {
    let every = Some(Spanned::new(Duration::from_secs(2), 0..0));
    let draft = Draft::default().position(Some(0), SAAVEDRA).play(5000, "c7").play(3000, "Rd6+").cue(5500, |cue| {
        cue.play = "Kb5 Rd5+ Kb4".split(' ').map(|word| Spanned::new(word.to_owned(), 0..0)).collect();
        cue.every = every;
    });
    assert!(draft.play(6000, "Rd4+").film(None).1.is_empty());
}

#[test]
fn nothing_begins_after_the_end() {
    let draft = Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7").play(8000, "Rd6+ Kb5").card(
        Some(9000),
        CardKind::End,
        "x",
    );
    let (_, mistakes) = draft.film(Some(7000));
    assert_eq!(codes(&mistakes), [Code::BadValue, Code::BadValue]);
    assert!(mistakes[0].message.contains("`0:08.000`") && mistakes[0].message.contains("`0:07.000`"), "{mistakes:#?}");
    assert_eq!(mistakes[1].primary.span, draft.timeline.scenes[1].at.as_ref().unwrap().span);
}

#[test]
fn a_scene_too_short_to_see_is_warned_of() {
    let draft = Draft::default().position(Some(0), SAAVEDRA).card(Some(4000), CardKind::Chapter, "One").card(
        Some(4100),
        CardKind::Chapter,
        "Two",
    );
    let (film, mistakes) = draft.film(None);
    assert_eq!(
        mistakes.iter().map(|mistake| (mistake.severity, mistake.code)).collect::<Vec<_>>(),
        [(Severity::Warning, Code::BadValue)]
    );
    assert!(film.at(ms_time(4050)).beneath.is_none(), "what is gone at once does not fade in");
}

#[test]
fn a_film_without_times_runs_by_itself() {
    let film = untimed().good();
    let chapters = film.chapters();
    let names: Vec<&str> = chapters.iter().map(|chapter| chapter.name.as_str()).collect();
    assert_eq!(names, ["Title", "The first position", "End"]);
    assert_eq!((chapters[0].start, chapters[0].end), (Time::ZERO, ms_time(4000)));
    assert!(chapters.windows(2).all(|pair| pair[0].end == pair[1].start));
    assert_eq!(film.length(), chapters[2].end.since(Time::ZERO));
    assert_eq!(chapters[2].end.since(chapters[2].start), Duration::from_secs(4));
}

#[test]
fn the_first_scene_is_on_screen_before_it_is_named() {
    let film = Draft::default().position(Some(5000), SAAVEDRA).play(6000, "c7").good();
    assert_eq!(board(&film, 0).standing.len(), 4);
    assert_eq!(film.chapters()[0].start, Time::ZERO);
}

#[test]
fn a_scene_without_a_time_is_there_when_its_first_cue_speaks() {
    let film = Draft::default()
        .position(Some(0), SAAVEDRA)
        .play(1000, "c7")
        .position(None, SAAVEDRA)
        .play(2000, "c7")
        .film(None);
    assert!(film.1.is_empty(), "{:#?}", film.1);
    assert_eq!(film.0.chapters()[1].start, ms_time(2000));
}

#[test]
fn a_label_is_a_moment() {
    let film = untimed().good();
    let moment = film.moment("crossroads").expect("the label is there");
    assert_eq!(film.moment("The first position/crossroads"), Some(moment));
    assert_eq!((film.moment("The second position/crossroads"), film.moment("nowhere")), (None, None));
    let complete = scene(film.at(moment));
    assert_eq!((complete.list.main.len(), complete.board.arrows.len(), complete.board.gliding.len()), (10, 2, 0));
    assert!(
        complete.board.arrows.iter().all(|arrow| arrow.head == 1.0)
            && complete.board.marks.iter().all(|mark| mark.enter == 1.0)
    );
}

#[test]
fn texts_know_when_they_are_shown() {
    let film = untimed().good();
    let captions: Vec<_> = film.texts().iter().filter(|text| text.kind == TextKind::Caption).collect();
    assert_eq!(captions.len(), 2);
    assert_eq!(captions[0].shown.1, captions[1].shown.0);
    for caption in captions {
        let middle = caption.shown.0 + caption.shown.1.since(caption.shown.0) / 2;
        assert_eq!(scene(film.at(middle)).caption.text.as_deref(), Some(caption.text.as_str()));
    }
    let kinds: Vec<TextKind> = film.texts().iter().map(|text| text.kind).collect();
    assert!(
        kinds.contains(&TextKind::Kicker) && kinds.contains(&TextKind::Title) && kinds.contains(&TextKind::CardTitle)
    );
}

#[test]
fn frames_cover_the_film_at_every_rate() {
    // Ten seconds: 10 · num / den, rounded up.
    for ((num, den), frames) in [
        ((24, 1), 240),
        ((25, 1), 250),
        ((30, 1), 300),
        ((50, 1), 500),
        ((60, 1), 600),
        ((30000, 1001), 300),
        ((24000, 1001), 240),
    ] {
        let draft = Draft::new(|film| film.fps = Some(rate(num, den))).position(Some(0), SAAVEDRA);
        assert_eq!(draft.film(Some(10_000)).0.frames(), frames, "{num}/{den}");
    }
    assert_eq!(Draft::default().film(None).0.frames(), 1, "a film without a scene is one frame of its title");
}

#[test]
fn plus_counts_from_where_a_scene_without_a_time_begins() {
    let film = good_text(
        r#"
        [[scene]]
        at = 0
        cues = [{ at = 2, play = "e4 e5 Nf3 Nc6", every = "2s" }]

        [[scene]]
        cues = [{ at = "+1.5", play = "d4" }]
        "#,
    );
    let second = film.chapters()[1].start;
    assert!(second > ms_time(8000), "{second}");
    assert_eq!(film.step_times(1), [second + Duration::from_millis(1500)]);
}

#[test]
fn a_label_is_the_moment_of_the_last_frame_where_the_next_position_comes_too_soon() {
    // The next position comes between two frames, and on one.
    for (fps, back) in [(30, 5300), (30, 5310), (24, 5310)] {
        let film = good_text(&format!(
            r#"
            [film]
            fps = {fps}
            [[scene]]
            cues = [
              {{ at = 1, play = "e4" }},
              {{ at = 5, play = "e5", label = "L", marks = "key e5" }},
              {{ at = {}, back = "start", cut = true }},
              {{ at = 8, text = "What was that?" }},
            ]
            "#,
            f64::from(back) / 1000.0
        ));
        let frame = film.rate().first_at(film.moment("L").expect("the label is there"));
        let list = |frame: FrameIndex| scene(film.frame(frame)).list.current;
        assert_eq!(list(frame), super::super::Current::Main(1), "{fps} frames a second, back at {back} ms");
        assert_eq!(list(FrameIndex(frame.0 + 1)), super::super::Current::None, "it is the last that shows it");
    }
}

#[test]
fn a_game_by_itself_has_the_time_until_the_next_scene() {
    let text = r#"
        [[scene]]
        at  = 0
        pgn = "game.pgn"

        [[scene]]
        at   = 9
        card = "end"
        "#;
    let (timeline, mistakes) = parse(&Source::new("film.toml", text));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let source = Source::new("game.pgn", "1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 *\n");
    let files = PgnFiles::from([("game.pgn".to_owned(), Ok(std::sync::Arc::new(source)))]);
    let (game, mistakes) = resolve(&timeline, &files);
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (film, mistakes) = Film::new(&timeline, &game, Some(Duration::from_secs(12)));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let times = film.step_times(0);
    assert!(times.len() == 6 && times[0] > ms_time(500) && times[5] < ms_time(8500), "{times:?}");
    let gaps: Vec<f64> = times.windows(2).map(|two| two[1].since(two[0]).as_secs_f64()).collect();
    assert!(gaps.iter().all(|gap| (1.0..1.6).contains(gap)), "they share it: {gaps:?}");
}

#[test]
fn moves_make_room_for_a_scene_that_is_only_told_by_its_first_cue() {
    let film = good_text(
        r#"
        [[scene]]
        cues = [{ at = 2, play = "e4 e5 Nf3 Nc6 Bb5 a6 Ba4 Nf6" }]

        [[scene]]
        cues = [{ at = 10, play = "d4" }]
        "#,
    );
    let times = film.step_times(0);
    assert!(times.len() == 8 && times[7] < ms_time(9500), "{times:?}");
    assert_eq!(film.step_times(1), [ms_time(10_000)]);
}

#[test]
fn a_replay_without_room_is_doubted_and_its_lead_in_gives_way() {
    let replay = |end: u32, pace: &str| {
        of_text(
            &format!(
                r#"
                [[scene]]
                name = "A"
                at   = 0
                cues = [{{ at = 1, play = "e4 e5 Nf3 Nc6 Bb5 a6", every = "2s" }}]

                [[scene]]
                at     = 14
                replay = {{ scene = "A"{pace} }}

                [[scene]]
                at   = {end}
                card = "end"
                "#
            ),
            Some(90_000),
        )
    };
    let (film, doubts) = replay(16, "");
    assert_eq!(codes(&doubts), [Code::Conflict], "{doubts:?}");
    let times = film.step_times(1);
    assert!(times[0] < ms_time(14_300) && times[1] < ms_time(14_600), "they share all of the room: {times:?}");
    // What the doubt asks for is enough, and no more than that: rests give way before the pace does.
    let words = doubts[0].message.split("at least ").nth(1).expect("it says how long").trim_end_matches(" s");
    let needed: f64 = words.parse().expect("a number of seconds");
    assert_eq!(codes(&replay(14 + needed as u32, "").1), [Code::Conflict]);
    let (film, doubts) = replay(14 + needed.ceil() as u32, "");
    assert!(doubts.is_empty(), "{doubts:?}");
    let glides = film.step_times(1).windows(2).map(|two| two[1].since(two[0]).as_millis());
    assert!(glides.into_iter().all(|glide| glide >= 450 * 100 / 35), "every glide has its pace");
    assert!(replay(14 + 4, ", pace = 1").1.is_empty());
}
