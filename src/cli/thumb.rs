//! `plyreel thumb`: the still pictures that announce the film.

use super::args::{Format, Talk};
use super::failure::Failure;
use super::inputs;
use super::load;
use super::output::{self, Output, folder_of};
use super::png_file;
use super::proving::Published;
use super::report;
use crate::diag::{Code, Diagnostic};
use crate::paint::{Pixmap, contact_sheet, poster};
use crate::source::Span;
use crate::timeline::FilmSettings;
use clap::{Args, ValueHint};
use serde_json::json;
use std::io::Write;
use std::path::{Path, PathBuf};

#[derive(Args, Debug)]
pub struct Thumb {
    /// The timeline; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// The folder for the pictures, made if it is not there [default: the timeline's own]
    #[arg(short, long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub output: Option<PathBuf>,
    /// Also one picture of all of them at the sizes of a phone
    #[arg(long)]
    pub sheet: bool,
    #[command(flatten)]
    pub published: Published,
}

/// Paints every `[[thumbnail]]` as `<timeline>-thumb-1.png` and so on.
pub fn run(arguments: &Thumb, talk: &Talk) -> Result<(), Failure> {
    let mut loaded = load::load(&arguments.file, &FilmSettings::default(), false, &arguments.published.proving(false))?;
    if loaded.timeline.thumbnails.is_empty() && !loaded.has_mistakes() {
        let end = loaded.source.text().trim_end().len();
        loaded.diagnostics.push(
            Diagnostic::error(Code::MissingKey, Span::new(end, end), "the timeline has no `[[thumbnail]]`")
                .label("nothing to paint")
                .hint("add `[[thumbnail]]` with `scene` or `moment`, and `words = \"Not a *queen*!\"`"),
        );
    }
    report::before_making(talk, &loaded)?;
    let folder = match &arguments.output {
        Some(folder) => folder.clone(),
        None => folder_of(&arguments.file).to_owned(),
    };
    output::make_folder(&folder)?;
    let stem = arguments.file.file_stem().map_or_else(|| "film".into(), |stem| stem.to_string_lossy().into_owned());
    let stem = if stem == "-" { "film".to_owned() } else { stem };

    let names = (1..=loaded.posters.len()).map(|number| folder.join(format!("{stem}-thumb-{number}.png")));
    let mut all = names.chain([folder.join(format!("{stem}-thumbs.png"))]);
    all.try_for_each(|path| inputs::spare(&path, &loaded))?;
    let mut made: Vec<(Pixmap, String)> = Vec::new();
    let mut paths = Vec::new();
    for (index, wanted) in loaded.posters.iter().enumerate() {
        let name = format!("{stem}-thumb-{}.png", index + 1);
        let pixmap = poster(wanted);
        paths.push(write(&folder.join(&name), &pixmap)?);
        made.push((pixmap, name));
    }
    if arguments.sheet {
        let look = loaded.film.look();
        let sheet = contact_sheet(&made, look.theme, &look.own);
        paths.push(write(&folder.join(format!("{stem}-thumbs.png")), &sheet)?);
    }
    if talk.format == Format::Json {
        let mut object = report::film_json(&loaded);
        let list: Vec<_> =
            paths.iter().map(|(path, bytes)| json!({ "path": path.to_string_lossy(), "bytes": bytes })).collect();
        object["made"] = json!(list);
        return report::print(&report::json_text(&object));
    }
    let lines: Vec<String> = paths.iter().map(|(path, _)| path.display().to_string()).collect();
    report::print(&(lines.join("\n") + "\n"))
}

/// Writes a picture; returns its path and its size in bytes.
fn write(path: &Path, pixmap: &Pixmap) -> Result<(PathBuf, usize), Failure> {
    let bytes = png_file::encode(pixmap, png_file::Effort::Small);
    let mut output = Output::create(path)?;
    output.write_all(&bytes).map_err(|error| Failure::write(path, error))?;
    output.keep()?;
    Ok((path.to_owned(), bytes.len()))
}
