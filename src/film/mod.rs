//! [`Timeline`] + [`Game`] (+ the narration's length) → [`Film`].
//!
//! [`Film::at`] is pure: no I/O, clock, pixels or memory of earlier calls. Must not know: pixels, fonts, codecs.

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

use crate::diag::{Code, Diagnostic};
use crate::game::{self, Game};
use crate::source::Span;
use crate::timeline::{
    CaptionProfile, CardKind, FilmSettings, FrameShape, Layout, Motion, Notation, OwnColours, ThemeName, Timeline,
};
use crate::units::{FrameIndex, FrameRate, Size, Time};
use ring::Ring;
use schedule::{SceneTimes, schedule};
use shot::{Shot, Stage};
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

/// Frames per second if the timeline does not say.
const RATE: u32 = 30;
/// Lines (or the width of a tall picture) if the timeline does not say.
const HEIGHT: u32 = 1080;

impl Film {
    /// Puts the game on the clock. `narration` is the recording's length, if there is one.
    ///
    /// Reports times that go back, missing times where there is a narration, and cues past the film's end.
    pub fn new(timeline: &Timeline, game: &Game, narration: Option<Duration>) -> (Film, Vec<Diagnostic>) {
        let settings = &timeline.film;
        let rate = settings.fps.as_ref().map(|fps| fps.value).or(FrameRate::new(RATE, 1));
        let rate = rate.expect("thirty frames per second is a rate");
        let (schedule, mut diagnostics) = schedule(timeline, game, narration);
        let mut film = Film {
            look: look(settings),
            captions: settings.captions.as_ref().map(|captions| captions.value),
            rate,
            motion: settings.motion.as_ref().map(|motion| motion.value).unwrap_or_default(),
            length: schedule.length,
            shots: Vec::new(),
            chapters: Vec::new(),
            texts: Vec::new(),
            unshown: Vec::new(),
            labels: Vec::new(),
            causes: Vec::new(),
            steps: schedule.scenes.iter().map(|times| times.steps.clone()).collect(),
            restless: Vec::new(),
        };
        for (index, times) in schedule.scenes.iter().enumerate() {
            film.add(timeline, game, index, times);
        }
        diagnostics.extend(film.shots.iter().filter_map(Shot::stage).flat_map(hurried));
        if film.look.layout == Layout::Panel {
            diagnostics.extend(film.lines_too_deep(game));
        }
        if film.shots.is_empty() {
            film.add_blank(timeline);
        }
        let changes = film.shots.iter().flat_map(Shot::changes).collect();
        film.restless = runs::restless(changes, rate, film.frames());
        (film, diagnostics)
    }

    /// Adds a scene as a shot, a chapter, its texts and its labels.
    fn add(&mut self, timeline: &Timeline, game: &Game, index: usize, times: &SceneTimes) {
        let shown = (times.start, times.end);
        let scene = &game.scenes[index];
        let beneath = self.shots.last().map(|shot| shot.body(times.start));
        self.causes.push((times.start, scene.span));
        if let game::Body::Board(board) = &scene.body {
            self.causes.extend(times.steps.iter().zip(&board.steps).map(|(time, step)| (*time, step.span)));
        }
        let shot = match &scene.body {
            game::Body::Card(card) => {
                let around = words::Around { left: self.shots.iter().rev().find_map(Shot::left_behind) };
                let (pages, texts) = words::card(timeline, game, index, card, around, shown);
                self.texts.extend(texts);
                self.add_card(pages, card, times);
                None
            }
            game::Body::Board(board) => {
                let (head, texts) = words::head(timeline, index, scene, board, shown);
                self.texts.extend(texts);
                let (list_words, texts) = words::of_list(timeline, shown);
                if self.look.layout != Layout::Overlay {
                    self.texts.extend(texts);
                }
                let stage = Stage::new(board, (head, &list_words), times, self.rate, self.motion);
                self.texts.extend(stage.captions().words(times.end).map(|(words, start, end)| TextUse {
                    kind: TextKind::Caption,
                    text: words.text.clone(),
                    span: words.span,
                    shown: (start, end),
                }));
                let cues = timeline.scenes.get(index).map_or(&[][..], |scene| &scene.cues);
                let labelled = cues.iter().filter_map(|cue| Some((&cue.label.as_ref()?.value, cue.span)));
                self.labels.extend(labelled.filter_map(|(name, span)| {
                    let time = stage.moment(span, |node| board.nodes[node.0].label.as_ref() == Some(name))?;
                    Some(Label { scene: scene.name.clone(), name: name.clone(), time })
                }));
                Some(Shot::scene(stage, times, beneath, (self.rate, self.motion)))
            }
        };
        let cues = timeline.scenes.get(index).map(|scene| scene.cues.as_slice()).unwrap_or_default();
        for text in cues.iter().filter_map(|cue| cue.text.as_ref()).filter(|text| !text.value.trim().is_empty()) {
            if !self.texts.iter().any(|shown| shown.span == text.span) {
                let (kind, span) = (TextKind::Caption, text.span);
                self.unshown.push(TextUse { kind, text: text.value.clone(), span, shown });
            }
        }
        self.shots.extend(shot);
        let (name, is_named) = (chapter_name(scene), scene.name.is_some());
        self.chapters.push(Chapter { name, is_named, start: times.start, end: times.end });
    }

    /// Adds a card's pages, each for the same time.
    fn add_card(&mut self, pages: Vec<CardPicture>, card: &game::Card, times: &SceneTimes) {
        let count = pages.len() as u32;
        let length = times.end.since(times.start) / count;
        for (page, picture) in (0..).zip(pages) {
            let start = times.start + length * page;
            let end = if page + 1 == count { times.end } else { start + length };
            let ring = card.ring.as_ref().map(|ring| Ring::new(ring.value, start, end));
            let beneath = self.shots.last().map(|shot| shot.body(start));
            let times = SceneTimes { start, end, steps: Vec::new() };
            self.shots.push(Shot::card(picture, ring, &times, beneath, (self.rate, self.motion)));
        }
    }

    /// Every line that branches off deeper than the move list can show. Shown elsewhere it would seem to branch from
    /// a position it does not belong to.
    fn lines_too_deep(&self, game: &Game) -> Vec<Diagnostic> {
        let mut mistakes = Vec::new();
        let boards = game.scenes.iter().filter_map(|scene| match &scene.body {
            game::Body::Board(board) => Some(board),
            game::Body::Card(_) => None,
        });
        for (stage, board) in self.shots.iter().filter_map(Shot::stage).zip(boards) {
            let plies = stage.lists().too_deep().iter().filter_map(|id| board.nodes[id.0].came.as_ref());
            mistakes.extend(plies.map(|(_, ply)| {
                let message = format!("`{}` leaves a line that itself leaves a try", ply.san);
                Diagnostic::error(Code::Conflict, ply.span, message)
                    .label("the third level down; the move list shows two")
                    .hint("play it in a scene of its own, or as a line of the try itself")
            }));
        }
        mistakes
    }

    /// A film without a scene is its title.
    fn add_blank(&mut self, timeline: &Timeline) {
        let card = game::Card { kind: CardKind::Title, text: None, ring: None, span: Span::default() };
        let scene = game::Scene { name: None, at: None, body: game::Body::Card(card), span: Span::default() };
        let times = SceneTimes { start: Time::ZERO, end: Time::ZERO + self.length, steps: Vec::new() };
        self.add(timeline, &Game { scenes: vec![scene] }, 0, &times);
        self.chapters.clear();
        self.texts.clear();
    }

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

/// Every caption of a scene that is never on screen, because something else comes too soon after it.
fn hurried(stage: &Stage) -> impl Iterator<Item = Diagnostic> + '_ {
    stage.captions().hurried().iter().map(|(words, room)| {
        let message = format!("the caption `{}` is never on screen", words.text.trim());
        Diagnostic::warning(Code::HurriedCaption, words.span, message)
            .label(format!("something else comes {} ms later", room.as_millis()))
            .hint(format!("give it at least {:.1} s", schedule::reading(&words.text) / 1000.0))
    })
}

/// How a film looks, by its settings.
fn look(settings: &FilmSettings) -> Look {
    let even = |n: u32| n.saturating_add(n % 2);
    let height = settings.height.as_ref().map_or(HEIGHT, |height| height.value);
    let long = even((u64::from(height) * 16 / 9).min(u64::from(u32::MAX - 1)) as u32);
    let (width, height) = match settings.frame.as_ref().map(|frame| frame.value).unwrap_or_default() {
        FrameShape::Wide => (long, even(height)),
        FrameShape::Tall => (even(height), long),
        FrameShape::Square => (even(height), even(height)),
        FrameShape::Free { width, height } => (width, height),
    };
    Look {
        size: Size { width, height },
        theme: settings.theme.as_ref().map(|theme| theme.value.base()).unwrap_or_default(),
        layout: settings.layout.as_ref().map(|layout| layout.value).unwrap_or_default(),
        notation: settings.notation.as_ref().map(|notation| notation.value).unwrap_or_default(),
        own: Own {
            colours: settings.theme.as_ref().map(|theme| theme.value.colours()).unwrap_or_default(),
            pieces: None,
            fonts: None,
        },
    }
}

/// A chapter's name: the scene's own, or what kind of scene it is.
fn chapter_name(scene: &game::Scene) -> String {
    let kind = match &scene.body {
        game::Body::Board(board) if board.pace.is_some() => "Slow replay",
        game::Body::Board(_) => "Position",
        game::Body::Card(card) => match card.kind {
            CardKind::Title => "Title",
            CardKind::Chapter => "Chapter",
            CardKind::End => "End",
            CardKind::Credits => "Credits",
            CardKind::Position => "Pause",
        },
    };
    scene.name.clone().unwrap_or_else(|| kind.to_owned())
}
