//! A report in words: for a terminal, and as Markdown.

use super::Report;
use std::fmt::Write as _;

impl Report {
    fn heading(&self) -> String {
        self.name.clone().unwrap_or_else(|| self.fen.clone())
    }

    /// `proven: White mates in 26 …`.
    fn finding(&self) -> String {
        match self.verdict {
            Some(verdict) => format!("{verdict}: {}", self.witness),
            None => self.witness.clone(),
        }
    }

    /// For reading on a terminal; ends with a newline.
    pub fn human(&self) -> String {
        let mut text = format!("{}\n", self.heading());
        for (title, value) in [("credit", self.credit.as_deref()), ("position", Some(&self.fen))] {
            if let Some(value) = value {
                writeln!(text, "  {title:<12} {value}").unwrap_or_default();
            }
        }
        writeln!(text, "  {:<12} {}  ({})", "material", self.gbr, self.men).unwrap_or_default();
        let asked = self.stipulation.as_deref().unwrap_or("none given");
        writeln!(text, "  {:<12} {asked}  {}", "stipulation", self.finding()).unwrap_or_default();
        for section in &self.sections {
            writeln!(text, "\n  {}", section.title).unwrap_or_default();
            let width = section.rows.iter().map(|row| row.moves.chars().count()).max().unwrap_or(0).min(28);
            let words = section.rows.iter().map(|row| row.word.len()).max().unwrap_or(0);
            for row in &section.rows {
                let line = format!("    {:<width$}  {:<words$}  {}", row.moves, row.word, row.note);
                text.push_str(line.trim_end());
                text.push('\n');
            }
        }
        text
    }

    /// For a page; ends with a newline.
    pub fn markdown(&self) -> String {
        let cell = |text: &str| text.replace('|', "\\|");
        let mut text = format!("## {}\n\n", self.heading());
        if let Some(credit) = &self.credit {
            writeln!(text, "{credit}\n").unwrap_or_default();
        }
        writeln!(text, "- Position: `{}`", self.fen).unwrap_or_default();
        writeln!(text, "- Material: {} ({})", self.gbr, self.men).unwrap_or_default();
        let asked = self.stipulation.as_deref().unwrap_or("none given");
        writeln!(text, "- Stipulation: `{asked}`, {}", self.finding()).unwrap_or_default();
        for section in &self.sections {
            writeln!(text, "\n### {}\n\n| moves | | |\n|---|---|---|", section.title).unwrap_or_default();
            for row in &section.rows {
                writeln!(text, "| {} | {} | {} |", cell(&row.moves), row.word, cell(&row.note)).unwrap_or_default();
            }
        }
        text
    }
}
