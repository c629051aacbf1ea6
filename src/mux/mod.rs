//! Units + sound → MP4, WebM/Matroska or IVF bytes, into any `io::Write`.
//!
//! Must not know: how the units were made, the file system.
