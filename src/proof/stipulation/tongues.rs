//! Stipulations in other languages, put into the English words that are read: one table a language.

/// German words and what they are; those of no meaning here fall away.
const GERMAN: &[(&str, &str)] = &[
    ("weiß", "white"),
    ("weiss", "white"),
    ("schwarz", "black"),
    ("am", "to"),
    ("zug", "move"),
    ("züge", "moves"),
    ("zügen", "moves"),
    ("zieht", "plays"),
    ("beginnt", "begins"),
    ("und", "and"),
    ("gewinnt", "wins"),
    ("gewinn", "win"),
    ("hält", ""),
    ("setzt", ""),
    ("remis", "draw"),
    ("matt", "mate"),
    ("mattsetzt", "mate"),
    ("hilfsmatt", "helpmate"),
    ("selbstmatt", "selfmate"),
    ("reflexmatt", "reflexmate"),
    ("einem", "one"),
    ("zwei", "two"),
    ("drei", "three"),
    ("vier", "four"),
    ("fünf", "five"),
    ("sechs", "six"),
    ("sieben", "seven"),
    ("acht", "eight"),
    ("neun", "nine"),
    ("zehn", "ten"),
    ("lösung", "solution"),
    ("lösungen", "solutions"),
];

/// A task in small letters and English words, as far as it has others that are known.
pub(super) fn in_english(task: &str) -> String {
    let lower = task.to_lowercase();
    let words: Vec<&str> = lower.split_whitespace().collect();
    let mut changed = false;
    let mut english: Vec<String> = Vec::with_capacity(words.len());
    for word in words {
        let bare = word.trim_end_matches(|sign: char| !sign.is_alphanumeric());
        let found = GERMAN.iter().find(|(german, _)| *german == bare);
        changed |= found.is_some();
        let word = found.map_or_else(|| word.to_owned(), |(_, meant)| format!("{meant}{}", &word[bare.len()..]));
        english.extend(Some(word).filter(|word| !word.is_empty()));
    }
    if !changed {
        return lower;
    }
    mate_first(&mut english);
    // A German half move is `2,5`.
    english.join(" ").replace(",5 move", ".5 move")
}

/// `in three moves mate` as `mate in three moves`.
fn mate_first(words: &mut [String]) {
    let Some(last) = words.len().checked_sub(1) else { return };
    let is_mate = words[last].trim_end_matches(['.', '!']) == "mate";
    if let Some(begin) = words.iter().position(|word| word == "in").filter(|_| is_mate) {
        words[last].truncate("mate".len());
        words[begin..].rotate_right(1);
    }
}
