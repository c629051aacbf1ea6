#![allow(clippy::needless_raw_string_hashes, clippy::unicode_not_nfc)] // expect-test writes them; the test is about a combining mark

use super::*;
use expect_test::{Expect, expect};

/// The place of the only `part` in `text`.
fn of(text: &str, part: &str) -> Span {
    let start = text.find(part).expect("the part is in the text");
    Span::new(start, start + part.len())
}

fn drawn(text: &str, diagnostics: &[Diagnostic], wanted: &Expect) {
    wanted.assert_eq(&human::render(diagnostics, &Source::new("film.toml", text), false));
}

#[test]
fn the_house_examples_are_drawn_as_they_stand() {
    let text = format!(
        "{}  {{ at = \"0:13.000\", play = \"Bb5\" }},\n  {{ at = \"0:12.750\", play = \"a6\" }},\n  {{ at = \"0:18.3\", play = \"Nd5\" }},\n",
        "\n".repeat(24)
    );
    let illegal = Diagnostic::error(Code::IllegalMove, of(&text, "Nd5"), "`Nd5` is not legal for White at move 4")
        .label("no white knight can reach d5")
        .hint("the legal knight moves are Na3, Nc3, Nd4, Ng1, Ng5, Nh4, Nxe5");
    let back = Diagnostic::error(
        Code::TimeGoesBack,
        of(&text, "0:12.750"),
        "the cue at `0:12.750` comes after one at `0:13.000`",
    )
    .label("0.250 s earlier than the cue before")
    .also(of(&text, "0:13.000"), "the cue before")
    .hint("each time must be later than the one above it");
    drawn(
        &text,
        &[illegal, back],
        &expect![[r#"
            error[time-goes-back]: the cue at `0:12.750` comes after one at `0:13.000`
              --> film.toml:26:11
               |
            25 |   { at = "0:13.000", play = "Bb5" },
               |           -------- the cue before
            26 |   { at = "0:12.750", play = "a6" },
               |           ^^^^^^^^ 0.250 s earlier than the cue before
               = hint: each time must be later than the one above it

            error[illegal-move]: `Nd5` is not legal for White at move 4
              --> film.toml:27:28
               |
            27 |   { at = "0:18.3", play = "Nd5" },
               |                            ^^^ no white knight can reach d5
               = hint: the legal knight moves are Na3, Nc3, Nd4, Ng1, Ng5, Nh4, Nxe5

            2 mistakes
        "#]],
    );
}

fn doubt(text: &str, part: &str) -> Diagnostic {
    Diagnostic::warning(Code::BadValue, of(text, part), "a doubt").label("here")
}

#[test]
fn tabs_wide_and_combining_characters_keep_the_carets_in_place() {
    let text = "\t\ttask = \"\u{6f22}\u{5b57} e\u{301} x9\"\n";
    drawn(
        text,
        &[doubt(text, "x9")],
        &expect![[r#"
        warning[bad-value]: a doubt
         --> film.toml:1:17
          |
        1 |         task = "漢字 é x9"
          |                        ^^ here

        1 doubt
    "#]],
    );
}

#[test]
fn crlf_and_a_byte_order_mark_are_not_shown() {
    let text = "\u{feff}a = x9\r\nb = 2\r\n";
    drawn(
        text,
        &[doubt(text, "x9"), doubt(text, "b")],
        &expect![[r#"
        warning[bad-value]: a doubt
         --> film.toml:1:5
          |
        1 | a = x9
          |     ^^ here

        warning[bad-value]: a doubt
         --> film.toml:2:1
          |
        2 | b = 2
          | ^ here

        2 doubts
    "#]],
    );
}

#[test]
fn a_terminal_is_not_obeyed() {
    let text = "a = \u{1b}[31m\u{202e}x9\n";
    let diagnostic = doubt(text, "x9").hint("leave `\u{1b}[0m` out");
    drawn(
        text,
        &[diagnostic],
        &expect![[r#"
        warning[bad-value]: a doubt
         --> film.toml:1:11
          |
        1 | a = ␛[31m�x9
          |           ^^ here
          = hint: leave `␛[0m` out

        1 doubt
    "#]],
    );
}

#[test]
fn places_on_far_lines_and_on_the_same_line() {
    let text = "[film]\na = 1\nb = 2\nc = 3\n[film] d [film]\n";
    let again = Span::new(text.len() - 7, text.len() - 1);
    let diagnostic = Diagnostic::error(Code::Duplicate, again, "`film` is given thrice")
        .label("the third")
        .also(of(text, "[film]"), "the first")
        .also(Span::new(again.start - 9, again.start - 3), "the second");
    drawn(
        text,
        &[diagnostic],
        &expect![[r#"
        error[duplicate]: `film` is given thrice
         --> film.toml:5:10
          |
        1 | [film]
          | ------ the first
          :
        5 | [film] d [film]
          | ------ the second
          |          ^^^^^^ the third

        1 mistake
    "#]],
    );
}

#[test]
fn a_place_over_several_lines_shows_its_ends() {
    let text = "cues = [\n  { at = 1,\n    play = \"e4\",\n    rest = 2 },\n]\n";
    let over = |from: &str, to: &str| of(text, from).join(of(text, to));
    let long = Diagnostic::error(Code::BadValue, over("{ at", "2 }"), "three lines").label("ends here");
    let two = Diagnostic::error(Code::BadValue, over("at", "\"e4\""), "two lines").label("ends here");
    let with_ending = Diagnostic::error(Code::BadValue, over("[", "[\n"), "the line's ending belongs to it");
    drawn(
        text,
        &[long, two, with_ending],
        &expect![[r#"
        error[bad-value]: the line's ending belongs to it
         --> film.toml:1:8
          |
        1 | cues = [
          |        ^

        error[bad-value]: three lines
         --> film.toml:2:3
          |
        2 |   { at = 1,
          |   ^^^^^^^^^
          :
        4 |     rest = 2 },
          |     ^^^^^^^^^^ ends here

        error[bad-value]: two lines
         --> film.toml:2:5
          |
        2 |   { at = 1,
          |     ^^^^^^^
        3 |     play = "e4",
          |     ^^^^^^^^^^^ ends here

        3 mistakes
    "#]],
    );
}

#[test]
fn an_empty_place_has_one_caret() {
    let text = "a = \n";
    let at = |byte| Diagnostic::error(Code::Syntax, Span::new(byte, byte), "nothing").label("a value");
    drawn(
        text,
        &[at(4), at(5), at(99)],
        &expect![[r#"
        error[syntax]: nothing
         --> film.toml:1:5
          |
        1 | a =
          |     ^ a value

        error[syntax]: nothing
         --> film.toml:2:1
          |
        2 |
          | ^ a value

        error[syntax]: nothing
         --> film.toml:2:1
          |
        2 |
          | ^ a value

        3 mistakes
    "#]],
    );
    drawn(
        "",
        &[at(0)],
        &expect![[r#"
        error[syntax]: nothing
         --> film.toml:1:1
          |
        1 |
          | ^ a value

        1 mistake
    "#]],
    );
}

#[test]
fn a_long_line_is_shown_around_the_place() {
    let moves = "Ra1 Ra2 Ra3 Ra4 Ra5 Ra6 Ra7 ".repeat(12);
    let text = format!("first = 1, play = \"{moves}X9 {moves}Y9\"\n");
    let diagnostic = doubt(&text, "X9").also(of(&text, "Y9"), "and here").also(of(&text, "first"), "first");
    drawn(
        &text,
        &[diagnostic],
        &expect![[r#"
        warning[bad-value]: a doubt
         --> film.toml:1:356
          |
        1 | first = 1, play = "Ra1 Ra2 Ra3 Ra4 Ra5 Ra6 Ra7 Ra1 Ra2 Ra3 Ra4 Ra5 Ra6 Ra7 Ra1 Ra2 Ra3 Ra4 Ra5 Ra6 …
          | ----- first
        1 | … Ra7 Ra1 Ra2 Ra3 Ra4 Ra5 Ra6 Ra7 X9 Ra1 Ra2 Ra3 Ra4 Ra5 Ra6 Ra7 Ra1 Ra2 Ra3 Ra4 Ra5 Ra6 Ra7 Ra1 Ra…
          |                                   ^^ here
        1 | … Ra7 Ra1 Ra2 Ra3 Ra4 Ra5 Ra6 Ra7 Y9"
          |                                   -- and here

        1 doubt
    "#]],
    );
}

#[test]
fn another_text_comes_after_the_timeline() {
    let style = Arc::new(Source::new("series.toml", "fps = 12\n"));
    let text = "a\nb\n";
    let of_style = Diagnostic::error(Code::BadValue, Span::new(6, 8), "no rate").in_source(style);
    let all = [of_style, doubt(text, "b")];
    drawn(
        text,
        &all,
        &expect![[r#"
        warning[bad-value]: a doubt
         --> film.toml:2:1
          |
        2 | b
          | ^ here

        error[bad-value]: no rate
         --> series.toml:1:7
          |
        1 | fps = 12
          |       ^^

        1 mistake, 1 doubt
    "#]],
    );
    let timeline = Source::new("film.toml", text);
    expect![[r#"
        film.toml:2:1: warning[bad-value]: a doubt
        series.toml:1:7: error[bad-value]: no rate
    "#]]
    .assert_eq(&short::render(&all, &timeline));
    expect![[r#"
        [
          {
            "code": "bad-value",
            "column": 1,
            "end_column": 2,
            "end_line": 2,
            "file": "film.toml",
            "hint": null,
            "label": "here",
            "labels": [],
            "line": 2,
            "message": "a doubt",
            "severity": "warning"
          },
          {
            "code": "bad-value",
            "column": 7,
            "end_column": 9,
            "end_line": 1,
            "file": "series.toml",
            "hint": null,
            "label": null,
            "labels": [],
            "line": 1,
            "message": "no rate",
            "severity": "error"
          }
        ]"#]]
    .assert_eq(&format!("{:#}", serde_json::Value::Array(json::values(&all, &timeline))));
}

#[test]
fn colours_change_nothing_else() {
    let text = "a = x9\nb = 2\n";
    let all = [doubt(text, "x9").also(of(text, "b"), "there").hint("change it")];
    let timeline = Source::new("film.toml", text);
    let coloured = human::render(&all, &timeline, true);
    assert!(coloured.contains("\x1b[1;33mwarning[bad-value]\x1b[0m"));
    let mut plain = String::new();
    let mut parts = coloured.split('\x1b');
    plain.push_str(parts.next().unwrap_or_default());
    for part in parts {
        plain.push_str(part.split_once('m').expect("every escape is an SGR").1);
    }
    assert_eq!(plain, human::render(&all, &timeline, false));
}

#[test]
fn nothing_is_said_of_nothing() {
    drawn("a", &[], &expect![[""]]);
    let text = "x9";
    assert_eq!(summary([doubt(text, "x9")].iter()), "1 doubt");
    let error = Diagnostic::error(Code::Syntax, Span::new(0, 0), "");
    assert_eq!(summary([error.clone(), doubt(text, "x9"), error].iter()), "2 mistakes, 1 doubt");
}

#[test]
fn what_two_rooms_find_is_told_once() {
    let text = "a = x9\n";
    let later = Diagnostic::warning(Code::BadValue, of(text, "x9"), "found again").label("the same");
    let other = Diagnostic::error(Code::Fen, of(text, "x9"), "another code");
    let all = [doubt(text, "x9"), later, other];
    assert_eq!(
        short::render(&all, &Source::new("f", text)),
        "f:1:5: error[fen]: another code\nf:1:5: warning[bad-value]: a doubt\n"
    );
}

proptest::proptest! {
    #[test]
    fn any_place_of_any_text_can_be_drawn(text in "[ab\t\r\n\u{e4}\u{6f22}\u{301}\u{feff}\u{1b}]{0,160}", a in 0_usize..200, b in 0_usize..200) {
        let boundary = |at: usize| (0..=at.min(text.len())).rev().find(|&at| text.is_char_boundary(at)).unwrap_or(0);
        let (a, b) = (boundary(a), boundary(b));
        let all = [Diagnostic::error(Code::Syntax, Span::new(a.min(b), a.max(b)), "m").label("l").also(Span::new(b, b), "o")];
        let source = Source::new("f", text.clone());
        let drawn = human::render(&all, &source, false);
        proptest::prop_assert!(drawn.contains('^'));
        proptest::prop_assert!(drawn.chars().all(|c| c == '\n' || !c.is_control()));
        proptest::prop_assert_eq!(short::render(&all, &source).lines().count(), 1);
        proptest::prop_assert_eq!(json::values(&all, &source).len(), 1);
    }
}

#[test]
fn several_mistakes_of_one_place_are_told_each() {
    let text = "style = \"s.toml\"\n";
    let at = of(text, "s.toml");
    let long = |text: &str, of: &str| {
        Diagnostic::error(Code::LongText, at, format!("the {of} `{text}` is longer")).about(text)
    };
    let glyph =
        |sign: &str, of: &str| Diagnostic::error(Code::MissingGlyph, at, format!("`{sign}` in {of}")).about(sign);
    let all = [
        long("One", "series"),
        long("One", "title"),
        long("Two", "title"),
        long("Two `b`", "title"),
        long("Two `c`", "title"),
        glyph("\u{6f22}", "series"),
        glyph("\u{6f22}", "title"),
        glyph("\u{5b57}", "title"),
    ];
    let told = json::values(&all, &Source::new("f", text));
    let told: Vec<&str> = told.iter().filter_map(|value| value["message"].as_str()).collect();
    let expected = [
        "the series `One` is longer",
        "the title `Two` is longer",
        "the title `Two `b`` is longer",
        "the title `Two `c`` is longer",
        "`\u{6f22}` in series",
        "`\u{5b57}` in title",
    ];
    assert_eq!(told, expected);
}

#[test]
fn case_does_not_count_in_what_is_near() {
    assert_eq!(nearest("Frist", ["First", "Second"]), Some("First"));
    assert_eq!(nearest("frist", ["FIRST"]), Some("FIRST"));
}
