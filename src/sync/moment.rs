//! The times that a timeline's text names, with what happens at each.

use crate::draft::Elsewhere;
use crate::game::{Action, Body, Game, Ghost, Ply};
use crate::source::{Source, Span, Spanned};
use crate::timeline::{At, Back, Cue, Scene, Timeline};
use crate::units::Time;
use std::collections::HashMap;
use std::time::Duration;

/// A point of the clock in the text.
#[derive(Clone, Debug)]
pub(super) struct Moment {
    /// Where it is written, without quotes.
    pub(super) span: Span,
    pub(super) time: Time,
    pub(super) kind: Kind,
    /// The plies played from here on, one after the other.
    pub(super) plies: Vec<Ply>,
    /// From one ply to the next, where the cue says it, and where that is written.
    pub(super) every: Option<(Duration, Span)>,
    /// How soon after this the next cue begins that is written relative to it: all plies must have begun by then.
    pub(super) next: Option<Duration>,
    /// How long what is written relative to this goes on, its own plies with it: no other time may come before that.
    pub(super) room: Duration,
    /// The caption that begins here.
    pub(super) caption: String,
    /// A move that is shown and not played.
    pub(super) ghost: Option<Ghost>,
    /// Where the board goes, if it plays nothing on its way.
    pub(super) goes: Option<Elsewhere>,
    pub(super) what: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Scene,
    Cue,
    /// A thumbnail's moment, which is a look at the film and not part of its order.
    Aside,
    End,
}

impl Moment {
    /// The clock at ply `number`, as far as the text tells.
    pub(super) fn time_of(&self, number: usize) -> Time {
        /// A motion and its rest, where the text leaves the pace to the film.
        const PACE: Duration = Duration::from_millis(1600);
        let pace = self.every.map_or(PACE, |(every, _)| every);
        self.time + pace * u32::try_from(number).unwrap_or(0)
    }
}

/// All times of the clock, in the order of the text. Those relative to the cue before, and cues without a time, need no
/// change: they go along.
pub(super) fn moments(source: &Source, timeline: &Timeline, game: &Game) -> Vec<Moment> {
    let (plies, ghosts) = (plies(game), ghosts(game));
    let mut moments: Vec<Moment> = Vec::new();
    // How far what is written relative to the last moment has come; a scene may be, and its cues after it.
    let mut after = Duration::ZERO;
    for scene in &timeline.scenes {
        if let Some(moment) = of_scene(scene) {
            moments.push(moment);
            after = Duration::ZERO;
        } else {
            follow(moments.last_mut(), scene.at.as_ref(), &mut after, Duration::ZERO);
        }
        for cue in &scene.cues {
            if let Some(moment) = of_cue(source, cue, &plies, &ghosts) {
                moments.push(moment);
                after = Duration::ZERO;
            } else {
                follow(moments.last_mut(), cue.at.as_ref(), &mut after, span_of_plies(cue));
            }
        }
    }
    let aside = |at: &Spanned<Time>, kind, what: &str| Moment {
        span: at.span,
        time: at.value,
        kind,
        plies: Vec::new(),
        every: None,
        next: None,
        room: Duration::ZERO,
        caption: String::new(),
        ghost: None,
        goes: None,
        what: what.to_owned(),
    };
    moments.extend(
        timeline.thumbnails.iter().filter_map(|thumb| Some(aside(thumb.at.as_ref()?, Kind::Aside, "thumbnail"))),
    );
    moments.extend(timeline.film.ends.iter().map(|ends| aside(ends, Kind::End, "the end")));
    moments.sort_by_key(|moment| moment.span.start);
    moments
}

/// Gives the last moment room for what is written relative to it, or to what is. Of a scene or cue without any time
/// nothing is known but that it follows.
fn follow(moment: Option<&mut Moment>, at: Option<&Spanned<At>>, after: &mut Duration, plies: Duration) {
    let (Some(moment), Some(At::After(length))) = (moment, at.map(|at| at.value)) else { return };
    moment.next.get_or_insert(length);
    *after += length;
    moment.room = moment.room.max(*after + plies);
}

/// The plies that each cue plays, by the cue's place.
fn plies(game: &Game) -> HashMap<usize, Vec<Ply>> {
    let mut plies: HashMap<usize, Vec<Ply>> = HashMap::new();
    for scene in &game.scenes {
        let Body::Board(board) = &scene.body else { continue };
        for step in board.steps.iter().filter(|step| step.action == Action::Play) {
            if let Some((_, ply)) = board.nodes.get(step.node.0).and_then(|node| node.came.as_ref()) {
                plies.entry(step.span.start).or_default().push(ply.clone());
            }
        }
    }
    plies
}

/// The move that each cue shows without playing it, by the cue's place.
fn ghosts(game: &Game) -> HashMap<usize, Ghost> {
    let boards = game.scenes.iter().filter_map(|scene| match &scene.body {
        Body::Board(board) => Some(board),
        Body::Card(_) => None,
    });
    let shown = boards.flat_map(|board| &board.steps);
    shown.filter_map(|step| Some((step.span.start, step.ghost.clone()?))).collect()
}

fn of_scene(scene: &Scene) -> Option<Moment> {
    let at = scene.at.as_ref()?;
    let At::Clock(time) = at.value else { return None };
    let name = scene.name.as_ref().map_or("scene", |name| name.value.as_str());
    let caption = String::new();
    Some(Moment {
        span: at.span,
        time,
        kind: Kind::Scene,
        plies: Vec::new(),
        every: None,
        next: None,
        room: Duration::ZERO,
        caption,
        ghost: None,
        goes: Some(Elsewhere::Scene),
        what: name.to_owned(),
    })
}

/// From a cue's first ply to its last, where the text says how fast they come.
fn span_of_plies(cue: &Cue) -> Duration {
    let more = u32::try_from(cue.play.len().saturating_sub(1)).unwrap_or(0);
    cue.every.as_ref().map_or(Duration::ZERO, |every| every.value * more)
}

fn of_cue(
    source: &Source,
    cue: &Cue,
    plies: &HashMap<usize, Vec<Ply>>,
    ghosts: &HashMap<usize, Ghost>,
) -> Option<Moment> {
    let at = cue.at.as_ref()?;
    let At::Clock(time) = at.value else { return None };
    let caption = cue.text.as_ref().map(|text| text.value.clone()).unwrap_or_default();
    let played = cue.play.iter().map(|san| san.value.as_str()).collect::<Vec<_>>().join(" ");
    let what = if !played.is_empty() {
        played
    } else if let Some(back) = &cue.back {
        format!("back {}", source.text().get(back.span.start..back.span.end).unwrap_or_default())
    } else if !caption.is_empty() {
        caption.clone()
    } else if let Some(label) = &cue.label {
        label.value.clone()
    } else if cue.ghost.is_some() {
        "a ghost".to_owned()
    } else {
        "marks".to_owned()
    };
    let plies = plies.get(&cue.span.start).cloned().unwrap_or_default();
    let every = cue.every.as_ref().map(|every| (every.value, every.span));
    Some(Moment {
        span: at.span,
        time,
        kind: Kind::Cue,
        plies,
        every,
        next: None,
        room: span_of_plies(cue),
        caption,
        ghost: ghosts.get(&cue.span.start).cloned(),
        goes: cue.back.as_ref().filter(|_| cue.play.is_empty()).map(|back| match back.value {
            Back::Start => Elsewhere::Start,
            Back::Label(_) | Back::Plies(_) => Elsewhere::Back,
        }),
        what,
    })
}
