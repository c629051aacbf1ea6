//! Laws that hold for every film.

use super::*;
use crate::film::KingMoment;
use crate::film::beat::beats;
use crate::timeline::Motion;
use crate::units::{FrameIndex, Piece, Role};
use proptest::prelude::*;
use std::collections::{HashMap, HashSet};

/// What a cue of a random film does.
#[derive(Clone, Debug)]
struct Doing {
    /// Milliseconds after the cue before; `None`: whenever there is time.
    wait: Option<u32>,
    what: usize,
    /// Picks among what is possible.
    pick: usize,
    stay: Option<u32>,
}

fn doings() -> impl Strategy<Value = Vec<Doing>> {
    let wait = prop_oneof![
        Just(None),
        (0u32..120).prop_map(Some),
        (120u32..900).prop_map(Some),
        (900u32..6000).prop_map(Some)
    ];
    let stay = prop_oneof![3 => Just(None), 1 => (50u32..1500).prop_map(Some)];
    let doing =
        (wait, 0usize..12, 0usize..1000, stay).prop_map(|(wait, what, pick, stay)| Doing { wait, what, pick, stay });
    prop::collection::vec(doing, 1..14)
}

/// Lines that hold captures, castling, en passant, promotion, check, mate and stalemate.
const LINES: [(&str, &str); 5] = [
    (SAAVEDRA, "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4 c8=Q Rc4+ Qxc4"),
    ("r3k2r/p6p/8/1P6/8/8/8/R3K2R b KQkq - 0 1", "a5 bxa6 O-O O-O-O Rxa6 Rh6 Rxh6"),
    ("rnbqkbnr/pppp1ppp/8/4p3/6P1/5P2/PPPPP2P/RNBQKBNR b KQkq - 0 2", "Qh4#"),
    ("1n2k3/P7/8/3N4/8/8/8/4K3 w - - 0 1", "axb8=N Kd8 Nc6+ Kd7 Ncb4 Kd6 Nc7 Kxc7 Nc6 Kxc6"),
    ("7k/8/5KQ1/8/8/8/8/8 w - - 0 1", "Qf7"),
];

/// A random film that the laws of chess allow.
fn random_film(line_number: usize, doings: &[Doing], fps: (u32, u32)) -> Film {
    let (fen, moves) = LINES[line_number];
    let moves: Vec<&str> = moves.split(' ').collect();
    let mut draft = Draft::new(|film| film.fps = Some(rate(fps.0, fps.1))).position(Some(0), fen);
    let mut played = 0;
    for (index, doing) in doings.iter().enumerate() {
        if doing.what == 11 && index > 2 {
            draft = if doing.pick.is_multiple_of(2) {
                draft.card(None, CardKind::Chapter, "Then")
            } else {
                played = 0;
                draft.position(None, fen)
            };
        }
        if matches!(draft.last().body, SceneBody::Card(_)) {
            played = 0;
            draft = draft.position(None, fen);
        }
        let squares = ["e4", "b7", "c4", "h8"];
        let (this, other) = (squares[doing.pick % 4], squares[(doing.pick + 1) % 4]);
        let mut now = played;
        draft = draft.cue(None, |cue| {
            cue.at = doing.wait.map(|wait| Spanned::new(At::After(Duration::from_millis(wait.into())), 0..0));
            cue.stay = doing.stay.map(|stay| Spanned::new(Duration::from_millis(stay.into()), 0..0));
            match doing.what {
                0..=5 => {
                    let count = 1 + doing.pick % 3;
                    let next = &moves[now..moves.len().min(now + count)];
                    cue.play = next.iter().map(|word| Spanned::new((*word).to_owned(), 0..0)).collect();
                    now += next.len();
                }
                6 => {
                    let plies = doing.pick % (now + 1);
                    cue.back = Some(Spanned::new(Back::Plies(plies as u32), 0..0));
                    now -= plies;
                }
                7 => {
                    cue.back = Some(Spanned::new(Back::Start, 0..0));
                    cue.cut = true;
                    now = 0;
                }
                _ => {}
            }
            if doing.what % 2 == 0 {
                let roles = [MarkRole::Key, MarkRole::Trap, MarkRole::Threat, MarkRole::Guard, MarkRole::Dot];
                cue.marks = marks(roles[doing.pick % 5], &format!("{this} {other}"));
                cue.marks.extend(marks(MarkRole::Force, &format!("{this} {other}")));
            }
            if doing.what % 3 == 0 {
                cue.arrows = vec![arrow(this, other)];
            }
            if doing.what % 5 < 2 {
                let text = ["One", "Another, which is longer", ""][doing.pick % 3];
                cue.text = Some(Spanned::new(text.to_owned(), 0..0));
            }
        });
        played = now;
    }
    // A third of the films are slow replays, a fifth end with a narration, perhaps too early.
    let (mut game, mistakes) = resolve(&draft.timeline, &PgnFiles::new());
    assert!(mistakes.is_empty(), "{mistakes:#?}");
    for scene in &mut game.scenes {
        if let crate::game::Body::Board(board) = &mut scene.body
            && doings.len().is_multiple_of(3)
        {
            board.pace = Some(0.35);
        }
    }
    let narration = doings.len().is_multiple_of(5).then_some(Duration::from_secs(9));
    Film::new(&draft.timeline, &game, narration).0
}

fn frames(film: &Film) -> Vec<Picture> {
    (0..film.frames()).map(|frame| film.frame(FrameIndex(frame))).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn what_is_on_screen_depends_on_the_time_alone(
        line in 0usize..LINES.len(),
        doings in doings(),
        mut times in prop::collection::vec(0i64..40_000_000, 2..40),
        seed in any::<u64>(),
    ) {
        let film = random_film(line, &doings, (30, 1));
        let first: Vec<Picture> = times.iter().map(|&time| film.at(Time::from_micros(time))).collect();
        let mut order: Vec<usize> = (0..times.len()).collect();
        order.sort_by_key(|&index| (index as u64 + 1).wrapping_mul(seed | 1));
        for &index in &order {
            prop_assert_eq!(&film.at(Time::from_micros(times[index])), &first[index]);
        }
        let again = random_film(line, &doings, (30, 1));
        times.reverse();
        for (&time, picture) in times.iter().zip(first.iter().rev()) {
            prop_assert_eq!(&again.at(Time::from_micros(time)), picture);
        }
    }

    #[test]
    fn runs_tell_exactly_which_frames_stand_still(
        line in 0usize..LINES.len(),
        doings in doings(),
        fps in prop::sample::select(vec![(24, 1), (30000, 1001), (60, 1)]),
        cut in 0u64..200,
    ) {
        let film = random_film(line, &doings, fps);
        let pictures = frames(&film);
        for start in [0, cut.min(film.frames() - 1)] {
            let runs: Vec<_> = film.runs(FrameIndex(start)..FrameIndex(u64::MAX)).collect();
            let mut next = start;
            for run in &runs {
                prop_assert_eq!(run.frames.start.0, next, "runs are in turn");
                prop_assert!(run.frames.end > run.frames.start);
                next = run.frames.end.0;
                for frame in run.frames.start.0..run.frames.end.0 {
                    let still = frame > 0 && pictures[frame as usize] == pictures[frame as usize - 1];
                    prop_assert_eq!(run.still, still, "frame {}", frame);
                }
            }
            prop_assert_eq!(next, film.frames());
            prop_assert!(runs.windows(2).all(|pair| pair[0].still != pair[1].still), "runs are as long as can be");
        }
    }

    #[test]
    fn digests_tell_pictures_apart(line in 0usize..LINES.len(), doings in doings()) {
        let film = random_film(line, &doings, (24, 1));
        let mut seen: HashMap<u128, Picture> = HashMap::new();
        for picture in frames(&film) {
            let digest = picture.digest();
            prop_assert_eq!(digest, picture.clone().digest());
            if let Some(before) = seen.insert(digest, picture.clone()) {
                prop_assert_eq!(before, picture, "two pictures with one digest");
            }
        }
        let different = seen.values().zip(seen.values().skip(1)).filter(|(one, other)| one == other).count();
        prop_assert_eq!(different, 0, "one picture with two digests");
    }

    #[test]
    fn no_two_pieces_share_a_place_and_none_is_lost(line in 0usize..LINES.len(), doings in doings()) {
        let film = random_film(line, &doings, (60, 1));
        for picture in frames(&film) {
            let Body::Scene(scene) = picture.body else { continue };
            let board = &scene.board;
            let mut places = HashSet::new();
            for piece in &board.standing {
                prop_assert!(places.insert(piece.square), "two pieces on {}", piece.square);
            }
            prop_assert!(board.standing.is_sorted_by_key(|piece| piece.square));
            if let Some(promoting) = board.promoting {
                prop_assert!(places.insert(promoting.square));
            }
            let kings = board.standing.iter().map(|piece| piece.piece).chain(board.gliding.iter().map(|piece| piece.piece));
            prop_assert_eq!(kings.filter(|piece| piece.role == Role::King).count(), 2);
            for piece in &board.gliding {
                prop_assert!((0.0..=7.0).contains(&piece.x) && (0.0..=7.0).contains(&piece.y), "{:?}", piece);
                prop_assert!((0.0..=1.0).contains(&piece.lift), "{:?}", piece);
            }
        }
    }

    #[test]
    fn nothing_flashes(line in 0usize..LINES.len(), doings in doings()) {
        if let Some(flash) = flash(&random_film(line, &doings, (30, 1))) {
            prop_assert!(false, "{}", flash);
        }
    }
}

/// The first thing that changes between half there and not more than three times to and fro within a second; at 30
/// frames a second.
fn flash(film: &Film) -> Option<String> {
    let mut changes: HashMap<String, Vec<u64>> = HashMap::new();
    let mut before: HashSet<String> = HashSet::new();
    for (number, picture) in frames(film).into_iter().enumerate() {
        let mut now = HashSet::new();
        if let Body::Scene(scene) = &picture.body {
            let board = &scene.board;
            let half = |shown: f32| shown >= 0.5;
            now.extend(
                board.marks.iter().filter(|m| half(m.enter * m.opacity)).map(|m| format!("{:?} {}", m.role, m.square)),
            );
            now.extend(
                board.forces.iter().filter(|f| half(f.enter * f.opacity)).map(|f| format!("force {} {}", f.from, f.to)),
            );
            now.extend(
                board.arrows.iter().filter(|a| half(a.drawn * a.opacity)).map(|a| format!("arrow {} {}", a.from, a.to)),
            );
            now.extend(board.king.and_then(|king| match king {
                KingMoment::Check { square, enter } | KingMoment::Stalemate { square, enter } => {
                    half(enter).then(|| format!("king {square}"))
                }
                KingMoment::Mate { square, shut, .. } => half(shut).then(|| format!("king {square}")),
            }));
            now.extend((board.drained >= 0.2).then(|| "drained".to_owned()));
            now.extend((board.dimmed >= 0.07).then(|| "dimmed".to_owned()));
            let caption = scene.caption.text.as_ref().filter(|_| half(scene.caption.enter));
            now.extend(caption.map(|text| format!("caption {text}")));
        }
        for thing in now.symmetric_difference(&before) {
            changes.entry(thing.clone()).or_default().push(number as u64);
        }
        before = now;
    }
    // Seven changes within one second would be more than three pairs.
    let flashes = |frames: &Vec<u64>| frames.windows(7).any(|seven| seven[6] - seven[0] <= 30);
    changes
        .into_iter()
        .find(|(_, frames)| flashes(frames))
        .map(|(thing, frames)| format!("{thing} flashes: {frames:?}"))
}

#[test]
fn hurried_cues_do_not_flash_either() {
    let mut draft = Draft::default().position(Some(0), SAAVEDRA).play(500, "c7");
    for number in 0..24 {
        draft = draft.cue(1500 + 110 * number, |cue| {
            cue.text = Some(Spanned::new(["One", "Two"][number as usize % 2].to_owned(), 0..0));
            if number % 2 == 0 {
                (cue.marks, cue.arrows) = (marks(MarkRole::Key, "d5"), vec![arrow("c7", "c8")]);
                cue.stay = Some(Spanned::new(Duration::from_millis(70), 0..0));
            }
        });
    }
    let film =
        draft.play(5000, "Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kb4 Rd4+ Kb3 Rd3+ Kb4 Rd4+").play(6500, "Kb3").film(None).0;
    assert_eq!(flash(&film), None);
    assert!((1500..4500).step_by(10).any(|ms| !board(&film, ms).marks.is_empty()));
}

#[test]
fn pieces_move_without_jumps() {
    // The fastest glide covers seven diagonals in 900 ms; its steepest part is 2.4 times as fast as the mean.
    let limit = 9.9 * 2.4 / (0.9 * 60.0);
    for (line, (fen, moves)) in LINES.iter().enumerate() {
        let one = Doing { wait: None, what: 1, pick: 0, stay: None };
        let film = random_film(line, &vec![one; moves.split(' ').count()], (60, 1));
        for (number, pair) in frames(&film).windows(2).enumerate() {
            let (mut before, now) = (places(&pair[0]), places(&pair[1]));
            before.extend(turned(&pair[0]));
            for &(piece, x, y) in &now {
                let near = |other: &(Piece, f32, f32)| other.0 == piece && (other.1 - x).hypot(other.2 - y) <= limit;
                assert!(before.iter().any(near), "{piece:?} jumps in frame {} of {fen}", number + 1);
            }
        }
    }
}

fn edge(square: Square) -> (f32, f32) {
    (f32::from(square.file()), 7.0 - f32::from(square.rank()))
}

/// Every piece with the place of its square; one that turns is a pawn still.
fn places(picture: &Picture) -> Vec<(Piece, f32, f32)> {
    let Body::Scene(scene) = &picture.body else { return Vec::new() };
    let standing = scene.board.standing.iter().map(|standing| (standing.piece, edge(standing.square)));
    let pawn = |side| Piece { side, role: Role::Pawn };
    let turning = scene.board.promoting.iter().map(|turning| (pawn(turning.side), edge(turning.square)));
    let still = standing.chain(turning).map(|(piece, (x, y))| (piece, x, y));
    still.chain(scene.board.gliding.iter().map(|gliding| (gliding.piece, gliding.x, gliding.y))).collect()
}

/// What a pawn that turns is to become.
fn turned(picture: &Picture) -> Option<(Piece, f32, f32)> {
    let Body::Scene(scene) = &picture.body else { return None };
    let turning = scene.board.promoting?;
    let (x, y) = edge(turning.square);
    Some((Piece { side: turning.side, role: turning.role }, x, y))
}

#[test]
fn a_settled_picture_stays_itself() {
    let film = untimed().good();
    let still: u64 = film
        .runs(FrameIndex(0)..FrameIndex(film.frames()))
        .filter(|run| run.still)
        .map(|run| run.frames.end.0 - run.frames.start.0)
        .sum();
    assert!(still * 2 > film.frames(), "{still} of {} frames stand still", film.frames());
    for run in film.runs(FrameIndex(0)..FrameIndex(film.frames())).filter(|run| run.still) {
        let first = film.frame(run.frames.start);
        assert_eq!(film.frame(FrameIndex(run.frames.end.0 - 1)), first);
        assert_eq!(film.at(film.rate().start_of(run.frames.start)), first);
    }
}

#[test]
fn a_hold_of_two_hours_costs_nothing() {
    let film = Draft::default().position(Some(0), SAAVEDRA).play(1000, "c7").play(7_200_000, "Rd6+").good();
    let began = film.runs(FrameIndex(0)..FrameIndex(film.frames())).collect::<Vec<_>>();
    assert!(began.len() < 10, "{began:#?}");
    let longest = began.iter().map(|run| run.frames.end.0 - run.frames.start.0).max();
    assert!(longest > Some(7_190 * 30), "{longest:?}");
    let restless: u64 = film.restless.iter().map(|range| range.end - range.start).sum();
    assert!(restless < 120, "{restless} frames would be looked at");
}

proptest! {
    #[test]
    fn no_motion_runs_into_the_next(line in 0usize..LINES.len(), gaps in prop::collection::vec(0u32..2000, 14), slow in any::<bool>()) {
        let (fen, moves) = LINES[line];
        let draft = Draft::default().position(Some(0), fen).play(0, moves).back(None, Back::Start);
        let (game, _) = resolve(&draft.timeline, &PgnFiles::new());
        let crate::game::Body::Board(mut board) = game.scenes[0].body.clone() else { unreachable!("a position is a board") };
        board.pace = slow.then_some(0.35);
        let mut now = 0;
        let times: Vec<Time> = gaps[..board.steps.len()].iter().map(|gap| { now += gap; ms_time(now) }).collect();
        let rate = FrameRate::new(30, 1).expect("thirty frames per second is a rate");
        let end = ms_time(now + 300);
        let beats = beats(&board, &times, end, rate, Motion::Full);
        for (beat, next) in beats.iter().zip(times.iter().copied().skip(1).chain([end])) {
            prop_assert!(beat.still <= next && beat.complete <= next, "{:?} is not done at {}", beat, next);
            prop_assert!(beat.start <= beat.still && beat.still <= beat.complete);
            prop_assert!(beat.still == beat.start || beat.complete.since(beat.start) >= Duration::from_millis(99), "three frames at least");
        }
    }
}

#[test]
fn a_film_can_be_shared() {
    fn shared<T: Sync + Send>() {}
    shared::<Film>();
}
