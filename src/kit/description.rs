//! The description: a template with named fields in braces, filled from the film.
//!
//! A line whose fields are all empty is left out. Credits are never dropped: what the template has no place for comes
//! at the end.

use super::chapters;
use super::fen;
use super::material::{Material, Wishes, own};
use super::wording::{one_line, spoken_length};
use crate::diag::{self, Code, Diagnostic};
use crate::source::Span;

/// How the description's file is named, after the film's name.
pub(super) const ENDING: &str = ".description.txt";

/// What may stand between braces, and what it gives.
pub const FIELDS: &[(&str, &str)] = &[
    ("title", "the film's title"),
    ("series", "the series"),
    ("number", "the number in the series"),
    ("presenter", "who presents"),
    ("voice", "whose voice it is"),
    ("music", "whose music"),
    ("length", "how long the film is, in words"),
    ("chapters", "the chapters with their times, a line each"),
    ("positions", "every position with name, credit, stipulation and FEN"),
    ("credits", "every position's name and credit, a line each"),
    ("links", "the links given on the command line, a line each"),
];

/// The template that is filled where the series has none of its own.
pub const DEFAULT_TEMPLATE: &str = "\
{title}
{series} · {number}

{chapters}

{positions}

Presented by {presenter}
Voice: {voice}
Music: {music}

{links}
";

/// A piece of a template's line.
enum Part<'a> {
    Text(&'a str),
    /// A field's name and the bytes of the template it stands in, braces included.
    Field(&'a str, Span),
}

/// Fills the template, and reports fields that there are none of.
pub(super) fn fill(material: &Material, wishes: &Wishes, diagnostics: &mut Vec<Diagnostic>) -> String {
    let ours = our_template(material);
    let template = wishes.template.as_ref().map_or(ours.as_str(), |source| source.text());
    let template = template.strip_prefix('\u{feff}').unwrap_or(template);
    let mut lines: Vec<String> = Vec::new();
    let mut credited = false;
    let mut at = wishes.template.as_ref().map_or(0, |source| source.text().len() - template.len());
    for line in template.split_inclusive('\n') {
        let (parts, broken) = parts(line.trim_end_matches(['\n', '\r']), at);
        at += line.len();
        let mut faults: Vec<Diagnostic> = broken.into_iter().map(lone_brace).collect();
        let mut filled = String::new();
        let (mut fields, mut empty) = (0, 0);
        for part in parts {
            match part {
                Part::Text(text) => filled.push_str(text),
                Part::Field(name, span) => {
                    credited |= matches!(name, "positions" | "credits");
                    let value = field(name, material, wishes).unwrap_or_else(|| {
                        faults.push(unknown(name, span));
                        String::new()
                    });
                    fields += 1;
                    empty += usize::from(value.is_empty());
                    filled.push_str(&value);
                }
            }
        }
        diagnostics.extend(faults.into_iter().map(|fault| match &wishes.template {
            Some(source) => fault.in_source(source.clone()),
            None => fault,
        }));
        if fields == 0 || empty < fields {
            // `{series} · {number}` with one of them empty keeps no sign that joined them.
            let joined = if empty > 0 { filled.trim_matches([' ', '·', '–', '|', '-']) } else { filled.trim_end() };
            lines.push(joined.to_owned());
        }
    }
    if !credited {
        lines.push(String::new());
        lines.push(credits(material));
    }
    tidy(&lines)
}

/// The built-in template, with the film's own words for who did what.
fn our_template(material: &Material) -> String {
    let words = &material.timeline.film.words;
    let mut template = DEFAULT_TEMPLATE.to_owned();
    for (ours, word) in [("Presented by {", &words.presenter), ("Voice: {", &words.voice), ("Music: {", &words.music)] {
        if let Some(word) = own(word.as_ref()) {
            // Braces are text only when they are doubled.
            let word = word.replace('{', "{{").replace('}', "}}");
            template = template.replace(ours, &format!("{word}: {{"));
        }
    }
    template
}

/// One empty line at most between others, none at the ends.
fn tidy(lines: &[String]) -> String {
    let mut text = String::new();
    for line in lines.iter().flat_map(|line| line.split('\n')) {
        if line.trim().is_empty() && (text.is_empty() || text.ends_with("\n\n")) {
            continue;
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    while text.ends_with("\n\n") {
        text.pop();
    }
    text
}

/// Text and fields of a line that begins at byte `at`; `{{` and `}}` are braces. Also where a brace stands alone.
fn parts(line: &str, at: usize) -> (Vec<Part<'_>>, Vec<Span>) {
    let (mut parts, mut broken) = (Vec::new(), Vec::new());
    let mut from = 0;
    while let Some(brace) = line[from..].find(['{', '}']).map(|found| from + found) {
        parts.push(Part::Text(&line[from..brace]));
        let sign = &line[brace..=brace];
        if line[brace + 1..].starts_with(sign) {
            parts.push(Part::Text(sign));
            from = brace + 2;
            continue;
        }
        let close = if sign == "{" { line[brace..].find('}').map(|length| brace + length) } else { None };
        if let Some(close) = close {
            let name = line[brace + 1..close].trim();
            parts.push(Part::Field(name, Span::new(at + brace, at + close + 1)));
            from = close + 1;
        } else {
            broken.push(Span::new(at + brace, at + brace + 1));
            parts.push(Part::Text(sign));
            from = brace + 1;
        }
    }
    parts.push(Part::Text(&line[from..]));
    (parts, broken)
}

fn lone_brace(span: Span) -> Diagnostic {
    Diagnostic::error(Code::Syntax, span, "the template has a brace without its other")
        .label("no field begins or ends here")
        .hint("`{{` and `}}` for braces that are text")
}

fn unknown(name: &str, span: Span) -> Diagnostic {
    let names = FIELDS.iter().map(|(name, _)| *name);
    let error = Diagnostic::error(Code::UnknownWord, span, format!("the template has no field `{name}`"))
        .label("not a field of the description");
    match diag::nearest(name, names.clone()) {
        Some(near) => error.hint(format!("did you mean `{{{near}}}`?")),
        None => error.hint(format!("the fields are {}", names.collect::<Vec<_>>().join(", "))),
    }
}

/// A field's value, empty where the film says nothing; `None` if there is no such field.
fn field(name: &str, material: &Material, wishes: &Wishes) -> Option<String> {
    let film = &material.timeline.film;
    Some(match name {
        "title" => material.title().to_owned(),
        "series" => film.series.as_ref().map(|series| series.value.clone()).unwrap_or_default(),
        "number" => film.number.as_ref().map(|number| number.value.to_string()).unwrap_or_default(),
        "presenter" => material.presenter().unwrap_or_default().to_owned(),
        "voice" => material.voice().unwrap_or_default().to_owned(),
        "music" => material.music().unwrap_or_default().to_owned(),
        "length" => spoken_length(material.film.length()),
        "chapters" => chapters::list(material).trim_end().to_owned(),
        "positions" => positions(material),
        "credits" => credits(material),
        "links" => wishes.links.join("\n"),
        _ => return None,
    })
}

fn positions(material: &Material) -> String {
    let block = |position: super::material::Position| {
        let fen = (!position.is_game()).then(|| fen::export(position.root()));
        let lines = [
            Some(one_line(&position.chapter.name)),
            position.credit().map(one_line),
            position.task().map(one_line),
            fen,
        ];
        lines.into_iter().flatten().collect::<Vec<_>>().join("\n")
    };
    material.positions().map(block).collect::<Vec<_>>().join("\n\n")
}

fn credits(material: &Material) -> String {
    let line = |position: super::material::Position| {
        Some(format!("{}: {}", one_line(&position.chapter.name), one_line(position.credit()?)))
    };
    material.positions().filter_map(line).collect::<Vec<_>>().join("\n")
}
