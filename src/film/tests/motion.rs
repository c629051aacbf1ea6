//! The timing table: what is where, to the millisecond.

use super::*;
use crate::film::{ArrowPicture, Gliding, KingMoment, Sliced, Standing};
use crate::units::{Piece, Role, Side};

fn stands(board: &BoardPicture, at: &str) -> Option<Role> {
    board.standing.iter().find(|piece| piece.square == square(at)).map(|piece| piece.piece.role)
}

fn only_gliding(board: &BoardPicture) -> Gliding {
    assert_eq!(board.gliding.len(), 1, "{board:#?}");
    board.gliding[0]
}

/// A position from 0, with one cue at 1 s.
fn one(fen: &str, moves: &str) -> Film {
    Draft::default().position(Some(0), fen).play(1000, moves).good()
}

#[test]
fn a_knight_takes_620_ms_along_its_l_and_slices_from_280_to_640() {
    let film = one("1r2k3/8/N7/8/8/8/8/4K3 w - - 0 1", "Nxb8");
    let before = board(&film, 999);
    assert_eq!((before.footprint, before.plinth, before.gliding.len()), (None, None, 0));
    let start = board(&film, 1000);
    assert_eq!((start.footprint, start.plinth), (Some(square("a6")), None));
    assert_eq!((only_gliding(&start).x, only_gliding(&start).y, only_gliding(&start).lift), (0.0, 2.0, 0.0));
    // Short leg first: along the sixth rank to b6, then up the b-file.
    let middle = only_gliding(&board(&film, 1310));
    assert!(middle.x == 1.0 && middle.y > 0.0 && middle.y < 1.0 && middle.lift > 0.5, "{middle:?}");
    let earlier = only_gliding(&board(&film, 1150));
    assert!(earlier.x > 0.0 && earlier.x < 1.0 && earlier.y == 2.0, "{earlier:?}");
    assert!(board(&film, 1280).sliced.is_empty());
    assert_eq!(stands(&board(&film, 1280), "b8"), Some(Role::Rook));
    let slicing = board(&film, 1281);
    assert_eq!((slicing.sliced.len(), stands(&slicing, "b8")), (1, None));
    let last = board(&film, 1619);
    assert_eq!((last.gliding.len(), last.plinth), (1, None));
    let arrived = board(&film, 1620);
    assert_eq!(
        (stands(&arrived, "b8"), arrived.plinth, arrived.gliding.len()),
        (Some(Role::Knight), Some(square("b8")), 0)
    );
    assert!(matches!(arrived.sliced[..], [Sliced { progress, .. }] if progress > 0.8 && progress < 1.0), "{arrived:?}");
    assert!(board(&film, 1640).sliced.is_empty());
    assert_eq!(board(&film, 1640), board(&film, 2300));
}

#[test]
fn the_l_goes_round_what_stands_in_the_way() {
    // c6's short leg first would lead over b6 and b7; the other way, over a7 and a8, is free.
    let film = one("4k3/1p6/Np6/8/8/8/8/4K3 w - - 0 1", "Nb8");
    let on_its_way = only_gliding(&board(&film, 1150));
    assert!(on_its_way.x == 0.0 && on_its_way.y < 2.0, "{on_its_way:?}");
}

#[test]
fn the_rook_castles_behind_the_king() {
    let film = one("4k3/8/8/8/8/8/8/4K2R w K - 0 1", "O-O");
    assert_eq!(board(&film, 1120).gliding.len(), 1, "the rook waits 120 ms");
    let both = board(&film, 1240);
    let roles: Vec<Role> = both.gliding.iter().map(|piece| piece.piece.role).collect();
    assert_eq!(roles, [Role::Rook, Role::King], "the king is drawn above");
    assert!(both.gliding[0].lift <= 0.4 && both.gliding[0].y == 7.0);
    let king_there = board(&film, 1520);
    assert_eq!((stands(&king_there, "g1"), king_there.plinth), (Some(Role::King), Some(square("g1"))));
    assert_eq!(only_gliding(&king_there).piece.role, Role::Rook);
    assert_eq!(stands(&board(&film, 1640), "f1"), Some(Role::Rook));
    assert_eq!(board(&film, 1640), board(&film, 2300));
}

#[test]
fn en_passant_slices_the_pawn_beside_the_target() {
    let film = one("4k3/8/8/pP6/8/8/8/4K3 w - a6 0 1", "bxa6");
    assert!(board(&film, 1200).sliced.is_empty());
    assert_eq!(board(&film, 1201).sliced[0].square, square("a5"));
    assert_eq!(board(&film, 1479).plinth, None);
    assert_eq!((board(&film, 1480).plinth, board(&film, 1480).footprint), (Some(square("a6")), Some(square("b5"))));
    assert!(board(&film, 1559).sliced[0].progress < 1.0);
    assert!(board(&film, 1560).sliced.is_empty());
    assert_eq!(board(&film, 1560), board(&film, 2300));
}

#[test]
fn a_promotion_climbs_for_720_ms_after_the_arrival() {
    let film = one("1n2k3/P7/8/8/8/8/8/4K3 w - - 0 1", "axb8=R+");
    assert!(board(&film, 1479).promoting.is_none());
    let begins = board(&film, 1480).promoting.expect("the pawn has arrived");
    assert_eq!((begins.climbed, begins.pawn, begins.role), (0.0, 1.0, Role::Rook));
    let ends = board(&film, 2199).promoting.expect("one millisecond is left");
    assert!(ends.climbed < 1.0 && ends.climbed > 0.99 && (ends.pawn - 0.5).abs() < 0.01, "{ends:?}");
    let there = board(&film, 2200);
    assert_eq!((there.promoting, stands(&there, "b8")), (None, Some(Role::Rook)));
    assert_eq!(there.king, Some(KingMoment::Check { square: square("e8"), enter: 0.0 }));
    assert_eq!(board(&film, 2350).king, Some(KingMoment::Check { square: square("e8"), enter: 1.0 }));
}

#[test]
fn a_mated_king_bows_away_while_the_jaws_shut() {
    let film = one("7k/8/5KQ1/8/8/8/8/8 w - - 0 1", "Qg7#");
    let arrival = 1000 + 450;
    let at = |ms: u32| match board(&film, arrival + ms).king {
        Some(KingMoment::Mate { shut, bow, .. }) => (shut, bow),
        other => panic!("mate was expected, not {other:?}"),
    };
    assert_eq!(board(&film, arrival - 1).king, None);
    assert_eq!(at(0), (0.0, 0.0));
    assert!(at(60).1 == 0.0 && at(61).1 < 0.0, "in a corner he bows towards the middle");
    assert!(at(149).0 < 1.0 && at(150).0 == 1.0);
    assert!(at(419) != (1.0, -1.0));
    assert_eq!(at(420), (1.0, -1.0));
}

#[test]
fn a_mated_king_bows_away_from_where_mate_comes_from() {
    let bow = |fen: &str, mate: &str| match board(&one(fen, mate), 2400).king {
        Some(KingMoment::Mate { bow, .. }) => bow,
        other => panic!("mate was expected, not {other:?}"),
    };
    assert_eq!(bow("3k4/R7/8/8/8/8/8/1R2K3 w - - 0 1", "Rb8#"), 1.0);
    assert_eq!(bow("3k4/R7/8/8/8/8/8/4K2R w - - 0 1", "Rh8#"), -1.0);
    // The bishop moves away to the left; the rook it uncovers on the king's right gives the mate.
    assert_eq!(bow("2k1B2R/R7/8/8/8/8/8/4K3 w - - 0 1", "Bc6#"), -1.0);
}

#[test]
fn stalemate_frames_the_king_within_200_ms() {
    let film = one("k7/8/2K5/8/8/8/8/1Q6 w - - 0 1", "Qb6");
    let arrival = 1000 + 730;
    assert_eq!(board(&film, arrival - 1).king, None);
    assert!(matches!(board(&film, arrival + 100).king, Some(KingMoment::Stalemate { enter, .. }) if enter < 1.0));
    assert_eq!(board(&film, arrival + 200).king, Some(KingMoment::Stalemate { square: square("a8"), enter: 1.0 }));
}

#[test]
fn a_take_back_runs_the_same_way_in_60_percent_of_the_time() {
    let film = Draft::default()
        .position(Some(0), "1r2k3/8/N7/8/8/8/8/4K3 w - - 0 1")
        .play(1000, "Nxb8")
        .back(3000, Back::Start)
        .good();
    let start = board(&film, 3000);
    assert_eq!((start.footprint, start.plinth, start.drained), (None, None, 0.0));
    let drained = |ms: u32| board(&film, 3000 + ms).drained;
    assert!(
        drained(45) > 0.19 && drained(45) < 0.21 && drained(90) == 0.4 && drained(282) == 0.4 && drained(371) > 0.0
    );
    let rook = |ms: u32| {
        let standing = board(&film, 3000 + ms).standing;
        standing.iter().find(|piece| piece.piece.role == Role::Rook).map(|piece| piece.opacity)
    };
    assert_eq!((rook(212), rook(292), rook(372)), (None, Some(0.5), Some(1.0)));
    // Half-way the knight is on the long leg of the L it came by.
    assert_eq!(only_gliding(&board(&film, 3100)).x, 1.0);
    assert_eq!(board(&film, 3372), board(&film, 500));
    assert_ne!(board(&film, 3371), board(&film, 500));
}

#[test]
fn a_long_take_back_lasts_1200_ms_and_a_very_long_one_brings_all_home_at_once() {
    let start = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";
    let opening = "e4 d5 exd5 Qxd5 Nc3 Qd8 d4 Nf6 Nf3 Bg4 h3 Bxf3 Qxf3 c6 Be3";
    for (moves, length) in [("e4 e5 Nf3 Nc6 Bb5", 1200), (opening, 900)] {
        let film = Draft::default().position(Some(0), start).play(1000, moves).back(90_000, Back::Start).good();
        assert_ne!(board(&film, 90_000 + length - 1), board(&film, 500), "{moves}");
        assert_eq!(board(&film, 90_000 + length), board(&film, 500), "{moves}");
        let middle = board(&film, 90_000 + length / 2);
        assert_eq!(middle.gliding.len() > 1, length == 900, "{middle:#?}");
    }
}

#[test]
fn marks_come_one_after_the_other_and_go_together() {
    let film = Draft::default()
        .position(Some(0), SAAVEDRA)
        .cue(1000, |cue| {
            cue.marks = marks(MarkRole::Key, "d5");
            cue.marks.extend(marks(MarkRole::Trap, "b1 b2"));
            cue.arrows = vec![arrow("c6", "c7")];
        })
        .play(5000, "c7")
        .good();
    assert!(board(&film, 999).marks.is_empty());
    assert_eq!(board(&film, 1000).marks.len(), 1);
    let hatched = board(&film, 1060);
    assert_eq!((hatched.marks.len(), hatched.marks[1].enter, hatched.marks[2].enter), (3, 0.0, 0.0));
    assert_eq!(board(&film, 1200).marks[0].enter, 1.0);
    assert!(board(&film, 1259).marks[1].enter < 1.0 && board(&film, 1260).marks[1].enter == 1.0);
    let quill = |ms: u32| -> ArrowPicture { board(&film, 1120 + ms).arrows[0] };
    assert_eq!((quill(0).drawn, quill(240).head, quill(280).head), (0.0, 0.0, 0.5));
    assert!(quill(319).drawn < 1.0);
    assert_eq!((quill(320).drawn, quill(320).head, quill(320).opacity), (1.0, 1.0, 1.0));
    let leaving = board(&film, 5070);
    assert!(leaving.marks.iter().map(|mark| mark.opacity).chain([leaving.arrows[0].opacity]).all(|left| left == 0.5));
    assert_eq!((board(&film, 5139).marks.len(), board(&film, 5140).marks.len()), (3, 0));
}

#[test]
fn marks_speak_of_the_position_once_it_is_there() {
    let film = Draft::default()
        .position(Some(0), SAAVEDRA)
        .cue(1000, |cue| {
            cue.play = vec![Spanned::new("c7".to_owned(), 0..0)];
            cue.marks = marks(MarkRole::Key, "c7");
            cue.stay = Some(Spanned::new(Duration::from_secs(2), 0..0));
        })
        .cue(9000, |_| {})
        .good();
    assert!(board(&film, 1449).marks.is_empty());
    assert_eq!(board(&film, 1450).marks.len(), 1);
    assert_eq!(board(&film, 3450).marks[0].opacity, 1.0);
    assert_eq!((board(&film, 3520).marks[0].opacity, board(&film, 3590).marks.len()), (0.5, 0));
}

#[test]
fn a_caption_goes_before_the_next_comes() {
    let film = Draft::default()
        .position(Some(0), SAAVEDRA)
        .cue(1000, |cue| cue.text = Some(Spanned::new("Back to the start.".to_owned(), 0..0)))
        .cue(4000, |cue| cue.text = Some(Spanned::new("What if he takes at once?".to_owned(), 0..0)))
        .cue(8000, |cue| cue.text = Some(Spanned::new(String::new(), 0..0)))
        .good();
    let caption = |ms: u32| scene(film.at(ms_time(ms))).caption;
    assert_eq!(caption(999), super::super::CaptionPicture::default());
    assert_eq!(caption(1320).text.as_deref(), Some("Back to the start."));
    assert_eq!((caption(1320).enter, caption(1320).bar), (1.0, 1.0));
    let out = |ms: u32| caption(4000 + ms).leaving.map(|(_, opacity)| opacity);
    assert_eq!((out(0), out(60), out(120)), (Some(1.0), Some(0.5), Some(0.0)));
    assert_eq!((out(259), out(260)), (Some(0.0), None), "the bar has grown from the old words' height");
    assert_eq!((caption(4060).bar, caption(4260).bar, caption(4160).enter), (0.0, 1.0, 0.0));
    assert!(caption(4319).enter < 1.0);
    assert_eq!(caption(4320), caption(7999));
    assert_eq!(caption(8320), caption(999));
}

#[test]
fn cues_too_close_shorten_the_motion_and_never_queue() {
    let film = Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7").play(1225, "Rd6").play(1250, "Kb5").good();
    // 225 ms instead of 450: the pawn is home when the rook begins.
    assert_eq!(board(&film, 1224).gliding.len(), 1);
    let c7 = board(&film, 1225);
    assert_eq!(stands(&c7, "c7"), Some(Role::Pawn));
    // 25 ms are less than three frames: the rook is there at once.
    assert_eq!((stands(&c7, "d6"), c7.gliding.len()), (Some(Role::Rook), 0));
    assert_eq!(stands(&board(&film, 1700), "b5"), Some(Role::King));
}

#[test]
fn a_slow_replay_darkens_the_ground_before_it_moves() {
    let mut draft = Draft::default().position(Some(0), "4k3/8/8/8/8/8/8/R3K3 w - - 0 1").play(1000, "Ra3 Kd7");
    let (mut game, _) = resolve(&draft.timeline, &PgnFiles::new());
    let crate::game::Body::Board(replay) = &mut game.scenes[0].body else { panic!("a scene with a FEN has a board") };
    replay.pace = Some(0.35);
    draft.timeline.film.ends = Some(Spanned::new(ms_time(20_000), 0..0));
    let (film, mistakes) = Film::new(&draft.timeline, &game, None);
    assert!(mistakes.is_empty(), "{mistakes:#?}");
    let dimmed = |ms| board(&film, ms).dimmed;
    assert_eq!((dimmed(840), dimmed(920), dimmed(1000), dimmed(9000)), (0.0, 0.075, 0.15, 0.15));
    // Two squares: 520 ms at ordinary speed, 1486 at 0.35.
    assert_eq!((board(&film, 2485).gliding.len(), board(&film, 2486).gliding.len()), (1, 0));
    assert_eq!((dimmed(19_840), dimmed(19_920)), (0.15, 0.075));
    let list = scene(film.at(ms_time(500))).list;
    let shown: Vec<_> = list.main.iter().map(|ply| (ply.san.to_string(), ply.muted)).collect();
    assert_eq!(shown, [("Ra3".to_owned(), true), ("Kd7".to_owned(), true)]);
}

#[test]
fn a_white_piece_is_white() {
    let film = one(SAAVEDRA, "c7");
    let pawn = Piece { side: Side::White, role: Role::Pawn };
    assert!(board(&film, 0).standing.contains(&Standing { square: square("c6"), piece: pawn, opacity: 1.0 }));
}

#[test]
fn check_goes_with_the_next_move() {
    let film =
        Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7").play(3000, "Rd6+").play(5000, "Kb5").good();
    let check = |ms: u32| board(&film, ms).king;
    let enter = |ms: u32| match check(ms) {
        Some(KingMoment::Check { enter, square: at }) if at == square("b6") => Some(enter),
        _ => None,
    };
    assert_eq!((check(3449), enter(3450), enter(3600), enter(5000)), (None, Some(0.0), Some(1.0), Some(1.0)));
    assert_eq!((enter(5070), check(5140)), (Some(0.5), None));
}

#[test]
fn a_check_too_short_to_see_is_left_out() {
    // 450 ms of motion and 339 of standing still; jaws that come and go in that time would flash.
    let shown = |film: Film| (0..4000).any(|ms| board(&film, ms).king.is_some());
    let draft = |next: u32| {
        let draft = Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7").play(2000, "Rd6+");
        draft.play(2000 + next, "Kb5").good()
    };
    assert!(!shown(draft(450 + 339)));
    assert!(shown(draft(450 + 340)));
}

#[test]
fn a_cut_leaves_nothing_behind() {
    let film = Draft::default()
        .position(Some(0), SAAVEDRA)
        .play(1000, "c7 Rd6+")
        .cue(9000, |cue| cue.marks = marks(MarkRole::Key, "c7"))
        .cue(12_000, |cue| (cue.back, cue.cut) = (Some(Spanned::new(Back::Start, 0..0)), true))
        .good();
    let before = board(&film, 11_999);
    assert!(before.king.is_some() && before.marks.len() == 1 && before.plinth.is_some());
    assert_eq!(board(&film, 12_000), board(&film, 0));
}

#[test]
fn a_return_to_the_position_on_the_board_clears_it() {
    let film = good_text(
        r#"
        [[scene]]
        cues = [
          { at = 1, arrows = "e2 e4", marks = "key e4", ghost = "e4" },
          { at = 3, back = "start", text = "Look again" },
          { at = 5, back = "start", cut = true, marks = "key d4" },
          { at = 7, play = "d4" },
        ]
        "#,
    );
    let signs = |ms| (board(&film, ms).marks.len(), board(&film, ms).arrows.len(), board(&film, ms).ghosts.len());
    assert_eq!((signs(2999), signs(4900), signs(6000)), ((1, 1, 1), (0, 0, 0), (1, 0, 0)));
    assert!(board(&film, 3050).marks[0].opacity < 1.0, "they fade; nothing else happens");
    assert_eq!(board(&film, 4900), board(&film, 0));
}

#[test]
fn the_same_sign_does_not_stay_beyond_a_cut() {
    let film = good_text(
        r#"
        [[scene]]
        cues = [
          { at = 1, play = "e4" },
          { at = 3, marks = "key e4" },
          { at = 5, back = "start", cut = true },
          { at = 5.3, marks = "key e4" },
          { at = 7, back = "start", cut = true, marks = "key e4" },
        ]
        "#,
    );
    let shown = |ms| !board(&film, ms).marks.is_empty();
    assert_eq!((shown(4999), shown(5000), shown(5299), shown(5300)), (true, false, false, true));
    assert_eq!(board(&film, 7000).marks[0].enter, 1.0, "where it comes with the cut it never goes");
}

#[test]
fn a_caption_that_is_never_on_screen_is_told() {
    let captions = |second: &str| {
        let (film, doubts) = of_text(
            &format!(
                r#"
                [[scene]]
                cues = [
                  {{ at = 1, text = "The first caption" }},
                  {{ at = 1.3, text = "{second}" }},
                  {{ at = 8, play = "e4" }},
                ]
                "#
            ),
            None,
        );
        let shown = scene(film.at(ms_time(1200))).caption.text.is_some();
        (shown, doubts.into_iter().map(|doubt| (doubt.code, doubt.message, doubt.primary.text)).collect::<Vec<_>>())
    };
    let message = "the caption `The first caption` is never on screen".to_owned();
    let told = vec![(crate::diag::Code::HurriedCaption, message, "something else comes 300 ms later".to_owned())];
    assert_eq!(captions("Another one"), (false, told.clone()));
    assert_eq!(captions(""), (false, told));
    assert_eq!(captions("The first caption"), (true, vec![]), "said again it simply stands");
}
