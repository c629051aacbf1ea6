//! Reports as one page of HTML that stands alone: no pictures, no scripts, nothing fetched.

use super::{Report, Section};
use crate::units::escaped;
use std::fmt::Write as _;

/// Plain type on paper, hairlines, one accent; dark where the reader's system is.
const STYLE: &str = "\
:root { color-scheme: light dark; --paper: #f7f5ef; --ink: #23262b; --soft: #6a6d70; --line: #d9d5c8; --accent: #8a3b2a; }
@media (prefers-color-scheme: dark) {
  :root { --paper: #1d2024; --ink: #e6e3da; --soft: #9b9d9c; --line: #3a3e43; --accent: #d98d74; }
}
body { margin: 0 auto; padding: 2.5rem 1.25rem 4rem; max-width: 52rem; background: var(--paper); color: var(--ink);
  font: 1.0625rem/1.55 Georgia, 'Times New Roman', serif; font-variant-numeric: lining-nums; }
h1, h2 { overflow-wrap: anywhere; }
h1 { font-size: 1.9rem; line-height: 1.2; margin: 0 0 1.5rem; }
h2 { font-size: 1.4rem; margin: 3rem 0 .25rem; padding-top: 1rem; border-top: 1px solid var(--line); }
h3 { font-size: 1rem; margin: 1.75rem 0 .35rem; color: var(--accent); font-weight: 600; }
nav ol { margin: 0; padding-left: 1.4rem; } nav a { color: inherit; }
.credit { margin: 0 0 .75rem; color: var(--soft); font-style: italic; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .1rem 1rem; margin: .75rem 0; }
dt { color: var(--soft); } dd { margin: 0; overflow-wrap: anywhere; }
.solution { margin: 1.25rem 0; padding-left: 1rem; border-left: 3px solid var(--accent); }
.solution p { margin: .2rem 0; }
code { font: .875em/1.4 ui-monospace, Consolas, monospace; }
.wide { overflow-x: auto; } table { border-collapse: collapse; width: 100%; }
td { padding: .3rem .9rem .3rem 0; border-top: 1px solid var(--line); vertical-align: top; }
td.moves { width: 24%; min-width: 7rem; font-weight: 600; } td.word { width: 7rem; white-space: nowrap; color: var(--accent); }
";

/// The page; ends with a newline.
pub fn page(title: Option<&str>, reports: &[Report]) -> String {
    let title = escaped(title.or_else(|| reports.first().map(Report::heading)).unwrap_or("Test report"));
    let mut text = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}: test report</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<h1>{title}: test report</h1>\n"
    );
    if reports.len() > 1 {
        text.push_str("<nav><ol>\n");
        for (number, report) in (1..).zip(reports) {
            // Writing to a text never fails.
            writeln!(text, "<li><a href=\"#c{number}\">{}</a></li>", escaped(report.heading())).unwrap_or_default();
        }
        text.push_str("</ol></nav>\n");
    }
    for (number, report) in (1..).zip(reports) {
        one(&mut text, number, report);
    }
    text.push_str("</body>\n</html>\n");
    text
}

fn one(text: &mut String, number: usize, report: &Report) {
    writeln!(text, "<section id=\"c{number}\">\n<h2>{}</h2>", escaped(report.heading())).unwrap_or_default();
    if let Some(credit) = &report.credit {
        writeln!(text, "<p class=\"credit\">{}</p>", escaped(credit)).unwrap_or_default();
    }
    text.push_str("<dl>\n");
    let mut fact = |title: &str, value: String| {
        if !value.is_empty() {
            writeln!(text, "<dt>{title}</dt><dd>{value}</dd>").unwrap_or_default();
        }
    };
    fact("White", escaped(&report.white));
    fact("Black", escaped(&report.black));
    fact("Material", format!("({}) <code>{}</code>", escaped(&report.men), escaped(&report.gbr)));
    fact("Position", format!("<code>{}</code>", escaped(&report.fen)));
    fact("Asked", escaped(&report.finding()));
    fact("Soundness", escaped(&report.judgement()));
    text.push_str("</dl>\n");
    if !report.solution.is_empty() {
        text.push_str("<div class=\"solution\">\n");
        for line in &report.solution {
            let depth = (line.len() - line.trim_start().len()) / 3;
            let lead =
                if depth == 0 { String::new() } else { format!(" style=\"margin-left: {}rem\"", 1.5 * depth as f32) };
            writeln!(text, "<p{lead}>{}</p>", escaped(line.trim_start())).unwrap_or_default();
        }
        text.push_str("</div>\n");
    }
    report.shown().for_each(|section| table(text, section));
    text.push_str("</section>\n");
}

fn table(text: &mut String, section: &Section) {
    writeln!(text, "<h3>{}</h3>\n<div class=\"wide\"><table>", section.title).unwrap_or_default();
    for row in &section.rows {
        let lead = if row.depth == 0 {
            String::new()
        } else {
            format!(" style=\"padding-left: {}rem\"", 1.25 * row.depth as f32)
        };
        writeln!(
            text,
            "<tr><td class=\"moves\"{lead}>{}</td><td class=\"word\">{}</td><td>{}</td></tr>",
            escaped(&row.moves),
            row.worded(),
            escaped(&row.note)
        )
        .unwrap_or_default();
    }
    text.push_str("</table></div>\n");
}
