//! House rules for subtitles, by name. They contradict each other, so none is a constant.

use crate::film::Film;

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
    /// Its name on the command line.
    pub name: &'static str,
    /// What it is for.
    pub about: &'static str,
    /// Characters a line in a wide picture.
    pub wide: usize,
    /// Characters a line in a square or tall picture, whose lines are shorter.
    pub narrow: usize,
    /// Lines at once; a tall picture may have one more.
    pub lines: usize,
    /// The speed that is aimed at.
    pub speed: Speed,
    /// The shortest time on screen.
    pub shortest: f64,
    /// The longest.
    pub longest: f64,
    /// Two subtitles follow each other at once if they are nearer than this.
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

/// All profiles; `online` is the usual one.
///
/// Broadcast and online: BBC Subtitle Guidelines 1.2.5 (2026), §3.1 (37 characters; 68 % of a wide picture's width
/// is 34 of them, 90 % of a narrow one's 25), §3.3, §4.1 (180 words a minute, 0.3 s a word: the shortest single
/// subtitle here is three words' worth), §4.5 (no gap, or a second), §5.2 (1.5 s after the voice). They name no
/// longest time; ours is that of the streaming profile. Streaming: Netflix, Timed Text Style Guide, General
/// Requirements and English Template (42 characters, 20 a second for adults, 5/6 s to 7 s, two frames between,
/// half a second after the voice).
pub const PROFILES: &[Profile] = &[
    Profile {
        name: "broadcast",
        about: "37 characters a line, 180 words a minute",
        wide: 37,
        narrow: 25,
        lines: 2,
        speed: Speed::WordsAMinute(180.0),
        shortest: 0.9,
        longest: 7.0,
        gap: Gap::NoneOrAtLeast(1.0),
        hang: 1.5,
    },
    Profile {
        name: "online",
        about: "34 characters a line, 25 where the picture is narrow, 180 words a minute",
        wide: 34,
        narrow: 25,
        lines: 2,
        speed: Speed::WordsAMinute(180.0),
        shortest: 0.9,
        longest: 7.0,
        gap: Gap::NoneOrAtLeast(1.0),
        hang: 1.5,
    },
    Profile {
        name: "streaming",
        about: "42 characters a line, 20 characters a second, two frames between",
        wide: 42,
        narrow: 42,
        lines: 2,
        speed: Speed::CharactersASecond(20.0),
        shortest: 5.0 / 6.0,
        longest: 7.0,
        gap: Gap::Frames(2),
        hang: 0.5,
    },
];

impl Profile {
    /// The profile of this name.
    pub fn named(name: &str) -> Option<&'static Profile> {
        PROFILES.iter().find(|profile| profile.name == name)
    }

    /// How much text fits at once, in a film's picture.
    pub(super) fn room(&self, film: &Film) -> Room {
        let size = film.look().size;
        let characters = if size.width > size.height { self.wide } else { self.narrow };
        Room { characters, lines: self.lines + usize::from(size.height > size.width) }
    }

    /// How long a text is to be read at least, in seconds.
    pub(super) fn reading(&self, text: &str) -> f64 {
        let read = match self.speed {
            Speed::WordsAMinute(speed) => text.split_whitespace().count() as f64 * 60.0 / speed,
            Speed::CharactersASecond(speed) => text.chars().count() as f64 / speed,
        };
        read.clamp(self.shortest, self.longest)
    }

    /// The speed of a text on screen for so many seconds, over the speed aimed at: above 1 it is too fast.
    pub(super) fn haste(&self, text: &str, seconds: f64) -> f64 {
        let read = match self.speed {
            Speed::WordsAMinute(speed) => text.split_whitespace().count() as f64 * 60.0 / speed,
            Speed::CharactersASecond(speed) => text.chars().count() as f64 / speed,
        };
        read / seconds.max(1e-3)
    }
}

/// How much text fits on screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Room {
    pub characters: usize,
    pub lines: usize,
}
