//! Forms that begin with a square, a file or a deed: pawn moves, captures, promotions.

use super::super::language::Class;
use super::super::mention::Said;
use super::super::token::{Stop, Token};
use super::man::piece_takes;
use super::{Ear, Found, doubt, strength};
use crate::units::Role;

impl Ear<'_> {
    /// `e takes d5`, `g takes`, `b takes the knight`; and `exd5` written without its sign.
    pub(super) fn file_takes(&self, at: usize, found: &mut Vec<Found>) {
        for (file, cost) in self.tokens[at].files() {
            let base = Found {
                said: Said { role: Some(Role::Pawn), from_file: Some(file), captures: true, ..Said::default() },
                place: at..at + 1,
                // `he takes` is rarely the e-pawn.
                strength: if cost > 0.0 { strength::CAPTURE * strength::HEARD } else { strength::CAPTURE },
                doubt: cost,
                is_place: false,
                is_put: false,
            };
            if self.stop(at) == Stop::None && self.is(at + 1, Class::Captures) {
                self.after_piece(&base, at + 2, false, found);
                let end = at + 2;
                for (to_file, more) in self.tokens.get(end).into_iter().flat_map(Token::files) {
                    let said = Said { to_file: Some(to_file), ..base.said };
                    let place = at..end + 1;
                    let doubt = cost + more + 0.3;
                    found.push(Found {
                        said,
                        place,
                        strength: strength::PIECE_TAKES,
                        doubt,
                        is_place: false,
                        is_put: false,
                    });
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
                        found.push(Found {
                            said,
                            place,
                            strength: strength::PAWN,
                            doubt: 0.3,
                            is_place: false,
                            is_put: false,
                        });
                    }
                }
            }
        }
    }

    /// A square alone: a pawn's, or any man's.
    pub(super) fn square(&self, at: usize, found: &mut Vec<Found>) {
        let after_place = self.is_place(at);
        // `jumping to b five` is any man's move, and a pawn's only if nobody else was named.
        let after_to = at > 0 && self.is(at - 1, Class::Towards) && self.stop(at - 1) == Stop::None;
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
                _ if after_to => (strength::TO - 2.0 * target.cost - article).max(strength::PLACE),
                _ => (strength::PAWN - 2.0 * target.cost - article).max(strength::PLACE),
            };
            let form = Found {
                said: Said { role: Some(Role::Pawn), ..to },
                place: at..end,
                strength,
                doubt: target.cost + article + place,
                is_place: after_place,
                is_put: false,
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
                let any = if after_to { doubt::TO } else { doubt::ANY };
                found.push(Found { said: to, strength: strength::ANY, doubt: form.doubt + any, ..form });
            }
        }
    }

    /// Whether the square that begins here is only a place: `on d five`, `guards c six, c eight and b eight`, `the e
    /// five pawn`.
    fn is_place(&self, at: usize) -> bool {
        /// The most squares in a list.
        const LIST: usize = 8;
        let noun = |at: usize| {
            let piece = self.tokens.get(at).is_some_and(|token| token.cost(Class::Piece(Role::Pawn)) == Some(0.0));
            piece && self.stop(at - 1) == Stop::None && self.targets(at + 1).is_empty()
        };
        if noun(at + 2) {
            return true;
        }
        let mut first = at;
        for _ in 0..LIST {
            if first == 0 || self.stop(first - 1) == Stop::Full {
                return false;
            }
            if self.is(first - 1, Class::Place) && self.stop(first - 1) == Stop::None {
                return true;
            }
            // One square further to the left, over an `and`.
            let joined = first - usize::from(self.is(first - 1, Class::Joins));
            let listed = joined < first || self.stop(first - 1) == Stop::Comma;
            if !listed || joined < 2 || self.targets(joined - 2).is_empty() {
                return false;
            }
            first = joined - 2;
        }
        false
    }

    /// `takes on h7`, `takes the pawn`, `takes`.
    pub(super) fn takes(&self, at: usize, found: &mut Vec<Found>) {
        let Some(cost) = self.tokens[at].cost(Class::Captures) else { return };
        let base = Found {
            said: Said { captures: true, ..Said::default() },
            place: at..at + 1,
            strength: strength::CAPTURE,
            doubt: cost + 0.3,
            is_place: false,
            is_put: false,
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
    pub(super) fn becomes(&self, at: usize, found: &mut Vec<Found>) {
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
                is_put: false,
            });
        }
        // `the pawn promotes`, and nobody says to what.
        let alone = at > 0 && token.is(Class::Promotes) && self.stop(at) != Stop::None;
        if alone && self.tokens[at - 1].cost(Class::Piece(Role::Pawn)) == Some(0.0) {
            found.push(Found {
                said: said(Role::Queen),
                place: at - 1..at + 1,
                strength: strength::BECOMES,
                doubt: 0.6,
                is_place: false,
                is_put: false,
            });
        }
        if token.is(Class::Promotes)
            && let (Some(role), end) = self.promotion(at)
        {
            let place = at..end;
            found.push(Found {
                said: said(role),
                place,
                strength: strength::BECOMES,
                doubt: 0.4,
                is_place: false,
                is_put: false,
            });
        }
    }

    /// What a pawn becomes, if that is said from here on, and the token after it.
    pub(super) fn promotion(&self, at: usize) -> (Option<Role>, usize) {
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

    pub(super) fn in_passing(&self, at: usize, found: &mut Vec<Found>) {
        let Some(turn) = self.speech.en_passant.iter().find(|turn| turn.start == at) else { return };
        let before = at > 0 && self.is(at - 1, Class::Captures);
        let start = if before { at - 1 } else { at };
        let said = Said { role: Some(Role::Pawn), captures: true, en_passant: true, ..Said::default() };
        found.push(Found {
            said,
            place: start..turn.end,
            strength: strength::CAPTURE,
            doubt: 0.0,
            is_place: false,
            is_put: false,
        });
    }
}
