//! The story → scenes and cues as a person would write them: returns with their labels, lines named, claims that hold.

use super::decode::{Step, Story};
use super::ground::{Ground, Spot};
use super::kinds;
use super::lines::Lines;
use super::mention::Mention;
use super::remarks::{self, Doubt};
use crate::game::{Position, State};
use crate::narration::transcript::Transcript;
use crate::timeline::{self, Back, LineKind};
use crate::units::{Side, Time};
use std::collections::{HashMap, HashSet};
use std::time::Duration;

/// How long before a move the board goes back to where it is played from, if nothing said when.
const TAKE_BACK: Duration = Duration::from_millis(500);

/// So many plies are not played again only to come back to where they lead: another scene begins there.
const REPLAYS: usize = 3;

/// A scene to be written.
#[derive(Clone, Debug)]
pub(super) struct Scene {
    pub at: Time,
    /// Which study.
    pub study: usize,
    /// The position it begins with, if not the study's own.
    pub start: Option<Position>,
    pub cues: Vec<Cue>,
}

/// A cue to be written.
#[derive(Clone, Debug, Default)]
pub(super) struct Cue {
    pub at: Time,
    pub back: Option<Back>,
    pub play: Vec<String>,
    pub line: Option<LineKind>,
    pub label: Option<String>,
    pub claims: Vec<&'static str>,
    /// SAN, and the side where it is not the one to move.
    pub ghost: Option<(Option<Side>, String)>,
    pub text: Option<String>,
    pub doubt: Option<Doubt>,
    /// What an earlier draft of this cue held besides its moves.
    pub carried: Option<timeline::Cue>,
    /// When the last of its moves begins, if that is later.
    pub until: Time,
    /// What the board shows once the cue is done.
    pub shows: Option<Spot>,
    /// The pin it stands for.
    pub pin: Option<usize>,
}

/// A cue, or a scene's beginning, that stays as it is.
#[derive(Clone, Debug)]
pub(super) struct Pinned {
    pub at: Time,
    /// When the last of its moves begins.
    pub until: Time,
    /// What must be on the board before it.
    pub from: Option<Spot>,
    /// Whether it is a scene's beginning.
    pub is_start: bool,
    pub label: Option<String>,
}

/// Lays the story out. With pins, scenes begin where they say and nowhere else.
pub(super) fn plan(
    ground: &mut Ground,
    transcript: &Transcript,
    mentions: &[Mention],
    story: &Story,
    clock: &dyn Fn(usize) -> Time,
    pins: &[Pinned],
) -> Vec<Scene> {
    let kinds = kinds::kinds(ground, mentions, &story.steps);
    let mut planner = Planner {
        ground,
        kinds,
        transcript,
        mentions,
        clock,
        pins,
        scenes: Vec::new(),
        names: pins.iter().filter_map(|pin| pin.label.clone()).chain(["start".to_owned()]).collect(),
        here: None,
        ended: HashMap::new(),
        lines: Lines::default(),
        in_scene: HashSet::new(),
        in_film: HashSet::new(),
        line: None,
        fresh: true,
    };
    if let Some(&root) = planner.ground.roots.first().filter(|_| pins.is_empty()) {
        planner.open(Time::ZERO, root, true);
    }
    for step in &story.steps {
        planner.step(step);
    }
    planner.scenes
}

struct Planner<'a> {
    ground: &'a mut Ground,
    /// What each ply shown belongs to.
    kinds: HashMap<Spot, LineKind>,
    transcript: &'a Transcript,
    mentions: &'a [Mention],
    /// The time of a token.
    clock: &'a dyn Fn(usize) -> Time,
    pins: &'a [Pinned],
    scenes: Vec<Scene>,
    /// Labels given so far, in the whole film.
    names: HashSet<String>,
    /// What is on the board.
    here: Option<Spot>,
    /// The cue of the running scene that first ended on a spot.
    ended: HashMap<Spot, usize>,
    lines: Lines,
    /// What the running scene has shown, its first position included.
    in_scene: HashSet<Spot>,
    /// What the whole film has shown.
    in_film: HashSet<Spot>,
    /// What the running cues say their moves belong to.
    line: Option<LineKind>,
    /// Whether nothing was played since the scene's start or a return.
    fresh: bool,
}

impl Planner<'_> {
    /// Begins a scene with `start` on the board.
    fn open(&mut self, at: Time, start: Spot, is_first_position: bool) {
        let study = self.ground.study(start);
        let position = (!is_first_position).then(|| self.ground.position(start).clone());
        self.scenes.push(Scene { at, study, start: position, cues: Vec::new() });
        self.here = Some(start);
        self.ended.clear();
        self.lines = Lines::new(start);
        self.in_scene = HashSet::from([start]);
        self.in_film.insert(start);
        self.line = None;
        self.fresh = true;
    }

    fn step(&mut self, step: &Step) {
        if let Some(pin) = step.pin {
            return self.pinned(step, pin);
        }
        let Some(here) = self.here else { return };
        let heard = step.mention.map(|mention| self.mentions[mention].tokens.start);
        let at = step.time.or_else(|| heard.map(self.clock)).unwrap_or(self.latest()).max(self.latest());
        let turned = step.turned.map_or(at, self.clock).min(at).max(self.latest());
        // A move is played from the position before it, even if it lies on the way to what is on the board.
        let from = if step.names { Some(step.to) } else { self.ground.parent(step.to) };
        let Some(fork) = from.and_then(|from| self.ground.fork(here, from)) else {
            if self.pins.is_empty() {
                self.open(turned, self.ground.roots[self.ground.study(step.to)], true);
                self.play(step, at);
            }
            return;
        };
        let path = self.ground.path(step.to);
        let on_the_way: Vec<Spot> =
            path.into_iter().filter(|spot| self.ground.depth(*spot) > self.ground.depth(fork)).collect();
        // The last position on the way that the scene has shown: from there on moves are played.
        let keeps = if step.names { on_the_way.len() } else { on_the_way.len().saturating_sub(1) };
        let target =
            on_the_way[..keeps].iter().rev().find(|spot| self.in_scene.contains(spot) && fork != here).copied();
        // Only what has a label, or may be given one, can be returned to from another branch.
        let reachable = |target: &Spot| self.ended.get(target).is_some_and(|cue| self.takes_label(*cue));
        let target = target.filter(reachable).unwrap_or(fork);
        let is_outside = !self.in_scene.contains(&target);
        let ahead: Vec<Spot> =
            on_the_way.iter().copied().filter(|spot| self.ground.depth(*spot) > self.ground.depth(target)).collect();
        let kinds: Vec<LineKind> = ahead.iter().map(|spot| self.kind(*spot)).collect();
        // What the film last showed of the way: from there on nothing is played again that nobody spoke of.
        let seen = on_the_way[..keeps].iter().rev().find(|spot| self.in_film.contains(spot)).copied();
        let replays = seen.map_or(0, |seen| self.ground.depth(seen).saturating_sub(self.ground.depth(target)));
        let is_long = replays >= REPLAYS && self.pins.is_empty();
        if is_outside || is_long || self.lines.too_deep(target, &ahead, &kinds) {
            // The list has no third level, and a scene no way above its first position.
            if self.pins.is_empty() {
                let first = seen.unwrap_or(fork);
                let is_first = self.ground.parent(first).is_none();
                self.open(turned, first, is_first);
                self.play(step, at);
            }
            return;
        }
        if target == here {
            return self.play(step, at);
        }
        let back = self.back(here, target);
        self.here = Some(target);
        self.line = None;
        self.fresh = true;
        let silent = if step.turned.is_none() { at - TAKE_BACK } else { turned };
        let doubt = if ahead.is_empty() { self.doubt(step, &[]) } else { None };
        let back_at = silent.max(self.latest());
        self.push(Cue { at: back_at, back: Some(back), shows: Some(target), doubt, ..Cue::default() });
        self.play(step, at);
    }

    /// A cue that stays: the board is brought to where it is played from, then it is taken over.
    fn pinned(&mut self, step: &Step, number: usize) {
        let pin = &self.pins[number];
        if pin.is_start {
            return self.open(pin.at, step.to, true);
        }
        let at = pin.at.max(self.latest());
        if let Some(from) = pin.from.filter(|from| self.here != Some(*from)) {
            let way = Step { to: from, pin: None, names: true, time: Some(at), ..step.clone() };
            self.step(&way);
        }
        let fresh: Vec<Spot> = self.ground.path(step.to);
        for spot in fresh {
            let kind = self.kind(spot);
            self.lines.play(spot, self.ground.parent(spot), kind);
            self.in_scene.insert(spot);
            self.in_film.insert(spot);
        }
        self.here = Some(step.to);
        self.line = None;
        self.fresh = true;
        let label = pin.label.clone();
        let scene = self.scenes.last_mut().expect("a scene is open");
        self.ended.entry(step.to).or_insert(scene.cues.len());
        let until = pin.until;
        scene.cues.push(Cue { at, until, label, shows: Some(step.to), pin: Some(number), ..Cue::default() });
    }

    /// Plays from what is on the board to where the step leads.
    fn play(&mut self, step: &Step, at: Time) {
        let Some(here) = self.here else { return };
        let path = self.ground.path(step.to);
        let ahead: Vec<Spot> =
            path.into_iter().filter(|spot| self.ground.depth(*spot) > self.ground.depth(here)).collect();
        if ahead.is_empty() {
            return;
        }
        // One cue plays what belongs to one line.
        let mut runs: Vec<(Option<LineKind>, Vec<Spot>)> = Vec::new();
        for spot in &ahead {
            let line = self.line_to_write(*spot);
            match runs.last_mut() {
                Some((_, run)) if line.is_none() => run.push(*spot),
                _ => runs.push((line, vec![*spot])),
            }
        }
        let last_run = runs.len() - 1;
        for (number, (line, run)) in runs.into_iter().enumerate() {
            let play: Vec<String> = run.iter().map(|spot| self.ground.san(*spot)).collect();
            for spot in &run {
                let kind = self.kind(*spot);
                self.lines.play(*spot, self.ground.parent(*spot), kind);
                self.in_scene.insert(*spot);
                self.in_film.insert(*spot);
            }
            let shows = run.last().copied().or(self.here);
            self.here = shows;
            let is_last = number == last_run;
            let claims = if is_last { self.claims(step) } else { Vec::new() };
            let doubt = if is_last { self.doubt(step, &ahead) } else { None };
            self.push(Cue { at, play, line, claims, doubt, shows, ..Cue::default() });
        }
    }

    /// What a ply's cue must say of its line, for the ply to belong where it does.
    fn line_to_write(&mut self, spot: Spot) -> Option<LineKind> {
        let again = self.in_scene.contains(&spot);
        let kind = if again { LineKind::Replay } else { self.kind(spot) };
        let first = std::mem::take(&mut self.fresh);
        let begins = first && !(self.in_scene.len() == 1 && kind == LineKind::Solution);
        let changes = self.line.is_some_and(|line| line != kind) || self.line.is_none() && kind == LineKind::Try;
        if (begins || changes) && self.line != Some(kind) {
            self.line = Some(kind);
            return Some(kind);
        }
        None
    }

    fn kind(&self, spot: Spot) -> LineKind {
        self.kinds.get(&spot).copied().unwrap_or_default()
    }

    /// How to return from `here` to a position that was shown, giving it a label if it needs one.
    fn back(&mut self, here: Spot, target: Spot) -> Back {
        let is_start = self.lines.start() == Some(target);
        if is_start {
            return Back::Start;
        }
        let plies = self
            .ground
            .fork(here, target)
            .filter(|fork| *fork == target)
            .map(|_| self.ground.depth(here) - self.ground.depth(target));
        let labelled = self.ended.get(&target).copied();
        match (plies, labelled) {
            (Some(plies @ 1), _) | (Some(plies), None) => Back::Plies(plies as u32),
            (None, None) => Back::Start, // a position that was shown was the end of a cue or lies on the way here
            (Some(plies), Some(cue)) if !self.takes_label(cue) => Back::Plies(plies as u32),
            (None, Some(cue)) if !self.takes_label(cue) => Back::Start,
            (_, Some(cue)) => {
                let name = self.label(cue, target);
                Back::Label(name)
            }
        }
    }

    /// Whether a cue of the running scene has a label or may be given one: a pinned one stays as it is.
    fn takes_label(&self, cue: usize) -> bool {
        let cue = self.scenes.last().and_then(|scene| scene.cues.get(cue));
        cue.is_some_and(|cue| cue.pin.is_none() || cue.label.is_some())
    }

    /// The label of the cue that first ended on a spot: the move that led there, with its number.
    fn label(&mut self, cue: usize, spot: Spot) -> String {
        let scene = self.scenes.last_mut().expect("a cue stands in a scene");
        if let Some(label) = &scene.cues[cue].label {
            return label.clone();
        }
        let parent = self.ground.parent(spot);
        let (number, turn) = parent.map_or((1, Side::White), |parent| {
            let position = self.ground.position(parent);
            (position.move_number(), position.turn())
        });
        let dots = if turn == Side::White { "." } else { "..." };
        let plain = format!("{number}{dots}{}", self.ground.san(spot));
        let mut name = plain.clone();
        let mut count = 2;
        while !self.names.insert(name.clone()) {
            name = format!("{plain} ({count})");
            count += 1;
        }
        scene.cues[cue].label = Some(name.clone());
        name
    }

    fn push(&mut self, cue: Cue) {
        let scene = self.scenes.last_mut().expect("a scene is open");
        if let Some(spot) = cue.shows.filter(|_| !cue.play.is_empty()) {
            self.ended.entry(spot).or_insert(scene.cues.len());
        }
        scene.cues.push(cue);
    }

    /// The time of the latest cue or scene.
    fn latest(&self) -> Time {
        self.scenes.last().map_or(Time::ZERO, |scene| scene.cues.last().map_or(scene.at, |cue| cue.at.max(cue.until)))
    }

    /// What was said of the position and holds.
    fn claims(&mut self, step: &Step) -> Vec<&'static str> {
        let Some(mention) = step.mention.map(|mention| &self.mentions[mention]) else { return Vec::new() };
        if step.names {
            return Vec::new();
        }
        let mut claims = Vec::new();
        match self.ground.state(step.to) {
            State::Mate if mention.said.mate || mention.said.check || step.after.mate => claims.push("mate"),
            State::Stalemate if step.after.stalemate => claims.push("stalemate"),
            State::Check if mention.said.check || step.after.check => claims.push("check"),
            _ => {}
        }
        let alone = self.ground.parent(step.to).is_some_and(|parent| self.ground.moves(parent).len() == 1);
        if alone && (mention.said.only || step.after.only) {
            claims.push("only move");
        }
        claims
    }

    /// What there is to doubt about a step, for the author.
    fn doubt(&self, step: &Step, ahead: &[Spot]) -> Option<Doubt> {
        let mention = &self.mentions[step.mention?];
        let unheard: Vec<Spot> = ahead.iter().rev().skip(1).rev().copied().collect();
        remarks::doubt(self.ground, self.transcript, mention, step, &unheard)
    }
}
