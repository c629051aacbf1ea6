//! Names: none given twice where it must be one, and none used that nothing bears.

use super::reader::Reader;
use super::{Replay, Scene, SceneBody, Thumbnail, Timeline};
use crate::diag::{Code, Diagnostic, nearest};
use crate::source::{Span, Spanned};
use std::cmp::Ordering;
use std::collections::HashMap;

/// Reports names given twice and names that nothing bears.
pub(super) fn check(reader: &mut Reader<'_>, timeline: &Timeline) {
    let scene_names = timeline.scenes.iter().filter_map(|scene| scene.name.as_ref());
    refuse_twice(reader, scene_names, "the scene name", "replays and thumbnails find a scene by its name");
    for scene in &timeline.scenes {
        let labels = scene.cues.iter().filter_map(|cue| cue.label.as_ref());
        refuse_twice(reader, labels, "the label", "`back` finds a position by its label");
    }
    if reader.is_whole() {
        for (number, scene) in timeline.scenes.iter().enumerate() {
            if let SceneBody::Replay(replay) = &scene.body {
                check_replayed(reader, &timeline.scenes, number, replay);
            }
        }
        for thumbnail in &timeline.thumbnails {
            check_thumbnail(reader, &timeline.scenes, thumbnail);
        }
    }
}

fn refuse_twice<'n>(reader: &mut Reader<'_>, names: impl Iterator<Item = &'n Spanned<String>>, what: &str, why: &str) {
    let mut first_places: HashMap<&str, Span> = HashMap::new();
    for name in names {
        match first_places.get(name.value.as_str()) {
            None => {
                first_places.insert(&name.value, name.span);
            }
            Some(&first) => reader.report(
                Diagnostic::error(Code::Duplicate, name.span, format!("{what} `{}` is given twice", name.value))
                    .label("given again here")
                    .also(first, "first given here")
                    .hint(format!("choose another name: {why}")),
            ),
        }
    }
}

fn find<'s>(scenes: &'s [Scene], name: &str) -> Option<(usize, &'s Scene)> {
    scenes.iter().enumerate().find(|(_, scene)| scene.name.as_ref().is_some_and(|own| own.value == name))
}

/// A replay shows the moves of an earlier scene.
fn check_replayed(reader: &mut Reader<'_>, scenes: &[Scene], number: usize, replay: &Replay) {
    let wanted = &replay.scene;
    let Some((place, scene)) = find(scenes, &wanted.value) else {
        unknown_scene(reader, &scenes[..number], wanted, "earlier scenes");
        return;
    };
    let named = scene.name.as_ref().map_or(scene.span, |name| name.span);
    let name = &wanted.value;
    let problem = match place.cmp(&number) {
        Ordering::Equal => {
            let message = "a scene cannot replay itself".to_owned();
            Some(("the scene itself", "name an earlier scene".to_owned(), message))
        }
        Ordering::Greater => {
            let message = format!("the replayed scene `{name}` comes later");
            Some(("not shown yet", "put the replay after the scene it replays".to_owned(), message))
        }
        Ordering::Less if matches!(scene.body, SceneBody::Card(_)) => {
            let message = format!("the replayed scene `{name}` is a card");
            Some(("a card has no moves", "name a scene with moves".to_owned(), message))
        }
        Ordering::Less => match &scene.body {
            // A label leads to a position of a replay as it does elsewhere; but what a replay shows is no solution of
            // its own.
            SceneBody::Replay(shown) if replay.line.as_ref().is_none_or(|line| line.value == "solution") => {
                let message = format!("the replayed scene `{name}` is a replay itself");
                let hint = format!("name the scene whose moves it shows: `{}`", shown.scene.value);
                Some(("it has no solution of its own", hint, message))
            }
            _ => None,
        },
    };
    if let Some((label, hint, message)) = problem {
        reader.report(
            Diagnostic::error(Code::UnknownName, wanted.span, message)
                .label(label)
                .also(named, "the scene of that name")
                .hint(hint),
        );
    }
}

/// A thumbnail's scene must exist, and its moment be a label of that scene, or of one scene only.
fn check_thumbnail(reader: &mut Reader<'_>, scenes: &[Scene], thumbnail: &Thumbnail) {
    let searched = match &thumbnail.scene {
        None => scenes,
        Some(wanted) => match find(scenes, &wanted.value) {
            Some((place, _)) => &scenes[place..=place],
            None => return unknown_scene(reader, scenes, wanted, "scenes"),
        },
    };
    let Some(moment) = &thumbnail.moment else { return };
    let labels: Vec<&Spanned<String>> =
        searched.iter().flat_map(|scene| &scene.cues).filter_map(|cue| cue.label.as_ref()).collect();
    let bearing: Vec<Span> =
        labels.iter().filter(|label| label.value == moment.value).map(|label| label.span).collect();
    match bearing[..] {
        [] => {
            let owner = thumbnail.scene.as_ref().map_or(String::new(), |scene| format!(" of `{}`", scene.value));
            let message = format!("no cue{owner} has the label `{}`", moment.value);
            let known: Vec<&str> = labels.iter().map(|label| label.value.as_str()).collect();
            let diagnostic = Diagnostic::error(Code::UnknownName, moment.span, message).label("no such label");
            reader.report(with_known(diagnostic, &moment.value, &known, "labels"));
        }
        [first, second, ..] if thumbnail.scene.is_none() => reader.report(
            Diagnostic::error(
                Code::UnknownName,
                moment.span,
                format!("several scenes have the label `{}`", moment.value),
            )
            .label("which of them?")
            .also(first, "one")
            .also(second, "another")
            .hint("name the scene: `scene = \"\u{2026}\"`"),
        ),
        _ => {}
    }
}

fn unknown_scene(reader: &mut Reader<'_>, scenes: &[Scene], wanted: &Spanned<String>, what: &str) {
    let known: Vec<&str> = scenes.iter().filter_map(|scene| Some(scene.name.as_ref()?.value.as_str())).collect();
    let diagnostic = Diagnostic::error(Code::UnknownName, wanted.span, format!("no scene is named `{}`", wanted.value))
        .label("no such scene");
    reader.report(with_known(diagnostic, &wanted.value, &known, what));
}

fn with_known(diagnostic: Diagnostic, wanted: &str, known: &[&str], what: &str) -> Diagnostic {
    if let Some(near) = nearest(wanted, known.iter().copied()) {
        return diagnostic.hint(format!("the nearest is `{near}`"));
    }
    if known.is_empty() {
        return diagnostic.hint(format!("there are no {what} with a name"));
    }
    let names: Vec<String> = known.iter().map(|name| format!("`{name}`")).collect();
    diagnostic.hint(format!("the {what} are {}", names.join(", ")))
}
