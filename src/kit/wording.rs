//! How times, moves and texts are worded wherever the kit needs them.

use crate::units::Time;
use std::time::Duration;

/// `0:08`, or `1:02:03` from an hour on: whole seconds, rounded down, as chapter lists have them.
pub(super) fn clock(time: Time) -> String {
    let seconds = time.as_micros().max(0) / 1_000_000;
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    if hours > 0 { format!("{hours}:{minutes:02}:{seconds:02}") } else { format!("{minutes}:{seconds:02}") }
}

/// `0:08.2`: tenths, rounded down.
pub(super) fn clock_tenths(time: Time) -> String {
    format!("{}.{}", clock(time), time.as_micros().max(0) / 100_000 % 10)
}

/// `1 minute 31 seconds`.
pub(super) fn spoken_length(length: Duration) -> String {
    let counted = |count: u64, one: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        _ => Some(format!("{count} {one}s")),
    };
    let seconds = (length.as_micros() + 500_000) / 1_000_000;
    let seconds = u64::try_from(seconds).unwrap_or(u64::MAX);
    let parts =
        [counted(seconds / 3600, "hour"), counted(seconds / 60 % 60, "minute"), counted(seconds % 60, "second")];
    let said = parts.into_iter().flatten().collect::<Vec<_>>().join(" ");
    if said.is_empty() { "0 seconds".to_owned() } else { said }
}

/// A text on one line, with single spaces.
pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn listed(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [before @ .., last] => format!("{} and {last}", before.join(", ")),
    }
}

/// A text inside HTML or XML, also inside a quoted attribute.
pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// A name that may stand in a file name everywhere: letters and digits in lower case, joined by hyphens.
pub(super) fn slug(text: &str) -> String {
    let mut slug = String::new();
    for sign in text.chars().flat_map(char::to_lowercase) {
        if sign.is_alphanumeric() {
            slug.push(sign);
        } else if !slug.is_empty() && !slug.ends_with('-') && !matches!(sign, '\'' | '’') {
            slug.push('-');
        }
    }
    let short: String = slug.chars().take(48).collect();
    let short = short.trim_end_matches('-');
    if short.is_empty() { "position".to_owned() } else { short.to_owned() }
}
