//! `--loudness`, `--true-peak`: the narration brought to a loudness; and what `check` says of it.

use super::args::{Talk, heading};
use super::failure::Failure;
use super::load::Loaded;
use super::report;
use crate::encode::EncodeError;
use crate::narration::{self, Levelled, Loudness, NarrationError, Recording, TARGETS};
use clap::Args;
use serde_json::{Value, json};
use std::fmt::Write as _;

/// How loud the narration is to be.
#[derive(Args, Clone, Copy, Debug, Default, PartialEq)]
pub struct Levels {
    /// Bring the narration to this loudness in LUFS: -14 for video hosts, -16 for speech on the net, -23 for broadcast
    #[arg(long, value_name = "LUFS", allow_negative_numbers = true, value_parser = lufs, help_heading = heading::SOUND)]
    pub loudness: Option<f64>,
    /// With --loudness: no true peak above this, in dBTP
    #[arg(long, value_name = "DBTP", allow_negative_numbers = true, default_value = "-1", value_parser = dbtp,
          requires = "loudness", help_heading = heading::SOUND)]
    pub true_peak: f64,
}

fn lufs(text: &str) -> Result<f64, String> {
    within(text, -40.0, -5.0, "a loudness is -40 to -5 LUFS, such as -14")
}

fn dbtp(text: &str) -> Result<f64, String> {
    within(text, -20.0, 0.0, "a true peak is -20 to 0 dBTP, such as -1")
}

fn within(text: &str, lowest: f64, highest: f64, what: &str) -> Result<f64, String> {
    let number = text.parse().ok().filter(|number| (lowest..=highest).contains(number));
    number.ok_or_else(|| what.to_owned())
}

/// The recording at the loudness asked for, and a line about it.
pub fn apply(recording: &Recording, levels: Levels, talk: &Talk) -> Result<Recording, Failure> {
    let Some(target) = levels.loudness else { return Ok(recording.clone()) };
    let levelled = narration::level(recording, target, levels.true_peak).map_err(EncodeError::from)?;
    let Some(Levelled { recording: levelled, before, after }) = levelled else {
        report::say(talk, "note: the narration is too quiet to have a loudness; it is left as it is");
        return Ok(recording.clone());
    };
    let lufs =
        |loudness: Loudness| loudness.integrated.map_or_else(|| "silence".to_owned(), |lufs| format!("{lufs:.1}"));
    let peak = after.true_peak;
    report::say(talk, &format!("narration from {} to {} LUFS, true peak {peak:.1} dBTP", lufs(before), lufs(after)));
    if after.integrated.is_some_and(|got| got < target - 0.1) {
        report::say(talk, "note: louder than that the limiter would be heard; take out its highest peaks first");
    }
    Ok(levelled)
}

/// The loudness of a film's narration, if it has one that can be heard.
pub fn measured(loaded: &Loaded) -> Result<Option<Loudness>, NarrationError> {
    loaded.recording.as_ref().map(narration::measure).transpose()
}

/// Two lines for `check`: what is measured, and how far it is from what is usual.
pub fn text(loudness: &Loudness) -> String {
    let Some(lufs) = loudness.integrated else {
        return "narration: too quiet to have a loudness\n".to_owned();
    };
    let Loudness { range, true_peak, .. } = loudness;
    let mut text = format!("narration: {lufs:.1} LUFS, range {range:.1} LU, true peak {true_peak:.1} dBTP\n");
    let distance = |(target, whose): (f64, &str)| format!("{:+.1} LU to {target} ({whose})", target - lufs);
    let _ = writeln!(text, "loudness: {}", TARGETS.map(distance).join(", "));
    text
}

/// `null`, or an object with `lufs`, `range`, `true_peak` and `targets`; what silence has not is `null`.
pub fn json(loudness: Option<&Loudness>) -> Value {
    let Some(Loudness { integrated, range, true_peak }) = loudness else { return Value::Null };
    let round = |number: f64| (number * 100.0).round() / 100.0;
    let targets = TARGETS.map(|(target, whose)| {
        json!({ "lufs": target, "for": whose, "distance": integrated.map(|lufs| round(target - lufs)) })
    });
    json!({
        "lufs": integrated.map(round),
        "range": round(*range),
        "true_peak": true_peak.is_finite().then(|| round(*true_peak)),
        "targets": targets,
    })
}
