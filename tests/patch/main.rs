//! The patch coder, judged by decoders that are not ours: every frame of films made up at random must come out of
//! each of them exactly as the coder says.
//!
//! The same at length, with all sizes up to 3840×2160: `cargo bench --bench patch_at_length -- FRAMES [SEED]`.

mod films;
mod judges;
mod nearness;

use judges::{judge, present, write_ivf};

/// Frames in the short form.
const FRAMES: usize = 1200;

#[test]
fn every_judge_shows_what_the_coder_says() {
    let folder = tempfile::tempdir().unwrap();
    let judges = present();
    assert!(judges.len() >= 4, "aomdec, dav1d and ffmpeg are installed: {judges:?}");
    let (mut frames, mut number) = (0, 0);
    let mut blocks = plyreel::encode::patch::Tally::default();
    while frames < FRAMES {
        let film = films::film(1, number, false);
        let path = folder.path().join("film.ivf");
        write_ivf(&path, film.size, &film.units).unwrap();
        for name in &judges {
            if let Err(complaint) = judge(name, &path, film.size, &film.hashes) {
                panic!("film {number}, {}×{}: {complaint}", film.size.width, film.size.height);
            }
        }
        frames += film.units.len();
        number += 1;
        films::add(&mut blocks, film.tally);
    }
    // Everything that can be written was.
    let reduced = [blocks.reduced_luma, blocks.reduced_chroma, blocks.near_chroma, blocks.residual];
    let kinds = [blocks.copied, blocks.plate, blocks.near_luma, blocks.diagonal].into_iter().chain(reduced);
    assert!(kinds.chain(blocks.carried).all(|n| n > 9), "{blocks:?}");
}
