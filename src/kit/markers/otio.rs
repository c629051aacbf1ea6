//! OpenTimelineIO: the film (or the overlay's pictures), the narration beneath it, and the markers, ready to be opened
//! in an editor's project.

use super::{Kind, Marker};
use crate::kit::material::{Material, Wishes};
use crate::kit::wording::href;
use crate::timeline::Layout;
use crate::units::{FrameIndex, FrameRate};
use serde_json::{Value, json};

/// The timeline as JSON. Markers are `Marker.2`, which every version reads.
pub(in crate::kit) fn write(material: &Material, wishes: &Wishes, markers: &[Marker]) -> String {
    let rate = material.film.rate();
    let frames = material.film.frames();
    let range =
        |frames| json!({ "OTIO_SCHEMA": "TimeRange.1", "start_time": time(0, rate), "duration": time(frames, rate) });
    let reference = if material.film.look().layout == Layout::Overlay {
        // The overlay has its transparency only as pictures: `plyreel frames FILE -o frames` beside the timeline.
        json!({
            "OTIO_SCHEMA": "ImageSequenceReference.1",
            "target_url_base": address(&wishes.frames),
            "name_prefix": "",
            "name_suffix": ".png",
            "start_frame": 0,
            "frame_step": 1,
            "rate": seconds(rate),
            "frame_zero_padding": FrameIndex::digits(frames),
            "missing_frame_policy": "error",
            "available_range": range(frames),
            "metadata": {},
        })
    } else {
        external(&wishes.media, &range(frames))
    };
    let placed: Vec<Value> = markers.iter().map(|marker| placed(material, marker, rate)).collect();
    let picture = clip(material.title(), &range(frames), &reference, &placed);
    let mut tracks = vec![track("Picture", "Video", &picture)];
    if let Some(narration) = &material.timeline.film.narration {
        let (file, heard) = (wishes.narration.as_ref().unwrap_or(&narration.value), range(material.narrated()));
        let sound = clip("Narration", &heard, &external(file, &heard), &[]);
        tracks.push(track("Narration", "Audio", &sound));
    }
    let timeline = json!({
        "OTIO_SCHEMA": "Timeline.1",
        "name": material.title(),
        "global_start_time": time(0, rate),
        "tracks": {
            "OTIO_SCHEMA": "Stack.1",
            "name": "tracks",
            "children": tracks,
            "effects": [],
            "markers": [],
            "metadata": {},
            "source_range": null,
        },
        "metadata": {},
    });
    let mut text = serde_json::to_string_pretty(&timeline).unwrap_or_default();
    text.push('\n');
    text
}

fn seconds(rate: FrameRate) -> f64 {
    f64::from(rate.num()) / f64::from(rate.den())
}

fn time(frame: u64, rate: FrameRate) -> Value {
    json!({ "OTIO_SCHEMA": "RationalTime.1", "rate": seconds(rate), "value": frame as f64 })
}

fn external(file: &str, range: &Value) -> Value {
    let url = address(file);
    json!({ "OTIO_SCHEMA": "ExternalReference.1", "target_url": url, "available_range": range, "metadata": {} })
}

/// A file as `target_url` has it: an address as it is, a path as a reference relative to the kit's folder.
fn address(file: &str) -> String {
    if file.contains("://") { file.to_owned() } else { href(file) }
}

fn clip(name: &str, range: &Value, reference: &Value, markers: &[Value]) -> Value {
    json!({
        "OTIO_SCHEMA": "Clip.2",
        "name": name,
        "source_range": range,
        "active_media_reference_key": "DEFAULT_MEDIA",
        "media_references": { "DEFAULT_MEDIA": reference },
        "markers": markers,
        "effects": [],
        "enabled": true,
        "metadata": {},
    })
}

fn track(name: &str, kind: &str, clip: &Value) -> Value {
    json!({
        "OTIO_SCHEMA": "Track.1",
        "name": name,
        "kind": kind,
        "children": [clip],
        "markers": [],
        "effects": [],
        "source_range": null,
        "metadata": {},
    })
}

/// A marker of no length; only a scene's lasts as long as the scene.
fn placed(material: &Material, marker: &Marker, rate: FrameRate) -> Value {
    let end = match marker.kind {
        Kind::Scene => {
            rate.first_at(material.film.chapters()[marker.scene].end).min(FrameIndex(material.film.frames()))
        }
        _ => marker.frame,
    };
    json!({
        "OTIO_SCHEMA": "Marker.2",
        "name": marker.name,
        "color": marker.kind.colour(),
        "comment": marker.note,
        "marked_range": {
            "OTIO_SCHEMA": "TimeRange.1",
            "start_time": time(marker.frame.0, rate),
            "duration": time(end.0.saturating_sub(marker.frame.0), rate),
        },
        "metadata": { "plyreel": { "kind": marker.kind.word(), "note": marker.note } },
    })
}
