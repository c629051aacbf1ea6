//! What is said around a move: whether it is only spoken of, and whether the board has gone back before it.

use super::language::{Class, Language};
use super::pattern::places;
use super::token::{Stop, Token};
use std::ops::Range;

/// What is said around a move.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[allow(clippy::struct_excessive_bools)] // any of them may hold beside any other
pub(super) struct Context {
    /// It is threatened, wished, planned.
    pub threat: bool,
    /// It is not, cannot, never.
    pub never: bool,
    /// It would, might, until.
    pub maybe: bool,
    /// It is why something else is as it is.
    pub reason: bool,
    /// What follows says that it is only spoken of.
    pub unplayed: bool,
    /// If, suppose, say: a line that is shown.
    pub given: bool,
    /// A word that often stands where the board goes back.
    pub turn: bool,
    /// `instead` and kin behind it.
    pub instead: bool,
    /// It names the position to go back to.
    pub after: bool,
    /// If it was played, its position is named.
    pub named: bool,
    /// It names the move to leave.
    pub leave: bool,
    /// It is asked about.
    pub asked: bool,
    /// What was said before it does not count.
    pub slip: bool,
    /// A square that is only a place.
    pub place: bool,
}

/// What announces that the board goes elsewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Turning {
    /// To the scene's first position.
    Start,
    /// The same moves again.
    Again,
    /// One move back.
    Undo,
    /// To a position that the next move tells.
    Back,
    /// To a position that the next move tells, and rather an early one.
    Main,
    /// As often as not, to a position that the next move tells.
    Aside,
    /// To another composition.
    Scene,
    /// A line has come to its end.
    Verdict,
}

/// What is said of a position once its move was named.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[allow(clippy::struct_excessive_bools)] // any of them may hold beside any other
pub(super) struct Aftermath {
    pub check: bool,
    pub mate: bool,
    pub stalemate: bool,
    pub only: bool,
}

/// Whether a square is named here, or mate by nobody.
fn says_what(tokens: &[Token], at: usize) -> bool {
    let is = |at: usize, class: fn(&Class) -> bool| {
        tokens
            .get(at)
            .is_some_and(|token| token.readings.iter().any(|reading| reading.cost == 0.0 && class(&reading.class)))
    };
    let square = is(at, |class| matches!(class, Class::File(_))) && is(at + 1, |class| matches!(class, Class::Rank(_)));
    square || is(at, |class| *class == Class::Mate) && !is(at + 1, |class| *class == Class::With)
}

/// How many tokens behind its first word a reason may go on.
const REASON: usize = 6;

/// Every turn of speech in a transcript, where it stands.
#[derive(Clone, Debug, Default)]
pub(super) struct Speech {
    threat: Vec<Range<usize>>,
    never: Vec<Range<usize>>,
    reason: Vec<Range<usize>>,
    maybe: Vec<Range<usize>>,
    look: Vec<Range<usize>>,
    given: Vec<Range<usize>>,
    turn: Vec<Range<usize>>,
    back: Vec<Range<usize>>,
    better: Vec<Range<usize>>,
    after: Vec<Range<usize>>,
    leave: Vec<Range<usize>>,
    named: Vec<Range<usize>>,
    slip: Vec<Range<usize>>,
    unplayed: Vec<Range<usize>>,
    only: Vec<Range<usize>>,
    two_squares: Vec<Range<usize>>,
    right: Vec<Range<usize>>,
    failing: Vec<Range<usize>>,
    pub en_passant: Vec<Range<usize>>,
    /// Announcements, in order.
    pub turnings: Vec<(Range<usize>, Turning)>,
}

impl Speech {
    /// Finds every turn of speech.
    pub fn of(tokens: &[Token], language: &Language) -> Speech {
        let all = &language.patterns;
        let find = |patterns| places(patterns, tokens);
        let mut turnings: Vec<(Range<usize>, Turning)> = Vec::new();
        for (patterns, turning) in [
            (&all.start, Turning::Start),
            (&all.again, Turning::Again),
            (&all.undo, Turning::Undo),
            (&all.back, Turning::Back),
            (&all.main, Turning::Main),
            (&all.aside, Turning::Aside),
            (&all.scene, Turning::Scene),
            (&all.verdict, Turning::Verdict),
        ] {
            turnings.extend(find(patterns).into_iter().map(|place| (place, turning)));
        }
        // `takes back` is a capture.
        let recaptures = |at: usize| {
            at > 0 && tokens[at - 1].cost(Class::Captures) == Some(0.0) && tokens[at - 1].stop == Stop::None
        };
        // `the back rank` is a place.
        let no_return = find(&all.no_return);
        let is_place =
            |place: &Range<usize>| no_return.iter().any(|other| other.start < place.end && place.start < other.end);
        turnings.retain(|(place, turning)| {
            !matches!(turning, Turning::Back | Turning::Aside) || !recaptures(place.start) && !is_place(place)
        });
        turnings.sort_by_key(|(place, turning)| (place.start, *turning));
        Speech {
            threat: find(&all.threat),
            never: find(&all.never),
            reason: find(&all.reason),
            maybe: find(&all.maybe),
            look: find(&all.look),
            given: find(&all.given),
            turn: find(&all.turn),
            back: find(&all.back),
            better: find(&all.better),
            after: find(&all.after),
            leave: find(&all.leave),
            named: find(&all.named),
            slip: find(&all.slip),
            unplayed: find(&all.unplayed),
            only: find(&all.only_move),
            two_squares: find(&all.two_squares),
            right: find(&all.right),
            failing: find(&all.failing),
            en_passant: find(&all.en_passant),
            turnings,
        }
    }

    /// What is said around these tokens; `floor` is where the move mentioned before ends.
    pub fn around(&self, tokens: &[Token], place: &Range<usize>, floor: usize) -> Context {
        let whole = (0..place.start).rev().take_while(|at| tokens[*at].stop != Stop::Full).last();
        let whole = whole.unwrap_or(place.start);
        let sentence = whole.max(floor.min(place.start));
        // A turn of speech counts if it ends within so many tokens before, and begins in the same sentence.
        let before = |list: &[Range<usize>], reach: usize| {
            list.iter().any(|turn| turn.start >= sentence && turn.end <= place.start && turn.end + reach >= place.start)
        };
        // A reason goes on for a while, over moves too: `because then king takes, and the pawn queens`.
        let reason = self
            .reason
            .iter()
            .any(|turn| turn.start >= whole && turn.end <= place.start && turn.end + REASON >= place.start);
        let full_stop = (place.end.saturating_sub(1)..tokens.len()).find(|at| tokens[*at].stop == Stop::Full);
        let end = full_stop.map_or(tokens.len(), |at| at + 1);
        let behind = |list: &[Range<usize>], reach: usize| {
            list.iter().any(|turn| turn.start >= place.end && turn.start <= place.end + reach && turn.end <= end)
        };
        // What is denied ends with a comma: `he cannot take, king takes`.
        let comma =
            (sentence..place.start).rev().find(|at| tokens[*at].stop == Stop::Comma).map_or(sentence, |at| at + 1);
        let denied =
            self.never.iter().any(|turn| turn.start >= comma && turn.end <= place.start && turn.end + 3 >= place.start);
        let look = before(&self.look, 1);
        // `threatening mate on f seven` has said what it threatens.
        let is_told = |turn: &Range<usize>| (turn.end..place.start).any(|at| says_what(tokens, at));
        let open: Vec<Range<usize>> =
            self.threat.iter().filter(|turn| turn.end > place.start || !is_told(turn)).cloned().collect();
        let threatened = before(&open, 5);
        Context {
            threat: threatened && !look,
            // `takes away g6` begins like a move.
            never: denied || self.never.iter().any(|turn| turn.start == place.start && turn.end < place.end),
            maybe: before(&self.maybe, 3),
            reason,
            unplayed: behind(&self.unplayed, 1),
            given: before(&self.given, 3),
            turn: look || before(&self.turn, 6) || before(&self.given, 3),
            instead: behind(&self.back, 1) || behind(&self.better, 0),
            after: before(&self.after, 1),
            leave: before(&self.leave, 2),
            named: before(&self.named, 1),
            asked: tokens[end.saturating_sub(1).min(tokens.len() - 1)].asks,
            slip: before(&self.slip, 2),
            place: false,
        }
    }

    /// Whether a first step of two squares is spoken of in these tokens.
    pub fn two_squares_in(&self, place: &Range<usize>) -> bool {
        self.two_squares.iter().any(|turn| turn.start >= place.start && turn.end <= place.end)
    }

    /// What is said in these tokens, behind a move, of the position it leads to.
    pub fn aftermath(&self, tokens: &[Token], place: Range<usize>) -> Aftermath {
        let denied = |at: usize| self.never.iter().any(|turn| turn.end <= at && turn.end + 2 >= at);
        let said = |class: Class| {
            place.clone().any(|at| tokens.get(at).is_some_and(|token| token.cost(class) == Some(0.0)) && !denied(at))
        };
        Aftermath {
            check: said(Class::Check),
            mate: said(Class::Mate),
            stalemate: said(Class::Stalemate),
            only: self.only.iter().any(|turn| place.contains(&turn.start)),
        }
    }

    /// How much these tokens say for a solution (above zero) or for a try.
    pub fn leaning(&self, place: &Range<usize>) -> f32 {
        let count = |list: &[Range<usize>]| list.iter().filter(|turn| place.contains(&turn.start)).count() as f32;
        count(&self.right).min(1.0) - count(&self.failing).min(1.0)
    }

    /// Whether `only move` and kin stand within `reach` tokens of these.
    pub fn only_near(&self, place: &Range<usize>, reach: usize) -> bool {
        self.only.iter().any(|turn| turn.end <= place.end && turn.end + reach >= place.start)
    }
}
