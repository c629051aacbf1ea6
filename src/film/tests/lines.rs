//! The lists of a scene share their moves, and each shows what a list made by itself would.

use super::list::written;
use super::*;
use crate::film::{Current, Line, ListMove, MoveList, TryLine};
use crate::game::{Action, Board, NodeId, Step};
use proptest::prelude::*;

/// What a cue of a random walk of two kings does.
#[derive(Clone, Debug)]
enum Doing {
    /// So many plies, each king to its left or right; with a sign; as a try or not.
    Play {
        left: Vec<bool>,
        sign: usize,
        is_try: bool,
    },
    Back(usize),
    Start,
}

fn doings() -> impl Strategy<Value = Vec<Doing>> {
    let play = (prop::collection::vec(any::<bool>(), 1..5), 0usize..4, prop::bool::weighted(0.3))
        .prop_map(|(left, sign, is_try)| Doing::Play { left, sign, is_try });
    let doing = prop_oneof![4 => play, 2 => (1usize..4).prop_map(Doing::Back), 1 => Just(Doing::Start)];
    prop::collection::vec(doing, 1..30)
}

/// Two kings who step along the first and the last rank, between the b- and the g-file.
fn walk(doings: &[Doing]) -> Draft {
    let mut draft = Draft::default().position(Some(0), "4k3/8/8/8/8/8/8/4K3 w - - 0 1");
    // The files that the kings stood on after every ply.
    let mut way = vec![[4i8, 4]];
    for (cue, doing) in doings.iter().enumerate() {
        let at = Some(1000 * (cue as u32 + 1));
        draft = match doing {
            Doing::Play { left, sign, is_try } => {
                let mut words = Vec::new();
                for &left in left {
                    let mut files = way[way.len() - 1];
                    let side = (way.len() - 1) % 2;
                    let step = if left && files[side] > 1 || files[side] == 6 { -1 } else { 1 };
                    files[side] += step;
                    way.push(files);
                    let file = char::from(b'a' + files[side] as u8);
                    let word = format!("K{file}{}{}", if side == 0 { 1 } else { 8 }, ["", "!", "?", "!?"][*sign]);
                    words.push(Spanned::new(word, 0..0));
                }
                let line = if *is_try { LineKind::Try } else { LineKind::Solution };
                draft.cue(at, |cue| (cue.play, cue.line) = (words, Some(Spanned::new(line, 0..0))))
            }
            Doing::Back(plies) => {
                let plies = (*plies).min(way.len() - 1);
                if plies == 0 {
                    continue;
                }
                way.truncate(way.len() - plies);
                draft.back(at, Back::Plies(plies as u32))
            }
            Doing::Start => {
                way.truncate(1);
                draft.back(at, Back::Start)
            }
        };
    }
    draft
}

/// A line that hangs: after so many moves, within which other, of which kind, its nodes.
type Hung = (usize, Option<usize>, LineKind, Vec<NodeId>);

/// The list once these steps are done, found the long way: every step anew, every node looked for.
fn by_itself(board: &Board, steps: &[Step]) -> MoveList {
    let (mut main, mut tries): (Vec<NodeId>, Vec<Hung>) = Default::default();
    let parent = |id: NodeId| board.nodes[id.0].came.as_ref().map(|(parent, _)| *parent);
    let way = |id: NodeId| std::iter::successors(Some(id), |id| parent(*id)).filter(|id| id.0 > 0).collect::<Vec<_>>();
    for id in steps.iter().flat_map(|step| way(step.node).into_iter().rev()) {
        let kind = board.nodes[id.0].line;
        if main.contains(&id) || tries.iter().any(|hung| hung.3.contains(&id)) {
            continue;
        }
        let from = parent(id).expect("the start is in no way");
        if let Some(at) = tries.iter().position(|hung| hung.3.contains(&from)) {
            if tries[at].3.last() == Some(&from) {
                tries[at].3.push(id);
            } else {
                tries.push((tries[at].0, Some(tries[at].1.unwrap_or(at)), kind, vec![id]));
            }
            continue;
        }
        let depth = main.iter().position(|on_main| *on_main == from).map_or(0, |at| at + 1);
        if kind != LineKind::Try && depth == main.len() {
            main.push(id);
        } else {
            tries.push((depth, None, kind, vec![id]));
        }
    }
    let here = steps.last().map_or(NodeId(0), |step| step.node);
    let way = way(here);
    let played = |id: &NodeId| {
        let (_, ply) = board.nodes[id.0].came.as_ref().expect("a ply leads to it");
        let last = steps.iter().rfind(|step| step.node == *id && step.action == Action::Play);
        let sign = last.map_or(ply.suffix.as_str(), |step| board.sign_at(step));
        let san = format!("{}{sign}", ply.san).into();
        ListMove { number: ply.number, side: ply.piece.side, san, muted: !way.contains(id) }
    };
    let line = |ids: &[NodeId]| Line::from(ids.iter().map(played).collect::<Vec<_>>());
    let mut order: Vec<usize> = (0..tries.len()).collect();
    order.sort_by_key(|&at| (tries[at].0, tries[at].1.unwrap_or(at), at));
    let rank = |at: usize| order.iter().position(|other| *other == at).expect("every line has its rank");
    let place = |ids: &[NodeId]| ids.iter().position(|id| *id == here);
    let current = match place(&main) {
        Some(at) => Current::Main(at),
        None => order.iter().find_map(|&at| Some(Current::Try(rank(at), place(&tries[at].3)?))).unwrap_or_default(),
    };
    let hung = order.iter().map(|&at| {
        let (after, within, kind, ids) = &tries[at];
        let label = if *kind == LineKind::Try && within.is_none() { "TRY" } else { "OR" }.into();
        TryLine { after: *after, within: within.map(rank), line: *kind, label, moves: line(ids), verdict: "".into() }
    });
    MoveList { main: line(&main), tries: hung.collect(), current, fold: "".into() }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn a_list_shows_what_it_would_by_itself(doings in doings()) {
        let draft = walk(&doings);
        let (game, _) = resolve(&draft.timeline, &PgnFiles::new());
        let crate::game::Body::Board(board) = &game.scenes[0].body else { panic!("a scene with a FEN has a board") };
        let (film, _) = Film::new(&draft.timeline, &game, None);
        let times = film.step_times(0);
        for (index, time) in times.iter().enumerate().filter(|(index, time)| times.get(index + 1) != Some(time)) {
            let list = scene(film.at(*time)).list;
            let expected = by_itself(board, &board.steps[..=index]);
            prop_assert_eq!(written(&list), written(&expected));
            prop_assert_eq!(&*list, &expected);
        }
    }
}

#[test]
fn a_scene_holds_the_moves_of_its_lists_once() {
    let moves = ["Kd1", "Kd8", "Ke1", "Ke8"].repeat(50);
    let mut draft = Draft::default().position(Some(0), "4k3/8/8/8/8/8/8/4K3 w - - 0 1");
    for (ply, word) in (1..).zip(&moves) {
        draft = draft.play(1000 * ply, word);
    }
    let film = draft.back(400_000, Back::Start).play(401_000, "Kd1?").good();
    let lists: Vec<_> = film.step_times(0).iter().map(|time| scene(film.at(*time)).list).collect();
    assert_eq!(lists.iter().map(|list| list.main.len()).collect::<Vec<_>>()[..3], [1, 2, 3]);
    assert!(lists.iter().all(|list| list.main.shares_with(&lists[0].main)));
    let first = |index: usize| lists[index].main.get(0).map(|played| played.san.to_string());
    assert_eq!(
        (first(199).as_deref(), first(201).as_deref()),
        (Some("Kd1"), Some("Kd1?")),
        "signs come with their cues"
    );
}
