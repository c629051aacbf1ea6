//! No bytes break the reader of transcripts, and what it gives is in order.

#![no_main]

use libfuzzer_sys::fuzz_target;
use plyreel::narration::transcript::{decode, read};
use plyreel::source::Source;

fuzz_target!(|bytes: &[u8]| {
    let source = Source::new("words", decode(bytes));
    let (transcript, told) = read(&source);
    assert!(transcript.words.is_sorted_by_key(|word| word.start));
    assert!(!transcript.words.is_empty() || !told.is_empty());
    for diagnostic in told {
        assert!(source.text().get(diagnostic.primary.span.start..diagnostic.primary.span.end).is_some());
    }
});
