//! Guessed word times made better by what is heard: words lie in speech, and pauses lie between words.

use super::{Phrase, Timing, Transcript, Word, share};
use crate::narration::Speech;
use crate::units::Time;
use std::ops::Range;
use std::time::Duration;

/// How far a phrase's times may be off in the file.
const REACH: Duration = Duration::from_millis(300);

/// What it costs to pause inside a clause rather than at a comma or a full stop, in seconds squared by seconds.
const MIDWAY: f64 = 0.04;

/// How far off a stretch's words may be, in seconds.
const SLACK: f64 = 4.0;

/// How far the words so far may be from the speech so far, in seconds and as a share of all: nobody speaks half an hour
/// a fifth faster than the rest. It keeps two hours in one phrase from being laid in every way there is.
const DRIFT: (f64, f64) = (60.0, 0.1);

impl Transcript {
    /// The same words, those whose times were guessed laid into the stretches of speech of their phrase. Phrases with
    /// times of their own for words, and phrases without speech, stay as they are.
    #[must_use]
    pub fn refined(&self, speech: &Speech) -> Transcript {
        self.refined_by(speech, &|_| None)
    }

    /// The same where it is known of some words, by their number, how long they took when somebody else said them:
    /// beside each other that tells more than their letters do.
    #[must_use]
    pub fn refined_by(&self, speech: &Speech, lasted: &dyn Fn(usize) -> Option<Duration>) -> Transcript {
        let mut words = self.words.clone();
        let mut before = Time::ZERO;
        for (number, phrase) in self.phrases.iter().enumerate() {
            let next = self.phrases.get(number + 1).map(|next| next.start);
            let lasted: Vec<Option<Duration>> = phrase.words.clone().map(lasted).collect();
            let own = &mut words[phrase.words.clone()];
            if own.iter().all(|word| word.timing == Timing::Guessed) {
                let stretches = stretches(phrase, before, next, speech);
                lay(own, &shares(own, &lasted), &stretches);
            }
            before = own.last().map_or(before, |word| word.end);
        }
        Transcript::from_words(words)
    }
}

/// The speech that a phrase is: from a little before its start, if a silence is there, to a little behind its end, and
/// never into its neighbours.
fn stretches(phrase: &Phrase, before: Time, next: Option<Time>, speech: &Speech) -> Vec<Range<Time>> {
    let from = (phrase.start - REACH).max(before).min(phrase.start);
    let to = next.map_or(phrase.end + REACH, |next| (phrase.end + REACH).min(next.max(phrase.end)));
    let first = speech.runs().partition_point(|run| run.end <= from);
    let near = speech.runs()[first..].iter().take_while(|run| run.start < to);
    near.filter_map(|run| {
        // Speech that goes on through a border is the neighbour's beyond it.
        let start = if run.start >= from { run.start } else { phrase.start };
        let end = if run.end <= to { run.end } else { phrase.end };
        // What only touches the phrase's edge belongs to the neighbour.
        let inside = end.min(phrase.end).since(start.max(phrase.start));
        (start < end && inside * 2 >= end.since(start).min(REACH)).then_some(start..end)
    })
    .collect()
}

/// How long words take, beside each other: as long as they were heard to take, or by their letters.
fn shares(words: &[Word], lasted: &[Option<Duration>]) -> Vec<f64> {
    /// A word may have taken so many times what its letters say, or so few; beyond that there was a pause in it, or it
    /// was another word.
    const STRETCHED: f64 = 2.5;
    let letters: Vec<f64> = words.iter().map(|word| share(&word.text) as f64).collect();
    let known =
        || letters.iter().zip(lasted).filter_map(|(letters, lasted)| Some((*letters, (*lasted)?.as_secs_f64())));
    let (sum, seconds) = known().fold((0.0, 0.0), |sum, word| (sum.0 + word.0, sum.1 + word.1));
    if sum == 0.0 || seconds == 0.0 {
        return letters;
    }
    let unit = seconds / sum;
    let length = |(letters, lasted): (&f64, &Option<Duration>)| {
        let guessed = letters * unit;
        lasted.map_or(guessed, |lasted| lasted.as_secs_f64().clamp(guessed / STRETCHED, guessed * STRETCHED))
    };
    letters.iter().zip(lasted).map(length).collect()
}

/// Deals the words out to the stretches, in order, so that each gets about as much as it can hold.
fn lay(words: &mut [Word], shares: &[f64], stretches: &[Range<Time>]) {
    if stretches.is_empty() || words.is_empty() {
        return;
    }
    let lengths: Vec<f64> = stretches.iter().map(|run| run.end.since(run.start).as_secs_f64()).collect();
    let unit = lengths.iter().sum::<f64>() / shares.iter().sum::<f64>();
    // `said[n]`: how long the first `n` words last.
    let mut said = vec![0.0];
    for share in shares {
        said.push(said[said.len() - 1] + share * unit);
    }
    let count = words.len();
    // A stretch holds about as much as it is long, to a word at either end: nothing much longer or shorter is tried, so
    // that an hour in one phrase is laid as fast as in many.
    let longest = shares.iter().fold(0.0_f64, |most, share| most.max(*share)) * unit;
    let slack = SLACK.max(2.0 * longest);
    let drift = (DRIFT.0 + DRIFT.1 * said[count]).max(slack);
    // `best[n]`: the cost of the first `n` words in the stretches so far; `from[k]`: how many are in stretch `k`, by how
    // many are up to its end, from the first number that may be.
    let mut best = vec![f64::INFINITY; count + 1];
    best[0] = 0.0;
    let mut from: Vec<(usize, Vec<u32>)> = Vec::new();
    let mut spoken = 0.0;
    for length in &lengths {
        spoken += length;
        let ends =
            said.partition_point(|said| *said < spoken - drift)..said.partition_point(|said| *said <= spoken + drift);
        let (mut next, mut within) = (vec![f64::INFINITY; count + 1], vec![0_u32; ends.len()]);
        for end in ends.clone() {
            let midway = end < count && !words[..end].last().is_none_or(|word| is_end(&word.text));
            let first = said.partition_point(|before| *before < said[end] - length - slack);
            let last = said.partition_point(|before| *before <= said[end] - length + slack).min(end + 1);
            for start in first..last {
                let off = said[end] - said[start] - length;
                let cost = best[start] + off * off / (length + 0.2) + if midway { MIDWAY } else { 0.0 };
                if cost < next[end] {
                    next[end] = cost;
                    within[end - ends.start] = (end - start) as u32;
                }
            }
        }
        best = next;
        from.push((ends.start, within));
    }
    let mut end = count;
    for (stretch, (first, within)) in stretches.iter().zip(&from).rev() {
        let held = end.checked_sub(*first).and_then(|at| within.get(at)).map_or(0, |held| *held as usize);
        let start = end - held;
        let whole = (said[end] - said[start]).max(1e-9);
        let length = stretch.end.since(stretch.start).as_secs_f64();
        let at = |part: f64| stretch.start + Duration::from_secs_f64((part / whole).clamp(0.0, 1.0) * length);
        for number in start..end {
            words[number].start = at(said[number] - said[start]);
            words[number].end = at(said[number + 1] - said[start]);
        }
        end = start;
    }
}

/// Whether a pause is natural behind a word.
fn is_end(word: &str) -> bool {
    word.ends_with([',', '.', ';', ':', '?', '!', '…', '-', '\u{2013}', '\u{2014}'])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ms(millis: i64) -> Time {
        Time::from_millis(millis)
    }

    #[test]
    fn words_lie_in_speech_and_pauses_at_commas() {
        let transcript = Transcript::from_phrases([(ms(900), ms(5100), "The rook checks, and the king must go.")]);
        let speech = Speech::of_runs(vec![ms(1000)..ms(2100), ms(3500)..ms(5000), ms(9000)..ms(9500)]);
        let refined = transcript.refined(&speech);
        let starts: Vec<(i64, &str)> =
            refined.words.iter().map(|word| (word.start.as_micros() / 1000, word.text.as_str())).collect();
        assert_eq!((starts[0], starts[3]), ((1000, "The"), (3500, "and")), "{starts:?}");
        assert_eq!((refined.words[2].end, refined.words[7].end), (ms(2100), ms(5000)));
    }

    #[test]
    fn words_last_beside_each_other_as_they_did_before() {
        let transcript = Transcript::from_phrases([(ms(0), ms(1000), "rook takes")]);
        let speech = Speech::of_runs(vec![ms(0)..ms(1000)]);
        let took = |word: usize| Some(Duration::from_millis([400, 300][word]));
        assert_eq!(transcript.refined(&speech).words[1].start.as_micros() / 1000, 454);
        assert_eq!(transcript.refined_by(&speech, &took).words[1].start.as_micros() / 1000, 571);
        // What took a long time was a pause as well.
        let paused = |word: usize| Some(Duration::from_millis([4000, 300][word]));
        assert!(transcript.refined_by(&speech, &paused).words[1].start < ms(850));
    }

    #[test]
    fn an_hour_in_one_phrase_is_laid_into_its_stretches() {
        // Five words a stretch, 3000 stretches: every fifth word begins one.
        let text = "one two six ten red ".repeat(3000);
        let transcript = Transcript::from_phrases([(ms(0), ms(3_600_000), text.as_str())]);
        let runs: Vec<_> = (0..3000).map(|number| ms(number * 1200)..ms(number * 1200 + 900)).collect();
        let refined = transcript.refined(&Speech::of_runs(runs));
        let at = |number: usize| refined.words[number].start;
        assert!((0..3000).all(|number| at(5 * number) == ms(1200 * number as i64)), "{:?}", &refined.words[..12]);
    }

    #[test]
    fn given_times_and_silent_phrases_stay() {
        let given = Word { text: "e4".into(), start: ms(10), end: ms(20), phrase: 0, timing: Timing::Given };
        let transcript = Transcript::from_words(vec![given]);
        assert_eq!(transcript.refined(&Speech::of_runs(vec![ms(0)..ms(500)])), transcript);
        let guessed = Transcript::from_phrases([(ms(0), ms(900), "a b")]);
        assert_eq!(guessed.refined(&Speech::default()), guessed);
    }

    #[test]
    fn a_phrase_does_not_run_into_its_neighbour() {
        let transcript = Transcript::from_phrases([(ms(0), ms(1000), "one two"), (ms(1000), ms(2000), "three four")]);
        let refined = transcript.refined(&Speech::of_runs(vec![ms(100)..ms(1900)]));
        assert_eq!(refined.words[0].start, ms(100));
        assert_eq!(refined.words[2].start, ms(1000));
        assert_eq!(refined.words[3].end, ms(1900));
    }
}
