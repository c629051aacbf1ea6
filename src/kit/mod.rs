//! What is published beside a film, from the same timeline: subtitles, chapters, a description, PGN, FEN, diagrams, a
//! solution sheet, markers for editors, and the film told in words.
//!
//! Comes in: the timeline, its chess with the verdicts, the film on the clock, and the transcript if there is one.
//! Goes out: [`KitFile`]s by name, texts and pictures, and every doubt. One file here for each that comes out. Must
//! not know: codecs, where files lie.

mod chapters;
mod credit;
mod description;
mod diagrams;
mod fen;
mod index;
mod markers;
mod material;
mod pgn;
mod sheet;
mod subtitles;
mod telling;
mod wording;

pub use description::{DEFAULT_TEMPLATE, FIELDS};
pub use diagrams::Painting;
pub use markers::timecode::{Timecode, TimecodeError};
pub use material::{Material, Wishes};
pub use subtitles::vtt::{VttCue, VttFault, read_vtt};

use crate::diag::Diagnostic;
use markers::edl::Count;

/// One file of the kit.
pub struct KitFile {
    /// Its name in the kit's folder, with `/` before a name in a folder of its own.
    pub name: String,
    /// What it is, in a few words.
    pub about: String,
    /// What is in it.
    pub content: Content,
}

/// What is in a file.
pub enum Content {
    /// UTF-8 text.
    Text(String),
    /// A picture, to be written as PNG. It is painted when it is written: all at once would fill the memory.
    Picture(Box<Painting>),
}

impl KitFile {
    fn text(name: impl Into<String>, about: impl Into<String>, text: String) -> KitFile {
        KitFile { name: name.into(), about: about.into(), content: Content::Text(text) }
    }
}

/// Makes the whole kit, but for the pixels of its pictures.
pub fn make(material: &Material, wishes: &Wishes) -> (Vec<KitFile>, Vec<Diagnostic>) {
    let mut diagnostics = Vec::new();
    let stem = &wishes.stem;
    let named = |ending: &str| format!("{stem}{ending}");
    let mut files = Vec::new();

    let titles = subtitles::make(material, wishes, &mut diagnostics);
    files.push(KitFile::text(named(".srt"), "subtitles", subtitles::srt::write(&titles)));
    files.push(KitFile::text(named(".vtt"), "subtitles for the web", subtitles::vtt::write(&titles)));

    chapters::check(material, &mut diagnostics);
    files.push(KitFile::text(named(".chapters.vtt"), "chapters for the web", chapters::vtt(material)));
    files.push(KitFile::text(named(".chapters.txt"), "chapters for a description", chapters::list(material)));
    credit::check(material, &mut diagnostics);
    let text = description::fill(material, wishes, &mut diagnostics);
    files.push(KitFile::text(named(description::ENDING), "description with credits", text));

    files.push(KitFile::text(named(".pgn"), "the positions with their lines", pgn::write(material)));
    files.push(KitFile::text(named(".fen"), "every position of note, one a line", fen::list(material)));
    let diagrams = diagrams::make(material, stem);
    files.push(KitFile::text(named(".sheet.html"), "solution sheet for printing on A4", sheet::write(material)));
    files.push(KitFile::text(named(".telling.txt"), "the film told in words", telling::write(material)));

    let markers = markers::of(material);
    files.push(KitFile::text(
        named(".otio"),
        "markers for editors, OpenTimelineIO",
        markers::otio::write(material, wishes, &markers),
    ));
    let list = |count| markers::edl::write(material, wishes, &markers, count);
    files.push(KitFile::text(named(".edl"), "markers for editors, CMX 3600 list", list(Count::AsTheRate)));
    if Timecode::is_drop(material.film.rate()) {
        let about = "the same list for projects that are not in drop-frame";
        files.push(KitFile::text(named(".non-drop.edl"), about, list(Count::NonDrop)));
    }
    files.push(KitFile::text(
        named(".markers.vtt"),
        "markers for programs, WebVTT metadata",
        markers::metadata::write(material, &markers),
    ));
    files.extend(diagrams.into_iter().flat_map(diagrams::Diagram::into_files));
    files.insert(0, index::write(material, &files));
    (files, diagnostics)
}
