//! Tokens → every move that may have been spoken of: each stretch of words that has the form of one.
//!
//! Forms overlap: `king e four` holds the pawn's `e four`. Which of them is meant is not decided here.

use super::context::Speech;
use super::language::Class;
use super::mention::{Mention, Said};
use super::token::{Stop, Token};
use crate::game::Wing;
use crate::units::{Role, Side};
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
    pub const CASTLES: f32 = 2.6;
    pub const PROMOTION: f32 = 2.8;
    pub const BECOMES: f32 = 1.4;
    pub const PIECE_TAKES: f32 = 1.6;
    pub const TAKES: f32 = 1.2;
    pub const PARTIAL: f32 = 0.6;
    pub const LONE: f32 = 0.3;
    pub const PLACE: f32 = 0.2;
    pub const ANY: f32 = 0.2;
}

/// What is said against mentions of odd forms.
mod doubt {
    /// Each word between a piece and its square, beyond three.
    pub const LINK: f32 = 0.15;
    /// A square behind `on`, `at`, `from`.
    pub const PLACE: f32 = 1.6;
    /// A bare square that is no pawn's.
    pub const ANY: f32 = 1.2;
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
    found.into_iter().zip(floors).map(|(form, floor)| ear.mention(form, floor)).collect()
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

/// A form before what is around it is known.
#[derive(Clone, Debug)]
struct Found {
    said: Said,
    place: Range<usize>,
    strength: f32,
    doubt: f32,
    is_place: bool,
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
        self.becomes(at, &mut found);
        self.in_passing(at, &mut found);
        found
    }

    fn castles(&self, at: usize, found: &mut Vec<Found>) {
        let Some(cost) = self.tokens[at].cost(Class::Castles) else { return };
        let mut end = at + 1;
        let mut wing = None;
        for ahead in at + 1..(at + 4).min(self.tokens.len()) {
            if self.is(ahead, Class::Short) || self.is(ahead, Class::Long) {
                wing = Some(if self.is(ahead, Class::Short) { Wing::King } else { Wing::Queen });
                end = ahead + 1;
                break;
            }
            if self.stop(ahead - 1) != Stop::None {
                break;
            }
        }
        if at > 0 && wing.is_none() && (self.is(at - 1, Class::Short) || self.is(at - 1, Class::Long)) {
            wing = Some(if self.is(at - 1, Class::Short) { Wing::King } else { Wing::Queen });
        }
        let said = Said { castles: Some(wing), ..Said::default() };
        found.push(Found { said, place: at..end, strength: strength::CASTLES, doubt: cost, is_place: false });
    }

    /// A piece, then where it comes from, then words between, then where it goes or what it takes.
    fn piece(&self, start: usize, at: usize, from_file: Option<u8>, before: f32, found: &mut Vec<Found>) {
        let token = &self.tokens[at];
        for (role, cost) in token.pieces() {
            let owns = if token.owns { 0.8 } else { 0.0 };
            let base = Found {
                said: Said { role: Some(role), from_file, ..Said::default() },
                place: start..at + 1,
                strength: strength::PIECE,
                doubt: cost + before + owns,
                is_place: false,
            };
            self.after_piece(&base, at + 1, true, found);
            let ends = self.stop(at) != Stop::None || at + 1 == self.tokens.len();
            // A lone name, as where a pawn has just arrived: `A knight!`
            if from_file.is_none() && role != Role::Pawn && role != Role::King && ends {
                let said = Said { promotion: Some(role), role: Some(Role::Pawn), ..Said::default() };
                let asked = if token.asks { doubt::ASKED } else { 0.0 };
                let alone =
                    Found { said, strength: strength::LONE, doubt: base.doubt + doubt::LONE + asked, ..base.clone() };
                found.push(alone);
            }
        }
    }

    /// What may follow a piece, from token `at` on.
    fn after_piece(&self, base: &Found, at: usize, origins: bool, found: &mut Vec<Found>) {
        let mut captures = base.said.captures;
        let mut place = false;
        let mut doubt = base.doubt;
        if at == 0 || self.stop(at - 1) == Stop::Full {
            return;
        }
        for (links, k) in (at..self.tokens.len()).enumerate() {
            if links > MOST_LINKS || self.stop(k - 1) == Stop::Full {
                break;
            }
            let comma = if k > at && self.stop(k - 1) == Stop::Comma { doubt::COMMA } else { 0.0 };
            let far = doubt + comma + doubt::LINK * links.saturating_sub(3) as f32;
            for target in self.targets(k) {
                let said = Said { to_file: Some(target.file), to_rank: Some(target.rank), captures, ..base.said };
                self.arrived(base, said, target, far, place && !captures, found);
                if origins && !captures {
                    self.standing_on(base, target, found);
                }
            }
            if captures {
                self.captured(base, k, far, found);
            }
            self.partial(base, k, links, captures, far, found);
            if origins && links <= 1 {
                self.coming_from(base, k, links, found);
            }
            let token = &self.tokens[k];
            if token.is(Class::Captures) && !captures {
                captures = true;
                if !self.names_target(k + 1) {
                    piece_takes(base, k, far + self.runs_on(k), found);
                }
                continue;
            }
            if token.is(Class::Place) {
                place = !captures;
                continue;
            }
            if !token.is(Class::Link) {
                break;
            }
            doubt += comma;
        }
    }

    /// A piece has arrived at its square: what it becomes, if it is a pawn.
    fn arrived(&self, base: &Found, said: Said, target: Target, far: f32, is_place: bool, found: &mut Vec<Found>) {
        let pawn = said.role == Some(Role::Pawn);
        let (promotion, end) = if pawn { self.promotion(target.end) } else { (None, target.end) };
        let place = if is_place { doubt::PLACE } else { 0.0 };
        let said = Said { promotion, ..said };
        let strength = match (is_place, promotion.is_some(), said.role) {
            (true, ..) => strength::PLACE,
            (_, true, _) => strength::PROMOTION,
            _ => base.strength,
        };
        found.push(Found {
            said,
            place: base.place.start..end,
            strength: strength - target.cost,
            doubt: far + target.cost + place,
            is_place,
        });
    }

    /// `rook on h1 goes to e1`: the square just heard was where the piece stands.
    fn standing_on(&self, base: &Found, target: Target, found: &mut Vec<Found>) {
        let moves_on = self.is(target.end, Class::Link)
            || self.is(target.end, Class::Captures)
            || !self.targets(target.end).is_empty();
        if self.stop(target.end - 1) != Stop::None || !moves_on {
            return;
        }
        let from = Said { from_file: Some(target.file), from_rank: Some(target.rank), ..base.said };
        let from = Found { said: from, doubt: base.doubt + target.cost, ..base.clone() };
        self.after_piece(&from, target.end, false, found);
    }

    /// `knight b to d2`, `rook from the a file to a1`.
    fn coming_from(&self, base: &Found, at: usize, links: usize, found: &mut Vec<Found>) {
        if base.said.from_file.is_some() {
            return;
        }
        let origin = links == 0 || self.is(at - 1, Class::Origin);
        for (file, cost) in self.tokens[at].files() {
            if origin && cost < 0.6 && self.stop(at) == Stop::None {
                let said = Said { from_file: Some(file), ..base.said };
                let from = Found { said, doubt: base.doubt + cost + 0.2, ..base.clone() };
                self.after_piece(&from, at + 1, false, found);
            }
        }
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

    /// `… takes the knight`: the piece that stands at `at` is taken.
    fn captured(&self, base: &Found, at: usize, far: f32, found: &mut Vec<Found>) {
        for (role, cost) in self.tokens[at].pieces() {
            if role == Role::King {
                continue;
            }
            let said = Said { captures: true, captured: Some(role), ..base.said };
            found.push(Found {
                said,
                place: base.place.start..at + 1,
                strength: strength::CAPTURE,
                doubt: far + cost,
                is_place: false,
            });
        }
    }

    /// A piece with only a file, or only a rank.
    fn partial(&self, base: &Found, at: usize, links: usize, captures: bool, far: f32, found: &mut Vec<Found>) {
        if links > 2 || !self.targets(at).is_empty() {
            return;
        }
        let token = &self.tokens[at];
        let ranks = token.ranks().filter(|(_, cost)| *cost == 0.0).map(|(rank, cost)| (None, Some(rank), cost));
        let files = token.files().filter(|(_, cost)| *cost == 0.0).map(|(file, cost)| (Some(file), None, cost));
        for (to_file, to_rank, cost) in files.chain(ranks) {
            // An article is no file.
            if token.is(Class::Link) && to_file.is_some() && self.stop(at) == Stop::None {
                continue;
            }
            let said = Said { to_file, to_rank, captures, ..base.said };
            found.push(Found {
                said,
                place: base.place.start..at + 1,
                strength: strength::PARTIAL,
                doubt: far + cost + doubt::PARTIAL,
                is_place: false,
            });
        }
    }

    /// `the b knight takes d2`.
    fn file_before_piece(&self, at: usize, found: &mut Vec<Found>) {
        if self.stop(at) != Stop::None || at + 1 >= self.tokens.len() {
            return;
        }
        for (file, cost) in self.tokens[at].files() {
            let article = if self.is(at, Class::Link) { 0.8 } else { 0.0 };
            if cost == 0.0 {
                self.piece(at, at + 1, Some(file), article, found);
            }
        }
    }

    /// `e takes d5`, `g takes`, `b takes the knight`; and `exd5` written without its sign.
    fn file_takes(&self, at: usize, found: &mut Vec<Found>) {
        for (file, cost) in self.tokens[at].files() {
            let base = Found {
                said: Said { role: Some(Role::Pawn), from_file: Some(file), captures: true, ..Said::default() },
                place: at..at + 1,
                strength: strength::CAPTURE,
                doubt: cost,
                is_place: false,
            };
            if self.stop(at) == Stop::None && self.is(at + 1, Class::Captures) {
                self.after_piece(&base, at + 2, false, found);
                let end = at + 2;
                for (to_file, more) in self.tokens.get(end).into_iter().flat_map(Token::files) {
                    let said = Said { to_file: Some(to_file), ..base.said };
                    let place = at..end + 1;
                    let doubt = cost + more + 0.3;
                    found.push(Found { said, place, strength: strength::PIECE_TAKES, doubt, is_place: false });
                }
                if !self.names_target(at + 2) {
                    piece_takes(&base, at + 1, cost, found);
                }
            } else if cost == 0.0 && self.same_word(at, at + 2) {
                for target in self.targets(at + 1) {
                    let to = Said { to_file: Some(target.file), to_rank: Some(target.rank), ..Said::default() };
                    let pawn = Said { role: Some(Role::Pawn), from_file: Some(file), ..to };
                    let bishop = (file == 1).then_some(Said { role: Some(Role::Bishop), ..to });
                    for said in [Some(pawn), bishop].into_iter().flatten() {
                        let place = at..target.end;
                        found.push(Found { said, place, strength: strength::PAWN, doubt: 0.3, is_place: false });
                    }
                }
            }
        }
    }

    fn same_word(&self, at: usize, last: usize) -> bool {
        matches!((self.tokens.get(at), self.tokens.get(last)), (Some(first), Some(last)) if first.word == last.word)
    }

    /// A square alone: a pawn's, or any man's.
    fn square(&self, at: usize, found: &mut Vec<Found>) {
        let after_place = at > 0 && self.is(at - 1, Class::Place) && self.stop(at - 1) == Stop::None;
        for target in self.targets(at) {
            let (promotion, end) = self.promotion(target.end);
            let place = if after_place { doubt::PLACE } else { 0.0 };
            let to = Said { to_file: Some(target.file), to_rank: Some(target.rank), promotion, ..Said::default() };
            // `a` is a file and an article, and `a one` may be anything; two doubtful sounds in a row are ordinary
            // words as often as not: `he to`, `the for`.
            let article = if self.is(at, Class::Link) && !self.same_word(at, at + 1) { 0.4 } else { 0.0 };
            let article = if target.cost > 0.9 { 1.2 } else { article };
            let strength = match (after_place, promotion.is_some()) {
                (true, _) => strength::PLACE,
                (_, true) => strength::PROMOTION,
                _ => (strength::PAWN - 2.0 * target.cost - article).max(strength::PLACE),
            };
            let form = Found {
                said: Said { role: Some(Role::Pawn), ..to },
                place: at..end,
                strength,
                doubt: target.cost + article + place,
                is_place: after_place,
            };
            found.push(form.clone());
            // `e2 e4`: the square was where the pawn, or any man, stands.
            for second in self.targets(target.end).iter().filter(|_| self.stop(target.end - 1) != Stop::Full) {
                let (promotion, end) = self.promotion(second.end);
                let said = Said {
                    from_file: Some(target.file),
                    from_rank: Some(target.rank),
                    to_file: Some(second.file),
                    to_rank: Some(second.rank),
                    promotion,
                    ..Said::default()
                };
                let doubt = target.cost + second.cost + 0.3;
                found.push(Found { said, place: at..end, strength: strength::PAWN, doubt, ..form.clone() });
            }
            if promotion.is_none() {
                found.push(Found { said: to, strength: strength::ANY, doubt: form.doubt + doubt::ANY, ..form });
            }
        }
    }

    /// `takes on h7`, `takes the pawn`, `takes`.
    fn takes(&self, at: usize, found: &mut Vec<Found>) {
        let Some(cost) = self.tokens[at].cost(Class::Captures) else { return };
        let base = Found {
            said: Said { captures: true, ..Said::default() },
            place: at..at + 1,
            strength: strength::CAPTURE,
            doubt: cost + 0.3,
            is_place: false,
        };
        if self.stop(at) != Stop::Full {
            self.after_piece(&base, at + 1, false, found);
        }
        // `can take`, `to take`: not yet.
        let wished = at > 0
            && (self.is(at - 1, Class::Link) || self.is(at - 1, Class::Place))
            && self.stop(at - 1) == Stop::None;
        if !wished && !self.names_target(at + 1) {
            let said = Said { recaptures: true, ..base.said };
            found.push(Found { said, strength: strength::TAKES, doubt: cost + doubt::TAKES, ..base });
        }
    }

    /// `promotes to a knight`, `and queens`, `becomes a rook`.
    fn becomes(&self, at: usize, found: &mut Vec<Found>) {
        let token = &self.tokens[at];
        let said = |role| Said { role: Some(Role::Pawn), promotion: Some(role), ..Said::default() };
        if let Some(cost) = token.cost(Class::Queens) {
            let place = at..at + 1;
            found.push(Found {
                said: said(Role::Queen),
                place,
                strength: strength::BECOMES,
                doubt: cost + 0.3,
                is_place: false,
            });
        }
        if token.is(Class::Promotes)
            && let (Some(role), end) = self.promotion(at)
        {
            let place = at..end;
            found.push(Found { said: said(role), place, strength: strength::BECOMES, doubt: 0.4, is_place: false });
        }
    }

    /// What a pawn becomes, if that is said from here on, and the token after it.
    fn promotion(&self, at: usize) -> (Option<Role>, usize) {
        let mut k = at;
        let mut named = false;
        while k < self.tokens.len() && k < at + 5 && (k == 0 || k == at && !named || self.stop(k - 1) != Stop::Full) {
            let token = &self.tokens[k];
            if token.is(Class::Queens) {
                return (Some(Role::Queen), k + 1);
            }
            if let Some((role, _)) = token.pieces().next()
                && (named || k == at)
            {
                let promotes = !matches!(role, Role::King | Role::Pawn);
                // `c eight, queen takes c eight`: the piece begins the next move.
                let goes_on =
                    self.stop(k) == Stop::None && (self.is(k + 1, Class::Captures) || !self.targets(k + 1).is_empty());
                let parted = k > 0 && k == at && self.stop(k - 1) != Stop::None;
                return if promotes && !goes_on && !parted { (Some(role), k + 1) } else { (None, at) };
            }
            if token.is(Class::Promotes) {
                named = true;
            } else if !token.is(Class::Link) {
                break;
            }
            k += 1;
        }
        (None, at)
    }

    fn in_passing(&self, at: usize, found: &mut Vec<Found>) {
        let Some(turn) = self.speech.en_passant.iter().find(|turn| turn.start == at) else { return };
        let before = at > 0 && self.is(at - 1, Class::Captures);
        let start = if before { at - 1 } else { at };
        let said = Said { role: Some(Role::Pawn), captures: true, en_passant: true, ..Said::default() };
        found.push(Found { said, place: start..turn.end, strength: strength::CAPTURE, doubt: 0.0, is_place: false });
    }

    /// The mention of a form: whose it is, whether it checks, and what is said around it.
    fn mention(&self, form: Found, floor: usize) -> Mention {
        let Found { mut said, place, strength, doubt, is_place } = form;
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
        let mut context = self.speech.around(self.tokens, &place, floor);
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

/// `rook takes`, with nothing said of what or where.
fn piece_takes(base: &Found, at: usize, far: f32, found: &mut Vec<Found>) {
    let said = Said { captures: true, recaptures: true, ..base.said };
    let place = base.place.start..at + 1;
    found.push(Found { said, place, strength: strength::PIECE_TAKES, doubt: far + doubt::TAKES, is_place: false });
}
