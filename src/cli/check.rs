//! `plyreel check`: everything that can be wrong, in one run.

use super::args::{Check, Format, Talk};
use super::failure::Failure;
use super::load;
use super::report;
use crate::timeline::FilmSettings;
use std::io::{self, IsTerminal};

/// Reports on the timeline; the report is the result, so it goes to standard output.
pub fn run(arguments: &Check, talk: &Talk) -> Result<(), Failure> {
    let mut loaded = load::load(&arguments.file, &FilmSettings::default(), false)?;
    if arguments.strict {
        loaded.be_strict();
    }
    let text = match talk.format {
        Format::Json => report::json_text(&report::film_json(&loaded)),
        Format::Human | Format::Short => {
            let colour = report::colour_on(io::stdout().is_terminal());
            let mut text = report::diagnostics_text(talk, &loaded.diagnostics, &loaded.source, colour);
            if !loaded.has_mistakes() && talk.format == Format::Human && !talk.quiet {
                text.push_str(&report::summary(&loaded));
            }
            text
        }
    };
    report::print(&text)?;
    if loaded.has_mistakes() { Err(Failure::Mistakes) } else { Ok(()) }
}
