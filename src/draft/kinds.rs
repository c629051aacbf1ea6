//! Which of the lines shown is the solution, and which are tries.
//!
//! A prepared line is what its file says. Elsewhere the solution is, from each position, the move that was shown most
//! often, or announced as right, or shown last; what was announced as wrong is a try.

use super::decode::Step;
use super::ground::{Ground, Spot};
use super::mention::Mention;
use crate::timeline::LineKind;
use std::collections::HashMap;

/// What every ply shown belongs to.
pub(super) fn kinds(ground: &Ground, mentions: &[Mention], steps: &[Step]) -> HashMap<Spot, LineKind> {
    let mut votes: HashMap<Spot, f32> = HashMap::new();
    let mut order: Vec<Spot> = Vec::new();
    for (number, step) in steps.iter().enumerate() {
        for spot in ground.path(step.to) {
            if !votes.contains_key(&spot) {
                order.push(spot);
            }
            // Later shown counts a little more than earlier.
            let vote = votes.entry(spot).or_insert(0.0);
            if spot == step.to {
                *vote += 1.0 + 0.5 * number as f32 / steps.len() as f32;
                if let Some(mention) = step.mention.map(|mention| &mentions[mention]) {
                    *vote += mention.said.only as u8 as f32 + step.leaning;
                }
            }
        }
    }
    let mut best: HashMap<Spot, (f32, Spot)> = HashMap::new();
    for spot in &order {
        let Some(parent) = ground.parent(*spot) else { continue };
        let prepared = if ground.is_known(*spot) && ground.line(*spot) == LineKind::Solution { 1000.0 } else { 0.0 };
        let vote = votes[spot] + prepared;
        let leader = best.entry(parent).or_insert((vote, *spot));
        if vote > leader.0 {
            *leader = (vote, *spot);
        }
    }
    let mut kinds: HashMap<Spot, LineKind> = HashMap::new();
    for spot in &order {
        let kind = match ground.parent(*spot) {
            None => LineKind::Solution,
            Some(_) if ground.is_known(*spot) => ground.line(*spot),
            Some(parent) => {
                let of_parent = kinds.get(&parent).copied().unwrap_or_default();
                let leads = best.get(&parent).is_some_and(|(_, leader)| leader == spot);
                if of_parent == LineKind::Solution && leads { LineKind::Solution } else { LineKind::Try }
            }
        };
        kinds.insert(*spot, kind);
    }
    kinds
}
