//! Where one mention may lead from one position, and what is against each way.

use super::stations::Pending;
use super::{FAN, Past, Search, Talk, UNHEARD_FAN};
use crate::draft::context::Turning;
use crate::draft::cost::{self, Goal};
use crate::draft::ground::{Ground, Spot};
use crate::draft::mention::Mention;
use crate::game;
use std::collections::HashMap;

/// A place a mention may lead to.
pub(super) struct Way {
    pub to: Spot,
    pub cost: f32,
    pub names: bool,
    /// Whether an announcement explains it.
    pub turned: bool,
}

impl Search<'_> {
    /// Everywhere a mention may lead from a spot, the cheapest first.
    pub(super) fn ways(
        &mut self,
        index: usize,
        spot: Spot,
        pending: Pending,
        past: &Past,
        is_leading: bool,
        fits: &mut Fits,
    ) -> Vec<Way> {
        let mention = &self.mentions[index];
        let mut ways: Vec<Way> = Vec::new();
        let base = mention.doubt + cost::speaking(&mention.context);
        let path = self.ground.path(spot);
        let talk = past.last.map(|last| self.pauses.between(last, mention.tokens.start));
        let stays = talk.map_or(0.0, cost::staying);
        self.onward(index, spot, pending, base + stays, fits, &mut ways);
        let direct = !ways.is_empty();
        self.aside(index, &path, pending, past, (base, talk), fits, &mut ways);
        self.elsewhere(index, spot, pending, past, (base, talk), &mut ways);
        self.next_scene(index, spot, pending, base, fits, &mut ways);
        self.named(index, spot, pending, past, &mut ways);
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
        ways.truncate(if direct { FAN } else { UNHEARD_FAN });
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
        past: &Past,
        (base, talk): (f32, Option<Talk>),
        fits: &mut Fits,
        ways: &mut Vec<Way>,
    ) {
        let context = self.mentions[index].context;
        for (plies, from) in path.iter().rev().enumerate().skip(1) {
            let to_start = plies + 1 == path.len();
            // Where lines were prepared they say themselves where they part.
            let goal = if to_start || past.branches.contains(from) {
                Goal::Branch
            } else if plies == 1 && !self.ground.is_prepared(*from) {
                Goal::Last
            } else {
                Goal::Any
            };
            let back = cost::going_back(plies, path.len() - 1 - plies, to_start, goal, pending, &context, talk);
            let left = path[path.len() - plies];
            for (to, fit) in fits.of(self.ground, self.mentions, index, *from) {
                let seen = to == left || past.visited.binary_search(&to).is_ok();
                let again = if seen { cost::seen_again(pending) } else { 0.0 };
                ways.push(Way { to, cost: base + fit + back + again, names: false, turned: pending.announces() });
            }
        }
    }

    /// The move leads to a position of a prepared line, or one that was shown, on another branch or further on.
    fn elsewhere(
        &mut self,
        index: usize,
        spot: Spot,
        pending: Pending,
        past: &Past,
        (base, talk): (f32, Option<Talk>),
        ways: &mut Vec<Way>,
    ) {
        let mention = &self.mentions[index];
        let study = self.ground.study(spot);
        let mut candidates: Vec<Spot> = self.ground.known[study].clone();
        candidates.extend(past.visited.iter().copied().filter(|seen| self.ground.study(*seen) == study));
        for to in candidates {
            let Some(from) = self.ground.parent(to) else { continue };
            let Some(fork) = self.ground.fork(spot, from) else { continue };
            if fork == from {
                continue; // told above
            }
            let Some(fit) = self.ground.against(&mention.said, to) else { continue };
            let back = self.ground.depth(spot) - self.ground.depth(fork);
            let forth = self.ground.depth(from) - self.ground.depth(fork);
            let shown = past.visited.binary_search(&from).is_ok();
            let jump = if shown {
                let goal = match past.branches.contains(&from) {
                    true => Goal::Branch,
                    false if back <= 1 && !self.ground.is_prepared(from) => Goal::Last,
                    false => Goal::Any,
                };
                cost::going_back(back.max(1), self.ground.depth(from), false, goal, pending, &mention.context, talk)
                    + cost::OTHER_BRANCH
            } else {
                let back = if back == 0 {
                    cost::unturned(pending, &mention.context)
                } else {
                    cost::going_back(
                        back,
                        self.ground.depth(fork),
                        fork == self.ground.roots[study],
                        Goal::Branch,
                        pending,
                        &mention.context,
                        talk,
                    )
                };
                back + cost::UNHEARD * forth as f32
            };
            let again = if past.visited.binary_search(&to).is_ok() { cost::seen_again(pending) } else { 0.0 };
            let effect = self.effect(index, to);
            let cost = base + fit + effect + jump + again;
            ways.push(Way { to, cost, names: false, turned: pending.announces() && (back > 0 || shown) });
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
                ways.push(Way { to, cost: base + fit + said + passed, names: false, turned: pending.announces() });
            }
        }
    }

    /// The mention plays nothing: it names the position to go back to, or the move to leave.
    fn named(&mut self, index: usize, spot: Spot, pending: Pending, past: &Past, ways: &mut Vec<Way>) {
        let mention = &self.mentions[index];
        let plainly = mention.context.after || mention.context.leave;
        if !plainly && !mention.context.named {
            return;
        }
        let study = self.ground.study(spot);
        let path = self.ground.path(spot);
        let mut candidates: Vec<(Spot, f32)> = path.iter().rev().map(|seen| (*seen, 0.0)).collect();
        candidates.extend(past.visited.iter().filter(|seen| !path.contains(seen)).map(|seen| (*seen, 0.5)));
        // `after king f six` names what was shown, or plays it.
        if plainly {
            candidates.extend(self.ground.known[study].iter().map(|known| (*known, cost::UNHEARD)));
        }
        for (named, far) in candidates {
            let Some(fit) = self.ground.against(&mention.said, named) else { continue };
            let to = if mention.context.leave { self.ground.parent(named) } else { Some(named) };
            let Some(to) = to.filter(|to| self.ground.study(*to) == study) else { continue };
            let recent = 0.05 * (self.ground.depth(spot) as f32 - self.ground.depth(to) as f32).abs();
            let place = if mention.context.place { 0.0 } else { mention.doubt };
            let cost = cost::NAMED + fit + far + recent + place.min(0.8);
            ways.push(Way { to, cost, names: true, turned: pending.announces() });
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
        for (between, legal, fit) in found.into_iter().take(UNHEARD_FAN) {
            let middle = self.ground.child(spot, between);
            let to = self.ground.child(middle, legal);
            let cost = base + fit + cost::UNHEARD_ANY + several + unturned + self.effect(index, to);
            ways.push(Way { to, cost, names: false, turned: false });
        }
    }

    fn effect(&mut self, index: usize, to: Spot) -> f32 {
        effect(self.ground, &self.mentions[index], to)
    }
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
pub(super) struct Fits {
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
