//! `[film]`, in a timeline and in a style file.

use super::FilmSettings;
use super::FrameShape;
use super::reader::{Fields, Reader};
use crate::diag::{Code, Diagnostic};
use crate::source::{Span, Spanned};

/// Reads `[film]` of a timeline.
pub(super) fn settings<'a>(reader: &mut Reader<'a>, mut fields: Fields<'a>) -> FilmSettings {
    let narration = reader.text(fields.take("narration"));
    let style = reader.text(fields.take("style"));
    FilmSettings { narration, style, ..style_settings(reader, fields) }
}

/// Reads `[film]` of a style file, which has neither `narration` nor `style`.
pub(super) fn style_settings<'a>(reader: &mut Reader<'a>, mut fields: Fields<'a>) -> FilmSettings {
    let height = fields.take("height");
    let settings = FilmSettings {
        title: reader.text(fields.take("title")),
        series: reader.text(fields.take("series")),
        number: reader.count(fields.take("number")),
        presenter: reader.text(fields.take("presenter")),
        narration: None,
        style: None,
        frame: reader.shape(fields.take("frame")),
        height: reader.count(height),
        fps: reader.rate(fields.take("fps")),
        theme: reader.word(fields.take("theme")),
        layout: reader.word(fields.take("layout")),
        notation: reader.word(fields.take("notation")),
        ends: reader.clock(fields.take("ends")),
        rest: reader.length(fields.take("rest")),
    };
    fields.close();
    if let (Some(Spanned { value: shape @ FrameShape::Free { .. }, span }), Some(height)) = (settings.frame, height) {
        reader.report(
            Diagnostic::warning(
                Code::Conflict,
                height.key_span,
                format!("`height` has no effect with a frame of {shape}"),
            )
            .label("not used")
            .also(span, "this says the height as well")
            .hint("leave `height` out, or name a shape: wide, tall, square"),
        );
    }
    settings
}

impl FilmSettings {
    /// These settings, and where one is not given, that of `defaults` (a style file's).
    ///
    /// A value out of `defaults` takes the place of this file's `style` key: a place in another text would mean
    /// nothing here, and that key is what brought the value in.
    #[must_use]
    pub fn or(self, defaults: FilmSettings) -> FilmSettings {
        let place = self.style.as_ref().map(|style| style.span).unwrap_or_default();
        fn either<T>(own: Option<Spanned<T>>, default: Option<Spanned<T>>, place: Span) -> Option<Spanned<T>> {
            own.or(default.map(|default| Spanned::new(default.value, place)))
        }
        FilmSettings {
            title: either(self.title, defaults.title, place),
            series: either(self.series, defaults.series, place),
            number: either(self.number, defaults.number, place),
            presenter: either(self.presenter, defaults.presenter, place),
            narration: either(self.narration, defaults.narration, place),
            style: either(self.style, defaults.style, place),
            frame: either(self.frame, defaults.frame, place),
            height: either(self.height, defaults.height, place),
            fps: either(self.fps, defaults.fps, place),
            theme: either(self.theme, defaults.theme, place),
            layout: either(self.layout, defaults.layout, place),
            notation: either(self.notation, defaults.notation, place),
            ends: either(self.ends, defaults.ends, place),
            rest: either(self.rest, defaults.rest, place),
        }
    }
}
