//! What is said between two moves, beyond words of the board: how much, and whether a sentence ends in it. Where a line
//! is left for another, there is nearly always talk of it.

use crate::draft::token::{Stop, Token};

/// Where sentences end in a transcript.
#[derive(Clone, Debug, Default)]
pub(in crate::draft) struct Pauses {
    /// How many sentences end before each token; empty where sentences are not written.
    ends: Vec<u32>,
}

/// What is said between two moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::draft) struct Talk {
    /// Tokens.
    pub tokens: usize,
    /// Whether a sentence ends in it, where that is known.
    pub ends: Option<bool>,
}

impl Pauses {
    /// Fewer full stops than one in so many tokens are none: the recogniser writes none.
    const SENTENCE: usize = 80;

    pub fn of(tokens: &[Token]) -> Pauses {
        let mut count = 0;
        let mut ends = vec![0];
        for token in tokens {
            count += u32::from(token.stop == Stop::Full);
            ends.push(count);
        }
        let is_written = count as usize * Pauses::SENTENCE >= tokens.len();
        Pauses { ends: if is_written { ends } else { Vec::new() } }
    }

    /// What is said from the token behind one move to the first of another.
    pub fn between(&self, behind: usize, first: usize) -> Talk {
        let ends = |token: usize| self.ends.get(token.min(self.ends.len().saturating_sub(1))).copied();
        // The last token of the move itself may end the sentence.
        let ended = ends(behind.saturating_sub(1)).zip(ends(first)).map(|(before, after)| after > before);
        Talk { tokens: first.saturating_sub(behind), ends: ended }
    }
}
