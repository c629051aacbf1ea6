//! `plyreel still`: one frame.

use super::args::{Format, Overrides, Talk, heading};
use super::failure::Failure;
use super::frames::blank;
use super::inputs;
use super::load;
use super::options;
use super::output::Output;
use super::png_file;
use super::proving::Published;
use super::report;
use crate::paint::Painter;
use crate::units::FrameIndex;
use clap::{Args, ValueHint};
use serde_json::json;
use std::io::Write;
use std::path::{Path, PathBuf};

#[derive(Args, Debug)]
pub struct Still {
    /// The timeline; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// The moment: a time (`0:12.5`) or a label
    #[arg(long, value_name = "TIME|LABEL", value_hint = ValueHint::Other, allow_negative_numbers = true, help_heading = heading::MADE)]
    pub at: String,
    /// Where to write; `-` is standard output
    #[arg(short, long, value_name = "X.png", value_hint = ValueHint::FilePath, help_heading = heading::MADE)]
    pub output: PathBuf,
    #[command(flatten)]
    pub overrides: Overrides,
    #[command(flatten)]
    pub published: Published,
}

/// Paints the first frame at or after a time or a label: the one that first shows what happens then.
pub fn run(arguments: &Still, talk: &Talk) -> Result<(), Failure> {
    let path = &arguments.output;
    let is_png = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png"));
    if path != Path::new("-") && !is_png {
        return Err(Failure::Usage(format!("a still is a PNG: `{}` must end in .png", path.display())));
    }
    let (overrides, proving) = (options::settings(&arguments.overrides)?, arguments.published.proving(false));
    let loaded = load::load(&arguments.file, &overrides, false, &proving)?;
    report::before_making(talk, &loaded)?;
    inputs::spare(path, &loaded)?;
    let film = &loaded.film;
    let time = options::moment(&loaded, "at", &arguments.at)?;
    let frame = film.rate().first_at(time).min(FrameIndex(film.frames() - 1));

    let mut pixmap = blank(film.look().size);
    Painter::new(film.look()).paint(&film.frame(frame), &mut pixmap);
    let mut output = Output::create(path)?;
    output
        .write_all(&png_file::encode(&pixmap, png_file::Effort::Small))
        .map_err(|error| Failure::write(path, error))?;
    output.keep()?;
    if path == Path::new("-") {
        return Ok(());
    }
    if talk.format == Format::Json {
        let mut object = report::film_json(&loaded);
        object["made"] = json!({ "path": path.to_string_lossy(), "frame": frame.0 });
        return report::print(&report::json_text(&object));
    }
    report::print(&format!("{}\n", path.display()))
}
