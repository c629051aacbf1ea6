//! Words as they are written wherever there are several of them, or where they stand in markup.

/// `Ra1, Rb1 and Rc1`, cut after `most` with the number of those left out.
pub fn listed(words: &[String], most: usize) -> String {
    match words {
        [] => String::new(),
        [only] => only.clone(),
        _ if words.len() > most => {
            format!("{} and {} more", words[..most].join(", "), words.len() - most)
        }
        [start @ .., last] => format!("{} and {last}", start.join(", ")),
    }
}

/// A text inside HTML or XML, also inside a quoted attribute.
pub fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
