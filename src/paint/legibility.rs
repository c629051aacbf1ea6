//! What could not be drawn well, found before anything is painted: characters without a glyph, texts too long for
//! their place, captions gone before they can be read.

use super::caption;
use super::card;
use super::design::Form;
use super::direction::against_the_run;
use super::font::Font;
use super::head::set_head;
use super::layout::Plan;
use super::list::Folded;
use super::notation::prose;
use super::reading::hard_to_read;
use super::rows::Setter;
use super::text::Typesetter;
use super::words::SetWords;
use crate::diag::{Code, Diagnostic};
use crate::film::{Body, CardPicture, Film, TextKind, TextUse};
use crate::source::Span;

/// What screens and players may cover at each edge (EBU R 95, graphics safe area).
const SAFE: f32 = 0.05;
/// What lies within, for messages.
const SAFE_PART: &str = "the part of the frame that every screen shows";
/// The most characters that a word of the move list may have.
const LIST_WORD: usize = 14;
/// What the line for folded moves must have room to tell: the longest game on record has 269 moves, and no film shows
/// a hundred tries.
const LONGEST_FOLD: Folded = Folded { moves: Some((100, 300)), tries: 99, variations: 99 };

/// Looks for what could not be drawn well: missing glyphs, texts that do not fit their place, hurried captions.
pub fn legibility(film: &Film) -> Vec<Diagnostic> {
    let look = film.look();
    let plan = Plan::of(look);
    let mut typesetter = Typesetter::of(&look.own);
    let mut found = Vec::new();
    let mut texts: Vec<&TextUse> = film.texts().iter().collect();
    texts.sort_by_key(|text| (text.span, text.shown));
    for text in texts {
        found.extend(missing_glyphs(text, &typesetter, look.own.fonts.is_some()));
        found.extend(two_directions(text));
        found.extend(too_long(text, film, &plan, &mut typesetter));
        if text.kind == TextKind::Caption {
            let next =
                film.texts().iter().filter(|other| other.kind == TextKind::Caption && other.shown.0 >= text.shown.1);
            let next = next.map(|other| other.shown.0).min();
            let lines = caption::set_lines(&text.text, &plan, &mut typesetter);
            found.extend(hard_to_read(text, &lines, next, film));
        }
    }
    // What stands in a scene that cannot be played is read all the same.
    for text in film.unshown() {
        found.extend(missing_glyphs(text, &typesetter, look.own.fonts.is_some()));
        found.extend(two_directions(text));
        found.extend(caption_too_long(text, &plan, &mut typesetter));
    }
    // A series name stands over every scene; it is reported once.
    let mut seen: Vec<(Code, Span, String)> = Vec::new();
    found.retain(|diagnostic| {
        let key = (diagnostic.code, diagnostic.primary.span, diagnostic.message.clone());
        let is_new = !seen.contains(&key);
        seen.push(key);
        is_new
    });
    found
}

/// The field of the timeline that gives a text of this kind, for messages.
fn field(kind: TextKind) -> &'static str {
    match kind {
        TextKind::Kicker => "series",
        TextKind::Title => "title",
        TextKind::Credit => "credit",
        TextKind::Task => "task",
        TextKind::ListWord => "word of the move list",
        TextKind::FoldLine => "line for folded moves",
        TextKind::Caption => "caption",
        TextKind::CardTitle => "title of a card",
        TextKind::CardLine => "text of a card",
    }
}

fn font(kind: TextKind) -> Font {
    match kind {
        TextKind::Title | TextKind::CardTitle => Font::SerifSemibold,
        TextKind::Kicker | TextKind::Task | TextKind::ListWord | TextKind::Caption => Font::Semibold,
        TextKind::Credit | TextKind::CardLine | TextKind::FoldLine => Font::Medium,
    }
}

fn missing_glyphs(text: &TextUse, typesetter: &Typesetter, has_own: bool) -> impl Iterator<Item = Diagnostic> {
    let missing = typesetter.missing(&text.text.replace(['\n', '\r', '\t'], " "), font(text.kind));
    missing.into_iter().map(move |character| {
        let point = format!("U+{:04X}", u32::from(character));
        let named = if is_shown(character) { format!("`{character}` ({point})") } else { point };
        let whose = if has_own { "neither a font of the film's own nor a bundled one" } else { "no bundled font" };
        let diagnostic = Diagnostic::error(
            Code::MissingGlyph,
            text.span,
            format!("{whose} can draw {named} in the {} `{}`", field(text.kind), text.text),
        )
        // Where else it is set, and would not be drawn either, is the same mistake.
        .about(character)
        .label(format!("{named} is here"))
        .hint("Latin, Greek and Cyrillic letters, figures, punctuation and the signs U+2654 to U+265F can be drawn");
        if has_own { diagnostic } else { diagnostic.hint("other letters need a font of your own: `[film] fonts`") }
    })
}

/// Whether a character shows something by itself in a message: not a control, a mark that joins
/// what is before it, or a blank.
fn is_shown(character: char) -> bool {
    let joins = matches!(u32::from(character), 0x300..=0x36F | 0x1AB0..=0x1AFF | 0x20D0..=0x20FF);
    !character.is_control() && !character.is_whitespace() && !joins
}

fn too_long(text: &TextUse, film: &Film, plan: &Plan, typesetter: &mut Typesetter) -> Option<Diagnostic> {
    let middle = text.shown.0 + text.shown.1.since(text.shown.0) / 2;
    let body = film.at(middle).body;
    let most = excess(text, &text.text, &body, plan, typesetter)?;
    let fitting = match text.kind {
        TextKind::ListWord => Some(LIST_WORD),
        // A part of it would have only some of the numbers.
        TextKind::FoldLine => None,
        _ => fitting(&text.text, |part| excess(text, part, &body, plan, typesetter).is_none()),
    };
    Some(long(text, most, fitting))
}

/// What a part of a text is longer than, set in the whole text's place.
fn excess(text: &TextUse, part: &str, body: &Body, plan: &Plan, typesetter: &mut Typesetter) -> Option<&'static str> {
    let put = |place: &mut String| {
        if *place == text.text {
            part.clone_into(place);
        }
    };
    let (refused, beyond, most) = match (text.kind, body) {
        (TextKind::ListWord, _) => {
            return (part.chars().count() > LIST_WORD).then_some("what leaves the moves room");
        }
        (TextKind::FoldLine, _) => {
            let is_too_long =
                plan.form == Form::Panel && !Setter::new(plan, typesetter).holds_fold(&LONGEST_FOLD.told(part));
            return is_too_long.then_some("the list is wide, its numbers put in");
        }
        (TextKind::Caption, Body::Scene(_)) => {
            return caption::is_too_long(part, plan, typesetter).then(|| most_of_a_caption(plan));
        }
        (_, Body::Card(card)) => {
            let mut card = (**card).clone();
            let CardPicture { kicker, title, line, second, rows, pause, .. } = &mut card;
            [kicker, line, second, pause].into_iter().flatten().for_each(put);
            rows.iter_mut().flat_map(|(label, value)| [label, value]).for_each(put);
            put(title);
            card.task.iter_mut().for_each(|(task, _)| put(task));
            let words = card::card_words(&card, plan, typesetter);
            let beyond = beyond_safe(&words, plan, typesetter).any(|line| has(part, line));
            (words.refused, beyond, "what fits on this card")
        }
        (_, Body::Scene(scene)) => {
            let mut head = (*scene.head).clone();
            [&mut head.kicker, &mut head.title, &mut head.credit, &mut head.task].into_iter().for_each(put);
            let words = set_head(&head, plan, typesetter).words;
            let beyond = beyond_safe(&words, plan, typesetter).any(|line| has(part, line));
            (words.refused, beyond, "what fits in its place")
        }
    };
    let is_refused = refused.iter().any(|refused| is_of(refused, part));
    if is_refused { Some(most) } else { beyond.then_some(SAFE_PART) }
}

/// How many of a text's characters fit, about: what is set where depends on the letters, and on where lines break.
fn fitting(text: &str, mut fits: impl FnMut(&str) -> bool) -> Option<usize> {
    let ends: Vec<usize> = text.char_indices().map(|(at, _)| at).chain([text.len()]).collect();
    let (mut least, mut most) = (0, ends.len() - 1);
    while most > least + 1 {
        let middle = least.midpoint(most);
        if fits(&text[..ends[middle]]) { least = middle } else { most = middle }
    }
    (least > 0).then_some(least)
}

/// Whether a line that is set may be one of this text's.
fn has(text: &str, line: &str) -> bool {
    let plain = |text: &str| prose(text).split_whitespace().collect::<Vec<_>>().join(" ").to_uppercase();
    plain(text).contains(&plain(line))
}

/// The lines that reach into the outer 5 % of the frame, as can only letters that are taller or deeper than those the
/// designs were drawn for.
fn beyond_safe<'a>(words: &'a SetWords, plan: &Plan, typesetter: &mut Typesetter) -> impl Iterator<Item = &'a str> {
    // What rounding may take of a pixel.
    let top = plan.size.height as f32 * SAFE - 1.0;
    let bottom = plan.size.height as f32 * (1.0 - SAFE) + 1.0;
    let beyond = words.lines.iter().filter(move |line| {
        let (above, below) = typesetter.ink(&line.text, line.style);
        line.baseline - above < top || line.baseline + below > bottom
    });
    beyond.map(|line| line.text.as_str()).collect::<Vec<_>>().into_iter()
}

fn caption_too_long(text: &TextUse, plan: &Plan, typesetter: &mut Typesetter) -> Option<Diagnostic> {
    caption::is_too_long(&text.text, plan, typesetter).then(|| {
        let fitting = fitting(&text.text, |part| !caption::is_too_long(part, plan, typesetter));
        long(text, most_of_a_caption(plan), fitting)
    })
}

fn most_of_a_caption(plan: &Plan) -> &'static str {
    if plan.form == Form::Panel { "two lines" } else { "what fits in this frame" }
}

fn two_directions(text: &TextUse) -> Option<Diagnostic> {
    let against = against_the_run(&text.text)?;
    Some(
        Diagnostic::error(
            Code::MixedDirections,
            text.span,
            format!("the {} `{}` runs to the right and to the left", field(text.kind), text.text),
        )
        .label(format!("`{against}` runs against the rest"))
        .hint("give each text one direction; figures and piece letters run to the right"),
    )
}

/// Whether a refused line is (a line of) this text.
fn is_of(refused: &str, text: &str) -> bool {
    let plain = |text: &str| prose(text).to_uppercase();
    let refused = plain(refused);
    plain(text) == refused || text.lines().any(|line| plain(line).ends_with(&refused))
}

fn long(text: &TextUse, most: &str, fitting: Option<usize>) -> Diagnostic {
    let count = text.text.chars().count();
    let error = Diagnostic::error(
        Code::LongText,
        text.span,
        format!("the {} `{}` is longer than {most}", field(text.kind), text.text),
    )
    .about(&*text.text)
    .label(format!("{count} characters"))
    .hint(match text.kind {
        TextKind::Caption => "split it over two cues, or say it shorter",
        TextKind::Credit => "leave out the award first, then volume and page",
        TextKind::CardLine => "give it fewer or shorter lines",
        _ => "say it shorter",
    });
    fitting.iter().fold(error, |error, fitting| error.hint(format!("about {fitting} of its characters fit")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::game::{PgnFiles, resolve};
    use crate::source::Source;
    use crate::timeline::parse;

    /// A film of one scene, with these lines in `[film]` and in the scene, and these cues.
    fn found(film: &str, scene: &str, cues: &str) -> (String, Vec<Diagnostic>) {
        let text = format!(
            "[film]\ntitle = \"A film\"\n{film}\n\n[[scene]]\nfen = \"8/8/1KP5/3r4/8/8/8/k7 w - - 0 1\"\n{scene}\n\
             cues = [\n  {{ at = 0, play = \"c7\" }},\n  {cues}\n  {{ at = 9, play = \"Rd6+\", text = \"\" }},\n]\n"
        );
        let (timeline, mistakes) = parse(&Source::new("film.toml", text.as_str()));
        assert!(mistakes.is_empty(), "{mistakes:?}");
        let (game, mistakes) = resolve(&timeline, &PgnFiles::new());
        assert!(mistakes.is_empty(), "{mistakes:?}");
        let (film, mistakes) = Film::new(&timeline, &game, None);
        assert!(mistakes.is_empty(), "{mistakes:?}");
        (text, legibility(&film))
    }

    fn only((text, mut found): (String, Vec<Diagnostic>)) -> (String, Diagnostic) {
        assert_eq!(found.len(), 1, "{found:?}");
        (text, found.remove(0))
    }

    #[test]
    fn an_ordinary_film_is_legible() {
        let (_, found) = found(
            "series = \"Lantern lessons\"",
            "name = \"The longer road\"\ntask = \"White to play and win\"\ncredit = \"Réti, Kagans 1921\"",
            "{ at = 2, text = \"Why not ♕ at once?\" },",
        );
        assert!(found.is_empty(), "{found:?}");
    }

    #[test]
    fn a_character_without_a_glyph_is_named_at_its_field() {
        let (text, missing) = only(found("", "credit = \"漢, 1931\"", ""));
        assert_eq!(missing.code, Code::MissingGlyph);
        assert_eq!(missing.message, "no bundled font can draw `漢` (U+6F22) in the credit `漢, 1931`");
        assert!(text[missing.primary.span.start..missing.primary.span.end].contains('漢'));
        let (_, joining) = only(found("", "credit = \"1\u{20e3}\"", ""));
        assert!(joining.message.contains("draw U+20E3 in"), "{}", joining.message);
    }

    #[test]
    fn a_text_too_long_for_its_place_is_refused() {
        let long = "a title that goes on and on ".repeat(14);
        let (text, diagnostic) = only(found("", &format!("name = \"{long}\""), ""));
        assert_eq!(diagnostic.code, Code::LongText);
        assert!(diagnostic.message.ends_with("is longer than what fits in its place"), "{}", diagnostic.message);
        assert!(text[diagnostic.primary.span.start..diagnostic.primary.span.end].contains("goes on"));
        let (_, caption) = only(found("", "", &format!("{{ at = 0.1, text = \"{}\" }},", "word ".repeat(29))));
        assert_eq!(caption.code, Code::LongText);
        // What is said to fit does, for each of them.
        for (field, written, found_long) in
            [("name = ", long.trim(), &diagnostic), ("text = ", "word ".repeat(29).trim(), &caption)]
        {
            let told = found_long.hints.last().expect("a length").split(' ').nth(1).expect("a number");
            let fitting: usize = told.parse().expect("a number");
            assert!((60..written.len()).contains(&fitting), "{fitting}");
            let part = &written[..fitting];
            let (_, told) = match field {
                "name = " => found("", &format!("name = \"{part}\""), ""),
                _ => found("", "", &format!("{{ at = 0.1, text = \"{part}\" }},")),
            };
            assert!(told.is_empty(), "{told:?}");
        }
    }

    #[test]
    fn a_line_that_leaves_the_safe_frame_is_found() {
        let head = crate::film::Head { title: "Étude".into(), task: "White to play".into(), ..Default::default() };
        let size = crate::units::Size { width: 1920, height: 1080 };
        let own = crate::film::Own::default();
        let (theme, layout, notation) = Default::default();
        let plan = Plan::of(crate::film::Look { size, theme, layout, notation, own });
        let mut typesetter = Typesetter::default();
        let mut words = set_head(&head, &plan, &mut typesetter).words;
        assert_eq!(beyond_safe(&words, &plan, &mut typesetter).next(), None);
        words.shift(0.0, -100.0);
        assert_eq!(beyond_safe(&words, &plan, &mut typesetter).collect::<Vec<_>>(), ["Étude"]);
    }

    #[test]
    fn a_line_for_folded_moves_has_the_list_s_width() {
        let words = |fold: &str| found(&format!("words = {{ fold = \"{fold}\" }}"), "", "");
        let (_, found) = words("Züge {from} – {to} · Proben: {tries} · Varianten: {variations}");
        assert!(found.is_empty(), "{found:?}");
        let (_, long) = only(words("Die Züge {from} bis {to}, {tries} Proben und auch {variations} Varianten"));
        assert_eq!(long.code, Code::LongText);
        assert!(long.message.ends_with("is longer than the list is wide, its numbers put in"), "{}", long.message);
    }

    #[test]
    fn a_caption_gone_too_soon_is_a_warning() {
        let (_, found) = found("", "", "{ at = 8, text = \"Ten words in one second are more than one reads\" },");
        let (_, hurried) = only((String::new(), found));
        assert_eq!(hurried.code, Code::HurriedCaption);
        assert_eq!(hurried.severity, crate::diag::Severity::Warning);
        assert_eq!(hurried.primary.text, "10 words in 1.0 s, 600 words a minute");
        assert_eq!(hurried.hints, ["give it at least 3.4 s, or fewer words"]);
    }
}
