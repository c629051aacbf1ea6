//! What a composition asks for, read from the words under its diagram, and of whom.

mod tongues;

use super::Ending;
use crate::game::rules;
use crate::units::Side;
use shakmaty::Color;
use std::fmt;

/// What is to be done. The side to move begins, and does it unless the words name the other one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stipulation {
    /// A study: `White to play and win`, `+`.
    Win,
    /// A study: `White to play and draw`, `=`.
    Draw,
    /// `#3`, `mate in 3`: the side to move mates in so many moves against any defence.
    Mate(u32),
    /// `s#3`: it makes the other side mate it.
    SelfMate(u32),
    /// `h#2.5`: both help towards mate in so many half-moves; whoever makes the last one mates.
    HelpMate(u32),
    /// `r#2`: a selfmate in which both sides must mate in one move where they can.
    ReflexMate(u32),
}

impl Stipulation {
    /// Reads the trade's signs and its usual words in English and German; `None` if nothing of the kind is said.
    pub fn read(task: &str) -> Option<Stipulation> {
        let words = tongues::in_english(task);
        let words = words.trim().trim_end_matches(['.', '!']);
        let number = |text: &str| -> Option<u32> {
            let text = text.split([',', ';', '(']).next().unwrap_or_default();
            let text = text.trim().trim_end_matches(" moves").trim_end_matches(" move");
            const WORDS: [&str; 10] = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"];
            let word = WORDS.iter().position(|word| *word == text).map(|index| index as u32 + 1);
            word.or_else(|| text.parse().ok()).filter(|number| (1..=30).contains(number))
        };
        // Longer names first: `mate in` ends them all.
        for (names, make) in [
            (&["helpmate in", "h#"][..], Stipulation::HelpMate as fn(u32) -> Stipulation),
            (&["selfmate in", "s#"], Stipulation::SelfMate),
            (&["reflexmate in", "r#"], Stipulation::ReflexMate),
            (&["mate in", "mates in", "#"], Stipulation::Mate),
        ] {
            for &name in names {
                let Some((before, rest)) = words.split_once(name) else { continue };
                if !begins_a_word(before) {
                    continue;
                }
                if make(1) == Stipulation::HelpMate(1) {
                    let rest = rest
                        .split([',', ';', '('])
                        .next()
                        .unwrap_or_default()
                        .trim()
                        .trim_end_matches(" moves")
                        .replace('½', ".5");
                    let (whole, half) = rest.strip_suffix(".5").map_or((rest.as_str(), 0), |whole| (whole, 1));
                    let whole = if whole.is_empty() { Some(0) } else { number(whole) };
                    return whole.map(|whole| 2 * whole + half).filter(|plies| *plies > 0).map(Stipulation::HelpMate);
                }
                return number(rest).map(make);
            }
        }
        match words.split_whitespace().last() {
            Some("+") if words == "+" => Some(Stipulation::Win),
            Some("=") if words == "=" => Some(Stipulation::Draw),
            Some("win" | "wins") => Some(Stipulation::Win),
            Some("draw" | "draws") => Some(Stipulation::Draw),
            _ => None,
        }
    }

    /// Which side the words send first: `White to play and win`, `Black to move, White wins`, `Black mates in 3`. Of both
    /// (`Black moves away. White to play and win`) neither.
    pub(super) fn begins(task: &str) -> Option<Color> {
        let words = words(task);
        let mut sides = words.windows(2).filter_map(sent);
        let first = sides.next()?;
        sides.all(|side| side == first).then_some(first)
    }

    /// Whether the words are a demand and nothing else, so that they can be held against the position: `White to play and
    /// win`, `Black to move`, but not `White cannot win` or `A rook that wins`.
    pub(super) fn is_plain(task: &str) -> bool {
        let plain =
            |word: &String| DEMANDS.contains(&word.as_str()) || word.bytes().all(|digit| digit.is_ascii_digit());
        words(task).iter().all(plain)
    }

    /// Whose win or draw a study asks for: that of the side named last, or of White where a sign alone is given, as
    /// the trade has it; of the side to move where nobody is named.
    pub(super) fn solver(task: &str, turn: Color) -> Color {
        if matches!(task.trim(), "+" | "=") {
            return Color::White;
        }
        words(task).iter().rev().find_map(|word| side(word)).unwrap_or(turn)
    }

    /// Who wins, or makes the draw, by the words of a task, `turn` being to move.
    pub fn winner(task: &str, turn: Side) -> Side {
        rules::side(Stipulation::solver(task, Color::from_white(turn == Side::White)))
    }

    /// How many solutions the words behind the stipulation speak of: `h#3, 2 solutions`.
    pub(super) fn intended_solutions(task: &str) -> Option<usize> {
        let words: Vec<String> = tongues::in_english(task).split_whitespace().map(str::to_string).collect();
        let at = words.iter().position(|word| word.starts_with("solution"))?;
        let number = words.get(at.checked_sub(1)?)?.trim_matches(|sign: char| !sign.is_alphanumeric());
        let word = ["one", "two", "three", "four", "five", "six"].iter().position(|word| *word == number);
        word.map(|index| index + 1).or_else(|| number.parse().ok()).filter(|number| (1..=50).contains(number))
    }

    /// The stipulation in print: its sign, or words where the sign would stand for White and the solver is Black.
    pub(super) fn told(self, solver: Color) -> String {
        match (self, solver) {
            (Stipulation::Win, Color::Black) => "Black wins".into(),
            (Stipulation::Draw, Color::Black) => "Black draws".into(),
            _ => self.to_string(),
        }
    }

    /// The result a study asks for, the solver seen as White.
    pub(super) fn goal(self) -> Option<Ending> {
        match self {
            Stipulation::Win => Some(Ending::WhiteWins),
            Stipulation::Draw => Some(Ending::Draw),
            _ => None,
        }
    }
}

/// The words that demands are made of.
const DEMANDS: [&str; 35] = [
    "white",
    "black",
    "to",
    "play",
    "plays",
    "move",
    "moves",
    "begin",
    "begins",
    "and",
    "win",
    "wins",
    "draw",
    "draws",
    "mate",
    "mates",
    "in",
    "helpmate",
    "selfmate",
    "reflexmate",
    "h",
    "s",
    "r",
    "solution",
    "solutions",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
];

/// The words of a task, in small letters and without signs.
fn words(task: &str) -> Vec<String> {
    let task = tongues::in_english(task);
    task.split(|sign: char| !sign.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_owned).collect()
}

/// The side that two words send: `white to`, `black mates`.
fn sent(pair: &[String]) -> Option<Color> {
    let begins = matches!(pair[1].as_str(), "to" | "mates" | "plays" | "moves" | "begins");
    side(&pair[0]).filter(|_| begins)
}

fn side(word: &str) -> Option<Color> {
    match word {
        "white" => Some(Color::White),
        "black" => Some(Color::Black),
        _ => None,
    }
}

/// The trade's sign: `+`, `=`, `#3`, `h#2.5`.
impl fmt::Display for Stipulation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Stipulation::Win => f.write_str("+"),
            Stipulation::Draw => f.write_str("="),
            Stipulation::Mate(moves) => write!(f, "#{moves}"),
            Stipulation::SelfMate(moves) => write!(f, "s#{moves}"),
            Stipulation::HelpMate(plies) if plies % 2 == 1 => write!(f, "h#{}.5", plies / 2),
            Stipulation::HelpMate(plies) => write!(f, "h#{}", plies / 2),
            Stipulation::ReflexMate(moves) => write!(f, "r#{moves}"),
        }
    }
}

/// Whether what follows is a stipulation of its own and not the end of another's name: `ser-h#5`, `hs#3` and `stalemate in
/// 2` ask for something else than the signs and words that they end with.
fn begins_a_word(before: &str) -> bool {
    let joined = before.ends_with(|sign: char| sign.is_alphanumeric() || matches!(sign, '-' | '=' | '.'));
    let series = before.split_whitespace().next_back().is_some_and(|word| word.starts_with("ser"));
    before.ends_with("check") || !joined && !series
}
