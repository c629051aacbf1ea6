use super::super::{Budget, Finding, Memory, Verdict, judge_remembering, judge_within};
use super::*;
use crate::game::{Body, Game, PgnFiles};
use crate::source::Source;
use std::collections::HashMap;
use std::sync::Mutex;

/// A scene of one position, these moves and these claims after them.
fn film(fen: &str, moves: &str, claims: &[&str]) -> Game {
    let play = if moves.is_empty() { String::new() } else { format!("play = \"{moves}\", ") };
    let claims: Vec<String> = claims.iter().map(|claim| format!("\"{claim}\"")).collect();
    let text = format!(
        "[[scene]]\nfen = \"{fen}\"\ncues = [\n  {{ text = \"-\", {play}claim = [{}] }},\n]\n",
        claims.join(", ")
    );
    let (timeline, mut diagnostics) = crate::timeline::parse(&Source::new("motif.toml", &*text));
    let (game, found) = crate::game::resolve(&timeline, &PgnFiles::new());
    diagnostics.extend(found);
    assert!(diagnostics.is_empty(), "{text}\n{diagnostics:#?}");
    game
}

fn judged(fen: &str, moves: &str, claim: &str) -> (Verdict, String) {
    let mut found: Vec<Finding> = judge_within(&film(fen, moves, &[claim]), Budget::of(1000));
    assert_eq!(found.len(), 1);
    let finding = found.remove(0);
    (finding.verdict, finding.witness)
}

/// Each claim is true, with this witness.
fn proves(fen: &str, moves: &str, rows: &[(&str, &str)]) {
    for (claim, told) in rows {
        let (verdict, witness) = judged(fen, moves, claim);
        assert_eq!((verdict, witness.as_str()), (Verdict::Proven, *told), "{fen} {moves}: {claim}");
    }
}

/// Each claim is false, for this reason.
fn refutes(fen: &str, moves: &str, rows: &[(&str, &str)]) {
    for (claim, told) in rows {
        let (verdict, witness) = judged(fen, moves, claim);
        assert_eq!((verdict, witness.as_str()), (Verdict::Refuted, *told), "{fen} {moves}: {claim}");
    }
}

#[test]
fn pins_are_to_the_king_or_to_a_better_man() {
    let absolute = "4k3/4n3/8/8/8/8/8/K3R3 w - - 0 1";
    let told = "the rook on e1 pins the knight on e7 to the king on e8";
    proves(absolute, "", &[("pin", told), ("pin e7", told)]);
    refutes(absolute, "", &[("pin e1", &format!("not on e1: {told}"))]);
    let relative = "3qk3/8/5n2/6B1/8/8/8/4K3 w - - 0 1";
    proves(relative, "", &[("pin f6", "the bishop on g5 pins the knight on f6 to the queen on d8")]);
    // A rook behind the rook is as good as it: no pin. A guarded queen is still worth more than the bishop.
    refutes("3rk3/4r3/5B2/8/8/8/8/4K3 w - - 0 1", "", &[("pin", "there is no pin here")]);
    refutes("4k3/4n3/8/4p3/8/8/8/K3R3 w - - 0 1", "", &[("pin e7", "there is no pin on e7")]);
}

#[test]
fn a_skewer_wins_the_man_behind() {
    let told = "the rook on a4 attacks the king on d4 and, behind it, the queen on g4";
    proves("8/8/8/8/3k2q1/8/8/RK6 w - - 0 1", "Ra4+", &[("skewer", told), ("skewer g4 d4 a4", told)]);
    refutes("8/8/8/8/3k2q1/8/8/RK6 w - - 0 1", "", &[("skewer", "there is no skewer here")]);
    let saved = "8/8/2b5/8/3k2q1/8/8/RK6 w - - 0 1";
    refutes(saved, "Ra4+", &[("skewer", &format!("{told}, but 1...Bxa4 loses nothing"))]);
    // The knight behind is guarded and worth less than the rook.
    refutes("8/5p2/6n1/8/8/6k1/8/K5R1 b - - 0 1", "", &[("skewer", "there is no skewer here")]);
    let queens = "4q3/8/8/4r3/8/8/k7/4R2K w - - 0 1";
    refutes(queens, "", &[("skewer", "there is no skewer here")]);
}

#[test]
fn a_fork_leaves_no_answer_that_saves_all() {
    let told = "the knight on c7 attacks the rook on a8 and the king on e8";
    proves("r3k3/8/8/1N6/8/8/8/4K3 w - - 0 1", "Nc7+", &[("fork", told), ("fork c7 a8", told)]);
    refutes(
        "r3k3/8/3b4/1N6/8/8/8/4K3 w - - 0 1",
        "Nc7+",
        &[("fork", "the knight on c7 attacks the rook on a8 and the king on e8, but 1...Bxc7 loses nothing")],
    );
    refutes("4k3/8/8/1N6/8/8/8/4K3 w - - 0 1", "Nc7+", &[("fork", "there is no fork here")]);
    // Both guarded and neither better than the rook: nothing falls.
    refutes("4k3/2p1p3/1p3p2/b4b2/8/8/8/R4K2 w - - 0 1", "", &[("fork", "there is no fork here")]);
}

#[test]
fn what_hangs_already_makes_no_fork_and_no_skewer() {
    // The bishop takes the knight. That the bishop on b1 then takes the queen has nothing to do with the fork.
    let told = "the knight on c7 attacks the rook on a8 and the king on e8, but 1...Bxc7 saves what is attacked";
    refutes("r3k3/8/3b4/1N6/8/8/q7/1B2K3 w - - 0 1", "Nc7+", &[("fork", told), ("fork c7 a8", told)]);
    let told =
        "the rook on a4 attacks the king on d4 and, behind it, the queen on g4, but 1...Bxa4 saves what is attacked";
    refutes("7q/8/2b5/8/3k2q1/8/8/RK5R w - - 0 1", "Ra4+", &[("skewer", told), ("skewer g4 d4 a4", told)]);
    // With a guarded knight the fork wins the rook, whatever else hangs.
    let told = "the knight on c7 attacks the rook on a8 and the king on e8";
    proves("r3k3/8/8/1N6/8/8/q7/1B2K3 w - - 0 1", "Nc7+", &[("fork", told)]);
    // A rook that hangs already and is attacked once more: the answer saves it from the knight at least.
    let (verdict, witness) = judged("r3k3/8/3b4/1N6/8/8/8/R3K3 w - - 0 1", "Nc7+", "fork");
    assert_eq!(
        (verdict, witness.ends_with("but 1...Bxc7 saves what is attacked")),
        (Verdict::Refuted, true),
        "{witness}"
    );
}

#[test]
fn a_pinned_man_forks_and_skewers_nothing() {
    refutes("4r1k1/3q1r2/8/4N3/8/8/8/4K3 w - - 0 1", "", &[("fork", "there is no fork here")]);
    proves(
        "6k1/3q1r2/8/4N3/8/8/8/4K3 w - - 0 1",
        "",
        &[("fork", "the knight on e5 attacks the queen on d7 and the rook on f7")],
    );
    // The rook on d1 must stay before its king.
    refutes("3r2k1/3q4/8/8/8/8/8/r2R2K1 w - - 0 1", "", &[("skewer", "there is no skewer here")]);
}

#[test]
fn where_another_man_falls_instead_a_fork_is_open() {
    // 1...Bxc7 takes the knight, but the bishop was the only guard of the rook on b4.
    let fen = "r3k3/8/3b4/1N6/1r6/8/8/1RK5 w - - 0 1";
    let (verdict, witness) = judged(fen, "Nc7+", "fork a8 e8");
    assert_eq!(verdict, Verdict::Open, "{witness}");
}

/// Verdicts kept in memory from one film to the next.
#[derive(Default)]
struct Kept(Mutex<HashMap<u128, (Verdict, String)>>);

impl Memory for Kept {
    fn recall(&self, question: u128) -> Option<(Verdict, String)> {
        self.0.lock().unwrap().get(&question).cloned()
    }

    fn keep(&self, question: u128, verdict: Verdict, witness: &str) {
        self.0.lock().unwrap().insert(question, (verdict, witness.to_owned()));
    }
}

#[test]
fn a_kept_verdict_is_not_that_of_another_last_move() {
    // Both lines lead to the same position: once the bishop uncovers the rook, once the rook checks by itself.
    let kept = Kept::default();
    let verdicts = |fen: &str, moves: &str| -> Vec<Verdict> {
        let film = film(fen, moves, &["discovered check", "only winning move", "White wins"]);
        let found = judge_remembering(&film, Budget::of(1000), &kept);
        found.into_iter().map(|finding| finding.verdict).collect()
    };
    let uncovers = verdicts("4k3/8/8/4B3/8/8/8/K3R3 w - - 0 1", "Bc3+");
    let itself = verdicts("4k3/8/8/8/8/2B5/8/K2R4 w - - 0 1", "Re1+");
    assert_eq!((uncovers[0], itself[0]), (Verdict::Proven, Verdict::Refuted));
    assert!(kept.0.lock().unwrap().len() >= 2, "what had to be searched for was kept");
}

#[test]
fn batteries_are_direct_or_indirect() {
    let direct = "4k3/8/8/4N3/8/8/8/K3R3 w - - 0 1";
    let told = "the knight on e5 stands before the rook on e1: when it leaves the line, the king on e8 is in check";
    proves(direct, "", &[("battery", told), ("direct battery e5", told), ("battery e1", told)]);
    refutes(direct, "", &[("indirect battery", "there is no indirect battery here")]);
    let indirect = "4k3/8/8/3N4/8/8/8/K2R4 w - - 0 1";
    let told = "the knight on d5 stands before the rook on d1: when it leaves the line, d7 and d8 beside the king on e8 \
                are attacked";
    proves(indirect, "", &[("indirect battery", told), ("battery d7", told)]);
    // A blocked pawn cannot leave the line.
    refutes("4k3/8/4p3/4P3/8/8/8/K3R3 w - - 0 1", "", &[("battery", "there is no battery here")]);
    refutes("4k3/8/8/4P3/8/8/8/K3R3 w - - 0 1", "", &[("battery", "there is no battery here")]);
}

#[test]
fn checks_are_discovered_and_double() {
    let fen = "4k3/8/8/4N3/8/8/8/K3R3 w - - 0 1";
    proves(fen, "Nc4+", &[("discovered check", "Nc4+ uncovers the check of the rook on e1")]);
    refutes(fen, "Nc4+", &[("double check", "there is no double check here")]);
    let both = "the rook on e1 and the knight on c7 attack the king on e8 at once";
    let knight = "4k3/8/8/8/8/8/4N3/K3R3 w - - 0 1";
    refutes(knight, "Nd4+", &[("double check", "there is no double check here")]);
    proves("4k3/8/4N3/8/8/8/8/K3R3 w - - 0 1", "Nc7+", &[("double check", both), ("double check c7 e1", both)]);
    // The rook that castles has moved: its check is not discovered.
    refutes("5k2/8/8/8/8/8/8/4K2R w K - 0 1", "O-O+", &[("discovered check", "there is no discovered check here")]);
    // The pawn taken in passing leaves the bishop's line.
    let passing = "8/6k1/8/3pP3/8/2B5/8/K7 w - d6 0 1";
    let (verdict, _) = judged(passing, "exd6+", "discovered check");
    assert_eq!(verdict, Verdict::Proven);
}

#[test]
fn an_interference_cuts_a_guard_off() {
    let shut = "r2b3k/8/1N6/8/8/8/8/1K1R4 w - - 0 1";
    let told = "the knight on c8 cuts the rook on a8 off from d8, where Rxd8+ now wins material";
    proves(shut, "Nc8", &[("interference", told), ("interference c8 a8", told)]);
    refutes(shut, "Nd7", &[("interference", "there is no interference here")]);
    let mate = "6rk/6pp/8/6N1/8/8/8/b3R1K1 w - - 0 1";
    refutes(mate, "Nf7#", &[("interference", "there is no interference here")]);
    // White answers a check by standing between.
    let between = "r6k/8/8/8/8/8/1R6/K7 w - - 0 1";
    proves(between, "Ra2", &[("interposition", "the rook on a2 stands between the rook on a8 and the king on a1")]);
    refutes(between, "Ra2", &[("interference", "there is no interference here")]);
}

#[test]
fn an_own_man_may_cut_a_guard_off() {
    // The knight shuts the queen off from e8; the back rank is open.
    let told = "the knight on c6 cuts the queen on a4 off from e8, where Re8# now mates";
    proves("7k/6pp/8/8/q2n4/8/8/4R1K1 b - - 0 1", "Nc6", &[("interference", told)]);
    let open = "7k/6pp/8/8/q2n4/8/8/4R1K1 b - - 0 1";
    refutes(open, "Nc2", &[("interference", "there is no interference here")]);
}

#[test]
fn a_stalemate_net_has_a_man_to_give() {
    // G. E. Barbier and F. Saavedra 1895 (from memory): the try 6.c8=Q.
    let moves = "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4 c8=Q";
    let fen = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1";
    proves(fen, moves, &[("stalemate net", "6...Rc4+ 7.Qxc4 is stalemate")]);
    let rook = moves.replace("c8=Q", "c8=R");
    refutes(fen, &rook, &[("stalemate net", "there is no stalemate net here")]);
    let told = "Black can move with the rook on a7 alone, and 1...Rg7 2.Rxg7 is stalemate";
    proves("7k/r7/7K/8/8/8/8/6R1 b - - 0 1", "", &[("stalemate net", told)]);
}

#[test]
fn a_trapped_man_has_no_safe_move() {
    // The bishop that took on a2 and was shut in.
    let shut = "4k3/8/8/8/8/1P6/b1P5/2K5 w - - 0 1";
    proves(shut, "", &[("trapped a2", "the bishop on a2 has no safe move: Bb1 Kxb1, Bxb3 cxb3")]);
    refutes(
        "4k3/8/8/8/8/1P6/b7/2K5 w - - 0 1",
        "",
        &[
            ("trapped a2", "the bishop on a2 is safe on b3: 1...Bxb3"),
            ("trapped c1", "the king on c1 is no piece that can be trapped; `flights c1 none` speaks of kings"),
            ("trapped h1", "no man stands on h1"),
        ],
    );
    let attacked = "4k3/8/8/8/8/1P6/bKP5/8 w - - 0 1";
    let (verdict, witness) = judged(attacked, "", "trapped");
    assert_eq!(verdict, Verdict::Proven);
    assert!(witness.starts_with("the bishop on a2 has no safe move and is attacked: "), "{witness}");
    let (verdict, _) = judged("4k3/8/8/8/8/8/4R3/n3K3 b - - 0 1", "", "trapped a1");
    assert_eq!(verdict, Verdict::Open, "the check comes first");
}

#[test]
fn flights_are_all_and_only_the_squares_a_king_may_go_to() {
    // P. Morphy 1856, from memory: the black king has none from the start.
    proves("kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1", "", &[("flights a8 none", "the king on a8 has no flight")]);
    let corner = "7k/8/5N2/8/8/8/8/K5R1 w - - 0 1";
    refutes(
        corner,
        "",
        &[
            ("flights h8 g7", "the king on h8 cannot go to g7: the rook on g1 guards it"),
            ("flights h8 h7", "the king on h8 cannot go to h7: the knight on f6 guards it"),
            ("flights h8 h6", "the king on h8 cannot go to h6: it is not beside it"),
            ("flights a8 none", "no king stands on a8: White's on a1, Black's on h8"),
            ("flights a1 none", "the king on a1 may go to b1, a2 and b2 too"),
        ],
    );
    // Behind the king on the line of a check is no flight.
    proves(
        "8/8/8/8/R3k3/8/8/K7 b - - 0 1",
        "",
        &[("flights e4 d3 e3 f3 d5 e5 f5", "the king on e4 may go to d3, e3, f3, d5, e5 and f5 alone")],
    );
}

#[test]
fn suggestions_are_ready_to_paste() {
    let text = "[[scene]]\nfen = \"r3k3/8/8/1N6/8/8/8/4K3 w - - 0 1\"\ncues = [\n  { text = \"-\" },\n  \
                { play = \"Nc7+\" },\n  { play = \"Kd8\", marks = [\"dot d8\"] },\n]\n";
    let (timeline, _) = crate::timeline::parse(&Source::new("film.toml", text));
    let (game, _) = crate::game::resolve(&timeline, &PgnFiles::new());
    let notes = suggestions(&game);
    assert_eq!(notes.len(), 1, "{notes:#?}");
    assert_eq!(notes[0].severity, crate::diag::Severity::Note);
    assert_eq!(notes[0].message, "marks could show the fork");
    assert_eq!(notes[0].hints[0], "marks = [\"threat a8 e8\"], arrows = [\"c7 a8\", \"c7 e8\"]");
    let Body::Board(board) = &game.scenes[0].body else { panic!("a board") };
    assert!(sightings(board, NodeId(0)).iter().all(|one| !one.told.is_empty()));
    // What is proposed is accepted where it is pasted.
    for note in &notes {
        for hint in &note.hints {
            let pasted = text.replace("play = \"Nc7+\"", &format!("play = \"Nc7+\", {hint}"));
            let (timeline, mut diagnostics) = crate::timeline::parse(&Source::new("film.toml", &*pasted));
            diagnostics.extend(crate::game::resolve(&timeline, &PgnFiles::new()).1);
            assert!(diagnostics.is_empty(), "{pasted}\n{diagnostics:#?}");
        }
    }
}
