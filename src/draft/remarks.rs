//! What the author is told beside a cue that may be wrong.

use super::decode::Step;
use super::ground::{Ground, Spot};
use super::mention::Mention;
use crate::narration::transcript::Transcript;

/// Below this a cue is marked as doubtful.
const SURE: f32 = 0.8;
/// The most words of a phrase that are quoted.
const WORDS: usize = 8;

/// Why a cue is doubtful.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Doubt {
    /// From 0 to 1.
    pub confidence: f32,
    /// The words it was heard in.
    pub words: String,
    /// The move taken, then the others that it may be.
    pub moves: Vec<String>,
    /// Moves filled in that nobody was heard to say.
    pub unheard: Vec<String>,
}

/// What there is to doubt about a step; `unheard` are the plies filled in before its own.
pub(super) fn doubt(
    ground: &Ground,
    transcript: &Transcript,
    mention: &Mention,
    step: &Step,
    unheard: &[Spot],
) -> Option<Doubt> {
    if step.confidence >= SURE && unheard.is_empty() {
        return None;
    }
    let chosen = if step.names { String::new() } else { ground.san(step.to) };
    let mut moves: Vec<String> = Vec::new();
    for san in std::iter::once(chosen).chain(step.others.iter().map(|spot| ground.san(*spot))) {
        if !san.is_empty() && !moves.contains(&san) {
            moves.push(san);
        }
    }
    let confidence = if unheard.is_empty() { step.confidence } else { step.confidence.min(0.5) };
    let unheard = unheard.iter().map(|spot| ground.san(*spot)).collect();
    Some(Doubt { confidence, words: quoted(transcript, mention), moves, unheard })
}

/// A mention's words as they were written, without what a comment cannot hold.
pub(super) fn quoted(transcript: &Transcript, mention: &Mention) -> String {
    let words = transcript.words.get(mention.words.clone()).unwrap_or_default();
    let words: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
    let cut = if words.len() > WORDS { &words[..WORDS] } else { &words[..] };
    let clean = |text: String| text.chars().filter(|sign| !sign.is_control() && *sign != '"').collect::<String>();
    let dots = if words.len() > WORDS { " \u{2026}" } else { "" };
    clean(cut.join(" ")).trim_end_matches(|sign: char| !sign.is_alphanumeric()).to_owned() + dots
}

impl Doubt {
    /// The comment: `? 0.55 "king e for": Ke4 | Ke5`.
    pub fn comment(&self) -> String {
        let mut text = format!("? {:.2} \"{}\"", self.confidence.clamp(0.0, 1.0), self.words);
        if !self.moves.is_empty() {
            text.push_str(": ");
            text.push_str(&self.moves.join(" | "));
        }
        if !self.unheard.is_empty() {
            text.push_str("; not heard: ");
            text.push_str(&self.unheard.join(" "));
        }
        text
    }
}
