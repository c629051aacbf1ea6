//! What is said, and when: a timed transcript, in words and phrases.
//!
//! Goes out of any reader: a [`Transcript`], whatever form it was written in. Every word belongs to a phrase, the
//! phrases are in order of time and never empty, and no time goes back. Must not know: chess, pictures.

mod clock;
#[cfg(test)]
mod forms;
mod json;
mod json_text;
mod payload;
mod piece;
mod plain;
mod read;
mod refine;
mod remarks;
mod subtitle;

pub use read::{decode, read};

use crate::units::Time;
use std::ops::Range;

/// All that is said, in order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Transcript {
    /// Every word, in order of time.
    pub words: Vec<Word>,
    /// The recogniser's own pieces: cues of a subtitle file, segments; they part [`Transcript::words`] without a gap.
    pub phrases: Vec<Phrase>,
}

/// One word as the recogniser wrote it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// As written, with its punctuation, without spaces.
    pub text: String,
    /// When it begins.
    pub start: Time,
    /// When it ends; never before [`Word::start`].
    pub end: Time,
    /// Which of [`Transcript::phrases`] it belongs to.
    pub phrase: usize,
    /// Whether its own time was in the file.
    pub timing: Timing,
}

/// Where a word's time comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Timing {
    /// The recogniser gave it for this word.
    Given,
    /// It was shared out from its phrase's times.
    Guessed,
}

/// A piece of speech that the recogniser kept together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phrase {
    /// When it begins.
    pub start: Time,
    /// When it ends; never before [`Phrase::start`].
    pub end: Time,
    /// Its words in [`Transcript::words`].
    pub words: Range<usize>,
}

impl Transcript {
    /// Puts timed words together. A word's [`Word::phrase`] need only change where a new phrase begins: phrases are
    /// numbered anew, and end where their last word does. Words come in the order of their starts, words without a
    /// letter or digit are left out, and an end before its start is moved there.
    pub fn from_words(mut words: Vec<Word>) -> Transcript {
        words.retain(|word| word.text.chars().any(char::is_alphanumeric));
        words.sort_by_key(|word| word.start);
        let mut phrases: Vec<Phrase> = Vec::new();
        let mut before = None;
        for (index, word) in words.iter_mut().enumerate() {
            word.end = word.end.max(word.start);
            if before != Some(word.phrase) {
                before = Some(word.phrase);
                phrases.push(Phrase { start: word.start, end: word.end, words: index..index });
            }
            word.phrase = phrases.len() - 1;
            if let Some(phrase) = phrases.last_mut() {
                phrase.words.end = index + 1;
                phrase.end = phrase.end.max(word.end);
            }
        }
        Transcript { words, phrases }
    }

    /// Phrases with a start, an end and a text; each word gets a share of its phrase's time by its length.
    pub fn from_phrases<'a>(phrases: impl IntoIterator<Item = (Time, Time, &'a str)>) -> Transcript {
        let mut words = Vec::new();
        for (number, (start, end, text)) in phrases.into_iter().enumerate() {
            let spoken: Vec<&str> =
                text.split_whitespace().filter(|word| word.contains(char::is_alphanumeric)).collect();
            let shares: Vec<i64> = spoken.iter().map(|word| share(word)).collect();
            let (whole, length) =
                (shares.iter().sum::<i64>().max(1), end.as_micros().saturating_sub(start.as_micros()).max(0));
            // An instant inside the phrase: wide arithmetic, for a clock may count hundreds of hours.
            let at = |part: i64| {
                let inside = i128::from(length) * i128::from(part) / i128::from(whole);
                Time::from_micros(start.as_micros().saturating_add(i64::try_from(inside).unwrap_or(0)))
            };
            let mut said = 0;
            for (word, share) in spoken.into_iter().zip(shares) {
                let (start, end) = (at(said), at(said + share));
                said += share;
                words.push(Word { text: word.to_string(), start, end, phrase: number, timing: Timing::Guessed });
            }
        }
        Transcript::from_words(words)
    }

    /// The words of a phrase.
    pub fn words_of(&self, phrase: &Phrase) -> &[Word] {
        self.words.get(phrase.words.clone()).unwrap_or_default()
    }

    /// A phrase as it was written, words parted by one space.
    pub fn text_of(&self, phrase: &Phrase) -> String {
        self.words_of(phrase).iter().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ")
    }
}

/// How long a word takes to say, beside others: its letters, and one for the joint; a digit is said as a word.
fn share(word: &str) -> i64 {
    word.chars().map(|sign| if sign.is_ascii_digit() { 4 } else { i64::from(sign.is_alphanumeric()) }).sum::<i64>() + 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_phrase_is_shared_out_among_its_words() {
        let transcript = Transcript::from_phrases([
            (Time::from_millis(1000), Time::from_millis(2000), "rook d6, - check"),
            (Time::from_millis(2500), Time::from_millis(3000), "?!"),
            (Time::from_millis(3000), Time::from_millis(2900), "late"),
        ]);
        let words: Vec<&str> = transcript.words.iter().map(|word| word.text.as_str()).collect();
        assert_eq!(words, ["rook", "d6,", "check", "late"]);
        assert_eq!(transcript.phrases.len(), 2, "a phrase without a word is none");
        assert_eq!(transcript.words[0].start, Time::from_millis(1000));
        assert_eq!(transcript.words[2].end, Time::from_millis(2000));
        assert_eq!(transcript.text_of(&transcript.phrases[0]), "rook d6, check");
        assert!(transcript.words.iter().all(|word| word.timing == Timing::Guessed && word.end >= word.start));
    }

    #[test]
    fn words_are_put_in_order_and_phrases_numbered_anew() {
        let word = |text: &str, at: i64, phrase| {
            let (start, end) = (Time::from_millis(at), Time::from_millis(at - 5));
            Word { text: text.into(), start, end, phrase, timing: Timing::Given }
        };
        let transcript = Transcript::from_words(vec![word("two", 20, 7), word("one", 10, 3), word("three", 30, 7)]);
        assert_eq!(transcript.phrases.iter().map(|phrase| phrase.words.clone()).collect::<Vec<_>>(), [0..1, 1..3]);
        assert!(transcript.words.iter().all(|word| word.end == word.start));
    }
}
