//! Forms that begin with a man: its name, words between, and where it goes or what it takes; castling; `it` for a man.

use super::super::language::Class;
use super::super::mention::Said;
use super::super::token::Stop;
use super::{Ear, Found, MOST_LINKS, Target, doubt, strength};
use crate::game::Wing;
use crate::units::Role;

impl Ear<'_> {
    pub(super) fn castles(&self, at: usize, found: &mut Vec<Found>) {
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
        found.push(Found {
            said,
            place: at..end,
            strength: strength::CASTLES,
            doubt: cost,
            is_place: false,
            is_put: false,
        });
    }

    /// A piece, then where it comes from, then words between, then where it goes or what it takes.
    pub(super) fn piece(&self, start: usize, at: usize, from_file: Option<u8>, before: f32, found: &mut Vec<Found>) {
        let token = &self.tokens[at];
        for (role, cost) in token.pieces() {
            let owns = if token.owns { 0.8 } else { 0.0 };
            let base = Found {
                said: Said { role: Some(role), from_file, ..Said::default() },
                place: start..at + 1,
                strength: strength::PIECE,
                doubt: cost + before + owns,
                is_place: false,
                is_put: self.is_put(start),
            };
            self.after_piece(&base, at + 1, true, found);
            self.motion(&base, at + 1, found);
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

    /// Whether `puts his`, `brings the` or kin stands before this token.
    fn is_put(&self, start: usize) -> bool {
        (start.saturating_sub(2)..start)
            .rev()
            .take_while(|at| self.stop(*at) == Stop::None)
            .any(|at| self.is(at, Class::Puts))
    }

    /// What may follow a piece, from token `at` on.
    pub(super) fn after_piece(&self, base: &Found, at: usize, origins: bool, found: &mut Vec<Found>) {
        let mut captures = base.said.captures;
        let mut place = false;
        let mut goes = base.is_put;
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
                place = !captures && !goes;
                continue;
            }
            // `the rook checks on e1`
            if token.cost(Class::Check) == Some(0.0) && !captures && self.stop(k) == Stop::None {
                goes = true;
                continue;
            }
            if !token.is(Class::Link) {
                break;
            }
            place &= !token.is(Class::Towards);
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
            is_put: false,
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

    /// `the king comes closer`: a man, what it does, and the clause ends.
    fn motion(&self, base: &Found, at: usize, found: &mut Vec<Found>) {
        /// How far behind the deed the clause may end.
        const CLAUSE: usize = 2;
        if self.stop(at - 1) != Stop::None || !self.is(at, Class::Motion) {
            return;
        }
        let end = (at..at + 1 + CLAUSE).find(|k| self.stop(*k) != Stop::None);
        let says_where = |k: usize| !self.targets(k).is_empty() || self.is(k, Class::Captures);
        let Some(end) = end.filter(|end| !(at..*end).any(says_where)) else { return };
        found.push(Found {
            place: base.place.start..end.min(self.tokens.len() - 1) + 1,
            strength: strength::MOTION,
            doubt: base.doubt + doubt::MOTION,
            ..base.clone()
        });
    }

    /// `check on d5`: whoever gives it.
    pub(super) fn check_on(&self, at: usize, found: &mut Vec<Found>) {
        if self.tokens[at].cost(Class::Check) != Some(0.0) {
            return;
        }
        for k in at + 1..(at + 4).min(self.tokens.len()) {
            if self.stop(k - 1) != Stop::None {
                return;
            }
            for target in self.targets(k).into_iter().filter(|_| k > at + 1) {
                let (to_file, to_rank) = (Some(target.file), Some(target.rank));
                found.push(Found {
                    said: Said { to_file, to_rank, check: true, ..Said::default() },
                    place: at..target.end,
                    strength: strength::CHECK_ON,
                    doubt: target.cost + doubt::PRONOUN,
                    is_place: false,
                    is_put: false,
                });
            }
            if !self.is(k, Class::Link) && !self.is(k, Class::Place) {
                return;
            }
        }
    }

    /// `… takes the knight`: the piece that stands at `at` is taken, or takes if `with` stands before it.
    fn captured(&self, base: &Found, at: usize, far: f32, found: &mut Vec<Found>) {
        for (role, cost) in self.tokens[at].pieces() {
            if role == Role::King {
                continue;
            }
            // `takes with the knight`
            let takes = (at.saturating_sub(2)..at).any(|k| k > base.place.start && self.is(k, Class::With));
            if takes && base.said.role.is_some() {
                continue;
            }
            let said = if takes {
                Said { captures: true, recaptures: true, role: Some(role), ..base.said }
            } else {
                Said { captures: true, captured: Some(role), ..base.said }
            };
            // `takes the pawn on d5`
            let squares = if !takes && self.is(at + 1, Class::Place) { self.targets(at + 2) } else { Vec::new() };
            for target in squares {
                found.push(Found {
                    said: Said { to_file: Some(target.file), to_rank: Some(target.rank), ..said },
                    place: base.place.start..target.end,
                    strength: strength::CAPTURE,
                    doubt: far + cost + target.cost,
                    is_place: false,
                    is_put: false,
                });
            }
            // Without a man or a square much is left open.
            let vague = if base.said.role.is_some() { strength::TAKEN } else { strength::TAKEN_BY_ANY };
            found.push(Found {
                said,
                place: base.place.start..at + 1,
                strength: vague,
                doubt: far + cost,
                is_place: false,
                is_put: false,
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
                is_put: false,
            });
        }
    }

    /// `the b knight takes d2`.
    pub(super) fn file_before_piece(&self, at: usize, found: &mut Vec<Found>) {
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

    /// `it goes back to c2`
    pub(super) fn pronoun(&self, at: usize, found: &mut Vec<Found>) {
        if !self.is(at, Class::Pronoun) || !self.is(at + 1, Class::Link) || self.stop(at) != Stop::None {
            return;
        }
        let base = Found {
            said: Said::default(),
            place: at..at + 1,
            strength: strength::PRONOUN,
            doubt: doubt::PRONOUN,
            is_place: false,
            is_put: false,
        };
        let first = found.len();
        self.after_piece(&base, at + 1, false, found);
        // Without a whole square there is too little to go by.
        let mut rest = found.split_off(first);
        rest.retain(|form| form.said.is_full());
        found.append(&mut rest);
    }
}

/// `rook takes`, with nothing said of what or where.
pub(super) fn piece_takes(base: &Found, at: usize, far: f32, found: &mut Vec<Found>) {
    let said = Said { captures: true, recaptures: true, ..base.said };
    let place = base.place.start..at + 1;
    found.push(Found {
        said,
        place,
        strength: strength::PIECE_TAKES,
        doubt: far + doubt::TAKES,
        is_place: false,
        is_put: false,
    });
}
