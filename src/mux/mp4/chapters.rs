//! Chapters and title. There is no ISO way to say a chapter, so both customs are written: a text track that the picture
//! track points to (QuickTime File Format, "Chapter lists"), and a list in the user data.

use super::boxes::Boxes;
use super::plan::{Places, rescaled};
use super::tables::{self, CHAPTERS_ID, IN_MOVIE};
use crate::mux::Movie;

/// The chapter track's clock: ms.
const SCALE: u32 = 1000;

/// The chapter texts as samples.
pub(super) struct ChapterTrack {
    /// When the first chapter begins, in ms.
    start: u64,
    /// Length in ms and bytes of each.
    samples: Vec<(u32, Vec<u8>)>,
}

impl ChapterTrack {
    /// `None` if the movie has no chapters.
    pub(super) fn of(movie: &Movie) -> Option<ChapterTrack> {
        let chapters = movie.chapter_list();
        let samples = chapters
            .iter()
            .map(|chapter| {
                let title = cut(&chapter.title, usize::from(u16::MAX));
                let mut sample = Vec::new();
                sample.u16(title.len() as u16);
                sample.extend(title.as_bytes());
                sample.node(b"encd", |o| o.u32(0x100)); // the text is UTF-8
                (u32::try_from(chapter.end - chapter.start).unwrap_or(u32::MAX), sample)
            })
            .collect();
        Some(ChapterTrack { start: chapters.first()?.start, samples })
    }

    pub(super) fn len(&self) -> usize {
        self.samples.len()
    }

    /// The bytes of sample `n`.
    pub(super) fn sample(&self, n: usize) -> &[u8] {
        &self.samples[n].1
    }

    pub(super) fn track(&self, o: &mut Vec<u8>, scale: u32, places: &Places, wide: bool) {
        let shown: u64 = self.samples.iter().map(|&(length, _)| u64::from(length)).sum();
        let mut durations: Vec<(u32, u32)> = self.samples.iter().map(|&(length, _)| (1, length)).collect();
        // ffmpeg takes the last chapter's end from the media's own length, as if the first began at 0. So the media is
        // longer by what is left empty before it, and the edit list leaves that out behind it.
        if let Some((_, last)) = durations.last_mut() {
            *last = last.saturating_add(u32::try_from(self.start).unwrap_or(u32::MAX));
        }
        let length = shown + self.start;
        let (empty, shown) = (rescaled(self.start, SCALE, scale), rescaled(shown, SCALE, scale));
        o.node(b"trak", |o| {
            tables::tkhd(o, CHAPTERS_ID, IN_MOVIE, empty + shown, 0, (0, 0));
            tables::edits(o, empty, shown, 0);
            o.node(b"mdia", |o| {
                tables::mdhd(o, SCALE, length);
                tables::hdlr(o, b"text", "Chapters");
                o.node(b"minf", |o| {
                    media_header(o);
                    tables::dinf(o);
                    o.node(b"stbl", |o| {
                        tables::stsd(o, text_entry);
                        tables::samples(o, &durations, self.samples.iter().map(|(_, s)| s.len()), places, wide);
                    });
                });
            });
        });
    }
}

/// `gmhd`: the base media header of QuickTime, with nothing in it that would be drawn.
fn media_header(o: &mut Vec<u8>) {
    o.node(b"gmhd", |o| {
        o.full_node(b"gmin", 0, 0, |o| {
            o.u16(0x40); // copy
            o.extend([0x80, 0].repeat(3)); // grey, the default
            o.zeros(4);
        });
        o.node(b"text", |o| {
            tables::upright(o);
        });
    });
}

/// The QuickTime text sample description: plain, black, no box, no font.
fn text_entry(o: &mut Vec<u8>) {
    o.node(b"text", |o| {
        o.zeros(6);
        o.u16(1); // data_reference_index
        o.zeros(4); // display flags
        o.u32(1); // justified to the centre
        o.zeros(6 + 8 + 8); // background colour, box, reserved
        o.zeros(2 + 2 + 1 + 2 + 6); // font, face, reserved, colour
        o.push(0); // font name: none
    });
}

/// `udta` with the chapter list and the title; nothing if there is neither.
pub(super) fn user_data(o: &mut Vec<u8>, movie: &Movie) {
    let chapters = movie.chapter_list();
    if chapters.is_empty() && movie.title.is_none() {
        return;
    }
    o.node(b"udta", |o| {
        if !chapters.is_empty() {
            // The list counts in one byte; the text track has them all.
            let listed = &chapters[..chapters.len().min(255)];
            o.full_node(b"chpl", 1, 0, |o| {
                o.zeros(4);
                o.push(listed.len() as u8);
                for chapter in listed {
                    let title = cut(&chapter.title, 255);
                    o.u64(chapter.start * 10_000); // 100 ns
                    o.push(title.len() as u8);
                    o.extend(title.as_bytes());
                }
            });
        }
        if let Some(title) = movie.title {
            o.full_node(b"meta", 0, 0, |o| {
                o.full_node(b"hdlr", 0, 0, |o| {
                    o.zeros(4);
                    o.extend(b"mdirappl");
                    o.zeros(9);
                });
                o.node(b"ilst", |o| {
                    o.node(b"\xA9nam", |o| {
                        o.node(b"data", |o| {
                            o.u32(1); // UTF-8
                            o.zeros(4);
                            o.extend(title.as_bytes());
                        });
                    });
                });
            });
        }
    });
}

/// The longest beginning of `text` that has at most `bytes` bytes and no broken character.
fn cut(text: &str, bytes: usize) -> &str {
    let end = (0..=bytes.min(text.len())).rev().find(|&end| text.is_char_boundary(end)).unwrap_or(0);
    &text[..end]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_are_cut_between_characters() {
        assert_eq!(cut("Žubr", 1), "");
        assert_eq!(cut("Žubr", 2), "Ž");
        assert_eq!(cut("Žubr", 99), "Žubr");
    }
}
