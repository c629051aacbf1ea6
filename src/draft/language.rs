//! The words of a language, from its data file: what each may mean, and the turns of speech that say what is done.

use super::pattern::{Pattern, Patterns};
use crate::units::{Role, Side};
use serde::Deserialize;
use std::collections::HashMap;

/// The languages that come with plyreel, by the name that is typed.
const FILES: [(&str, &str); 2] = [("en", include_str!("words/en.toml")), ("de", include_str!("words/de.toml"))];

/// How much less a recogniser's spelling is believed than the word itself.
const HEARD: f32 = 0.5;

/// What a word may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Class {
    Piece(Role),
    /// From 0.
    File(u8),
    /// From 0.
    Rank(u8),
    Side(Side),
    Captures,
    Promotes,
    /// Becomes a queen: a piece's name as a deed.
    Queens,
    Castles,
    Short,
    Long,
    Check,
    Mate,
    Stalemate,
    /// May stand between a piece and its square.
    Link,
    /// What follows is a place, not a target.
    Place,
    /// What follows is a target, whatever stands before.
    Towards,
    /// What follows is where a piece comes from.
    Origin,
    /// The piece that follows is put somewhere.
    Puts,
    /// Stands for a man that was named before.
    Pronoun,
    /// What a man does that moves.
    Motion,
    /// What follows does the taking.
    With,
    /// What follows is one more of a list.
    Joins,
}

/// One thing a word may be, and how much is to be said against it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reading {
    pub class: Class,
    pub cost: f32,
}

/// The words of one language.
#[derive(Clone, Debug)]
pub struct Language {
    words: HashMap<String, Vec<Reading>>,
    pub(super) patterns: Patterns,
}

impl Language {
    /// The language of this name, `en` or `de`.
    pub fn named(name: &str) -> Option<Language> {
        let (_, text) = FILES.iter().find(|(known, _)| *known == name)?;
        Some(Language::read(text).expect("the language files that come with plyreel are sound: a test reads them all"))
    }

    /// The names of the languages there are.
    pub fn names() -> impl Iterator<Item = &'static str> {
        FILES.iter().map(|(name, _)| *name)
    }

    /// Reads a language's data file (see `words/en.toml`); the error says what is wrong with it.
    pub fn read(text: &str) -> Result<Language, String> {
        let file: File = toml::from_str(text).map_err(|error| error.to_string())?;
        let mut words: HashMap<String, Vec<Reading>> = HashMap::new();
        let mut add = |list: &Spellings, class: Class| {
            let plain = list.plain.iter().map(|word| (word, 0.0));
            for (word, cost) in plain.chain(list.heard.iter().map(|word| (word, HEARD))) {
                let readings = words.entry(word.to_lowercase()).or_default();
                if !readings.iter().any(|reading| reading.class == class) {
                    readings.push(Reading { class, cost });
                }
            }
        };
        for (name, list) in &file.pieces {
            let role = Role::ALL.into_iter().find(|role| role.to_string() == *name);
            add(list, Class::Piece(role.ok_or_else(|| format!("`{name}` is no piece"))?));
        }
        for (name, list) in &file.files {
            match name.as_bytes() {
                [file @ b'a'..=b'h'] => add(list, Class::File(file - b'a')),
                _ => return Err(format!("`{name}` is no file")),
            }
        }
        for (name, list) in &file.ranks {
            match name.as_bytes() {
                [rank @ b'1'..=b'8'] => add(list, Class::Rank(rank - b'1')),
                _ => return Err(format!("`{name}` is no rank")),
            }
        }
        add(&file.sides.white, Class::Side(Side::White));
        add(&file.sides.black, Class::Side(Side::Black));
        let signs = &file.signs;
        for (list, class) in [
            (&signs.captures, Class::Captures),
            (&signs.promotes, Class::Promotes),
            (&signs.queens, Class::Queens),
            (&signs.castles, Class::Castles),
            (&signs.short, Class::Short),
            (&signs.long, Class::Long),
            (&signs.check, Class::Check),
            (&signs.mate, Class::Mate),
            (&signs.stalemate, Class::Stalemate),
        ] {
            add(list, class);
        }
        for (list, class) in [
            (&file.links.words, Class::Link),
            (&file.links.places, Class::Place),
            (&file.links.towards, Class::Towards),
            (&file.links.origins, Class::Origin),
            (&file.links.puts, Class::Puts),
            (&file.links.pronouns, Class::Pronoun),
            (&file.links.motions, Class::Motion),
            (&file.links.with, Class::With),
            (&file.links.joins, Class::Joins),
        ] {
            add(&Spellings { plain: list.clone(), heard: Vec::new() }, class);
        }
        Ok(Language { words, patterns: file.phrases.compile() })
    }

    /// All that a word, in small letters, may be.
    pub(super) fn readings(&self, word: &str) -> &[Reading] {
        self.words.get(word).map_or(&[], Vec::as_slice)
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    pieces: HashMap<String, Spellings>,
    files: HashMap<String, Spellings>,
    ranks: HashMap<String, Spellings>,
    sides: Sides,
    signs: Signs,
    links: Links,
    phrases: Phrases,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Spellings {
    plain: Vec<String>,
    heard: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sides {
    white: Spellings,
    black: Spellings,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Signs {
    captures: Spellings,
    promotes: Spellings,
    queens: Spellings,
    castles: Spellings,
    short: Spellings,
    long: Spellings,
    check: Spellings,
    mate: Spellings,
    stalemate: Spellings,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Links {
    words: Vec<String>,
    places: Vec<String>,
    towards: Vec<String>,
    origins: Vec<String>,
    puts: Vec<String>,
    pronouns: Vec<String>,
    motions: Vec<String>,
    with: Vec<String>,
    joins: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Phrases {
    en_passant: Vec<String>,
    start: Vec<String>,
    again: Vec<String>,
    undo: Vec<String>,
    back: Vec<String>,
    main: Vec<String>,
    aside: Vec<String>,
    turn: Vec<String>,
    no_return: Vec<String>,
    better: Vec<String>,
    named: Vec<String>,
    verdict: Vec<String>,
    after: Vec<String>,
    leave: Vec<String>,
    scene: Vec<String>,
    threat: Vec<String>,
    never: Vec<String>,
    reason: Vec<String>,
    maybe: Vec<String>,
    look: Vec<String>,
    given: Vec<String>,
    slip: Vec<String>,
    unplayed: Vec<String>,
    only_move: Vec<String>,
    two_squares: Vec<String>,
    failing: Vec<String>,
    right: Vec<String>,
}

impl Phrases {
    fn compile(&self) -> Patterns {
        let list = |lines: &[String]| lines.iter().map(|line| Pattern::new(line)).collect();
        Patterns {
            en_passant: list(&self.en_passant),
            start: list(&self.start),
            again: list(&self.again),
            undo: list(&self.undo),
            back: list(&self.back),
            main: list(&self.main),
            aside: list(&self.aside),
            turn: list(&self.turn),
            no_return: list(&self.no_return),
            better: list(&self.better),
            named: list(&self.named),
            verdict: list(&self.verdict),
            after: list(&self.after),
            leave: list(&self.leave),
            scene: list(&self.scene),
            threat: list(&self.threat),
            never: list(&self.never),
            reason: list(&self.reason),
            maybe: list(&self.maybe),
            look: list(&self.look),
            given: list(&self.given),
            slip: list(&self.slip),
            unplayed: list(&self.unplayed),
            only_move: list(&self.only_move),
            two_squares: list(&self.two_squares),
            failing: list(&self.failing),
            right: list(&self.right),
        }
    }
}
