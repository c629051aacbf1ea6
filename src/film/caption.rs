//! The caption of a scene over time.

use super::beat::after;
use super::motion::{CAPTION, CAPTION_BAR, CAPTION_IN, CAPTION_OUT, GLIDE, NO_FLASH};
use super::picture::CaptionPicture;
use super::signs::share;
use crate::game::{Board, Words};
use crate::timeline::Motion;
use crate::units::Time;
use std::sync::Arc;
use std::time::Duration;

/// The captions of a scene.
#[derive(Clone, Debug)]
pub(super) struct Captions {
    /// Those that are shown, in order.
    shown: Vec<Caption>,
    /// Those that are not, because something else comes too soon after them, each with the time it would have had.
    hurried: Vec<(Words, Duration)>,
}

/// One caption, or the silence after one.
#[derive(Clone, Debug)]
struct Caption {
    start: Time,
    /// When it is wholly there.
    settled: Time,
    text: Option<Arc<str>>,
    words: Words,
}

impl Captions {
    pub(super) fn new(board: &Board, times: &[Time], end: Time, motion: Motion) -> Captions {
        let mut captions: Vec<Caption> = Vec::new();
        let mut hurried = Vec::new();
        for (step, &start) in board.steps.iter().zip(times) {
            let Some(words) = &step.text else { continue };
            let text: Option<Arc<str>> = Some(words.text.trim()).filter(|text| !text.is_empty()).map(Arc::from);
            let stands = |captions: &[Caption]| captions.last().and_then(|last| last.text.clone()) == text;
            if stands(&captions) {
                continue;
            }
            // Nobody can read what stands for less than a third of a second; left out, it cannot flash either.
            if let Some(last) = captions.pop_if(|last| start < after(last.start, NO_FLASH))
                && last.text.is_some()
            {
                hurried.push((last.words, start.since(last.start)));
            }
            if !stands(&captions) {
                captions.push(Caption { start, settled: start, text, words: words.clone() });
            }
        }
        let mut next = end;
        for caption in captions.iter_mut().rev() {
            // Words that rise to their line move; in a calm film they are there at once.
            let length = if motion == Motion::Calm { 0.0 } else { CAPTION };
            caption.settled = after(caption.start, length).min(next);
            next = caption.start;
        }
        Captions { shown: captions, hurried }
    }

    /// The caption at `time`.
    pub(super) fn at(&self, time: Time) -> CaptionPicture {
        let now = self.shown.partition_point(|caption| caption.start <= time);
        let Some(caption) = now.checked_sub(1).map(|index| &self.shown[index]) else {
            return CaptionPicture::default();
        };
        let text = caption.text.clone();
        if time >= caption.settled {
            return CaptionPicture { text, ..CaptionPicture::default() };
        }
        let ms = share(time, caption.start, caption.settled) * CAPTION;
        let before = now.checked_sub(2).and_then(|index| self.shown[index].text.clone());
        let bar = GLIDE.at(CAPTION_BAR.through(ms)) as f32;
        CaptionPicture {
            text,
            enter: GLIDE.at(CAPTION_IN.through(ms)) as f32,
            // Words that are gone still tell from where the bar or the plate grows.
            leaving: before
                .map(|words| (words, (1.0 - CAPTION_OUT.through(ms)) as f32))
                .filter(|(_, left)| *left > 0.0 || bar < 1.0),
            bar,
        }
    }

    /// The words of every caption, with the time for which they are on screen.
    pub(super) fn words(&self, end: Time) -> impl Iterator<Item = (&Words, Time, Time)> + '_ {
        let ends = self.shown.iter().skip(1).map(|caption| caption.start).chain([end]);
        let all = self.shown.iter().zip(ends).filter(|(caption, _)| caption.text.is_some());
        all.map(|(caption, end)| (&caption.words, caption.start, end))
    }

    /// Every caption that is not shown for want of time, and how long it would have been on screen.
    pub(super) fn hurried(&self) -> &[(Words, Duration)] {
        &self.hurried
    }

    /// The stretches in which something changes.
    pub(super) fn changes(&self) -> impl Iterator<Item = (Time, Time)> + '_ {
        self.shown.iter().map(|caption| (caption.start, caption.settled))
    }
}
