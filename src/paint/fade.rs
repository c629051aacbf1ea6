//! One picture giving way to another: the words go into the ground before the next ones come out of it, so that two
//! texts never lie over each other. Where both show the same board, in the same place, it stays, and only what stands
//! on it dissolves: nothing darkens and lightens again.

use super::tile::{blend, intersection};
use crate::units::PixelRect;
use tiny_skia::Pixmap;

/// Lays the picture `under` over the new one in `pixmap` within `rect`, as far as that does not yet cover it
/// (`covered`, 0 to 1). `shared` is where both show the same board.
pub(super) fn fade(
    pixmap: &mut Pixmap,
    under: &Pixmap,
    ground: &Pixmap,
    covered: f32,
    rect: PixelRect,
    shared: Option<PixelRect>,
) {
    let row = pixmap.width() as usize * 4;
    let shared = shared.and_then(|shared| intersection(shared, rect));
    for y in rect.y..rect.y + rect.height {
        let end = rect.x + rect.width;
        let (from, to) = match shared.filter(|shared| (shared.y..shared.y + shared.height).contains(&y)) {
            Some(shared) => (shared.x, shared.x + shared.width),
            None => (end, end),
        };
        let part = |from: u32, to: u32| y as usize * row + from as usize * 4..y as usize * row + to as usize * 4;
        for words in [part(rect.x, from), part(to, end)] {
            through(
                &mut pixmap.data_mut()[words.clone()],
                &under.data()[words.clone()],
                &ground.data()[words],
                covered,
            );
        }
        let board = part(from, to);
        blend(&mut pixmap.data_mut()[board.clone()], &under.data()[board], 1.0 - covered);
    }
}

/// From the old pixels to the ground in the first half, from the ground to the new ones in the second.
fn through(pixels: &mut [u8], old: &[u8], ground: &[u8], covered: f32) {
    if covered < 0.5 {
        pixels.copy_from_slice(old);
        blend(pixels, ground, 2.0 * covered);
    } else {
        blend(pixels, ground, 2.0 - 2.0 * covered);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tiny_skia::Color;

    fn filled(grey: u8) -> Pixmap {
        let mut pixmap = Pixmap::new(8, 4).expect("a size");
        pixmap.fill(Color::from_rgba8(grey, grey, grey, 255));
        pixmap
    }

    #[test]
    fn words_go_into_the_ground_and_a_shared_board_stays() {
        let (old, ground) = (filled(200), filled(20));
        let whole = PixelRect { x: 0, y: 0, width: 8, height: 4 };
        let board = PixelRect { x: 2, y: 1, width: 3, height: 2 };
        let at = |covered: f32| {
            let mut pixmap = filled(220);
            fade(&mut pixmap, &old, &ground, covered, whole, Some(board));
            let red = |x, y| pixmap.pixel(x, y).expect("inside").red();
            (red(0, 0), red(3, 1), red(7, 3))
        };
        assert_eq!(at(0.0), (200, 200, 200));
        assert_eq!(at(0.5), (20, 210, 20));
        assert_eq!(at(1.0), (220, 220, 220));
        assert_eq!(at(0.25), (110, 205, 110));
    }
}
