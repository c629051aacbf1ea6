//! Word-level and segment-level JSON, in the plain shapes that recognisers give.
//!
//! No shape is asked for by name. What is looked for are tables with a text and a time, wherever they lie; a table with
//! timed words inside is a phrase. Times are seconds, as numbers or texts, or a clock; milliseconds where the name says
//! so or where nothing else makes sense.

use super::clock::{clock, from_seconds};
use super::json_text::{Json, Node};
use super::payload;
use super::piece::{Piece, Token};
use super::remarks::Remarks;
use crate::units::Time;

const STARTS: [&str; 9] = ["start", "start_time", "startTime", "begin", "from", "t0", "ts", "time", "offset"];
const STARTS_MS: [&str; 4] = ["start_ms", "startMs", "begin_ms", "offset_ms"];
const ENDS: [&str; 6] = ["end", "end_time", "endTime", "to", "t1", "end_ts"];
const ENDS_MS: [&str; 3] = ["end_ms", "endMs", "stop_ms"];
const LENGTHS: [&str; 2] = ["duration", "dur"];
/// Where both are there, the one with its punctuation comes first.
const TEXTS: [&str; 8] = ["punctuated_word", "word", "text", "transcript", "value", "content", "token", "w"];
/// Lists inside a phrase that may hold its words.
const WORDS: [&str; 5] = ["words", "tokens", "items", "elements", "result"];
/// Seconds a word may take on average before its times must be milliseconds.
const SLOWEST: f64 = 30.0;

/// A piece whose times have no unit yet.
struct Found {
    start: Option<Moment>,
    end: Option<Moment>,
    words: Vec<Said>,
    /// Whether its words had entries of their own.
    of_words: bool,
}

struct Said {
    text: String,
    start: Option<Moment>,
    end: Option<Moment>,
}

#[derive(Clone, Copy)]
enum Moment {
    /// Sure of its unit.
    At(Time),
    /// A bare number: seconds, unless all of them together say otherwise.
    Bare(f64),
}

/// Collects the pieces of all values.
pub(super) fn read(values: &[Node], remarks: &mut Remarks) -> Vec<Piece> {
    let mut found = Vec::new();
    for value in values {
        gather(value, remarks, &mut found);
    }
    let unit = if in_milliseconds(&found) { 1e-3 } else { 1.0 };
    let time = |moment: Option<Moment>| match moment? {
        Moment::At(time) => Some(time),
        Moment::Bare(number) => from_seconds(number * unit),
    };
    let mut pieces = Vec::new();
    for Found { start, end, words, of_words } in found {
        let tokens: Vec<Token> = words
            .into_iter()
            .map(|Said { text, start, end }| Token { text, start: time(start), end: time(end) })
            .collect();
        if of_words && start.is_none() {
            parted(tokens, &mut pieces);
        } else {
            pieces.push(Piece { start: time(start), end: time(end), tokens });
        }
    }
    pieces
}

/// Goes down to what is timed. Segments come before bare words, so that phrases stay together.
fn gather(node: &Node, remarks: &mut Remarks, found: &mut Vec<Found>) {
    match &node.value {
        Json::List(nodes) if nodes.iter().any(is_word) && !nodes.iter().any(has_words) => {
            if let Some(words) = words_of(nodes, remarks) {
                // A list of whole sentences is one of phrases, whatever its entries are called.
                if words.iter().any(|word| word.text.trim().contains(char::is_whitespace)) {
                    found.extend(words.into_iter().map(sentence));
                } else {
                    found.push(Found { start: None, end: None, words, of_words: true });
                }
            }
        }
        Json::List(nodes) => nodes.iter().for_each(|node| gather(node, remarks, found)),
        Json::Table(entries) => {
            if let Some(phrase) = phrase(node, remarks) {
                found.push(phrase);
                return;
            }
            let before = found.len();
            let lists = |segments: bool| {
                entries.iter().filter(move |(_, node)| {
                    node.list().is_some_and(|list| {
                        let of_segments =
                            list.iter().any(|entry| has_words(entry) || !is_word(entry) || is_sentence(entry));
                        of_segments == segments
                    })
                })
            };
            // Alternatives and other readings of the same stretch come best first; only one way is gone.
            for (_, node) in lists(true) {
                gather(node, remarks, found);
                if found.len() > before {
                    break;
                }
            }
            if found.len() > before {
                let own: Vec<Vec<Said>> =
                    lists(false).filter_map(|(_, node)| words_of(node.list()?, remarks)).collect();
                if let Some(words) = own.into_iter().next() {
                    refine(&mut found[before..], words);
                }
                return;
            }
            for (_, node) in lists(false) {
                gather(node, remarks, found);
                if found.len() > before {
                    return;
                }
            }
            for (_, node) in entries.iter().filter(|(_, node)| matches!(node.value, Json::Table(_))) {
                gather(node, remarks, found);
            }
        }
        _ => {}
    }
}

/// A table with a time, and a text or words.
fn phrase(node: &Node, remarks: &mut Remarks) -> Option<Found> {
    let (start, end) = times(node);
    start?;
    if let Some(words) = WORDS.iter().find_map(|name| node.get(&[name])?.list().filter(|list| list.iter().any(is_word)))
    {
        let words = words_of(words, remarks)?;
        return Some(Found { start, end, words, of_words: true });
    }
    let text = text(node)?;
    Some(sentence(Said { text, start, end }))
}

fn sentence(Said { text, start, end }: Said) -> Found {
    let words = payload::words(&[&text]).into_iter();
    let mut words: Vec<Said> =
        words.map(|token| Said { text: token.text, start: token.start.map(Moment::At), end: None }).collect();
    // What is said of a single word is its own time.
    if let [only] = &mut words[..] {
        (only.start, only.end) = (only.start.or(start), end);
    }
    Found { start, end, words, of_words: false }
}

/// The words of a list. Pieces of words are put together: where some entries begin with a space, those that do not go on
/// with the word before, as does punctuation of its own.
fn words_of(nodes: &[Node], remarks: &mut Remarks) -> Option<Vec<Said>> {
    let texts: Vec<Option<String>> = nodes.iter().map(text).collect();
    let spaced =
        texts.iter().skip(1).flatten().any(|text| text.starts_with(' ') && text.contains(char::is_alphanumeric));
    let mut words: Vec<Said> = Vec::new();
    for (node, text) in nodes.iter().zip(texts) {
        let Some(text) = text else {
            if !matches!(node.value, Json::Other) {
                remarks.skipped(
                    node.span,
                    "a word of the transcript has no text",
                    "none of `word`, `text`, `value` is here",
                );
            }
            continue;
        };
        let bare = text.trim();
        // Marks of the recogniser's own, such as `[_BEG_]` or `<|0.00|>`, are not said.
        if bare.is_empty() || bare.starts_with('[') && bare.ends_with(']') || bare.starts_with("<|") {
            continue;
        }
        let (start, end) = times(node);
        let goes_on = !bare.contains(char::is_alphanumeric) || spaced && !text.starts_with(' ');
        match words.last_mut() {
            Some(word) if goes_on => {
                word.text.push_str(bare);
                if bare.contains(char::is_alphanumeric) {
                    word.end = end.or(word.end);
                }
            }
            _ => words.push(Said { text: bare.to_owned(), start, end }),
        }
    }
    (!words.is_empty()).then_some(words)
}

/// Gives phrases their words' times from a list beside them, if it holds the very same words.
fn refine(phrases: &mut [Found], words: Vec<Said>) {
    let plain =
        |text: &str| text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
    let count: usize = phrases.iter().map(|phrase| phrase.words.len()).sum();
    let same = count == words.len()
        && phrases
            .iter()
            .flat_map(|phrase| &phrase.words)
            .zip(&words)
            .all(|(one, other)| plain(&one.text) == plain(&other.text));
    if same {
        for (own, given) in phrases.iter_mut().flat_map(|phrase| &mut phrase.words).zip(words) {
            (own.start, own.end) = (given.start.or(own.start), given.end.or(own.end));
        }
    }
}

/// Words without phrases are parted at pauses, at the ends of sentences, and where they become too many.
fn parted(tokens: Vec<Token>, pieces: &mut Vec<Piece>) {
    /// A pause between phrases, in microseconds.
    const PAUSE: i64 = 600_000;
    /// As many words as a long sentence has.
    const MOST: usize = 24;
    let mut piece = Piece::default();
    for token in tokens {
        let last = piece.tokens.last();
        let ended = last.and_then(|last| last.end.or(last.start));
        let paused =
            matches!((ended, token.start), (Some(end), Some(start)) if start.as_micros() - end.as_micros() > PAUSE);
        let sentence = last.is_some_and(|last| last.text.ends_with(['.', '?', '!', '…']));
        if paused || sentence || piece.tokens.len() >= MOST {
            pieces.push(std::mem::take(&mut piece));
        }
        piece.tokens.push(token);
    }
    pieces.push(piece);
}

/// Whether a table is a word or a sentence: a text with a time, or a word of a list whose neighbours have times.
fn is_word(node: &Node) -> bool {
    text(node).is_some() && (times(node).0.is_some() || node.get(&["word", "punctuated_word", "w"]).is_some())
}

fn is_sentence(node: &Node) -> bool {
    text(node).is_some_and(|text| text.trim().contains(char::is_whitespace))
}

/// Whether a table has lists of tables of its own.
fn has_words(node: &Node) -> bool {
    let Json::Table(entries) = &node.value else { return false };
    let holds = |list: &[Node]| list.iter().any(|entry| matches!(entry.value, Json::Table(_)));
    // The readings of one word, best first, belong to that word.
    entries.iter().any(|(name, node)| name != "alternatives" && node.list().is_some_and(holds))
}

fn text(node: &Node) -> Option<String> {
    let own = node.get(&TEXTS);
    if let Some(Node { value: Json::Text(text), .. }) = own {
        return Some(text.clone());
    }
    let best = node.get(&["alternatives"])?.list()?.first()?;
    // Alternatives with words of their own are a phrase's.
    if WORDS.iter().any(|name| best.get(&[name]).is_some()) {
        return None;
    }
    match best.get(&TEXTS) {
        Some(Node { value: Json::Text(text), .. }) => Some(text.clone()),
        _ => None,
    }
}

/// The start and end of a table, as far as it has them.
fn times(node: &Node) -> (Option<Moment>, Option<Moment>) {
    // Times may lie in a table of their own; of two, the one in whole milliseconds is the exact one.
    if let Some(offsets) = node.get(&["offsets"]) {
        let millis = |names: &[&str]| match offsets.get(names)?.value {
            Json::Number(number) => from_seconds(number / 1000.0).map(Moment::At),
            _ => None,
        };
        return (millis(&STARTS), millis(&ENDS));
    }
    if let Some(pair) = node.get(&["timestamp", "timestamps"]) {
        return match pair.list() {
            Some(list) => (list.first().and_then(moment), list.get(1).and_then(moment)),
            None if matches!(pair.value, Json::Table(_)) => times(pair),
            None => (moment(pair), None),
        };
    }
    let millis = |names: &[&str]| match moment(node.get(names)?)? {
        Moment::Bare(number) => from_seconds(number / 1000.0).map(Moment::At),
        sure @ Moment::At(_) => Some(sure),
    };
    let start = node.get(&STARTS).and_then(moment).or_else(|| millis(&STARTS_MS));
    let end = node.get(&ENDS).and_then(moment).or_else(|| millis(&ENDS_MS)).or_else(|| {
        match (start?, moment(node.get(&LENGTHS)?)?) {
            (Moment::Bare(start), Moment::Bare(length)) => Some(Moment::Bare(start + length)),
            (Moment::At(start), Moment::At(length)) => Some(Moment::At(start + length.since(Time::ZERO))),
            _ => None,
        }
    });
    (start, end)
}

fn moment(node: &Node) -> Option<Moment> {
    match &node.value {
        Json::Number(number) => number.is_finite().then_some(Moment::Bare(*number)),
        Json::Text(text) => match text.trim().parse::<f64>() {
            Ok(number) => number.is_finite().then_some(Moment::Bare(number)),
            Err(_) => clock(text).map(Moment::At),
        },
        // Whole seconds and the rest of them apart.
        Json::Table(_) => {
            let part = |names: &[&str]| match moment(node.get(names)?)? {
                Moment::Bare(number) => Some(number),
                Moment::At(_) => None,
            };
            let (seconds, nanos) = (part(&["seconds", "sec"]), part(&["nanos", "nanoseconds"]));
            if seconds.is_none() && nanos.is_none() {
                return None;
            }
            from_seconds(seconds.unwrap_or(0.0) + nanos.unwrap_or(0.0) * 1e-9).map(Moment::At)
        }
        _ => None,
    }
}

/// Whether bare numbers must be milliseconds: all whole, and far too far apart for seconds.
fn in_milliseconds(found: &[Found]) -> bool {
    let (mut last, mut words, mut whole) = (0.0_f64, 0, true);
    for piece in found {
        words += piece.words.len();
        let own = piece.words.iter().flat_map(|word| [word.start, word.end]);
        for moment in [piece.start, piece.end].into_iter().chain(own).flatten() {
            if let Moment::Bare(number) = moment {
                last = last.max(number);
                whole &= number.fract() == 0.0;
            }
        }
    }
    whole && words > 0 && last / words as f64 > SLOWEST
}
