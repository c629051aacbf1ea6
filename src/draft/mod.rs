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
mod pin;
mod plan;
mod remarks;
mod shown;
mod token;
mod write;

pub use ground::Study;
pub use language::Language;
pub use mention::{Mention, Said};
pub use write::Heading;

use crate::game::Game;
use crate::narration::transcript::Transcript;
use crate::timeline::{FilmSettings, Timeline};
use crate::units::Time;
use context::Speech;
use decode::Story;
use ground::Ground;
use std::ops::Range;
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

/// What announces that the board goes elsewhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Announced {
    /// Its words in the transcript.
    pub words: Range<usize>,
    /// Where the board goes.
    pub to: Elsewhere,
}

/// Where the board goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Elsewhere {
    /// To a position shown before, perhaps the first.
    Back,
    /// To the scene's first position.
    Start,
    /// To another composition.
    Scene,
}

/// Everything that announces a return or another scene, in order.
pub fn announcements(transcript: &Transcript, language: &Language) -> Vec<Announced> {
    let tokens = token::tokens(transcript, language);
    let announced = |(place, turning): (Range<usize>, context::Turning)| Announced {
        words: tokens[place.start].word..tokens[place.end - 1].word + 1,
        to: match turning {
            context::Turning::Scene => Elsewhere::Scene,
            context::Turning::Start | context::Turning::Again => Elsewhere::Start,
            _ => Elsewhere::Back,
        },
    };
    // The end of a line announces nothing by itself.
    let turnings = Speech::of(&tokens, language).turnings.into_iter();
    turnings.filter(|(_, turning)| *turning != context::Turning::Verdict).map(announced).collect()
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
    let heard = Heard::new(transcript, language);
    let mut ground = Ground::new(studies);
    let story = heard.story(&mut ground, &[]);
    let clock = |token: usize| heard.clock(token, wish.end);
    let mut scenes = plan::plan(&mut ground, transcript, &heard.mentions, &story, &clock, &[]);
    shown::add_ghosts(&mut scenes, &ground, (transcript, &heard.mentions), &story, &clock, &|_| false);
    if wish.captions {
        shown::add_captions(&mut scenes, transcript);
    }
    let remarks = heard.remarks(&story, &clock);
    let fens: Vec<String> = studies.iter().map(|study| study.start.fen()).collect();
    Draft::new(write::write(&wish.film, &wish.headings, &fens, &scenes, &remarks), &scenes, &remarks)
}

/// Keeps the cues of a timeline that have no `# ?` behind them, to the byte, and decodes the rest again around them.
///
/// `timeline` and `game` are what `text` says, without a mistake; `lines` is the same timeline resolved without its
/// cues, so that its boards hold the prepared lines alone. `Err` holds the bytes of a cue that does not stand on lines
/// of its own, so that lines cannot come and go around it.
pub fn redraft(
    transcript: &Transcript,
    language: &Language,
    text: &str,
    resolved: (&Timeline, &Game, &Game),
    end: Option<Time>,
) -> Result<Draft, Range<usize>> {
    let (timeline, game, lines) = resolved;
    let heard = Heard::new(transcript, language);
    let corrected = pin::Corrected::new(text, timeline, game);
    if let Some(place) = corrected.unfit() {
        return Err(place);
    }
    let mut ground = Ground::new(&corrected.studies(game, lines));
    let (fixed, pins) = corrected.fixed(&mut ground, game, &|time| heard.token_at(time));
    let story = heard.story(&mut ground, &fixed);
    let clock = |token: usize| heard.clock(token, end);
    let planned: Vec<plan::Pinned> = pins
        .iter()
        .map(|pin| plan::Pinned {
            at: corrected.time(pin),
            until: corrected.until(pin),
            from: pin.from,
            is_start: pin.cue.is_none(),
            label: corrected.label(pin),
        })
        .collect();
    let mut scenes = plan::plan(&mut ground, transcript, &heard.mentions, &story, &clock, &planned);
    let settled =
        |token: usize| fixed.iter().any(|fixed| fixed.sealed.contains(&token)) && !corrected.was_doubtful(clock(token));
    shown::add_ghosts(&mut scenes, &ground, (transcript, &heard.mentions), &story, &clock, &settled);
    let remarks = heard.remarks(&story, &clock);
    Ok(Draft::new(corrected.rewritten(&scenes, &pins, &remarks), &scenes, &remarks))
}

impl Draft {
    fn new(text: String, scenes: &[plan::Scene], remarks: &[Remark]) -> Draft {
        let cues = || scenes.iter().flat_map(|scene| &scene.cues);
        Draft {
            text,
            played: cues().filter(|cue| !cue.play.is_empty()).count(),
            doubtful: cues().filter(|cue| cue.doubt.is_some()).count(),
            missed: remarks.len(),
        }
    }
}

/// A transcript with all that was heard in it.
struct Heard<'a> {
    transcript: &'a Transcript,
    tokens: Vec<token::Token>,
    speech: Speech,
    mentions: Vec<Mention>,
}

impl Heard<'_> {
    fn new<'a>(transcript: &'a Transcript, language: &Language) -> Heard<'a> {
        let tokens = token::tokens(transcript, language);
        let speech = Speech::of(&tokens, language);
        let mentions = hear::mentions(&tokens, &speech);
        Heard { transcript, tokens, speech, mentions }
    }

    fn story(&self, ground: &mut Ground, fixed: &[decode::Fixed]) -> Story {
        let mut story =
            decode::decode(ground, &self.mentions, &self.speech.turnings, fixed, &decode::Pauses::of(&self.tokens));
        listen_around(&mut story, &self.mentions, &self.tokens, &self.speech);
        story
    }

    /// When a token is said, but before the recording's end.
    fn clock(&self, token: usize, end: Option<Time>) -> Time {
        let word = self.tokens.get(token).and_then(|token| self.transcript.words.get(token.word));
        // Hundredths are enough, and a move comes no later than its word.
        let hundredths = |time: Time| Time::from_millis(time.as_micros().max(0) / 10_000 * 10);
        let time = word.map_or(Time::ZERO, |word| hundredths(word.start));
        let last = end.map(|end| Time::from_micros((end.as_micros() - 1000).max(0)));
        last.map_or(time, |last| time.min(last))
    }

    /// The first token that is not said before a time.
    fn token_at(&self, time: Time) -> usize {
        self.tokens.partition_point(|token| self.transcript.words[token.word].start < time)
    }

    fn remarks(&self, story: &Story, clock: &dyn Fn(usize) -> Time) -> Vec<Remark> {
        let missed = story.missed.iter().map(|missed| &self.mentions[*missed]);
        let remark = |mention: &Mention| Remark {
            at: clock(mention.tokens.start),
            words: remarks::quoted(self.transcript, mention),
        };
        missed.map(remark).collect()
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
