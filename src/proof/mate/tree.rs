//! The whole proof of a mate: one move of the mating side, every answer, and so on to each mate.

use super::{Outcome, Search};
use crate::game::rules;
use shakmaty::{Chess, Color, Move, Position};

/// A tree of more moves than this is not written.
const LARGEST: usize = 50_000;

/// Why there is no tree of a mate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoTree {
    /// What was given is no position.
    #[error("it is no legal position")]
    NoPosition,
    /// There is no mate in so many moves.
    #[error("there is no such mate")]
    NoMate,
    /// The budget ended first.
    #[error("the budget ended before the mate was proven against every defence")]
    Undecided,
    /// Nobody would read it.
    #[error("the tree has more than {LARGEST} moves")]
    TooLarge,
}

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
    /// defence is the main line, every other one a variation.
    pub(in super::super) fn tree(&mut self, position: &Chess, moves: u32) -> Result<String, NoTree> {
        let shortest = match self.shortest(position, moves) {
            Outcome::Mate(shortest) => shortest,
            Outcome::None => return Err(NoTree::NoMate),
            Outcome::Unknown(_) => return Err(NoTree::Undecided),
        };
        let mut text = Text { words: Vec::new(), broken: true };
        self.mating_move(position, shortest, &mut text)?;
        text.words.push("*".to_owned());
        let (mut lines, mut line) = (Vec::new(), String::new());
        for word in text.words {
            if !line.is_empty() && line.len() + 1 + word.len() >= 80 {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(&word);
        }
        lines.push(line);
        Ok(lines.join("\n"))
    }

    /// Writes the move that mates in `moves`, with all that follows.
    fn mating_move(&mut self, here: &Chess, moves: u32, text: &mut Text) -> Result<(), NoTree> {
        let (after, chosen) = self.key(here, moves).ok_or(NoTree::Undecided)?;
        text.play(here, chosen);
        let mut answers: Vec<(u32, Move, Chess)> = Vec::new();
        for answer in after.legal_moves() {
            let mut next = after.clone();
            next.play_unchecked(answer);
            let Outcome::Mate(left) = self.shortest(&next, moves - 1) else { return Err(NoTree::Undecided) };
            answers.push((left, answer, next));
        }
        if text.words.len() > LARGEST {
            return Err(NoTree::TooLarge);
        }
        answers.sort_by_key(|(left, ..)| std::cmp::Reverse(*left));
        let Some((main, others)) = answers.split_first() else { return Ok(()) };
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
