//! Whether a file is as long as it says of itself: an interrupted copy, or a recorder without power, leaves a beginning
//! that reads well, and only the file's own words tell that there was more. ADTS says nothing of its length.

use super::Kind;
use super::boxes::OuterBoxes;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

/// Sizes from here on stand for "not known yet" in a WAV file that was written to a pipe: some writers put down the
/// greatest number of 32 bits, some the greatest with a sign, some one a little smaller.
const UNKNOWN_WAV: u32 = 0x7FFF_0000;
/// An Ogg page is shorter (RFC 3533 §6), so that one that long before the file's end begins in what is looked at.
const LONGEST_PAGE: u64 = 27 + 255 + 255 * 255;
/// How many chunks or boxes may come before the sound.
const MOST_PARTS: usize = 10_000;

/// Whether there was once more than `samples` in `packets` packets, which is all that can be read of the file.
pub(super) fn ends_early(path: &Path, kind: Kind, samples: u64, packets: u64) -> bool {
    let told = || -> io::Result<Option<bool>> {
        let mut file = File::open(path)?;
        Ok(match kind {
            Kind::Wav | Kind::Mp4 | Kind::Matroska => promised(&mut file, kind)?.map(|(has, says)| has < says),
            Kind::Flac => flac_samples(&mut file)?.map(|total| samples < total),
            // Some coders count the frame that says so, some do not.
            Kind::Mp3 => mp3_frames(&mut file)?.map(|total| packets + 1 < total),
            Kind::Ogg => Some(!has_last_page(&mut file)?),
            Kind::Adts => None,
        })
    };
    told().ok().flatten().unwrap_or(false)
}

/// The bytes a file has and those it says it has, where it has fewer.
pub(super) fn shortfall(path: &Path, kind: Kind) -> Option<(u64, u64)> {
    let (has, says) = promised(&mut File::open(path).ok()?, kind).ok()??;
    (has < says).then_some((has, says))
}

/// The bytes a file has and those that its outer structure tells of.
fn promised(file: &mut File, kind: Kind) -> io::Result<Option<(u64, u64)>> {
    let has = file.seek(SeekFrom::End(0))?;
    let says = match kind {
        Kind::Wav => wav_end(file, has)?,
        Kind::Mp4 => mp4_end(file)?,
        Kind::Matroska => matroska_end(file)?,
        _ => None,
    };
    Ok(says.map(|says| (has, says)))
}

fn at<const N: usize>(file: &mut File, place: u64) -> io::Result<[u8; N]> {
    let mut bytes = [0; N];
    file.seek(SeekFrom::Start(place))?;
    file.read_exact(&mut bytes)?;
    Ok(bytes)
}

/// Where the chunk with the samples ends.
fn wav_end(file: &mut File, has: u64) -> io::Result<Option<u64>> {
    let mut place = 12;
    for _ in 0..MOST_PARTS {
        if place + 8 > has {
            break;
        }
        let header: [u8; 8] = at(file, place)?;
        let size = u32::from_le_bytes([header[4], header[5], header[6], header[7]]);
        if &header[..4] == b"data" {
            return Ok(Some(place + 8 + u64::from(size)).filter(|_| size < UNKNOWN_WAV));
        }
        // A chunk of an odd length has a byte more behind it.
        place += 8 + u64::from(size) + u64::from(size % 2);
    }
    Ok(None)
}

/// Where the last box ends, or would if the file were whole.
fn mp4_end(file: &mut File) -> io::Result<Option<u64>> {
    let mut end = 0;
    let mut outer = OuterBoxes::of(file, MOST_PARTS)?;
    while let Some(found) = outer.next(file)? {
        if found.is_open || !found.is_sound() || !found.kind.iter().all(u8::is_ascii_graphic) {
            return Ok(None);
        }
        end = found.end();
    }
    Ok(Some(end))
}

/// Where the segment ends, if its length is known (RFC 8794 §6).
fn matroska_end(file: &mut File) -> io::Result<Option<u64>> {
    let element = |file: &mut File, place: u64| -> io::Result<(u64, Option<u64>)> {
        // All elements at the outermost level have names of four bytes.
        let [first]: [u8; 1] = at(file, place + 4)?;
        let width = first.leading_zeros() as usize + 1;
        if width > 8 {
            return Ok((place, None));
        }
        let mut size = [0; 8];
        file.seek(SeekFrom::Start(place + 4))?;
        file.read_exact(&mut size[8 - width..])?;
        let ones = u64::MAX >> (64 - 7 * width);
        let size = u64::from_be_bytes(size) & ones;
        Ok((place + 4 + width as u64, Some(size).filter(|size| *size != ones)))
    };
    let (body, Some(size)) = element(file, 0)? else { return Ok(None) };
    let segment = body.saturating_add(size);
    if at::<4>(file, segment)? != [0x18, 0x53, 0x80, 0x67] {
        return Ok(None);
    }
    let (body, size) = element(file, segment)?;
    Ok(size.map(|size| body.saturating_add(size)))
}

/// The samples a FLAC stream says it has; 0 stands for "unknown" (RFC 9639 §8.2).
fn flac_samples(file: &mut File) -> io::Result<Option<u64>> {
    // `fLaC`, the header of the first block, and ten bytes of it.
    let told: [u8; 8] = at(file, 18)?;
    let samples = u64::from_be_bytes(told) & ((1 << 36) - 1);
    Ok(Some(samples).filter(|samples| *samples > 0))
}

/// The frames that an MP3 file says it has, in the frame of no sound that coders put first, known by `Xing` or `Info`.
fn mp3_frames(file: &mut File) -> io::Result<Option<u64>> {
    let head: [u8; 10] = at(file, 0)?;
    let tag = match head {
        // ID3v2: a length in four times seven bits, without its ten bytes.
        [b'I', b'D', b'3', _, _, _, a, b, c, d] => {
            10 + [a, b, c, d].iter().fold(0, |size, byte| size << 7 | u64::from(byte & 0x7F))
        }
        _ => 0,
    };
    let frame: [u8; 48] = at(file, tag)?;
    // The side information is 32 bytes, or 17 for one channel or half the rates, and 9 for both (ISO/IEC 11172-3
    // §2.4.1.7, 13818-3 §2.4.1.7).
    let (is_full, is_mono) = (frame[1] & 0b1000 != 0, frame[3] >> 6 == 3);
    let side = match (is_full, is_mono) {
        (true, false) => 32,
        (false, true) => 9,
        _ => 17,
    };
    let info = &frame[4 + side..];
    let is_told = (info.starts_with(b"Xing") || info.starts_with(b"Info")) && info[7] & 1 == 1;
    Ok(is_told.then(|| u64::from(u32::from_be_bytes([info[8], info[9], info[10], info[11]]))))
}

/// Whether one of an Ogg file's last pages says that a stream ends with it (RFC 3533 §6: flag 4).
fn has_last_page(file: &mut File) -> io::Result<bool> {
    let has = file.seek(SeekFrom::End(0))?;
    file.seek(SeekFrom::Start(has.saturating_sub(2 * LONGEST_PAGE)))?;
    let mut tail = Vec::new();
    file.read_to_end(&mut tail)?;
    Ok(tail.windows(6).any(|page| page.starts_with(b"OggS\0") && page[5] & 4 != 0))
}
