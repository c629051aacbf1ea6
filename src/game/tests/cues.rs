//! What a cue shows and claims: marks, arrows, ghosts, phrases, labels, returns.

use super::*;
use crate::timeline::MarkRole;
use crate::units::{Piece, Role};

fn square(name: &str) -> Square {
    Square::parse(name).unwrap()
}

fn ghost(side: Option<Side>, san: &str, cue: Cue) -> Cue {
    Cue { ghost: Some(Spanned::new(timeline::Ghost { side, san: san.into() }, 40..50)), ..cue }
}

#[test]
fn a_ghost_is_legal_for_its_side() {
    let shown = |side, san: &str, before: &str| {
        let (board, diagnostics) = board(SAAVEDRA, vec![ghost(side, san, moves(0, before))]);
        match board.steps.last().and_then(|step| step.ghost.clone()) {
            Some(ghost) => Ok((ghost, diagnostics.len())),
            None => {
                Err((diagnostics[0].code.name(), diagnostics[0].primary.text.clone(), diagnostics[0].hints.clone()))
            }
        }
    };
    let rook = Piece { side: Side::Black, role: Role::Rook };
    let expected = Ghost { piece: rook, from: square("d5"), to: square("d6") };
    assert_eq!(shown(None, "Rd6+", "c7"), Ok((expected, 0)));
    let queen = Piece { side: Side::White, role: Role::Queen };
    let expected = Ghost { piece: queen, from: square("c7"), to: square("c8") };
    assert_eq!(shown(Some(Side::White), "c8=Q", "c7"), Ok((expected, 0)), "after a null move");
    let (code, fact, hints) = shown(None, "c8=Q", "c7").unwrap_err();
    assert_eq!((code, fact.as_str()), ("illegal-ghost", "it is Black's move; the white pawn stands on c7"));
    assert_eq!(hints[0], "for White's move write `ghost = \"w c8=Q\"`");
    let (code, fact, _) = shown(Some(Side::Black), "Rd1", "c7 Rd6+").unwrap_err();
    assert_eq!((code, fact.as_str()), ("illegal-ghost", "White is in check and cannot pass"));
    assert_eq!(shown(None, "zz", "c7").unwrap_err().0, "san-syntax");
    assert_eq!(shown(None, "Rd6#", "c7").unwrap().1, 1, "a false sign is told, and the ghost is known all the same");
}

#[test]
fn marks_and_arrows_are_parsed() {
    let mark = |role, squares: &[&str]| {
        Spanned::new(timeline::Mark { role, squares: squares.iter().map(ToString::to_string).collect() }, 0..0)
    };
    let arrow = |side, from: &str, to: &str| {
        Spanned::new(timeline::Arrow { plan: false, side, from: from.into(), to: to.into() }, 0..0)
    };
    let cue = Cue {
        marks: vec![mark(MarkRole::Trap, &["a1", "b1"]), mark(MarkRole::Force, &["h1", "a8"])],
        arrows: vec![arrow(None, "d5", "d6"), arrow(None, "a8", "a1"), arrow(Some(Side::White), "c8", "c7")],
        ..moves(0, "c7")
    };
    let (board, diagnostics) = board(SAAVEDRA, vec![cue]);
    let step = &board.steps[0];
    let trap = Mark::Squares(MarkRole::Trap, vec![square("a1"), square("b1")]);
    assert_eq!(step.marks, [trap, Mark::Force(square("h1"), square("a8"))]);
    let sides: Vec<Side> = step.arrows.iter().map(|arrow| arrow.side).collect();
    assert_eq!(sides, [Side::Black, Side::Black, Side::White], "the piece's own, else the side to move, else as said");
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
}

#[test]
fn a_step_carries_what_belongs_to_it() {
    use crate::timeline::At;
    use std::time::Duration;
    let text = |text: &str| Some(Spanned::new(text.to_string(), 0..0));
    let cue = Cue {
        at: Some(Spanned::new(At::After(Duration::from_secs(1)), 0..0)),
        every: Some(Spanned::new(Duration::from_millis(900), 0..0)),
        text: text("Now"),
        claims: vec![Spanned::new("only  MOVE".to_string(), 0..0)],
        rest: Some(Spanned::new(Duration::from_secs(2), 0..0)),
        ..moves(0, "c7 Rd6+ Kb5")
    };
    let (board, diagnostics) = board(SAAVEDRA, vec![cue, Cue { text: text(""), ..Cue::default() }]);
    assert!(diagnostics.is_empty(), "{diagnostics:#?}");
    let whens: Vec<When> = board.steps.iter().map(|step| step.when).collect();
    let every = When::Every(Duration::from_millis(900));
    assert_eq!(whens, [When::At(At::After(Duration::from_secs(1))), every, every, When::Follow]);
    assert_eq!((board.steps[0].text.as_ref().unwrap().text.as_str(), board.steps[0].claims.len()), ("Now", 0));
    assert_eq!(
        (board.steps[2].claims[0].claim.clone(), board.steps[2].rest),
        (Claim::OnlyMove, Some(Duration::from_secs(2)))
    );
    assert_eq!((&board.steps[3].action, board.steps[3].text.as_ref().unwrap().text.as_str()), (&Action::Stay, ""));
}

#[test]
fn claims_are_read_whatever_their_case_and_spaces() {
    let meant = [
        ("check", Claim::Check),
        (" Mate ", Claim::Mate),
        ("stalemate", Claim::Stalemate),
        ("Only Move", Claim::OnlyMove),
        ("mate in 3", Claim::MateIn(3)),
        ("threat Ra8#", Claim::Threat("Ra8#".into())),
        ("Threat  mate in 2", Claim::ThreatMateIn(2)),
        ("white WINS", Claim::Wins(Side::White)),
        ("Black wins", Claim::Wins(Side::Black)),
        ("draw", Claim::Draw),
        ("only winning move", Claim::OnlyWinningMove),
        ("only drawing move", Claim::OnlyDrawingMove),
        ("zugzwang", Claim::Zugzwang),
    ];
    for (phrase, claim) in meant {
        assert_eq!(claim::read(phrase).unwrap(), claim);
        assert_eq!(claim::read(&claim.to_string()).unwrap(), claim, "print and read are inverse");
    }
    let hint = |phrase: &str| claim::read(phrase).unwrap_err().hint;
    assert_eq!(hint("stalmate"), "did you mean `stalemate`?");
    assert_eq!(hint("White win"), "did you mean `White wins`?");
    assert_eq!(hint("win"), "say who: `White wins` or `Black wins`");
    assert!(hint("brilliant").contains("`zugzwang`"));
    assert_eq!(claim::read("mate in 0").unwrap_err().code, Code::BadValue);
    assert_eq!(claim::read("mate in 31").unwrap_err().code, Code::BadValue);
    assert_eq!(claim::read("threat zz").unwrap_err().code, Code::SanSyntax);
}

#[test]
fn returns_and_labels_that_lead_nowhere_are_told() {
    let cues = vec![
        labelled("fork", moves(0, "c7")),
        moves(10, "Rd6+"),
        back(Back::Plies(3)),
        back(Back::Label("forc".into())),
        back(Back::Label("fork".into())),
        Cue { claims: vec![Spanned::new("only move".to_string(), 7..8)], ..back(Back::Start) },
    ];
    let (_, diagnostics) = board(SAAVEDRA, cues);
    let codes: Vec<Code> = diagnostics.iter().map(|found| found.code).collect();
    assert_eq!(codes, [Code::BackNowhere, Code::BackNowhere, Code::BadValue]);
    assert_eq!(diagnostics[1].hints, ["did you mean `fork`?"]);
}
