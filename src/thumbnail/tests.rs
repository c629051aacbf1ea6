use super::*;
use crate::film::{BoardPicture, KingMoment};
use crate::game::{PgnFiles, resolve};
use crate::paint::{POSTER, Panel, poster, word_cover};
use crate::source::Source;
use crate::timeline::{ThemeName, parse};
use crate::units::Square;

/// Barbier and Saavedra 1895 near its end, a race made up for this, and a crowded board.
const FILM: &str = r#"
[film]
title = "Three scenes"

[[scene]]
name = "Study"
fen  = "8/2P5/8/8/3r4/8/2K5/k7 w - - 0 6"
cues = [
  { at = 1, ghost = "c8=Q", text = "A queen?", label = "queen" },
  { at = 4, play = "c8=R Ra4 Kb3", every = "2s", line = "solution" },
]

[[scene]]
name = "Race"
at   = 10
fen  = "8/8/8/8/8/1K4p1/8/7k w - - 0 1"
cues = [{ at = 11, arrows = ["b3 c2", "b g3 g2"], label = "late" }]

[[scene]]
name = "Mate"
at   = 15
fen  = "8/8/8/8/8/1K6/3R4/k7 w - - 0 1"
cues = [{ at = 16, play = "Rd1#", label = "mate" }]

[[scene]]
name = "Crowd"
at   = 20
fen  = "r3k2r/pppq1ppp/2npbn2/2b1p3/2B1P3/2NPBN2/PPPQ1PPP/R3K2R w KQkq - 0 8"

[[scene]]
at   = 25
card = "end"
text = "Good night"
"#;

fn of(wishes: &str) -> (Vec<Poster>, Vec<Diagnostic>) {
    in_film(&format!("{FILM}\n{wishes}"))
}

fn in_film(text: &str) -> (Vec<Poster>, Vec<Diagnostic>) {
    let (timeline, mistakes) = parse(&Source::new("film.toml", text));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (game, mistakes) = resolve(&timeline, &PgnFiles::new());
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (film, mistakes) = Film::new(&timeline, &game, None);
    assert!(mistakes.is_empty(), "{mistakes:?}");
    posters(&timeline, &film)
}

fn wish(lines: &str) -> (Vec<Poster>, Vec<Diagnostic>) {
    of(&format!("[[thumbnail]]\n{lines}\n"))
}

fn only(lines: &str) -> Poster {
    let (mut posters, found) = wish(lines);
    assert!(found.is_empty(), "{found:?}");
    assert_eq!(posters.len(), 1);
    posters.remove(0)
}

fn refusal(lines: &str) -> Diagnostic {
    let (_, mut found) = wish(lines);
    assert_eq!(found.len(), 1, "{found:?}");
    found.remove(0)
}

fn accented(poster: &Poster) -> Vec<&str> {
    poster.words.iter().filter(|word| word.accented).map(|word| word.text.as_str()).collect()
}

/// The square's rectangle in the poster: left, top, right, bottom.
fn place(poster: &Poster, square: &str) -> [i32; 4] {
    let square = Square::parse(square).expect("a square");
    let side = poster.crop.square as i32;
    let x = poster.crop.x + i32::from(square.file()) * side;
    let y = poster.crop.y + i32::from(7 - square.rank()) * side;
    [x, y, x + side, y + side]
}

/// Inside but for a hair that no piece reaches: where the board's edge is shown the other side loses as much.
fn is_inside([left, top, right, bottom]: [i32; 4]) -> bool {
    left >= -6 && top >= -6 && right <= POSTER.width as i32 + 6 && bottom <= POSTER.height as i32 + 6
}

#[test]
fn the_accent_is_the_starred_words_with_what_clings_to_them_else_the_last() {
    assert_eq!(accented(&only("moment = \"queen\"\nwords = \"Not a *queen*!\"")), ["queen!"]);
    assert_eq!(accented(&only("moment = \"queen\"\nwords = \"*Not a* queen\"")), ["Not", "a"]);
    assert_eq!(accented(&only("moment = \"mate\"\nwords = \"No way out\"")), ["out"]);
    let error = refusal("moment = \"mate\"\nwords = \"No *way out\"");
    assert_eq!(error.code, Code::BadValue);
}

#[test]
fn what_is_pointed_at_is_seen_as_near_as_can_be() {
    let poster = only("moment = \"queen\"\nwords = \"Not a *queen*\"\narrows = [\"c7 c8\"]");
    assert!(poster.crop.square >= 178, "two squares of one file are shown at the nearest");
    for square in ["c7", "c8"] {
        let place = place(&poster, square);
        assert!(is_inside(place) && place[0] > 634, "{square} at {place:?}");
    }
    let far = only("moment = \"queen\"\nwords = \"Not a *queen*\"\narrows = [\"c7 c8\"]\nmarks = [\"threat a1\"]");
    assert!(far.crop.square < 100, "from the first rank to the eighth");
    assert!(is_inside(place(&far, "a1")) && is_inside(place(&far, "c8")));
}

#[test]
fn the_film_s_own_arrows_and_ghosts_count_where_the_thumbnail_has_none() {
    let poster = only("moment = \"queen\"\nwords = \"Why not?\"");
    assert_eq!(poster.board.ghosts.len(), 1);
    assert!(is_inside(place(&poster, "c8")));
    let late = only("moment = \"late\"\nwords = \"Too late?\"");
    assert_eq!(late.board.arrows.len(), 2);
    let own = only("moment = \"late\"\nwords = \"Too late?\"\narrows = [\"h1 h2\"]");
    assert_eq!(own.board.arrows.len(), 1);
}

#[test]
fn the_design_suits_what_is_shown_unless_one_is_wished_for() {
    let panel = |lines: &str| only(lines).panel;
    assert!(matches!(panel("moment = \"queen\"\nwords = \"Why not?\""), Panel::Left { .. }));
    assert!(matches!(panel("moment = \"late\"\nwords = \"Too late?\""), Panel::Above { .. }));
    assert_eq!(panel("moment = \"mate\"\nwords = \"No way out\""), Panel::Portrait(Square::parse("a1").unwrap()));
    assert!(matches!(panel("moment = \"mate\"\nwords = \"No way out\"\ndesign = \"split\""), Panel::Left { .. }));
    assert_eq!(panel("moment = \"late\""), Panel::None);
}

/// Hosts lay the running time over the lower right corner: 12 % of the width and of the height.
#[test]
fn no_word_reaches_into_the_corner_of_the_running_time_or_over_the_edge() {
    let (right, below) = (POSTER.width * 88 / 100, POSTER.height * 88 / 100);
    let words = [
        "Not a *queen*!",
        "Checkmate",
        "No way *out*",
        "What a *night*",
        "Ещё один *ход*",
        "Why? Why? *Why?*",
        "Jjgyq",
    ];
    for words in words {
        for design in ["split", "portrait", "band"] {
            let (posters, found) = wish(&format!("scene = \"Crowd\"\nwords = \"{words}\"\ndesign = \"{design}\""));
            if found.iter().any(|error| error.code == Code::LongText) {
                continue;
            }
            let cover = word_cover(&posters[0]);
            let mut ink = 0;
            for (i, pixel) in cover.pixels().iter().enumerate().filter(|(_, pixel)| pixel.alpha() > 0) {
                let (x, y) = (i as u32 % POSTER.width, i as u32 / POSTER.width);
                assert!(x < right || y < below, "`{words}` in a {design} has ink at {x}, {y}");
                assert!(
                    (16..POSTER.width - 16).contains(&x) && (16..POSTER.height - 16).contains(&y),
                    "`{words}` in a {design} has ink at {x}, {y}"
                );
                if let Panel::Left { top, bottom } = posters[0].panel {
                    let cut = top + (bottom - top) * y as f32 / POSTER.height as f32;
                    assert!((x as f32) < cut - 12.0, "`{words}` in a {design} touches the cut at {x}, {y}");
                }
                if let Panel::Above { left, right } = posters[0].panel {
                    let cut = left + (right - left) * x as f32 / POSTER.width as f32;
                    assert!((y as f32) < cut - 4.0, "`{words}` in a {design} touches the cut at {x}, {y}");
                }
                ink += u64::from(pixel.alpha());
            }
            assert!(ink / 255 > 8_000, "`{words}` in a {design} is set large, and has {} pixels", ink / 255);
        }
    }
}

#[test]
fn what_cannot_be_shown_is_refused_at_its_place() {
    let long = refusal("scene = \"Crowd\"\nwords = \"Unfathomable *complications*\"");
    assert_eq!((long.code, long.primary.text.as_str()), (Code::LongText, "2 words, 28 characters"));
    let many = refusal(
        "scene = \"Crowd\"\nwords = \"one two three four five six seven eight nine ten eleven twelve thirteen\"",
    );
    assert_eq!(many.code, Code::LongText);
    assert_eq!(refusal("scene = \"Crowd\"\nwords = \"漢\"").code, Code::MissingGlyph);
    assert_eq!(refusal("at = 26\nwords = \"x\"").message, "the thumbnail's moment shows no board");
    assert!(refusal("at = \"9:00\"\nwords = \"x\"").message.ends_with("is outside the film"));
    assert!(refusal("scene = \"Race\"\nat = 2\nwords = \"x\"").message.ends_with("is outside the scene"));
}

#[test]
fn a_moment_in_a_glide_is_shown_when_the_piece_has_arrived() {
    let poster = only("at = 4.1\nwords = \"A rook!\"\ntheme = \"tide\"");
    assert!(poster.board.gliding.is_empty() && poster.board.promoting.is_none());
    assert_eq!(poster.board.plinth, Square::parse("c8"));
    assert_eq!(poster.theme, ThemeName::Tide);
}

/// Two kings and a rook, and another scene right behind; the moves come closer than they need.
const HURRIED: &str = r#"
[film]
title = "A race"
[[scene]]
name = "First"
at   = 0
fen  = "8/8/8/8/8/1K6/3R4/k7 w - - 0 1"
cues = [
  { at = 1, play = "Rd8", label = "far" },
  { at = 1.1, play = "Kb1" },
  { at = 1.95, play = "Rd1#", marks = ["key d1"], label = "mate" },
]
[[scene]]
name = "Second"
at   = 2
fen  = "8/8/8/3k4/8/8/8/K7 w - - 0 1"
"#;

#[test]
fn a_moment_has_its_own_position_at_rest_however_soon_the_next_one_comes() {
    let board = |wish: &str| {
        let (mut posters, found) = in_film(&format!("{HURRIED}\n[[thumbnail]]\n{wish}\n"));
        assert!(found.is_empty(), "{found:?}");
        posters.remove(0).board
    };
    let stands = |board: &BoardPicture, at: &str| {
        board.standing.iter().any(|standing| Some(standing.square) == Square::parse(at) && standing.opacity == 1.0)
    };
    let far = board("moment = \"far\"");
    assert!(stands(&far, "d8") && stands(&far, "a1") && far.gliding.is_empty(), "{far:?}");
    for wish in ["moment = \"mate\"", "scene = \"First\"\nat = 1.97", "scene = \"First\"\nat = 2"] {
        let mate = board(wish);
        assert!(
            stands(&mate, "d1") && mate.gliding.is_empty() && mate.plinth == Square::parse("d1"),
            "{wish}: {mate:?}"
        );
        assert!(matches!(mate.king, Some(KingMoment::Mate { shut: 1.0, .. })), "{wish}: {:?}", mate.king);
        assert!(mate.marks.iter().all(|mark| (mark.enter, mark.opacity) == (1.0, 1.0)), "{wish}");
    }
}

#[test]
fn nothing_pointed_at_stands_where_the_running_time_is_laid() {
    let film =
        "[film]\ntitle = \"A race\"\n[[scene]]\nname = \"Race\"\nat = 0\nfen = \"8/8/1K6/8/1P6/5k2/8/1r6 w - - 0 1\"\n";
    for (arrows, design) in [
        ("\"b4 b5\", \"b f3 e4\"", "split"),
        ("\"b4 b5\", \"b f3 e4\"", "band"),
        ("\"b b1 e1\"", "split"),
        ("\"b f3 g2\"", "split"),
    ] {
        let (posters, found) = in_film(&format!(
            "{film}[[thumbnail]]\nscene = \"Race\"\nwords = \"Too *late?*\"\narrows = [{arrows}]\ndesign = \"{design}\"\n"
        ));
        assert!(found.is_empty(), "{found:?}");
        let poster = &posters[0];
        for square in poster.board.arrows.iter().flat_map(|arrow| [arrow.from, arrow.to]) {
            let [left, top, right, bottom] = place(poster, &square.to_string());
            let air = (right - left) / 10;
            let (x, y) = (POSTER.width as i32 * 88 / 100, POSTER.height as i32 * 88 / 100);
            assert!(
                right - air <= x + 1 || bottom - air <= y + 1,
                "{square} at {left}, {top} to {right}, {bottom} ({arrows} in a {design})"
            );
        }
    }
}

#[test]
fn words_that_run_both_ways_are_refused_and_glyphs_are_sought_in_the_film_s_own_fonts() {
    let (_, found) = wish("moment = \"mate\"\nwords = \"Mat שלום\"");
    assert!(found.iter().any(|error| error.code == Code::MixedDirections), "{found:?}");
    let missing = refusal("moment = \"mate\"\nwords = \"漢\"");
    assert!(missing.message.starts_with("no bundled font can draw U+6F22"), "{}", missing.message);
    assert!(missing.hints.iter().any(|hint| hint.contains("[film] fonts")), "{:?}", missing.hints);
}

#[test]
fn the_same_wish_gives_the_same_pixels() {
    let wish = "moment = \"late\"\nwords = \"Too *late?*\"";
    let (one, other) = (poster(&only(wish)), poster(&only(wish)));
    assert!(one.data() == other.data());
    assert!(one.pixels().iter().all(|pixel| pixel.alpha() == 255), "a poster is opaque");
}

#[test]
fn a_thumbnail_finds_the_scene_of_its_name() {
    let nameless = "[[scene]]\nat = 0\ncues = [{ at = 1, play = \"e4\" }]\n\n[[scene]]\nname = \"Position\"\nat = 5\n\
                    fen = \"8/8/1KP5/3r4/8/8/8/k7 w - - 0 1\"\ncues = [{ at = 6, play = \"c7\" }]\n";
    for moment in ["", "at = 5.5\n"] {
        let (posters, found) = in_film(&format!("{nameless}[[thumbnail]]\nscene = \"Position\"\n{moment}"));
        assert!(found.is_empty() && posters.len() == 1, "{found:?}");
        assert_eq!(posters[0].board.standing.len(), 4);
    }
}

#[test]
fn what_leaves_is_not_on_a_thumbnail() {
    let film = "[[scene]]\ncues = [{ at = 1, ghost = \"e4\", marks = \"key d4\", for = \"2s\" }]\n";
    let seen = |at: &str| {
        let (posters, found) = in_film(&format!("{film}[film]\nends = \"0:09\"\n[[thumbnail]]\nat = {at}\n"));
        assert!(found.is_empty(), "{found:?}");
        (posters[0].board.marks.len(), posters[0].board.ghosts.len())
    };
    assert_eq!((seen("1.05"), seen("2.9"), seen("3.1")), ((1, 1), (1, 1), (0, 0)));
    let (posters, _) = in_film(&format!("{film}[film]\nends = \"0:09\"\n[[thumbnail]]\nat = 1.05\n"));
    assert!(posters[0].board.ghosts.iter().all(|ghost| ghost.enter == 1.0));
    // In a calm film, where the next move comes before all of it is there.
    let hurried = film.replace(", for = \"2s\" }", " }, { at = 1.1, play = \"d4\" }");
    let (posters, _) = in_film(&format!("[film]\nmotion = \"calm\"\n{hurried}[[thumbnail]]\nat = 1.05\n"));
    assert_eq!((posters[0].board.marks.len(), posters[0].board.ghosts.len()), (1, 1));
}
