use super::*;
use crate::game::PgnFiles;
use crate::source::Spanned;
use crate::timeline::{Cue, Scene, SceneBody, Timeline};

/// The findings of one cue: these moves from this position, then these claims.
fn findings(fen: &str, moves: &str, claims: &[&str]) -> Vec<Finding> {
    findings_within(fen, moves, claims, Budget::default())
}

fn findings_within(fen: &str, moves: &str, claims: &[&str], budget: Budget) -> Vec<Finding> {
    judge_within(&game_of(position(fen, vec![cue(moves, claims)])), budget)
}

/// A cue that plays these moves, then claims.
pub(super) fn cue(moves: &str, claims: &[&str]) -> Cue {
    let spanned = |text: &str| Spanned::new(text.to_string(), 0..0);
    Cue {
        play: moves.split_whitespace().map(spanned).collect(),
        claims: claims.iter().map(|claim| spanned(claim)).collect(),
        ..Cue::default()
    }
}

pub(super) fn position(fen: &str, cues: Vec<Cue>) -> Scene {
    Scene {
        name: None,
        at: None,
        body: SceneBody::Position { fen: Some(Spanned::new(fen.to_string(), 0..0)) },
        task: None,
        credit: None,
        text: None,
        ring: None,
        cues,
        span: Span::default(),
    }
}

/// The chess of a film of one scene, in which nothing is wrong.
pub(super) fn game_of(scene: Scene) -> Game {
    let timeline = Timeline { scenes: vec![scene], ..Timeline::default() };
    let (game, diagnostics) = crate::game::resolve(&timeline, &PgnFiles::new());
    assert!(!crate::diag::has_errors(&diagnostics), "{diagnostics:#?}");
    game
}

fn ruling(fen: &str, moves: &str, claim: &str) -> (Verdict, String) {
    let mut found = findings(fen, moves, &[claim]);
    assert_eq!(found.len(), 1);
    let finding = found.remove(0);
    (finding.verdict, finding.witness)
}

/// P. Morphy, New York Clipper 1856, mate in 2 (from memory).
pub(super) const MORPHY: &str = "kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1";
/// T. Taverner 1889, mate in 2 (from memory).
const TAVERNER: &str = "3brrb1/2N4B/8/2p4Q/2p2k2/5P2/4P1KR/2N2RB1 w - - 0 1";
/// S. Loyd, "Charles XII at Bender" 1859, mate in 3 (from memory).
const LOYD_BENDER: &str = "8/6R1/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1";
/// S. Loyd 1868, mate in 3 by promotion to a knight (from memory).
const LOYD_KNIGHT: &str = "b7/PP6/8/8/7K/6B1/6N1/4R1bk w - - 0 1";

#[test]
fn the_laws_decide_check_mate_and_stalemate() {
    let stalemate = ("8/8/1KP5/3r4/8/8/8/k7 w - - 0 1", "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4 c8=Q Rc4+ Qxc4");
    assert_eq!(ruling(stalemate.0, stalemate.1, "stalemate").0, Verdict::Proven);
    assert_eq!(ruling(stalemate.0, stalemate.1, "mate").0, Verdict::Refuted);
    assert_eq!(ruling(stalemate.0, stalemate.1, "draw").0, Verdict::Proven);
    assert_eq!(ruling(MORPHY, "Ra6 bxa6 b7", "mate").0, Verdict::Proven);
    assert_eq!(ruling(MORPHY, "Ra6 bxa6 b7", "White wins").0, Verdict::Proven);
    assert_eq!(ruling(MORPHY, "Ra6 bxa6 b7", "Check").0, Verdict::Proven);
    let (verdict, witness) = ruling(MORPHY, "Rxa7+", "mate");
    assert_eq!((verdict, witness.as_str()), (Verdict::Refuted, "Bxa7 is legal"));
}

#[test]
fn the_only_move_is_the_only_legal_one() {
    assert_eq!(ruling(MORPHY, "Rxa7+ Bxa7", "only move").0, Verdict::Proven);
    let (verdict, witness) = ruling(MORPHY, "Ra6 bxa6", "only move");
    assert_eq!(verdict, Verdict::Refuted);
    assert!(witness.contains("Bc7") && witness.ends_with("legal too"), "{witness}");
}

#[test]
fn published_problems_have_their_mates_and_none_shorter() {
    for (fen, moves, key) in
        [(MORPHY, 2, "Ra6"), (TAVERNER, 2, "Rh1"), (LOYD_BENDER, 3, "Rxg3"), (LOYD_KNIGHT, 3, "bxa8=N")]
    {
        let (verdict, line) = ruling(fen, "", &format!("mate in {moves}"));
        assert_eq!(verdict, Verdict::Proven, "{fen}");
        assert!(line.starts_with(&format!("1.{key} ")) && line.ends_with('#'), "{fen}: {line}");
        assert_eq!(line.split(' ').count(), moves * 2 - 1, "the defence holds out to the end: {line}");
        let (shorter, witness) = ruling(fen, "", &format!("mate in {}", moves - 1));
        assert_eq!(shorter, Verdict::Refuted, "{fen}: {witness}");
    }
}

#[test]
fn a_threat_is_seen_after_a_null_move() {
    let back_rank = "6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1";
    assert_eq!(ruling(back_rank, "Ra7", "threat Ra8#"), (Verdict::Proven, "1.Ra8#".into()));
    assert_eq!(ruling(back_rank, "Ra7", "threat Ra8"), (Verdict::Proven, "1.Ra8#".into()));
    assert_eq!(ruling(back_rank, "Ra7", "threat Ra8+").0, Verdict::Refuted, "it is mate, not only check");
    assert_eq!(ruling(back_rank, "Ra7", "threat mate in 1").0, Verdict::Proven);
    let start = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";
    let found = findings_within(start, "e4", &["threat d4"], Budget::of(20_000)).remove(0);
    assert_eq!((found.verdict, found.witness.contains("not decided")), (Verdict::Open, true));
    // King and pawn against king: 1.Kd6 threatens 2.e6, which wins; 1.Kd4 threatens nothing by 2.Kd3.
    let pawn = "3k4/8/8/3KP3/8/8/8/8 w - - 0 1";
    let (verdict, witness) = ruling(pawn, "Kd6", "threat e6");
    assert!(verdict == Verdict::Proven && witness.starts_with("after 1.e6 White mates in"), "{witness}");
    let (verdict, witness) = ruling("3k4/8/8/8/3K4/8/8/7B w - - 0 1", "Kd5", "threat Ke6");
    assert_eq!(
        (verdict, witness.as_str()),
        (Verdict::Refuted, "1.Ke6 gains nothing: it is a draw with it and without it")
    );
    assert_eq!(ruling(back_rank, "Ra7", "threat Rb8").0, Verdict::Refuted);
    assert_eq!(ruling(back_rank, "Ra7", "threat Rb7#").0, Verdict::Refuted);
    // After 6.c8=R of F. Saavedra's win (1895, from memory) White threatens 7.Ra8+ Ra4 8.Rxa4#.
    let moves = "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4 c8=R";
    let saavedra = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1";
    assert_eq!(ruling(saavedra, moves, "threat mate in 2"), (Verdict::Proven, "6.Ra8+ Ra4 7.Rxa4#".into()));
    assert_eq!(ruling(saavedra, "c7 Rd6+", "threat Rxc6").0, Verdict::Open, "White is in check");
}

#[test]
fn what_is_not_decided_is_open_and_says_why() {
    // The initial array: nobody knows.
    let start = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";
    let small = Budget::of(20_000);
    let found = findings_within(start, "e4", &["White wins", "draw", "only drawing move", "zugzwang"], small);
    assert!(found.iter().all(|finding| finding.verdict == Verdict::Open && !finding.witness.is_empty()), "{found:#?}");
    assert_eq!((found[0].node, found[2].node), (NodeId(1), NodeId(0)));
    let told = diagnostics(&found);
    assert_eq!(told.len(), 4);
    assert!(told.iter().all(|warning| warning.code == Code::ClaimOpen));
    // A budget too small to look at all answers decides nothing.
    let small = Budget::of(50);
    let outcome = mate::Search::new(small).shortest(&shakmaty::Chess::default(), 3);
    assert_eq!(outcome, mate::Outcome::Unknown(1));
}

#[test]
fn a_result_is_decided_by_a_short_mate_or_by_too_little_material() {
    let bishop = "8/8/4k3/8/8/3BK3/8/8 w - - 0 1";
    assert_eq!(ruling(bishop, "", "draw").0, Verdict::Proven);
    assert_eq!(ruling(bishop, "", "White wins").0, Verdict::Refuted);
    let pawn = "8/8/4k3/8/8/3PK3/8/8 w - - 0 1";
    assert_eq!(ruling(pawn, "", "Black wins").0, Verdict::Refuted, "a bare king never wins");
    let (verdict, line) = ruling(MORPHY, "", "White wins");
    assert_eq!((verdict, line.as_str()), (Verdict::Proven, "1.Ra6 bxa6 2.b7#"));
    assert_eq!(ruling(MORPHY, "", "draw"), (Verdict::Refuted, "1.Ra6 bxa6 2.b7#".into()));
    // With the defender to move, every answer must lose.
    assert_eq!(ruling(MORPHY, "Ra6", "White wins"), (Verdict::Proven, "1...bxa6 2.b7#".into()));
    assert_eq!(ruling(MORPHY, "Ra6", "Black wins").0, Verdict::Refuted);
}

/// King and pawn against king: counts and verdicts made by trying everything (own brute force with another program).
#[test]
fn a_pawn_ending_is_decided_both_ways() {
    let zugzwangs = [
        "2k5/8/2KP4/8/8/8/8/8 w - - 0 1",
        "8/3k4/8/3K4/3P4/8/8/8 w - - 0 1",
        "8/8/8/4k3/8/4K3/4P3/8 w - - 0 1",
        "8/8/8/3k4/8/3K4/4P3/8 w - - 0 1",
    ];
    for fen in zugzwangs {
        for fen in [fen.to_string(), fen.replace(" w ", " b ")] {
            assert_eq!(ruling(&fen, "", "zugzwang").0, Verdict::Proven, "{fen}");
            let white_to_move = fen.contains(" w ");
            assert_eq!(ruling(&fen, "", "draw").0 == Verdict::Proven, white_to_move, "{fen}");
            assert_eq!(ruling(&fen, "", "White wins").0 == Verdict::Proven, !white_to_move, "{fen}");
        }
    }
    let never = "1k6/8/PK6/8/8/8/8/8 w - - 0 1";
    assert_eq!(ruling(never, "", "zugzwang").0, Verdict::Refuted);
    assert_eq!(ruling(never, "", "draw").0, Verdict::Proven);
    assert_eq!(ruling("6k1/8/5KP1/8/8/8/8/8 w - - 0 1", "g7", "only winning move").0, Verdict::Proven);
    let two = "3k4/8/3K4/4P3/8/8/8/8 w - - 0 1";
    assert_eq!(ruling(two, "e6", "only winning move"), (Verdict::Refuted, "1.Ke6 wins too".into()));
    assert_eq!(ruling(two, "Ke6", "only winning move"), (Verdict::Refuted, "1.e6 wins too".into()));
    assert_eq!(ruling(two, "Kc6", "only winning move").0, Verdict::Refuted, "it does not win at all");
    let three = "7k/8/6K1/6P1/8/8/8/8 w - - 0 1";
    // Kh6, Kf6 and Kf7 all keep the win, but after 1.Kf6 Kg8 only 2.Kg6 wins, and 2...Kh8 is where it began.
    assert_eq!(ruling(three, "Kh6", "only winning move"), (Verdict::Refuted, "1.Kf7 wins too".into()));
    assert_eq!(ruling(two, "e6", "only drawing move"), (Verdict::Refuted, "1.e6 even wins".into()));
}

#[test]
fn a_mate_of_any_length_is_counted_where_the_tables_reach() {
    let rook = "8/8/8/8/8/3k4/8/K6R w - - 0 1";
    let Some(Worth::Win(plies)) = worth(rook) else { panic!("a rook wins") };
    let moves = plies.div_ceil(2);
    let (verdict, line) = ruling(rook, "", &format!("mate in {moves}"));
    assert_eq!(verdict, Verdict::Proven);
    assert!(line.starts_with("1.") && (line.ends_with('#') || line.ends_with('…')), "{line}");
    assert_eq!(ruling(rook, "", &format!("mate in {}", moves - 1)).0, Verdict::Refuted);
    assert!(ruling(rook, "", &format!("mate in {}", moves + 1)).1.ends_with(&format!("(mate in {moves})")));
}

/// Theory, which the graph finds too, by a million positions: the side with the pawn more cannot get through. Here few
/// slices show it.
#[test]
fn a_pawn_ending_of_more_men_is_decided_by_its_slices() {
    let held = "8/8/p1k5/P7/KP6/8/8/8 w - - 0 1";
    let found = findings_within(held, "", &["draw", "White wins"], Budget::of(1_000_000));
    assert_eq!((found[0].verdict, found[1].verdict), (Verdict::Proven, Verdict::Refuted), "{found:?}");
    assert!(found[0].witness.contains("formations of pawns"), "{}", found[0].witness);
}

/// A share of a large budget may still ask for tables of five men, a small budget may not, and a composition asks for
/// those of its first two materials only.
#[test]
fn tables_of_five_men_are_asked_for_by_the_question_and_not_by_its_share() {
    let position = |fen: &str| {
        let fen: shakmaty::fen::Fen = fen.parse().expect("a FEN");
        rules::position_of(fen.into_setup()).expect("a legal position")
    };
    let fives =
        ["8/8/8/3k4/1r6/8/3BK3/7R w - - 0 1", "8/8/8/3k4/1r6/8/3NK3/7R w - - 0 1", "8/8/2k5/8/1q6/8/3QK3/7R w - - 0 1"];
    let fives = fives.map(position);
    assert!(known::is_ours(&fives[0], Budget::default().part(40)));
    assert!(known::is_ours(&fives[0], Budget::of(25_000_000).part(40)));
    assert!(!known::is_ours(&fives[0], Budget::of(5_000_000)));
    let four = position("8/8/8/3k4/1r6/8/4K3/7R w - - 0 1");
    assert!(known::is_ours(&four, Budget::of(10)));
    // The same men with colours exchanged are the same material.
    let turned = position("7r/3bk3/8/1R6/3K4/8/8/8 b - - 0 1");
    let fives_of = |positions: &[&shakmaty::Chess]| Fives::Any.of_the_first(positions.iter().copied());
    let first = fives_of(&[&four, &fives[0], &turned, &fives[1], &fives[2]]);
    let asked = Budget { fives: first, ..Budget::default() };
    let answered = [&fives[0], &turned, &fives[1], &fives[2], &four].map(|position| known::is_ours(position, asked));
    assert_eq!(answered, [true, true, true, false, true]);
    assert_eq!(Fives::None.of_the_first(fives.iter()), Fives::None);
}

/// A memory of few positions makes a search longer, and changes nothing of what it finds.
#[test]
fn a_search_holds_no_more_than_it_may() {
    let narrow = Budget { bytes: 20_000, ..Budget::default() };
    for (fen, moves) in [(TAVERNER, 2), (LOYD_BENDER, 3), (LOYD_KNIGHT, 3)] {
        let fen: shakmaty::fen::Fen = fen.parse().expect("a FEN");
        let position = rules::position_of(fen.into_setup()).expect("a legal position");
        let mut search = mate::Search::new(narrow);
        assert_eq!(search.shortest(&position, moves), mate::Outcome::Mate(moves));
        assert!(search.held() <= 20_000 / 100, "{}", search.held());
    }
}

/// Pawn endings and rook against knight decided by the graph alone, with leaves of other material only: it may leave
/// open, but never contradicts the tables.
#[test]
fn the_graph_never_contradicts_the_tables() {
    use super::graph::{Graph, Returning};
    use super::known;
    use shakmaty::Position as _;
    use shakmaty::fen::Fen;
    let mut chance: u64 = 1895;
    let mut next = |below: u64| {
        chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (chance >> 33) % below
    };
    let (mut looked_at, mut decided) = (0, 0);
    while looked_at < 60 {
        let mut board = shakmaty::Board::empty();
        let pawn = next(8) + 8 * (1 + next(6));
        let men = [(next(64), 'K'), (next(64), 'k'), (pawn, 'P')];
        let others = [(next(64), 'R'), (next(64), 'n')];
        let with_pawn = next(3) > 0;
        let third = if with_pawn { &men[2..] } else { &others[..] };
        for (square, letter) in men[..2].iter().chain(third).copied() {
            let piece = shakmaty::Piece::from_char(letter).expect("a man's letter");
            board.set_piece_at(shakmaty::Square::new(square as u32), piece);
        }
        let turn = shakmaty::Color::from_white(next(2) == 0);
        let setup = shakmaty::Setup { board, turn, ..shakmaty::Setup::empty() };
        let Some(position) =
            rules::position_of(setup).filter(|position| position.board().occupied().count() == 2 + third.len())
        else {
            continue;
        };
        let truth = known::at_leaf(&position, Budget::default()).expect("few men");
        let graph = Graph::explore(&position, Returning::Allowed, Budget::of(200_000));
        let fen = Fen::from_position(&position, shakmaty::EnPassantMode::Legal);
        let bounds = graph.root();
        assert!(bounds.low <= truth && truth <= bounds.high, "{fen}: {bounds:?}, but {truth}");
        for (chosen, bounds) in graph.root_moves() {
            let truth = known::at_leaf(&notation::after(&position, chosen), Budget::default()).expect("few men");
            assert!(bounds.low <= truth && truth <= bounds.high, "{fen} {chosen:?}: {bounds:?}, but {truth}");
        }
        looked_at += 1;
        decided += usize::from(bounds.known().is_some());
    }
    assert!(decided > looked_at / 5, "{decided} of {looked_at} decided");
}

#[test]
fn a_mate_said_of_the_wrong_side_names_it_and_the_right_claim() {
    // White has just moved, and Black is to move.
    let found = findings(LOYD_BENDER, "Rg7-g4", &["mate in 2"]);
    assert_eq!(found[0].verdict, Verdict::Refuted);
    assert!(found[0].witness.starts_with("Black, to move, has no mate in 2"), "{}", found[0].witness);
    let told = diagnostics(&found);
    assert_eq!(
        told[0].hints,
        ["claim in the cue before Rg4 that White mates in 2; that it threatens to, with `threat mate in 1`"]
    );
    let found = findings(MORPHY, "", &["mate in 1"]);
    assert!(found[0].witness.starts_with("White, to move, has no mate in 1"), "{}", found[0].witness);
    assert_eq!(diagnostics(&found)[0].hints, [""; 0]);
}
