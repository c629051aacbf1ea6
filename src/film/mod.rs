//! [`Timeline`](crate::timeline::Timeline) + [`Game`](crate::game::Game) (+ the narration's length) → [`Film`].
//!
//! [`Film::at`] is pure: no I/O, clock, pixels or memory of earlier calls. Must not know: pixels, fonts, codecs.

mod assembly;
mod beat;
mod calm;
mod caption;
mod digest;
mod glide;
mod king;
mod line;
mod lines;
mod list;
mod motion;
mod path;
mod picture;
mod reading;
mod ring;
mod round;
mod runs;
mod schedule;
mod shot;
mod signs;
mod takeback;
mod walk;
mod words;

#[cfg(test)]
mod tests;

pub use picture::{
    ArrowPicture, BoardPicture, Body, CaptionPicture, CardPicture, Current, ForcePicture, GhostPicture, Gliding, Head,
    KingMoment, ListMove, MarkPicture, MoveList, Picture, Promoting, RingPicture, ScenePicture, Sliced, Standing,
    TryLine,
};

pub use line::Line;
pub use path::knight_corner;
pub use reading::{ANYBODY, Gap, PROFILES, Profile, Room, Speed, characters};
pub use runs::Run;

use crate::source::Span;
use crate::timeline::{CaptionProfile, Layout, Motion, Notation, OwnColours, ThemeName};
use crate::units::{FrameIndex, FrameRate, Size, Time};
use shot::Shot;
use std::ops::Range;
use std::time::Duration;

/// How a film looks: all that painting needs beside the [`Picture`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub struct Look {
    pub size: Size,
    pub theme: ThemeName,
    pub layout: Layout,
    pub notation: Notation,
    pub own: Own,
}

/// What a film brings of its own to its look; nothing by default.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Own {
    /// Colours that stand in for the theme's.
    pub colours: OwnColours,
    /// The digest of its own pieces, under which painting knows them.
    pub pieces: Option<u128>,
    /// The digest of its own fonts, under which painting knows them.
    pub fonts: Option<u128>,
}

/// A scene on the film's clock; also a chapter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chapter {
    /// The scene's name; what kind of scene it is if it has none.
    pub name: String,
    /// Whether the name is the scene's own.
    pub is_named: bool,
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
    ListWord,
    FoldLine,
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
    captions: Option<CaptionProfile>,
    rate: FrameRate,
    motion: Motion,
    length: Duration,
    /// In order of their start; never empty.
    shots: Vec<Shot>,
    chapters: Vec<Chapter>,
    texts: Vec<TextUse>,
    unshown: Vec<TextUse>,
    labels: Vec<Label>,
    /// What begins when: scenes and cues, in order of time.
    causes: Vec<(Time, Span)>,
    /// When each step of each scene begins.
    steps: Vec<Vec<Time>>,
    /// The frames that may differ from the one before.
    restless: Vec<Range<u64>>,
}

/// A labelled position and when it is first complete.
#[derive(Clone, Debug)]
struct Label {
    scene: Option<String>,
    name: String,
    time: Time,
}

impl Film {
    /// How it looks.
    pub fn look(&self) -> Look {
        self.look
    }

    /// Whose limits for reading captions hold.
    pub fn captions(&self) -> Option<CaptionProfile> {
        self.captions
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
        &self.chapters
    }

    /// The scene of this name: the one that the timeline calls so, or else the first that goes by it for want of its
    /// own.
    pub fn chapter(&self, name: &str) -> Option<&Chapter> {
        let of_name = || self.chapters.iter().filter(|chapter| chapter.name == name);
        of_name().find(|chapter| chapter.is_named).or_else(|| of_name().next())
    }

    /// When each step of a scene begins, in the game's order; none for a card, or where there is no such scene.
    pub fn step_times(&self, scene: usize) -> &[Time] {
        self.steps.get(scene).map_or(&[], Vec::as_slice)
    }

    /// When the position with this label is first complete on the board, marks, arrows and ghost included.
    ///
    /// `The first position/crossroads` means the label in the scene of that name; a bare label means its first
    /// occurrence in the film.
    pub fn moment(&self, label: &str) -> Option<Time> {
        let named = |at: &&Label| {
            at.name == label
                || at.scene.as_ref().is_some_and(|scene| {
                    label.strip_prefix(scene.as_str()).and_then(|rest| rest.strip_prefix('/')) == Some(&at.name)
                })
        };
        self.labels.iter().find(named).map(|at| at.time)
    }

    /// The labels, in the order in which they come.
    pub fn label_names(&self) -> impl Iterator<Item = &str> {
        self.labels.iter().map(|label| label.name.as_str())
    }

    /// The place of the scene or cue that began last at `time`.
    pub fn cause(&self, time: Time) -> Span {
        let begun = self.causes.iter().filter(|(start, _)| *start <= time);
        begun.max_by_key(|(start, _)| *start).map(|(_, span)| *span).unwrap_or_default()
    }

    /// Every text that will be on screen.
    pub fn texts(&self) -> &[TextUse] {
        &self.texts
    }

    /// Captions that no caption on screen stems from: those behind a move that cannot be played, those that have no time,
    /// and those that say again what stands there already.
    pub fn unshown(&self) -> &[TextUse] {
        &self.unshown
    }

    /// Gives the film pieces and fonts of its own, by the digests under which painting knows them.
    pub fn wear(&mut self, pieces: Option<u128>, fonts: Option<u128>) {
        (self.look.own.pieces, self.look.own.fonts) = (pieces, fonts);
    }

    /// What is on screen at `time`. Times before 0 show the first picture, times past the end the last.
    pub fn at(&self, time: Time) -> Picture {
        let time = time.clamp(Time::ZERO, self.rate.start_of(FrameIndex(self.frames() - 1)));
        self.shot_at(time).at(time)
    }

    /// The scene on screen at `time`, with what is under way there at rest; `None` where a card is on screen.
    pub fn at_rest(&self, time: Time) -> Option<ScenePicture> {
        self.shot_at(time).stage().map(|stage| stage.at_rest(time.max(Time::ZERO)))
    }

    fn shot_at(&self, time: Time) -> &Shot {
        let next = self.shots.partition_point(|shot| shot.start <= time);
        &self.shots[next.saturating_sub(1)]
    }

    /// What frame `index` shows: the picture at its start.
    pub fn frame(&self, index: FrameIndex) -> Picture {
        self.at(self.rate.start_of(index))
    }
}
