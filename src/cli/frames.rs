//! `plyreel frames`: every frame as PNG.

use super::args::{Format, Frames, Talk};
use super::failure::Failure;
use super::load;
use super::options;
use super::output;
use super::png_file;
use super::progress::Progress;
use super::report;
use super::signal;
use crate::paint::{Painter, Pixmap};
use crate::units::FrameIndex;
use serde_json::json;
use std::fs::{self, DirEntry};
use std::io::Write;
use std::path::Path;

/// Writes `00000.png` and so on, numbered as in the whole film; a held frame is copied, not painted again.
pub fn run(arguments: &Frames, talk: &Talk) -> Result<(), Failure> {
    let (overrides, proving) = (options::settings(&arguments.overrides)?, arguments.published.proving(false));
    let mut loaded = load::load(&arguments.file, &overrides, false, &proving)?;
    loaded.look_for_flashes();
    report::before_making(talk, &loaded)?;
    let frames = options::frames(&loaded, &arguments.part)?;
    let folder = &arguments.output;
    let is_frame = |name: &str| name.strip_suffix(".png").is_some_and(|n| n.bytes().all(|sign| sign.is_ascii_digit()));
    let pictures = output::Folder::open(folder, is_frame)?;

    let film = &loaded.film;
    let count = frames.end.0 - frames.start.0;
    let progress = Progress::new(talk, "painting", count);
    let stop = signal::listen();
    let mut painter = Painter::new(film.look());
    let mut pixmap = blank(film.look().size);
    let mut last: Option<(crate::film::Picture, Vec<u8>)> = None;
    for index in frames.start.0..frames.end.0 {
        if stop.load(std::sync::atomic::Ordering::Relaxed) {
            return Err(Failure::Stopped);
        }
        let picture = film.frame(FrameIndex(index));
        let bytes = match last.take() {
            Some((before, bytes)) if before == picture => bytes,
            _ => {
                painter.paint(&picture, &mut pixmap);
                png_file::encode(&pixmap, png_file::Effort::Fast)
            }
        };
        let name = frame_file(index, film.frames());
        let mut output = pictures.create(&name)?;
        output.write_all(&bytes).map_err(|error| Failure::write(&folder.join(&name), error))?;
        output.keep_in_passing()?;
        last = Some((picture, bytes));
        progress.set(index - frames.start.0 + 1);
    }
    drop(progress);
    if talk.format == Format::Json {
        let mut object = report::film_json(&loaded);
        object["made"] = json!({ "path": folder.to_string_lossy(), "frames": count });
        return report::print(&report::json_text(&object));
    }
    report::say(talk, &format!("{count} pictures"));
    let beyond = beyond(folder, film.frames());
    if beyond > 0 {
        let are = if beyond == 1 { "picture is" } else { "pictures are" };
        report::say(talk, &format!("note: {beyond} {are} there of frames after the film's end, from a longer one"));
    }
    report::print(&format!("{}\n", folder.display()))
}

/// The name of a frame's file in a film of so many frames.
fn frame_file(index: u64, frames: u64) -> String {
    format!("{index:0digits$}.png", digits = FrameIndex::digits(frames))
}

/// How many numbered pictures in the folder are of no frame of a film of so many: an editor would take them for its end.
fn beyond(folder: &Path, frames: u64) -> usize {
    let number = |entry: DirEntry| entry.file_name().to_str()?.strip_suffix(".png")?.parse::<u64>().ok();
    let numbers = fs::read_dir(folder).into_iter().flatten().flatten().filter_map(number);
    numbers.filter(|number| *number >= frames).count()
}

/// A transparent pixmap of a film's size.
pub fn blank(size: crate::units::Size) -> Pixmap {
    Pixmap::new(size.width, size.height).expect("a film's size is never zero")
}
