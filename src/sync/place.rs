//! Anchors → where every moment goes.

use super::hear::Anchor;
use super::moment::{Kind, Moment};
use super::{Found, SNAP, Take};
use crate::narration::transcript::{Transcript, Word};
use crate::units::Time;
use std::time::Duration;

/// A moment's new time.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placed {
    pub(super) time: Time,
    pub(super) found: Found,
    /// Whether it stands at the beginning of a word, and so at the beginning of speech if one is near.
    pub(super) at_word: bool,
    /// From one ply to the next, if that changes.
    pub(super) every: Option<Duration>,
}

/// A cue this far from a word's beginning still means that word, in µs.
const NEAR: i64 = 600_000;
/// A cue this close to a word's beginning stands at it, in µs.
const AT: i64 = 200_000;
/// More words than this without any that was found are another passage.
const FEW: usize = 6;
/// A pace that changes by less than this share stays as it was written.
const SAME_PACE: f64 = 0.04;

/// By pairs of words of the old take and the new.
pub(super) fn by_words(
    moments: &[Moment],
    old: &Transcript,
    new: &Transcript,
    pairs: &[(usize, usize)],
) -> Vec<Placed> {
    let clock = Clock { old: &old.words, new: &new.words, pairs };
    let place = |moment: &Moment| {
        let (time, found, at_word) = clock.at(moment.time);
        let every = moment.every.filter(|_| moment.plies.len() > 1).map(|(every, _)| {
            let last = moment.plies.len() - 1;
            let (end, ..) = clock.at(moment.time_of(last));
            (every, end.since(time) / u32::try_from(last).unwrap_or(1))
        });
        let every = every.filter(|(old, new)| differ(*old, *new)).map(|(_, new)| new);
        Placed { time, found, at_word, every: every.filter(|_| found != Found::Lost) }
    };
    moments.iter().map(place).collect()
}

fn differ(old: Duration, new: Duration) -> bool {
    let (old, new) = (old.as_secs_f64(), new.as_secs_f64());
    new > 0.05 && (new - old).abs() > SAME_PACE * old.max(0.1)
}

/// The old clock's times on the new clock, by words.
struct Clock<'a> {
    old: &'a [Word],
    new: &'a [Word],
    pairs: &'a [(usize, usize)],
}

impl Clock<'_> {
    fn at(&self, time: Time) -> (Time, Found, bool) {
        if self.pairs.is_empty() {
            return (time, Found::Lost, false);
        }
        let micros = time.as_micros();
        // The word it stands at: the nearest beginning, the later of two that are as near.
        let next = self.old.partition_point(|word| word.start < time);
        let apart = |index: usize| (self.old[index].start.as_micros() - micros).abs();
        let nearest = [next.checked_sub(1), Some(next).filter(|next| *next < self.old.len())]
            .into_iter()
            .flatten()
            .min_by_key(|index| apart(*index));
        if let Some(word) = nearest.filter(|word| apart(*word) <= NEAR)
            && let Ok(pair) = self.pairs.binary_search_by_key(&word, |pair| pair.0)
        {
            let (old, new) = (&self.old[word], &self.new[self.pairs[pair].1]);
            let offset = micros - old.start.as_micros();
            // Within the word the share of it stays, before it the distance.
            let length = (old.end.since(old.start).as_micros() as i64).max(1);
            let new_length = new.end.since(new.start).as_micros() as i64;
            let offset = if offset > 0 && offset < length { offset * new_length / length } else { offset };
            let time = Time::from_micros((new.start.as_micros() + offset).max(0));
            return (time, Found::Word, apart(word) <= AT);
        }
        self.between(time)
    }

    /// Between the nearest words that were found before and after.
    fn between(&self, time: Time) -> (Time, Found, bool) {
        let after = self.pairs.partition_point(|(word, _)| self.old[*word].start < time);
        let before = after.checked_sub(1).map(|pair| self.pairs[pair]);
        let after = self.pairs.get(after).copied();
        let (from, few) = match (before, after) {
            (Some(before), Some(after)) => {
                let few = after.0 - before.0 <= FEW;
                let (a, b) = (&self.old[before.0], &self.old[after.0]);
                let (c, d) = (&self.new[before.1], &self.new[after.1]);
                let from_end = a.end.min(time).max(a.start);
                (between(time, (from_end, c.end.min(d.start)), (b.start, d.start)), few)
            }
            // Beyond the last word, and before the first, the distance stays.
            (Some(before), None) => {
                let few = self.old.len() - before.0 <= FEW;
                (shifted(time, self.old[before.0].end, self.new[before.1].end), few)
            }
            (None, Some(after)) => {
                let few = after.0 < FEW;
                (shifted(time, self.old[after.0].start, self.new[after.1].start), few)
            }
            (None, None) => (time, false),
        };
        (from, if few { Found::Between } else { Found::Lost }, false)
    }
}

/// A time between two anchors: as far from the nearer one as it was, or in proportion where there is less room.
fn between(time: Time, (a, new_a): (Time, Time), (b, new_b): (Time, Time)) -> Time {
    let (old, new) = (b.since(a).as_micros() as i64, new_b.since(new_a).as_micros() as i64);
    let (after, ahead) = (time.since(a).as_micros() as i64, b.since(time).as_micros() as i64);
    if old == 0 {
        return new_b;
    }
    if new < old {
        let inside = i128::from(new) * i128::from(after.min(old)) / i128::from(old);
        return new_a + Duration::from_micros(inside as u64);
    }
    if ahead <= after {
        new_b - Duration::from_micros(ahead as u64)
    } else {
        new_a + Duration::from_micros(after as u64)
    }
}

fn shifted(time: Time, old: Time, new: Time) -> Time {
    Time::from_micros((time.as_micros() - old.as_micros() + new.as_micros()).max(0))
}

/// By moves and captions that were heard.
pub(super) fn by_anchors(moments: &[Moment], anchors: &[Anchor], words: &Transcript) -> Vec<Placed> {
    let start = |anchor: &Anchor| words.words.get(anchor.words.start).map_or(Time::ZERO, |word| word.start);
    // Known points of both clocks, in order of the old one.
    let mut known: Vec<(Time, Time)> =
        anchors.iter().map(|anchor| (moments[anchor.moment].time_of(anchor.ply), start(anchor))).collect();
    known.sort_unstable();
    let place = |(number, moment): (usize, &Moment)| {
        let own: Vec<&Anchor> = anchors.iter().filter(|anchor| anchor.moment == number).collect();
        let time_of = |ply: usize| own.iter().find(|anchor| anchor.ply == ply).map(|anchor| start(anchor));
        let last = moment.plies.len().saturating_sub(1);
        let every = match (time_of(0), time_of(last)) {
            (Some(first), Some(end)) if last > 0 => moment
                .every
                .map(|(every, _)| (every, end.since(first) / u32::try_from(last).unwrap_or(1)))
                .filter(|(old, new)| differ(*old, *new))
                .map(|(_, new)| new),
            _ => None,
        };
        if let Some(time) = time_of(0) {
            return Placed { time, found: Found::Word, at_word: true, every };
        }
        let after = known.partition_point(|(old, _)| *old < moment.time);
        let (before, after) = (after.checked_sub(1).map(|before| known[before]), known.get(after).copied());
        let time = match (before, after) {
            (Some(before), Some(after)) => between(moment.time, before, after),
            (Some(before), None) => shifted(moment.time, before.0, before.1),
            (None, Some(after)) => shifted(moment.time, after.0, after.1),
            (None, None) => moment.time,
        };
        // What lay close to a move or a word lies as close to it now; else something is likely to happen where
        // somebody begins to speak.
        let close = [before, after]
            .into_iter()
            .flatten()
            .any(|(old, _)| old.since(moment.time).max(moment.time.since(old)) <= CLOSE);
        let time = if close { time } else { words_begin_near(words, time).unwrap_or(time) };
        // A move that should have been spoken and was not found is lost; what has no words goes along.
        let spoken = !moment.plies.is_empty() || known.is_empty();
        Placed { time, found: if spoken { Found::Lost } else { Found::Between }, at_word: false, every: None }
    };
    moments.iter().enumerate().map(place).collect()
}

/// How close a cue without words is put to the next one with words.
const CLOSE: Duration = Duration::from_millis(700);

/// The nearest beginning of a phrase, or of a word behind a pause: where something is likely to happen that has no words
/// of its own.
fn words_begin_near(words: &Transcript, time: Time) -> Option<Time> {
    /// How far it may be, in µs.
    const REACH: i64 = 1_200_000;
    /// How long the pause before it, in µs.
    const PAUSE: u128 = 180_000;
    let apart = |word: &Word| (word.start.as_micros() - time.as_micros()).abs();
    let first = words.words.partition_point(|word| word.start.as_micros() < time.as_micros() - REACH);
    let near = words.words[first..]
        .iter()
        .enumerate()
        .take_while(|(_, word)| word.start.as_micros() <= time.as_micros() + REACH);
    let begins = |(number, word): &(usize, &Word)| {
        let before = (first + number).checked_sub(1).map(|before| &words.words[before]);
        before.is_none_or(|before| before.phrase != word.phrase || word.start.since(before.end).as_micros() > PAUSE)
    };
    near.filter(begins).min_by_key(|(_, word)| apart(word)).map(|(_, word)| word.start)
}

/// The fastest that plies of one cue may follow each other.
const FASTEST: Duration = Duration::from_millis(100);

/// Makes a cue's plies fit before what comes next, and gives how long the next time must wait.
fn paced(moment: &Moment, place: &mut Placed, until_next: Option<Duration>) -> Duration {
    let more = u32::try_from(moment.plies.len().saturating_sub(1)).unwrap_or(0);
    let Some((written, _)) = moment.every.filter(|_| more > 0) else { return moment.room };
    let mut every = place.every.unwrap_or(written);
    // A cue that is written relative to this one stays where it is.
    if let Some(next) = moment.next {
        every = every.min(next / more);
    } else if let Some(until_next) = until_next {
        every = every.min((until_next / more).max(FASTEST));
    }
    // Whole hundredths, as they are written.
    let hundredths = |length: Duration| Duration::from_millis((length.as_millis() / 10 * 10) as u64);
    place.every = (hundredths(every) != hundredths(written)).then(|| hundredths(every));
    let own = place.every.unwrap_or(written) * more;
    if moment.next.is_some() { moment.room.max(own) } else { own }
}

/// Times at the beginning of speech where one is near, in order, and within the recording; rounded down to 10 ms.
pub(super) fn settled(moments: &[Moment], mut placed: Vec<Placed>, take: &Take) -> Vec<Placed> {
    if let Some(speech) = take.speech {
        for place in placed.iter_mut().filter(|place| place.at_word) {
            place.time = speech.onset_near(place.time, SNAP).unwrap_or(place.time);
        }
    }
    let wanted: Vec<Time> = placed.iter().map(|place| place.time).collect();
    let latest = take.length.map(|length| Time::ZERO + length.saturating_sub(Duration::from_millis(10)));
    // What was found stands; what was not, gives way to it.
    let in_order: Vec<usize> =
        (0..moments.len()).filter(|number| matches!(moments[*number].kind, Kind::Scene | Kind::Cue)).collect();
    // `last`: the latest that leaves room for all that follows; `ceiling`: the next time that stands.
    let mut last = Time::from_micros(latest.map_or(i64::MAX, |latest| latest.as_micros() / 10_000 * 10_000));
    let mut ceiling = last;
    for number in in_order.iter().rev() {
        let (place, room) = (&mut placed[*number], moments[*number].room);
        last = (last - room).max(Time::ZERO);
        let bound = if place.found == Found::Word { last } else { last.min((ceiling - room).max(Time::ZERO)) };
        place.time = place.time.min(bound);
        ceiling = ceiling.min(place.time);
    }
    let mut floor = Time::ZERO;
    for (index, number) in in_order.iter().enumerate() {
        let next = in_order.get(index + 1).map(|next| placed[*next].time);
        let (moment, place) = (&moments[*number], &mut placed[*number]);
        place.time = Time::from_micros(place.time.max(floor).as_micros() / 10_000 * 10_000).max(floor);
        let room = paced(moment, place, next.map(|next| next.since(place.time)));
        floor = place.time + room;
    }
    let asides = moments.iter().zip(&mut placed).filter(|(moment, _)| matches!(moment.kind, Kind::Aside | Kind::End));
    for (_, place) in asides {
        let bound = latest.unwrap_or(Time::from_micros(i64::MAX));
        place.time = Time::from_micros(place.time.min(bound).as_micros() / 10_000 * 10_000);
    }
    // What had to go elsewhere for the sake of the order is no longer at its word.
    for (place, wanted) in placed.iter_mut().zip(wanted).filter(|(place, _)| place.found == Found::Word) {
        if place.time.since(wanted).max(wanted.since(place.time)) > SNAP {
            place.found = Found::Between;
        }
    }
    placed
}
