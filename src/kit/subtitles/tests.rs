//! Laws of all subtitles, for any words said at any time over any cuts.

use super::timing::Clock;
use super::{Subtitle, Word, of_words};
use crate::film::{Profile, Room};
use crate::units::{FrameRate, Time};
use proptest::prelude::*;

/// Words that are no chess and no number, with and without an end of a sentence.
const WORDS: &[&str] = &["so", "the", "lighthouse", "and", "evening.", "now,", "keeper", "late!", "walks", "into"];

/// Words by the gap before each (it may begin before the last one ends) and its length, in ms.
fn words() -> impl Strategy<Value = Vec<Word>> {
    let gap = prop_oneof![4 => -80i64..120, 1 => 120i64..1500];
    let length = prop_oneof![6 => 60i64..500, 1 => Just(0i64), 1 => 500i64..4000];
    prop::collection::vec((gap, length, 0..WORDS.len()), 1..60).prop_map(|words| {
        let (mut start, mut end) = (0, 0);
        let mut said = Vec::new();
        for (gap, length, word) in words {
            start = (end + gap).max(start);
            end = start + length;
            let (start, end) = (Time::from_millis(start), Time::from_millis(end));
            said.push(Word { text: WORDS[word].to_owned(), start, end });
        }
        said
    })
}

/// A clock with cuts and cues near words as often as not.
fn clock(words: &[Word], cuts: &[(prop::sample::Index, i64)], cues: &[i64], rate: FrameRate) -> Clock {
    let last = words.last().map_or(Time::ZERO, |word| word.start);
    // The last word begins within the film's last frame, or well before.
    let frames = rate.first_at(last).0 + 1;
    let mut scenes = vec![0];
    scenes.extend(cuts.iter().filter_map(|(word, beside)| {
        let at = word.get(words).start.as_micros() / 1000 + beside;
        Some(rate.first_at(Time::from_millis(at)).0).filter(|frame| *frame < frames)
    }));
    scenes.sort_unstable();
    scenes.dedup();
    let mut cues: Vec<Time> = cues.iter().copied().map(Time::from_millis).collect();
    cues.extend(scenes.iter().map(|first| rate.start_of(crate::units::FrameIndex(*first))));
    cues.sort_unstable();
    Clock { rate, frames, scenes, cues }
}

fn spoken(titles: &[Subtitle]) -> Vec<&str> {
    titles.iter().flat_map(|title| &title.lines).flat_map(|line| line.split(' ')).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]
    #[test]
    fn every_word_is_shown_in_its_order_within_one_scene(
        words in words(),
        cuts in prop::collection::vec((any::<prop::sample::Index>(), -300i64..300), 0..6),
        cues in prop::collection::vec(0i64..40_000, 0..12),
        profile in prop::sample::select(crate::film::PROFILES),
        rate in prop::sample::select(&[(24, 1), (30, 1), (30_000, 1001), (60, 1)][..]),
    ) {
        let profile: &Profile = profile;
        let rate = FrameRate::new(rate.0, rate.1).unwrap();
        let clock = clock(&words, &cuts, &cues, rate);
        let room = Room { characters: profile.wide, lines: profile.lines };
        let titles = of_words(&words, &clock, profile, room);
        let said: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
        prop_assert_eq!(spoken(&titles), said);
        let frame = |time: Time| rate.first_at(time).0;
        let mut free = 0;
        for title in &titles {
            let (start, end) = (frame(title.start), frame(title.end));
            prop_assert_eq!((rate.start_of(crate::units::FrameIndex(start)), start >= free), (title.start, true));
            prop_assert!(start < end && end <= clock.frames, "{title:?}");
            prop_assert!(!clock.scenes.iter().any(|cut| start < *cut && *cut < end), "{title:?} straddles a cut");
            // More lines than fit are only for a scene of fewer frames than subtitles.
            let scene = clock.scenes[title.scene]..clock.scenes.get(title.scene + 1).copied().unwrap_or(clock.frames);
            prop_assert!(title.lines.len() <= room.lines || scene.end - scene.start < 30, "{title:?}");
            free = end;
        }
    }
}

/// The words between two cuts, each a subtitle, in ms.
fn made(said: &[(&str, i64, i64)], cut: i64, length: i64) -> Vec<(String, i64, i64)> {
    let word = |&(text, start, end): &(&str, i64, i64)| Word {
        text: text.to_owned(),
        start: Time::from_millis(start),
        end: Time::from_millis(end),
    };
    let words: Vec<Word> = said.iter().map(word).collect();
    let rate = FrameRate::new(25, 1).unwrap();
    let (cut, frames) = (rate.first_at(Time::from_millis(cut)).0, rate.first_at(Time::from_millis(length)).0);
    let cues = vec![Time::ZERO, rate.start_of(crate::units::FrameIndex(cut))];
    let clock = Clock { rate, frames, scenes: vec![0, cut], cues };
    let profile = Profile::named("online").unwrap();
    of_words(&words, &clock, profile, Room { characters: 34, lines: 2 })
        .iter()
        .map(|title| (title.text(), title.start.as_micros() / 1000, title.end.as_micros() / 1000))
        .collect()
}

#[test]
fn a_sentence_that_begins_before_the_cut_stands_whole_behind_it() {
    let said = [("Good", 1000, 1300), ("evening.", 1300, 1900), ("Now", 3850, 4050), ("look.", 4050, 4500)];
    let told = made(&said, 4000, 9000);
    assert_eq!(told[0], ("Good evening.".to_owned(), 1000, 2200));
    assert_eq!((told[1].0.as_str(), told[1].1), ("Now look.", 4000));
}

#[test]
fn the_end_of_a_sentence_stays_before_the_cut_and_has_its_time() {
    let said =
        [("And", 3000, 3300), ("that", 3300, 3800), ("is", 3800, 3960), ("mate.", 3960, 4300), ("Then", 4350, 4600)];
    assert_eq!(made(&said, 4000, 9000)[0], ("And that is mate.".to_owned(), 3000, 4000));
    // Alone, it comes before it is said.
    let alone = [("Mate.", 3960, 3990), ("Then", 4350, 4600)];
    assert_eq!(made(&alone, 4000, 9000)[0], ("Mate.".to_owned(), 3480, 4000));
}
