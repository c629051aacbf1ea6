//! One cue.

use super::reader::{Entry, Fields, Reader};
use super::{Back, Cue, forms, shown};
use crate::diag::{Code, Diagnostic};
use crate::source::Spanned;

/// Reads one cue.
pub(super) fn cue<'a>(reader: &mut Reader<'a>, mut fields: Fields<'a>) -> Cue {
    let [play, back, cut, every, stay] = ["play", "back", "cut", "every", "for"].map(|name| fields.take(name));
    let mut cue = Cue {
        at: reader.at(fields.take("at")),
        play: shown::moves(reader, play),
        every: reader.length(every),
        line: reader.word(fields.take("line")),
        label: label(reader, fields.take("label")),
        back: back.and_then(|entry| self::back(reader, entry)),
        cut: reader.flag(cut).unwrap_or(false),
        marks: shown::marks(reader, fields.take("marks")),
        arrows: shown::arrows(reader, fields.take("arrows")),
        ghost: shown::ghost(reader, fields.take("ghost")),
        text: reader.text(fields.take("text")),
        claims: shown::claims(reader, fields.take("claim")),
        stay: reader.length(stay),
        rest: reader.length(fields.take("rest")),
        span: fields.span,
    };
    let mut given = |names: &[&str]| names.iter().any(|name| fields.take(name).is_some());
    let shows = given(&["marks", "arrows", "ghost"]);
    let acts = shows || given(&["play", "line", "label", "back", "text", "claim"]);
    fields.close();

    if let (Some(play), Some(back)) = (play, back) {
        reader.report(
            Diagnostic::error(Code::Conflict, back.key_span, "`back` cannot stand beside `play`")
                .label("one cue either plays or returns")
                .also(play.key_span, "moves are played here")
                .hint("give the return a cue of its own"),
        );
        cue.back = None;
    }
    if let (Some(cut), None) = (cut, back) {
        reader.report(
            Diagnostic::error(Code::MissingKey, cut.key_span, "`cut` needs `back`")
                .label("nothing to cut to")
                .hint("say where to: `back = \"start\"`, a label, or a number of plies"),
        );
    }
    if let (Some(every), true) = (every, cue.play.len() == 1 || play.is_none()) {
        reader.report(
            Diagnostic::warning(Code::Conflict, every.key_span, "`every` has no effect without several moves")
                .label("spaces the moves of one cue")
                .hint("leave `every` out, or play more than one move"),
        );
    }
    if let (Some(stay), false) = (stay, shows) {
        reader.report(
            Diagnostic::warning(Code::Conflict, stay.key_span, "`for` has no effect without marks, arrows or a ghost")
                .label("nothing here that lasts")
                .hint("leave `for` out; a caption ends with `text = \"\"`"),
        );
    }
    if let (Some(stay), true) = (&cue.stay, shows)
        && stay.value.is_zero()
    {
        reader.report(
            Diagnostic::warning(Code::BadValue, stay.span, "`for` is no time at all, so nothing of it is seen")
                .label("gone as soon as it comes")
                .hint("leave `for` out, and it stays until the next move"),
        );
    }
    if !acts && reader.is_whole() {
        reader.report(
            Diagnostic::warning(Code::MissingKey, cue.span, "the cue does nothing")
                .label("only a time")
                .hint("play, mark, caption, label, claim or return something, or remove the cue"),
        );
    }
    cue
}

/// A label; `start` is taken.
fn label<'a>(reader: &mut Reader<'a>, entry: Option<Entry<'a>>) -> Option<Spanned<String>> {
    let label = reader.text(entry)?;
    if label.value == "start" {
        reader.report(
            Diagnostic::error(Code::Duplicate, label.span, "`start` cannot be a label")
                .label("already the name of the scene's first position")
                .hint("choose another word"),
        );
        return None;
    }
    if forms::time(&label.value).is_ok() {
        reader.report(
            Diagnostic::warning(Code::BadValue, label.span, format!("the label `{}` reads as a time", label.value))
                .label("where a moment is named, the time is meant")
                .hint("choose a word, such as `crossroads`"),
        );
    }
    Some(label)
}

/// Where to return to.
fn back<'a>(reader: &mut Reader<'a>, entry: Entry<'a>) -> Option<Spanned<Back>> {
    if entry.is_integer() {
        let number = reader.integer(&entry)?;
        if let Ok(plies @ 1..=9999) = u32::try_from(number) {
            return Some(Spanned::new(Back::Plies(plies), entry.span));
        }
        reader.report(
            Diagnostic::error(Code::BadValue, entry.span, format!("`back` cannot be `{number}`"))
                .label("not a number of plies to take back")
                .hint("a number of plies is 1 to 9999"),
        );
        return None;
    }
    let label = reader.text(Some(entry))?;
    let back = if label.value == "start" { Back::Start } else { Back::Label(label.value) };
    Some(Spanned::new(back, label.span))
}
