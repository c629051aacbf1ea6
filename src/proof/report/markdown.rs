//! Reports as Markdown.

use super::Report;
use std::fmt::Write as _;

/// For a page; ends with a newline.
pub fn markdown(title: Option<&str>, reports: &[Report]) -> String {
    let mut text = title.map_or_else(String::new, |title| format!("# {}\n\n", plain(title)));
    text.push_str(&reports.iter().map(one).collect::<Vec<String>>().join("\n"));
    text
}

fn one(report: &Report) -> String {
    let mut text = format!("## {}\n\n", plain(report.heading()));
    if let Some(credit) = &report.credit {
        // Writing to a text never fails.
        writeln!(text, "{}\n", plain(credit)).unwrap_or_default();
    }
    writeln!(text, "- White: {}", report.white).unwrap_or_default();
    writeln!(text, "- Black: {}", report.black).unwrap_or_default();
    writeln!(text, "- Material: ({}) `{}`", report.men, report.gbr).unwrap_or_default();
    writeln!(text, "- Position: `{}`", report.fen).unwrap_or_default();
    writeln!(text, "- Asked: {}", plain(&report.finding())).unwrap_or_default();
    if report.soundness.is_some() {
        writeln!(text, "- Soundness: {}", plain(&report.judgement())).unwrap_or_default();
    }
    if !report.solution.is_empty() {
        text.push('\n');
        for line in &report.solution {
            let depth = line.len() - line.trim_start().len();
            // Lines set in are items of a list; the others paragraphs of their own.
            match depth / 3 {
                0 => writeln!(text, "{}\n", plain(line)).unwrap_or_default(),
                deep => writeln!(text, "{}- {}", "  ".repeat(deep - 1), plain(line.trim_start())).unwrap_or_default(),
            }
        }
    }
    for section in report.shown() {
        writeln!(text, "\n### {}\n\n| moves | | |\n|---|---|---|", section.title).unwrap_or_default();
        for row in &section.rows {
            let lead = "– ".repeat(row.depth);
            writeln!(text, "| {lead}{} | {} | {} |", plain(&row.moves), row.worded(), plain(&row.note))
                .unwrap_or_default();
        }
    }
    while text.contains("\n\n\n") {
        text = text.replace("\n\n\n", "\n\n");
    }
    text
}

/// The text without meaning to Markdown: `only*` is no emphasis, `1.c7` at a line's start no list.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for sign in text.chars() {
        if matches!(sign, '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '~') || sign == '#' && out.is_empty() {
            out.push('\\');
        }
        out.push(sign);
    }
    let digits = out.chars().take_while(char::is_ascii_digit).count();
    if digits > 0 && out[digits..].starts_with(". ") {
        out.insert(digits, '\\');
    }
    out
}
