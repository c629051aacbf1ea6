//! What is against a step, in nats: `e^-cost` is about how much likelier its absence is. Weighed by ear and by the
//! narrations in `tests/narrations/tuned`, never by those in `untouched`.

use super::context::{Context, Turning};
use super::decode::{Pending, Talk};

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
const RETURN_AT_A_TURN: f32 = 1.6;
/// A return behind the end of a line.
const RETURN_AFTER_ALL: f32 = 1.1;
/// A return out of nowhere.
const RETURN_UNSAID: f32 = 1.6;
/// Each ply of a return.
const PLY_BACK: f32 = 0.04;
/// The part of a mention's strength that it still costs to pass over it when the move was just played, or the one
/// before.
pub(super) const ECHO: f32 = 0.1;
pub(super) const FAINT_ECHO: f32 = 0.65;

/// The same where the move is one of the side that has just moved: it is what comes next if nobody prevents it.
pub(super) const OF_WHO_MOVED: f32 = 0.7;

/// Passing over a mention that costs as much as this is told to the author.
pub(super) const MISSED: f32 = 1.9;

/// What is against a move that is threatened, denied, perhaps, a reason, said not to be played, or named to go back to.
const THREAT: f32 = 2.6;
const NEVER: f32 = 2.4;
const MAYBE: f32 = 1.2;
const REASON: f32 = 1.2;
const UNPLAYED: f32 = 1.9;
const LEFT: f32 = 1.0;
const ASKED: f32 = 0.3;
const ASKED_WEIGHT: f32 = 0.6;

/// What is against a move being played that is spoken of like this.
pub(super) fn speaking(context: &Context) -> f32 {
    let mut cost = 0.0;
    if context.threat {
        cost += THREAT;
    }
    if context.never {
        cost += NEVER;
    }
    if context.maybe && !context.given {
        cost += MAYBE;
    }
    if context.reason {
        cost += REASON;
    }
    if context.unplayed {
        cost += UNPLAYED;
    }
    if context.after || context.leave {
        cost += LEFT;
    }
    if context.asked {
        cost += ASKED;
    }
    cost
}

/// The part of a mention's strength that counts when it is passed over.
pub(super) fn weight(context: &Context) -> f32 {
    let mut weight = 1.0;
    if context.threat || context.never {
        weight *= 0.08;
    }
    if context.maybe && !context.given || context.reason {
        weight *= 0.4;
    }
    if context.unplayed {
        weight *= 0.3;
    }
    if context.after || context.leave {
        weight *= 0.3;
    }
    if context.asked {
        weight *= ASKED_WEIGHT;
    }
    weight
}

/// What is against going on although a return to the start, a scene, one ply back, back to what is named, aside, or a
/// repetition was announced.
const UNTURNED_START: f32 = 1.2;
const UNTURNED_SCENE: f32 = 0.8;
const UNTURNED_UNDO: f32 = 1.2;
const UNTURNED_BACK: f32 = 0.5;
const UNTURNED_ASIDE: f32 = 0.2;
const UNTURNED_AGAIN: f32 = 0.3;
const UNTURNED_VERDICT: f32 = 0.1;

/// What is against going on from here although something else was announced.
pub(super) fn unturned(pending: Pending, context: &Context) -> f32 {
    let announced = [
        (Turning::Start, UNTURNED_START),
        (Turning::Scene, UNTURNED_SCENE),
        (Turning::Undo, UNTURNED_UNDO),
        (Turning::Back, UNTURNED_BACK),
        (Turning::Main, UNTURNED_BACK),
        (Turning::Aside, UNTURNED_ASIDE),
        (Turning::Again, UNTURNED_AGAIN),
        (Turning::Verdict, UNTURNED_VERDICT),
    ];
    let most = announced.into_iter().filter(|(turning, _)| pending.has(*turning)).map(|(_, cost)| cost);
    let instead = if context.instead { 0.5 } else { 0.0 };
    most.fold(instead, f32::max)
}

/// Moves of one line follow each other closely: in the tuned narrations no line is left within a sentence, and one move
/// in two is on another where more than ten words lie between.
const WITHIN_A_SENTENCE: f32 = 1.5;
const CLOSE: f32 = 0.3;
const AWAY: f32 = -0.4;
const FAR_AWAY: f32 = -0.65;
/// What is against going on with a line behind so much talk.
const STAYS: f32 = 0.2;
const STAYS_LONG: f32 = 0.5;
/// Each ply between the start and where the board goes for the move that matters.
const DEEP: f32 = 0.08;
/// A return to where no line was left before.
const NO_BRANCH: f32 = 0.8;
/// The same for the move that was shown last.
const NO_BRANCH_BUT_LAST: f32 = 0.5;
/// For a move with `instead` behind it, in place of the one shown last.
const REPLACED: f32 = 0.3;

/// What is against the board staying where it is after so much talk.
pub(super) fn staying(talk: Talk) -> f32 {
    match talk {
        Talk { ends: Some(false), .. } => 0.0,
        Talk { tokens: 11.., .. } => STAYS_LONG,
        Talk { tokens: 7.., .. } => STAYS,
        _ => 0.0,
    }
}

/// Whether so much is said that another line may begin.
pub(super) fn is_long(talk: Talk) -> bool {
    talk.tokens >= 9 && talk.ends != Some(false)
}

/// What the talk before it says against a return, or for it.
fn leaving(talk: Talk) -> f32 {
    match talk {
        Talk { ends: Some(false), .. } => WITHIN_A_SENTENCE,
        Talk { tokens: 0..=3, .. } => CLOSE,
        Talk { tokens: 11.., .. } => FAR_AWAY,
        Talk { tokens: 7.., .. } => AWAY,
        _ => 0.0,
    }
}

/// What speaks for a position as one to go back to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Goal {
    /// Lines part there.
    Branch,
    /// It is the one before the move just shown, which is the move most often replaced.
    Last,
    /// Nothing.
    Any,
}

/// What is against the board having gone back so many plies.
pub(super) fn going_back(
    plies: usize,
    depth: usize,
    to_start: bool,
    goal: Goal,
    pending: Pending,
    context: &Context,
    talk: Option<Talk>,
) -> f32 {
    // Lines leave the first position, or the one just left, more often than one in between.
    let far = if to_start { PLY_BACK } else { PLY_BACK * plies.min(30) as f32 };
    if to_start && (pending.has(Turning::Start) || pending.has(Turning::Again)) {
        return 0.1;
    }
    if pending.has(Turning::Undo) && plies == 1 {
        return 0.1;
    }
    let is_announced = pending.announces() || context.instead || context.slip;
    let said = if pending.has(Turning::Back)
        || pending.has(Turning::Main)
        || pending.has(Turning::Undo)
        || pending.has(Turning::Start)
    {
        RETURN_ANNOUNCED
    } else if context.instead || context.slip {
        RETURN_ANNOUNCED + 0.1
    } else if pending.has(Turning::Aside) {
        RETURN_ASIDE
    } else if pending.has(Turning::Verdict) {
        RETURN_AFTER_ALL
    } else if context.turn || context.given || pending.has(Turning::Again) {
        RETURN_AT_A_TURN
    } else {
        RETURN_UNSAID
    };
    // What is announced needs no talk besides.
    let talk = talk.map_or(0.0, leaving);
    let talk = if is_announced { talk.min(0.0) } else { talk };
    // What matters is rather said of an early position.
    let far = if pending.has(Turning::Main) { DEEP * depth.min(10) as f32 } else { far };
    let branch = match goal {
        Goal::Branch => 0.0,
        Goal::Last => NO_BRANCH_BUT_LAST,
        Goal::Any => NO_BRANCH,
    };
    let branch = if context.instead && plies == 1 { branch - REPLACED } else { branch };
    (said + talk).max(0.1) + far + branch
}

/// What has been shown is rarely shown again unless that was announced.
const SEEN: f32 = 0.7;

/// What is against showing again what has been shown.
pub(super) fn seen_again(pending: Pending) -> f32 {
    if pending.has(Turning::Again) || pending.has(Turning::Start) { 0.0 } else { SEEN }
}
