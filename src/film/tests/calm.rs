//! A calm film: nothing glides, grows, rises or scrolls.

use super::*;
use crate::film::{KingMoment, Picture};
use crate::timeline::Motion;
use crate::units::{FrameIndex, Role};
use std::collections::HashSet;

fn calm(film: &mut FilmSettings) {
    film.motion = Some(Spanned::new(Motion::Calm, 0..0));
}

fn opacities(board: &BoardPicture, at: &str) -> Vec<(Role, f32)> {
    let there = board.standing.iter().filter(|piece| piece.square == square(at));
    there.map(|piece| (piece.piece.role, piece.opacity)).collect()
}

#[test]
fn a_capture_fades_within_200_ms() {
    let film = Draft::new(calm).position(Some(0), "1r2k3/8/N7/8/8/8/8/4K3 w - - 0 1").play(1000, "Nxb8").good();
    let middle = board(&film, 1100);
    assert!(middle.gliding.is_empty() && middle.sliced.is_empty());
    assert_eq!(opacities(&middle, "a6"), [(Role::Knight, 0.5)]);
    assert_eq!(opacities(&middle, "b8"), [(Role::Rook, 0.5), (Role::Knight, 0.5)]);
    assert_eq!((middle.footprint, middle.plinth), (Some(square("a6")), Some(square("b8"))));
    assert_eq!(opacities(&board(&film, 1200), "b8"), [(Role::Knight, 1.0)]);
    assert_eq!(board(&film, 1200), board(&film, 3000));
}

#[test]
fn a_mate_is_there_with_its_move() {
    let film = Draft::new(calm).position(Some(0), "8/8/8/8/8/1K6/3R4/k7 w - - 0 1").play(1000, "Rd1#").good();
    assert_eq!(board(&film, 1199).king, None);
    assert!(
        matches!(board(&film, 1200).king, Some(KingMoment::Mate { shut, bow, .. }) if shut == 1.0 && bow.abs() == 1.0)
    );
}

/// Whatever is drawn of a sign has its full size and its place; only its opacity changes.
#[test]
fn in_a_whole_calm_film_nothing_moves() {
    let mut draft = untimed();
    calm(&mut draft.timeline.film);
    let film = draft.good();
    let mut opacities: HashSet<u32> = HashSet::new();
    for frame in 0..film.frames() {
        let Picture { body: Body::Scene(scene), .. } = film.frame(FrameIndex(frame)) else { continue };
        let ScenePicture { board, list_before, caption, .. } = *scene;
        assert!(board.gliding.is_empty() && board.sliced.is_empty() && board.promoting.is_none(), "frame {frame}");
        assert!(list_before.is_none() && caption.leaving.is_none() && caption.enter == 1.0, "frame {frame}");
        assert!(board.marks.iter().all(|mark| mark.enter == 1.0), "frame {frame}");
        assert!(board.arrows.iter().all(|arrow| arrow.drawn == 1.0 && arrow.head == 1.0), "frame {frame}");
        assert_eq!(board.drained, 0.0);
        opacities.extend(board.marks.iter().map(|mark| mark.opacity.to_bits()));
        opacities.extend(board.standing.iter().map(|piece| piece.opacity.to_bits()));
    }
    assert!(opacities.len() > 10, "what comes and goes fades");
}
