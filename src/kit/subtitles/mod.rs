//! Subtitles: from the transcript where there is one, else from the captions; broken, timed and snapped by a
//! [`Profile`].

mod breaking;
mod chess_words;
pub(super) mod srt;
pub(super) mod vtt;

use super::material::{Material, Wishes};
use crate::diag::{Code, Diagnostic};
use crate::film::{Gap, Profile, Room, TextKind};
use crate::timeline::CaptionProfile;
use crate::units::{FrameIndex, FrameRate, Time};
use chess_words::Spoken;
use std::time::Duration;

/// A subtitle's start or end is moved to a cue of the film that is as near as this, so that words and pictures change
/// together: a quarter of a second, half of what is seen as late.
const SNAP: Duration = Duration::from_millis(250);
/// A silence as long as this ends a subtitle whatever is said.
const SILENCE: Duration = Duration::from_millis(700);

/// The longest a subtitle stands, in seconds, where the profile names no limit: the streaming houses'.
const LONGEST: f64 = 7.0;

/// One subtitle. They are in order, do not overlap, and lie within one scene each.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Subtitle {
    pub start: Time,
    pub end: Time,
    /// One to three.
    pub lines: Vec<String>,
}

impl Subtitle {
    fn text(&self) -> String {
        self.lines.join(" ")
    }
}

type Word = Spoken<Time>;

/// Makes the subtitles, and remarks on those that nobody can read in time.
pub(super) fn make(material: &Material, wishes: &Wishes, diagnostics: &mut Vec<Diagnostic>) -> Vec<Subtitle> {
    let profile =
        wishes.profile.unwrap_or_else(|| Profile::of(material.film.captions().unwrap_or(CaptionProfile::Online)));
    let room = profile.room(material.film);
    let mut titles = match material.transcript {
        Some(transcript) => {
            let words: Vec<Word> = transcript
                .words
                .iter()
                .map(|word| Spoken { text: word.text.clone(), start: word.start, end: word.end })
                .collect();
            let words = chess_words::set_right(&words, wishes.figurines);
            let runs = runs(&words, &cuts(material));
            runs.into_iter().flat_map(|run| parted(run, profile, room)).collect()
        }
        None => of_captions(material, profile, room),
    };
    time(&mut titles, material, profile);
    titles.retain(|title| title.start < title.end);
    hurried(&titles, material, profile, diagnostics);
    titles
}

/// Where one scene gives way to the next.
fn cuts(material: &Material) -> Vec<Time> {
    material.film.chapters().iter().map(|chapter| chapter.start).collect()
}

/// Words that are said without a silence, within one scene.
fn runs<'a>(words: &'a [Word], cuts: &[Time]) -> Vec<&'a [Word]> {
    words
        .chunk_by(|one, next| {
            let silent = next.start.since(one.end) >= SILENCE;
            let scene = |time: Time| cuts.partition_point(|cut| *cut <= time);
            !silent && scene(one.start) == scene(next.start)
        })
        .collect()
}

/// A run of words in subtitles that each fit, parted where it reads best: the cheapest of all ways, found from the
/// front.
fn parted(words: &[Word], profile: &Profile, room: Room) -> Vec<Subtitle> {
    // For every count of words from the front: the least cost, and where its last subtitle begins.
    let mut ways: Vec<(f64, usize)> = vec![(0.0, 0)];
    for end in 1..=words.len() {
        let mut least = (f64::INFINITY, end - 1);
        for begin in (0..end).rev() {
            let part = &words[begin..end];
            let seconds = part[part.len() - 1].end.since(part[0].start).as_secs_f64();
            if part.len() > 1 && (set(part, room).is_none() || seconds > longest(profile).as_secs_f64()) {
                break;
            }
            let next = words.get(end);
            let broken = next.map_or(0.0, |next| breaking::badness(&part[part.len() - 1].text, &next.text));
            let shown = next.map_or(seconds, |next| next.start.since(part[0].start).as_secs_f64());
            let brief = if shown < profile.shortest { 3.0 } else { 0.0 };
            let cost = ways[begin].0 + 1.0 + broken + brief;
            if cost < least.0 {
                least = (cost, begin);
            }
        }
        ways.push(least);
    }
    let mut titles = Vec::new();
    let mut end = words.len();
    while end > 0 {
        let begin = ways[end].1;
        let part = &words[begin..end];
        let lines = set(part, room).unwrap_or_else(|| part.iter().map(|word| word.text.clone()).collect());
        titles.push(Subtitle { start: part[0].start, end: part[part.len() - 1].end, lines });
        end = begin;
    }
    titles.reverse();
    titles
}

fn set(words: &[Word], room: Room) -> Option<Vec<String>> {
    // A word set right may hold a space: `Knight f3` is one word, and stays on one line.
    breaking::lines(&words.iter().map(|word| word.text.as_str()).collect::<Vec<_>>(), room)
}

/// The captions as subtitles; a long one in several, each with its share of the time.
fn of_captions(material: &Material, profile: &Profile, room: Room) -> Vec<Subtitle> {
    let mut titles = Vec::new();
    for caption in material.film.texts().iter().filter(|text| text.kind == TextKind::Caption) {
        let (start, end) = caption.shown;
        let texts: Vec<&str> = caption.text.split_whitespace().collect();
        let letters = |text: &str| text.chars().count() as i64 + 1;
        let whole = texts.iter().map(|text| letters(text)).sum::<i64>().max(1);
        let length = end.as_micros() - start.as_micros();
        let mut said = 0;
        let mut at = |letters: i64| {
            let begin = start.as_micros() + length * said / whole;
            said += letters;
            (Time::from_micros(begin), Time::from_micros(start.as_micros() + length * said / whole))
        };
        let words: Vec<Word> = texts
            .iter()
            .map(|text| {
                let (start, end) = at(letters(text));
                Spoken { text: (*text).to_owned(), start, end }
            })
            .collect();
        match set(&words, room) {
            // What fits at once stays for as long as it is useful: read twice over, it may go.
            Some(lines) => titles.push(Subtitle { start, end: end.min(start + longest(profile)), lines }),
            None => titles.extend(parted(&words, profile, room)),
        }
    }
    titles
}

fn longest(profile: &Profile) -> Duration {
    Duration::from_secs_f64(profile.longest.unwrap_or(LONGEST))
}

/// Gives each subtitle time to be read, keeps it within its scene and apart from the next, snaps it to cues, and sets
/// it on whole frames.
fn time(titles: &mut [Subtitle], material: &Material, profile: &Profile) {
    let film = material.film;
    let cuts = cuts(material);
    let mut cues: Vec<Time> = cuts.clone();
    cues.extend((0..cuts.len()).flat_map(|scene| film.step_times(scene).iter().copied()));
    cues.sort_unstable();
    let near = |time: Time| {
        let distance = |cue: &Time| cue.as_micros().abs_diff(time.as_micros());
        cues.iter().copied().min_by_key(distance).filter(|cue| u128::from(distance(cue)) <= SNAP.as_micros())
    };
    let film_end = Time::ZERO + film.length();
    let mut free = Time::ZERO;
    for at in 0..titles.len() {
        let said = (titles[at].start, titles[at].end);
        let scene_end = cuts.get(cuts.partition_point(|cut| *cut <= said.0)).copied().unwrap_or(film_end);
        let start = near(said.0).filter(|cue| *cue >= free && *cue < said.1).unwrap_or(said.0).max(free);
        let need = Duration::from_secs_f64(profile.reading(&titles[at].text())).min(longest(profile));
        let hang = said.1 + Duration::from_secs_f64(profile.hang);
        let wanted = said.1.max((start + need).min(hang));
        let wanted = near(wanted).filter(|cue| *cue >= said.1).unwrap_or(wanted).min(start + longest(profile));
        let next = titles.get(at + 1).map(|next| near(next.start).unwrap_or(next.start).max(said.1));
        let end = gap(wanted, next, profile, film.rate()).min(scene_end);
        titles[at].start = on_frame(start, film.rate());
        titles[at].end = on_frame(end, film.rate());
        free = titles[at].end;
    }
}

/// The end of a subtitle, seen from the beginning of the next.
fn gap(end: Time, next: Option<Time>, profile: &Profile, rate: FrameRate) -> Time {
    let Some(next) = next else { return end };
    match profile.gap {
        Gap::NoneOrAtLeast(seconds) if next.since(end) < Duration::from_secs_f64(seconds) => next,
        Gap::NoneOrAtLeast(_) => end,
        Gap::Frames(frames) => {
            let last = rate.first_at(next).0.saturating_sub(u64::from(frames));
            end.min(rate.start_of(FrameIndex(last)))
        }
    }
}

/// The start of the first frame at or after a time.
fn on_frame(time: Time, rate: FrameRate) -> Time {
    rate.start_of(rate.first_at(time))
}

/// Remarks once on all subtitles that go much faster than the profile allows.
fn hurried(titles: &[Subtitle], material: &Material, profile: &Profile, diagnostics: &mut Vec<Diagnostic>) {
    // The speeds are targets; a tenth more is nowhere seen as a fault.
    let haste = |title: &Subtitle| profile.haste(&title.text(), title.end.since(title.start).as_secs_f64());
    let fast: Vec<&Subtitle> = titles.iter().filter(|title| haste(title) > 1.1).collect();
    let Some(worst) = fast.iter().max_by(|a, b| haste(a).total_cmp(&haste(b))) else { return };
    let film = &material.timeline.film;
    let span = film.narration.as_ref().or(film.title.as_ref()).map(|words| words.span).unwrap_or_default();
    let message = format!("{} of {} subtitles are too fast to be read in comfort", fast.len(), titles.len());
    diagnostics.push(
        Diagnostic::warning(Code::HurriedCaption, span, message)
            .label(format!("the fastest is at `{}`: `{}`", worst.start, worst.text()))
            .hint(format!("slower speech there, or another profile than `{}` ({})", profile.name, profile.about)),
    );
}
