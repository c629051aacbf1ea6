//! WebVTT metadata: every moment as a line of JSON, for web pages that follow the film.

use super::{Kind, Marker};
use crate::game::Body;
use crate::kit::fen;
use crate::kit::material::Material;
use crate::kit::subtitles::vtt::{Payload, file};
use crate::units::Time;
use serde_json::{Value, json};

/// A cue from each moment to the next; a scene's lasts as long as the scene.
pub(in crate::kit) fn write(material: &Material, markers: &[Marker]) -> String {
    let end = Time::ZERO + material.film.length();
    let cues = markers.iter().enumerate().filter_map(|(at, marker)| {
        let until = match marker.kind {
            Kind::Scene => material.film.chapters()[marker.scene].end,
            _ => markers[at + 1..].first().map_or(end, |next| next.time),
        };
        // Two moments at once: the earlier one still has its millisecond, for a cue may not be empty.
        let until = until.max(marker.time + std::time::Duration::from_millis(1));
        (marker.time < end).then(|| (marker.time, until, value(material, marker), Payload::Data))
    });
    file("metadata", cues)
}

/// One line; `>` is escaped, so that no arrow can stand in it.
fn value(material: &Material, marker: &Marker) -> String {
    let mut value = json!({
        "kind": marker.kind.word(),
        "frame": marker.frame.0,
        "scene": material.film.chapters()[marker.scene].name,
        "name": marker.name,
    });
    if !marker.note.is_empty() {
        value["caption"] = Value::from(marker.note.as_str());
    }
    if let (Some(node), Body::Board(board)) = (marker.node, &material.scene_at(marker.scene).body) {
        value["fen"] = Value::from(fen::export(&board.nodes[node.0]));
    }
    value.to_string().replace('>', "\\u003e")
}
