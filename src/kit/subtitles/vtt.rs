//! WebVTT (W3C WebVTT: The Web Video Text Tracks Format, §4): a writer that cannot write what the syntax forbids, and
//! a strict reader to hold it against.

use super::Subtitle;
use crate::units::Time;
use std::fmt::Write as _;

/// One cue of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VttCue {
    /// Its identifier, if it has one.
    pub id: Option<String>,
    /// When it begins.
    pub start: Time,
    /// When it ends; later.
    pub end: Time,
    /// The lines as they stand in the file, escapes and tags included.
    pub payload: String,
}

/// Why a text is no WebVTT.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {fact}")]
pub struct VttFault {
    /// Counted from 1.
    pub line: usize,
    /// What is wrong there.
    pub fact: String,
}

/// Subtitles as a file.
pub(in crate::kit) fn write(titles: &[Subtitle]) -> String {
    file("", titles.iter().map(|title| (title.start, title.end, title.lines.join("\n"), Payload::Words)))
}

/// What a cue's text is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::kit) enum Payload {
    /// Words to be shown: `&` and `<` are escaped.
    Words,
    /// Data for programs: handed on as it is (§4.4: metadata text), so it must hold no arrow and no empty line.
    Data,
}

/// A whole file; times must come in order.
pub(in crate::kit) fn file(kind: &str, cues: impl IntoIterator<Item = (Time, Time, String, Payload)>) -> String {
    let mut text = String::from("WEBVTT");
    if !kind.is_empty() {
        text.push_str(" - ");
        text.push_str(kind);
    }
    text.push('\n');
    for (start, end, payload, form) in cues {
        let payload = match form {
            Payload::Words => payload.replace('&', "&amp;").replace('<', "&lt;").replace("-->", "--&gt;"),
            Payload::Data => payload,
        };
        let lines: Vec<&str> = payload.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
        assert!(!payload.contains("-->"), "no arrow stands in a cue's text");
        // Writing to a text never fails.
        write!(text, "\n{} --> {}\n{}\n", stamp(start), stamp(end), lines.join("\n")).unwrap_or_default();
    }
    text
}

/// `00:02:17.440`, rounded down to the millisecond; the hours always stand, which every reader takes.
fn stamp(time: Time) -> String {
    let millis = time.as_micros().max(0) / 1000;
    let (seconds, millis) = (millis / 1000, millis % 1000);
    format!("{:02}:{:02}:{:02}.{millis:03}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

/// Reads a time (§4.1, WebVTT timestamp): `[HH+:]MM:SS.mmm`.
pub(super) fn timestamp(text: &str) -> Option<Time> {
    let (clock, millis) = text.split_once('.')?;
    let parts: Vec<&str> = clock.split(':').collect();
    let (hours, minutes, seconds) = match parts[..] {
        [minutes, seconds] => ("00", minutes, seconds),
        [hours, minutes, seconds] => (hours, minutes, seconds),
        _ => return None,
    };
    let digits = |text: &str, least: usize, most: usize| -> Option<i64> {
        let sound = (least..=most).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
        if sound { text.parse().ok() } else { None }
    };
    let (hours, minutes, seconds) = (digits(hours, 2, 9)?, digits(minutes, 2, 2)?, digits(seconds, 2, 2)?);
    let millis = digits(millis, 3, 3)?;
    (minutes < 60 && seconds < 60).then(|| Time::from_millis(((hours * 60 + minutes) * 60 + seconds) * 1000 + millis))
}

/// Reads a file as strictly as its syntax is written; `words`: whether cue texts are words, with escapes and tags, or
/// data.
pub fn read_vtt(text: &str, words: bool) -> Result<Vec<VttCue>, VttFault> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let lines: Vec<&str> = text.split('\n').collect();
    let fault = |line: usize, fact: &str| Err(VttFault { line: line + 1, fact: fact.to_owned() });
    let header = lines[0];
    if header != "WEBVTT" && !header.starts_with("WEBVTT ") && !header.starts_with("WEBVTT\t") {
        return fault(0, "the first line is not `WEBVTT`");
    }
    if header.contains("-->") {
        return fault(0, "an arrow in the header");
    }
    let mut at = 1;
    if lines.get(1).is_some_and(|line| !line.is_empty()) {
        return fault(1, "no empty line after the header");
    }
    let mut cues: Vec<VttCue> = Vec::new();
    while at < lines.len() {
        if lines[at].is_empty() {
            at += 1;
            continue;
        }
        let end = lines[at..].iter().position(|line| line.is_empty()).map_or(lines.len(), |length| at + length);
        let block = &lines[at..end];
        let is_comment = block[0] == "NOTE" || block[0].starts_with("NOTE ") || block[0].starts_with("NOTE\t");
        let is_setup = matches!(block[0].trim_end(), "STYLE" | "REGION");
        if is_comment || is_setup {
            if block.iter().any(|line| line.contains("-->")) {
                return fault(at, "an arrow in a comment, style or region");
            }
            if is_setup && !cues.is_empty() {
                return fault(at, "a style or region after a cue");
            }
        } else {
            cues.push(cue(block, &cues, words).map_err(|(line, fact)| VttFault { line: at + line + 1, fact })?);
        }
        at = end;
    }
    Ok(cues)
}

/// One cue block.
fn cue(block: &[&str], before: &[VttCue], words: bool) -> Result<VttCue, (usize, String)> {
    let timing = usize::from(!block[0].contains("-->"));
    let id = (timing == 1).then(|| block[0].to_owned());
    if let Some(id) = &id
        && before.iter().any(|cue| cue.id.as_ref() == Some(id))
    {
        return Err((0, format!("the identifier `{id}` a second time")));
    }
    let line = block.get(timing).ok_or((0, "a block that is no cue".to_owned()))?;
    let (start, rest) = line.split_once("-->").ok_or((timing, "no arrow between two times".to_owned()))?;
    let is_space = |sign: char| matches!(sign, ' ' | '\t');
    if !start.ends_with(is_space) || !rest.starts_with(is_space) {
        return Err((timing, "no space beside the arrow".to_owned()));
    }
    let rest = rest.trim_start_matches(is_space);
    let (end, settings) = rest.split_once(is_space).unwrap_or((rest, ""));
    let time = |text: &str| timestamp(text).ok_or((timing, format!("`{text}` is no time")));
    let (start, end) = (time(start.trim_end_matches(is_space))?, time(end)?);
    if end <= start {
        return Err((timing, "an end that is not after its start".to_owned()));
    }
    if before.last().is_some_and(|before| start < before.start) {
        return Err((timing, "a start before that of the cue above".to_owned()));
    }
    for setting in settings.split(is_space).filter(|setting| !setting.is_empty()) {
        let name = setting.split_once(':').filter(|(_, value)| !value.is_empty()).map(|(name, _)| name);
        if !matches!(name, Some("vertical" | "line" | "position" | "size" | "align" | "region")) {
            return Err((timing, format!("`{setting}` is no setting")));
        }
    }
    let payload = &block[timing + 1..];
    for (number, line) in payload.iter().enumerate() {
        let wrong = if line.contains("-->") {
            Some("an arrow in the text".to_owned())
        } else if words {
            unsound(line)
        } else {
            None
        };
        if let Some(fact) = wrong {
            return Err((timing + 1 + number, fact));
        }
    }
    Ok(VttCue { id, start, end, payload: payload.join("\n") })
}

/// What is wrong with a line of cue text: an `&` or `<` that neither escapes nor marks.
fn unsound(line: &str) -> Option<String> {
    for (at, _) in line.match_indices('&') {
        let name = line[at + 1..].split_once(';').map(|(name, _)| name);
        let number = |name: &str| name.starts_with('#') && name.len() > 1;
        if !name.is_some_and(|name| matches!(name, "amp" | "lt" | "gt" | "lrm" | "rlm" | "nbsp") || number(name)) {
            return Some("an `&` that is not escaped".to_owned());
        }
    }
    for (at, _) in line.match_indices('<') {
        let tag = line[at + 1..].split_once('>').map(|(tag, _)| tag.trim_start_matches('/'));
        let name = tag.map(|tag| tag.split(['.', ' ', '\t']).next().unwrap_or_default());
        let known = name.is_some_and(|name| {
            matches!(name, "c" | "i" | "b" | "u" | "ruby" | "rt" | "v" | "lang") || timestamp(name).is_some()
        });
        if !known {
            return Some("a `<` that is not escaped".to_owned());
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_of_the_standard() {
        for (text, millis) in [("00:00.000", 0), ("00:00:00.000", 0), ("123:59:59.999", 446_399_999)] {
            assert_eq!(timestamp(text), Some(Time::from_millis(millis)), "{text}");
        }
        for text in ["0:00.000", "00:60.000", "00:00,000", "00:00.00", "00:00:00", "00:00:60.000", "1:00:00.000", ""] {
            assert_eq!(timestamp(text), None, "{text}");
        }
    }

    #[test]
    fn what_the_syntax_forbids_is_refused() {
        let sound = "WEBVTT\n\n1\n00:01.000 --> 00:02.000 align:start\nRook &amp; <i>king</i>\n\nNOTE so\n\n00:01.500\t-->\t00:03.000\nLine\n";
        assert_eq!(read_vtt(sound, true).unwrap().len(), 2);
        assert_eq!(read_vtt(&sound.replace('\n', "\r\n"), true).unwrap().len(), 2);
        for (broken, line) in [
            ("WEBVTTX\n", 1),
            ("WEBVTT\nno empty line", 2),
            ("WEBVTT\n\n00:01.000 --> 00:01.000\nx", 3),
            ("WEBVTT\n\n00:02.000 --> 00:03.000\nx\n\n00:01.000 --> 00:03.000\ny", 6),
            ("WEBVTT\n\n00:01.000-->00:02.000\nx", 3),
            ("WEBVTT\n\n00:01.000 --> 00:02.000 colour:red\nx", 3),
            ("WEBVTT\n\n00:01.000 --> 00:02.000\nx --> y", 4),
            ("WEBVTT\n\n00:01.000 --> 00:02.000\nx & y", 4),
            ("WEBVTT\n\n00:01.000 --> 00:02.000\nx < y", 4),
            ("WEBVTT\n\na\n00:01.000 --> 00:02.000\nx\n\na\n00:01.000 --> 00:02.000\nx", 7),
            ("WEBVTT\n\nno cue", 3),
        ] {
            assert_eq!(read_vtt(broken, true).unwrap_err().line, line, "{broken}");
        }
    }

    #[test]
    fn any_text_is_written_soundly() {
        let words = "a < b & c --> d\n\n\n  e";
        let text = file("", [(Time::ZERO, Time::from_millis(1000), words.to_owned(), Payload::Words)]);
        let cues = read_vtt(&text, true).unwrap();
        assert_eq!(cues[0].payload, "a &lt; b &amp; c --&gt; d\ne");
    }
}
