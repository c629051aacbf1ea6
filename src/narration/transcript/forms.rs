//! Texts of every form that is read, and laws that hold for any text.

use super::{Timing, Transcript, decode, read};
use crate::diag::{Diagnostic, Severity, human};
use crate::source::Source;
use crate::units::Time;
use proptest::prelude::*;
use std::fmt::Write;

fn of(text: &str) -> (Transcript, Vec<Diagnostic>) {
    read(&Source::new("t", text))
}

/// Phrases as `start-end text`, in ms.
fn phrases(text: &str) -> Vec<String> {
    let (transcript, _) = of(text);
    let line = |phrase: &super::Phrase| {
        let (start, end) = (phrase.start.as_micros() / 1000, phrase.end.as_micros() / 1000);
        format!("{start}-{end} {}", transcript.text_of(phrase))
    };
    transcript.phrases.iter().map(line).collect()
}

/// Words as `start text`, in ms.
fn words(text: &str) -> Vec<String> {
    let (transcript, told) = of(text);
    assert!(told.is_empty(), "{told:?}");
    transcript.words.iter().map(|word| format!("{} {}", word.start.as_micros() / 1000, word.text)).collect()
}

#[test]
fn subtitles_in_all_their_dresses() {
    let expected = ["1000-2500 The rook to d6", "2500-4000 check"];
    for text in [
        "1\n00:00:01,000 --> 00:00:02,500\nThe rook\nto d6\n\n2\n00:00:02,500 --> 00:00:04,000\ncheck\n",
        "\u{feff}1\r\n00:00:01,000 --> 00:00:02,500\r\nThe rook to d6\r\n\r\n2\r\n00:00:02,500 --> 00:00:04,000\r\ncheck",
        "1\r00:00:01.000 --> 00:00:02.500\rThe rook to d6\r\r00:00:02.500 --> 00:00:04.000\rcheck\r",
        "00:00:01,0 --> 00:00:02,5 X1:63 X2:223 Y1:43 Y2:58\n<i>The rook</i> to d6\n00:00:02,5-->00:00:04\n{\\an8}check",
        "WEBVTT\n\n00:01.000 --> 00:02.500 line:0 align:start\nThe rook to d6\n\nb\n00:02.500 --> 00:04.000\n<v Ann>check",
        "WEBVTT - title\nKind: captions\n\nSTYLE\n::cue { color: red }\n\nNOTE\nnot said\n\n1\n00:01.000 --> 00:02.500\n\
         The rook to d6\n\nNOTE not said either\n\n00:02.500 --> 00:04.000\ncheck\n\nNOTE the end\n",
        "2\n00:00:02,500 --> 00:00:04,000\ncheck\n\n1\n00:00:01,000 --> 00:00:02,500\nThe rook to d6\n",
        "1\n00: 00: 01, 000 --> 00: 00: 02, 500\nThe rook to d6\n2\n00:00:02,500 → 00:00:04,000\ncheck\n",
        "1\n00:00:01,000 --> 00:00:03,900\nThe rook\n\nto d6\n\n2\n00:00:02,500 --> 00:00:04,000\ncheck\n",
        "[00:00:01.000 --> 00:00:02.500]  The rook to d6\n[00:00:02.500 --> 00:00:04.000]   check\n",
    ] {
        assert_eq!(phrases(text), expected, "{text}");
        assert!(of(text).1.is_empty(), "{text}");
    }
    assert_eq!(phrases("123:59:59,000 --> 124:00:00,000\nlate"), ["446399000-446400000 late"]);
}

#[test]
fn rolling_captions_are_said_once() {
    let text = "WEBVTT\n\n00:01.000 --> 00:02.000\n \nrook<00:01.500><c> takes</c>\n\n00:02.000 --> 00:02.010\nrook takes\n \n\n\
                00:02.010 --> 00:03.000\nrook takes\ntakes<00:02.500><c> again</c>\n";
    assert_eq!(words(text), ["1000 rook", "1500 takes", "2010 takes", "2500 again"]);
}

#[test]
fn json_in_the_shapes_recognisers_give() {
    let expected = ["1000 the", "1200 rook", "2000 check"];
    for text in [
        r#"{"text":"..","segments":[{"id":0,"start":1.0,"end":1.5,"text":" the rook","words":[{"word":" the","start":1.0,"end":1.2},{"word":" rook","start":1.2,"end":1.5}]},{"start":2.0,"end":2.5,"text":" check","words":[{"word":" check","start":2.0,"end":2.5,"probability":NaN}]}]}"#,
        r#"{"words":[{"word":"the","start":1.0,"end":1.2},{"word":"rook","start":1.2,"end":1.5},{"word":"check","start":2.0,"end":2.5}]}"#,
        r#"[{"text":"the","start":"1.0","end":"1.2"},{"text":"rook","start":"1.2s","end":"1.5s"},{"text":"check","start":"0:02.0","end":"0:02.5"},]"#,
        r#"{"results":[{"alternatives":[{"transcript":"the rook check","words":[{"word":"the","startTime":"1s","endTime":"1.2s"},{"word":"rook","startTime":{"seconds":"1","nanos":200000000},"endTime":"1.5s"},{"word":"check","startTime":"2s","endTime":"2.5s"}]},{"transcript":"the brook check"}]}]}"#,
        r#"{"transcription":[{"timestamps":{"from":"00:00:01,000","to":"00:00:02,500"},"offsets":{"from":1000,"to":2500},"text":" the rook check","tokens":[{"text":"[_BEG_]","offsets":{"from":1000,"to":1000}},{"text":" the","offsets":{"from":1000,"to":1200}},{"text":" ro","offsets":{"from":1200,"to":1300}},{"text":"ok","offsets":{"from":1300,"to":1500}},{"text":" check","offsets":{"from":2000,"to":2500}},{"text":".","offsets":{"from":2500,"to":2500}}]}]}"#,
        r#"[{"word":"the","start":1000,"end":1200},{"word":"rook","start":1200,"end":1500},{"word":"check","start":2000,"end":2500}]"#,
        "{\"word\":\"the\",\"start_ms\":1000}\n{\"word\":\"rook\",\"start_ms\":1200}\n{\"word\":\"check\",\"start_ms\":2000}\n",
        r#"{"chunks":[{"timestamp":[1.0,1.2],"text":" the"},{"timestamp":[1.2,1.5],"text":" rook"},{"timestamp":[2.0,null],"text":" check"}]}"#,
        r#"{"results":{"items":[{"start_time":"1.0","end_time":"1.2","type":"pronunciation","alternatives":[{"content":"the"}]},{"start_time":"1.2","end_time":"1.5","alternatives":[{"content":"rook"}]},{"type":"punctuation","alternatives":[{"content":","}]},{"start_time":"2.0","end_time":"2.5","alternatives":[{"content":"check"}]}]}}"#,
        r#"{"segments":[{"start":1.0,"end":1.5,"text":"the rook"},{"start":2.0,"end":2.5,"text":"check"}],"words":[{"word":"the","start":1.0,"end":1.2},{"word":"rook","start":1.2,"end":1.5},{"word":"check","start":2.0,"end":2.5}]}"#,
        r#"{"monologues":[{"speaker":0,"elements":[{"type":"text","value":"the","ts":1.0,"end_ts":1.2},{"type":"punct","value":" "},{"type":"text","value":"rook","ts":1.2,"end_ts":1.5},{"type":"text","value":"check","ts":2.0,"end_ts":2.5}]}]}"#,
    ] {
        let plain: Vec<String> = words(text).into_iter().map(|word| word.replace([',', '.'], "")).collect();
        assert_eq!(plain, expected.map(str::to_owned), "{text}");
        assert!(of(text).0.words.iter().all(|word| word.timing == Timing::Given), "{text}");
    }
    let segments =
        r#"{"segments":[{"start":1,"end":1.5,"text":"the rook"},{"start":2,"duration":0.5,"text":"check"}]}"#;
    assert_eq!(phrases(segments), ["1000-1500 the rook", "2000-2500 check"]);
    assert_eq!(of(segments).0.words[0].timing, Timing::Guessed);
    let gaps = r#"[{"word":"the","start":1.0,"end":1.2},{"word":"2"},{"word":"check","start":2.0,"end":2.5}]"#;
    assert_eq!(words(gaps), ["1000 the", "1200 2", "2000 check"]);
}

#[test]
fn bare_text_with_stamps() {
    for text in [
        "[0:01] the rook\n[0:04.5] check",
        "0:01 the rook\n0:04.5 check",
        "0:01\nthe rook\n0:04.5\ncheck\n",
        "(00:01) the rook (00:00:04,5) check",
        "\u{feff}[0:01] the\r\nrook [0:04.5] check",
        "- 0:01 – the rook\n- 0:04.5 – check",
    ] {
        assert_eq!(words(text)[..1], ["1000 the"], "{text}");
        assert_eq!(words(text)[2..], ["4500 check"], "{text}");
    }
    assert_eq!(words("before [0:02] after")[0], "0 before");
}

#[test]
fn what_cannot_be_read_has_its_place() {
    let told = |text: &str| {
        let source = Source::new("words.txt", text);
        let diagnostic = read(&source).1.remove(0);
        let (line, column) = source.line_column(diagnostic.primary.span.start);
        (diagnostic.severity, line, column, diagnostic.message)
    };
    for (text, expected) in [
        ("", (Severity::Error, 1, 1, "the transcript is empty")),
        ("\n no times here", (Severity::Error, 2, 2, "the transcript has no word with a time")),
        ("{\"a\": 1,\n 5}", (Severity::Error, 2, 2, "the transcript begins as JSON and is none")),
        (
            "{\"words\":[{\"word\":\"a\",\"start\":1}]} {\"x\" 1}",
            (Severity::Warning, 1, 41, "the transcript is cut short or damaged from here on"),
        ),
        (
            "1\n00:01 --> 00:02\na\n\n2\n00:0x --> 00:04\nb\n",
            (Severity::Warning, 6, 1, "the times of a cue cannot be read"),
        ),
        (
            "[{\"word\":\"a\",\"start\":1},\n {\"word\":5,\"start\":2}]",
            (Severity::Warning, 2, 2, "a word of the transcript has no text"),
        ),
    ] {
        let (severity, line, column, message) = expected;
        assert_eq!(told(text), (severity, line, column, message.to_owned()), "{text}");
    }
    let many = "00:0x --> 00:04\nb\n\n".repeat(40) + "00:01 --> 00:02\na\n";
    let (transcript, told) = of(&many);
    assert_eq!((transcript.words.len(), told.len()), (1, 12), "the first few are told");
    let shown = human::render(&told, &Source::new("film.toml", ""), false);
    assert!(shown.contains("--> t:1:1") && shown.contains("28 more places"), "{shown}");
}

#[test]
fn texts_in_other_codes() {
    assert_eq!(decode(b"\xff\xfea\0\xe4\0"), "aä");
    assert_eq!(decode(b"\xfe\xff\0a"), "a");
    assert_eq!(decode(b"gr\xfcn"), "grün");
    assert_eq!(decode("grün".as_bytes()), "grün");
}

/// Texts that are nearly of some form.
fn nearly() -> impl Strategy<Value = String> {
    let part = prop_oneof![
        Just("00:00:01,000 --> 00:00:02,500".to_owned()),
        Just("WEBVTT\n\n".to_owned()),
        Just("\r\n".to_owned()),
        Just("\n\n".to_owned()),
        Just("[1:02]".to_owned()),
        Just("{\"words\":[".to_owned()),
        Just("{\"word\":\"rook\",\"start\":1.5,\"end\":".to_owned()),
        Just("]}".to_owned()),
        Just("},".to_owned()),
        Just("<00:00:01.500>".to_owned()),
        "[-0-9:.,> ]{0,12}",
        "[a-z\"\\\\{}\\[\\]<>&;#♪é]{0,8}",
        ".{0,6}",
        Just("99999999999999999999".to_owned()),
    ];
    proptest::collection::vec(part, 0..12).prop_map(|parts| parts.concat())
}

fn holds(transcript: &Transcript) -> Result<(), TestCaseError> {
    let mut words = 0;
    for (number, phrase) in transcript.phrases.iter().enumerate() {
        prop_assert_eq!(phrase.words.start, words, "phrases part the words without a gap");
        prop_assert!(!phrase.words.is_empty() && phrase.end >= phrase.start);
        words = phrase.words.end;
        prop_assert!(transcript.words_of(phrase).iter().all(|word| word.phrase == number));
    }
    prop_assert_eq!(words, transcript.words.len());
    prop_assert!(transcript.words.is_sorted_by_key(|word| word.start));
    prop_assert!(transcript.words.iter().all(|word| word.start >= Time::ZERO && word.end >= word.start));
    Ok(())
}

proptest! {
    #[test]
    fn any_text_gives_a_transcript_in_order(text in nearly()) {
        let source = Source::new("t", text);
        let (transcript, told) = read(&source);
        holds(&transcript)?;
        for diagnostic in &told {
            prop_assert!(source.text().get(diagnostic.primary.span.start..diagnostic.primary.span.end).is_some());
        }
        prop_assert!(!transcript.words.is_empty() || told.iter().any(|one| one.severity == Severity::Error));
    }

    #[test]
    fn any_bytes_are_read(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        holds(&read(&Source::new("t", decode(&bytes))).0)?;
    }

    /// Both subtitle forms, written well, say the same.
    #[test]
    fn well_written_files_come_back(cues in proptest::collection::vec((1_u32..5000, 1_u32..5000, "[a-z]{1,7}( [a-z0-9]{1,7}){0,4}"), 1..12)) {
        let (mut srt, mut vtt, mut expected, mut at) = (String::new(), "WEBVTT\n\n".to_owned(), Vec::new(), 0);
        for (number, (gap, length, text)) in cues.iter().enumerate() {
            let (start, end) = (at + gap, at + gap + length);
            at = end;
            let clock = |ms: u32, sign| format!("{:02}:{:02}:{:02}{sign}{:03}", ms / 3_600_000, ms / 60_000 % 60, ms / 1000 % 60, ms % 1000);
            let _ = write!(srt, "{}\n{} --> {}\n{text}\n\n", number + 1, clock(start, ','), clock(end, ','));
            let _ = write!(vtt, "{} --> {}\n{text}\n\n", clock(start, '.'), clock(end, '.'));
            expected.push(format!("{start}-{end} {text}"));
        }
        prop_assert_eq!(&phrases(&srt), &expected);
        prop_assert_eq!(&phrases(&vtt), &expected);
    }
}
