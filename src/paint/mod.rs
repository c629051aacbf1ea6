//! [`Picture`] → pixmap; one file per thing drawn. Theme and layout are data.
//!
//! Comes in: a picture and a [`Look`]. Goes out: premultiplied sRGB pixels. Must not know: time, files, codecs.
//!
//! Nine frames of ten differ from the one before in one small place or not at all. So the parts of a scene (board,
//! head, list, caption) do not overlap, are painted one by one when they change, and are kept: an unchanged part costs
//! a copy. [`Painter::damage`] tells where two pictures can differ, and [`Painter::paint_within`] paints only there.

mod arrows;
mod band;
mod board;
mod brush;
mod canvas;
mod caption;
mod card;
mod contrast;
mod coordinates;
mod design;
mod direction;
mod drawn;
mod end;
mod fade;
mod figurine;
mod fit;
mod flash;
mod font;
mod ground;
mod head;
mod judge;
mod king;
mod kit;
mod lanes;
mod layout;
mod legibility;
mod list;
mod marks;
mod moves;
mod notation;
mod outline;
mod own;
mod piece;
mod plate;
mod position;
mod poster;
mod reading;
mod ring;
mod roll;
mod rows;
mod safety;
mod scene;
mod sight;
mod silhouette;
mod sprites;
mod straight;
mod strip;
mod text;
mod theme;
mod tile;
mod vector;
mod veil;
mod words;

#[cfg(test)]
mod fitting;
#[cfg(test)]
mod laws;

pub use board::board_alone;
pub use judge::theme_faults;
pub use legibility::legibility;
pub use notation::{prose as set_prose, san as set_san};
pub use own::{FontFolderError, font_names, learn_fonts, learn_pieces};
pub use poster::{
    Crop, Misfit, PORTRAIT, POSTER, Panel, Poster, PosterWord, contact_sheet, misfits, poster, word_cover,
};
pub use safety::flashes;
pub use silhouette::PieceFileError;
pub use straight::straight;
pub use theme::{PieceInk, Rgba, SquareFill, Theme};
pub use tiny_skia::Pixmap;
pub use vector::{svg_board, svg_diagram, svg_symbols};

use crate::film::{Body, CardPicture, Look, Picture, RingPicture};
use crate::units::PixelRect;
use fade::fade;
use kit::Kit;
use ring::paint_ring;
use scene::SceneParts;
use std::sync::Arc;
use tile::{Tile, copy_same, intersection, whole};

/// Paints pictures of one look. What it keeps (sprites, shaped text, painted parts) never changes the pixels.
pub struct Painter {
    look: Look,
    kit: Kit,
    scene: SceneParts,
    card: Option<(Arc<CardPicture>, Pixmap)>,
    beneath: Option<(Arc<Body>, Pixmap)>,
}

impl Painter {
    /// A painter for one look. A look that [`legibility`] refuses is painted as well as can be.
    pub fn new(look: Look) -> Painter {
        assert!(look.size.width > 0 && look.size.height > 0, "a frame has a size");
        Painter { look, kit: Kit::of(look), scene: SceneParts::default(), card: None, beneath: None }
    }

    /// The look it paints.
    pub fn look(&self) -> Look {
        self.look
    }

    /// The colour that all edges of an overlay fade from, with which a fill goes on where nothing is.
    pub fn plate_colour(&self) -> Rgba {
        plate::plate_colour(self.kit.theme)
    }

    /// Paints a whole picture onto `pixmap`, which must have the look's size; opaque but for the overlay layout.
    pub fn paint(&mut self, picture: &Picture, pixmap: &mut Pixmap) {
        self.paint_within(picture, pixmap, &[whole(self.look.size)]);
    }

    /// Paints a picture within `rects` only, and leaves the rest of `pixmap` alone. Within them every pixel comes out
    /// as [`Painter::paint`] would have it.
    pub fn paint_within(&mut self, picture: &Picture, pixmap: &mut Pixmap, rects: &[PixelRect]) {
        let size = self.look.size;
        assert!((pixmap.width(), pixmap.height()) == (size.width, size.height), "the pixmap has the look's size");
        let rects: Vec<PixelRect> = rects.iter().filter_map(|rect| intersection(*rect, whole(size))).collect();
        if let Some((beneath, _)) = &picture.beneath {
            self.keep_beneath(beneath);
        } else {
            self.beneath = None;
        }
        if matches!(picture.body, Body::Scene(_)) {
            // A whole frame, which is painted afresh when there is a card again.
            self.card = None;
        }
        self.lay(&picture.body, pixmap, &rects);
        if let (Some((_, covered)), Some((_, under))) = (&picture.beneath, &self.beneath) {
            let shared = picture.beneath.as_ref().and_then(|(old, _)| self.shared_board(old, &picture.body));
            for rect in rects {
                let ground = if shared.is_some() { self.kit.bed() } else { self.kit.ground() };
                fade(pixmap, under, ground, *covered, rect, shared);
            }
        }
    }

    /// The rectangles outside which two pictures are the same. They may overlap; none if the pictures are equal.
    pub fn damage(&mut self, before: &Picture, after: &Picture) -> Vec<PixelRect> {
        if before == after {
            return Vec::new();
        }
        match (&before.body, &after.body) {
            (Body::Scene(old), Body::Scene(new))
                if before.beneath.is_none() && after.beneath.is_none() && old.head == new.head =>
            {
                scene::damage(old, new, &mut self.kit)
            }
            (Body::Card(old), Body::Card(new))
                if before.beneath.is_none() && after.beneath.is_none() && old.is_but_for_ring(new) =>
            {
                let place = position::ring_place(&self.kit.plan.cards);
                match (&old.ring, &new.ring) {
                    (Some(old), Some(new)) => ring::damage(old, new, place, self.look.size),
                    _ => vec![whole(self.look.size)],
                }
            }
            _ => vec![whole(self.look.size)],
        }
    }

    /// Where both bodies show a board, if they show it in the same place.
    fn shared_board(&self, old: &Body, new: &Body) -> Option<PixelRect> {
        matches!((old, new), (Body::Scene(_), Body::Scene(_))).then_some(self.kit.plan.board_area)
    }

    /// Paints one body, without what it fades in over.
    fn lay(&mut self, body: &Body, pixmap: &mut Pixmap, rects: &[PixelRect]) {
        match body {
            Body::Scene(scene) => {
                self.scene.update(scene, &mut self.kit);
                for rect in rects {
                    copy_same(self.kit.bed(), pixmap, *rect);
                    self.scene.lay(pixmap, *rect);
                }
            }
            Body::Card(card) => {
                let painted = self.painted_card(card);
                for rect in rects {
                    copy_same(painted, pixmap, *rect);
                }
                if let Some(ring) = &card.ring {
                    let tile = self.painted_ring(ring);
                    for rect in rects {
                        tile.lay(pixmap, *rect);
                    }
                }
            }
        }
    }

    /// A ring over the card painted last.
    fn painted_ring(&mut self, ring: &RingPicture) -> Tile {
        let place = position::ring_place(&self.kit.plan.cards);
        let (_, card) = self.card.as_ref().expect("the card under a ring has just been painted");
        let mut tile = Tile::cut(card, ring::area(place, self.look.size));
        paint_ring(&mut tile.canvas(), ring, place, self.kit.theme, &mut self.kit.typesetter);
        tile
    }

    /// A card without what changes on it.
    fn painted_card(&mut self, card: &Arc<CardPicture>) -> &Pixmap {
        if self.card.as_ref().is_none_or(|(kept, _)| !kept.is_but_for_ring(card)) {
            let mut frame = self.kit.ground().clone();
            card::paint_card(&mut frame, card, &mut self.kit);
            self.card = Some((Arc::clone(card), frame));
        }
        self.card.as_ref().map(|(_, frame)| frame).expect("the card has just been painted")
    }

    /// Paints what a scene or card fades in over, once for the whole fade.
    fn keep_beneath(&mut self, body: &Arc<Body>) {
        if self.beneath.as_ref().is_some_and(|(kept, _)| kept == body) {
            return;
        }
        let mut frame = self.kit.ground().clone();
        self.lay(body, &mut frame, &[whole(self.look.size)]);
        self.beneath = Some((Arc::clone(body), frame));
    }
}
