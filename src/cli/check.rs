//! `plyreel check`: everything that can be wrong, in one run.

use super::args::{Check, Format, Talk};
use super::failure::Failure;
use super::levels;
use super::load::{self, Loaded};
use super::proving::Proving;
use super::report;
use crate::game::Body;
use crate::proof;
use crate::timeline::FilmSettings;
use std::io::{self, IsTerminal};

/// Reports on the timeline; the report is the result, so it goes to standard output.
pub fn run(arguments: &Check, talk: &Talk) -> Result<(), Failure> {
    let proving = Proving { no_cache: arguments.no_cache, syzygy: arguments.published.syzygy.clone() };
    let mut loaded = load::load_proving(&arguments.file, &FilmSettings::default(), false, &proving)?;
    loaded.look_for_flashes();
    if arguments.strict {
        loaded.be_strict();
    }
    if arguments.suggest {
        loaded.diagnostics.extend(proof::suggestions(&loaded.game));
    }
    let sound = levels::measured(&loaded)?;
    let text = if talk.format == Format::Json {
        let mut object = report::film_json(&loaded);
        object["sound"] = levels::json(sound.as_ref());
        report::json_text(&object)
    } else {
        let colour = report::colour_on(io::stdout().is_terminal());
        let mut text = report::diagnostics_text(talk, &loaded.diagnostics, &loaded.source, colour);
        if !loaded.has_mistakes() && talk.format == Format::Human && !talk.quiet {
            text.push_str(&report::summary(&loaded));
            text.push_str(&sound.as_ref().map(levels::text).unwrap_or_default());
        }
        text
    };
    report::print(&text)?;
    if !loaded.has_mistakes() && talk.format == Format::Human {
        remind_of_credits(&loaded, talk);
    }
    if loaded.has_mistakes() { Err(Failure::Mistakes) } else { Ok(()) }
}

/// Showing a composition for the first time is publishing it: whoever leaves out its author should know.
fn remind_of_credits(loaded: &Loaded, talk: &Talk) {
    let nameless = |scene: &&crate::game::Scene| matches!(&scene.body, Body::Board(board) if board.credit.is_none());
    let count = loaded.game.scenes.iter().filter(nameless).count();
    if count > 0 {
        let scenes = if count == 1 { "one scene names".to_owned() } else { format!("{count} scenes name") };
        report::say(
            talk,
            &format!("note: {scenes} no author or source (`credit`). To show a composition for the first"),
        );
        report::say(talk, "time is to publish it (Codex for Chess Composition 2019, article 20).");
    }
}
