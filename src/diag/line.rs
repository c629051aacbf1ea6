//! A line of an author's text as a terminal can show it: characters as cells, tabs expanded, nothing that moves the
//! cursor, and a window on lines that are too long.

use std::ops::Range;
use unicode_width::UnicodeWidthChar;

/// Columns from one tab stop to the next.
const TAB: usize = 4;

/// One character of a line as it is shown.
struct Cell {
    shown: char,
    /// The first column it takes, from 0.
    column: usize,
    /// How many columns it takes; 0 for a combining mark.
    width: usize,
}

/// A line, laid out in columns.
pub(super) struct Line {
    cells: Vec<Cell>,
    width: usize,
}

/// A part of a line, laid out anew from column 0.
pub(super) struct Window {
    /// What to print.
    pub(super) text: String,
    shown: Range<usize>,
    indent: usize,
}

impl Line {
    /// Lays a line out; `text` has no line ending.
    pub(super) fn new(text: &str) -> Line {
        let mut cells = Vec::with_capacity(text.len());
        let mut column = 0;
        for character in text.chars() {
            let (shown, width) = match character {
                '\t' => (' ', TAB - column % TAB),
                other => {
                    let shown = stand_in(other);
                    (shown, shown.width().unwrap_or(0))
                }
            };
            cells.push(Cell { shown, column, width });
            column += width;
        }
        Line { cells, width: column }
    }

    /// The columns of the characters `from..to`, both counted from 0; never empty, so that a caret can stand there.
    pub(super) fn columns(&self, from: usize, to: usize) -> Range<usize> {
        let start = self.column(from);
        start..self.column(to).max(start + 1)
    }

    fn column(&self, character: usize) -> usize {
        self.cells.get(character).map_or(self.width, |cell| cell.column)
    }

    /// The first character that is not white space.
    pub(super) fn first_inked(&self) -> usize {
        self.cells.iter().position(|cell| !cell.shown.is_whitespace()).unwrap_or(0)
    }

    /// How many characters the line has.
    pub(super) fn len(&self) -> usize {
        self.cells.len()
    }

    /// Whether these columns can be shown together in `room` columns.
    pub(super) fn can_show(&self, columns: &Range<usize>, room: usize) -> bool {
        self.width <= room || columns.end - columns.start + 2 <= room
    }

    /// As much of the line as `room` columns hold, chosen so that `columns` are in sight, `…` where it is cut.
    pub(super) fn window(&self, columns: &Range<usize>, room: usize) -> Window {
        let cut_left = if self.width <= room || columns.end < room {
            0
        } else {
            // A third of the room shows what leads up to the place, unless that hides the place's end.
            let wanted = columns.start.saturating_sub(room / 3);
            wanted.max((columns.end + 2).saturating_sub(room)).min(columns.start)
        };
        let first = self.cells.partition_point(|cell| cell.column < cut_left);
        let left = self.column(first);
        let indent = usize::from(first > 0);
        let last = if self.width - left + indent <= room {
            self.cells.len()
        } else {
            let right = left + room - indent - 1;
            self.cells.partition_point(|cell| cell.column + cell.width <= right)
        };
        let mut text = String::new();
        if first > 0 {
            text.push('\u{2026}');
        }
        for cell in self.cells.get(first..last).unwrap_or_default() {
            // A tab is as many blanks as it takes columns; all else is one character.
            text.extend(std::iter::repeat_n(cell.shown, if cell.shown == ' ' { cell.width } else { 1 }));
        }
        let right = self.column(last);
        if last < self.cells.len() {
            text.push('\u{2026}');
        }
        Window { text: text.trim_end().to_owned(), shown: left..right.max(left), indent }
    }
}

impl Window {
    /// Where columns of the line are in the window, clipped to it; at least one column.
    pub(super) fn place(&self, columns: &Range<usize>) -> Range<usize> {
        let clip = |column: usize| column.clamp(self.shown.start, self.shown.end + 1) - self.shown.start + self.indent;
        let start = clip(columns.start);
        start..clip(columns.end).max(start + 1)
    }
}

/// A text that cannot move the cursor, change colours or turn the reading direction.
pub(super) fn harmless(text: &str) -> String {
    text.chars().map(stand_in).collect()
}

/// The character itself, or one that stands for what a terminal would act on or hide.
fn stand_in(character: char) -> char {
    match character {
        // Unicode's control pictures, U+2400 on.
        '\0'..='\u{1f}' => char::from_u32(0x2400 + character as u32).unwrap_or('\u{fffd}'),
        '\u{7f}' => '\u{2421}',
        // C1 controls, marks that turn the direction, and what takes no room at all.
        '\u{80}'..='\u{9f}'
        | '\u{ad}'
        | '\u{200b}'
        | '\u{200e}'
        | '\u{200f}'
        | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}'
        | '\u{feff}' => '\u{fffd}',
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn tabs_reach_the_next_stop_and_wide_characters_take_two_columns() {
        let line = Line::new("a\t\u{6f22}b");
        assert_eq!(line.columns(1, 2), 1..4);
        assert_eq!(line.columns(2, 3), 4..6);
        assert_eq!(line.columns(3, 4), 6..7);
        assert_eq!(line.window(&(0..1), 80).text, "a   \u{6f22}b");
    }

    #[test]
    fn a_combining_mark_takes_no_column_of_its_own() {
        let line = Line::new("e\u{301}x");
        assert_eq!(line.columns(2, 3), 1..2);
    }

    #[test]
    fn controls_are_shown_and_not_obeyed() {
        assert_eq!(harmless("a\u{1b}[31m\u{202e}\n"), "a\u{241b}[31m\u{fffd}\u{240a}");
    }

    #[test]
    fn a_long_line_is_cut_on_both_sides_of_the_place() {
        let text: String = ('a'..='z').cycle().take(200).collect();
        let line = Line::new(&text);
        let window = line.window(&(100..103), 30);
        assert_eq!(window.text.chars().count(), 30);
        assert!(window.text.starts_with('\u{2026}') && window.text.ends_with('\u{2026}'));
        let place = window.place(&(100..103));
        let shown: String = window.text.chars().skip(place.start).take(3).collect();
        assert_eq!(shown, text[100..103]);
    }

    proptest! {
        #[test]
        fn a_window_keeps_to_its_room_and_its_place(
            text in "[a-z\t\u{6f22}\u{301} ]{0,120}", from in 0_usize..120, length in 0_usize..20, room in 24_usize..60,
        ) {
            let line = Line::new(&text);
            let columns = line.columns(from, from + length);
            let window = line.window(&columns, room);
            let width: usize = window.text.chars().map(|c| c.width().unwrap_or(0)).sum();
            prop_assert!(width <= room, "{width} columns in a room of {room}");
            let place = window.place(&columns);
            prop_assert!(place.start < place.end && place.end <= room + 2);
        }
    }
}
