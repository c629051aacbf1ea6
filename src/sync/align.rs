//! Two transcripts of nearly the same speech → which word is which.

use crate::narration::transcript::{Transcript, Word};
use std::collections::HashMap;

/// Words of one transcript times words of the other that are compared one by one; more is first parted at words that
/// occur once in both.
const MOST: usize = 6_000_000;

/// A word met again, in the alignment's own units.
const SAME: i32 = 4;
/// A short word met again: `the` is met everywhere.
const SAME_SHORT: i32 = 2;
/// A pair right behind a pair: speech comes in passages.
const ONWARD: i32 = 2;

/// Pairs of words, of the old transcript and of the new, both rising.
pub(super) fn align(old: &Transcript, new: &Transcript) -> Vec<(usize, usize)> {
    let mut names: HashMap<String, u32> = HashMap::new();
    let mut shorts = Vec::new();
    let mut ids = |words: &[Word]| -> Vec<u32> {
        let id = |word: &Word| {
            let plain: String =
                word.text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect();
            let short = plain.chars().count() <= 3;
            let next = names.len() as u32;
            let id = *names.entry(plain).or_insert(next);
            if id as usize == shorts.len() {
                shorts.push(short);
            }
            id
        };
        words.iter().map(id).collect()
    };
    let (a, b) = (ids(&old.words), ids(&new.words));
    let mut aligner = Aligner { shorts: &shorts, pairs: Vec::new() };
    aligner.part(&a, &b, 0, 0);
    let mut pairs = aligner.pairs;
    pairs.sort_unstable();
    let pairs = without_strays(&pairs, &a, &shorts);
    with_neighbours(&pairs, a.len(), b.len())
}

struct Aligner<'a> {
    shorts: &'a [bool],
    pairs: Vec<(usize, usize)>,
}

impl Aligner<'_> {
    /// Aligns two stretches that begin at these words.
    fn part(&mut self, a: &[u32], b: &[u32], at_a: usize, at_b: usize) {
        let head = a.iter().zip(b).take_while(|(one, other)| one == other).count();
        self.pairs.extend((0..head).map(|n| (at_a + n, at_b + n)));
        let (a, b, at_a, at_b) = (&a[head..], &b[head..], at_a + head, at_b + head);
        let tail = a.iter().rev().zip(b.iter().rev()).take_while(|(one, other)| one == other).count();
        let (a, b) = (&a[..a.len() - tail], &b[..b.len() - tail]);
        self.pairs.extend((0..tail).map(|n| (at_a + a.len() + n, at_b + b.len() + n)));
        if a.is_empty() || b.is_empty() {
            return;
        }
        if a.len().saturating_mul(b.len()) <= MOST {
            self.pairs.extend(best(a, b, self.shorts).into_iter().map(|(i, j)| (at_a + i, at_b + j)));
            return;
        }
        let anchors = once_in_both(a, b);
        if anchors.is_empty() {
            // Nothing to hold on to: halves stay halves.
            let (i, j) = (a.len() / 2, b.len() / 2);
            self.part(&a[..i], &b[..j], at_a, at_b);
            self.part(&a[i..], &b[j..], at_a + i, at_b + j);
            return;
        }
        let (mut i, mut j) = (0, 0);
        for (next_i, next_j) in anchors.into_iter().chain([(a.len(), b.len())]) {
            self.part(&a[i..next_i], &b[j..next_j], at_a + i, at_b + j);
            if next_i < a.len() {
                self.pairs.push((at_a + next_i, at_b + next_j));
            }
            (i, j) = (next_i + 1, next_j + 1);
        }
    }
}

/// Words that occur once in each, in the longest series that rises in both.
fn once_in_both(a: &[u32], b: &[u32]) -> Vec<(usize, usize)> {
    let mut seen: HashMap<u32, [(usize, usize); 2]> = HashMap::new();
    for (side, words) in [a, b].into_iter().enumerate() {
        for (at, word) in words.iter().enumerate() {
            let entry = &mut seen.entry(*word).or_default()[side];
            *entry = (entry.0 + 1, at);
        }
    }
    let mut pairs: Vec<(usize, usize)> =
        seen.values().filter(|[a, b]| a.0 == 1 && b.0 == 1).map(|[a, b]| (a.1, b.1)).collect();
    pairs.sort_unstable();
    // `ends[n]`: the pair that ends the series of n + 1 pairs whose last is lowest in `b`.
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(pairs.len());
    for (number, pair) in pairs.iter().enumerate() {
        let length = ends.partition_point(|end| pairs[*end].1 < pair.1);
        before.push(length.checked_sub(1).map(|last| ends[last]));
        if length == ends.len() { ends.push(number) } else { ends[length] = number }
    }
    let mut series: Vec<(usize, usize)> = Vec::with_capacity(ends.len());
    let mut next = ends.last().copied();
    while let Some(number) = next {
        series.push(pairs[number]);
        next = before[number];
    }
    series.reverse();
    series
}

/// The dearest set of pairs: words that are the same, with a premium where pairs follow each other.
fn best(a: &[u32], b: &[u32], shorts: &[bool]) -> Vec<(usize, usize)> {
    const UP: u8 = 0;
    const LEFT: u8 = 1;
    const PAIR: u8 = 2;
    const PAIR_ONWARD: u8 = 3;
    let width = b.len() + 1;
    let mut steps = vec![UP; (a.len() + 1) * width];
    // The best so far, and the best that ends with a pair here; `paired` remembers how the pair came about.
    let (mut all, mut pair) = (vec![0_i32; width], vec![i32::MIN / 2; width]);
    let mut paired = vec![PAIR; (a.len() + 1) * width];
    for (i, one) in a.iter().enumerate() {
        let (mut next_all, mut next_pair) = (vec![0_i32; width], vec![i32::MIN / 2; width]);
        for (j, other) in b.iter().enumerate() {
            let here = (i + 1) * width + j + 1;
            if one == other {
                let own = if shorts[*one as usize] { SAME_SHORT } else { SAME };
                let (fresh, onward) = (all[j] + own, pair[j] + own + ONWARD);
                next_pair[j + 1] = fresh.max(onward);
                paired[here] = if onward >= fresh { PAIR_ONWARD } else { PAIR };
            }
            let (up, left, both) = (all[j + 1], next_all[j], next_pair[j + 1]);
            next_all[j + 1] = up.max(left).max(both);
            steps[here] = if both >= up.max(left) {
                PAIR
            } else if up >= left {
                UP
            } else {
                LEFT
            };
        }
        (all, pair) = (next_all, next_pair);
    }
    let mut pairs = Vec::new();
    let (mut i, mut j) = (a.len(), b.len());
    let mut forced = false;
    while i > 0 && j > 0 {
        let here = i * width + j;
        if forced || steps[here] == PAIR {
            pairs.push((i - 1, j - 1));
            forced = paired[here] == PAIR_ONWARD;
            (i, j) = (i - 1, j - 1);
        } else if steps[here] == UP {
            i -= 1;
        } else {
            j -= 1;
        }
    }
    pairs.reverse();
    pairs
}

/// Leaves out short words that were met alone, far from any other pair: they are met by chance.
fn without_strays(pairs: &[(usize, usize)], a: &[u32], shorts: &[bool]) -> Vec<(usize, usize)> {
    let near =
        |one: (usize, usize), other: (usize, usize)| one.0.abs_diff(other.0) <= 3 && one.1.abs_diff(other.1) <= 3;
    let kept = |number: &usize| {
        let pair = pairs[*number];
        !shorts[a[pair.0] as usize]
            || number.checked_sub(1).is_some_and(|before| near(pairs[before], pair))
            || pairs.get(number + 1).is_some_and(|after| near(*after, pair))
    };
    (0..pairs.len()).filter(kept).map(|number| pairs[number]).collect()
}

/// Between two pairs, as many words on either side are the same words, heard otherwise.
fn with_neighbours(pairs: &[(usize, usize)], old: usize, new: usize) -> Vec<(usize, usize)> {
    /// So many words in a row may have been misheard; more are another text.
    const MISHEARD: usize = 6;
    let mut all = Vec::with_capacity(pairs.len());
    let (mut i, mut j) = (0, 0);
    for &(next_i, next_j) in pairs.iter().chain([&(old, new)]) {
        if next_i - i == next_j - j && next_i - i <= MISHEARD {
            all.extend((0..next_i - i).map(|n| (i + n, j + n)));
        }
        if next_i < old {
            all.push((next_i, next_j));
        }
        (i, j) = (next_i + 1, next_j + 1);
    }
    all
}
