//! Anchors without the old take's words: the moves that the timeline plays, and the captions it shows, found in order
//! among what is said.

use super::moment::Moment;
use crate::draft::{self, Elsewhere, Language, Mention, Said};
use crate::game::{Ghost, Ply, Wing};
use crate::narration::transcript::Transcript;
use crate::units::{Role, Time};
use std::collections::HashMap;
use std::ops::Range;

/// A moment that was found: the moment's number, the ply of it, and the words.
#[derive(Clone, Debug)]
pub(super) struct Anchor {
    pub(super) moment: usize,
    /// The ply, counted from 0; 0 for a caption.
    pub(super) ply: usize,
    pub(super) words: Range<usize>,
}

/// A place where an event may be.
#[derive(Clone, Debug)]
struct Candidate {
    event: usize,
    words: Range<usize>,
    worth: f32,
}

/// What two positions on the two clocks that agree are worth beside what is heard: enough to choose between two places
/// of the same words, too little to choose other words.
const IN_TIME: f32 = 0.6;
/// What it is worth to be where the events around it say, and how far off, in seconds, is worth nothing.
const NEAR: f32 = 1.8;
const FAR: f32 = 5.0;
/// What a move that is only spoken of is worth, and an announced return.
const GHOST: f32 = 1.8;
const GOES: f32 = 1.0;

/// Finds what can be found, in the order of both the timeline and the speech.
pub(super) fn anchors(moments: &[Moment], words: &Transcript, language: &Language) -> Vec<Anchor> {
    let mentions = draft::mentions(words, language);
    let announced = draft::announcements(words, language);
    let index = index(words);
    // Every ply and every caption of the timeline, in order, with its time on the old clock.
    let mut events: Vec<(usize, usize, Time)> = Vec::new();
    let mut candidates: Vec<Candidate> = Vec::new();
    for (number, moment) in moments.iter().enumerate() {
        for (ply_number, ply) in moment.plies.iter().enumerate() {
            let event = events.len();
            events.push((number, ply_number, moment.time_of(ply_number)));
            let heard = mentions.iter().filter_map(|mention| Some((mention, worth(&mention.said, ply)?)));
            let candidate = |(mention, worth): (&Mention, f32)| Candidate {
                event,
                words: mention.words.clone(),
                worth: worth + 0.06 * mention.words.len().min(6) as f32,
            };
            candidates.extend(heard.map(candidate));
        }
        if !moment.plies.is_empty() {
            continue;
        }
        let event = events.len();
        events.push((number, 0, moment.time));
        let mut add = |words: Range<usize>, worth: f32| candidates.push(Candidate { event, words, worth });
        for (words, worth) in spoken(&moment.caption, &index, words) {
            add(words, worth);
        }
        if let Some(ghost) = &moment.ghost {
            let heard = mentions.iter().filter_map(|mention| Some((mention, shown(&mention.said, ghost)?)));
            heard.for_each(|(mention, worth)| add(mention.words.clone(), worth));
        }
        if let Some(goes) = moment.goes {
            // What announces nothing in particular may announce a return to the start.
            let fits = |to: Elsewhere| to == goes || (to == Elsewhere::Back && goes == Elsewhere::Start);
            for told in announced.iter().filter(|told| fits(told.to)) {
                add(told.words.clone(), if told.to == goes { GOES } else { 0.7 * GOES });
            }
        }
    }
    favour_in_time(&mut candidates, &events, words);
    let mut found = chain(candidates.clone());
    // What was found tells where the rest should be, and what was found by chance.
    for _ in 0..3 {
        let mut better = candidates.clone();
        favour_near(&mut better, &found, &events, words);
        found = chain(better);
    }
    let first_word = |Candidate { event, words, .. }: &Candidate| {
        if moments[events[*event].0].plies.is_empty() {
            return words.start;
        }
        // Of several forms of one move, the longest tells where it begins.
        let same = candidates.iter().filter(|other| other.event == *event && other.words.end >= words.end);
        same.filter(|other| other.words.start < words.start && other.words.contains(&words.start))
            .map(|other| other.words.start)
            .min()
            .unwrap_or(words.start)
    };
    let anchor = |found: &Candidate| Anchor {
        moment: events[found.event].0,
        ply: events[found.event].1,
        words: first_word(found)..found.words.end,
    };
    found.iter().map(anchor).collect()
}

/// How well a move fits what was said of one; `None` if it does not.
fn worth(said: &Said, ply: &Ply) -> Option<f32> {
    let mut worth = 0.0;
    if let Some(wing) = said.castles {
        let (rook, _) = ply.castling?;
        let short = rook.file() > ply.from.file();
        let other_wing = wing.is_some_and(|wing| (wing == Wing::King) != short);
        return (!other_wing).then_some(3.0);
    }
    if ply.castling.is_some() && said.role != Some(Role::King) {
        return None;
    }
    let agree = |said: Option<u8>, is: u8, by: f32| match said {
        Some(said) if said != is => None,
        Some(_) => Some(by),
        None => Some(0.0),
    };
    worth += agree(said.to_file, ply.to.file(), 1.4)?;
    worth += agree(said.to_rank, ply.to.rank(), 1.4)?;
    worth += agree(said.from_file, ply.from.file(), 0.5)?;
    worth += agree(said.from_rank, ply.from.rank(), 0.5)?;
    if let Some(role) = said.role {
        if role != ply.piece.role {
            return None;
        }
        worth += 1.0;
    } else if ply.piece.role != Role::Pawn && said.from_file.is_none() && said.captures {
        worth -= 0.3;
    }
    match (said.promotion, ply.promotion) {
        (Some(one), Some(other)) if one == other => worth += 1.2,
        (Some(_), _) => return None,
        (None, Some(_)) => worth -= 0.3,
        (None, None) => {}
    }
    if let Some(side) = said.side {
        worth += if side == ply.piece.side { 0.3 } else { -1.0 };
    }
    if said.captures || said.recaptures {
        worth += if ply.captured.is_some() { 0.6 } else { -1.0 };
    }
    if let (Some(role), Some((piece, _))) = (said.captured, ply.captured) {
        worth += if role == piece.role { 0.6 } else { -0.8 };
    }
    if said.check || said.mate {
        worth += if ply.san.ends_with(['+', '#']) { 0.4 } else { -0.4 };
    }
    (worth >= 1.0).then_some(worth)
}

/// How well a move that is shown and not played fits what was said of one.
fn shown(said: &Said, ghost: &Ghost) -> Option<f32> {
    let fits = |said: Option<u8>, is: u8| said == Some(is);
    let role = match (said.role, said.promotion) {
        (_, Some(promotion)) => promotion == ghost.piece.role,
        (Some(role), None) => role == ghost.piece.role,
        (None, None) => true,
    };
    let side = said.side.is_none_or(|side| side == ghost.piece.side);
    let at = fits(said.to_file, ghost.to.file()) && fits(said.to_rank, ghost.to.rank());
    (role && side && at).then_some(if said.role.is_some() { GHOST } else { 0.7 * GHOST })
}

/// The words that tell texts apart, lower case, with their places.
fn index(words: &Transcript) -> HashMap<String, Vec<usize>> {
    let mut index: HashMap<String, Vec<usize>> = HashMap::new();
    for (place, word) in words.words.iter().enumerate() {
        index.entry(plain(&word.text)).or_default().push(place);
    }
    index
}

fn plain(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// Where most of a caption's words are said, close together.
fn spoken(caption: &str, index: &HashMap<String, Vec<usize>>, words: &Transcript) -> Vec<(Range<usize>, f32)> {
    /// Places of one caption that are looked at.
    const MOST: usize = 400;
    let own: Vec<String> = caption.split_whitespace().map(plain).filter(|word| word.chars().count() >= 3).collect();
    if own.len() < 2 {
        return Vec::new();
    }
    let all = caption.split_whitespace().count();
    let mut places: Vec<(usize, usize)> = own
        .iter()
        .enumerate()
        .flat_map(|(number, word)| index.get(word).into_iter().flatten().map(move |place| (*place, number)))
        .collect();
    places.sort_unstable();
    places.truncate(MOST * own.len());
    let mut found: Vec<(Range<usize>, f32)> = Vec::new();
    for (at, &(start, _)) in places.iter().enumerate() {
        let mut met = vec![false; own.len()];
        let mut end = start;
        for &(place, number) in places[at..].iter().take_while(|(place, _)| *place <= start + all + all / 2) {
            if !met[number] {
                met[number] = true;
                end = place;
            }
        }
        let share = met.iter().filter(|met| **met).count() as f32 / own.len() as f32;
        if share >= 0.6 && end < words.words.len() {
            // The caption begins where its first word would be.
            let first = met.iter().position(|met| *met).unwrap_or(0);
            found.push((start.saturating_sub(first)..end + 1, 2.5 * share));
        }
    }
    found
}

/// Two places of the same words: the one at about the same part of the film is likelier.
fn favour_in_time(candidates: &mut [Candidate], events: &[(usize, usize, Time)], words: &Transcript) {
    let (Some(first), Some(last)) = (events.first(), events.last()) else { return };
    let whole = last.2.since(first.2).as_secs_f32().max(1.0);
    let (mut begin, mut end) = (f32::MAX, 0.0_f32);
    let time = |word: usize| words.words.get(word).map_or(0.0, |word| word.start.as_secs_f64() as f32);
    for candidate in candidates.iter() {
        begin = begin.min(time(candidate.words.start));
        end = end.max(time(candidate.words.start));
    }
    let new_whole = (end - begin).max(1.0);
    for candidate in candidates {
        let old = events[candidate.event].2.since(first.2).as_secs_f32() / whole;
        let new = (time(candidate.words.start) - begin) / new_whole;
        candidate.worth += IN_TIME * (1.0 - 4.0 * (old - new).abs()).max(-1.0);
    }
}

/// Of two places of the same words the one is likelier that lies where the events around it, found before, say.
fn favour_near(candidates: &mut [Candidate], found: &[Candidate], events: &[(usize, usize, Time)], words: &Transcript) {
    /// So many events on either side are asked.
    const ASKED: usize = 3;
    let time = |words_of: &Candidate| words.words.get(words_of.words.start).map_or(Time::ZERO, |word| word.start);
    let offset = |found: &Candidate| time(found).as_micros() - events[found.event].2.as_micros();
    let mut told: HashMap<usize, Option<i64>> = HashMap::new();
    for candidate in candidates {
        let around = told.entry(candidate.event).or_insert_with(|| {
            let here = found.partition_point(|found| found.event < candidate.event);
            let others = found[here.saturating_sub(ASKED)..(here + ASKED + 1).min(found.len())].iter();
            let mut offsets: Vec<i64> = others.filter(|found| found.event != candidate.event).map(offset).collect();
            offsets.sort_unstable();
            offsets.get(offsets.len() / 2).copied()
        });
        if let Some(around) = *around {
            let expected = events[candidate.event].2.as_micros() + around;
            let off = (time(candidate).as_micros() - expected).abs() as f32 / 1e6;
            candidate.worth += NEAR * (1.0 - off / FAR).max(-1.0);
        }
    }
}

/// The dearest series of candidates that goes forward in both events and words.
fn chain(mut candidates: Vec<Candidate>) -> Vec<Candidate> {
    candidates.retain(|candidate| candidate.worth > 0.0);
    candidates.sort_by(|a, b| a.event.cmp(&b.event).then(b.words.start.cmp(&a.words.start)));
    let places = candidates.iter().map(|candidate| candidate.words.end).max().unwrap_or(0) + 1;
    // The dearest series that ends before a word: a tree of sums over the words, each with the candidate that ends it.
    let mut tree: Vec<(f32, usize)> = vec![(0.0, usize::MAX); places + 1];
    let mut before = vec![usize::MAX; candidates.len()];
    let mut at = 0;
    while at < candidates.len() {
        let event = candidates[at].event;
        let end = at + candidates[at..].iter().take_while(|candidate| candidate.event == event).count();
        // All of one event look back before any of them is put in, for only one of them can be.
        let reached: Vec<(f32, usize)> = candidates[at..end]
            .iter()
            .map(|candidate| {
                let (mut best, mut node) = ((0.0, usize::MAX), candidate.words.start);
                while node > 0 {
                    if tree[node].0 > best.0 {
                        best = tree[node];
                    }
                    node -= node & node.wrapping_neg();
                }
                best
            })
            .collect();
        for (number, (sum, last)) in (at..end).zip(reached) {
            before[number] = last;
            let sum = sum + candidates[number].worth;
            // Nothing that follows may begin before this one ends.
            let mut node = candidates[number].words.end.max(candidates[number].words.start + 1);
            while node < tree.len() {
                if sum > tree[node].0 {
                    tree[node] = (sum, number);
                }
                node += node & node.wrapping_neg();
            }
        }
        at = end;
    }
    let mut best = (0.0, usize::MAX);
    let mut node = places;
    while node > 0 {
        if tree[node].0 > best.0 {
            best = tree[node];
        }
        node -= node & node.wrapping_neg();
    }
    let mut taken = vec![false; candidates.len()];
    let mut next = best.1;
    while next != usize::MAX {
        taken[next] = true;
        next = before[next];
    }
    let mut taken = taken.into_iter();
    candidates.retain(|_| taken.next().unwrap_or(false));
    candidates
}
