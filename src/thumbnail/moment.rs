//! The moment a thumbnail shows, at rest, and what on it is pointed at.

use crate::diag::{Code, Diagnostic};
use crate::film::{
    ArrowPicture, BoardPicture, Current, Film, ForcePicture, KingMoment, MarkPicture, ScenePicture, knight_corner,
};
use crate::timeline::{Mark, MarkRole, Thumbnail};
use crate::units::{Placement, Side, Square, Time};
use std::time::Duration;

/// A board with what matters on it.
pub(super) struct Subject {
    pub board: BoardPicture,
    /// What must be seen whole.
    pub must: Vec<Square>,
    /// What had better be seen too.
    pub better: Vec<Square>,
    /// The square for a portrait: where a piece stands that everything is about.
    pub portrait: Square,
    /// Whether that is a king at his end: mated or stalemated, with nothing else pointed at.
    pub is_the_end: bool,
}

/// What is less opaque than this is going. In a calm film what comes in fades as well, and may be a hair from being there
/// where the next cue follows at once.
const THERE: f32 = 0.999;

/// So many pieces are all shown where nothing is pointed at.
const FEW: usize = 6;

/// Finds the scene's picture at the moment wished for, whatever moves there arrived.
pub(super) fn find(wish: &Thumbnail, film: &Film, found: &mut Vec<Diagnostic>) -> Option<ScenePicture> {
    let (time, span) = time(wish, film, found)?;
    let at_rest = film.at_rest(time);
    if at_rest.is_some() {
        return at_rest;
    }
    found.push(
        Diagnostic::error(Code::BadValue, span, "the thumbnail's moment shows no board")
            .label("a card is on screen here")
            .hint("name a moment of a scene with a board"),
    );
    None
}

/// When the thumbnail's moment is, and where that is written. Names that nothing bears have been reported.
fn time(wish: &Thumbnail, film: &Film, found: &mut Vec<Diagnostic>) -> Option<(Time, crate::source::Span)> {
    if let Some(moment) = &wish.moment {
        let label = match &wish.scene {
            Some(scene) => format!("{}/{}", scene.value, moment.value),
            None => moment.value.clone(),
        };
        return film.moment(&label).map(|time| (time, moment.span));
    }
    if let Some(at) = &wish.at {
        let end = Time::ZERO + film.length();
        let (from, to, what) = match wish.scene.as_ref().and_then(|scene| film.chapter(&scene.value)) {
            Some(chapter) => (chapter.start, chapter.end, "scene"),
            None => (Time::ZERO, end, "film"),
        };
        if at.value < from || at.value > to {
            found.push(
                Diagnostic::error(
                    Code::BadValue,
                    at.span,
                    format!("the thumbnail's moment `{}` is outside the {what}", at.value),
                )
                .label(format!("the {what} runs from {from} to {to}"))
                .hint("a time within it, or a label: `moment = \"…\"`"),
            );
            return None;
        }
        // A scene's end is the beginning of the next one.
        return Some((at.value.min(to - Duration::from_micros(1)).max(from), at.span));
    }
    let scene = wish.scene.as_ref()?;
    film.chapter(&scene.value).map(|chapter| (chapter.start, scene.span))
}

/// What of a scene's picture the thumbnail is about. Its own marks and arrows take the place of the film's.
pub(super) fn subject(wish: &Thumbnail, scene: ScenePicture) -> Subject {
    let turn = turn(&scene);
    let mut board = settled(scene.board);
    let own = !wish.marks.is_empty() || !wish.arrows.is_empty();
    if own {
        (board.marks, board.forces, board.arrows) = (Vec::new(), Vec::new(), Vec::new());
        (board.footprint, board.plinth) = (None, None);
        for mark in &wish.marks {
            lay_mark(&mark.value, &mut board);
        }
        let mut placement = Placement::default();
        for piece in &board.standing {
            placement.set(piece.square, Some(piece.piece));
        }
        for arrow in &wish.arrows {
            let (Some(from), Some(to)) = (Square::parse(&arrow.value.from), Square::parse(&arrow.value.to)) else {
                continue;
            };
            let side = arrow.value.side.or(placement.get(from).map(|piece| piece.side)).unwrap_or(turn);
            let corner = knight_corner(from, to, &placement);
            let plan = arrow.value.plan;
            board.arrows.push(ArrowPicture { from, to, side, plan, corner, drawn: 1.0, head: 1.0, opacity: 1.0 });
        }
    }
    let pointed = pointed(&board);
    let king = board.king.map(KingMoment::square);
    let ends = matches!(board.king, Some(KingMoment::Mate { .. } | KingMoment::Stalemate { .. }));
    let moved: Vec<Square> = board.footprint.into_iter().chain(board.plinth).collect();
    let mut must = pointed.clone();
    if must.is_empty() && board.standing.len() > FEW && !moved.is_empty() {
        must.extend(king.filter(|_| ends));
        must.extend(&moved);
    }
    if must.is_empty() {
        must.extend(board.standing.iter().map(|piece| piece.square));
    }
    let better = moved.into_iter().chain(king).chain(board.standing.iter().map(|piece| piece.square)).collect();
    let stands = |square: &Square| {
        board.standing.iter().any(|piece| piece.square == *square)
            || board.ghosts.iter().any(|ghost| ghost.square == *square)
    };
    let portrait = king.filter(|_| ends && !own).or_else(|| pointed.iter().copied().find(stands));
    let portrait = portrait.or(board.plinth).or(king).or(board.standing.first().map(|piece| piece.square));
    Subject {
        must,
        better,
        portrait: portrait.or(Square::from_index(0)).expect("a1 is a square"),
        is_the_end: ends && !own,
        board,
    }
}

/// Whose move it is.
fn turn(scene: &ScenePicture) -> Side {
    let played = match scene.list.current {
        Current::None => None,
        Current::Main(index) => scene.list.main.get(index),
        Current::Try(index, at) => scene.list.tries.get(index).and_then(|line| line.moves.get(at)),
    };
    played.map(|played| played.side.other()).or(scene.head.side).unwrap_or(Side::White)
}

/// The board with everything that is coming in wholly there, and nothing that goes.
fn settled(mut board: BoardPicture) -> BoardPicture {
    board.marks.retain(|mark| mark.opacity >= THERE);
    board.forces.retain(|force| force.opacity >= THERE);
    board.arrows.retain(|arrow| arrow.opacity >= THERE);
    board.ghosts.retain(|ghost| ghost.opacity >= THERE);
    for mark in &mut board.marks {
        (mark.enter, mark.opacity) = (1.0, 1.0);
    }
    for force in &mut board.forces {
        (force.enter, force.opacity) = (1.0, 1.0);
    }
    for arrow in &mut board.arrows {
        (arrow.drawn, arrow.head, arrow.opacity) = (1.0, 1.0, 1.0);
    }
    for ghost in &mut board.ghosts {
        (ghost.enter, ghost.opacity) = (1.0, 1.0);
    }
    (board.drained, board.dimmed) = (0.0, 0.0);
    board
}

fn lay_mark(mark: &Mark, board: &mut BoardPicture) {
    let squares: Vec<Square> = mark.squares.iter().filter_map(|square| Square::parse(square)).collect();
    match (mark.role, squares.as_slice()) {
        (MarkRole::Force, [from, to]) => {
            board.forces.push(ForcePicture { from: *from, to: *to, enter: 1.0, opacity: 1.0 });
        }
        (MarkRole::Force, _) => {}
        (role, squares) => {
            let shown = |&square: &Square| MarkPicture { role, square, enter: 1.0, opacity: 1.0 };
            board.marks.extend(squares.iter().map(shown));
        }
    }
}

/// Every square that a mark, an arrow, a line of force or a ghost names.
fn pointed(board: &BoardPicture) -> Vec<Square> {
    let mut squares: Vec<Square> = board.arrows.iter().flat_map(|arrow| [arrow.to, arrow.from]).collect();
    squares.extend(board.arrows.iter().filter_map(|arrow| arrow.corner));
    squares.extend(board.ghosts.iter().map(|ghost| ghost.square));
    squares.extend(board.marks.iter().map(|mark| mark.square));
    squares.extend(board.forces.iter().flat_map(|force| [force.from, force.to]));
    squares
}
