//! Any text can be read as a time, a length, a rate or a shape; a time reads back from its clock form.

#![no_main]

use libfuzzer_sys::fuzz_target;
use plyreel::timeline::{At, FrameShape, at, frame_rate, length, time};
use plyreel::units::Time;

fuzz_target!(|text: &str| {
    if let Ok(read) = time(text) {
        assert!(read >= Time::ZERO);
        // The clock form is exact to the millisecond, rounded down.
        let again = time(&read.to_string()).expect("a printed time is a time");
        assert_eq!(again.as_micros(), read.as_micros() / 1000 * 1000);
        assert_eq!(at(text), Ok(At::Clock(read)));
    }
    if let Ok(read) = length(text) {
        assert_eq!(length(&format!("{}.{:06}s", read.as_secs(), read.subsec_micros())), Ok(read));
    }
    if let Ok(read) = frame_rate(text) {
        assert_eq!(frame_rate(&read.to_string()), Ok(read));
    }
    if let Ok(read) = text.parse::<FrameShape>() {
        assert_eq!(read.to_string().parse::<FrameShape>(), Ok(read));
    }
});
