//! `[film]`, in a timeline and in a style file.

use super::reader::{Entry, Fields, Reader, shortened};
use super::{CardWords, FilmSettings, FrameShape};
use crate::diag::{Code, Diagnostic, nearest};
use crate::source::{Span, Spanned};
use crate::units::listed;

/// Reads `[film]` of a timeline.
pub(super) fn settings<'a>(reader: &mut Reader<'a>, mut fields: Fields<'a>) -> FilmSettings {
    let narration = reader.text(fields.take("narration"));
    let style = reader.text(fields.take("style"));
    let syzygy = reader.text(fields.take("syzygy"));
    FilmSettings { narration, style, syzygy, ..style_settings(reader, fields) }
}

/// Reads `[film]` of a style file, which has neither `narration` nor `style` nor `syzygy`.
pub(super) fn style_settings<'a>(reader: &mut Reader<'a>, mut fields: Fields<'a>) -> FilmSettings {
    let height = fields.take("height");
    let words = fields.take("words");
    let settings = FilmSettings {
        title: reader.text(fields.take("title")),
        series: reader.text(fields.take("series")),
        number: reader.count(fields.take("number")),
        presenter: reader.text(fields.take("presenter")),
        voice: reader.text(fields.take("voice")),
        music: reader.text(fields.take("music")),
        narration: None,
        style: None,
        syzygy: None,
        frame: reader.shape(fields.take("frame")),
        height: reader.count(height),
        fps: reader.rate(fields.take("fps")),
        theme: reader.theme(fields.take("theme")),
        pieces: reader.text(fields.take("pieces")),
        fonts: reader.text(fields.take("fonts")),
        layout: reader.word(fields.take("layout")),
        notation: reader.word(fields.take("notation")),
        captions: reader.word(fields.take("captions")),
        motion: reader.word(fields.take("motion")),
        words: card_words(reader, words),
        description: reader.text(fields.take("description")),
        ends: reader.clock(fields.take("ends")),
        rest: reader.length(fields.take("rest")),
    };
    fields.close();
    if let (Some(frame), Some(height)) = (settings.frame, height)
        && let Some(idle) = idle_height(height.key_span, frame.value)
    {
        reader.report(idle.also(frame.span, "this says the height as well"));
    }
    settings
}

/// The doubt about a `height` beside a frame that says the height itself, if it does.
fn idle_height(height: Span, frame: FrameShape) -> Option<Diagnostic> {
    matches!(frame, FrameShape::Free { .. }).then(|| {
        Diagnostic::warning(Code::Conflict, height, format!("`height` has no effect with a frame of {frame}"))
            .label("not used")
            .hint("leave `height` out, or name a shape: wide, tall, square")
    })
}

fn card_words<'a>(reader: &mut Reader<'a>, entry: Option<Entry<'a>>) -> CardWords {
    let Some(mut fields) = reader.table(entry) else { return CardWords::default() };
    let words = CardWords {
        position: with_places(reader, fields.take("position"), &["n", "count"]),
        chapter: with_places(reader, fields.take("chapter"), &["n", "count"]),
        pause: reader.text(fields.take("pause")),
        credits: reader.text(fields.take("credits")),
        presenter: reader.text(fields.take("presenter")),
        voice: reader.text(fields.take("voice")),
        music: reader.text(fields.take("music")),
        r#try: reader.text(fields.take("try")),
        or: reader.text(fields.take("or")),
        stalemate: reader.text(fields.take("stalemate")),
        fold: with_places(reader, fields.take("fold"), &["from", "to", "tries", "variations"]),
        white: reader.text(fields.take("white")),
        black: reader.text(fields.take("black")),
    };
    fields.close();
    words
}

/// A text with places for numbers, written `{n}`; what stands in braces and is no such place would be shown as it is.
fn with_places<'a>(reader: &mut Reader<'a>, entry: Option<Entry<'a>>, places: &[&str]) -> Option<Spanned<String>> {
    let entry = entry?;
    let quoted = reader.quoted(&entry)?;
    let mut from = 0;
    while let Some(open) = quoted.text[from..].find('{').map(|found| from + found) {
        from = open + 1;
        let Some(length) =
            quoted.text[from..].find(['{', '}']).filter(|end| quoted.text[from + end..].starts_with('}'))
        else {
            continue;
        };
        let name = &quoted.text[from..from + length];
        if !places.contains(&name.trim()) {
            let key = entry.name();
            let message = format!("`{{{}}}` stands for no number in `{key}`", shortened(name));
            let place = quoted.place(open..from + length + 1);
            let error = Diagnostic::error(Code::UnknownWord, place, message).label("would be shown as it is");
            let accepted = if let Some(near) = nearest(name, places.iter().copied()) {
                format!("did you mean `{{{near}}}`?")
            } else {
                let places: Vec<String> = places.iter().map(|place| format!("`{{{place}}}`")).collect();
                format!("`{key}` has places for {}", listed(&places, places.len()))
            };
            reader.report(error.hint(accepted));
        } else if name != name.trim() {
            let message = format!("`{{{}}}` has spaces in it", shortened(name));
            let place = quoted.place(open..from + length + 1);
            let error = Diagnostic::error(Code::BadValue, place, message).label("would be shown as it is");
            reader.report(error.hint(format!("write `{{{}}}`", name.trim())));
        }
    }
    Some(Spanned::new(quoted.text.to_owned(), quoted.span))
}

/// Every setting out of two, each by the same rule.
macro_rules! each_setting {
    ($first:expr, $second:expr, $rule:expr) => {{
        let rule = $rule;
        let (first, second) = ($first, $second);
        FilmSettings {
            title: rule.choose(first.title, second.title),
            series: rule.choose(first.series, second.series),
            number: rule.choose(first.number, second.number),
            presenter: rule.choose(first.presenter, second.presenter),
            voice: rule.choose(first.voice, second.voice),
            music: rule.choose(first.music, second.music),
            narration: rule.choose(first.narration, second.narration),
            style: rule.choose(first.style, second.style),
            syzygy: rule.choose(first.syzygy, second.syzygy),
            frame: rule.choose(first.frame, second.frame),
            height: rule.choose(first.height, second.height),
            fps: rule.choose(first.fps, second.fps),
            theme: rule.choose(first.theme, second.theme),
            pieces: rule.choose(first.pieces, second.pieces),
            fonts: rule.choose(first.fonts, second.fonts),
            layout: rule.choose(first.layout, second.layout),
            notation: rule.choose(first.notation, second.notation),
            captions: rule.choose(first.captions, second.captions),
            motion: rule.choose(first.motion, second.motion),
            words: CardWords {
                position: rule.choose(first.words.position, second.words.position),
                chapter: rule.choose(first.words.chapter, second.words.chapter),
                pause: rule.choose(first.words.pause, second.words.pause),
                credits: rule.choose(first.words.credits, second.words.credits),
                presenter: rule.choose(first.words.presenter, second.words.presenter),
                voice: rule.choose(first.words.voice, second.words.voice),
                music: rule.choose(first.words.music, second.words.music),
                r#try: rule.choose(first.words.r#try, second.words.r#try),
                or: rule.choose(first.words.or, second.words.or),
                stalemate: rule.choose(first.words.stalemate, second.words.stalemate),
                fold: rule.choose(first.words.fold, second.words.fold),
                white: rule.choose(first.words.white, second.words.white),
                black: rule.choose(first.words.black, second.words.black),
            },
            description: rule.choose(first.description, second.description),
            ends: rule.choose(first.ends, second.ends),
            rest: rule.choose(first.rest, second.rest),
        }
    }};
}

/// One setting out of two by a rule that asks for neither's type.
trait Rule {
    fn choose<T>(&self, first: Option<Spanned<T>>, second: Option<Spanned<T>>) -> Option<Spanned<T>>;
}

impl FilmSettings {
    /// These settings, and where one is not given, that of `defaults` (a style file's).
    ///
    /// A value out of `defaults` takes the place of this file's `style` key: a place in another text would mean
    /// nothing here, and that key is what brought the value in.
    #[must_use]
    pub fn or(self, defaults: FilmSettings) -> FilmSettings {
        struct Defaults(Span);
        impl Rule for Defaults {
            fn choose<T>(&self, own: Option<Spanned<T>>, default: Option<Spanned<T>>) -> Option<Spanned<T>> {
                own.or(default.map(|default| Spanned::new(default.value, self.0)))
            }
        }
        let rule = Defaults(self.style.as_ref().map(|style| style.span).unwrap_or_default());
        each_setting!(self, defaults, rule)
    }

    /// The doubt about a `height` of these settings that has no effect, because the frame of `defaults`, the settings
    /// beneath these, says the height as well; `None` if it has an effect.
    pub fn idle_height(&self, defaults: &FilmSettings) -> Option<Diagnostic> {
        let (height, frame) = (self.height?, defaults.frame.filter(|_| self.frame.is_none())?);
        let idle = idle_height(height.span, frame.value)?;
        let style = self.style.as_ref().map(|style| style.span);
        Some(style.into_iter().fold(idle, |idle, style| idle.also(style, "its frame says the height as well")))
    }

    /// These settings but for what `overrides` (the command line's) gives. An overriding value keeps the place of the
    /// one it overrides.
    #[must_use]
    pub fn overridden_by(self, overrides: FilmSettings) -> FilmSettings {
        struct Overrides;
        impl Rule for Overrides {
            fn choose<T>(&self, own: Option<Spanned<T>>, other: Option<Spanned<T>>) -> Option<Spanned<T>> {
                let place = own.as_ref().map(|own| own.span).unwrap_or_default();
                other.map(|other| Spanned::new(other.value, place)).or(own)
            }
        }
        each_setting!(self, overrides, Overrides)
    }
}
