//! How a text is made to fit its place: shrunk, broken in balanced lines, or refused.
//!
//! One line at 1, .88 or .78 of the size; else two balanced lines at .88, .78 or .72 (display sizes also .66); else,
//! for credits only, three at .72. A stipulation stays on one line, down to .68. A caption beside a wide board never
//! shrinks.
//!
//! Where a height is given too, a text is set as large as fits in as many lines as there is room for: the way for all
//! words of frames that are not wide, and for titles and credits that are longer than the above.

use super::text::{Style, Typesetter};

/// What a text may do to fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Rule {
    /// Titles: shrink, then two lines; in need more, in the height of those.
    Display,
    /// Lines of ordinary size: the same, but not as small.
    Ordinary,
    /// Credits: a third line in need.
    Credit,
    /// Stipulations: one line.
    Task,
    /// Captions: two lines at full size.
    Caption,
    /// As large as fits in `height` (pixels; from the first line's top to the last one's foot, an em a line), down to
    /// `least` of the size, in balanced lines `leading` ems apart.
    Within { height: f32, least: f32, leading: f32 },
}

impl Rule {
    /// The same with its height scaled.
    pub fn scaled(self, by: f32) -> Rule {
        match self {
            Rule::Within { height, least, leading } => Rule::Within { height: height * by, least, leading },
            other => other,
        }
    }
}

/// A text broken and sized.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fitted {
    /// The lines, top to bottom; none if the text is empty.
    pub lines: Vec<String>,
    /// The em in pixels.
    pub size: f32,
}

/// The text is too long for its place, by any of its rule's ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct TooLong;

/// Breaks and sizes a text for a width in pixels.
pub(super) fn fit(
    typesetter: &mut Typesetter,
    text: &str,
    style: Style,
    width: f32,
    rule: Rule,
) -> Result<Fitted, TooLong> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.is_empty() {
        return Ok(Fitted { lines: Vec::new(), size: style.size });
    }
    let (one, two): (&[f32], &[f32]) = match rule {
        Rule::Display => (&[1.0, 0.88, 0.78], &[0.88, 0.78, 0.72, 0.66]),
        Rule::Ordinary | Rule::Credit => (&[1.0, 0.88, 0.78], &[0.88, 0.78, 0.72]),
        Rule::Task => (&[1.0, 0.88, 0.78, 0.68], &[]),
        Rule::Caption => (&[1.0], &[1.0]),
        Rule::Within { height, least, leading } => {
            return within(typesetter, &text, style, width, (height, least, leading)).ok_or(TooLong);
        }
    };
    for scale in one {
        let size = style.size * scale;
        if typesetter.width(&text, style.at(size)) <= width {
            return Ok(Fitted { lines: vec![text], size });
        }
    }
    for scale in two {
        let size = style.size * scale;
        if let Some(lines) = in_two(typesetter, &text, style.at(size), width) {
            return Ok(Fitted { lines, size });
        }
    }
    if rule == Rule::Credit {
        let size = style.size * 0.72;
        if let Some(lines) = in_lines(typesetter, &text, style.at(size), width, 3) {
            return Ok(Fitted { lines, size });
        }
    }
    // The height of the most lines above, filled with smaller ones: 120 characters of title, 200 of credit.
    let longer = match rule {
        Rule::Display => (2.4 * style.size, 0.38, 1.08),
        Rule::Credit => (2.7 * style.size, 0.62, 1.22),
        _ => return Err(TooLong),
    };
    within(typesetter, &text, style, width, longer).ok_or(TooLong)
}

/// How far lines that are set reach, in pixels: above the first baseline and below the last.
pub(super) fn ink(typesetter: &mut Typesetter, lines: &[String], style: Style, leading: f32) -> (f32, f32) {
    let last = lines.len().saturating_sub(1);
    let (mut above, mut below) = (0.0_f32, 0.0_f32);
    for (at, line) in lines.iter().enumerate() {
        let (up, down) = typesetter.ink(line, style);
        above = above.max(up - leading * style.size * at as f32);
        below = below.max(down - leading * style.size * (last - at) as f32);
    }
    (above, below)
}

/// Breaks and sizes a text for a width and for rows of pixels so many, which not a hair of its letters may leave: where
/// accents and descenders need more than the rule's own height, it shrinks on, but to no less than the rule allows.
pub(super) fn fit_rows(
    typesetter: &mut Typesetter,
    text: &str,
    style: Style,
    width: f32,
    (rule, leading): (Rule, f32),
    rows: f32,
) -> Result<Fitted, TooLong> {
    let Rule::Within { height, least, .. } = rule else {
        let fitted = fit(typesetter, text, style, width, rule)?;
        let (above, below) = ink(typesetter, &fitted.lines, style.at(fitted.size), leading);
        let way = leading * fitted.size * fitted.lines.len().saturating_sub(1) as f32;
        return if above + way + below <= rows { Ok(fitted) } else { Err(TooLong) };
    };
    for scale in STEPS.into_iter().filter(|scale| *scale >= least) {
        let rule = Rule::Within { height: height * scale, least: least / scale, leading };
        let fitted = fit(typesetter, text, style.at(style.size * scale), width, rule)?;
        let (above, below) = ink(typesetter, &fitted.lines, style.at(fitted.size), leading);
        let way = leading * fitted.size * fitted.lines.len().saturating_sub(1) as f32;
        // Baselines stand at whole pixels, which may take half a one.
        if above + way + below + 0.5 <= rows {
            return Ok(fitted);
        }
    }
    Err(TooLong)
}

/// How far lines whose ink reaches so far above and below their baselines must be moved to lie within rows.
pub(super) fn moved_into(rows: (f32, f32), top: f32, bottom: f32) -> f32 {
    let up = (bottom - rows.1).max(0.0).ceil();
    let down = (rows.0 - (top - up)).max(0.0).ceil();
    down - up
}

/// The steps in which a text shrinks into a given height.
const STEPS: [f32; 18] =
    [1.0, 0.94, 0.88, 0.83, 0.78, 0.74, 0.70, 0.66, 0.62, 0.58, 0.54, 0.50, 0.46, 0.42, 0.38, 0.34, 0.31, 0.28];

/// The largest of the steps at which a text fits a width and a height, with the fewest lines.
fn within(
    typesetter: &mut Typesetter,
    text: &str,
    style: Style,
    width: f32,
    (height, least, leading): (f32, f32, f32),
) -> Option<Fitted> {
    for size in STEPS.iter().filter(|step| **step >= least).map(|step| style.size * step) {
        let style = style.at(size);
        if typesetter.width(text, style) <= width {
            return Some(Fitted { lines: vec![text.to_owned()], size });
        }
        // A hundredth is forgiven, so that rounding never takes a line away.
        let most = 1 + ((height * 1.01 - size) / (leading * size)).max(0.0) as usize;
        for count in 2..=most {
            let lines = match count {
                2 => in_two(typesetter, text, style, width),
                count => in_lines(typesetter, text, style, width, count),
            };
            if let Some(lines) = lines {
                return Some(Fitted { lines, size });
            }
        }
    }
    None
}

/// For painting, where nothing may fail: what is too long loses its end to an ellipsis, word by word, until it fits.
pub(super) fn cut(text: &str, size: f32, mut fitting: impl FnMut(&str) -> Result<Fitted, TooLong>) -> Fitted {
    let mut words: Vec<&str> = text.split_whitespace().collect();
    if let Ok(fitted) = fitting(text) {
        return fitted;
    }
    while words.pop().is_some() {
        if let Ok(fitted) = fitting(&format!("{}…", words.join(" "))) {
            return fitted;
        }
    }
    Fitted { lines: Vec::new(), size }
}

/// A break after a comma is natural and worth this part of the width.
const PAUSE_EARNS: f32 = 0.22;
/// One after these parts what is said in two, and is worth more: `Next week:` is not to take half a name with it.
const STOPS: [char; 6] = [':', ';', '.', '—', '!', '?'];
const STOP_EARNS: f32 = 0.45;
/// A break after one of these tears it from what follows and costs this part of the width.
const CLINGING: [&[&str]; 2] = [CLINGING_ENGLISH, CLINGING_GERMAN];
const CLINGING_ENGLISH: &[&str] = &[
    "a", "an", "the", "of", "by", "in", "to", "and", "or", "his", "its", "&", "on", "at", "for", "from", "with",
    "into", "her", "no",
];
const CLINGING_GERMAN: &[&str] = &[
    "am", "im", "zu", "zum", "zur", "der", "die", "das", "den", "dem", "des", "ein", "eine", "einen", "einem", "einer",
    "und", "oder", "auf", "mit", "von", "vom", "bei", "für", "aus", "nach", "kein",
];
const CLINGING_COSTS: f32 = 0.4;

/// The words of a text between which a line may end. A dash stays with what stands before it, an initial with the name
/// and an ordinal with its noun: `O. Lamplighter`, `1. ehrende Erwähnung`.
fn units(text: &str) -> Vec<&str> {
    let mut units = Vec::new();
    let mut start = 0;
    for (at, _) in text.match_indices(' ') {
        let before = text[start..at].rsplit(' ').next().unwrap_or_default();
        let after = text[at + 1..].split(' ').next().unwrap_or_default();
        if !matches!(after, "–" | "—" | "-") && !leans_forward(before) {
            units.push(&text[start..at]);
            start = at + 1;
        }
    }
    units.push(&text[start..]);
    units
}

/// Whether a word is an initial or an ordinal: `O.`, `J.-P.`, `12.`.
fn leans_forward(word: &str) -> bool {
    let Some(body) = word.strip_suffix('.') else { return false };
    let is_initial = |part: &str| {
        let mut letters = part.chars();
        letters.next().is_some_and(char::is_uppercase) && letters.next().is_none()
    };
    let is_number = (1..=2).contains(&body.len()) && body.bytes().all(|digit| digit.is_ascii_digit());
    is_number || body.split(['.', '-']).filter(|part| !part.is_empty()).all(is_initial) && !body.is_empty()
}

/// The best balanced two lines, if any two fit.
fn in_two(typesetter: &mut Typesetter, text: &str, style: Style, width: f32) -> Option<Vec<String>> {
    // What belongs together stays so only where there is room.
    two_of(typesetter, &units(text), style, width)
        .or_else(|| two_of(typesetter, &text.split(' ').collect::<Vec<_>>(), style, width))
}

fn two_of(typesetter: &mut Typesetter, words: &[&str], style: Style, width: f32) -> Option<Vec<String>> {
    let mut best: Option<(f32, [String; 2])> = None;
    for at in 1..words.len() {
        let lines = [words[..at].join(" "), words[at..].join(" ")];
        let widths = [typesetter.width(&lines[0], style), typesetter.width(&lines[1], style)];
        if widths[0] > width || widths[1] > width {
            continue;
        }
        let mut cost = (widths[0] - widths[1]).abs();
        if lines[0].ends_with(STOPS) {
            cost -= width * STOP_EARNS;
        } else if lines[0].ends_with(',') {
            cost -= width * PAUSE_EARNS;
        }
        let last = words[at - 1].rsplit(' ').next().unwrap_or_default();
        if CLINGING.iter().any(|words| words.contains(&last.to_lowercase().as_str())) {
            cost += width * CLINGING_COSTS;
        }
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, lines));
        }
    }
    best.map(|(_, lines)| lines.into())
}

/// At most so many lines, the width narrowed until one more would be needed, so that they come out alike. What belongs
/// together stays so only where there is room.
fn in_lines(typesetter: &mut Typesetter, text: &str, style: Style, width: f32, most: usize) -> Option<Vec<String>> {
    alike(typesetter, &units(text), style, width, most)
        .or_else(|| alike(typesetter, &text.split(' ').collect::<Vec<_>>(), style, width, most))
}

fn alike(typesetter: &mut Typesetter, words: &[&str], style: Style, width: f32, most: usize) -> Option<Vec<String>> {
    let mut lines = filled_of(typesetter, words, style, width).filter(|lines| lines.len() <= most)?;
    let mut narrowed = width;
    while narrowed > width * 0.6 {
        narrowed -= width * 0.02;
        match filled_of(typesetter, words, style, narrowed) {
            Some(tighter) if tighter.len() <= most => lines = tighter,
            _ => break,
        }
    }
    Some(lines)
}

/// Each line as full as it gets; `None` if a word alone is too wide.
pub(super) fn filled(typesetter: &mut Typesetter, text: &str, style: Style, width: f32) -> Option<Vec<String>> {
    filled_of(typesetter, &units(text), style, width)
        .or_else(|| filled_of(typesetter, &text.split(' ').collect::<Vec<_>>(), style, width))
}

fn filled_of(typesetter: &mut Typesetter, words: &[&str], style: Style, width: f32) -> Option<Vec<String>> {
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match longer.filter(|longer| typesetter.width(longer, style) <= width) {
            Some(longer) => *lines.last_mut()? = longer,
            None if typesetter.width(word, style) <= width => lines.push((*word).into()),
            None => return None,
        }
    }
    Some(lines)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paint::font::Font;

    const TITLE: Style = Style {
        font: Font::SerifSemibold,
        size: 84.0,
        figures: crate::paint::text::Figures::Proportional,
        tracking: 0.0,
    };

    fn fitted(text: &str, style: Style, rule: Rule) -> Result<Fitted, TooLong> {
        fit(&mut Typesetter::default(), text, style, 824.0, rule)
    }

    #[test]
    fn a_short_title_keeps_its_size() {
        let fitted = fitted("The rook it chose", TITLE, Rule::Display).unwrap();
        assert_eq!((fitted.lines.len(), fitted.size), (1, 84.0));
    }

    #[test]
    fn a_title_shrinks_before_it_breaks_and_breaks_balanced() {
        let mut typesetter = Typesetter::default();
        let one = fitted("The rook it chose at last", TITLE, Rule::Display).unwrap();
        assert_eq!(one.lines.len(), 1);
        assert!(one.size < 84.0);
        let two = fitted("How a bishop and a queen that dies win against two pawns", TITLE, Rule::Display).unwrap();
        assert_eq!(two.lines, ["How a bishop and a queen that", "dies win against two pawns"]);
        for line in &two.lines {
            assert!(typesetter.width(line, TITLE.at(two.size)) <= 824.0);
        }
    }

    #[test]
    fn what_follows_a_colon_stays_together() {
        let fitted = fitted("Next week: a king on two roads", TITLE, Rule::Display).unwrap();
        assert_eq!(fitted.lines, ["Next week:", "a king on two roads"]);
    }

    #[test]
    fn what_belongs_together_is_not_parted() {
        let text = "Bis bald – mit O. Lamplighter und J.-P. Beacon, 1. ehrende Erwähnung, 1931. Ende.";
        let expected = [
            "Bis",
            "bald –",
            "mit",
            "O. Lamplighter",
            "und",
            "J.-P. Beacon,",
            "1. ehrende",
            "Erwähnung,",
            "1931.",
            "Ende.",
        ];
        assert_eq!(units(text), expected);
        assert_eq!(units("…"), ["…"]);
        // Where there is no room for both, they are parted all the same.
        let style = Style::prose(Font::Semibold, 46.0);
        let mut typesetter = Typesetter::default();
        let width = typesetter.width("Lamplighter-Longname", style) + 1.0;
        let lines = filled(&mut typesetter, "by O. Lamplighter-Longname", style, width).unwrap();
        assert_eq!(lines, ["by O.", "Lamplighter-Longname"]);
        // Nor does it cost a line: these two have room for all, but not with the initial on the second.
        let text = "A study by O. Lamplighter, 1. Preis";
        let width = typesetter.width("Lamplighter, 1. Preis", style) + 1.0;
        let lines = in_lines(&mut typesetter, text, style, width, 2).unwrap();
        assert_eq!(lines, ["A study by O.", "Lamplighter, 1. Preis"]);
    }

    #[test]
    fn a_break_prefers_a_pause_and_shuns_an_article() {
        let style = Style::prose(Font::Semibold, 46.0);
        let pause = fit(
            &mut Typesetter::default(),
            "One step, and the two roads of the king are one road",
            style,
            900.0,
            Rule::Caption,
        );
        let lines = pause.unwrap().lines;
        assert!(!["the", "of", "and"].contains(&lines[0].split(' ').next_back().unwrap()), "{lines:?}");
    }

    #[test]
    fn only_credits_take_three_lines_and_what_is_longer_is_refused() {
        let long = "A. Firstcomposer, B. Secondcomposer-Longname & C. Thirdcomposer, The Exemplary Monthly Magazine \
                    of Composition, vol. 12, 1931 (2nd hon. mention)";
        let style = Style::prose(Font::Medium, 36.0);
        let credit = fitted(long, style, Rule::Credit).unwrap();
        assert_eq!((credit.lines.len(), credit.size), (3, 36.0 * 0.72));
        assert_eq!(fitted(long, style, Rule::Ordinary), Err(TooLong));
        assert_eq!(fitted(&long.repeat(2), style, Rule::Credit), Err(TooLong));
        assert_eq!(fitted(&long.repeat(3), TITLE, Rule::Display), Err(TooLong));
    }

    #[test]
    fn a_title_of_120_characters_takes_more_lines_in_the_height_of_two() {
        let long = "How the white king, who has one pawn and no time, walks to the far corner and saves a game that was lost \
                    when it began";
        assert_eq!(long.chars().count(), 118);
        let title = fitted(long, TITLE, Rule::Display).unwrap();
        let height = title.size * (1.0 + 1.08 * (title.lines.len() - 1) as f32);
        assert!(title.lines.len() > 2 && height <= 2.43 * TITLE.size, "{title:?}");
        let widths: Vec<f32> = {
            let mut typesetter = Typesetter::default();
            title.lines.iter().map(|line| typesetter.width(line, TITLE.at(title.size))).collect()
        };
        assert!(widths.iter().all(|width| *width <= 824.0), "{widths:?}");
    }

    #[test]
    fn a_given_height_holds_as_many_lines_as_it_has_room_for() {
        let style = Style::prose(Font::Semibold, 46.0);
        let rule = |lines: f32| Rule::Within { height: 46.0 * (1.0 + 1.24 * (lines - 1.0)), least: 0.7, leading: 1.24 };
        let text = "In front of everyone, and the pawn behind him has not moved yet";
        let set = |lines: f32| fit(&mut Typesetter::default(), text, style, 620.0, rule(lines));
        assert_eq!(set(3.0).unwrap().lines.len(), 3);
        assert_eq!(set(3.0).unwrap().size, 46.0);
        let two = set(2.0).unwrap();
        assert!(two.lines.len() == 2 && two.size < 46.0, "{two:?}");
        assert_eq!(set(1.0), Err(TooLong));
    }

    #[test]
    fn a_stipulation_stays_on_one_line_and_a_caption_keeps_its_size() {
        let style = Style::prose(Font::Semibold, 44.0);
        let task = fitted("White to play and win; can Black’s king escape?", style, Rule::Task).unwrap();
        assert_eq!(task.lines.len(), 1);
        assert!(task.size >= 44.0 * 0.68);
        let caption = fitted("A rook, not a queen: it threatens mate, and no stalemate", style, Rule::Caption).unwrap();
        assert_eq!((caption.lines.len(), caption.size), (2, 44.0));
        assert_eq!(caption.lines[0], "A rook, not a queen:");
    }

    #[test]
    fn painting_cuts_what_checking_refuses() {
        let style = Style::prose(Font::Semibold, 44.0);
        let mut typesetter = Typesetter::default();
        let cut = cut(&"word ".repeat(40), 44.0, |text| fit(&mut typesetter, text, style, 400.0, Rule::Caption));
        assert_eq!(cut.lines.len(), 2);
        assert!(cut.lines[1].ends_with('…'));
    }
}
