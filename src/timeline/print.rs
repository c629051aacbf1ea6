//! Writes a timeline as a person would: settings aligned, one cue a line.

use super::{
    Arrow, At, Back, CardWords, Cue, FilmSettings, Ghost, Mark, Replay, Scene, SceneBody, ThemeSetting, Thumbnail,
    Timeline,
};
use crate::source::Spanned;
use crate::units::{FrameRate, Side, Time};
use std::fmt::{Display, Write};
use std::time::Duration;

/// Writes a timeline that [`super::parse`] reads back as the same value.
pub fn print(timeline: &Timeline) -> String {
    let mut blocks = Vec::new();
    let film = film(&timeline.film);
    if !film.lines.is_empty() {
        blocks.push(film.block("[film]"));
    }
    blocks.extend(timeline.scenes.iter().map(|scene| self::scene(scene).block("[[scene]]")));
    blocks.extend(timeline.thumbnails.iter().map(|still| thumbnail(still).block("[[thumbnail]]")));
    blocks.join("\n")
}

/// Writes one cue as it stands in a list of them: `{ at = "0:12.5", play = "c7" }`.
pub fn print_cue(cue: &Cue) -> String {
    self::cue(cue).inline()
}

/// Keys with their values, in the order in which they are written.
#[derive(Default)]
struct Pairs {
    lines: Vec<(&'static str, String)>,
}

impl Pairs {
    fn add(&mut self, key: &'static str, value: Option<String>) {
        self.lines.extend(value.map(|value| (key, value)));
    }

    /// Under a header, one pair a line, the equals signs under each other.
    fn block(&self, header: &str) -> String {
        let width = self.lines.iter().map(|(key, _)| key.len()).max().unwrap_or(0);
        let mut out = format!("{header}\n");
        for (key, value) in &self.lines {
            writeln!(out, "{key:width$} = {value}").expect("a string takes any text");
        }
        out
    }

    /// On one line, in braces.
    fn inline(&self) -> String {
        if self.lines.is_empty() {
            return "{}".to_owned();
        }
        let pairs: Vec<String> = self.lines.iter().map(|(key, value)| format!("{key} = {value}")).collect();
        format!("{{ {} }}", pairs.join(", "))
    }
}

fn film(film: &FilmSettings) -> Pairs {
    let FilmSettings {
        title,
        series,
        number,
        presenter,
        voice,
        music,
        narration,
        style,
        syzygy,
        frame,
        height,
        fps,
        theme,
        pieces,
        fonts,
        layout,
        notation,
        captions,
        motion,
        words,
        description,
        ends,
        rest,
    } = film;
    let mut pairs = Pairs::default();
    pairs.add("title", text(title.as_ref()));
    pairs.add("series", text(series.as_ref()));
    pairs.add("number", bare(number.as_ref()));
    pairs.add("presenter", text(presenter.as_ref()));
    pairs.add("voice", text(voice.as_ref()));
    pairs.add("music", text(music.as_ref()));
    pairs.add("narration", text(narration.as_ref()));
    pairs.add("style", text(style.as_ref()));
    pairs.add("syzygy", text(syzygy.as_ref()));
    pairs.add("frame", word(frame.as_ref()));
    pairs.add("height", bare(height.as_ref()));
    pairs.add("fps", fps.as_ref().map(|fps| rate(fps.value)));
    pairs.add("theme", theme.as_ref().map(|theme| self::theme(&theme.value)));
    pairs.add("pieces", text(pieces.as_ref()));
    pairs.add("fonts", text(fonts.as_ref()));
    pairs.add("layout", word(layout.as_ref()));
    pairs.add("notation", word(notation.as_ref()));
    pairs.add("captions", word(captions.as_ref()));
    pairs.add("motion", word(motion.as_ref()));
    let words = card_words(words);
    pairs.add("words", (!words.lines.is_empty()).then(|| words.inline()));
    pairs.add("description", text(description.as_ref()));
    pairs.add("ends", ends.as_ref().map(|ends| quoted(&clock(ends.value))));
    pairs.add("rest", length(rest.as_ref()));
    pairs
}

fn theme(theme: &ThemeSetting) -> String {
    match theme {
        ThemeSetting::Named(name) => quoted(&name.to_string()),
        ThemeSetting::File(path) => quoted(path),
        ThemeSetting::Own(own) => {
            let mut pairs = Pairs::default();
            pairs.add("base", word(own.base.as_ref()));
            for (colour, Spanned { value: [r, g, b], .. }) in &own.colours {
                pairs.add(colour.word(), Some(quoted(&format!("#{r:02X}{g:02X}{b:02X}"))));
            }
            pairs.inline()
        }
    }
}

fn card_words(words: &CardWords) -> Pairs {
    let CardWords {
        position,
        chapter,
        pause,
        credits,
        presenter,
        voice,
        music,
        r#try,
        or,
        stalemate,
        fold,
        white,
        black,
    } = words;
    let mut pairs = Pairs::default();
    pairs.add("position", text(position.as_ref()));
    pairs.add("chapter", text(chapter.as_ref()));
    pairs.add("pause", text(pause.as_ref()));
    pairs.add("credits", text(credits.as_ref()));
    pairs.add("presenter", text(presenter.as_ref()));
    pairs.add("voice", text(voice.as_ref()));
    pairs.add("music", text(music.as_ref()));
    pairs.add("try", text(r#try.as_ref()));
    pairs.add("or", text(or.as_ref()));
    pairs.add("stalemate", text(stalemate.as_ref()));
    pairs.add("fold", text(fold.as_ref()));
    pairs.add("white", text(white.as_ref()));
    pairs.add("black", text(black.as_ref()));
    pairs
}

fn scene(scene: &Scene) -> Pairs {
    let Scene { name, at, body, task, credit, text: words, ring, cues, span: _ } = scene;
    let mut pairs = Pairs::default();
    pairs.add("name", text(name.as_ref()));
    pairs.add("at", moment(at.as_ref()));
    match body {
        SceneBody::Position { fen } => pairs.add("fen", text(fen.as_ref())),
        SceneBody::Pgn { file, game } => {
            pairs.add("pgn", text(Some(file)));
            pairs.add("game", bare(game.as_ref()));
        }
        SceneBody::Replay(replay) => pairs.add("replay", Some(self::replay(replay).inline())),
        SceneBody::Card(kind) => pairs.add("card", word(Some(kind))),
    }
    pairs.add("task", text(task.as_ref()));
    pairs.add("credit", text(credit.as_ref()));
    pairs.add("text", text(words.as_ref()));
    pairs.add("ring", length(ring.as_ref()));
    if !cues.is_empty() {
        let lines: Vec<String> = cues.iter().map(|cue| format!("  {},\n", self::cue(cue).inline())).collect();
        pairs.add("cues", Some(format!("[\n{}]", lines.concat())));
    }
    pairs
}

fn replay(replay: &Replay) -> Pairs {
    let Replay { scene, line, pace } = replay;
    let mut pairs = Pairs::default();
    pairs.add("scene", text(Some(scene)));
    pairs.add("line", text(line.as_ref()));
    // `{:?}` of a float keeps a point and reads back exactly.
    pairs.add("pace", pace.as_ref().map(|pace| format!("{:?}", pace.value)));
    pairs
}

fn cue(cue: &Cue) -> Pairs {
    let Cue {
        at,
        play,
        every,
        line,
        label,
        back,
        cut,
        marks,
        arrows,
        ghost,
        text: caption,
        claims,
        stay,
        rest,
        span: _,
    } = cue;
    let mut pairs = Pairs::default();
    pairs.add("at", moment(at.as_ref()));
    if !play.is_empty() {
        let words: Vec<&str> = play.iter().map(|word| word.value.as_str()).collect();
        pairs.add("play", Some(quoted(&words.join(" "))));
    }
    pairs.add("every", length(every.as_ref()));
    pairs.add("line", word(line.as_ref()));
    pairs.add("label", text(label.as_ref()));
    pairs.add("back", back.as_ref().map(|back| self::back(&back.value)));
    pairs.add("cut", cut.then(|| "true".to_owned()));
    pairs.add("marks", phrases(marks, mark));
    pairs.add("arrows", phrases(arrows, arrow));
    pairs.add("ghost", ghost.as_ref().map(|ghost| quoted(&self::ghost(&ghost.value))));
    pairs.add("text", text(caption.as_ref()));
    pairs.add("claim", phrases(claims, Clone::clone));
    pairs.add("for", length(stay.as_ref()));
    pairs.add("rest", length(rest.as_ref()));
    pairs
}

fn thumbnail(thumbnail: &Thumbnail) -> Pairs {
    let Thumbnail { scene, moment, at, words, design, marks, arrows, theme, span: _ } = thumbnail;
    let mut pairs = Pairs::default();
    pairs.add("scene", text(scene.as_ref()));
    pairs.add("moment", text(moment.as_ref()));
    pairs.add("at", at.as_ref().map(|at| quoted(&clock(at.value))));
    pairs.add("words", text(words.as_ref()));
    pairs.add("design", word(design.as_ref()));
    pairs.add("marks", phrases(marks, mark));
    pairs.add("arrows", phrases(arrows, arrow));
    pairs.add("theme", word(theme.as_ref()));
    pairs
}

fn text(text: Option<&Spanned<String>>) -> Option<String> {
    text.map(|text| quoted(&text.value))
}

fn bare(number: Option<&Spanned<u32>>) -> Option<String> {
    number.map(|number| number.value.to_string())
}

fn word<T: Display>(word: Option<&Spanned<T>>) -> Option<String> {
    word.map(|word| quoted(&word.value.to_string()))
}

fn rate(rate: FrameRate) -> String {
    if rate.den() == 1 { rate.to_string() } else { quoted(&rate.to_string()) }
}

fn moment(at: Option<&Spanned<At>>) -> Option<String> {
    at.map(|at| {
        quoted(&match at.value {
            At::Clock(time) => clock(time),
            At::After(length) => format!("+{}", seconds(length)),
        })
    })
}

/// `m:ss.f` with as many decimals as it takes, at least one.
fn clock(time: Time) -> String {
    let micros = time.as_micros().unsigned_abs();
    let (whole, part) = (micros / 1_000_000, micros % 1_000_000);
    let decimals = format!("{part:06}");
    let decimals = decimals.trim_end_matches('0');
    let decimals = if decimals.is_empty() { "0" } else { decimals };
    let (minutes, seconds) = (whole / 60, whole % 60);
    if minutes < 60 {
        format!("{minutes}:{seconds:02}.{decimals}")
    } else {
        format!("{}:{:02}:{seconds:02}.{decimals}", minutes / 60, minutes % 60)
    }
}

fn length(length: Option<&Spanned<Duration>>) -> Option<String> {
    length.map(|length| {
        let micros = length.value.as_micros();
        quoted(&if micros < 1_000_000 && micros.is_multiple_of(1000) && micros > 0 {
            format!("{}ms", micros / 1000)
        } else {
            format!("{}s", seconds(length.value))
        })
    })
}

/// Seconds with as many decimals as it takes.
fn seconds(length: Duration) -> String {
    let (whole, part) = (length.as_secs(), length.subsec_micros());
    if part == 0 {
        return whole.to_string();
    }
    let decimals = format!("{part:06}");
    format!("{whole}.{}", decimals.trim_end_matches('0'))
}

fn back(back: &Back) -> String {
    match back {
        Back::Start => quoted("start"),
        Back::Label(label) => quoted(label),
        Back::Plies(plies) => plies.to_string(),
    }
}

fn mark(mark: &Mark) -> String {
    format!("{} {}", mark.role, mark.squares.join(" "))
}

fn arrow(arrow: &Arrow) -> String {
    let plan = if arrow.plan { "plan " } else { "" };
    format!("{plan}{}{} {}", side(arrow.side), arrow.from, arrow.to)
}

fn ghost(ghost: &Ghost) -> String {
    format!("{}{}", side(ghost.side), ghost.san)
}

/// The letter of a side (as in FEN) with the blank behind it.
fn side(side: Option<Side>) -> &'static str {
    match side {
        None => "",
        Some(Side::White) => "w ",
        Some(Side::Black) => "b ",
    }
}

/// One phrase as a text, several as an array.
fn phrases<T>(phrases: &[Spanned<T>], written: impl Fn(&T) -> String) -> Option<String> {
    let written: Vec<String> = phrases.iter().map(|phrase| quoted(&written(&phrase.value))).collect();
    match written.as_slice() {
        [] => None,
        [one] => Some(one.clone()),
        several => Some(format!("[{}]", several.join(", "))),
    }
}

/// A text in quotes: a literal string where quotes or backslashes would need escapes and nothing else does, else a
/// basic string (TOML 1.1, "String").
fn quoted(text: &str) -> String {
    let is_plain = |c: char| !c.is_control() && !hides(c);
    if text.contains(['"', '\\']) && !text.contains('\'') && text.chars().all(is_plain) {
        return format!("'{text}'");
    }
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for character in text.chars() {
        match character {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            other if is_plain(other) => out.push(other),
            other if u32::from(other) <= 0xffff => {
                write!(out, "\\u{:04X}", u32::from(other)).expect("a string takes any text");
            }
            other => write!(out, "\\U{:08X}", u32::from(other)).expect("a string takes any text"),
        }
    }
    out.push('"');
    out
}

/// Whether an editor would not show the character, or would turn the reading direction at it.
fn hides(character: char) -> bool {
    matches!(character, '\u{ad}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}
