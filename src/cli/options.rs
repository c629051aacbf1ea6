//! What was meant by what was typed: overrides, parts of the film, moments.

use super::args::{Overrides, Part};
use super::failure::Failure;
use super::load::Loaded;
use crate::diag;
use crate::source::Source;
use crate::timeline::{self, FilmSettings};
use crate::units::{FrameIndex, Time};
use std::ops::Range;
use std::path::Path;

/// The overrides as the settings they stand above.
///
/// They go through the timeline's own reader, so that the same words are accepted and refused in both places.
pub fn settings(overrides: &Overrides) -> Result<FilmSettings, Failure> {
    let mut lines = vec!["[film]".to_owned()];
    let mut word = |key: &str, value: &Option<String>| {
        if let Some(value) = value {
            lines.push(format!("{key} = {}", serde_json::Value::from(value.as_str())));
        }
    };
    word("layout", &overrides.layout);
    word("frame", &overrides.frame);
    word("theme", &theme(overrides.theme.as_deref())?);
    if let Some(fps) = &overrides.fps {
        lines.push(match fps.parse::<u32>() {
            Ok(whole) => format!("fps = {whole}"),
            Err(_) => format!("fps = {}", serde_json::Value::from(fps.as_str())),
        });
    }
    if let Some(height) = overrides.height {
        lines.push(format!("height = {height}"));
    }
    let source = Source::new("the command line", lines.join("\n"));
    let (settings, diagnostics) = timeline::parse_style(&source);
    match diagnostics.first() {
        None => Ok(settings),
        Some(first) => {
            let key = source.line(source.line_column(first.primary.span.start).0).split(' ').next().unwrap_or_default();
            let hint = first.hints.first().map(|hint| format!(" ({hint})")).unwrap_or_default();
            Err(Failure::Usage(format!("--{key}: {}{hint}", first.message)))
        }
    }
}

/// The theme; a file of colours lies where the command is typed, not beside the timeline.
fn theme(typed: Option<&str>) -> Result<Option<String>, Failure> {
    let Some(name) = typed.filter(|name| Path::new(name).extension().is_some_and(|ending| ending == "toml")) else {
        return Ok(typed.map(str::to_owned));
    };
    let path = Path::new(name);
    std::fs::metadata(path).map_err(|error| Failure::read(path, error))?;
    let whole = std::path::absolute(path).map_err(|error| Failure::read(path, error))?;
    Ok(Some(whole.to_string_lossy().into_owned()))
}

/// The frames of a part of the film; never empty.
pub fn frames(loaded: &Loaded, part: &Part) -> Result<Range<FrameIndex>, Failure> {
    let film = &loaded.film;
    let (from, to) = match &part.scene {
        Some(name) => scene_times(loaded, name)?,
        None => (
            part.from.as_deref().map(|text| moment(loaded, "from", text)).transpose()?.unwrap_or(Time::ZERO),
            part.to
                .as_deref()
                .map(|text| moment(loaded, "to", text))
                .transpose()?
                .unwrap_or(Time::ZERO + film.length()),
        ),
    };
    let first = film.rate().first_at(from);
    let end = film.rate().first_at(to).min(FrameIndex(film.frames()));
    if first >= end {
        return Err(Failure::Usage(format!(
            "the part from {from} to {to} holds no frame; the film is {} long",
            Time::ZERO + film.length()
        )));
    }
    Ok(first..end)
}

fn scene_times(loaded: &Loaded, name: &str) -> Result<(Time, Time), Failure> {
    let found = loaded.film.chapter(name);
    found.map(|chapter| (chapter.start, chapter.end)).ok_or_else(|| {
        let names: Vec<&str> = loaded.film.chapters().iter().map(|chapter| chapter.name.as_str()).collect();
        let hint = match diag::nearest(name, names.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("the scenes are: {}", names.join(", ")),
        };
        Failure::Usage(format!("--scene: no scene is called `{name}`; {hint}"))
    })
}

/// A time, or the moment a labelled position is complete on the board.
pub fn moment(loaded: &Loaded, option: &str, text: &str) -> Result<Time, Failure> {
    if let Ok(time) = timeline::time(text) {
        let end = Time::ZERO + loaded.film.length();
        return if time <= end {
            Ok(time)
        } else {
            Err(Failure::Usage(format!("--{option}: {time} is past the film's end at {end}")))
        };
    }
    loaded.film.moment(text).ok_or_else(|| {
        // What begins as a time does is meant for one.
        if let Err(error) = timeline::time(text)
            && text.starts_with(|sign: char| sign.is_ascii_digit() || sign == '-')
        {
            return Failure::Usage(format!(
                "--{option}: `{text}` is no time: {}; {}",
                error.fact,
                error.hints.join("; ")
            ));
        }
        let labels: Vec<&str> = loaded.film.label_names().collect();
        let hint = match diag::nearest(text, labels.iter().copied()) {
            Some(near) => format!("; did you mean `{near}`?"),
            None if labels.is_empty() => ", which has none".to_owned(),
            None => format!("; its labels are: {}", labels.join(", ")),
        };
        Failure::Usage(format!(
            "--{option}: `{text}` is neither a time (`0:12.5`, `72.5`) nor a label of this timeline{hint}"
        ))
    })
}
