//! How times, moves and texts are worded wherever the kit needs them.

pub(super) use crate::paint::set_prose as prose;
use crate::units::Time;
pub(super) use crate::units::escaped;
use std::fmt::Write as _;
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

/// A path as a relative reference (RFC 3986 §4.2): what has a meaning there is escaped, byte by byte.
pub(super) fn href(path: &str) -> String {
    let mut address = String::new();
    for byte in path.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte) {
            address.push(byte as char);
        } else {
            // Writing to a text never fails.
            write!(address, "%{byte:02X}").unwrap_or_default();
        }
    }
    address
}

/// The bytes that a slug has at most: three of them and a number are a file's name, which may have 255 in all.
const SLUG: usize = 72;

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
    let end = slug.char_indices().nth(48).map_or(slug.len(), |(end, _)| end);
    let short = slug[..slug.floor_char_boundary(end.min(SLUG))].trim_end_matches('-');
    if short.is_empty() { "position".to_owned() } else { short.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slugs_are_short_in_every_writing() {
        assert_eq!(slug("The pawn’s last step!"), "the-pawns-last-step");
        assert_eq!(slug(&"Läufer ".repeat(20)).chars().count(), 48);
        let long = slug(&"最後の一歩".repeat(20));
        assert!(long.len() <= SLUG && long.starts_with("最後の一歩"), "{long}");
        assert_eq!(slug("?!"), "position");
    }

    #[test]
    fn a_path_is_escaped_but_for_its_folders() {
        assert_eq!(href("../Žubr & co/take 2.flac"), "../%C5%BDubr%20%26%20co/take%202.flac");
    }
}
