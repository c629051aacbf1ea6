//! The laws of the room: printing and reading are inverse, places lie on characters, nothing panics.

use super::forms::{HEIGHT, LONGEST, TOO_LATE};
use super::tests::LANTERN;
use super::words::Word;
use super::*;
use crate::diag::{Severity, human, json};
use crate::source::Spanned;
use crate::units::{FrameRate, Side, Square, Time};
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;
use std::fmt::Debug;
use std::time::Duration;

fn placed<T: Debug + Clone>(value: impl Strategy<Value = T>) -> impl Strategy<Value = Spanned<T>> {
    value.prop_map(|value| Spanned::new(value, 0..0))
}

fn maybe<T: Debug + Clone>(value: impl Strategy<Value = T>) -> impl Strategy<Value = Option<Spanned<T>>> {
    of(placed(value))
}

/// Any text: quotes, backslashes, line ends, controls, direction marks, all of Unicode.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[ -~]{0,12}",
        "(\\PC|[\"'\\\\\n\r\t\u{0}\u{7f}\u{85}\u{ad}\u{202e}\u{feff}\u{1f600}]){0,12}",
        any::<String>(),
    ]
}

fn filled() -> impl Strategy<Value = String> {
    text().prop_filter("says something", |text| !text.trim().is_empty())
}

fn label() -> impl Strategy<Value = String> {
    filled().prop_filter("a word of its own", |label| label != "start" && forms::time(label).is_err())
}

fn word<T: Word + Debug>() -> impl Strategy<Value = T> {
    select(T::LIST).prop_map(|(word, _)| word.parse().expect("a listed word"))
}

fn time() -> impl Strategy<Value = Time> {
    prop_oneof![0..4_000_000_000_i64, 0..TOO_LATE as i64].prop_map(Time::from_micros)
}

fn length() -> impl Strategy<Value = Duration> {
    prop_oneof![0..2_000_000_u64, (0..2000_u64).prop_map(|millis| millis * 1000), 0..=LONGEST]
        .prop_map(Duration::from_micros)
}

fn at() -> impl Strategy<Value = At> {
    prop_oneof![time().prop_map(At::Clock), length().prop_map(At::After)]
}

fn square() -> impl Strategy<Value = String> {
    (0..64_usize).prop_map(|index| Square::from_index(index).expect("on the board").to_string())
}

fn side() -> impl Strategy<Value = Option<Side>> {
    select(&[None, Some(Side::White), Some(Side::Black)][..])
}

/// Two squares that differ.
fn squares() -> impl Strategy<Value = [String; 2]> {
    [square(), square()].prop_filter("two squares", |[from, to]| from != to)
}

fn mark() -> impl Strategy<Value = Mark> {
    // On one file: a line of force is straight.
    let ends = (select(&["a", "d", "h"][..]), 1u8..5, 5u8..9);
    let ends = ends.prop_map(|(file, from, to)| [format!("{file}{from}"), format!("{file}{to}")]);
    let force = ends.prop_map(|squares| Mark { role: MarkRole::Force, squares: squares.to_vec() });
    let others = (word::<MarkRole>(), vec(square(), 1..4))
        .prop_filter("has its own form", |(role, _)| *role != MarkRole::Force)
        .prop_map(|(role, squares)| Mark { role, squares });
    prop_oneof![force, others]
}

fn arrow() -> impl Strategy<Value = Arrow> {
    (any::<bool>(), side(), squares()).prop_map(|(plan, side, [from, to])| Arrow { plan, side, from, to })
}

/// A word that could be a move: no white space, no move number in front.
fn san() -> impl Strategy<Value = String> {
    prop_oneof!["[KQRBN]?[a-h][1-8](=[QRBN])?[+#]?[!?]{0,2}", "[^0-9\\s\\pC][^\\s\\pC]{0,5}"]
}

fn ghost() -> impl Strategy<Value = Ghost> {
    (side(), san()).prop_map(|(side, san)| Ghost { side, san })
}

fn back() -> impl Strategy<Value = Back> {
    prop_oneof![Just(Back::Start), (1..=9999_u32).prop_map(Back::Plies), label().prop_map(Back::Label)]
}

fn shape() -> impl Strategy<Value = FrameShape> {
    let free = (120..=1920_u32, 120..=1080_u32).prop_map(|(w, h)| FrameShape::Free { width: w * 2, height: h * 2 });
    prop_oneof![select(&[FrameShape::Wide, FrameShape::Tall, FrameShape::Square][..]), free]
}

fn rate() -> impl Strategy<Value = FrameRate> {
    select(&["24", "25", "30", "50", "60", "24000/1001", "30000/1001", "60000/1001"][..])
        .prop_map(|text| frame_rate(text).expect("a rate that films use"))
}

fn theme() -> impl Strategy<Value = ThemeSetting> {
    let colours = vec(any::<Option<Rgb>>(), Colour::COUNT).prop_map(|values| {
        let given = Colour::ALL.iter().zip(values);
        given.filter_map(|(colour, value)| Some((*colour, Spanned::new(value?, 0..0)))).collect()
    });
    prop_oneof![
        word().prop_map(ThemeSetting::Named),
        filled().prop_map(|name| ThemeSetting::File(name + ".toml")),
        (maybe(word()), colours).prop_map(|(base, colours)| ThemeSetting::Own(OwnTheme { base, colours })),
    ]
}

fn card_words() -> impl Strategy<Value = CardWords> {
    let words = std::array::from_fn::<_, 13, _>(|_| maybe(text()));
    // In these what stands in braces is a place for a number.
    let plain = |given: Option<Spanned<String>>, place: &str| {
        given.map(|Spanned { value, span }| Spanned { value: value.replace('{', "(") + place, span })
    };
    words.prop_map(
        move |[
            position,
            chapter,
            pause,
            credits,
            presenter,
            voice,
            music,
            r#try,
            or,
            stalemate,
            fold,
            white,
            black,
        ]| {
            CardWords {
                position: plain(position, "{n}"),
                chapter: plain(chapter, "{count}"),
                pause,
                credits,
                presenter,
                voice,
                music,
                r#try,
                or,
                stalemate,
                fold: plain(fold, "{from}{tries}"),
                white,
                black,
            }
        },
    )
}

prop_compose! {
    fn film()(
        texts in [maybe(text()), maybe(text()), maybe(text()), maybe(text()), maybe(text())],
        words in card_words(),
        files in [maybe(filled()), maybe(filled()), maybe(filled()), maybe(filled()), maybe(filled()), maybe(filled())],
        number in maybe(0..=9999_u32),
        frame in maybe(shape()),
        height in maybe((HEIGHT.0 / 2..=HEIGHT.1 / 2).prop_map(|half| half * 2)),
        fps in maybe(rate()),
        look in (maybe(theme()), maybe(word()), maybe(word()), maybe(word()), maybe(word())),
        ends in maybe(time()),
        rest in maybe(length()),
    ) -> FilmSettings {
        let [title, series, presenter, voice, music] = texts;
        let [narration, style, syzygy, pieces, fonts, description] = files;
        let (theme, layout, notation, captions, motion) = look;
        FilmSettings {
            title, series, number, presenter, voice, music, narration, style, syzygy, frame, height, fps, theme, pieces,
            fonts, layout, notation, captions, motion, words, description, ends, rest,
        }
    }
}

prop_compose! {
    fn cue()(
        times in (maybe(at()), maybe(length()), maybe(length()), maybe(length())),
        play in vec(placed(san()), 0..4),
        line in maybe(word()),
        back in maybe(back()),
        cut in any::<bool>(),
        shown in (vec(placed(mark()), 0..3), vec(placed(arrow()), 0..3), maybe(ghost())),
        label in maybe(label()),
        text in maybe(text()),
        claims in vec(placed(filled()), 0..3),
    ) -> Cue {
        let (at, every, stay, rest) = times;
        let (marks, arrows, ghost) = shown;
        let back = if play.is_empty() { back } else { None };
        let cut = cut && back.is_some();
        Cue { at, play, every, line, label, back, cut, marks, arrows, ghost, text, claims, stay, rest, span: Span::default() }
    }
}

fn body() -> impl Strategy<Value = SceneBody> {
    prop_oneof![
        maybe(filled()).prop_map(|fen| SceneBody::Position { fen }),
        (placed(filled()), maybe(1..=1_000_000_u32)).prop_map(|(file, game)| SceneBody::Pgn { file, game }),
        (placed(filled()), maybe(filled()), maybe(0.1..=1.0_f64))
            .prop_map(|(scene, line, pace)| SceneBody::Replay(Replay { scene, line, pace })),
        placed(word()).prop_map(SceneBody::Card),
    ]
}

prop_compose! {
    fn scene()(
        name in maybe(filled()),
        at in maybe(at()),
        body in body(),
        words in [maybe(text()), maybe(text()), maybe(text())],
        ring in maybe((3..=600_u64).prop_map(Duration::from_secs)),
        cues in vec(cue(), 0..4),
    ) -> Scene {
        let [task, credit, text] = words;
        let is_card = matches!(body, SceneBody::Card(_));
        let has_cues = matches!(body, SceneBody::Position { .. } | SceneBody::Pgn { .. });
        Scene {
            name,
            at,
            ring: ring.filter(|_| matches!(&body, SceneBody::Card(kind) if kind.value == CardKind::Position)),
            task: task.filter(|_| !is_card),
            credit: credit.filter(|_| !is_card),
            text: text.filter(|_| is_card),
            cues: if has_cues { cues } else { Vec::new() },
            body,
            span: Span::default(),
        }
    }
}

prop_compose! {
    fn thumbnail()(
        scene in maybe(filled()),
        moment in maybe(filled()),
        at in maybe(time()),
        (words, design) in (maybe(text()), maybe(word())),
        marks in vec(placed(mark()), 0..3),
        arrows in vec(placed(arrow()), 0..3),
        theme in maybe(word()),
    ) -> Thumbnail {
        let at = if moment.is_none() { at } else { None };
        Thumbnail { scene, moment, at, words, design, marks, arrows, theme, span: Span::default() }
    }
}

prop_compose! {
    fn timelines()(
        film in film(), scenes in vec(scene(), 0..4), thumbnails in vec(thumbnail(), 0..3),
    ) -> Timeline {
        Timeline { film, scenes, thumbnails }
    }
}

/// What may stand in a basic string, escaped or not.
const ESCAPES: &[&str] = &[
    "\\n",
    "\\t",
    "\\\\",
    "\\\"",
    "\\x41",
    "\\u00e4",
    "\\U0001F600",
    "\\e",
    "\\b",
    "\\f",
    "\\r",
    "\u{e4}",
    "\u{1f600}",
    " ",
    "x",
    "'",
];

/// Reads a text, whatever it is, and holds every place against it; draws what was found, too.
fn read_any(text: &str) -> Result<(), TestCaseError> {
    let source = Source::new("film.toml", text);
    let (timeline, diagnostics) = parse(&source);
    let on_characters = |span: Span| span.start <= span.end && text.get(span.start..span.end).is_some();
    for diagnostic in &diagnostics {
        let places = diagnostic.others.iter().chain([&diagnostic.primary]);
        for label in places {
            prop_assert!(on_characters(label.span), "{diagnostic:?}");
        }
    }
    for scene in &timeline.scenes {
        prop_assert!(on_characters(scene.span));
        for cue in &scene.cues {
            prop_assert!(on_characters(cue.span));
            let words = cue.play.iter().chain(&cue.claims).map(|word| word.span);
            let shown = cue.marks.iter().map(|mark| mark.span).chain(cue.arrows.iter().map(|arrow| arrow.span));
            prop_assert!(words.chain(shown).all(on_characters));
        }
    }
    human::render(&diagnostics, &source, false);
    prop_assert!(json::values(&diagnostics, &source).len() <= diagnostics.len());
    parse_style(&source);
    Ok(())
}

proptest! {
    #[test]
    fn what_is_printed_reads_back_as_it_was(timeline in timelines()) {
        let printed = print(&timeline);
        let (read, diagnostics) = parse(&Source::new("film.toml", printed.clone()));
        prop_assert!(read == timeline, "{printed}\n{diagnostics:#?}");
        // Names and times may disagree in a timeline made by chance; no single value may be refused.
        for diagnostic in diagnostics.iter().filter(|diagnostic| diagnostic.severity == Severity::Error) {
            let name = diagnostic.code.name();
            let allowed = ["time-goes-back", "unknown-name", "duplicate", "missing-key"];
            prop_assert!(allowed.contains(&name), "{printed}\n{diagnostic:#?}");
        }
    }

    #[test]
    fn a_word_finds_its_place_behind_any_escapes(
        before in vec(select(ESCAPES), 0..8), after in vec(select(ESCAPES), 0..8), lines in any::<bool>(),
    ) {
        let (quotes, start, end_of_line) = if lines { ("\"\"\"", "\r\n", "\\\r\n \t") } else { ("\"", "", "") };
        let (before, after) = (before.concat(), after.concat());
        let text = format!(
            "[[scene]]\ncues = [{{ play = {quotes}{start}{before} {end_of_line}Qh4 {end_of_line}{after}{quotes} }}]\n"
        );
        let (timeline, diagnostics) = parse(&Source::new("film.toml", text.clone()));
        prop_assert!(diagnostics.is_empty(), "{text}\n{diagnostics:#?}");
        let play = &timeline.scenes[0].cues[0].play;
        let queen: Vec<&str> = play
            .iter()
            .filter(|word| word.value == "Qh4")
            .map(|word| &text[word.span.start..word.span.end])
            .collect();
        prop_assert_eq!(queen, ["Qh4"], "{}", text);
    }

    #[test]
    fn any_text_can_be_read(text in prop_oneof![any::<String>(), "([\\[\\]{}=,.\"'#a-c0-9:\n\r\t \u{e4}]|film|scene|cues|at|play){0,60}"]) {
        read_any(&text)?;
    }

    #[test]
    fn a_damaged_timeline_can_be_read(
        cuts in vec((0..LANTERN.len(), 0_usize..12, prop_oneof![text(), "[\\[\\]{}=,\"'\n0-9]{0,3}"]), 1..4),
    ) {
        let mut text = LANTERN.to_owned();
        for (start, length, put) in cuts {
            let boundary = |at: usize| (0..=at.min(text.len())).rev().find(|&at| text.is_char_boundary(at)).unwrap_or(0);
            let range = boundary(start)..boundary(start + length);
            text.replace_range(range, &put);
        }
        read_any(&text)?;
    }
}

/// The parser takes a bracket and a sign of equality for a text that has no quotes, and three quotes at its end for ones
/// that open it.
#[test]
fn a_text_without_quotes_is_not_looked_at_for_its_quotes() {
    let text = LANTERN.replacen(" \"The lo", "[=", 1);
    let text = text.replacen("play = \"c8=Q?\", line = \"try\"", "play = \"c8=Q?\", line = \"try\"'''", 1);
    assert!(text.contains("[=") && text.contains("'''"));
    read_any(&text).expect("every place is in the text");
}
