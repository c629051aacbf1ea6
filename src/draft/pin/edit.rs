//! The corrected text with its doubtful cues taken out and those of a new plan put in; all else stays, to the byte.

use super::super::plan::{Cue, Scene};
use super::super::write::{self, Remark};
use super::{BoardScene, Corrected, Kept, MARK, Pin};
use crate::timeline;
use crate::units::Time;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// How far apart, in milliseconds, the same moves in the old text and the new plan are one cue.
const NEAR: f32 = 1200.0;

/// Where a scene's list of cues is.
#[derive(Clone, Debug, Default)]
pub(super) struct List {
    /// The list, brackets included, if there is one.
    brackets: Option<Range<usize>>,
    /// Where one can be written, if there is none: behind the last line of the scene's own keys.
    place: Option<usize>,
}

/// The list of every scene of a file.
pub(super) fn lists(text: &str) -> Vec<List> {
    let (root, _) = DeTable::parse_recoverable(text);
    let Some(DeValue::Array(scenes)) = root.get_ref().get("scene").map(toml::Spanned::get_ref) else {
        return Vec::new();
    };
    scenes.iter().map(|scene| list(text, scene)).collect()
}

fn list(text: &str, scene: &toml::Spanned<DeValue>) -> List {
    let DeValue::Table(table) = scene.get_ref() else { return List::default() };
    if let Some(cues) = table.get("cues").filter(|cues| cues.get_ref().is_array()) {
        return List { brackets: Some(cues.span()), place: None };
    }
    let has_header = text[scene.span()].starts_with('[');
    let last = table.values().map(|value| value.span().end).max().unwrap_or(scene.span().end);
    List { brackets: None, place: has_header.then(|| behind_line(text, last)) }
}

/// The beginning of the line behind this place.
fn behind_line(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |end| at + end + 1)
}

/// A new cue, or one of the old film's that is not the draft's own, on its way into the text.
struct Fresh {
    cue: Cue,
    /// The cues of the file between which it belongs, by the pinned cues around it.
    between: Range<usize>,
}

impl Corrected<'_> {
    /// The text with the doubtful cues replaced by those of the new plan.
    pub fn rewritten(&self, scenes: &[Scene], pins: &[Pin], remarks: &[Remark]) -> String {
        let mut edits: Vec<(Range<usize>, String)> = Vec::new();
        for (study, board) in self.boards.iter().enumerate() {
            let new: Vec<&Cue> =
                scenes.iter().filter(|scene| scene.study == study).flat_map(|scene| &scene.cues).collect();
            let next = self.boards.get(study + 1).map(|next| next.at);
            let told: Vec<&Remark> = remarks
                .iter()
                .filter(|remark| remark.at >= board.at && next.is_none_or(|next| remark.at < next))
                .collect();
            self.edit(board, &new, pins, &told, &mut edits);
        }
        edits.sort_by_key(|(bytes, _)| (bytes.start, bytes.end));
        let mut out = String::new();
        let mut at = 0;
        for (bytes, new) in edits {
            if bytes.start < at {
                continue;
            }
            out.push_str(&self.text[at..bytes.start]);
            out.push_str(&new);
            at = bytes.end;
        }
        out.push_str(&self.text[at..]);
        out
    }

    /// The changes of one scene.
    fn edit(
        &self,
        board: &BoardScene,
        new: &[&Cue],
        pins: &[Pin],
        remarks: &[&Remark],
        edits: &mut Vec<(Range<usize>, String)>,
    ) {
        let line_end = if self.text.contains("\r\n") { "\r\n" } else { "\n" };
        let fresh = fresh(board, new, pins);
        let mut lines: Vec<(usize, String)> = Vec::new();
        for Fresh { mut cue, between } in fresh {
            let place = self.place_for(board, &mut cue.at, between);
            lines.push((place, format!("  {}{line_end}", write::line(&cue))));
        }
        for remark in remarks {
            let later = board.cues.iter().find(|kept| !kept.is_doubtful && kept.at > remark.at);
            let place = later.map_or_else(|| self.end_of(board), |kept| self.lines_of(&kept.bytes).start);
            lines.push((place, format!("  {}{line_end}", remark.comment())));
        }
        for kept in board.cues.iter().filter(|kept| kept.is_doubtful) {
            edits.push((self.lines_of(&kept.bytes), String::new()));
        }
        let Some(list) = &board.list.brackets else {
            if let Some(place) = board.list.place.filter(|_| !lines.is_empty()) {
                let joint = if place == 0 || self.text[..place].ends_with('\n') { "" } else { line_end };
                let lines: String = lines.into_iter().map(|(_, line)| line).collect();
                edits.push((place..place, format!("{joint}cues = [{line_end}{lines}]{line_end}")));
            }
            return;
        };
        if board.cues.is_empty() && !self.text[list.clone()].contains('\n') {
            if !lines.is_empty() {
                let lines: String = lines.into_iter().map(|(_, line)| line).collect();
                edits.push((list.clone(), format!("[{line_end}{lines}]")));
            }
            return;
        }
        // A last cue may do without a comma until something stands behind it.
        for kept in board.cues.iter().filter(|kept| !kept.is_doubtful) {
            if !self.text[kept.bytes.end..].trim_start().starts_with(',') && !lines.is_empty() {
                edits.push((kept.bytes.end..kept.bytes.end, ",".to_owned()));
            }
        }
        edits.extend(lines.into_iter().map(|(place, line)| (place..place, line)));
        // Remarks on lines of their own.
        let mut at = list.start;
        for line in self.text[list.clone()].split_inclusive('\n') {
            let is_in_a_cue = board.cues.iter().any(|kept| kept.bytes.contains(&at));
            if line.trim_start().starts_with(MARK) && line.ends_with('\n') && !is_in_a_cue {
                edits.push((at..at + line.len(), String::new()));
            }
            at += line.len();
        }
    }

    /// Where the line of a new cue goes: before the first kept cue of these that is later, or behind the last. Nothing
    /// comes between a cue and one whose time hangs on it: the new cue goes before both, or behind, and its time with it.
    fn place_for(&self, board: &BoardScene, at: &mut Time, between: Range<usize>) -> usize {
        let stays = |number: &usize| !board.cues[*number].is_doubtful;
        let later = between.clone().filter(stays).find(|number| board.cues[*number].at > *at).unwrap_or(between.end);
        let mut place = later;
        let hangs = |number: usize| board.cues.get(number).is_some_and(|kept| !kept.has_clock);
        while place > between.start && hangs(place) {
            place -= 1;
        }
        if hangs(place) {
            place = later;
            while hangs(place) && place < between.end {
                *at = (*at).max(board.cues[place].at);
                place += 1;
            }
        } else if place < later {
            *at = (*at).min(board.cues[place].at);
        }
        board.cues.get(place).map_or_else(|| self.end_of(board), |kept| self.lines_of(&kept.bytes).start)
    }

    /// Behind the last cue, or before the list's closing bracket.
    fn end_of(&self, board: &BoardScene) -> usize {
        let close = board.list.brackets.as_ref().map_or(0, |list| list.end.saturating_sub(1));
        let line_of_close = self.text[..close].rfind('\n').map_or(0, |at| at + 1);
        board.cues.last().map_or(line_of_close, |last: &Kept| self.lines_of(&last.bytes).end)
    }

    /// The whole lines on which a cue stands.
    fn lines_of(&self, bytes: &Range<usize>) -> Range<usize> {
        let start = self.text[..bytes.start].rfind('\n').map_or(0, |at| at + 1);
        start..behind_line(self.text, bytes.end)
    }

    /// Whether every cue has its lines to itself, so that lines can come and go; else the place of the first that has
    /// not, or of a list or scene into which no line can go.
    pub fn unfit(&self) -> Option<Range<usize>> {
        self.boards.iter().find_map(|board| {
            let crowded = board.cues.iter().map(|kept| &kept.bytes).find(|bytes| !self.is_alone(bytes));
            if let Some(bytes) = crowded {
                return Some(bytes.clone());
            }
            match &board.list {
                // A list with nothing in it but comments needs a line for its closing bracket.
                List { brackets: Some(list), .. } if board.cues.is_empty() => {
                    let before = self.text[list.start..list.end - 1].rsplit('\n').next().unwrap_or("");
                    let is_fit = !self.text[list.clone()].contains('\n') || before.trim().is_empty();
                    (!is_fit).then(|| list.clone())
                }
                List { brackets: None, place: None } => Some(0..0),
                _ => None,
            }
        })
    }

    fn is_alone(&self, bytes: &Range<usize>) -> bool {
        let lines = self.lines_of(bytes);
        let before = self.text[lines.start..bytes.start].trim();
        let behind = self.text[bytes.end..lines.end].trim();
        let behind = behind.strip_prefix(',').unwrap_or(behind).trim_start();
        before.is_empty() && (behind.is_empty() || behind.starts_with('#')) && lines.end > bytes.end
    }
}

/// What is put in, in order: the new cues, and what the author had added to cues that go.
fn fresh(board: &BoardScene, new: &[&Cue], pins: &[Pin]) -> Vec<Fresh> {
    let old = |cue: &&Cue| cue.pin.and_then(|pin| pins[pin].cue);
    let mut fresh: Vec<Fresh> = Vec::new();
    for (number, cue) in new.iter().enumerate().filter(|(_, cue)| old(cue).is_none()) {
        // Behind the pinned cue before it and before the next one; between them by its time.
        let first = new[..number].iter().rev().find_map(old).map_or(0, |before| before + 1);
        let last = new[number + 1..].iter().find_map(old).unwrap_or(board.cues.len());
        fresh.push(Fresh { cue: (*cue).clone(), between: first..last.max(first) });
    }
    for (number, kept) in board.cues.iter().enumerate().filter(|(_, kept)| kept.is_doubtful) {
        // The same moves heard again near by, or whatever is heard at the very time.
        let is_near = |fresh: &Fresh| {
            let apart = fresh.cue.at.millis_after(kept.at).abs();
            fresh.between.contains(&number)
                && (apart == 0.0 || apart <= NEAR && fresh.cue.plays_as(&kept.written))
                && fresh.cue.carried.is_none()
        };
        if let Some(twin) = fresh.iter_mut().find(|fresh| is_near(fresh)) {
            let is_same = twin.cue.plays_as(&kept.written);
            twin.cue.carried = added(&kept.written, is_same);
            continue;
        }
        let Some(carried) = added(&kept.written, false) else { continue };
        let cue = Cue { at: kept.at, carried: Some(carried), ..Cue::default() };
        let first = board.cues[..number].iter().rposition(|kept| !kept.is_doubtful).map_or(0, |before| before + 1);
        let last = board.cues[number..].iter().position(|kept| !kept.is_doubtful).map(|after| number + after);
        let place = fresh
            .iter()
            .position(|fresh| fresh.between.start > number || fresh.between.end > number && fresh.cue.at > cue.at);
        let between = first..last.unwrap_or(board.cues.len());
        fresh.insert(place.unwrap_or(fresh.len()), Fresh { cue, between });
    }
    fresh
}

impl Cue {
    /// Whether it plays what a written cue plays.
    fn plays_as(&self, written: &timeline::Cue) -> bool {
        let bare = |san: &str| san.trim_end_matches(['+', '#', '!', '?']).to_owned();
        self.back.as_ref() == written.back.as_ref().map(|back| &back.value)
            && self.play.iter().map(|san| bare(san)).eq(written.play.iter().map(|san| bare(&san.value)))
    }
}

/// What a doubtful cue holds besides its moves. What is said of its position stays only where the position does.
fn added(written: &timeline::Cue, is_same: bool) -> Option<timeline::Cue> {
    let mut rest = timeline::Cue {
        at: None,
        play: Vec::new(),
        back: None,
        line: None,
        // A label that something returns to or shows is never on a cue that goes.
        label: None,
        ..written.clone()
    };
    if !is_same {
        (rest.every, rest.cut, rest.rest) = (None, false, None);
        (rest.ghost, rest.claims) = (None, Vec::new());
        if rest.marks.is_empty() && rest.arrows.is_empty() {
            rest.stay = None;
        }
    }
    (rest != timeline::Cue { span: rest.span, ..timeline::Cue::default() }).then_some(rest)
}
