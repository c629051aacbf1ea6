//! Mentions → what is on the board when: the cheapest way through all that was said.
//!
//! Legality is the one hard rule. All else is a cost in nats: what is against a sound, a form, a return that nobody
//! announced, a move passed over that was plainly spoken. The search goes from one station (a token where something may
//! happen) to the next and keeps the [`BEAM`] best positions at each; then it goes back once, which tells for every
//! step how much worse the best story without it is.
//!
//! With prepared lines the same search is an alignment: a known move costs nothing, one that is legal but not known
//! costs [`cost::EXTRA`], and moves that were not heard may be filled in along known lines.

use super::context::{Aftermath, Turning};
use super::cost;
use super::ground::{Ground, Spot};
use super::mention::Mention;
use crate::game;
use crate::units::Time;
use std::collections::HashMap;
use std::ops::Range;

/// Positions kept at each station. 48 and 200 find the same in all narrations of the tests.
const BEAM: usize = 64;
/// The most continuations of one position by one mention.
const FAN: usize = 12;
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
) -> Story {
    let Some(&start) = ground.roots.first() else { return Story::default() };
    let stations = Stations::new(mentions, turnings, fixed);
    let mut search = Search { ground, mentions, stations, layers: Vec::new(), edges: Vec::new() };
    search.forward(start, turnings, fixed);
    let onward = search.backward();
    search.story(&onward, fixed)
}

/// The tokens at which something may happen.
struct Stations {
    tokens: Vec<usize>,
    /// The mentions that begin at each station.
    mentions: Vec<Vec<usize>>,
    /// The turnings that begin at each station.
    turnings: Vec<Vec<usize>>,
    fixed: Vec<Vec<usize>>,
}

impl Stations {
    fn new(mentions: &[Mention], turnings: &[(Range<usize>, Turning)], fixed: &[Fixed]) -> Stations {
        let sealed = |token: usize| fixed.iter().any(|fixed| fixed.sealed.contains(&token));
        let open: Vec<usize> = (0..mentions.len()).filter(|index| !sealed(mentions[*index].tokens.start)).collect();
        let mut tokens: Vec<usize> = open.iter().map(|index| mentions[*index].tokens.start).collect();
        tokens.extend(turnings.iter().map(|(place, _)| place.start));
        tokens.extend(fixed.iter().map(|fixed| fixed.token));
        tokens.sort_unstable();
        tokens.dedup();
        let none = vec![Vec::new(); tokens.len()];
        let mut stations = Stations { mentions: none.clone(), turnings: none.clone(), fixed: none, tokens };
        for index in open {
            let at = stations.at_or_after(mentions[index].tokens.start);
            stations.mentions[at].push(index);
        }
        for (index, (place, _)) in turnings.iter().enumerate() {
            let at = stations.at_or_after(place.start);
            stations.turnings[at].push(index);
        }
        for (index, fixed) in fixed.iter().enumerate() {
            let at = stations.at_or_after(fixed.token);
            stations.fixed[at].push(index);
        }
        stations
    }

    fn at_or_after(&self, token: usize) -> usize {
        self.tokens.partition_point(|at| *at < token)
    }
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

/// What was announced since the last move: one bit a [`Turning`], and the token of the first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(super) struct Pending {
    bits: u8,
    since: Option<usize>,
}

impl Pending {
    pub fn has(self, turning: Turning) -> bool {
        self.bits & Pending::bit(turning) != 0
    }

    pub fn any(self) -> bool {
        self.bits != 0
    }

    fn with(self, turning: Turning, token: usize) -> Pending {
        // The plainest word says when: `back to the start` counts more than a `no good` before it.
        let plain = matches!(turning, Turning::Start | Turning::Undo | Turning::Scene);
        let since = if plain && !self.plain() { Some(token) } else { self.since.or(Some(token)) };
        Pending { bits: self.bits | Pending::bit(turning), since }
    }

    fn plain(self) -> bool {
        [Turning::Start, Turning::Undo, Turning::Scene].into_iter().any(|turning| self.has(turning))
    }

    fn bit(turning: Turning) -> u8 {
        1 << turning as u8
    }
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
    /// The states kept at each station; one more than stations, the last being the end.
    layers: Vec<Vec<State>>,
    edges: Vec<Edge>,
}

/// A place a mention may lead to.
struct Way {
    to: Spot,
    cost: f32,
    names: bool,
    /// Whether an announcement explains it.
    turned: bool,
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
            let visited = self.visited(station, index);
            for mention in here {
                let end = self.stations.at_or_after(self.mentions[mention].tokens.end).max(station + 1);
                // No mention leads past what is fixed.
                if self.stations.fixed[station + 1..end.max(station + 1)].iter().any(|fixed| !fixed.is_empty()) {
                    continue;
                }
                for way in self.ways(mention, state.spot, pending, &visited, index < 8, &mut fits) {
                    let turned = if way.turned { pending.since } else { None };
                    let deed = Deed::Go { mention, names: way.names, turned };
                    let to = (end, way.to, Pending::default());
                    self.edges.push(Edge { from: (station, index), to, cost: way.cost, deed });
                }
            }
        }
    }

    /// What it costs to pass over a mention with `spot` on the board.
    fn passing(&self, mention: usize, spot: Spot) -> f32 {
        let mention = &self.mentions[mention];
        let echoes = |spot: Option<Spot>| spot.is_some_and(|spot| self.ground.against(&mention.said, spot).is_some());
        let parent = self.ground.parent(spot);
        let echo = if echoes(Some(spot)) {
            cost::ECHO
        } else if echoes(parent) {
            cost::FAINT_ECHO
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

    /// The spots that were on the board in the story behind a state, the latest last; without its ancestors.
    fn visited(&self, station: usize, index: usize) -> Vec<Spot> {
        let mut spots = Vec::new();
        let mut at = (station, index);
        while let Some(by) = self.layers[at.0][at.1].by {
            if spots.len() >= MEMORY {
                break;
            }
            let edge = &self.edges[by];
            if edge.deed != Deed::Pass {
                spots.push(edge.to.1);
            }
            at = edge.from;
        }
        spots.sort_unstable();
        spots.dedup();
        spots
    }

    /// Everywhere a mention may lead from a spot, the cheapest first.
    fn ways(
        &mut self,
        index: usize,
        spot: Spot,
        pending: Pending,
        visited: &[Spot],
        is_leading: bool,
        fits: &mut Fits,
    ) -> Vec<Way> {
        let mention = &self.mentions[index];
        let mut ways: Vec<Way> = Vec::new();
        let base = mention.doubt + cost::speaking(&mention.context);
        let path = self.ground.path(spot);
        self.onward(index, spot, pending, base, fits, &mut ways);
        let direct = !ways.is_empty();
        self.aside(index, &path, pending, visited, base, fits, &mut ways);
        self.elsewhere(index, spot, pending, visited, base, &mut ways);
        self.next_scene(index, spot, pending, base, fits, &mut ways);
        self.named(index, spot, pending, visited, &mut ways);
        if !direct && is_leading && mention.said.is_full() {
            self.unheard(index, spot, pending, base, &mut ways);
        }
        ways.sort_by(|one, other| one.cost.total_cmp(&other.cost).then(one.to.cmp(&other.to)));
        let mut seen: Vec<(Spot, bool)> = Vec::new();
        ways.retain(|way| {
            let is_new = !seen.contains(&(way.to, way.names));
            seen.push((way.to, way.names));
            is_new
        });
        ways.truncate(FAN);
        ways
    }

    /// The move is played from here.
    fn onward(&mut self, index: usize, spot: Spot, pending: Pending, base: f32, fits: &mut Fits, ways: &mut Vec<Way>) {
        let unturned = cost::unturned(pending, &self.mentions[index].context);
        for (to, fit) in fits.of(self.ground, self.mentions, index, spot) {
            ways.push(Way { to, cost: base + fit + unturned, names: false, turned: false });
        }
    }

    /// The board has gone back on its own line, to a position from which the move is played.
    #[allow(clippy::too_many_arguments)]
    fn aside(
        &mut self,
        index: usize,
        path: &[Spot],
        pending: Pending,
        visited: &[Spot],
        base: f32,
        fits: &mut Fits,
        ways: &mut Vec<Way>,
    ) {
        let context = self.mentions[index].context;
        for (plies, from) in path.iter().rev().enumerate().skip(1) {
            let to_start = plies + 1 == path.len();
            let back = cost::going_back(plies, to_start, pending, &context);
            let left = path[path.len() - plies];
            for (to, fit) in fits.of(self.ground, self.mentions, index, *from) {
                let seen = to == left || visited.binary_search(&to).is_ok();
                let again = if seen { cost::seen_again(pending) } else { 0.0 };
                ways.push(Way { to, cost: base + fit + back + again, names: false, turned: pending.any() });
            }
        }
    }

    /// The move leads to a position of a prepared line, or one that was shown, on another branch or further on.
    fn elsewhere(
        &mut self,
        index: usize,
        spot: Spot,
        pending: Pending,
        visited: &[Spot],
        base: f32,
        ways: &mut Vec<Way>,
    ) {
        let mention = &self.mentions[index];
        let study = self.ground.study(spot);
        let mut candidates: Vec<Spot> = self.ground.known[study].clone();
        candidates.extend(visited.iter().copied().filter(|seen| self.ground.study(*seen) == study));
        for to in candidates {
            let Some(from) = self.ground.parent(to) else { continue };
            let Some(fork) = self.ground.fork(spot, from) else { continue };
            if fork == from {
                continue; // told above
            }
            let Some(fit) = self.ground.against(&mention.said, to) else { continue };
            let back = self.ground.depth(spot) - self.ground.depth(fork);
            let forth = self.ground.depth(from) - self.ground.depth(fork);
            let shown = visited.binary_search(&from).is_ok();
            let jump = if shown {
                cost::going_back(back.max(1), false, pending, &mention.context) + cost::OTHER_BRANCH
            } else {
                let back = if back == 0 {
                    cost::unturned(pending, &mention.context)
                } else {
                    cost::going_back(back, fork == self.ground.roots[study], pending, &mention.context)
                };
                back + cost::UNHEARD * forth as f32
            };
            let again = if visited.binary_search(&to).is_ok() { cost::seen_again(pending) } else { 0.0 };
            let effect = self.effect(index, to);
            let cost = base + fit + effect + jump + again;
            ways.push(Way { to, cost, names: false, turned: pending.any() && (back > 0 || shown) });
        }
    }

    /// The move is played in the next composition, or one further on.
    fn next_scene(
        &mut self,
        index: usize,
        spot: Spot,
        pending: Pending,
        base: f32,
        fits: &mut Fits,
        ways: &mut Vec<Way>,
    ) {
        let study = self.ground.study(spot);
        for next in study + 1..self.ground.roots.len() {
            let passed = cost::SCENE_SKIPPED * (next - study - 1) as f32;
            let said = if pending.has(Turning::Scene) { cost::SCENE } else { cost::SCENE_UNSAID };
            let root = self.ground.roots[next];
            for (to, fit) in fits.of(self.ground, self.mentions, index, root) {
                ways.push(Way { to, cost: base + fit + said + passed, names: false, turned: pending.any() });
            }
        }
    }

    /// The mention plays nothing: it names the position to go back to, or the move to leave.
    fn named(&mut self, index: usize, spot: Spot, pending: Pending, visited: &[Spot], ways: &mut Vec<Way>) {
        let mention = &self.mentions[index];
        if !mention.context.after && !mention.context.leave {
            return;
        }
        let study = self.ground.study(spot);
        let path = self.ground.path(spot);
        let mut candidates: Vec<(Spot, f32)> = path.iter().rev().map(|seen| (*seen, 0.0)).collect();
        candidates.extend(visited.iter().filter(|seen| !path.contains(seen)).map(|seen| (*seen, 0.5)));
        candidates.extend(self.ground.known[study].iter().map(|known| (*known, cost::UNHEARD)));
        for (named, far) in candidates {
            let Some(fit) = self.ground.against(&mention.said, named) else { continue };
            let to = if mention.context.leave { self.ground.parent(named) } else { Some(named) };
            let Some(to) = to.filter(|to| self.ground.study(*to) == study) else { continue };
            let recent = 0.05 * (self.ground.depth(spot) as f32 - self.ground.depth(to) as f32).abs();
            let place = if mention.context.place { 0.0 } else { mention.doubt };
            let cost = cost::NAMED + fit + far + recent + place.min(0.8);
            ways.push(Way { to, cost, names: true, turned: pending.any() });
        }
    }

    /// One ply was not heard: any legal one after which the move fits.
    fn unheard(&mut self, index: usize, spot: Spot, pending: Pending, base: f32, ways: &mut Vec<Way>) {
        let said = self.mentions[index].said;
        let mut found = Vec::new();
        for between in self.ground.moves(spot).iter() {
            let after = self.ground.position(spot).after(between);
            for legal in after.legal_moves() {
                if let Some(fit) = said.against(&legal, after.turn(), Some(between.to)) {
                    found.push((*between, legal, fit));
                }
            }
        }
        let several = libm::logf(found.len().max(1) as f32);
        let unturned = cost::unturned(pending, &self.mentions[index].context);
        for (between, legal, fit) in found.into_iter().take(FAN) {
            let middle = self.ground.child(spot, between);
            let to = self.ground.child(middle, legal);
            let cost = base + fit + cost::UNHEARD_ANY + several + unturned + self.effect(index, to);
            ways.push(Way { to, cost, names: false, turned: false });
        }
    }

    fn effect(&mut self, index: usize, to: Spot) -> f32 {
        effect(self.ground, &self.mentions[index], to)
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

    /// The steps of the cheapest story, each with how sure it is.
    fn story(&self, onward: &[Vec<f32>], fixed: &[Fixed]) -> Story {
        let last = self.layers.len() - 1;
        let (mut steps, mut missed) = (Vec::new(), Vec::new());
        let mut at = (last, 0);
        let best = self.layers[last].first().map_or(0.0, |state| state.cost);
        while let Some(by) = self.layers[at.0].get(at.1).and_then(|state| state.by) {
            let edge = &self.edges[by];
            let to = edge.to.1;
            match edge.deed {
                Deed::Pass if edge.cost >= cost::MISSED => {
                    let here = self.stations.mentions[edge.from.0].iter().copied();
                    missed.extend(
                        here.max_by(|one, other| {
                            self.mentions[*one].strength.total_cmp(&self.mentions[*other].strength)
                        }),
                    );
                }
                Deed::Pass => {}
                Deed::Pin => steps.extend(self.stations.fixed[edge.from.0].iter().rev().map(|pin| Step {
                    to: fixed[*pin].to,
                    mention: None,
                    pin: Some(*pin),
                    names: false,
                    turned: None,
                    confidence: 1.0,
                    others: Vec::new(),
                    after: Aftermath::default(),
                    leaning: 0.0,
                    time: None,
                })),
                Deed::Go { mention, names, turned } => {
                    let (confidence, others) = self.doubts(edge, mention, best, onward);
                    steps.push(Step {
                        to,
                        mention: Some(mention),
                        pin: None,
                        names,
                        turned,
                        confidence,
                        others,
                        after: Aftermath::default(),
                        leaning: 0.0,
                        time: None,
                    });
                }
            }
            at = edge.from;
        }
        steps.reverse();
        missed.reverse();
        Story { steps, missed }
    }

    /// How sure an edge of the best story is, and where else its mention may lead.
    fn doubts(&self, edge: &Edge, mention: usize, best: f32, onward: &[Vec<f32>]) -> (f32, Vec<Spot>) {
        let (layer, to, _) = edge.to;
        let mut against: HashMap<Spot, f32> = HashMap::new();
        for (state, onward) in self.layers[layer].iter().zip(&onward[layer]) {
            let total = state.cost + onward;
            let least = against.entry(state.spot).or_insert(total);
            *least = least.min(total);
        }
        let weight = |total: f32| libm::expf(best - total);
        let rest: f32 = against.iter().filter(|(spot, _)| **spot != to).map(|(_, total)| weight(*total)).sum();
        let confidence = 1.0 / (1.0 + rest);
        let mut others: Vec<(f32, Spot)> = self.layers[layer]
            .iter()
            .zip(&onward[layer])
            .filter(|(state, _)| state.spot != to)
            .filter(|(state, _)| {
                state.by.is_some_and(|by| {
                    matches!(self.edges[by].deed, Deed::Go { mention: other, names: false, .. }
                        if overlap(&self.mentions[other], &self.mentions[mention]))
                })
            })
            .map(|(state, onward)| (state.cost + onward, state.spot))
            .filter(|(total, _)| weight(*total) > 0.05)
            .collect();
        others.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        (confidence, others.into_iter().map(|(_, spot)| spot).take(3).collect())
    }
}

fn overlap(one: &Mention, other: &Mention) -> bool {
    one.tokens.start < other.tokens.end && other.tokens.start < one.tokens.end
}

/// What is against a mention's check or mate where it leads.
fn effect(ground: &mut Ground, mention: &Mention, to: Spot) -> f32 {
    if !mention.said.check && !mention.said.mate {
        return 0.0;
    }
    let state = ground.state(to);
    mention.said.against_effect(matches!(state, game::State::Check | game::State::Mate), state == game::State::Mate)
}

/// The moves of a spot that fit a mention, found once for all states of a station.
#[derive(Default)]
struct Fits {
    known: HashMap<(usize, Spot), Vec<(Spot, f32)>>,
}

impl Fits {
    /// Where fitting moves lead, and what is against each: the sounds, the effect, being one of several, being no
    /// known one.
    fn of(&mut self, ground: &mut Ground, mentions: &[Mention], index: usize, spot: Spot) -> Vec<(Spot, f32)> {
        if let Some(found) = self.known.get(&(index, spot)) {
            return found.clone();
        }
        let mention = &mentions[index];
        let turn = ground.turn(spot);
        let last = ground.came(spot).map(|(_, legal)| legal.to);
        let mut fitting: Vec<(Spot, f32)> = Vec::new();
        for legal in ground.moves(spot).iter() {
            if let Some(fit) = mention.said.against(legal, turn, last) {
                let to = ground.child(spot, *legal);
                fitting.push((to, fit + effect(ground, mention, to)));
            }
        }
        // Several moves share what there is to believe, the better fitting ones the larger part.
        let least = fitting.iter().map(|(_, fit)| *fit).fold(f32::INFINITY, f32::min);
        let share = libm::logf(fitting.iter().map(|(_, fit)| libm::expf(least - fit)).sum::<f32>().max(1.0));
        let prepared = ground.is_prepared(spot);
        for (to, fit) in &mut fitting {
            let known = ground.is_known(*to);
            *fit += match (prepared, known) {
                (true, true) => 0.0,
                (true, false) => cost::EXTRA + share,
                (false, _) => cost::AMBIGUOUS * share,
            };
        }
        self.known.insert((index, spot), fitting.clone());
        fitting
    }
}
