//! Whether captions can be read: speed, length of line, gaps, by the limits of the film's [`Profile`]. They were written for
//! subtitles; a caption in the picture is read in the same way. Without a profile only that is reported which is too fast
//! for anybody.

use crate::diag::{Code, Diagnostic};
use crate::film::{ANYBODY, Film, Gap, Profile, Speed, TextKind, TextUse, characters};
use crate::timeline::CaptionProfile;
use crate::units::{FrameIndex, Size, Time};
use std::time::Duration;

/// The lines of a caption as they are set, each with its width in pixels.
pub(super) type SetLines = Vec<(String, f32)>;

/// What is against reading a caption, worst first: at most one thing a caption, since the cure of one often cures the
/// others. `next` is when the scene's next caption begins.
pub(super) fn hard_to_read(text: &TextUse, lines: &SetLines, next: Option<Time>, film: &Film) -> Option<Diagnostic> {
    if text.kind != TextKind::Caption {
        return None;
    }
    let profile = film.captions().map_or(&ANYBODY, Profile::of);
    hurried(text, profile)
        .or_else(|| too_wide(text, lines, profile, film.look().size))
        .or_else(|| lingering(text, profile))
        .or_else(|| flickering(text, next, profile, film))
}

fn shown(text: &TextUse) -> Duration {
    text.shown.1.since(text.shown.0)
}

fn warning(text: &TextUse, what: &str, profile: &Profile) -> Diagnostic {
    let message = format!("the caption `{}` {what}", text.text);
    let message = if profile == &ANYBODY { message } else { format!("{message} for `{}`", profile.name) };
    Diagnostic::warning(Code::HurriedCaption, text.span, message)
}

fn hurried(text: &TextUse, profile: &Profile) -> Option<Diagnostic> {
    let (counted, count, unit, limit) = match profile.speed {
        Speed::WordsAMinute(limit) => {
            let words = text.text.split_whitespace().count();
            (plural(words, "word"), words as f64 * 60.0, "words a minute", limit)
        }
        Speed::CharactersASecond(limit) => {
            let characters = characters(&text.text);
            (plural(characters, "character"), characters as f64, "characters a second", limit)
        }
    };
    let needed = profile.reading(&text.text);
    let shown = shown(text).as_secs_f64();
    // To the microsecond, the clock's own grain.
    (shown + 1e-6 < needed).then(|| {
        // Rounded so that what there is never reads as what is asked for.
        let speed = count / shown;
        let speed = if speed > limit && speed.round() <= limit { speed.ceil() } else { speed.round() };
        let speed = if shown > 0.0 { format!(", {speed:.0} {unit}") } else { String::new() };
        let shown = (shown * 10.0 + 1e-6).floor() / 10.0;
        // What is too fast for anybody is not yet what to aim at: that is the speed which the profiles name.
        let aim = if profile == &ANYBODY { Profile::of(CaptionProfile::Online).reading(&text.text) } else { 0.0 };
        let least = (needed.max(aim) * 10.0).ceil() / 10.0;
        warning(text, "goes before it can be read", profile)
            .label(format!("{counted} in {shown:.1} s{speed}"))
            .hint(format!("give it at least {least:.1} s, or fewer words"))
    })
}

fn plural(number: usize, word: &str) -> String {
    if number == 1 { format!("1 {word}") } else { format!("{number} {word}s") }
}

fn too_wide(text: &TextUse, lines: &SetLines, profile: &Profile, size: Size) -> Option<Diagnostic> {
    let most = if size.height > size.width { profile.tall_lines } else { profile.lines };
    if lines.len() > most {
        let what = format!("has more than {most} lines");
        let label = format!("{} lines", lines.len());
        return Some(warning(text, &what, profile).label(label).hint("split it over two cues, or say it shorter"));
    }
    let fact = if let Some((wide, others)) = profile.width {
        let most = if size.width * 3 > size.height * 4 { wide } else { others };
        let widest = lines.iter().map(|(_, width)| width / size.width as f32).fold(0.0, f32::max);
        let percent = |share: f32| (share * 100.0).round();
        (widest > most)
            .then(|| format!("a line of {:.0} % of the width; at most {:.0} %", percent(widest), percent(most)))
    } else {
        let longest = lines.iter().map(|(line, _)| line.chars().count()).max().unwrap_or(0);
        (longest > profile.wide).then(|| format!("a line of {longest} characters; at most {}", profile.wide))
    }?;
    Some(warning(text, "has too long a line", profile).label(fact).hint("split it over two cues, or say it shorter"))
}

fn lingering(text: &TextUse, profile: &Profile) -> Option<Diagnostic> {
    let (longest, shown) = (Duration::from_secs_f64(profile.longest?), shown(text));
    (shown > longest).then(|| {
        warning(text, "stays too long", profile)
            .label(format!("{:.1} s; at most {:.0} s", shown.as_secs_f64(), longest.as_secs_f64()))
            .hint("clear it with `text = \"\"` in a cue of its own")
    })
}

fn flickering(text: &TextUse, next: Option<Time>, profile: &Profile, film: &Film) -> Option<Diagnostic> {
    let gap = next?.since(text.shown.1);
    let least = match profile.gap {
        Gap::NoneOrAtLeast(seconds) => Duration::from_secs_f64(seconds),
        Gap::Frames(frames) => film.rate().start_of(FrameIndex(frames.into())).since(Time::ZERO),
    };
    (gap > Duration::ZERO && gap < least).then(|| {
        warning(text, "leaves too short a gap to the next", profile)
            .label(format!("{:.2} s; none, or at least {:.2} s", gap.as_secs_f64(), least.as_secs_f64()))
            .hint("let it stand until the next one comes, or clear it earlier")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::game::{PgnFiles, resolve};
    use crate::source::Source;
    use crate::timeline::parse;

    /// A film under a profile whose one caption is shown for so many seconds.
    fn found(profile: &str, words: &str, seconds: f64, lines: &[&str]) -> Option<String> {
        let text = format!(
            "[film]\n{profile}\n[[scene]]\nat = 0\ncues = [{{ at = 1, text = \"{words}\" }}, {{ at = {}, text = \"\" }}, \
             {{ at = 40, text = \"The end of it\" }}]",
            1.0 + seconds
        );
        let (timeline, mistakes) = parse(&Source::new("film.toml", text.as_str()));
        assert!(mistakes.is_empty(), "{mistakes:?}");
        let (game, _) = resolve(&timeline, &PgnFiles::new());
        let (film, _) = Film::new(&timeline, &game, None);
        let caption = film.texts().iter().find(|text| text.kind == TextKind::Caption).expect("a caption");
        let lines = lines.iter().map(|line| ((*line).to_owned(), line.chars().count() as f32 * 25.0)).collect();
        hard_to_read(caption, &lines, Some(Time::from_millis(40_000)), &film).map(|warning| warning.primary.text)
    }

    /// The guidelines' own formula: words by duration. 12 words in 4 s are 180 a minute, 4 in 1.333 s are 180.
    #[test]
    fn words_a_minute_are_counted_as_the_guidelines_count_them() {
        let twelve = "one two three four five six seven eight nine ten eleven twelve";
        let broadcast = "captions = \"broadcast\"";
        assert_eq!(found(broadcast, twelve, 4.0, &[]), None);
        assert_eq!(found(broadcast, twelve, 3.9, &[]).unwrap(), "12 words in 3.9 s, 185 words a minute");
        assert_eq!(found(broadcast, "one two three four", 1.334, &[]), None);
        assert_eq!(found(broadcast, "one two three four", 1.2, &[]).unwrap(), "4 words in 1.2 s, 200 words a minute");
        assert_eq!(found("", "one two three four five six", 1.8, &[]), None, "200 a minute for anybody");
        // Rounded to the nearest tenth it would have all that is asked for.
        assert_eq!(found(broadcast, twelve, 3.995, &[]).unwrap(), "12 words in 3.9 s, 181 words a minute");
        assert!(found("", "one two three four five six", 1.7, &[]).is_some());
    }

    #[test]
    fn characters_a_second_and_the_longest_time_are_streaming_s() {
        let streaming = "captions = \"streaming\"";
        let forty = "a".repeat(40);
        assert_eq!(found(streaming, &forty, 2.0, &[]), None);
        assert_eq!(found(streaming, &forty, 1.9, &[]).unwrap(), "40 characters in 1.9 s, 21 characters a second");
        assert_eq!(found(streaming, "short", 0.84, &[]), None);
        assert!(found(streaming, "short", 0.82, &[]).is_some());
        assert_eq!(found(streaming, &forty, 7.5, &[]).unwrap(), "7.5 s; at most 7 s");
    }

    #[test]
    fn lines_are_measured_by_characters_or_by_width() {
        let (broadcast, online) = ("captions = \"broadcast\"", "captions = \"online\"");
        let (short, long) = ("x".repeat(37), "x".repeat(38));
        assert_eq!(found(broadcast, "x", 5.0, &[&short]), None);
        assert_eq!(found(broadcast, "x", 5.0, &[&long]).unwrap(), "a line of 38 characters; at most 37");
        assert_eq!(found(online, "x", 5.0, &[&long]), None);
        let wide = "x".repeat(54);
        assert_eq!(found(online, "x", 5.0, &[&wide]).unwrap(), "a line of 70 % of the width; at most 68 %");
        assert_eq!(found(broadcast, "x", 5.0, &["x", "x", "x"]).unwrap(), "3 lines");
        assert_eq!(found("", "x", 5.0, &[&wide]), None);
    }

    #[test]
    fn a_gap_is_none_or_long_enough() {
        assert_eq!(found("captions = \"broadcast\"", "x", 38.5, &[]).unwrap(), "0.50 s; none, or at least 1.00 s");
        assert_eq!(found("captions = \"broadcast\"", "x", 37.9, &[]), None);
        assert_eq!(found("", "x", 38.5, &[]), None);
    }
}
