//! [`Timeline`] + [`Game`] (+ the narration's length) → [`Film`].
//!
//! [`Film::at`] is pure: no I/O, clock, pixels or memory of earlier calls. Must not know: pixels, fonts, codecs.

mod picture;

pub use picture::{
    ArrowPicture, BoardPicture, Body, CaptionPicture, CardPicture, Current, ForcePicture, GhostPicture, Gliding, Head,
    KingMoment, ListMove, MarkPicture, MoveList, Picture, Promoting, ScenePicture, Sliced, Standing, TryLine,
};

use crate::diag::Diagnostic;
use crate::game::Game;
use crate::source::Span;
use crate::timeline::{Layout, Notation, ThemeName, Timeline};
use crate::units::{FrameIndex, FrameRate, Size, Time};
use std::time::Duration;

/// How a film looks: all that painting needs beside the [`Picture`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub struct Look {
    pub size: Size,
    pub theme: ThemeName,
    pub layout: Layout,
    pub notation: Notation,
}

/// A scene on the film's clock; also a chapter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chapter {
    /// The scene's name; a card's kind if it has none.
    pub name: String,
    /// When it begins.
    pub start: Time,
    /// When the next one does, or the film ends.
    pub end: Time,
}

/// What kind of text a [`TextUse`] is; decides where and how large it is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum TextKind {
    Kicker,
    Title,
    Credit,
    Task,
    Caption,
    CardTitle,
    CardLine,
}

/// A text that will be on screen, with the place that gave it, so that it can be checked before anything is painted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextUse {
    /// Where it is set.
    pub kind: TextKind,
    /// The words.
    pub text: String,
    /// Where they are written.
    pub span: Span,
    /// From when to when it is on screen.
    pub shown: (Time, Time),
}

/// A film: what is on screen at every time.
#[derive(Clone, Debug)]
pub struct Film {
    look: Look,
    rate: FrameRate,
    length: Duration,
}

impl Film {
    /// Puts the game on the clock. `narration` is the recording's length, if there is one.
    ///
    /// Reports times that go back, missing times where there is a narration, and cues past the film's end.
    pub fn new(_timeline: &Timeline, _game: &Game, _narration: Option<Duration>) -> (Film, Vec<Diagnostic>) {
        unimplemented!()
    }

    /// How it looks.
    pub fn look(&self) -> Look {
        self.look
    }

    /// Frames per second.
    pub fn rate(&self) -> FrameRate {
        self.rate
    }

    /// How long it is.
    pub fn length(&self) -> Duration {
        self.length
    }

    /// How many frames it has.
    pub fn frames(&self) -> u64 {
        self.rate.frames_in(self.length)
    }

    /// The scenes on the clock.
    pub fn chapters(&self) -> &[Chapter] {
        &[]
    }

    /// When the position with this label is first complete on the board.
    pub fn moment(&self, _label: &str) -> Option<Time> {
        None
    }

    /// Every text that will be on screen.
    pub fn texts(&self) -> &[TextUse] {
        &[]
    }

    /// What is on screen at `time`. Times before 0 show the first picture, times past the end the last.
    pub fn at(&self, _time: Time) -> Picture {
        unimplemented!()
    }

    /// What frame `index` shows: the picture at its start.
    pub fn frame(&self, index: FrameIndex) -> Picture {
        self.at(self.rate.start_of(index))
    }
}
