//! A film put together, scene by scene.

use super::ring::Ring;
use super::schedule::{self, SceneTimes, schedule};
use super::shot::{Shot, Stage};
use super::{CardPicture, Chapter, Film, Label, Look, Own, TextKind, TextUse, runs, words};
use crate::diag::{Code, Diagnostic};
use crate::game::{self, Game};
use crate::source::{Span, Spanned};
use crate::timeline::{CardKind, CardWords, FilmSettings, FrameShape, Layout, Timeline};
use crate::units::{FrameRate, Size, Time};
use std::time::Duration;

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
        let (name, is_named) = (chapter_name(scene, &timeline.film.words), scene.name.is_some());
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

/// A chapter's name: the scene's own, or what kind of scene it is, in the film's own word where the card shows it.
fn chapter_name(scene: &game::Scene, own: &CardWords) -> String {
    let shown = |own: &Option<Spanned<String>>| {
        let word = own.as_ref().map(|own| own.value.trim()).unwrap_or_default();
        Some(word.to_owned()).filter(|word| !word.is_empty())
    };
    let own = match &scene.body {
        game::Body::Card(card) if card.kind == CardKind::Credits => shown(&own.credits),
        game::Body::Card(card) if card.kind == CardKind::Position => shown(&own.pause),
        _ => None,
    };
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
    scene.name.clone().or(own).unwrap_or_else(|| kind.to_owned())
}
