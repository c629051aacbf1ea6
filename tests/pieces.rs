//! Whether the twelve pieces can be told apart when they are small, blurred and badly compressed, by a judge that
//! knows nothing but the drawings (`tests/judges/pieces.py`). Needs `python3` with numpy and Pillow.

use plyreel::film::{BoardPicture, Own, Standing};
use plyreel::paint::board_alone;
use plyreel::timeline::ThemeName;
use plyreel::units::{Piece, Role, Side, Square};
use serde_json::json;
use std::fs;
use std::path::Path;
use std::process::Command;

/// The pieces' letters as in FEN, White's first.
const LETTERS: &str = "KQRBNPkqrbnp";

fn piece(letter: char) -> Piece {
    let index = LETTERS.find(letter).expect("a piece's letter");
    Piece { side: if index < 6 { Side::White } else { Side::Black }, role: Role::ALL[index % 6] }
}

/// What stands where on board number `turn`, a8 first: every piece on both colours, no two boards alike.
fn arrangement(turn: usize) -> String {
    let letter = |i: usize| LETTERS.as_bytes()[(i * 5 + i / 8 + turn * 7) % 12] as char;
    (0..64).map(|i| if (i + turn) % 5 == 4 { '.' } else { letter(i) }).collect()
}

fn board(pieces: &str) -> BoardPicture {
    let place = |i: usize| Square::from_index((7 - i / 8) * 8 + i % 8).expect("one of 64");
    let mut standing: Vec<Standing> = pieces
        .chars()
        .enumerate()
        .filter(|(_, letter)| *letter != '.')
        .map(|(i, letter)| Standing { square: place(i), piece: piece(letter), opacity: 1.0 })
        .collect();
    standing.sort_by_key(|standing| standing.square);
    BoardPicture { standing, ..BoardPicture::default() }
}

fn write(path: &Path, picture: &plyreel::paint::Pixmap) {
    let file = fs::File::create(path).expect("a file");
    let mut encoder = png::Encoder::new(file, picture.width(), picture.height());
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().expect("a header");
    writer.write_image_data(picture.data()).expect("a picture");
}

#[test]
fn small_pieces_are_told_apart_through_blur_and_compression() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut boards = Vec::new();
    for theme in [ThemeName::Dusk, ThemeName::Tide, ThemeName::Ink] {
        for square in [28_u32, 36, 48] {
            for turn in 0..5 {
                let pieces = arrangement(turn);
                let path = folder.path().join(format!("{theme}-{square}-{turn}.png"));
                write(&path, &board_alone(theme, &Own::default(), &board(&pieces), square));
                let margin = (square * 3).div_ceil(10);
                boards.push(json!({
                    "path": path.to_str(),
                    "theme": theme.to_string(),
                    "square": square,
                    "corner": [margin, margin],
                    "pieces": pieces,
                }));
            }
        }
    }
    let list = folder.path().join("boards.json");
    fs::write(&list, serde_json::to_string(&boards).expect("a list")).expect("a file");
    let judge = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/judges/pieces.py");
    let output = Command::new("python3").arg(judge).arg(&list).output().expect("this test needs python3");
    let (told, complaint) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    println!("{told}");
    assert!(output.status.success(), "{told}{complaint}\n(the judge needs `python3 -m pip install numpy pillow`)");
    assert_eq!(told.matches("named rightly").count(), 9, "three themes in three sizes");
}
