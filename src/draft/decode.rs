//! Mentions → what is on the board when: the cheapest way through all that was said.
//!
//! Legality is the one hard rule. All else is a cost in nats: what is against a sound, a form, a return that nobody
//! announced, a move passed over that was plainly spoken. The search goes from one station (a token where something may
//! happen) to the next and keeps the [`BEAM`] best positions at each; then it goes back once, which tells for every
//! step how much worse the best story without it is.
//!
//! With prepared lines the same search is an alignment: a known move costs nothing, one that is legal but not known
//! costs [`cost::EXTRA`], and moves that were not heard may be filled in along known lines.

mod pauses;
mod stations;
mod story;
mod ways;

pub(super) use pauses::{Pauses, Talk};
pub(super) use stations::Pending;

use super::context::{Aftermath, Turning};
use super::cost;
use super::ground::{Ground, Spot};
use super::mention::Mention;
use crate::units::Time;
use stations::Stations;
use std::collections::HashMap;
use std::ops::Range;
use ways::Fits;

/// Positions kept at each station. 48 and 200 find the same in all narrations of the tests.
const BEAM: usize = 64;
/// The most continuations of one position by one mention.
const FAN: usize = 12;
/// The most where a ply before it was not heard, which may be any.
const UNHEARD_FAN: usize = 40;
/// How many earlier steps of a story count as visited.
const MEMORY: usize = 160;

/// What happens on the board at one mention.
#[derive(Clone, Debug)]
pub(super) struct Step {
    /// What is on the board after it.
    pub to: Spot,
    /// What was heard; `None` for a pinned step.
    pub mention: Option<usize>,
    /// The pin that fixed it.
    pub pin: Option<usize>,
    /// Whether the mention only names the position to return to, and plays nothing.
    pub names: bool,
    /// The token that announced a return, or a new scene.
    pub turned: Option<usize>,
    /// From 0 to 1: how sure this is, against the best stories without it.
    pub confidence: f32,
    /// Other positions this mention may have led to, the likeliest first.
    pub others: Vec<Spot>,
    /// What is said of the position behind the mention.
    pub after: Aftermath,
    /// How much is said for its being the solution rather than a try.
    pub leaning: f32,
    /// When, if not at its word.
    pub time: Option<Time>,
}

/// A step that is known beforehand.
#[derive(Clone, Debug)]
pub(super) struct Fixed {
    /// The token at which it happens.
    pub token: usize,
    /// What is on the board then.
    pub to: Spot,
    /// Tokens in which nothing else happens.
    pub sealed: Range<usize>,
}

/// The cheapest story.
#[derive(Clone, Debug, Default)]
pub(super) struct Story {
    /// What happens, in order.
    pub steps: Vec<Step>,
    /// Mentions that were plainly moves and found no place, in order.
    pub missed: Vec<usize>,
}

/// Finds the cheapest story.
pub(super) fn decode(
    ground: &mut Ground,
    mentions: &[Mention],
    turnings: &[(Range<usize>, Turning)],
    fixed: &[Fixed],
    pauses: &Pauses,
) -> Story {
    let Some(&start) = ground.roots.first() else { return Story::default() };
    let stations = Stations::new(mentions, turnings, fixed);
    let mut search = Search { ground, mentions, stations, pauses, layers: Vec::new(), edges: Vec::new() };
    search.forward(start, turnings, fixed);
    let onward = search.backward();
    search.story(&onward, fixed)
}

/// A position at a station, with what was announced since the last move.
#[derive(Clone, Debug)]
struct State {
    spot: Spot,
    pending: Pending,
    cost: f32,
    /// The edge by which it was reached cheapest.
    by: Option<usize>,
}

/// What a state looks back on.
#[derive(Clone, Debug, Default)]
struct Past {
    /// The spots that were on the board, in their own order.
    visited: Vec<Spot>,
    /// Where lines were left for others, or moves shown that may not be the ones played.
    branches: Vec<Spot>,
    /// The token behind the last move.
    last: Option<usize>,
}

/// A way from a state to one further on.
#[derive(Clone, Debug)]
struct Edge {
    from: (usize, usize),
    /// The station, and the spot and pending it leads to.
    to: (usize, Spot, Pending),
    cost: f32,
    deed: Deed,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Deed {
    Pass,
    Go {
        mention: usize,
        names: bool,
        turned: Option<usize>,
    },
    /// All that is fixed at the station.
    Pin,
}

struct Search<'a> {
    ground: &'a mut Ground,
    mentions: &'a [Mention],
    stations: Stations,
    pauses: &'a Pauses,
    /// The states kept at each station; one more than stations, the last being the end.
    layers: Vec<Vec<State>>,
    edges: Vec<Edge>,
}

impl Search<'_> {
    fn forward(&mut self, start: Spot, turnings: &[(Range<usize>, Turning)], fixed: &[Fixed]) {
        let count = self.stations.tokens.len();
        // What has reached each station so far, by where it is.
        let mut waiting: Vec<HashMap<(Spot, u8), State>> = vec![HashMap::new(); count + 1];
        let first = State { spot: start, pending: Pending::default(), cost: 0.0, by: None };
        waiting[0].insert((start, 0), first);
        for station in 0..=count {
            let mut states: Vec<State> = std::mem::take(&mut waiting[station]).into_values().collect();
            states.sort_by(|one, other| {
                one.cost
                    .total_cmp(&other.cost)
                    .then(one.spot.cmp(&other.spot))
                    .then(one.pending.bits.cmp(&other.pending.bits))
            });
            states.truncate(BEAM);
            self.layers.push(states);
            if station == count {
                break;
            }
            let first_edge = self.edges.len();
            self.leave(station, turnings, fixed);
            for index in first_edge..self.edges.len() {
                let edge = &self.edges[index];
                let (to, spot, pending) = edge.to;
                let total = self.layers[edge.from.0][edge.from.1].cost + edge.cost;
                let state = State { spot, pending, cost: total, by: Some(index) };
                let best = waiting[to].entry((spot, pending.bits)).or_insert_with(|| state.clone());
                if total < best.cost {
                    *best = state;
                }
            }
        }
    }

    /// Every edge out of a station.
    fn leave(&mut self, station: usize, turnings: &[(Range<usize>, Turning)], fixed: &[Fixed]) {
        let states = self.layers[station].clone();
        if let [first, ..] = self.stations.fixed[station].as_slice() {
            let last = self.stations.fixed[station].last().unwrap_or(first);
            let (first, last) = (fixed[*first].to, fixed[*last].to);
            for (index, state) in states.iter().enumerate() {
                let cost = self.distance(state.spot, first);
                let edge_to = (station + 1, last, Pending::default());
                self.edges.push(Edge { from: (station, index), to: edge_to, cost, deed: Deed::Pin });
            }
            return;
        }
        let mut fits = Fits::default();
        for (index, state) in states.iter().enumerate() {
            let mut pending = state.pending;
            for turning in &self.stations.turnings[station] {
                let (place, turning) = &turnings[*turning];
                pending = pending.with(*turning, place.start);
            }
            let here: Vec<usize> = self.stations.mentions[station].clone();
            let passing = here.iter().map(|mention| self.passing(*mention, state.spot)).fold(0.0, f32::max);
            let to = (station + 1, state.spot, pending);
            self.edges.push(Edge { from: (station, index), to, cost: passing, deed: Deed::Pass });
            if here.is_empty() {
                continue;
            }
            let past = self.past(station, index);
            for mention in here {
                let end = self.stations.at_or_after(self.mentions[mention].tokens.end).max(station + 1);
                // No mention leads past what is fixed.
                if self.stations.fixed[station + 1..end.max(station + 1)].iter().any(|fixed| !fixed.is_empty()) {
                    continue;
                }
                for way in self.ways(mention, state.spot, pending, &past, index < 8, &mut fits) {
                    let turned = if way.turned { pending.since } else { None };
                    let deed = Deed::Go { mention, names: way.names, turned };
                    let to = (end, way.to, Pending::default());
                    self.edges.push(Edge { from: (station, index), to, cost: way.cost, deed });
                }
            }
        }
    }

    /// What it costs to pass over a mention with `spot` on the board.
    fn passing(&mut self, mention: usize, spot: Spot) -> f32 {
        let mention = &self.mentions[mention];
        let echoes = |spot: Option<Spot>| spot.is_some_and(|spot| self.ground.against(&mention.said, spot).is_some());
        let parent = self.ground.parent(spot);
        let echo = if echoes(Some(spot)) {
            cost::ECHO
        } else if echoes(parent) {
            cost::FAINT_ECHO
        } else if mention.said.is_full() && mention.strength >= 1.0 && self.ground.is_next(spot, &mention.said) {
            cost::OF_WHO_MOVED
        } else {
            1.0
        };
        mention.strength * cost::weight(&mention.context) * echo
    }

    /// How far apart two spots are for a story that must go from one to the other.
    fn distance(&self, from: Spot, to: Spot) -> f32 {
        match self.ground.fork(from, to) {
            None => cost::SCENE_UNSAID,
            Some(fork) => {
                let back = self.ground.depth(from) - self.ground.depth(fork);
                let forth = self.ground.depth(to) - self.ground.depth(fork);
                let back = if back == 0 { 0.0 } else { cost::RETURN_ANNOUNCED };
                back + cost::UNHEARD * forth.saturating_sub(1) as f32
            }
        }
    }

    /// The story behind a state.
    fn past(&self, station: usize, index: usize) -> Past {
        let mut past = Past::default();
        // The first token of the move behind the one looked at, and where it was played from.
        let mut later: Option<(usize, Spot)> = None;
        let mut at = (station, index);
        while let Some(by) = self.layers[at.0][at.1].by {
            if past.visited.len() >= MEMORY {
                break;
            }
            let edge = &self.edges[by];
            if edge.deed != Deed::Pass {
                past.visited.push(edge.to.1);
            }
            let moved = match edge.deed {
                Deed::Go { mention, names: false, .. } => {
                    let Mention { tokens, context, .. } = &self.mentions[mention];
                    Some((tokens.clone(), context.turn || context.given || context.maybe))
                }
                // Lines are left from what is pinned as from what is heard.
                Deed::Pin => {
                    let token = self.stations.tokens[edge.from.0];
                    Some((token..token, false))
                }
                Deed::Go { .. } | Deed::Pass => None,
            };
            if let Some((tokens, is_one_of_several)) = moved {
                past.last.get_or_insert(tokens.end);
                // Much talk before a move, and it may be one of several.
                if let Some((first, parent)) = later
                    && cost::is_long(self.pauses.between(tokens.end, first))
                {
                    past.branches.push(parent);
                }
                let (parent, before) = (self.ground.parent(edge.to.1), &self.layers[edge.from.0][edge.from.1]);
                let jumped = parent != Some(before.spot) || before.pending.announces();
                if jumped || is_one_of_several {
                    past.branches.extend(parent);
                }
                later = parent.map(|parent| (tokens.start, parent));
            }
            at = edge.from;
        }
        past.visited.sort_unstable();
        past.visited.dedup();
        past
    }

    /// For every layer and state the cost of the cheapest way to the end.
    fn backward(&self) -> Vec<Vec<f32>> {
        let mut onward: Vec<Vec<f32>> = self.layers.iter().map(|layer| vec![f32::INFINITY; layer.len()]).collect();
        if let Some(last) = onward.last_mut() {
            last.fill(0.0);
        }
        let index: Vec<HashMap<(Spot, u8), usize>> = self
            .layers
            .iter()
            .map(|layer| layer.iter().enumerate().map(|(at, state)| ((state.spot, state.pending.bits), at)).collect())
            .collect();
        // Edges were made in the order of the stations they leave.
        for edge in self.edges.iter().rev() {
            let (to, spot, pending) = edge.to;
            if let Some(&state) = index[to].get(&(spot, pending.bits)) {
                let cost = edge.cost + onward[to][state];
                let here = &mut onward[edge.from.0][edge.from.1];
                *here = here.min(cost);
            }
        }
        onward
    }
}
