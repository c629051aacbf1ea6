//! A chunk's frames → units by our own coder ([`super::patch`]): only what changed is painted, converted and coded.

use super::canvas::Canvas;
use super::patch::{PatchCoder, UnfitSize};
use super::plan::{COPY, Chunk, KEY, Step};
use super::workers::Tick;
use super::{EncodeError, Unit};
use crate::units::{FrameIndex, FrameRate, Size};

/// A chunk coder: all chunks of a film have its size and rate, so that they fit one after another.
pub struct Patched {
    size: Size,
    rate: FrameRate,
}

impl Patched {
    /// A coder for frames of this size and rate; an error if they are more than one tile can hold.
    pub fn new(size: Size, rate: FrameRate) -> Result<Patched, UnfitSize> {
        PatchCoder::new(size, rate)?;
        Ok(Patched { size, rate })
    }

    /// Codes one chunk: a unit for each of its frames. `tick` is called after each frame and may end the work.
    pub fn code(&self, chunk: &Chunk, canvas: &mut Canvas, tick: Tick) -> Result<Vec<Unit>, EncodeError> {
        let refused = |refusal: UnfitSize| EncodeError::Video { frame: chunk.start, reason: refusal.to_string() };
        let mut coder = PatchCoder::new(self.size, self.rate).map_err(refused)?;
        let mut units: Vec<Unit> = Vec::with_capacity(chunk.steps.len());
        for (frame, step) in (chunk.start..).zip(&chunk.steps) {
            let unit = match step {
                Step::Key => {
                    canvas.paint(FrameIndex(frame));
                    coder.key(canvas.planes())
                }
                Step::Coded => {
                    let changed = canvas.paint(FrameIndex(frame));
                    coder.change(canvas.planes(), &changed)
                }
                Step::Copy => coder.copy(),
                Step::Held => coder.hold(),
                // Nothing was coded since the copy, so the coder's state is the one these bytes lead to.
                Step::Rekey => units[KEY].clone(),
                Step::Recopy => units[COPY].clone(),
            };
            units.push(unit);
            tick()?;
        }
        Ok(units)
    }
}
