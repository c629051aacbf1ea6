//! IVF: a 32-byte header, then each unit behind a length and a frame number. The form the codecs' own tools read.

use super::{Movie, MuxError};
use crate::mux::Container;
use std::io::Write;

/// `OBU_TEMPORAL_DELIMITER` with a size of 0, which begins every unit of a bare stream (AV1 §7.5).
const TEMPORAL_DELIMITER: [u8; 2] = [0b0001_0010, 0];

pub(super) fn write(movie: &Movie, out: &mut dyn Write) -> Result<(), MuxError> {
    let mut header = Vec::with_capacity(32);
    header.extend(b"DKIF");
    header.extend(0u16.to_le_bytes()); // version
    header.extend(32u16.to_le_bytes()); // bytes of this header
    header.extend(b"AV01");
    header.extend((movie.size.width as u16).to_le_bytes());
    header.extend((movie.size.height as u16).to_le_bytes());
    header.extend(movie.rate.num().to_le_bytes());
    header.extend(movie.rate.den().to_le_bytes());
    header.extend((movie.units.len() as u32).to_le_bytes());
    header.extend([0; 4]);
    out.write_all(&header)?;
    for n in 0..movie.units.len() {
        let length = u32::try_from(movie.units.length(n) + TEMPORAL_DELIMITER.len())
            .map_err(|_| MuxError::TooLong { container: Container::Ivf })?;
        out.write_all(&length.to_le_bytes())?;
        out.write_all(&(n as u64).to_le_bytes())?;
        out.write_all(&TEMPORAL_DELIMITER)?;
        out.write_all(&movie.units.bytes(n..n + 1)?)?;
    }
    Ok(())
}
