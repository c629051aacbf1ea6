//! Subtitles: from the transcript where there is one, else from the captions; broken, timed and snapped by a
//! [`Profile`].

mod breaking;
mod chess_words;
pub(super) mod srt;
#[cfg(test)]
mod tests;
mod timing;
pub(super) mod tongue;
pub(super) mod vtt;

use super::material::{Material, Wishes};
use super::wording::prose;
use crate::diag::{Code, Diagnostic};
use crate::film::{Profile, Room, TextKind};
use crate::source::Span;
use crate::timeline::CaptionProfile;
use crate::units::Time;
use chess_words::Spoken;
use std::time::Duration;
use timing::Clock;
use tongue::Tongue;

/// A silence as long as this ends a subtitle whatever is said.
const SILENCE: Duration = Duration::from_millis(700);

/// The longest a subtitle stands, in seconds, where the profile names no limit: the streaming houses'.
const LONGEST: f64 = 7.0;

/// One subtitle. They are in order, do not overlap, and lie within one scene each.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Subtitle {
    /// Its scene, counted as on [`Clock::scenes`].
    pub scene: usize,
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

/// Makes the subtitles, and remarks on words that are said after the film's end and on subtitles that nobody can read
/// in time.
pub(super) fn make(material: &Material, wishes: &Wishes, diagnostics: &mut Vec<Diagnostic>) -> Vec<Subtitle> {
    let profile =
        wishes.profile.unwrap_or_else(|| Profile::of(material.film.captions().unwrap_or(CaptionProfile::Online)));
    let room = profile.room(material.film);
    let clock = Clock::of(material.film);
    let titles = match material.transcript {
        Some(transcript) => {
            let words: Vec<Word> = transcript
                .words
                .iter()
                .map(|word| Spoken { text: word.text.clone(), start: word.start, end: word.end })
                .collect();
            let (words, late) = words.split_at(words.partition_point(|word| word.start < clock.end()));
            said_too_late(late, material, diagnostics);
            let tongue = Tongue::of(words.iter().map(|word| word.text.as_str())).unwrap_or_else(Tongue::usual);
            of_words(&chess_words::set_right(words, wishes.figurines, tongue), &clock, profile, room)
        }
        None => of_captions(material, &clock, profile, room),
    };
    hurried(&titles, material, profile, diagnostics);
    titles
}

/// Subtitles of all the words, which are in order and begin before the film's end.
fn of_words(words: &[Word], clock: &Clock, profile: &Profile, room: Room) -> Vec<Subtitle> {
    let scenes = timing::by_scene(words, clock).into_iter();
    let runs = scenes.flat_map(|(scene, words)| runs(words).map(move |run| (scene, run)));
    let titles: Vec<Subtitle> = runs.flat_map(|(scene, run)| parted(run, scene, profile, room)).collect();
    timing::timed(&titles, clock, profile, room)
}

/// Words that are said without a silence.
fn runs(words: &[Word]) -> impl Iterator<Item = &[Word]> {
    words.chunk_by(|one, next| next.start.since(one.end) < SILENCE)
}

/// A run of words in subtitles that each fit, parted where it reads best: the cheapest of all ways, found from the
/// front.
fn parted(words: &[Word], scene: usize, profile: &Profile, room: Room) -> Vec<Subtitle> {
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
        titles.push(Subtitle { scene, start: part[0].start, end: part[part.len() - 1].end, lines });
        end = begin;
    }
    titles.reverse();
    titles
}

fn set(words: &[Word], room: Room) -> Option<Vec<String>> {
    // A word set right may hold a space: `knight f3` is one word, and stays on one line.
    breaking::lines(&words.iter().map(|word| word.text.as_str()).collect::<Vec<_>>(), room)
}

/// The captions as subtitles; a long one in several, each with its share of the time.
fn of_captions(material: &Material, clock: &Clock, profile: &Profile, room: Room) -> Vec<Subtitle> {
    let mut titles = Vec::new();
    let captions = material.film.texts().iter().filter(|text| text.kind == TextKind::Caption);
    // A caption that would come after the last frame is never on screen.
    for caption in captions.filter(|caption| clock.rate.first_at(caption.shown.0).0 < clock.frames) {
        let (start, end) = caption.shown;
        let scene = clock.scene_at(start);
        let text = prose(&caption.text);
        let texts: Vec<&str> = text.split_whitespace().collect();
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
            Some(lines) => titles.push(Subtitle { scene, start, end: end.min(start + longest(profile)), lines }),
            None => titles.extend(parted(&words, scene, profile, room)),
        }
    }
    timing::timed(&titles, clock, profile, room)
}

fn longest(profile: &Profile) -> Duration {
    Duration::from_secs_f64(profile.longest.unwrap_or(LONGEST))
}

/// Remarks on words that no frame is left for.
fn said_too_late(late: &[Word], material: &Material, diagnostics: &mut Vec<Diagnostic>) {
    let Some(first) = late.first() else { return };
    let (words, are) = if late.len() == 1 { ("1 word", "is") } else { (&*format!("{} words", late.len()), "are") };
    let message = format!("{words} of the transcript {are} said after the film's end and in no subtitle");
    diagnostics.push(
        Diagnostic::warning(Code::Transcript, place(material), message)
            .label(format!("the first is `{}` at `{}`", first.text, first.start))
            .hint("let the film last longer with `ends`, or take the transcript of this narration"),
    );
}

/// Where to point at for what concerns the words of the whole film.
fn place(material: &Material) -> Span {
    let film = &material.timeline.film;
    film.narration.as_ref().or(film.title.as_ref()).map(|words| words.span).unwrap_or_default()
}

/// Remarks once on all subtitles that go much faster than the profile allows.
fn hurried(titles: &[Subtitle], material: &Material, profile: &Profile, diagnostics: &mut Vec<Diagnostic>) {
    // The speeds are targets; a tenth more is nowhere seen as a fault.
    let haste = |title: &Subtitle| profile.haste(&title.text(), title.end.since(title.start).as_secs_f64());
    let fast: Vec<&Subtitle> = titles.iter().filter(|title| haste(title) > 1.1).collect();
    let Some(worst) = fast.iter().max_by(|a, b| haste(a).total_cmp(&haste(b))) else { return };
    let message = format!("{} of {} subtitles are too fast to be read in comfort", fast.len(), titles.len());
    diagnostics.push(
        Diagnostic::warning(Code::HurriedCaption, place(material), message)
            .label(format!("the fastest is at `{}`: `{}`", worst.start, worst.text()))
            .hint(format!("slower speech there, or another profile than `{}` ({})", profile.name, profile.about)),
    );
}
