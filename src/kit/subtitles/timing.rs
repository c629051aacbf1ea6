//! When a subtitle comes and goes: long enough to be read, within its scene, apart from the next, together with what
//! changes on the board, and on whole frames.
//!
//! No subtitle is ever left out for want of time: where a scene's end is near, it comes before its words.

use super::{Subtitle, Word, breaking, longest};
use crate::film::{Film, Gap, Profile, Room};
use crate::units::{FrameIndex, FrameRate, Time};
use std::ops::Range;
use std::time::Duration;

/// A subtitle's start or end is moved to a cue of the film that is as near as this, so that words and pictures change
/// together: a quarter of a second, half of what is seen as late.
const SNAP: Duration = Duration::from_millis(250);

/// The least that a subtitle stands before a scene's end, where the scene has room for it: half a second, in which a
/// word or two can be read. For that it may come before its words.
const LEAST: Duration = Duration::from_millis(500);

/// A pause as long as this counts as much as one step of [`breaking::badness`], for the question of which scene a word
/// belongs to.
const PAUSE: f64 = 0.25;

/// The film's scenes and cues.
pub(super) struct Clock {
    pub rate: FrameRate,
    /// How many frames the film has.
    pub frames: u64,
    /// The first frame of each scene that has one, rising from 0.
    pub scenes: Vec<u64>,
    /// When something changes on screen, in order.
    pub cues: Vec<Time>,
}

impl Clock {
    pub(super) fn of(film: &Film) -> Clock {
        let (rate, frames) = (film.rate(), film.frames());
        let starts = || film.chapters().iter().map(|chapter| chapter.start);
        let mut cues: Vec<Time> = starts().collect();
        cues.extend((0..film.chapters().len()).flat_map(|scene| film.step_times(scene).iter().copied()));
        cues.sort_unstable();
        let mut scenes = vec![0];
        scenes.extend(starts().map(|start| rate.first_at(start).0).filter(|first| *first < frames));
        scenes.sort_unstable();
        scenes.dedup();
        Clock { rate, frames, scenes, cues }
    }

    /// When the film is over.
    pub(super) fn end(&self) -> Time {
        self.rate.start_of(FrameIndex(self.frames))
    }

    /// The scene that a time lies in.
    pub(super) fn scene_at(&self, time: Time) -> usize {
        let frame = self.rate.first_at(time).0;
        self.scenes.partition_point(|first| *first <= frame).saturating_sub(1)
    }

    /// The frames of a scene.
    fn frames_of(&self, scene: usize) -> Range<u64> {
        self.scenes[scene]..self.scenes.get(scene + 1).copied().unwrap_or(self.frames)
    }

    /// The cue within reach of a time that is nearest to it, among those that will do.
    fn near(&self, time: Time, will_do: impl Fn(Time) -> bool) -> Option<Time> {
        let reach = self.cues.partition_point(|cue| *cue < time - SNAP)..;
        let within = self.cues[reach].iter().copied().take_while(|cue| *cue <= time + SNAP);
        within.filter(|cue| will_do(*cue)).min_by_key(|cue| cue.as_micros().abs_diff(time.as_micros()))
    }
}

/// The words of each scene. A word that begins just before a cut goes with the words before or behind it, whichever it
/// belongs to more.
pub(super) fn by_scene<'a>(words: &'a [Word], clock: &Clock) -> Vec<(usize, &'a [Word])> {
    let mut parts = Vec::new();
    let mut begin = 0;
    for scene in 0..clock.scenes.len() {
        let end = match clock.scenes.get(scene + 1) {
            Some(cut) => parting(words, clock.rate.start_of(FrameIndex(*cut))).max(begin),
            None => words.len(),
        };
        if begin < end {
            parts.push((scene, &words[begin..end]));
        }
        begin = end;
    }
    parts
}

/// How many words belong before a cut.
fn parting(words: &[Word], cut: Time) -> usize {
    let begun = |time: Time| words.partition_point(|word| word.start < time);
    let cost = |at: usize| match (at.checked_sub(1).and_then(|before| words.get(before)), words.get(at)) {
        (Some(before), Some(after)) => {
            breaking::badness(&before.text, &after.text) - after.start.since(before.end).as_secs_f64() / PAUSE
        }
        _ => 0.0,
    };
    // Of equals the last: a word that begins before the cut is said before it.
    (begun(cut - SNAP)..=begun(cut)).rev().min_by(|a, b| cost(*a).total_cmp(&cost(*b))).unwrap_or(0)
}

/// Gives each subtitle its time. They come in order, each with when its words are said.
pub(super) fn timed(titles: &[Subtitle], clock: &Clock, profile: &Profile, room: Room) -> Vec<Subtitle> {
    let scenes: Vec<&[Subtitle]> = titles.chunk_by(|one, next| one.scene == next.scene).collect();
    let after = scenes.iter().skip(1).map(|scene| Some(scene[0].start)).chain([None]);
    scenes.iter().zip(after).flat_map(|(scene, after)| in_scene(scene.to_vec(), after, clock, profile, room)).collect()
}

/// The same for those of one scene; `after` is when the first of the next is said.
fn in_scene(
    mut titles: Vec<Subtitle>,
    after: Option<Time>,
    clock: &Clock,
    profile: &Profile,
    room: Room,
) -> Vec<Subtitle> {
    let mut frames = clock.frames_of(titles[0].scene);
    while titles.len() as u64 > frames.end - frames.start {
        join_shortest(&mut titles, room);
    }
    let count = titles.len() as u64;
    let gap = match profile.gap {
        Gap::Frames(gap) if count * (1 + u64::from(gap)) + u64::from(gap) <= frames.end - frames.start => gap.into(),
        _ => 0,
    };
    if frames.end < clock.frames {
        // The next scene may begin with a subtitle.
        frames.end -= gap;
    }
    let starts = starts(&titles, frames.clone(), gap, clock);
    for (at, title) in titles.iter_mut().enumerate() {
        let start = clock.rate.start_of(FrameIndex(starts[at]));
        let next = starts.get(at + 1).map(|next| clock.rate.start_of(FrameIndex(*next))).or(after);
        let limit = starts.get(at + 1).map_or(frames.end, |next| next - gap);
        let need = Duration::from_secs_f64(profile.reading(&title.text())).min(longest(profile));
        let hang = title.end + Duration::from_secs_f64(profile.hang);
        let wanted = title.end.max((start + need).min(hang));
        let wanted = clock.near(wanted, |cue| cue >= title.end).unwrap_or(wanted).min(start + longest(profile));
        let end = match (profile.gap, next) {
            (Gap::NoneOrAtLeast(seconds), Some(next)) if next.since(wanted).as_secs_f64() < seconds => next,
            _ => wanted,
        };
        let end = clock.rate.first_at(end).0.clamp(starts[at] + 1, limit);
        (title.start, title.end) = (start, clock.rate.start_of(FrameIndex(end)));
    }
    titles
}

/// The first frame of each subtitle of a scene: with its words or a cue near them, but not before the one above it has
/// had a frame, and not so late that those from there on have too little.
fn starts(titles: &[Subtitle], frames: Range<u64>, gap: u64, clock: &Clock) -> Vec<u64> {
    let count = titles.len() as u64;
    let least = clock.rate.first_at(Time::ZERO + LEAST).0;
    let share = ((frames.end - frames.start) / count).min(least.max(1 + gap)).max(1);
    let mut free = frames.start;
    let mut starts = Vec::with_capacity(titles.len());
    for (title, left) in titles.iter().zip((1..=count).rev()) {
        let (first, last) = (free, frames.end - share * left);
        let will_do = |cue: Time| (first..=last).contains(&clock.rate.first_at(cue).0) && cue < title.end;
        let wanted = clock.near(title.start, will_do).unwrap_or(title.start);
        let start = clock.rate.first_at(wanted).0.min(last).max(first);
        starts.push(start);
        free = start + 1 + gap;
    }
    starts
}

/// Makes one of two neighbours, those with the fewest words together: for a scene of fewer frames than subtitles.
fn join_shortest(titles: &mut Vec<Subtitle>, room: Room) {
    let words = |at: usize| titles[at].text().len() + titles[at + 1].text().len();
    let Some(at) = (0..titles.len() - 1).min_by_key(|at| words(*at)) else { return };
    let next = titles.remove(at + 1);
    let text = format!("{} {}", titles[at].text(), next.text());
    let lines = breaking::lines(&text.split(' ').collect::<Vec<_>>(), room);
    let both = || titles[at].lines.iter().chain(&next.lines).cloned().collect();
    let lines = lines.unwrap_or_else(both);
    titles[at] = Subtitle { end: titles[at].end.max(next.end), lines, ..titles[at].clone() };
}
