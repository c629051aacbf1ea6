//! Every scene and every step gets its time on the film's clock.
//!
//! With a narration the voice is the clock and every cue says when it happens; without one, what has no time follows
//! what was before, after its motion and a rest.

mod doubts;

use super::beat::{Natural, after};
use super::motion::{
    BOARD_IN, CAPTION_CHARACTERS_A_SECOND, CAPTION_LEAST, CAPTION_WORD, CARD_IN, HOLD_CARD, HOLD_KEY, HOLD_MOVE,
    NO_FLASH, REST,
};
use super::words;
use crate::diag::Diagnostic;
use crate::game::{Action, Board, Body, Card, Game, Scene, Step, When};
use crate::source::Span;
use crate::timeline::{At, CardKind, Motion, Timeline};
use crate::units::Time;
use doubts::{goes_back, no_time, out_of_pace, past_the_end, ring_too_long, too_short};
use std::time::Duration;

/// The film on the clock.
#[derive(Clone, Debug)]
pub(super) struct Schedule {
    /// As many as the game has.
    pub(super) scenes: Vec<SceneTimes>,
    pub(super) length: Duration,
}

/// A scene on the clock.
#[derive(Clone, Debug)]
pub(super) struct SceneTimes {
    pub(super) start: Time,
    pub(super) end: Time,
    /// As many as the scene has steps.
    pub(super) steps: Vec<Time>,
}

/// Puts all on the clock.
pub(super) fn schedule(timeline: &Timeline, game: &Game, narration: Option<Duration>) -> (Schedule, Vec<Diagnostic>) {
    let mut clock = Clock::new(timeline, game, narration);
    let mut scenes: Vec<SceneTimes> = Vec::with_capacity(game.scenes.len());
    for (index, scene) in game.scenes.iter().enumerate() {
        let given = clock.scene(index, scene);
        // Before the first scene there is nothing to show: it is on screen from the start.
        let start = if index == 0 { Time::ZERO } else { given };
        let steps = clock.steps(index, scene);
        scenes.push(SceneTimes { start, end: start, steps });
    }
    let mut end = clock.ends.unwrap_or(clock.free);
    let film_end = end;
    let length = end.since(Time::ZERO);
    let fixed = clock.ends.is_some();
    let mut diagnostics = clock.diagnostics;
    if fixed {
        past_the_end(timeline, game, &scenes, end, &mut diagnostics);
    }
    for (index, scene) in scenes.iter_mut().enumerate().rev() {
        scene.end = end.max(scene.start);
        end = scene.start;
        let length = scene.end.since(scene.start).as_secs_f64() * 1000.0;
        if length < NO_FLASH && index > 0 && scene.start < film_end {
            diagnostics.push(too_short(&game.scenes[index], length));
        }
        diagnostics.extend(ring_too_long(&game.scenes[index], length));
    }
    (Schedule { scenes, length }, diagnostics)
}

/// Where the film has got to while times are given.
struct Clock<'a> {
    timeline: &'a Timeline,
    game: &'a Game,
    narrated: bool,
    /// Where the film ends, if that does not depend on its cues.
    ends: Option<Time>,
    rest: f64,
    motion: Motion,
    /// The latest time given, and what was given it.
    latest: Time,
    latest_span: Option<Span>,
    /// The latest time that can be told from what is written alone: those are held against each other where the
    /// timeline is read.
    read: Time,
    /// When the latest cue, or scene, began.
    cue: Time,
    /// Whether that can be told from what is written alone.
    cue_read: bool,
    /// Whether a time is missing above that was reported: what follows from it is not.
    lost: bool,
    /// When what has no time may follow.
    free: Time,
    diagnostics: Vec<Diagnostic>,
}

impl Clock<'_> {
    fn new<'a>(timeline: &'a Timeline, game: &'a Game, narration: Option<Duration>) -> Clock<'a> {
        let ends = timeline.film.ends.as_ref().map(|ends| ends.value.since(Time::ZERO));
        Clock {
            timeline,
            game,
            narrated: narration.is_some(),
            ends: ends.or(narration).map(|length| Time::ZERO + length),
            rest: timeline.film.rest.as_ref().map_or(REST, |rest| millis(rest.value)),
            motion: timeline.film.motion.as_ref().map(|motion| motion.value).unwrap_or_default(),
            latest: Time::ZERO,
            latest_span: None,
            read: Time::ZERO,
            cue: Time::ZERO,
            cue_read: true,
            lost: false,
            free: Time::ZERO,
            diagnostics: Vec::new(),
        }
    }

    /// Gives a scene its start.
    fn scene(&mut self, index: usize, scene: &Scene) -> Time {
        let span = self.timeline.scenes.get(index).and_then(|scene| scene.at.as_ref()).map_or(scene.span, |at| at.span);
        let (time, read) = match (scene.at, first_cue(scene)) {
            (Some(At::Clock(time)), _) => (time, true),
            (Some(At::After(wait)), _) => (self.cue + wait, self.cue_read),
            // A scene without a time is there at the latest when its first cue speaks of it.
            (None, Some(cue)) => (self.free.min(cue).max(self.latest), false),
            (None, None) => {
                if self.narrated && index > 0 {
                    self.diagnostics.push(no_time(scene.span, "scene"));
                    self.lost = true;
                }
                (self.free, false)
            }
        };
        let time = self.give(time, read, span);
        (self.cue, self.cue_read) = (time, read);
        self.free = after(
            time,
            match &scene.body {
                Body::Card(card) => card_length(card, self.game),
                Body::Board(board) if board.steps.is_empty() => HOLD_CARD,
                Body::Board(_) => BOARD_IN + self.rest,
            },
        );
        time
    }

    /// Gives the steps of a scene their times.
    fn steps(&mut self, index: usize, scene: &Scene) -> Vec<Time> {
        let Body::Board(board) = &scene.body else { return Vec::new() };
        let mut times: Vec<Time> = Vec::with_capacity(board.steps.len());
        let mut share = Share::WHOLE;
        // Moves that no cue plays can have no times: those of a replay, and of a PGN by itself.
        let is_by_itself =
            board.pace.is_some() || self.timeline.scenes.get(index).is_some_and(|scene| scene.cues.is_empty());
        for (number, step) in board.steps.iter().enumerate() {
            let begins_cue = number == 0 || board.steps[number - 1].span != step.span;
            let moves = if begins_cue { of_one_cue(&board.steps[number..]) } else { &[] };
            if number == 0 && step.when == When::Follow {
                self.shorten_lead(index, board, moves);
            }
            let span = self.written_at(index, step);
            let (time, read) = match step.when {
                When::At(At::Clock(time)) => (time, true),
                When::At(At::After(wait)) => (self.cue + wait, self.cue_read),
                When::Every(wait) => (times.last().copied().unwrap_or(self.cue) + wait, self.cue_read),
                When::Follow => {
                    if self.narrated && begins_cue && !is_by_itself {
                        self.diagnostics.push(no_time(step.span, "cue"));
                        self.lost = true;
                    }
                    (self.free, false)
                }
            };
            let time = self.give(time, read, span);
            if begins_cue {
                (self.cue, self.cue_read) = (time, read);
                let until = self.fixed_after(index, board, number + moves.len());
                share = until.map_or(Share::WHOLE, |until| {
                    self.share_of_room(board, moves, Length::default(), until.since(time))
                });
            }
            let is_last = board.steps.get(number + 1).is_none_or(|next| next.span != step.span);
            let share = if is_last { Share::WHOLE } else { share };
            self.free = after(time, share.of(self.length(board, step)));
            times.push(time);
        }
        times
    }

    /// Where a scene's first moves follow its beginning, the look at the board before them gives way as their rests
    /// do. A replay that cannot have its pace all the same is doubted.
    fn shorten_lead(&mut self, index: usize, board: &Board, moves: &[Step]) {
        let Some(When::At(At::Clock(until))) = self.told_after(index, board, moves.len()) else { return };
        let (lead, room) = (Length { motion: BOARD_IN, rest: self.rest }, until.since(self.cue));
        let share = self.share_of_room(board, moves, lead, room);
        self.free = after(self.cue, share.of(lead));
        if board.pace.is_some() && share.motion < 1.0 {
            let motion = moves.iter().map(|step| self.length(board, step).motion).sum::<f64>();
            let scene = self.timeline.scenes.get(index);
            self.diagnostics.extend(scene.map(|scene| out_of_pace(scene, millis(room), lead.motion + motion)));
        }
    }

    /// The next time that does not depend on the cue that now begins: where step `number` or what comes after the
    /// scene is told to be.
    fn fixed_after(&self, index: usize, board: &Board, number: usize) -> Option<Time> {
        match self.told_after(index, board, number)? {
            When::At(At::Clock(time)) => Some(time),
            When::At(At::After(wait)) => Some(self.cue + wait),
            When::Every(_) | When::Follow => None,
        }
    }

    /// What is said of when step `number` happens, or what comes after the scene.
    fn told_after(&self, index: usize, board: &Board, number: usize) -> Option<When> {
        match (board.steps.get(number), self.game.scenes.get(index + 1)) {
            (Some(step), _) => Some(step.when),
            // A scene without a time is there at the latest when its first cue speaks of it.
            (None, Some(next)) => next.at.or(first_cue(next).map(At::Clock)).map(When::At),
            (None, None) => self.ends.map(|end| When::At(At::Clock(end))),
        }
    }

    /// How much of their usual time the untimed moves of one cue take, and the `lead` before them, so that all fit before
    /// what comes next: they share the room, and rests give way before motion does.
    fn share_of_room(&self, board: &Board, moves: &[Step], lead: Length, room: Duration) -> Share {
        let (mut fixed, mut flexible) = (0.0, lead);
        for (number, step) in moves.iter().enumerate() {
            if let Some(When::Every(wait)) = moves.get(number + 1).map(|next| next.when) {
                fixed += millis(wait);
            } else {
                let length = self.length(board, step);
                flexible.motion += length.motion;
                flexible.rest += length.rest;
            }
        }
        let share = |room: f64, of: f64| if of > 0.0 { (room / of).clamp(0.0, 1.0) } else { 1.0 };
        let room = millis(room) - fixed;
        Share { motion: share(room, flexible.motion), rest: share(room - flexible.motion, flexible.rest) }
    }

    fn length(&self, board: &Board, step: &Step) -> Length {
        Length::of(board, step, self.rest, self.motion)
    }

    /// Takes a time, unless it goes back. `read`: it can be told from what is written alone.
    fn give(&mut self, time: Time, read: bool, span: Span) -> Time {
        let reported_there = read && time < self.read;
        if time < self.latest && !reported_there && !self.lost {
            self.diagnostics.push(goes_back(time, span, self.latest, self.latest_span));
        }
        if read {
            self.read = self.read.max(time);
            self.lost = false;
        }
        if time >= self.latest {
            self.latest = time;
            self.latest_span = Some(span);
        }
        self.latest
    }

    fn written_at(&self, index: usize, step: &Step) -> Span {
        cue_at(self.timeline, index, step).unwrap_or(step.span)
    }
}

/// The steps from the first on that come of the same cue.
fn of_one_cue(steps: &[Step]) -> &[Step] {
    let end = steps.iter().position(|other| other.span != steps[0].span);
    &steps[..end.unwrap_or(steps.len())]
}

/// When a scene's first cue is, if the clock says so.
fn first_cue(scene: &Scene) -> Option<Time> {
    let Body::Board(board) = &scene.body else { return None };
    match board.steps.first()?.when {
        When::At(At::Clock(time)) => Some(time),
        _ => None,
    }
}

/// Where the time of a step's cue is written.
fn cue_at(timeline: &Timeline, scene: usize, step: &Step) -> Option<Span> {
    let cue = timeline.scenes.get(scene)?.cues.iter().find(|cue| cue.span == step.span)?;
    Some(cue.at.as_ref()?.span)
}

/// How long after the beginning of a step the next may follow, in milliseconds.
#[derive(Clone, Copy, Debug, Default)]
struct Length {
    /// Its motion.
    motion: f64,
    /// A rest, and time to see what has been played and to read what is written.
    rest: f64,
}

impl Length {
    fn of(board: &Board, step: &Step, rest: f64, motion: Motion) -> Length {
        let rest = step.rest.map_or(rest, millis);
        let hold = match step.action {
            Action::Play if matches!(board.sign_at(step), "!" | "!!") => HOLD_KEY,
            Action::Play => HOLD_MOVE,
            _ => 0.0,
        };
        let read = step.text.as_ref().map_or(0.0, |words| reading(&words.text));
        let motion = Natural::of(board, step, motion).whole;
        Length { motion, rest: rest.max(hold).max(read - motion) }
    }
}

/// How much of each there is room for, 0 to 1.
#[derive(Clone, Copy, Debug)]
struct Share {
    motion: f64,
    rest: f64,
}

impl Share {
    const WHOLE: Share = Share { motion: 1.0, rest: 1.0 };

    fn of(self, length: Length) -> f64 {
        length.motion * self.motion + length.rest * self.rest
    }
}

/// How long a caption is to be read, in milliseconds.
pub(super) fn reading(text: &str) -> f64 {
    let characters = text.trim().chars().count() as f64;
    if characters == 0.0 {
        return 0.0;
    }
    let words = text.split_whitespace().count() as f64;
    CAPTION_LEAST.max(characters * 1000.0 / CAPTION_CHARACTERS_A_SECOND).max(words * CAPTION_WORD)
}

fn millis(duration: Duration) -> f64 {
    duration.as_secs_f64() * 1000.0
}

/// How long a card stands where nothing says when it goes, in milliseconds.
fn card_length(card: &Card, game: &Game) -> f64 {
    match (card.kind, &card.ring) {
        (CardKind::Position, Some(ring)) => CARD_IN + millis(ring.value),
        (CardKind::Credits, _) => HOLD_CARD * words::credit_pages(card, game) as f64,
        _ => HOLD_CARD,
    }
}
