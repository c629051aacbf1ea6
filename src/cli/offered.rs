//! Values that a shell's completion offers, where any text may be given and is judged with the timeline.

use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::{Arg, Command, Error};
use std::ffi::OsStr;

/// Layouts.
pub const LAYOUTS: Offered = Offered(&["panel", "lower-third", "overlay"]);
/// Shapes of the frame; a size is one too.
pub const FRAMES: Offered = Offered(&["wide", "tall", "square"]);
/// Frame rates.
pub const RATES: Offered = Offered(&["24", "25", "30", "50", "60", "24000/1001", "30000/1001", "60000/1001"]);
/// Themes; a file of own colours is one too.
pub const THEMES: Offered = Offered(&["dusk", "tide", "ink"]);

/// Takes any text and offers these. What is wrong with another is said in the timeline's words, where it is put into the
/// timeline's place.
#[derive(Clone, Copy, Debug)]
pub struct Offered(&'static [&'static str]);

impl TypedValueParser for Offered {
    type Value = String;

    fn parse_ref(&self, command: &Command, argument: Option<&Arg>, value: &OsStr) -> Result<String, Error> {
        StringValueParser::new().parse_ref(command, argument, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(self.0.iter().map(PossibleValue::new)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::timeline::{FrameShape, Layout, ThemeName, frame_rate, words_of};

    #[test]
    fn what_is_offered_is_accepted() {
        assert!(LAYOUTS.0.iter().all(|word| word.parse::<Layout>().is_ok()));
        assert!(FRAMES.0.iter().all(|word| word.parse::<FrameShape>().is_ok()));
        assert!(RATES.0.iter().all(|word| frame_rate(word).is_ok()));
        assert!(THEMES.0.iter().all(|word| word.parse::<ThemeName>().is_ok()));
        // And no layout or theme is left out.
        assert_eq!((LAYOUTS.0, THEMES.0), (&words_of::<Layout>()[..], &words_of::<ThemeName>()[..]));
    }
}
