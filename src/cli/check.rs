//! `plyreel check`: everything that can be wrong, in one run.

use super::args::{Check, Format, Talk};
use super::failure::Failure;
use super::levels;
use super::load::{self, Loaded};
use super::report;
use crate::diag::{Code, Diagnostic};
use crate::game::Body;
use crate::narration::Loudness;
use crate::proof;
use crate::timeline::FilmSettings;
use std::io::{self, IsTerminal};

/// Reports on the timeline; the report is the result, so it goes to standard output.
pub fn run(arguments: &Check, talk: &Talk) -> Result<(), Failure> {
    let proving = arguments.published.proving(arguments.no_cache);
    let mut loaded = load::load(&arguments.file, &FilmSettings::default(), false, &proving)?;
    loaded.look_for_flashes();
    if arguments.strict {
        loaded.be_strict();
    }
    if arguments.suggest {
        loaded.diagnostics.extend(proof::suggestions(&loaded.game));
    }
    let sound = if is_told(talk, &loaded) { measured(&mut loaded) } else { None };
    let text = if talk.format == Format::Json {
        let mut object = report::film_json(&loaded);
        object["sound"] = levels::json(sound.as_ref());
        report::json_text(&object)
    } else {
        let colour = report::colour_on(io::stdout().is_terminal());
        let mut text = report::diagnostics_text(talk, &loaded.diagnostics, &loaded.source, colour);
        if talk.format == Format::Human && is_told(talk, &loaded) {
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

/// Whether the report says how loud the narration is: to find out, all of it must be decoded.
fn is_told(talk: &Talk, loaded: &Loaded) -> bool {
    match talk.format {
        Format::Json => true,
        Format::Human => !talk.quiet && !loaded.has_mistakes(),
        Format::Short | Format::Markdown | Format::Html => false,
    }
}

/// How loud the narration is. One that cannot be read to its end is a mistake of the timeline like one that cannot be
/// opened.
fn measured(loaded: &mut Loaded) -> Option<Loudness> {
    match levels::measured(loaded) {
        Ok(loudness) => loudness,
        Err(error) => {
            let name = loaded.timeline.film.narration.as_ref();
            let (name, span) = name.map(|name| (name.value.as_str(), name.span)).unwrap_or_default();
            loaded.diagnostics.push(
                Diagnostic::error(Code::Media, span, format!("the narration `{name}` cannot be used"))
                    .label(error.to_string()),
            );
            None
        }
    }
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

#[cfg(test)]
mod tests {
    use super::super::proving::Proving;
    use super::*;
    use std::fs;

    #[test]
    fn a_narration_that_fails_late_is_one_mistake_among_the_others() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        // An eighth of a second of silence: 16-bit PCM at 8 kHz.
        let mut wav =
            b"RIFF\xf4\x07\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0\x40\x1f\0\0\x80\x3e\0\0\x02\0\x10\0data".to_vec();
        wav.extend(2000u32.to_le_bytes());
        wav.extend([0; 2000]);
        fs::write(at("voice.wav"), wav).unwrap();
        fs::write(at("film.toml"), "[film]\nnarration = \"voice.wav\"\nends = 1\n").unwrap();
        let mut loaded = load::load(&at("film.toml"), &FilmSettings::default(), false, &Proving::default()).unwrap();
        assert!(measured(&mut loaded).is_some());
        fs::remove_file(at("voice.wav")).unwrap();
        assert!(measured(&mut loaded).is_none());
        let told = loaded.diagnostics.last().unwrap();
        assert_eq!((told.code, told.message.as_str()), (Code::Media, "the narration `voice.wav` cannot be used"));
    }
}
