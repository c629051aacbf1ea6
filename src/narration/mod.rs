//! A recording → its length and its samples at 48 kHz, block by block.
//!
//! Must not know: pictures, chess. Memory is bounded whatever the recording's length.
