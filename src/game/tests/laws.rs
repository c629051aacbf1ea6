//! What holds of every text and every position.

use super::*;
use proptest::prelude::*;
use shakmaty::Position;

/// Positions reached by playing these choices from the initial array or a study.
fn reached(start: &str, choices: &[u8]) -> Chess {
    let mut position = fen::read(start).0.expect("a sound FEN");
    for choice in choices {
        let legal = position.legal_moves();
        if legal.is_empty() {
            break;
        }
        position.play_unchecked(legal[usize::from(*choice) % legal.len()]);
    }
    position
}

fn start() -> impl Strategy<Value = &'static str> {
    prop_oneof![
        Just("rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1"),
        Just("r3k2r/1P4P1/8/3pP3/3Pp3/8/1p4p1/R3K2R w KQkq d6 0 1"),
        Just(SAAVEDRA),
        Just("4k3/8/8/8/1b2r2n/8/4n3/R3K3 w Q - 0 1"),
    ]
}

proptest! {
    #[test]
    fn any_text_is_read_as_a_fen_with_faults_on_character_boundaries(
        text in prop_oneof![".*", "[1-8kqrbnpKQRBNPo\u{f6}/ ]{0,40} [wbx] [KQkq-]{1,4} [a-h1-8-]{1,2}( [0-9]{0,6}){0,3}"]
    ) {
        let (position, faults) = fen::read(&text);
        prop_assert_eq!(position.is_none(), faults.iter().any(|fault| !fault.harmless));
        for fault in faults {
            prop_assert!(text.get(fault.place).is_some(), "a fault has a place inside the text");
        }
    }

    #[test]
    fn a_fen_that_is_written_is_read_back(start in start(), choices in prop::collection::vec(any::<u8>(), 0..60)) {
        let position = reached(start, &choices);
        let written = rules::fen(&position);
        let (read, faults) = fen::read(&written);
        prop_assert!(faults.iter().all(|fault| fault.harmless), "{}: {:?}", written, faults);
        prop_assert_eq!(rules::fen(&read.expect("no fault that matters")), written);
    }

    #[test]
    fn any_word_is_read_as_a_move_or_refused_at_a_place_in_it(
        start in start(),
        choices in prop::collection::vec(any::<u8>(), 0..30),
        word in prop_oneof![
            ".*",
            "[KQRBNPkqrbnp\u{2654}\u{265c}]?[a-h]?[1-9]?[x:-]?[a-i][0-9][=(/]?[QRBNKqx]?[)]?(e.p.)?[+#]{0,2}[!?]{0,3}",
            "[0Oo][-\u{2013}][0Oo]([-\u{2013}][0Oo])?[+#]?",
        ]
    ) {
        let position = reached(start, &choices);
        match find::find(&position, &word, None) {
            find::Outcome::Move(found, sign) => {
                prop_assert!(position.is_legal(found.chosen));
                if let Some(sign) = sign {
                    prop_assert!(word.get(sign.place).is_some());
                }
            }
            find::Outcome::Refused(refusal) => {
                prop_assert!(word.get(refusal.place).is_some());
                let unexplained = ["may not go", "is not possible here"].iter().any(|words| refusal.label.contains(words));
                prop_assert!(!refusal.label.is_empty() && !unexplained, "`{}` in {}: {}", word, rules::fen(&position), refusal.label);
            }
            find::Outcome::Nothing | find::Outcome::EnPassant(..) => {}
        }
    }

    #[test]
    fn every_legal_move_is_found_by_its_san_and_by_its_squares(
        start in start(),
        choices in prop::collection::vec(any::<u8>(), 0..60),
    ) {
        let position = reached(start, &choices);
        for chosen in position.legal_moves() {
            let uci = chosen.to_uci(shakmaty::CastlingMode::Standard).to_string();
            for word in [rules::san(&position, chosen), uci] {
                match find::find(&position, &word, None) {
                    find::Outcome::Move(found, None) => prop_assert_eq!(found.chosen, chosen),
                    other => prop_assert!(false, "{}: {:?}", word, other),
                }
            }
        }
    }

    #[test]
    fn any_text_is_read_as_a_pgn(
        text in prop_oneof![".*", "(\\[FEN \"[kK8/ w-]{0,30}\"\\]\n)?([1-9]\\. |e4 |e5 |Nf3 |\\( ?|\\) ?|\\{a\\} |;x\n|\\$[0-9]{1,4} |--|\\[|\\]|\\*|!\\? ){0,30}"]
    ) {
        let files = PgnFiles::from([("p".to_string(), Ok(Arc::new(Source::new("p", text.as_str()))))]);
        let body = SceneBody::Pgn { file: Spanned::new("p".into(), 0..1), game: None };
        let (game, diagnostics) = resolve(&film(vec![timeline::Scene { body, ..scene("", vec![]) }]), &files);
        prop_assert_eq!(game.scenes.len(), 1);
        for found in diagnostics.iter().filter(|found| found.source.is_some()) {
            prop_assert!(text.get(found.primary.span.start..found.primary.span.end).is_some());
        }
    }

    #[test]
    fn any_phrase_is_a_claim_or_has_a_hint(phrase in prop_oneof![".*", "(mate|threat|in|only|move|White|wins|[0-9]{1,3}| ){0,8}"]) {
        match claim::read(&phrase) {
            Ok(read) => prop_assert_eq!(claim::read(&read.to_string()).expect("a printed claim is read"), read),
            Err(refused) => prop_assert!(!refused.hint.is_empty()),
        }
    }
}
