//! The cheapest story read back, and how sure each of its steps is.

use super::{Deed, Edge, Fixed, Search, Step, Story};
use crate::draft::context::Aftermath;
use crate::draft::cost;
use crate::draft::ground::Spot;
use crate::draft::mention::Mention;
use std::collections::HashMap;

impl Search<'_> {
    /// The steps of the cheapest story, each with how sure it is.
    pub(super) fn story(&self, onward: &[Vec<f32>], fixed: &[Fixed]) -> Story {
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
