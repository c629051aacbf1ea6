//! Tokens → every move that may have been spoken of: each stretch of words that has the form of one.
//!
//! Forms overlap: `king e four` holds the pawn's `e four`. Which of them is meant is not decided here.

mod man;
mod square;

use super::context::Speech;
use super::language::Class;
use super::mention::{Mention, Said};
use super::token::{Stop, Token};
use crate::units::Side;
use std::ops::Range;

/// Words between a piece and its square.
const MOST_LINKS: usize = 6;
/// How far behind a move its `check` or `mate` may stand.
const TAIL: usize = 3;

/// What it costs to pass over a mention of each form.
mod strength {
    pub const PIECE: f32 = 3.2;
    pub const PAWN: f32 = 2.2;
    pub const CAPTURE: f32 = 2.6;
    pub const TAKEN: f32 = 2.2;
    pub const TAKEN_BY_ANY: f32 = 1.6;
    pub const CASTLES: f32 = 2.6;
    /// The part of it where the file may be another word.
    pub const HEARD: f32 = 0.5;
    pub const PROMOTION: f32 = 2.8;
    pub const BECOMES: f32 = 1.4;
    pub const PIECE_TAKES: f32 = 1.6;
    pub const TAKES: f32 = 1.2;
    pub const PARTIAL: f32 = 0.45;
    /// The part of it where the same is said in full right behind.
    pub const SAID_AGAIN: f32 = 0.6;
    pub const LONE: f32 = 0.3;
    pub const MOTION: f32 = 0.4;
    pub const CHECK_ON: f32 = 0.8;
    pub const PLACE: f32 = 0.2;
    pub const PRONOUN: f32 = 0.6;
    pub const ANY: f32 = 0.2;
    /// A bare square behind `to`.
    pub const TO: f32 = 1.4;
}

/// What is said against mentions of odd forms.
mod doubt {
    /// Each word between a piece and its square, beyond three.
    pub const LINK: f32 = 0.15;
    /// A square behind `on`, `at`, `from`.
    pub const PLACE: f32 = 1.6;
    /// A man that moves, though nobody says where to.
    pub const MOTION: f32 = 0.8;
    /// `it` for a man.
    pub const PRONOUN: f32 = 0.6;
    /// A bare square that is no pawn's.
    pub const ANY: f32 = 1.2;
    /// A bare square behind `to` that is no pawn's.
    pub const TO: f32 = 0.6;
    /// A rank or a file is missing.
    pub const PARTIAL: f32 = 1.0;
    /// A piece's name alone.
    pub const LONE: f32 = 1.0;
    /// Words that run on where something should follow.
    pub const RUNS_ON: f32 = 1.2;
    /// A question.
    pub const ASKED: f32 = 0.8;
    /// `takes` alone.
    pub const TAKES: f32 = 0.5;
    /// A comma inside.
    pub const COMMA: f32 = 0.3;
}

/// Finds every mention, in the order in which they begin.
pub(super) fn mentions(tokens: &[Token], speech: &Speech) -> Vec<Mention> {
    let ear = Ear { tokens, speech };
    let mut found: Vec<Found> = (0..tokens.len()).flat_map(|at| ear.at(at)).collect();
    found.sort_by_key(|form| (form.place.start, form.place.end));
    let floors = floors(&found);
    let outer = outer(&found);
    let told = floors.into_iter().zip(outer);
    let said_again = said_again(&found);
    let found = found.into_iter().zip(said_again).map(|(form, again)| {
        let part = if again { strength::SAID_AGAIN } else { 1.0 };
        Found { strength: form.strength * part, ..form }
    });
    found.zip(told).map(|(form, (floor, outer))| ear.mention(form, floor, outer)).collect()
}

/// For every form, where the strong one before it ends: what is said before that is not about this one.
fn floors(found: &[Found]) -> Vec<usize> {
    let mut strong: Vec<Range<usize>> = Vec::new();
    found
        .iter()
        .map(|form| {
            let floor = strong.iter().rev().take(8).map(|place| place.end).filter(|end| *end <= form.place.start).max();
            if form.strength >= strength::PAWN {
                strong.push(form.place.clone());
            }
            floor.unwrap_or(0)
        })
        .collect()
}

/// For every form, whether it leaves the square open and the same is said in full right behind it: `takes the knight,
/// knight takes e five`.
fn said_again(found: &[Found]) -> Vec<bool> {
    /// How far behind the full form may begin.
    const NEAR: usize = 2;
    let same = |form: &Found, full: &Found| {
        let (form, full) = (&form.said, &full.said);
        full.is_full() && full.captures && (form.role.is_none() || form.role == full.role)
    };
    found
        .iter()
        .enumerate()
        .map(|(number, form)| {
            let vague = form.said.captures && !form.said.is_full();
            let near = |other: &&Found| other.place.start <= form.place.end + NEAR;
            vague
                && found[number + 1..]
                    .iter()
                    .take_while(near)
                    .any(|other| other.place.start >= form.place.end && same(form, other))
        })
        .collect()
}

/// For every form, where the strong one begins that holds it: what is said before `knight f six` is also said before
/// the `f six` in it.
fn outer(found: &[Found]) -> Vec<usize> {
    /// How many words before it a form that holds another may begin: none is as long as that.
    const LONGEST: usize = 12;
    found
        .iter()
        .enumerate()
        .map(|(number, form)| {
            let holds = |other: &&Found| other.strength >= strength::PAWN && other.place.end >= form.place.end;
            let nearby =
                found[..number].iter().rev().take_while(|other| other.place.start + LONGEST > form.place.start);
            nearby.filter(holds).map(|other| other.place.start).min().unwrap_or(form.place.start)
        })
        .collect()
}

/// A form before what is around it is known.
#[derive(Clone, Debug)]
struct Found {
    said: Said,
    place: Range<usize>,
    strength: f32,
    doubt: f32,
    is_place: bool,
    /// Whether a word before it puts it on its square, wherever that is.
    is_put: bool,
}

/// A square's file and rank from 0, the token after it, and what is against it.
#[derive(Clone, Copy)]
struct Target {
    file: u8,
    rank: u8,
    end: usize,
    cost: f32,
}

struct Ear<'a> {
    tokens: &'a [Token],
    speech: &'a Speech,
}

impl Ear<'_> {
    fn is(&self, at: usize, class: Class) -> bool {
        self.tokens.get(at).is_some_and(|token| token.is(class))
    }

    fn stop(&self, at: usize) -> Stop {
        self.tokens.get(at).map_or(Stop::Full, |token| token.stop)
    }

    /// The squares that may be named from here on.
    fn targets(&self, at: usize) -> Vec<Target> {
        let (Some(first), Some(second)) = (self.tokens.get(at), self.tokens.get(at + 1)) else { return Vec::new() };
        if first.stop == Stop::Full || first.owns {
            return Vec::new();
        }
        let files = first.files().flat_map(|(file, cost)| {
            second.ranks().map(move |(rank, more)| Target { file, rank, end: at + 2, cost: cost + more })
        });
        files.collect()
    }

    /// All forms that begin here.
    fn at(&self, at: usize) -> Vec<Found> {
        let mut found = Vec::new();
        self.castles(at, &mut found);
        self.piece(at, at, None, 0.0, &mut found);
        self.file_before_piece(at, &mut found);
        self.file_takes(at, &mut found);
        self.square(at, &mut found);
        self.takes(at, &mut found);
        self.pronoun(at, &mut found);
        self.check_on(at, &mut found);
        self.becomes(at, &mut found);
        self.in_passing(at, &mut found);
        found
    }

    /// What is against a form that ends with token `at` because the words run on: `takes something else`.
    fn runs_on(&self, at: usize) -> f32 {
        let Some(next) = self.tokens.get(at + 1) else { return 0.0 };
        let plain = !next.readings.is_empty();
        if self.stop(at) != Stop::None || plain { 0.0 } else { doubt::RUNS_ON }
    }

    /// Whether a square or a piece is named from here on, behind at most a few words between.
    fn names_target(&self, at: usize) -> bool {
        for k in at..(at + 4).min(self.tokens.len()) {
            if self.stop(k - 1) != Stop::None {
                return false;
            }
            if !self.targets(k).is_empty() {
                return true;
            }
            if self.tokens[k].pieces().any(|(_, cost)| cost == 0.0) {
                // `queen takes knight takes`: the next piece begins a move of its own.
                return !self.is(k + 1, Class::Captures) && self.targets(k + 1).is_empty();
            }
            if !self.is(k, Class::Link) && !self.is(k, Class::Place) {
                return false;
            }
        }
        false
    }

    fn same_word(&self, at: usize, last: usize) -> bool {
        matches!((self.tokens.get(at), self.tokens.get(last)), (Some(first), Some(last)) if first.word == last.word)
    }

    /// The mention of a form: whose it is, whether it checks, and what is said around it.
    fn mention(&self, form: Found, floor: usize, outer: usize) -> Mention {
        let Found { mut said, place, strength, doubt, is_place, .. } = form;
        for ahead in place.end..(place.end + TAIL).min(self.tokens.len()) {
            if self.stop(ahead - 1) == Stop::Full {
                break;
            }
            said.check |= self.is(ahead, Class::Check);
            said.mate |= self.tokens[ahead].cost(Class::Mate) == Some(0.0);
            let joins = self.is(ahead, Class::Link) || self.is(ahead, Class::Check) || self.is(ahead, Class::Mate);
            if !joins {
                break;
            }
        }
        said.side = self.side(place.start);
        said.two_squares = self.speech.two_squares_in(&place);
        said.only = self.speech.only_near(&place, 4);
        let mut context = self.speech.around(self.tokens, &(outer..place.end), floor.min(outer));
        context.place = is_place;
        let words = self.tokens[place.start].word..self.tokens[place.end - 1].word + 1;
        Mention { said, words, tokens: place, strength: strength.max(0.0), doubt, context }
    }

    /// Whose man it is, if that stands just before.
    fn side(&self, start: usize) -> Option<Side> {
        let parts = |at: usize| self.tokens[at].stop != Stop::None;
        let nearby = (start.saturating_sub(2)..start).rev().take_while(|at| !parts(*at));
        let of = |at: usize| {
            [Side::White, Side::Black].into_iter().find(|side| self.tokens[at].cost(Class::Side(*side)) == Some(0.0))
        };
        { nearby }.find_map(of)
    }
}
