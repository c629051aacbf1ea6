//! What is said of times that cannot be, or are too short for what they hold.

use super::{SceneTimes, cue_at, millis};
use crate::diag::{Code, Diagnostic};
use crate::film::motion::NO_FLASH;
use crate::game::{Body, Card, Game, Scene};
use crate::source::Span;
use crate::timeline::{self, SceneBody, Timeline};
use crate::units::Time;

/// Reports what begins when the film is over, each cue once.
pub(super) fn past_the_end(
    timeline: &Timeline,
    game: &Game,
    scenes: &[SceneTimes],
    end: Time,
    out: &mut Vec<Diagnostic>,
) {
    let ends = timeline.film.ends.as_ref().map(|ends| ends.span);
    let mut report = |what: &str, time: Time, span: Span| {
        let mut diagnostic = Diagnostic::error(
            Code::BadValue,
            span,
            format!("the {what} at `{time}` begins after the film's end at `{end}`"),
        )
        .label(format!("{} after the end", apart(time, end)));
        diagnostic = match ends {
            Some(span) => diagnostic.also(span, "the film ends here").hint("a later `ends`, or an earlier time"),
            None => diagnostic.hint("a time within the narration, or `ends` in [film] to let the film run on after it"),
        };
        out.push(diagnostic);
    };
    for (index, (scene, times)) in game.scenes.iter().zip(scenes).enumerate() {
        if times.start >= end {
            let at = timeline.scenes.get(index).and_then(|scene| scene.at.as_ref());
            report("scene", times.start, at.map_or(scene.span, |at| at.span));
            continue;
        }
        let Body::Board(board) = &scene.body else { continue };
        let mut last = None;
        for (step, &time) in board.steps.iter().zip(&times.steps) {
            if time >= end && last != Some(step.span) {
                report("cue", time, cue_at(timeline, index, step).unwrap_or(step.span));
                last = Some(step.span);
            }
        }
    }
}

pub(super) fn goes_back(time: Time, span: Span, before: Time, before_span: Option<Span>) -> Diagnostic {
    let diagnostic = Diagnostic::error(
        Code::TimeGoesBack,
        span,
        format!("this begins at `{time}`, but what is above it begins only at `{before}`"),
    )
    .label(format!("{} earlier", apart(before, time)))
    .hint("times never go back: a later time here, or less time above");
    match before_span {
        Some(span) => diagnostic.also(span, format!("begins at `{before}`")),
        None => diagnostic,
    }
}

pub(super) fn no_time(span: Span, what: &str) -> Diagnostic {
    Diagnostic::error(Code::MissingKey, span, format!("this {what} has no `at`, and the voice is the clock"))
        .label("a film with a narration has to be told when this happens")
        .hint("`at = \"0:12.5\"` on the recording's clock, or `at = \"+1.5\"` after the cue before")
}

/// A replay that has less time than its moves take at its pace. `room` and `needed` in milliseconds.
pub(super) fn out_of_pace(scene: &timeline::Scene, room: f64, needed: f64) -> Diagnostic {
    let span = match &scene.body {
        SceneBody::Replay(replay) => replay.pace.as_ref().map_or(replay.scene.span, |pace| pace.span),
        _ => scene.span,
    };
    // Rounded up, so that what is asked for is enough.
    let needed = (needed / 100.0).ceil() / 10.0;
    let message = format!("the replay has {:.1} s, and at its pace it takes at least {needed:.1} s", room / 1000.0);
    Diagnostic::warning(Code::Conflict, span, message)
        .label("its moves are played faster than this says")
        .hint("more time until what comes next, or a faster `pace`")
}

pub(super) fn too_short(scene: &Scene, length: f64) -> Diagnostic {
    Diagnostic::warning(Code::BadValue, scene.span, format!("this scene is on screen for only {length:.0} ms"))
        .label("whole pictures that change so fast flash")
        .hint(format!("at least {NO_FLASH:.0} ms from one scene to the next"))
}

/// A countdown that would have to begin before its card.
pub(super) fn ring_too_long(scene: &Scene, length: f64) -> Option<Diagnostic> {
    let Body::Card(Card { ring: Some(ring), .. }) = &scene.body else { return None };
    (millis(ring.value) > length).then(|| {
        let message = format!(
            "the ring counts {} s and its card is on screen for {:.1} s",
            ring.value.as_secs_f64(),
            length / 1000.0
        );
        Diagnostic::warning(Code::BadValue, ring.span, message)
            .label("begins before the card does")
            .hint("a shorter ring, or more time until the next scene")
    })
}

/// `0.250 s`.
fn apart(later: Time, earlier: Time) -> String {
    format!("{:.3} s", later.since(earlier).as_secs_f64())
}
