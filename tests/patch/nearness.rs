//! What may differ from the painted picture, and by how much.

use plyreel::encode::Yuv;
use plyreel::encode::patch::{Choices, PatchCoder};
use plyreel::units::{FrameRate, Size};

const SIZE: Size = Size { width: 256, height: 128 };

/// Left: slow gradients in all planes, dithered. Right: discs with soft edges, on a chequered ground.
fn picture() -> Yuv {
    let mut picture = Yuv::black(SIZE);
    for (plane, samples) in picture.planes_mut().into_iter().enumerate() {
        let scale = if plane == 0 { 1 } else { 2 };
        let across = SIZE.width as usize / scale;
        for (i, sample) in samples.iter_mut().enumerate() {
            let (x, y) = (i % across * scale, i / across * scale);
            *sample = if x < 128 {
                (60 + plane * 20 + (x + y + (x * 5 + y * 3) % 16) / 32) as u8
            } else {
                let ground = [[150.0, 120.0, 140.0], [90.0, 140.0, 115.0]][(x / 32 + y / 32) % 2][plane];
                let piece = [30.0, 125.0, 131.0][plane];
                let (dx, dy) = ((x % 48) as f32 - 24.0, (y % 48) as f32 - 24.0);
                let outside = ((dx * dx + dy * dy).sqrt() - 15.0).clamp(0.0, 3.0) / 3.0;
                (piece + (ground - piece) * outside) as u8
            };
        }
    }
    picture
}

/// The squared errors of a cell of 8×8 pixels: in luma, and in both chroma planes; and the greatest error in luma.
fn errors(a: &Yuv, b: &Yuv, column: usize, row: usize) -> (u32, u32, u8) {
    let (mut squares, mut greatest) = ([0u32; 3], 0);
    for (plane, (a, b)) in a.planes().into_iter().zip(b.planes()).enumerate() {
        let side = if plane == 0 { 8 } else { 4 };
        let across = SIZE.width as usize * side / 8;
        for y in row * side..(row + 1) * side {
            for x in column * side..(column + 1) * side {
                let difference = a[y * across + x].abs_diff(b[y * across + x]);
                squares[plane] += u32::from(difference).pow(2);
                greatest = if plane == 0 { greatest.max(difference) } else { greatest };
            }
        }
    }
    (squares[0], squares[1] + squares[2], greatest)
}

#[test]
fn gradients_are_exact_and_edges_within_their_bounds() {
    let picture = picture();
    let mut coder = PatchCoder::new(SIZE, FrameRate::new(30, 1).unwrap()).unwrap();
    let bytes = coder.key(&picture).data.len();
    let shown = coder.reconstruction();
    let Choices { most_error, most_chroma_error, .. } = Choices::default();
    let (mut near, mut worst_chroma) = (0, 0);
    for row in 0..16 {
        for column in 0..32 {
            let (luma, chroma, greatest) = errors(&picture, &shown, column, row);
            if column < 16 {
                assert_eq!((luma, chroma), (0, 0), "a gradient at {column}, {row}");
            }
            assert!(luma <= most_error || greatest <= 2, "{luma} at {column}, {row}, no pixel by more than {greatest}");
            worst_chroma = worst_chroma.max(chroma);
            near += usize::from(luma + chroma > 0);
        }
    }
    // The rounding of the means comes on top.
    assert!((1..=most_chroma_error * 3 / 2).contains(&worst_chroma), "{worst_chroma}");
    assert!(near > 100, "only {near} cells are not exact");
    coder.choose(Choices { steep: u8::MAX, ..Choices::default() });
    let exact = coder.key(&picture).data.len();
    assert!(bytes * 10 < exact * 9, "{bytes} bytes, exact where eight colours can be {exact}");
}

#[test]
fn a_hatch_is_continued() {
    let mut picture = Yuv::black(SIZE);
    let [luma, ..] = picture.planes_mut();
    for (i, sample) in luma.iter_mut().enumerate() {
        let (x, y) = (i % SIZE.width as usize, i / SIZE.width as usize);
        *sample = [226, 226, 226, 211, 156, 156, 211, 226, 226, 226, 226, 226, 197, 151, 165][(x + y) % 15];
    }
    let mut coder = PatchCoder::new(SIZE, FrameRate::new(30, 1).unwrap()).unwrap();
    let bytes = coder.key(&picture).data.len();
    let shown = coder.reconstruction();
    for (row, column) in (0..16).flat_map(|row| (0..32).map(move |column| (row, column))) {
        let (luma, ..) = errors(&picture, &shown, column, row);
        assert!(luma <= Choices::default().most_error, "{luma} at {column}, {row}");
    }
    coder.choose(Choices { predict: false, ..Choices::default() });
    let drawn = coder.key(&picture).data.len();
    assert!(bytes * 3 < drawn * 2, "{bytes} bytes, drawn anew everywhere {drawn}");
}
