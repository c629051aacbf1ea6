//! What the readers find, before it is put in order: pieces of speech whose times may be missing, cross or run back.

use super::{Timing, Transcript, Word, share};
use crate::units::Time;
use std::time::Duration;

/// A piece of speech as a file gives it.
#[derive(Clone, Debug, Default)]
pub(super) struct Piece {
    pub(super) start: Option<Time>,
    pub(super) end: Option<Time>,
    pub(super) tokens: Vec<Token>,
}

/// A word as a file gives it.
#[derive(Clone, Debug, Default)]
pub(super) struct Token {
    pub(super) text: String,
    pub(super) start: Option<Time>,
    pub(super) end: Option<Time>,
}

/// How long a unit of [`share`] lasts in unhurried speech, for words of which only the start is known: about 150 words
/// a minute (a word is five letters and its joint), in microseconds.
const UNHURRIED: i64 = 66_000;

impl Piece {
    /// A piece of which only the text is known beside its times.
    pub(super) fn of_text(start: Option<Time>, end: Option<Time>, text: &str) -> Piece {
        let token = |word: &str| Token { text: word.to_owned(), start: None, end: None };
        Piece { start, end, tokens: text.split_whitespace().map(token).collect() }
    }

    /// When it begins: its own time, or that of the first word with a time.
    fn begins(&self) -> Option<Time> {
        self.start.or_else(|| self.tokens.iter().find_map(|token| token.start))
    }

    /// How long it takes when spoken without hurry.
    pub(super) fn natural(&self) -> Duration {
        natural(self.tokens.iter().map(|token| share(&token.text)).sum())
    }
}

fn natural(shares: i64) -> Duration {
    Duration::from_micros((shares.saturating_mul(UNHURRIED)).unsigned_abs())
}

/// Puts pieces in order of time, ends each where the next begins at the latest, and gives every word a time.
///
/// A piece without any time follows the one before. A missing end, or one not after its start, is made of the length
/// of what is said. Pieces that begin together share their time.
pub(super) fn assemble(pieces: Vec<Piece>) -> Transcript {
    let mut timed: Vec<(Time, Piece)> = Vec::with_capacity(pieces.len());
    let mut last = Time::ZERO;
    for mut piece in pieces {
        piece.tokens.retain(|token| token.text.contains(char::is_alphanumeric));
        if piece.tokens.is_empty() {
            continue;
        }
        let start = piece.begins().unwrap_or(last);
        last = piece.end.unwrap_or(start + piece.natural()).max(start);
        timed.push((start, piece));
    }
    timed.sort_by_key(|(start, _)| *start);
    let mut merged: Vec<(Time, Piece)> = Vec::with_capacity(timed.len());
    for (start, piece) in timed {
        match merged.last_mut() {
            Some((before, other)) if *before == start => {
                other.end = other.end.max(piece.end);
                other.tokens.extend(piece.tokens);
            }
            _ => merged.push((start, piece)),
        }
    }
    let starts: Vec<Time> = merged.iter().map(|(start, _)| *start).collect();
    let mut words = Vec::new();
    for (number, (start, piece)) in merged.into_iter().enumerate() {
        let next = starts.get(number + 1).copied();
        let end = piece.end.filter(|end| *end > start).unwrap_or(start + piece.natural());
        let end = next.map_or(end, |next| end.min(next));
        words.extend(shared_out(&piece.tokens, start, end, number));
    }
    Transcript::from_words(words)
}

/// Words with their times: given ones are kept where they do not run back, the others lie between them by length.
fn shared_out(tokens: &[Token], start: Time, end: Time, phrase: usize) -> Vec<Word> {
    let mut words: Vec<Word> = Vec::with_capacity(tokens.len());
    // Where the words since the last given time begin, and when that was.
    let (mut first, mut from) = (0, start);
    for (index, token) in tokens.iter().enumerate() {
        if let Some(given) = token.start.filter(|given| *given >= from) {
            spread(&tokens[first..index], from, given, phrase, &mut words);
            let next = tokens[index + 1..].iter().filter_map(|token| token.start).find(|start| *start >= given);
            let natural = (given + natural(share(&token.text) * 2)).min(end.max(given));
            let ended = token.end.filter(|end| *end >= given).unwrap_or(natural);
            // An end that is too late, as where words overlap, takes no time from the words behind it: their starts alone
            // decide which of them run back.
            let ended = next.map_or(ended, |next| ended.min(next));
            words.push(Word { text: token.text.clone(), start: given, end: ended, phrase, timing: Timing::Given });
            (first, from) = (index + 1, ended);
        }
    }
    spread(&tokens[first..], from, end.max(from), phrase, &mut words);
    words
}

/// Shares a stretch out among words by their length; no longer than unhurried speech makes them.
fn spread(tokens: &[Token], from: Time, to: Time, phrase: usize, words: &mut Vec<Word>) {
    let whole: i64 = tokens.iter().map(|token| share(&token.text)).sum::<i64>().max(1);
    let length = i128::from(to.since(from).as_micros().min(u128::from(u64::MAX >> 1)) as i64);
    let at = |part: i64| from + Duration::from_micros((length * i128::from(part) / i128::from(whole)) as u64);
    let mut said = 0;
    for token in tokens {
        let share = share(&token.text);
        let (start, end) = (at(said), at(said + share));
        said += share;
        words.push(Word { text: token.text.clone(), start, end, phrase, timing: Timing::Guessed });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ms(millis: i64) -> Time {
        Time::from_millis(millis)
    }

    #[test]
    fn pieces_that_cross_run_back_or_lack_an_end_are_put_in_order() {
        let transcript = assemble(vec![
            Piece::of_text(Some(ms(5000)), Some(ms(4000)), "second"),
            Piece::of_text(Some(ms(1000)), Some(ms(9000)), "first of all"),
            Piece::of_text(Some(ms(7000)), None, "third"),
            Piece::of_text(None, None, "behind"),
            Piece::of_text(Some(ms(8000)), Some(ms(8100)), "♪ ..."),
        ]);
        let texts: Vec<String> = transcript.phrases.iter().map(|phrase| transcript.text_of(phrase)).collect();
        assert_eq!(texts, ["first of all", "second", "third", "behind"]);
        assert_eq!(transcript.phrases[0].end, ms(5000), "a piece ends where the next begins");
        assert!(transcript.phrases[1].end > ms(5000));
    }

    #[test]
    fn an_end_that_is_too_late_takes_no_time_from_the_words_behind_it() {
        let token = |text: &str, start: i64, end: Option<i64>| Token {
            text: text.into(),
            start: Some(ms(start)),
            end: end.map(ms),
        };
        let tokens = vec![
            token("alpha", 1000, Some(30_000)),
            token("bravo", 2000, None),
            // It runs back, and is laid between its neighbours.
            token("back", 500, None),
            token("charlie", 10_000, Some(12_020)),
            token("delta", 12_000, None),
            token("echo", 31_000, None),
        ];
        let words = assemble(vec![Piece { start: None, end: None, tokens }]).words;
        let given = |index: usize| (words[index].timing == Timing::Given).then_some(words[index].start);
        let starts: Vec<_> = (0..6).map(given).collect();
        assert_eq!(starts, [Some(1000), Some(2000), None, Some(10_000), Some(12_000), Some(31_000)].map(|t| t.map(ms)));
        assert_eq!((words[0].end, words[3].end), (ms(2000), ms(12_000)));
        assert!(words.is_sorted_by_key(|word| word.start));
    }

    #[test]
    fn words_without_a_time_lie_between_those_with_one() {
        let token = |text: &str, start: Option<i64>| Token { text: text.into(), start: start.map(ms), end: None };
        let tokens = vec![token("the", None), token("rook", Some(1500)), token("takes", None), token("d4", Some(2500))];
        let piece = Piece { start: Some(ms(1000)), end: Some(ms(3000)), tokens };
        let words = assemble(vec![piece]).words;
        assert_eq!(words[0].start, ms(1000));
        assert_eq!((words[1].start, words[1].timing), (ms(1500), Timing::Given));
        assert!(words[2].start > ms(1500) && words[2].end <= ms(2500) && words[2].timing == Timing::Guessed);
        assert_eq!(words[3].start, ms(2500));
    }
}
