//! Narrations with their moves marked, drafted and held against what was said.

mod spoken;

use spoken::{Score, drafted, narrations, played, score, spoiled};

/// Drafts every narration of a folder; prints a table and, with `PLYREEL_TELL` set, every difference.
fn table(folder: &str, strengths: &[u32]) -> Vec<[Score; 2]> {
    let tell = std::env::var_os("PLYREEL_TELL");
    let mut sums = Vec::new();
    for strength in strengths {
        let mut sum = [Score::default(); 2];
        for narration in narrations(folder) {
            let transcript = spoiled(&narration.transcript, &narration.name, *strength);
            let mut row = String::new();
            for (number, with_lines) in [true, false].into_iter().enumerate() {
                let text = drafted(&narration, &transcript, with_lines);
                let (score, missed, extra) = score(&narration.played, &played(&text, &narration.pgn));
                sum[number].add(score);
                row += &format!("  {:.3} {:.3}", score.recall(), score.precision());
                if tell.as_ref().is_some_and(|tell| narration.name.contains(&*tell.to_string_lossy())) {
                    println!("{text}");
                    for (word, list) in [("missed", missed), ("too many", extra)] {
                        for played in list {
                            println!(
                                "  {} with_lines={with_lines} {word}: {} {} {}",
                                narration.name, played.at, played.san, played.fen
                            );
                        }
                    }
                }
            }
            println!("{folder} noise {strength} {:16}{row}", narration.name);
        }
        let [known, open] = sum;
        println!(
            "{folder} noise {strength} ALL               {:.3} {:.3}  {:.3} {:.3}   ({} moves)",
            known.recall(),
            known.precision(),
            open.recall(),
            open.precision(),
            known.said
        );
        sums.push(sum);
    }
    sums
}

#[test]
fn tuned() {
    table("tuned", &[0, 1, 2, 3]);
}

#[test]
fn untouched() {
    table("untouched", &[0, 1, 2, 3]);
}
