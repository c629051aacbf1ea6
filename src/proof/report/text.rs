//! Reports in words: for a terminal, and one line each.

use super::{Report, Row, Section};
use std::fmt::Write as _;

/// A section's columns of moves are at most so wide; longer ones push theirs.
const WIDE: usize = 30;

impl Report {
    /// The scene's name, or its position.
    pub(super) fn heading(&self) -> &str {
        self.name.as_deref().unwrap_or(&self.fen)
    }

    /// `+, proven: White mates in 26: …`.
    pub(super) fn finding(&self) -> String {
        let asked = self.stipulation.as_deref().unwrap_or("no stipulation");
        match self.verdict {
            Some(verdict) => format!("{asked}, {verdict}: {}", self.witness),
            None => format!("{asked}: {}", self.witness),
        }
    }

    /// `sound: every move of the solution stands alone`; empty where nothing was asked.
    pub(super) fn judgement(&self) -> String {
        match self.soundness {
            Some(soundness) if self.summary.starts_with(soundness) => self.summary.clone(),
            Some(soundness) => format!("{soundness}: {}", self.summary),
            None => String::new(),
        }
    }

    /// The sections that the solution does not tell already.
    pub(super) fn shown(&self) -> impl Iterator<Item = &Section> {
        self.sections.iter().filter(|section| !section.in_solution)
    }
}

impl Row {
    /// `dual, minor`.
    pub(super) fn worded(&self) -> String {
        self.weight.map_or(self.word.to_string(), |weight| format!("{}, {weight}", self.word))
    }
}

/// For reading on a terminal; ends with a newline.
pub fn human(reports: &[Report]) -> String {
    reports.iter().map(one).collect::<Vec<String>>().join("\n")
}

fn one(report: &Report) -> String {
    let mut text = format!("{}\n", report.heading());
    let mut line = |title: &str, value: &str| {
        if !value.is_empty() {
            // Writing to a text never fails.
            writeln!(text, "  {title:<12} {value}").unwrap_or_default();
        }
    };
    line("credit", report.credit.as_deref().unwrap_or_default());
    line("White", &report.white);
    line("Black", &report.black);
    line("material", &format!("({})  {}", report.men, report.gbr));
    line("position", &report.fen);
    line("asked", &report.finding());
    line("soundness", &report.judgement());
    if !report.solution.is_empty() {
        text.push('\n');
        for line in &report.solution {
            writeln!(text, "  {line}").unwrap_or_default();
        }
    }
    for section in report.shown() {
        writeln!(text, "\n  {}", section.title).unwrap_or_default();
        let width = section.rows.iter().map(|row| row.moves.chars().count()).max().unwrap_or(0).min(WIDE);
        let words = section.rows.iter().map(|row| row.worded().len()).max().unwrap_or(0);
        for row in &section.rows {
            let lead = "  ".repeat(row.depth);
            let line = format!("    {lead}{:<width$}  {:<words$}  {}", row.moves, row.worded(), row.note);
            text.push_str(line.trim_end());
            text.push('\n');
        }
    }
    text
}

/// One line a report, then one for each row that speaks against it; ends with a newline.
pub fn short(reports: &[Report]) -> String {
    let mut text = String::new();
    for report in reports {
        let heading = report.heading();
        let judgement = report.judgement();
        let behind = if judgement.is_empty() { String::new() } else { format!("; {judgement}") };
        writeln!(text, "{heading}: {}{behind}", report.finding()).unwrap_or_default();
        let against =
            ["dual", "cook", "fails", "open", "refutes", "succeeds", "short", "too good", "missed win", "refuted"];
        // A try that fails and a set mate that comes sooner speak against nothing.
        let sections =
            report.sections.iter().filter(|section| !["tries", "variations", "set-play"].contains(&section.id));
        for row in sections.flat_map(|section| &section.rows).filter(|row| against.contains(&row.word)) {
            let line = format!("{heading}: {}: {} {}", row.worded(), row.moves, row.note);
            writeln!(text, "{}", line.trim_end()).unwrap_or_default();
        }
    }
    text
}
