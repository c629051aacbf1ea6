//! Chapters: the scenes, as WebVTT and as the list that stands in a description.

use super::material::Material;
use super::subtitles::vtt::{Payload, file};
use super::wording::{clock, one_line};
use crate::diag::{Code, Diagnostic};
use std::fmt::Write as _;
use std::time::Duration;

/// Hosts that read a description's list want its first entry at 0:00, at least this many entries, each at least this
/// long, or they make no chapters at all. Common practice, no standard.
const FEWEST: usize = 3;
const SHORTEST: Duration = Duration::from_secs(10);

/// WebVTT chapters: consecutive, titles as text.
pub(super) fn vtt(material: &Material) -> String {
    let chapters = material.film.chapters().iter().filter(|chapter| chapter.start < chapter.end);
    file("chapters", chapters.map(|chapter| (chapter.start, chapter.end, one_line(&chapter.name), Payload::Words)))
}

/// `0:08 The pawn at the door`, a line each.
pub(super) fn list(material: &Material) -> String {
    let mut text = String::new();
    for chapter in material.film.chapters() {
        // Writing to a text never fails.
        writeln!(text, "{} {}", clock(chapter.start), one_line(&chapter.name)).unwrap_or_default();
    }
    text
}

/// Remarks on what keeps a host from making chapters out of the list.
pub(super) fn check(material: &Material, diagnostics: &mut Vec<Diagnostic>) {
    let chapters = material.film.chapters();
    let short = chapters.iter().enumerate().filter(|(_, chapter)| chapter.end.since(chapter.start) < SHORTEST);
    for (scene, chapter) in short {
        let length = chapter.end.since(chapter.start).as_secs_f64();
        let message = format!("the chapter `{}` is only {length:.1} s long", chapter.name);
        diagnostics.push(
            Diagnostic::warning(Code::Chapters, material.scene_at(scene).span, message)
                .label("shorter than 10 s: many hosts then make no chapters from the description's list")
                .hint("10 s or more, or the list without this line; chapters inside the film are not touched"),
        );
    }
    if !chapters.is_empty() && chapters.len() < FEWEST {
        let span = material.scene_at(0).span;
        let message =
            format!("the film has only {} chapter{}", chapters.len(), if chapters.len() == 1 { "" } else { "s" });
        diagnostics.push(
            Diagnostic::warning(Code::Chapters, span, message)
                .label("fewer than three: many hosts then make none from the description's list"),
        );
    }
}
