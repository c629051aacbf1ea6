//! What is against a step, in nats: `e^-cost` is about how much likelier its absence is. Weighed by ear and by the
//! narrations in `tests/narrations/tuned`, never by those in `untouched`.

use super::context::{Context, Turning};
use super::decode::Pending;

/// A legal move that no prepared line has.
pub(super) const EXTRA: f32 = 2.6;
/// For each nat by which several fitting moves share one mention.
pub(super) const AMBIGUOUS: f32 = 1.2;
/// A ply of a known line that was not heard.
pub(super) const UNHEARD: f32 = 2.8;
/// Any ply that was not heard; its like shares what there is to believe besides.
pub(super) const UNHEARD_ANY: f32 = 3.6;
/// A mention that names the position to return to.
pub(super) const NAMED: f32 = 0.3;
/// Another branch than the one on the board.
pub(super) const OTHER_BRANCH: f32 = 0.5;
/// A new scene that was announced, one that was not, and each that is passed over.
pub(super) const SCENE: f32 = 0.2;
pub(super) const SCENE_UNSAID: f32 = 4.5;
pub(super) const SCENE_SKIPPED: f32 = 3.0;
/// A return that was announced.
pub(super) const RETURN_ANNOUNCED: f32 = 0.4;
/// A return that may have been announced.
const RETURN_ASIDE: f32 = 0.8;
/// A return where a word like `if` or `but` stands.
const RETURN_AT_A_TURN: f32 = 1.3;
/// A return out of nowhere.
const RETURN_UNSAID: f32 = 2.2;
/// Each ply of a return.
const PLY_BACK: f32 = 0.04;
/// The part of a mention's strength that it still costs to pass over it when the move was just played, or the one
/// before.
pub(super) const ECHO: f32 = 0.1;
pub(super) const FAINT_ECHO: f32 = 0.5;

/// Passing over a mention that costs as much as this is told to the author.
pub(super) const MISSED: f32 = 1.9;

/// What is against a move being played that is spoken of like this.
pub(super) fn speaking(context: &Context) -> f32 {
    let mut cost = 0.0;
    if context.threat {
        cost += 2.6;
    }
    if context.never {
        cost += 2.4;
    }
    if context.maybe && !context.given {
        cost += 1.2;
    }
    if context.unplayed {
        cost += 1.4;
    }
    if context.after || context.leave {
        cost += 1.0;
    }
    cost
}

/// The part of a mention's strength that counts when it is passed over.
pub(super) fn weight(context: &Context) -> f32 {
    let mut weight = 1.0;
    if context.threat || context.never {
        weight *= 0.08;
    }
    if context.maybe && !context.given {
        weight *= 0.4;
    }
    if context.unplayed {
        weight *= 0.3;
    }
    if context.after || context.leave {
        weight *= 0.3;
    }
    weight
}

/// What is against going on from here although something else was announced.
pub(super) fn unturned(pending: Pending, context: &Context) -> f32 {
    let announced = [
        (Turning::Start, 1.2),
        (Turning::Scene, 0.8),
        (Turning::Undo, 1.2),
        (Turning::Back, 0.5),
        (Turning::Aside, 0.2),
        (Turning::Again, 0.3),
    ];
    let most = announced.into_iter().filter(|(turning, _)| pending.has(*turning)).map(|(_, cost)| cost);
    let instead = if context.instead { 0.5 } else { 0.0 };
    most.fold(instead, f32::max)
}

/// What is against the board having gone back so many plies.
pub(super) fn going_back(plies: usize, to_start: bool, pending: Pending, context: &Context) -> f32 {
    // Lines leave the first position, or the one just left, more often than one in between.
    let far = if to_start { PLY_BACK } else { PLY_BACK * plies.min(30) as f32 };
    if to_start && (pending.has(Turning::Start) || pending.has(Turning::Again)) {
        return 0.1;
    }
    if pending.has(Turning::Undo) && plies == 1 {
        return 0.1;
    }
    let said = if pending.has(Turning::Back) || pending.has(Turning::Undo) || pending.has(Turning::Start) {
        RETURN_ANNOUNCED
    } else if context.instead || context.slip {
        RETURN_ANNOUNCED + 0.1
    } else if pending.has(Turning::Aside) {
        RETURN_ASIDE
    } else if context.turn || context.given || pending.has(Turning::Again) {
        RETURN_AT_A_TURN
    } else {
        RETURN_UNSAID
    };
    said + far
}

/// What is against showing again what has been shown.
pub(super) fn seen_again(pending: Pending) -> f32 {
    if pending.has(Turning::Again) || pending.has(Turning::Start) { 0.0 } else { 0.7 }
}
