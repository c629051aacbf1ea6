//! How fast, how long and how wide a caption or a subtitle may be, by named profiles. They contradict each other, so none
//! is a constant.

use super::Film;
use crate::timeline::CaptionProfile;
use crate::units::Size;

/// How fast a viewer is asked to read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Speed {
    /// Words a minute.
    WordsAMinute(f64),
    /// Characters a second, spaces counted.
    CharactersASecond(f64),
}

/// One set of rules. Lengths in seconds unless said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Profile {
    /// Its name, in the timeline and on the command line.
    pub name: &'static str,
    /// What it is for.
    pub about: &'static str,
    /// Characters a line in a wide picture.
    pub wide: usize,
    /// Characters a line in a square or tall picture, whose lines are shorter.
    pub narrow: usize,
    /// The share of the picture's width that a line may have instead, where it is known as set: of a wide picture, and of
    /// others.
    pub width: Option<(f32, f32)>,
    /// Lines at once.
    pub lines: usize,
    /// The same in a tall picture.
    pub tall_lines: usize,
    /// The speed that is aimed at.
    pub speed: Speed,
    /// The shortest time on screen.
    pub shortest: f64,
    /// The longest, if there is one.
    pub longest: Option<f64>,
    /// What is between two that are near each other.
    pub gap: Gap,
    /// How long a subtitle may stay after its last word to be read.
    pub hang: f64,
}

/// What is between two subtitles that are near each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Gap {
    /// Nothing, or at least this many seconds.
    NoneOrAtLeast(f64),
    /// At least this many frames, always.
    Frames(u32),
}

/// What anybody can read: .3 s a word (BBC Subtitle Guidelines 1.2.5, §4.1), and never under 1.5 s.
pub const ANYBODY: Profile = Profile {
    name: "any reader",
    about: "200 words a minute",
    wide: usize::MAX,
    narrow: usize::MAX,
    width: None,
    lines: usize::MAX,
    tall_lines: usize::MAX,
    speed: Speed::WordsAMinute(200.0),
    shortest: 1.5,
    longest: None,
    gap: Gap::NoneOrAtLeast(0.0),
    hang: 1.5,
};

/// As on television: BBC Subtitle Guidelines 1.2.5 (2026), §3.1 (37 characters), §3.3 (two lines, three in a tall picture),
/// §4.1 (180 words a minute; four words in 1.2 s is their own example of the least), §4.5 (no gap, or a second), §5.2
/// (1.5 s after the voice). They name no longest time.
const BROADCAST: Profile = Profile {
    name: "broadcast",
    about: "37 characters a line, 180 words a minute",
    wide: 37,
    narrow: 25,
    width: None,
    lines: 2,
    tall_lines: 3,
    speed: Speed::WordsAMinute(180.0),
    shortest: 1.2,
    longest: None,
    gap: Gap::NoneOrAtLeast(1.0),
    hang: 1.5,
};

/// The same on the net, where a line may have 68 % of a wide picture's width (34 of those characters) or 90 % of a
/// narrower one's (25).
const ONLINE: Profile = Profile {
    name: "online",
    about: "34 characters a line, 25 where the picture is narrow, 180 words a minute",
    wide: 34,
    width: Some((0.68, 0.90)),
    ..BROADCAST
};

/// As at streaming houses: Netflix, Timed Text Style Guide, General Requirements and English Template (42 characters, 20 a
/// second for adults, 5/6 s to 7 s, two frames between, half a second after the voice).
const STREAMING: Profile = Profile {
    name: "streaming",
    about: "42 characters a line, 20 characters a second, two frames between",
    wide: 42,
    narrow: 42,
    width: None,
    lines: 2,
    tall_lines: 2,
    speed: Speed::CharactersASecond(20.0),
    shortest: 5.0 / 6.0,
    longest: Some(7.0),
    gap: Gap::Frames(2),
    hang: 0.5,
};

/// All profiles.
pub const PROFILES: &[&Profile] = &[&BROADCAST, &ONLINE, &STREAMING];

impl Profile {
    /// The profile of this name.
    pub fn named(name: &str) -> Option<&'static Profile> {
        PROFILES.iter().copied().find(|profile| profile.name == name)
    }

    /// The profile a film names.
    pub fn of(profile: CaptionProfile) -> &'static Profile {
        match profile {
            CaptionProfile::Broadcast => &BROADCAST,
            CaptionProfile::Online => &ONLINE,
            CaptionProfile::Streaming => &STREAMING,
        }
    }

    /// How much text fits at once, in a film's picture.
    pub fn room(&self, film: &Film) -> Room {
        let Size { width, height } = film.look().size;
        let characters = if width > height { self.wide } else { self.narrow };
        Room { characters, lines: if height > width { self.tall_lines } else { self.lines } }
    }

    /// How long a text is to be read at least, in seconds.
    pub fn reading(&self, text: &str) -> f64 {
        self.at_its_speed(text).max(self.shortest)
    }

    /// The speed of a text on screen for so many seconds, over the speed aimed at: above 1 it is too fast.
    pub fn haste(&self, text: &str, seconds: f64) -> f64 {
        self.at_its_speed(text) / seconds.max(1e-3)
    }

    fn at_its_speed(&self, text: &str) -> f64 {
        match self.speed {
            Speed::WordsAMinute(speed) => text.split_whitespace().count() as f64 * 60.0 / speed,
            Speed::CharactersASecond(speed) => characters(text) as f64 / speed,
        }
    }
}

/// The characters of a text in one line, single spaces counted.
pub fn characters(text: &str) -> usize {
    let words: Vec<usize> = text.split_whitespace().map(|word| word.chars().count()).collect();
    words.iter().sum::<usize>() + words.len().saturating_sub(1)
}

/// How much text fits on screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Room {
    /// Characters a line.
    pub characters: usize,
    /// Lines at once.
    pub lines: usize,
}
