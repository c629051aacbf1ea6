//! What every part needs to be painted: where things go, in which colours, on which ground, with which tools.

use super::canvas::Canvas;
use super::ground::ground;
use super::layout::Plan;
use super::own;
use super::plate::paint_plate;
use super::sprites::Sprites;
use super::text::Typesetter;
use super::theme::Theme;
use crate::film::Look;
use crate::timeline::{Layout, Notation};
use tiny_skia::Pixmap;

/// Plan, colours, ground and tools of one look. The tools keep shaped text and sprites, which never change the pixels.
pub(super) struct Kit {
    pub plan: Plan,
    pub theme: &'static Theme,
    pub notation: Notation,
    /// The bare ground, on which cards stand; transparent in an overlay.
    pub ground: Pixmap,
    /// The ground with the plates that stand through every scene, if there are any.
    plated: Option<Pixmap>,
    pub typesetter: Typesetter,
    pub sprites: Sprites,
}

impl Kit {
    /// The kit for a look.
    pub fn of(look: Look) -> Kit {
        let theme = Theme::of(&look);
        let plan = Plan::of(look);
        let ground = match look.layout {
            Layout::Overlay => Pixmap::new(look.size.width, look.size.height).expect("a frame has a size"),
            _ => ground(look.size, theme),
        };
        let plated = plan.plate.map(|_| {
            let mut plated = ground.clone();
            paint_plate(&mut canvas(&mut plated), &plan, theme);
            plated
        });
        Kit {
            plan,
            theme,
            notation: look.notation,
            ground,
            plated,
            typesetter: Typesetter::of(&look.own),
            sprites: Sprites::of(own::pieces(&look.own)),
        }
    }

    /// What the parts of a scene lie on.
    pub fn bed(&self) -> &Pixmap {
        self.plated.as_ref().unwrap_or(&self.ground)
    }
}

/// A canvas over a whole frame.
pub(super) fn canvas(frame: &mut Pixmap) -> Canvas<'_> {
    Canvas::new(frame, 0, 0)
}
