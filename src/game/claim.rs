//! What a film can claim, from phrase to meaning.

mod motif;

use super::word::{self, Read};
use super::{Claim, Claimed};
use crate::diag::{Code, Diagnostic, nearest};
use crate::source::Spanned;
use crate::units::Side;

/// The phrases without a number or a move in them.
const PHRASES: [(&str, Claim); 10] = [
    ("check", Claim::Check),
    ("mate", Claim::Mate),
    ("stalemate", Claim::Stalemate),
    ("only move", Claim::OnlyMove),
    ("white wins", Claim::Wins(Side::White)),
    ("black wins", Claim::Wins(Side::Black)),
    ("draw", Claim::Draw),
    ("only winning move", Claim::OnlyWinningMove),
    ("only drawing move", Claim::OnlyDrawingMove),
    ("zugzwang", Claim::Zugzwang),
];

/// The longest mate that can be claimed, in moves: longer ones no film speaks of, and no search reaches.
const LONGEST: u32 = 30;

impl Claim {
    /// Whether it speaks of the last move and the position before it.
    pub fn is_about_last_move(&self) -> bool {
        matches!(self, Claim::OnlyMove | Claim::OnlyWinningMove | Claim::OnlyDrawingMove)
    }

    /// Whether there must have been a move for it to speak of.
    pub fn needs_a_move(&self) -> bool {
        match self {
            Claim::Motif(motif, _) => motif.is_of_a_move(),
            other => other.is_about_last_move(),
        }
    }
}

/// The phrase as a timeline writes it.
impl std::fmt::Display for Claim {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Claim::MateIn(moves) => write!(f, "mate in {moves}"),
            Claim::Threat(san) => write!(f, "threat {san}"),
            Claim::ThreatMateIn(moves) => write!(f, "threat mate in {moves}"),
            Claim::Wins(side) => write!(f, "{side} wins"),
            Claim::Motif(motif, squares) => motif::write(f, *motif, squares),
            Claim::Flights(king, flights) => motif::write_flights(f, *king, flights),
            plain => {
                let phrase = PHRASES.iter().find(|(_, claim)| claim == plain).map_or("", |(phrase, _)| phrase);
                f.write_str(phrase)
            }
        }
    }
}

/// Reads every claim of a cue and reports those that are none.
pub(super) fn read_all(phrases: &[Spanned<String>], diagnostics: &mut Vec<Diagnostic>) -> Vec<Claimed> {
    phrases
        .iter()
        .filter_map(|phrase| match read(&phrase.value) {
            Ok(claim) => Some(Claimed { claim, span: phrase.span }),
            Err(fault) => {
                let error = Diagnostic::error(fault.code, phrase.span, fault.message).label(fault.label);
                diagnostics.push(error.hint(fault.hint));
                None
            }
        })
        .collect()
}

/// Why a phrase is no claim.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct NoClaim {
    pub code: Code,
    pub message: String,
    pub label: String,
    pub hint: String,
}

/// Reads one phrase, whatever its case and spaces.
pub(crate) fn read(phrase: &str) -> Result<Claim, NoClaim> {
    let words: Vec<&str> = phrase.split_whitespace().collect();
    let plain = words.join(" ").to_lowercase();
    if let Some((_, claim)) = PHRASES.iter().find(|(known, _)| *known == plain) {
        return Ok(claim.clone());
    }
    if let Some(read) = motif::read(&plain) {
        return read;
    }
    let lower: Vec<String> = words.iter().map(|word| word.to_lowercase()).collect();
    let lower: Vec<&str> = lower.iter().map(String::as_str).collect();
    match lower.as_slice() {
        ["mate", "in", number] => moves(number).map(Claim::MateIn),
        ["threat", "mate", "in", number] => moves(number).map(Claim::ThreatMateIn),
        ["win" | "wins" | "winning" | "won"] => {
            Err(NoClaim { hint: "say who: `White wins` or `Black wins`".into(), ..unknown(phrase, "") })
        }
        ["threat", "mate"] | ["threat"] => Err(unknown(phrase, "threat mate in 2")),
        ["mate", "in"] => Err(unknown(phrase, "mate in 2")),
        ["threat", _] => match word::read(words[1]) {
            Ok(Read::Move(_)) => Ok(Claim::Threat(words[1].to_string())),
            other => Err(NoClaim {
                code: Code::SanSyntax,
                message: format!("`{}` is no move that could be a threat", words[1]),
                label: match other {
                    Err(misread) => misread.label,
                    Ok(Read::EnPassant { .. }) => "`e.p.` without its move".into(),
                    Ok(_) => "a move number without its move".into(),
                },
                hint: "write the move that is threatened, `threat Ra8#`, or `threat mate in 2`".into(),
            }),
        },
        _ => {
            let known = PHRASES.iter().map(|(known, _)| *known).chain(["mate in 2", "threat mate in 2"]);
            Err(match nearest(&plain, known.chain(motif::phrases())) {
                Some(near) => unknown(phrase, near),
                None => NoClaim { hint: all(), ..unknown(phrase, "") },
            })
        }
    }
}

fn moves(number: &str) -> Result<u32, NoClaim> {
    match number.trim_end_matches(['.', '!']).parse::<u32>() {
        Ok(moves) if (1..=LONGEST).contains(&moves) => Ok(moves),
        _ => Err(NoClaim {
            code: Code::BadValue,
            message: format!("`{number}` is no number of moves for a mate"),
            label: format!("not a number from 1 to {LONGEST}"),
            hint: format!("`mate in 3`: from 1 to {LONGEST} moves of the side that mates"),
        }),
    }
}

fn unknown(phrase: &str, near: &str) -> NoClaim {
    // Sides are written with a capital in a film, though any case is read.
    let near = near.replace("white", "White").replace("black", "Black");
    NoClaim {
        code: Code::UnknownWord,
        message: format!("`{phrase}` is no claim that can be checked"),
        label: "not a known claim".into(),
        hint: format!("did you mean `{near}`?"),
    }
}

fn all() -> String {
    let motifs: Vec<String> = motif::phrases().map(|phrase| format!("`{phrase}`")).collect();
    format!(
        "the claims are `check`, `mate`, `stalemate`, `only move`, `mate in 3`, `threat Ra8#`, `threat mate in 2`, \
         `White wins`, `Black wins`, `draw`, `only winning move`, `only drawing move`, `zugzwang`; the motifs, with \
         squares where you like (`pin e4`), {}; and `flights h8 g7 h7`, `flights h8 none`",
        motifs.join(", ")
    )
}
