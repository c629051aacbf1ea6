//! SRT: no standard, one custom (Matroska codec specification, "SRT Subtitles"): number, times with a comma, text, an
//! empty line; UTF-8.

use super::Subtitle;
use crate::units::Time;
use std::fmt::Write as _;

/// The whole file.
pub(in crate::kit) fn write(titles: &[Subtitle]) -> String {
    let mut text = String::new();
    for (number, title) in (1..).zip(titles) {
        let (start, end) = (stamp(title.start), stamp(title.end));
        // Readers take what stands in angle brackets for markup, and there is no escape.
        let lines = title.lines.join("\n").replace('<', "‹").replace('>', "›");
        // Writing to a text never fails.
        writeln!(text, "{number}\n{start} --> {end}\n{lines}\n").unwrap_or_default();
    }
    text
}

/// `00:02:17,440`, rounded down to the millisecond.
fn stamp(time: Time) -> String {
    let millis = time.as_micros().max(0) / 1000;
    let (seconds, millis) = (millis / 1000, millis % 1000);
    format!("{:02}:{:02}:{:02},{millis:03}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_written_in_full() {
        for (millis, text) in [(59_999, "00:00:59,999"), (3_600_000, "01:00:00,000"), (359_999_999, "99:59:59,999")] {
            assert_eq!(stamp(Time::from_millis(millis)), text);
        }
    }
}
