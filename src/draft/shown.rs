//! What is added to the cues of a plan: moves that are only spoken of, as ghosts, and the words as captions.

use super::decode::Story;
use super::ground::{Ground, Spot};
use super::mention::{Mention, Said};
use super::plan::{Cue, Scene};
use super::remarks::{self, Doubt};
use crate::game::Position;
use crate::narration::transcript::{Phrase, Transcript};
use crate::units::{Side, Time};
use std::collections::HashSet;

/// Between two ghosts, in milliseconds: more often they only flicker.
const APART: f32 = 1500.0;
/// The most characters of a caption: two lines of a panel.
const CAPTION: usize = 84;

/// Shows what is threatened or planned, where it is one legal move, but nothing at tokens that are `settled`. A ghost in
/// a position that is doubtful is doubtful itself.
pub(super) fn add_ghosts(
    scenes: &mut [Scene],
    ground: &Ground,
    (transcript, mentions): (&Transcript, &[Mention]),
    story: &Story,
    clock: &dyn Fn(usize) -> Time,
    settled: &dyn Fn(usize) -> bool,
) {
    let played: HashSet<usize> = story
        .steps
        .iter()
        .filter_map(|step| step.mention)
        .flat_map(|mention| mentions[mention].tokens.clone())
        .collect();
    let mut last = None;
    for mention in mentions {
        let context = &mention.context;
        let wished = context.threat || context.unplayed;
        if !wished
            || context.never
            || context.place
            || !mention.said.is_full()
            || mention.tokens.clone().any(|token| played.contains(&token))
            || settled(mention.tokens.start)
        {
            continue;
        }
        let at = clock(mention.tokens.start);
        if last.is_some_and(|last| at.millis_after(last) < APART) {
            continue;
        }
        let Some((scene, index, spot)) = place(scenes, ground, at) else { continue };
        let Some(ghost) = ghost(ground, spot, &mention.said) else { continue };
        last = Some(at);
        let mover = scene.cues[..index].iter().rev().find(|cue| cue.pin.is_some() || !cue.play.is_empty());
        let doubt = mover.and_then(|cue| cue.doubt.as_ref()).map(|doubt| Doubt {
            confidence: doubt.confidence,
            words: remarks::quoted(transcript, mention),
            moves: vec![ghost.1.clone()],
            unheard: Vec::new(),
        });
        match scene.cues.get_mut(index.wrapping_sub(1)).filter(|cue| cue.at == at && cue.pin.is_none()) {
            Some(cue) => cue.ghost = Some(ghost),
            None => scene.cues.insert(index, Cue { at, ghost: Some(ghost), doubt, ..Cue::default() }),
        }
    }
}

/// The scene at a time, where in its cues that is, and what is on the board.
fn place<'a>(scenes: &'a mut [Scene], ground: &Ground, at: Time) -> Option<(&'a mut Scene, usize, Spot)> {
    let number = scenes.iter().rposition(|scene| scene.at <= at)?;
    let scene = &mut scenes[number];
    let index = scene.cues.partition_point(|cue| cue.at <= at);
    let shows = scene.cues[..index].iter().rev().find_map(|cue| cue.shows);
    let root = ground.roots[scene.study];
    // A scene that begins further on shows nothing of its own before its first cue.
    let spot = shows.or((scene.start.is_none()).then_some(root))?;
    Some((scene, index, spot))
}

/// The one move that is meant, of the side to move or, after a pass, of the other.
fn ghost(ground: &Ground, spot: Spot, said: &Said) -> Option<(Option<Side>, String)> {
    let position = ground.position(spot);
    let here = only(position, said);
    let passed = position.passed();
    let there = passed.as_ref().and_then(|passed| Some((Some(passed.turn()), only(passed, said)?)));
    match (here, there, said.side) {
        (Some(san), _, Some(side)) if side == position.turn() => Some((None, san)),
        (_, Some(other), Some(side)) if side != position.turn() => Some(other),
        (Some(san), None, None) => Some((None, san)),
        (None, Some(other), None) => Some(other),
        _ => None,
    }
}

/// The SAN of the only legal move that fits well.
fn only(position: &Position, said: &Said) -> Option<String> {
    let fitting: Vec<_> = position
        .legal_moves()
        .into_iter()
        .filter(|legal| said.against(legal, position.turn(), None).is_some_and(|cost| cost < 1.5))
        .collect();
    match fitting.as_slice() {
        [one] => Some(position.san(one)),
        _ => None,
    }
}

/// Gives every phrase as a caption, long ones in parts.
pub(super) fn add_captions(scenes: &mut [Scene], transcript: &Transcript) {
    for phrase in &transcript.phrases {
        for (at, text) in captions(transcript, phrase) {
            let Some(number) = scenes.iter().rposition(|scene| scene.at <= at) else { continue };
            let scene = &mut scenes[number];
            let index = scene.cues.partition_point(|cue| cue.at <= at);
            match scene.cues.get_mut(index.wrapping_sub(1)).filter(|cue| cue.at == at && cue.pin.is_none()) {
                Some(cue) => cue.text = Some(text),
                None => scene.cues.insert(index, Cue { at, text: Some(text), ..Cue::default() }),
            }
        }
    }
}

/// A phrase's words in parts of at most [`CAPTION`] characters, as even as words allow, each with its time.
fn captions(transcript: &Transcript, phrase: &Phrase) -> Vec<(Time, String)> {
    let words: Vec<(Time, String)> = transcript
        .words_of(phrase)
        .iter()
        .map(|word| (word.start, printable(&word.text)))
        .filter(|(_, text)| !text.is_empty())
        .collect();
    let length: usize = words.iter().map(|(_, text)| text.chars().count() + 1).sum();
    let parts = length.div_ceil(CAPTION + 1).max(1);
    let share = length.div_ceil(parts);
    let mut out: Vec<(Time, String)> = Vec::new();
    for (at, text) in words {
        let text: String = text.chars().take(CAPTION / 2).collect();
        match out.last_mut() {
            Some((_, line))
                if line.chars().count() < share && line.chars().count() + 1 + text.chars().count() <= CAPTION =>
            {
                line.push(' ');
                line.push_str(&text);
            }
            _ => out.push((at, text)),
        }
    }
    out
}

/// A word without signs that no bundled font draws.
fn printable(text: &str) -> String {
    text.chars()
        .filter(|sign| {
            matches!(u32::from(*sign), 0x21..=0x7e | 0xa1..=0xac | 0xae..=0x17f | 0x391..=0x3a1 | 0x3a3..=0x3a9 | 0x3b1..=0x3c9
                | 0x410..=0x44f | 0x2013 | 0x2014 | 0x2018..=0x201a | 0x201c..=0x201e | 0x2026)
        })
        .collect()
}
