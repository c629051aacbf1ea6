//! The whole proof of a mate: one move of the mating side, every answer, and so on to each mate.

use super::{Outcome, Search};
use crate::game::rules;
use shakmaty::{Chess, Color, Move, Position};

/// A tree of more moves than this is not written.
const LARGEST: usize = 50_000;

/// The tree as it grows: words of PGN movetext.
struct Text {
    words: Vec<String>,
    /// The next move of Black needs its number, because something stood between.
    broken: bool,
}

impl Text {
    fn play(&mut self, here: &Chess, chosen: Move) {
        let number = here.fullmoves();
        let san = rules::san(here, chosen);
        match here.turn() {
            Color::White => self.words.push(format!("{number}.")),
            Color::Black if self.broken => self.words.push(format!("{number}...")),
            Color::Black => {}
        }
        self.words.push(san);
        self.broken = false;
    }

    fn bracket(&mut self, sign: &str) {
        self.words.push(sign.to_owned());
        self.broken = true;
    }
}

impl Search {
    /// The tree of a mate in `moves`, as PGN movetext (1994, §8.2) in lines of less than 80 characters: the longest
    /// defence is the main line, every other one a variation. `None` if there is no such mate, if the budget ended, or
    /// if the tree is too large to be read.
    pub(in super::super) fn tree(&mut self, position: &Chess, moves: u32) -> Option<String> {
        let Outcome::Mate(shortest) = self.shortest(position, moves) else { return None };
        let mut text = Text { words: Vec::new(), broken: true };
        self.mating_move(position, shortest, &mut text)?;
        text.words.push("*".to_owned());
        let mut lines = vec![String::new()];
        for word in text.words {
            let line = lines.last_mut()?;
            if !line.is_empty() && line.len() + 1 + word.len() >= 80 {
                lines.push(word);
            } else {
                let gap = if line.is_empty() { "" } else { " " };
                line.push_str(gap);
                line.push_str(&word);
            }
        }
        Some(lines.join("\n"))
    }

    /// Writes the move that mates in `moves`, with all that follows.
    fn mating_move(&mut self, here: &Chess, moves: u32, text: &mut Text) -> Option<()> {
        let (after, chosen) = self.key(here, moves)?;
        text.play(here, chosen);
        let mut answers: Vec<(u32, Move, Chess)> = Vec::new();
        for answer in after.legal_moves() {
            let mut next = after.clone();
            next.play_unchecked(answer);
            let Outcome::Mate(left) = self.shortest(&next, moves - 1) else { return None };
            answers.push((left, answer, next));
        }
        if text.words.len() > LARGEST {
            return None;
        }
        answers.sort_by_key(|(left, ..)| std::cmp::Reverse(*left));
        let Some((main, others)) = answers.split_first() else { return Some(()) };
        text.play(&after, main.1);
        for (left, answer, next) in others {
            text.bracket("(");
            text.play(&after, *answer);
            self.mating_move(next, *left, text)?;
            text.bracket(")");
        }
        self.mating_move(&main.2, main.0, text)
    }
}
