//! A timeline and a new take of its narration → the same timeline, every cue at its word again.
//!
//! Comes in: the timeline's text with what it says ([`Timeline`], [`Game`]) and the new take's [`Transcript`]. Goes out: a
//! [`Synced`], the text with other times in it and nothing else changed, and a list of what became of every time. Must not
//! know: files, pixels, the terminal.
//!
//! 1. `moment` lists the times that the text names, with what happens at each.
//! 2. Anchors, from the old clock to the new: `align`, word by word, where the old take's transcript is there; else `hear`,
//!    by the moves and captions that are spoken.
//! 3. `place` puts every time between its anchors.
//! 4. `edit` writes the times where the old ones stood.

mod align;
mod edit;
mod hear;
mod moment;
mod place;

pub use edit::with_narration;

use crate::draft::Language;
use crate::game::Game;
use crate::narration::Speech;
use crate::narration::transcript::{Timing, Transcript};
use crate::source::{Source, Span};
use crate::timeline::Timeline;
use crate::units::Time;
use std::time::Duration;

/// How far a cue may go to the beginning of speech nearest to its word: recognisers put words that early or late.
const SNAP: Duration = Duration::from_millis(180);

/// What the new take is.
#[derive(Clone, Copy, Debug)]
pub struct Take<'a> {
    /// What is said in it.
    pub words: &'a Transcript,
    /// What was said in the take that the timeline was made for.
    pub old_words: Option<&'a Transcript>,
    /// Where the new recording speaks.
    pub speech: Option<&'a Speech>,
    /// The words for pieces, files and ranks.
    pub language: &'a Language,
    /// The new recording's length: nothing can happen later.
    pub length: Option<Duration>,
}

/// A timeline in step with the new take.
#[derive(Clone, Debug)]
pub struct Synced {
    /// The timeline's text.
    pub text: String,
    /// Every time in it, in the order of the text.
    pub shifts: Vec<Shift>,
}

/// What became of one time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shift {
    /// Where it is written, in the old text.
    pub span: Span,
    /// What happens then: the cue's moves, its caption, the scene's name.
    pub what: String,
    /// When it was.
    pub from: Time,
    /// When it is.
    pub to: Time,
    /// How it was found.
    pub found: Found,
}

/// How a time was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Found {
    /// At its word.
    Word,
    /// By the times around it: it had no word of its own, or a word that was said otherwise, among others that were found.
    Between,
    /// Its passage was not found in the new take; it lies where the passage would be.
    Lost,
}

/// Brings a timeline into step with a new take. The timeline and the game must be those of the text.
pub fn sync(source: &Source, timeline: &Timeline, game: &Game, take: &Take) -> Synced {
    let moments = moment::moments(source, timeline, game);
    let placed = match take.old_words {
        Some(old) => {
            let pairs = align::align(old, take.words);
            let words = retold(old, take, &pairs);
            place::by_words(&moments, old, words.as_ref().unwrap_or(take.words), &pairs)
        }
        None => place::by_anchors(&moments, &hear::anchors(&moments, take.words, take.language), take.words),
    };
    let placed = place::settled(&moments, placed, take);
    edit::edited(source, &moments, &placed)
}

/// The new take's words where only its phrases have times, each as long, beside the others, as it was in the old take.
/// The words stay the same, and their order, so that pairs of words stay pairs.
fn retold(old: &Transcript, take: &Take, pairs: &[(usize, usize)]) -> Option<Transcript> {
    let is_guessed = take.words.words.iter().any(|word| word.timing == Timing::Guessed);
    let speech = take.speech.filter(|_| is_guessed)?;
    let lasted = |word: usize| {
        let pair = pairs.binary_search_by_key(&word, |pair| pair.1).ok()?;
        let word = pairs[pair].0;
        let said = &old.words[word];
        // A pause belongs to the word before it, and words that were not told apart share their time.
        let apart = |other: Option<usize>| {
            let other = other.and_then(|other| old.words.get(other));
            other.is_none_or(|other| other.end <= said.start || other.start >= said.end && other.start > said.start)
        };
        let ends = said.text.ends_with(|sign: char| !sign.is_alphanumeric());
        let is_own = said.timing == Timing::Given && !ends && apart(word.checked_sub(1)) && apart(Some(word + 1));
        is_own.then(|| said.end.since(said.start))
    };
    let retold = take.words.refined_by(speech, &lasted);
    assert_eq!(retold.words.len(), take.words.words.len(), "refining keeps every word");
    Some(retold)
}

#[cfg(test)]
mod tests;
