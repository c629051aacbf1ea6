//! One line of a film by itself, slowly, without the voice, to go round and round.

use super::Film;
use crate::diag::Diagnostic;
use crate::game::{self, Game, Scene};
use crate::timeline::{Replay, Timeline};

impl Film {
    /// A line of one of the game's scenes as a film of its own that ends as it begins: its first picture equals its
    /// last. Silent, and as long as its motion needs; size, theme and the like are the timeline's.
    ///
    /// `shown` is the scene whose line it is, one with a board; `head` the scene whose name, task and credit are shown
    /// beside it, those it has. `replay` says which line, and how slowly. `words`: with the captions of the line's moves.
    ///
    /// # Errors
    /// The scene has no such line.
    pub fn round(
        timeline: &Timeline,
        game: &Game,
        (head, shown): (usize, usize),
        replay: &Replay,
        words: bool,
    ) -> Result<(Film, Vec<Diagnostic>), Box<Diagnostic>> {
        let shown = &game.scenes[shown];
        let game::Body::Board(board) = &shown.body else { unreachable!("a line to go round is one of a board") };
        let mut board = game::round(replay, board, shown.span, words)?;
        if let game::Body::Board(own) = &game.scenes[head].body {
            board.task = own.task.clone().or(board.task);
            board.credit = own.credit.clone().or(board.credit);
        }
        let mut alone = Timeline { scenes: vec![timeline.scenes[head].clone()], ..timeline.clone() };
        (alone.film.narration, alone.film.ends) = (None, None);
        let only = &mut alone.scenes[0];
        (only.at, only.cues) = (None, Vec::new());
        let body = game::Body::Board(board);
        let name = game.scenes[head].name.clone();
        let game = Game { scenes: vec![Scene { name, at: None, body, span: shown.span }] };
        let (film, diagnostics) = Film::new(&alone, &game, None);
        Ok((film, diagnostics))
    }
}
