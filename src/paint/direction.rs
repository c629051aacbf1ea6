//! Which way a text runs. Words that run to the left are set where a font of the film's own has them, but not together
//! with words that run to the right: such a text would need an order of its own, and is refused.

use std::ops::RangeInclusive;

/// Where the letters that run to the left are: Hebrew, Arabic and their kin, with their presentation forms (Unicode,
/// blocks of bidirectional class R and AL).
const LEFTWARD: [RangeInclusive<u32>; 5] =
    [0x0590..=0x08FF, 0xFB1D..=0xFDFF, 0xFE70..=0xFEFF, 0x1_0800..=0x1_0FFF, 0x1_E800..=0x1_EFFF];

fn runs_left(character: char) -> bool {
    LEFTWARD.iter().any(|range| range.contains(&u32::from(character)))
}

/// Whether a character by itself makes a text run to the right: letters, figures, and the signs of the pieces.
fn runs_right(character: char) -> bool {
    !runs_left(character) && (character.is_alphanumeric() || ('\u{2654}'..='\u{265F}').contains(&character))
}

/// Whether a text runs to the left: by its first character that has a direction.
pub(super) fn is_leftward(text: &str) -> bool {
    text.chars().find(|&character| runs_left(character) || runs_right(character)).is_some_and(runs_left)
}

/// In a text that runs both ways, the first character that runs against the first one that has a direction.
pub(super) fn against_the_run(text: &str) -> Option<char> {
    let first = text.chars().find(|&character| runs_left(character) || runs_right(character))?;
    text.chars().find(|&character| if runs_left(first) { runs_right(character) } else { runs_left(character) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_direction_is_no_fault_and_two_are_told_by_the_first_that_turns() {
        for text in ["White to play!", "Белые: Крf1", "", "…", "שלום עולם", "سلام، يا عالم"]
        {
            assert_eq!(against_the_run(text), None, "{text}");
        }
        assert!(is_leftward("… שלום") && !is_leftward("Réti") && !is_leftward("…"));
        assert_eq!(against_the_run("שלום 5"), Some('5'));
        assert_eq!(against_the_run("שלום ♔"), Some('♔'));
        assert_eq!(against_the_run("Réti, סיום"), Some('ס'));
    }
}
