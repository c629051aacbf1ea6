//! The stable names of all diagnostics.

use std::fmt;

macro_rules! codes {
    ($($(#[$doc:meta])* $variant:ident = $name:literal,)*) => {
        /// A diagnostic's stable name, as printed in brackets and in JSON.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Code { $($(#[$doc])* $variant,)* }

        impl Code {
            /// Every code there is.
            pub const ALL: &'static [Code] = &[$(Code::$variant,)*];

            /// The printed form: lower case, words joined by hyphens.
            pub fn name(self) -> &'static str {
                match self { $(Code::$variant => $name,)* }
            }
        }
    };
}

// One line a code, in alphabetical order of the name.
codes! {
    /// A SAN that several pieces could play.
    AmbiguousMove = "ambiguous-move",
    /// `back` to a label or a count of plies that is not there.
    BackNowhere = "back-nowhere",
    /// A value of the wrong form or outside its range.
    BadValue = "bad-value",
    /// Chapters that a host would not take from a description.
    Chapters = "chapters",
    /// A claim that the position contradicts.
    ClaimRefuted = "claim-refuted",
    /// A claim that is neither proven nor refuted within the budget.
    ClaimOpen = "claim-open",
    /// Two keys that exclude each other.
    Conflict = "conflict",
    /// A name given twice.
    Duplicate = "duplicate",
    /// A FEN that cannot be read or a position that cannot be.
    Fen = "fen",
    /// Pictures that flash more than is safe to watch.
    Flash = "flash",
    /// A caption that goes before it can be read.
    HurriedCaption = "hurried-caption",
    /// A ghost move that could not be played.
    IllegalGhost = "illegal-ghost",
    /// A move that the laws do not allow.
    IllegalMove = "illegal-move",
    /// A move of the solution that gives away what the task asks, or a try that reaches it.
    LineContradicts = "line-contradicts",
    /// A text that does not fit its place.
    LongText = "long-text",
    /// Two colours too much alike to tell what is drawn in them.
    LowContrast = "low-contrast",
    /// A named file that is missing, unreadable or of an unknown kind.
    Media = "media",
    /// A character no bundled font can draw.
    MissingGlyph = "missing-glyph",
    /// A required key that is not there.
    MissingKey = "missing-key",
    /// A motif on the board that marks could show.
    Motif = "motif",
    /// A text that runs to the right and to the left.
    MixedDirections = "mixed-directions",
    /// A PGN that cannot be read.
    Pgn = "pgn",
    /// Text that is not a move at all.
    SanSyntax = "san-syntax",
    /// Not TOML.
    Syntax = "syntax",
    /// A time before the one above it.
    TimeGoesBack = "time-goes-back",
    /// A timed transcript of which a part, or all, cannot be read.
    Transcript = "transcript",
    /// A key the timeline does not have.
    UnknownKey = "unknown-key",
    /// A composition that seems never to have been published.
    Unpublished = "unpublished",
    /// A word that is none of those allowed here.
    UnknownWord = "unknown-word",
    /// A label, scene or file that nothing bears.
    UnknownName = "unknown-name",
    /// A wrong `+` or `#`.
    WrongSuffix = "wrong-suffix",
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::Code;
    use std::collections::HashSet;

    #[test]
    fn names_are_unique_and_hyphenated() {
        let names: HashSet<_> = Code::ALL.iter().map(|code| code.name()).collect();
        assert_eq!(names.len(), Code::ALL.len());
        assert!(names.iter().all(|name| name.chars().all(|c| c.is_ascii_lowercase() || c == '-')));
    }
}
