//! Where something may happen, and what was announced on the way there.

use super::Fixed;
use crate::draft::context::Turning;
use crate::draft::mention::Mention;
use std::ops::Range;

/// The tokens at which something may happen.
pub(super) struct Stations {
    pub tokens: Vec<usize>,
    /// The mentions that begin at each station.
    pub mentions: Vec<Vec<usize>>,
    /// The turnings that begin at each station.
    pub turnings: Vec<Vec<usize>>,
    /// What is fixed at each station.
    pub fixed: Vec<Vec<usize>>,
}

impl Stations {
    pub fn new(mentions: &[Mention], turnings: &[(Range<usize>, Turning)], fixed: &[Fixed]) -> Stations {
        let sealed = |token: usize| fixed.iter().any(|fixed| fixed.sealed.contains(&token));
        let open: Vec<usize> = (0..mentions.len()).filter(|index| !sealed(mentions[*index].tokens.start)).collect();
        let mentioned = open.iter().map(|index| mentions[*index].tokens.start);
        let heard = mentioned.chain(turnings.iter().map(|(place, _)| place.start)).map(|token| (token, true));
        // What is fixed at a token happens before what is heard there.
        let mut tokens: Vec<(usize, bool)> = fixed.iter().map(|fixed| (fixed.token, false)).chain(heard).collect();
        tokens.sort_unstable();
        tokens.dedup();
        let tokens: Vec<usize> = tokens.into_iter().map(|(token, _)| token).collect();
        let none = vec![Vec::new(); tokens.len()];
        let mut stations = Stations { mentions: none.clone(), turnings: none.clone(), fixed: none, tokens };
        for index in open {
            let at = stations.heard_at(mentions[index].tokens.start);
            stations.mentions[at].push(index);
        }
        for (index, (place, _)) in turnings.iter().enumerate() {
            let at = stations.heard_at(place.start);
            stations.turnings[at].push(index);
        }
        for (index, fixed) in fixed.iter().enumerate() {
            let at = stations.at_or_after(fixed.token);
            stations.fixed[at].push(index);
        }
        stations
    }

    /// The station at which is heard what begins with this token: behind what is fixed there.
    fn heard_at(&self, token: usize) -> usize {
        self.tokens.partition_point(|at| *at <= token) - 1
    }

    /// The first station at this token or behind it.
    pub fn at_or_after(&self, token: usize) -> usize {
        self.tokens.partition_point(|at| *at < token)
    }
}

/// What was announced since the last move: one bit a [`Turning`], and the token of the first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(in crate::draft) struct Pending {
    pub bits: u8,
    pub since: Option<usize>,
}

impl Pending {
    pub fn has(self, turning: Turning) -> bool {
        self.bits & Pending::bit(turning) != 0
    }

    /// Whether anything says that the board goes elsewhere, beyond a verdict on the line before.
    pub fn announces(self) -> bool {
        self.bits & !Pending::bit(Turning::Verdict) != 0
    }

    pub fn with(self, turning: Turning, token: usize) -> Pending {
        // The plainest word says when: `back to the start` counts more than a `no good` before it.
        let plain = matches!(turning, Turning::Start | Turning::Undo | Turning::Scene);
        let since = match turning {
            // A verdict belongs to the line before it.
            Turning::Verdict => self.since,
            _ if plain && !self.plain() => Some(token),
            _ => self.since.or(Some(token)),
        };
        Pending { bits: self.bits | Pending::bit(turning), since }
    }

    fn plain(self) -> bool {
        [Turning::Start, Turning::Undo, Turning::Scene].into_iter().any(|turning| self.has(turning))
    }

    fn bit(turning: Turning) -> u8 {
        1 << turning as u8
    }
}
