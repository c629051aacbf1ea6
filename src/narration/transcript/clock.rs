//! Points of time in a transcript, in every way that files have been seen to write them.

use crate::units::Time;

/// The latest time that is read, a million hours, in microseconds: far beyond any recording, far below any overflow.
const LATEST: f64 = 3.6e15;

/// Reads a whole text as a clock: `1:02:03,4`, `02:03.400`, `123:59:59.999`, `62.5`, `62.5s`, `00:01:02:500`.
///
/// Hours may have any number of digits, minutes and seconds may be one digit or beyond 59, decimals follow a point or a
/// comma and are as many as they are. What is before zero is zero.
pub fn clock(text: &str) -> Option<Time> {
    let text = text.trim();
    let (text, negative) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (rest, true),
        None => (text, false),
    };
    let text = text.strip_suffix(['s', 'S']).unwrap_or(text);
    let mut parts: Vec<&str> = text.split(':').collect();
    let mut seconds = 0.0;
    // Three digits behind a third colon are milliseconds; fewer would be frames of an unknown rate.
    if parts.len() == 4 {
        let millis = parts.pop()?;
        if millis.len() != 3 {
            return None;
        }
        seconds += number(millis)? / 1000.0;
    }
    let (last, before) = parts.split_last()?;
    seconds += number(last)?;
    for (unit, part) in [60.0, 3600.0].into_iter().zip(before.iter().rev()) {
        if part.contains(['.', ',']) {
            return None;
        }
        seconds += number(part)? * unit;
    }
    if before.len() > 2 {
        return None;
    }
    let micros = (seconds * 1e6).round();
    (micros <= LATEST).then(|| Time::from_micros(if negative { 0 } else { micros as i64 }))
}

/// A number of seconds as a time; what is before zero is zero.
pub fn from_seconds(seconds: f64) -> Option<Time> {
    let micros = (seconds * 1e6).round();
    (micros <= LATEST).then(|| Time::from_micros(micros.max(0.0) as i64))
}

/// Digits, then perhaps a point or a comma and digits.
fn number(text: &str) -> Option<f64> {
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let (whole, decimals) = text.split_once(['.', ',']).unwrap_or((text, ""));
    if whole.is_empty() || whole.len() > 10 || !digits(whole) || !digits(decimals) {
        return None;
    }
    format!("{whole}.{decimals}0").parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clocks_in_every_form() {
        for (text, millis) in [
            ("00:02:17,440", 137_440),
            ("00:02:20.375", 140_375),
            ("00:00.000", 0),
            ("123:59:59.999", 446_399_999),
            ("0:00.5", 500),
            ("1:2", 62_000),
            ("00:60.000", 60_000),
            ("75:00", 4_500_000),
            ("00:00:01:250", 1_250),
            ("12.25s", 12_250),
            (" 7 ", 7_000),
            ("-00:00:00,040", 0),
        ] {
            assert_eq!(clock(text), Some(Time::from_millis(millis)), "{text}");
        }
    }

    #[test]
    fn what_is_no_clock() {
        for text in ["", ":", "1:", ":1", "a", "1.5:00", "1:2:3:4", "1:2:3:4:5", "1,000.5", "99999999999", "1 2", "1e3"]
        {
            assert_eq!(clock(text), None, "{text}");
        }
        assert_eq!(from_seconds(f64::NAN), None);
        assert_eq!(from_seconds(1e300), None);
        assert_eq!(from_seconds(-3.0), Some(Time::ZERO));
    }
}
