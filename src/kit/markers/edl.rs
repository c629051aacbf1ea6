//! An edit decision list as CMX 3600 systems read it (SMPTE 258M-2004; locators as general practice has them): the
//! film as one event of picture and one of narration, a locator at every moment.

use super::Marker;
use super::timecode::Timecode;
use crate::kit::material::{Material, Wishes};
use crate::kit::wording::one_line;
use crate::units::FrameIndex;
use std::fmt::Write as _;

/// Which labels the list has. A project is set to one or the other, and many readers of locators know no `;`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::kit) enum Count {
    /// Drop-frame where the rate has it.
    AsTheRate,
    /// Every label.
    NonDrop,
}

/// The list. Its first frame is `00:00:00:00`, so that its labels are the film's own clock.
pub(in crate::kit) fn write(material: &Material, wishes: &Wishes, markers: &[Marker], count: Count) -> String {
    let rate = material.film.rate();
    let drop = count == Count::AsTheRate && Timecode::is_drop(rate);
    let label = |frame| {
        if drop { Timecode::of(frame, rate).to_string() } else { Timecode::non_drop(frame, rate).to_string() }
    };
    let start = label(FrameIndex(0));
    let mode = if drop { "DROP FRAME" } else { "NON-DROP FRAME" };
    let mut text = format!("TITLE: {}\nFCM: {mode}\n\n", one_line(material.title()));
    // Writing to a text never fails.
    let event = |text: &mut String, number: u32, channel: &str, frames: u64, file: &str| {
        let (end, name) = (label(FrameIndex(frames)), one_line(file.rsplit('/').next().unwrap_or(file)));
        write!(
            text,
            "{number:03}  AX       {channel:<5} C        {start} {end} {start} {end}\n* FROM CLIP NAME: {name}\n"
        )
        .unwrap_or_default();
    };
    event(&mut text, 1, "V", material.film.frames(), &wishes.media);
    for marker in markers {
        let words = [one_line(&marker.name), one_line(&marker.note)];
        let words = words.into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(": ");
        let (label, colour) = (label(marker.frame), marker.kind.colour());
        writeln!(text, "* LOC: {label} {colour:<7} {words}").unwrap_or_default();
    }
    if let Some(narration) = &material.timeline.film.narration {
        text.push('\n');
        event(&mut text, 2, "A", material.narrated(), &narration.value);
    }
    text
}
