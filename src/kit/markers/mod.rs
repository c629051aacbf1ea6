//! Markers for editing programs: one at every cue and move, and one at every scene.

pub(super) mod edl;
pub(super) mod metadata;
pub(super) mod otio;
pub mod timecode;

use super::material::{Material, numbered};
use super::wording::one_line;
use crate::game::{Action, Body, Node, NodeId};
use crate::units::{FrameIndex, Time};

/// What a marker stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Scene,
    /// A move is played.
    Move,
    /// The board goes back.
    Back,
    /// Marks, arrows or words change.
    Sign,
}

/// A moment of the film, in order.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Marker {
    pub time: Time,
    /// The first frame that shows it.
    pub frame: FrameIndex,
    pub kind: Kind,
    /// Short: a move, a scene's name.
    pub name: String,
    /// The caption that comes with it, or empty.
    pub note: String,
    pub scene: usize,
    pub node: Option<NodeId>,
}

/// Every moment.
pub(super) fn of(material: &Material) -> Vec<Marker> {
    let film = material.film;
    let last = FrameIndex(film.frames().saturating_sub(1));
    let frame = |time| film.rate().first_at(time).min(last);
    let mut markers = Vec::new();
    for (scene, chapter) in film.chapters().iter().enumerate() {
        let time = chapter.start;
        let name = one_line(&chapter.name);
        markers.push(Marker {
            time,
            frame: frame(time),
            kind: Kind::Scene,
            name,
            note: String::new(),
            scene,
            node: None,
        });
        let Body::Board(board) = &material.scene_at(scene).body else { continue };
        for timed in material.steps(scene) {
            let (time, step) = (timed.time, timed.step);
            let note = step.text.as_ref().map(|words| one_line(&words.text)).unwrap_or_default();
            let node = &board.nodes[step.node.0];
            let (kind, name) = match step.action {
                Action::Play => (Kind::Move, place(node)),
                Action::TakeBack(_) | Action::Cut => (Kind::Back, format!("back to {}", place(node))),
                Action::Stay if step.ghost.is_some() => (Kind::Sign, "ghost".to_owned()),
                Action::Stay if !step.arrows.is_empty() => (Kind::Sign, "arrows".to_owned()),
                Action::Stay if !step.marks.is_empty() => (Kind::Sign, "marks".to_owned()),
                Action::Stay => (Kind::Sign, "words".to_owned()),
            };
            markers.push(Marker { time, frame: frame(time), kind, name, note, scene, node: Some(step.node) });
        }
    }
    markers
}

/// A position by the move that led to it.
fn place(node: &Node) -> String {
    node.came.as_ref().map_or_else(|| "the start".to_owned(), |(_, ply)| numbered(ply))
}

impl Kind {
    /// Colours that both OpenTimelineIO and CMX 3600 lists know.
    fn colour(self) -> &'static str {
        match self {
            Kind::Scene => "GREEN",
            Kind::Move => "RED",
            Kind::Back => "BLUE",
            Kind::Sign => "YELLOW",
        }
    }

    fn word(self) -> &'static str {
        match self {
            Kind::Scene => "scene",
            Kind::Move => "move",
            Kind::Back => "back",
            Kind::Sign => "sign",
        }
    }
}
