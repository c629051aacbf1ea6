//! The long form of the patch coder's test: `cargo bench --bench patch_at_length -- FRAMES [SEED]`.
//!
//! Codes films made up at random until there are so many frames, and has every judge decode each. Ends with 1 if
//! one of them disagrees; the film is then kept as `target/patch_SEED_NUMBER.ivf`. Without a number it does nothing.

mod films;
mod judges;

use std::process::ExitCode;

fn main() -> ExitCode {
    let mut numbers = std::env::args().skip(1).filter_map(|argument| argument.parse::<u64>().ok());
    let (wanted, seed) = (numbers.next().unwrap_or(0), numbers.next().unwrap_or(1));
    let judges = judges::present();
    let folder = std::env::temp_dir().join(format!("patch_at_length_{}", std::process::id()));
    if wanted == 0 || std::fs::create_dir_all(&folder).is_err() {
        return ExitCode::SUCCESS;
    }
    let (mut frames, mut number, mut failures) = (0, 0, 0);
    let mut blocks = plyreel::encode::patch::Tally::default();
    while frames < wanted {
        let film = films::film(seed, number, true);
        let path = folder.join("film.ivf");
        let mut complaints = Vec::new();
        match judges::write_ivf(&path, film.size, &film.units) {
            Ok(()) => {
                complaints
                    .extend(judges.iter().filter_map(|name| judges::judge(name, &path, film.size, &film.hashes).err()));
            }
            Err(error) => complaints.push(error.to_string()),
        }
        for complaint in &complaints {
            println!("film {number}, {}×{}: {complaint}", film.size.width, film.size.height);
        }
        if !complaints.is_empty() {
            failures += 1;
            let _ = std::fs::copy(&path, format!("target/patch_{seed}_{number}.ivf"));
        }
        frames += film.units.len() as u64;
        number += 1;
        films::add(&mut blocks, film.tally);
        if number % 100 == 0 {
            println!("{frames} frames in {number} films, {failures} of them wrong");
        }
    }
    println!("seed {seed}: {frames} frames in {number} films, {failures} wrong, by {judges:?}; {blocks:?}");
    let _ = std::fs::remove_dir_all(folder);
    if failures == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
