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
use std::sync::{Arc, Mutex, PoisonError, Weak};
use tiny_skia::Pixmap;

/// Plan, colours, ground and tools of one look. The tools keep shaped text and sprites, which never change the pixels.
pub(super) struct Kit {
    pub plan: Plan,
    pub theme: &'static Theme,
    pub notation: Notation,
    grounds: Arc<Grounds>,
    pub typesetter: Typesetter,
    pub sprites: Sprites,
}

impl Kit {
    /// The kit for a look.
    pub fn of(look: Look) -> Kit {
        let theme = Theme::of(&look);
        let plan = Plan::of(look);
        let grounds = Grounds::of(look, &plan, theme);
        Kit {
            plan,
            theme,
            notation: look.notation,
            grounds,
            typesetter: Typesetter::of(&look.own),
            sprites: Sprites::of(own::pieces(&look.own)),
        }
    }

    /// The bare ground, on which cards stand; transparent in an overlay.
    pub fn ground(&self) -> &Pixmap {
        &self.grounds.bare
    }

    /// What the parts of a scene lie on.
    pub fn bed(&self) -> &Pixmap {
        self.grounds.plated.as_ref().unwrap_or(&self.grounds.bare)
    }
}

/// The grounds of one look: whole frames that never change.
struct Grounds {
    bare: Pixmap,
    /// The ground with the plates that stand through every scene, if there are any.
    plated: Option<Pixmap>,
}

/// The grounds of all looks that are being painted. The threads that paint one film share theirs, 8 MB at 1080p and 33 MB
/// at 2160p for each of them.
static PAINTED: Mutex<Vec<(Look, Weak<Grounds>)>> = Mutex::new(Vec::new());

impl Grounds {
    fn of(look: Look, plan: &Plan, theme: &Theme) -> Arc<Grounds> {
        let mut painted = PAINTED.lock().unwrap_or_else(PoisonError::into_inner);
        painted.retain(|(_, grounds)| grounds.strong_count() > 0);
        if let Some(grounds) = painted.iter().find(|(of, _)| *of == look).and_then(|(_, grounds)| grounds.upgrade()) {
            return grounds;
        }
        let bare = match look.layout {
            Layout::Overlay => Pixmap::new(look.size.width, look.size.height).expect("a frame has a size"),
            _ => ground(look.size, theme),
        };
        let plated = plan.plate.map(|_| {
            let mut plated = bare.clone();
            paint_plate(&mut canvas(&mut plated), plan, theme);
            plated
        });
        let grounds = Arc::new(Grounds { bare, plated });
        painted.push((look, Arc::downgrade(&grounds)));
        grounds
    }
}

/// A canvas over a whole frame.
pub(super) fn canvas(frame: &mut Pixmap) -> Canvas<'_> {
    Canvas::new(frame, 0, 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::film::Own;
    use crate::timeline::ThemeName;
    use crate::units::Size;

    #[test]
    fn painters_of_one_look_share_their_grounds() {
        let size = Size { width: 46, height: 34 };
        let look = Look {
            size,
            theme: ThemeName::Dusk,
            layout: Layout::Panel,
            notation: Notation::English,
            own: Own::default(),
        };
        let (one, other) = (Kit::of(look), Kit::of(look));
        assert!(Arc::ptr_eq(&one.grounds, &other.grounds));
        let tide = Kit::of(Look { theme: ThemeName::Tide, ..look });
        assert!(tide.ground() != one.ground());
        let painted =
            |look: Look| PAINTED.lock().unwrap().iter().any(|(of, grounds)| *of == look && grounds.strong_count() > 0);
        assert!(painted(look));
        drop((one, other));
        assert!(!painted(look), "nobody paints it any more");
    }
}
