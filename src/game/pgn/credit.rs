//! The credit line and the stipulation out of a game's tags.

use super::lex::Game;
use crate::game::Roster;

/// Credit and stipulation, as far as the tags give them.
///
/// A game from the initial array is credited `White – Black, Event year`. In a composition (a game with a `FEN` tag)
/// the custom is that `White` is the composer and `Black` unknown or the stipulation; if `Black` is a name too, it is
/// a played ending and credited like a game. Fields that are `?`, `-` or empty are passed over.
pub(super) fn of(game: &Game) -> (Option<String>, Option<String>) {
    let value = |name: &str| game.tag(name).map(|tag| tag.value.trim()).filter(|value| is_known(value));
    let white = value("White");
    let black = value("Black");
    let composed = game.tag("FEN").is_some();
    let task = black.filter(|black| composed && is_stipulation(black));
    let opponent = black.filter(|_| task.is_none());
    let people = [white, opponent].into_iter().flatten().map(people).collect::<Vec<_>>().join(" \u{2013} ");
    let year = value("Date").and_then(|date| date.split('.').next()).filter(|year| is_known(year));
    let source = [value("Event"), year].into_iter().flatten().collect::<Vec<_>>().join(" ");
    let credit = [people, source].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
    (Some(credit).filter(|credit| !credit.is_empty()), task.map(str::to_string))
}

/// The tags as they are written. A credit of the timeline's own is words for the screen and takes nothing away from
/// them; a task of its own stands above a composition's `Black`, which is where files have theirs.
pub(super) fn roster(game: &Game, has_task: bool) -> Roster {
    let tag =
        |name: &str| game.tag(name).map(|tag| tag.value.trim()).filter(|value| is_known(value)).map(str::to_owned);
    Roster {
        event: tag("Event"),
        site: tag("Site"),
        date: tag("Date").filter(|date| is_date(date)),
        round: tag("Round"),
        white: tag("White"),
        black: tag("Black").filter(|_| !has_task || game.tag("FEN").is_none()),
        result: tag("Result").filter(|result| ["1-0", "0-1", "1/2-1/2"].contains(&&**result)),
        end: None,
    }
}

/// Ten characters, `YYYY.MM.DD`, with question marks for what is unknown (PGN standard 1994, §8.1.1.3).
fn is_date(date: &str) -> bool {
    date.len() == 10
        && date.bytes().enumerate().all(|(at, sign)| match at {
            4 | 7 => sign == b'.',
            _ => sign.is_ascii_digit() || sign == b'?',
        })
}

fn is_known(value: &str) -> bool {
    !value.chars().all(|sign| matches!(sign, '?' | '-' | '.' | ' '))
}

/// Words or signs that say what is to be done: `White to play and win`, `+`, `#3`.
fn is_stipulation(value: &str) -> bool {
    let lower = value.to_lowercase();
    let words: Vec<&str> = lower.split(|sign: char| !sign.is_alphanumeric()).collect();
    ["win", "wins", "draw", "draws", "mate", "mates", "gewinnt", "gewinn", "remis", "matt"]
        .iter()
        .any(|word| words.contains(word))
        || matches!(value, "+" | "=" | "+-" | "-+" | "1-0" | "1/2-1/2")
        || value.trim_start_matches(['h', 's', 'r']).starts_with('#')
}

/// `Saavedra, F.:Barbier, G. E.` as `F. Saavedra and G. E. Barbier` (PGN standard 1994, §8.1.1.4).
fn people(value: &str) -> String {
    let names: Vec<String> = value
        .split(':')
        .map(|name| match name.split_once(',') {
            Some((last, first)) if !first.trim().is_empty() => format!("{} {}", first.trim(), last.trim()),
            Some((last, _)) => last.trim().to_string(),
            None => name.trim().to_string(),
        })
        .collect();
    crate::game::rules::listed(&names, 9)
}
