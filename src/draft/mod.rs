//! A transcript and the positions it is about → a first timeline.
//!
//! Comes in: a [`Transcript`] and the compositions spoken of ([`Study`]), with their prepared lines if there are any.
//! Goes out: a timeline's text, in which every move is legal. Must not know: sound, pixels, files.
//!
//! 1. `token` cuts the words into what is heard: sounds that may be pieces, files, ranks, signs.
//! 2. `hear` finds every stretch that has the form of a move ([`Mention`]), `context` what is said around it.
//! 3. `decode` finds the cheapest story in which every move is legal: what is on the board when.
//! 4. `plan` lays it out in scenes and cues, `shown` adds ghosts and captions, `write` makes the text.

mod context;
mod cost;
mod decode;
mod ground;
mod hear;
mod kinds;
mod language;
mod lines;
mod mention;
mod pattern;
mod plan;
mod remarks;
mod shown;
mod token;
mod write;

pub use ground::Study;
pub use language::Language;
pub use mention::{Mention, Said};
pub use write::Heading;

use crate::narration::transcript::Transcript;
use crate::timeline::FilmSettings;
use crate::units::Time;
use context::Speech;
use decode::Story;
use ground::Ground;
use write::Remark;

/// What a draft is made for, beside the words.
#[derive(Clone, Debug, Default)]
pub struct Wish {
    /// What the file's `[film]` says.
    pub film: FilmSettings,
    /// How each study's scene is headed; as many as there are studies.
    pub headings: Vec<Heading>,
    /// Whether every phrase becomes a caption.
    pub captions: bool,
    /// Nothing may begin at this time or later: the recording is over.
    pub end: Option<Time>,
}

/// Every move that may have been spoken of, in order; forms overlap.
pub fn mentions(transcript: &Transcript, language: &Language) -> Vec<Mention> {
    let tokens = token::tokens(transcript, language);
    let speech = Speech::of(&tokens, language);
    hear::mentions(&tokens, &speech)
}

/// A timeline's text, and what it holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Draft {
    /// The file.
    pub text: String,
    /// Cues that play moves.
    pub played: usize,
    /// Cues with a doubt beside them.
    pub doubtful: usize,
    /// What was plainly spoken as a move and found no place.
    pub missed: usize,
}

/// Drafts a timeline.
pub fn draft(transcript: &Transcript, language: &Language, studies: &[Study], wish: &Wish) -> Draft {
    let tokens = token::tokens(transcript, language);
    let speech = Speech::of(&tokens, language);
    let mentions = hear::mentions(&tokens, &speech);
    let mut ground = Ground::new(studies);
    let mut story = decode::decode(&mut ground, &mentions, &speech.turnings, &[]);
    listen_around(&mut story, &mentions, &tokens, &speech);
    let last = wish.end.map(|end| Time::from_micros((end.as_micros() - 1000).max(0)));
    let clock = |token: usize| {
        let word = tokens.get(token).and_then(|token| transcript.words.get(token.word));
        let time = word.map_or(Time::ZERO, |word| word.start.max(Time::ZERO));
        last.map_or(time, |last| time.min(last))
    };
    let mut scenes = plan::plan(&mut ground, studies, transcript, &mentions, &story, &clock);
    shown::add_ghosts(&mut scenes, &ground, &mentions, &story, &clock);
    if wish.captions {
        shown::add_captions(&mut scenes, transcript);
    }
    let remarks: Vec<Remark> = story
        .missed
        .iter()
        .map(|missed| &mentions[*missed])
        .map(|mention| Remark { at: clock(mention.tokens.start), words: remarks::quoted(transcript, mention) })
        .collect();
    let fens: Vec<String> = studies.iter().map(|study| study.start.fen()).collect();
    let cues = || scenes.iter().flat_map(|scene| &scene.cues);
    Draft {
        text: write::write(&wish.film, &wish.headings, &fens, &scenes, &remarks),
        played: cues().filter(|cue| !cue.play.is_empty()).count(),
        doubtful: cues().filter(|cue| cue.doubt.is_some()).count(),
        missed: remarks.len(),
    }
}

/// What is said behind and before each step, up to the steps around it.
fn listen_around(story: &mut Story, mentions: &[Mention], tokens: &[token::Token], speech: &Speech) {
    /// How far behind a move words still speak of its position.
    const REACH: usize = 14;
    let places: Vec<_> =
        story.steps.iter().map(|step| step.mention.map(|mention| mentions[mention].tokens.clone())).collect();
    let mut before = 0;
    for (number, step) in story.steps.iter_mut().enumerate() {
        let Some(place) = places[number].clone() else { continue };
        let next = places[number + 1..].iter().flatten().next().map_or(tokens.len(), |next| next.start);
        step.after = speech.aftermath(tokens, place.end..next.min(place.end + REACH).max(place.end));
        step.leaning = speech.leaning(&(before.max(place.start.saturating_sub(REACH))..place.start.max(before)));
        before = place.end;
    }
}
