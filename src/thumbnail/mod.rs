//! Every `[[thumbnail]]` → a [`Poster`]: which moment is shown, which part of the board, in which design.
//!
//! Comes in: the timeline's wishes and the film. Goes out: posters as data, ready to paint, and every wish that cannot
//! be met. Must not know: pixels, files. What decides the crop is what the author points at: the thumbnail's own marks
//! and arrows, else those that the film shows at that moment, else the last move.

mod crop;
mod moment;
mod words;

#[cfg(test)]
mod tests;

use crate::diag::{Code, Diagnostic};
use crate::film::{Film, Own};
use crate::paint::{Misfit, Poster, misfits};
use crate::source::Spanned;
use crate::timeline::{OwnColours, Thumbnail, Timeline};

/// The posters of a timeline, in its order. One whose moment cannot be found is left out, and reported.
pub fn posters(timeline: &Timeline, film: &Film) -> (Vec<Poster>, Vec<Diagnostic>) {
    let mut posters = Vec::new();
    let mut found = Vec::new();
    for wish in &timeline.thumbnails {
        let words = words::read(wish.words.as_ref(), &mut found);
        let Some(moment) = moment::find(wish, film, &mut found) else { continue };
        let subject = moment::subject(wish, moment);
        let theme = wish.theme.as_ref().map_or(film.look().theme, |theme| theme.value);
        let design = wish.design.as_ref().map(|design| design.value);
        let (panel, crop) = crop::choose(&subject, design, &words);
        // A theme of its own has its own colours.
        let own = film.look().own;
        let own = Own { colours: if wish.theme.is_some() { OwnColours::default() } else { own.colours }, ..own };
        let poster = Poster { theme, own, board: subject.board, crop, panel, words };
        found.extend(misfits(&poster).into_iter().map(|misfit| refused(wish, misfit, own.fonts.is_some())));
        posters.push(poster);
    }
    (posters, found)
}

fn refused(wish: &Thumbnail, misfit: Misfit, has_own: bool) -> Diagnostic {
    let (text, span) = match &wish.words {
        Some(Spanned { value, span }) => (value.as_str(), *span),
        None => ("", wish.span),
    };
    match misfit {
        Misfit::TooLong => {
            let count = text.split_whitespace().count();
            Diagnostic::error(
                Code::LongText,
                span,
                format!("the thumbnail's words `{text}` are too long to be set large"),
            )
            .about(text)
            .label(format!("{count} word{}, {} characters", if count == 1 { "" } else { "s" }, text.chars().count()))
            .hint("one to three short words; they are read at the width of a thumb")
        }
        Misfit::MissingGlyph(character) => {
            let point = format!("U+{:04X}", u32::from(character));
            let whose = if has_own { "neither a font of the film's own nor a bundled one" } else { "no bundled font" };
            let diagnostic = Diagnostic::error(
                Code::MissingGlyph,
                span,
                format!("{whose} can draw {point} in the thumbnail's words `{text}`"),
            )
            .about(character)
            .label(format!("{point} is here"))
            .hint("Latin, Greek and Cyrillic letters, figures and punctuation can be drawn");
            if has_own { diagnostic } else { diagnostic.hint("other letters need a font of your own: `[film] fonts`") }
        }
        Misfit::TwoDirections(against) => Diagnostic::error(
            Code::MixedDirections,
            span,
            format!("the thumbnail's words `{text}` run to the right and to the left"),
        )
        .label(format!("`{against}` runs against the rest"))
        .hint("give each text one direction; figures and piece letters run to the right"),
    }
}
