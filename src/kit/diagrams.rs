//! Every position of note as a diagram: SVG in ink for print, PNG in the film's own colours, both with its own pieces.

use super::fen::{self, Moment};
use super::material::Material;
use super::wording::{one_line, slug};
use super::{Content, KitFile};
use crate::film::{BoardPicture, Body, Look, Standing};
use crate::paint::{Pixmap, board_alone, svg_diagram};
use crate::units::Placement;

/// A square of the PNG in pixels: with its margin the board is then 1075 wide, enough for any post.
const SQUARE: u32 = 125;
/// How wide the SVG is, unless scaled.
const SVG: u32 = 480;

/// A position of note, drawn.
pub(super) struct Diagram {
    /// The file's name without its ending.
    pub name: String,
    /// What it shows, in words.
    pub title: String,
    pub svg: String,
    pub png: Painting,
}

/// A board to be painted.
pub struct Painting {
    look: Look,
    board: BoardPicture,
}

impl Painting {
    /// Its pixels.
    pub fn paint(&self) -> Pixmap {
        board_alone(self.look.theme, &self.look.own, &self.board, SQUARE)
    }
}

/// Draws them all.
pub(super) fn make(material: &Material, stem: &str) -> Vec<Diagram> {
    let mut taken: Vec<String> = Vec::new();
    let draw = |(number, moment): (usize, Moment)| {
        let node = moment.position.node(moment.node);
        let chapter = one_line(&moment.position.chapter.name);
        let mut name = format!("diagrams/{}-{:02}-{}-{}", slug(stem), number + 1, slug(&chapter), slug(moment.name));
        while taken.contains(&name) {
            name.push('x');
        }
        taken.push(name.clone());
        let title = match moment.name {
            "start" => chapter,
            "end" => format!("{chapter}: at the end"),
            label => format!("{chapter}: {label}"),
        };
        let board = shown(material, &moment).unwrap_or_else(|| plain(&node.placement));
        let look = material.film.look();
        let svg = svg_diagram(&node.placement, &look.own, &title, SVG);
        Diagram { name, title, svg, png: Painting { look, board } }
    };
    fen::moments(material).into_iter().enumerate().map(draw).collect()
}

/// What the film shows of a labelled position, marks and arrows included.
fn shown(material: &Material, moment: &Moment) -> Option<BoardPicture> {
    let label = moment.position.node(moment.node).label.as_deref()?;
    let scene = material.scene_at(moment.position.scene).name.as_deref();
    let full = scene.map_or_else(|| label.to_owned(), |scene| format!("{scene}/{label}"));
    match material.film.at(material.film.moment(&full)?).body {
        Body::Scene(scene) => Some(scene.board),
        Body::Card(_) => None,
    }
}

/// The pieces alone.
fn plain(placement: &Placement) -> BoardPicture {
    let standing = placement.iter().map(|(square, piece)| Standing { square, piece, opacity: 1.0 }).collect();
    BoardPicture { standing, ..BoardPicture::default() }
}

impl Diagram {
    pub(super) fn into_files(self) -> [KitFile; 2] {
        [
            KitFile::text(format!("{}.svg", self.name), self.title.clone(), self.svg),
            KitFile {
                name: format!("{}.png", self.name),
                about: self.title,
                content: Content::Picture(Box::new(self.png)),
            },
        ]
    }
}
