//! What every part needs to be painted: where things go, in which colours, on which ground, with which tools.

use super::canvas::Canvas;
use super::ground::ground;
use super::layout::Plan;
use super::sprites::Sprites;
use super::text::Typesetter;
use super::theme::Theme;
use crate::film::Look;
use crate::timeline::Notation;
use tiny_skia::Pixmap;

/// Plan, colours, ground and tools of one look. The tools keep shaped text and sprites, which never change the pixels.
pub(super) struct Kit {
    pub plan: Plan,
    pub theme: &'static Theme,
    pub notation: Notation,
    pub ground: Pixmap,
    pub typesetter: Typesetter,
    pub sprites: Sprites,
}

impl Kit {
    /// The kit for a look.
    pub fn of(look: Look) -> Kit {
        let theme = Theme::named(look.theme);
        Kit {
            plan: Plan::of(look),
            theme,
            notation: look.notation,
            ground: ground(look.size, theme),
            typesetter: Typesetter::default(),
            sprites: Sprites::new(),
        }
    }
}

/// A canvas over a whole frame.
pub(super) fn canvas(frame: &mut Pixmap) -> Canvas<'_> {
    Canvas::new(frame, 0, 0)
}
