//! Any FEN and any words of `play` are replayed or refused: every node's FEN is read back as the same position, every
//! place lies inside what was written. The first line is the FEN, the rest are the words.

#![no_main]

use libfuzzer_sys::fuzz_target;
use plyreel::diag::{Diagnostic, has_errors};
use plyreel::game::{Board, Body, PgnFiles, resolve};
use plyreel::source::{Span, Spanned};
use plyreel::timeline::{Cue, Scene, SceneBody, Timeline};

fn replayed(fen: &str, play: Vec<Spanned<String>>) -> (Board, Vec<Diagnostic>) {
    let scene = Scene {
        name: None,
        at: None,
        body: SceneBody::Position { fen: Some(Spanned::new(fen.to_string(), 0..fen.len())) },
        task: None,
        credit: None,
        text: None,
        ring: None,
        cues: vec![Cue { play, ..Cue::default() }],
        span: Span::default(),
    };
    let timeline = Timeline { scenes: vec![scene], ..Timeline::default() };
    let (mut game, diagnostics) = resolve(&timeline, &PgnFiles::new());
    let Body::Board(board) = game.scenes.remove(0).body else { panic!("a scene with a FEN has a board") };
    (board, diagnostics)
}

fuzz_target!(|text: &str| {
    let (fen, rest) = text.split_once('\n').unwrap_or((text, ""));
    let base = text.len() - rest.len();
    let words = rest.split_whitespace().map(|word| {
        let start = base + (word.as_ptr() as usize - rest.as_ptr() as usize);
        Spanned::new(word.to_string(), start..start + word.len())
    });
    let (board, diagnostics) = replayed(fen, words.collect());
    for found in &diagnostics {
        let place = found.primary.span;
        assert!(text.get(place.start..place.end).is_some(), "a place lies on character boundaries of the text");
    }
    for node in &board.nodes {
        let (again, faults) = replayed(&node.fen, Vec::new());
        assert!(!has_errors(&faults), "{} {faults:?}", node.fen);
        assert_eq!((again.nodes[0].fen.as_str(), again.nodes[0].state), (node.fen.as_str(), node.state));
    }
});
