//! Finds where a film would flash, by painting what could and measuring it ([`super::flash`]).
//!
//! Painting a whole film would take far longer than reading it. Where something changes is known without painting, so
//! that first it is counted how often each place *can* change within a second: whatever appears at once counts as one
//! change, what moves or fades counts once for each seventh of a second that it takes. Only about the moments at which
//! that suffices for a quarter of a field are the frames painted, at full size, and put before the meter.

use super::Painter;
use super::flash::{Flash, FlashKind, FlashMeter, MOST_OF_FIELD, largest_share};
use super::scene;
use crate::diag::{Code, Diagnostic};
use crate::film::{BoardPicture, Body, Film, Look, Picture, ScenePicture};
use crate::units::{FrameIndex, PixelRect, Size, Time};
use std::ops::Range;
use std::sync::Arc;
use std::time::Duration;
use tiny_skia::Pixmap;

/// Changes further apart than this have nothing to do with each other.
const SECOND: Duration = Duration::from_secs(1);
/// Frames are painted from this long before a doubtful moment, so that the meter sees its changes from their beginning.
const LEAD: Duration = Duration::from_secs(2);

/// Every stretch of the film that flashes more than WCAG 2.2 (success criterion 2.3.1) allows, as an error at the cue
/// that is at work there.
pub fn flashes(film: &Film) -> Vec<Diagnostic> {
    let mut found: Vec<Diagnostic> = Vec::new();
    for frames in doubtful(film) {
        for (at, flash) in measured(film, frames) {
            found.push(report(film, at, flash));
        }
    }
    found
}

fn report(film: &Film, at: Time, flash: Flash) -> Diagnostic {
    let (what, limit) = match flash.kind {
        FlashKind::General => ("flashes", "three flashes"),
        FlashKind::Red => ("flashes red", "three red flashes"),
    };
    let share = (flash.share * 100.0).round();
    Diagnostic::error(Code::Flash, film.cause(at), format!("at {at} the film {what} more than three times in a second"))
        .label(format!("{share:.0} % of a field of view of 10° flashes at once; a quarter may"))
        .hint(format!("no more than {limit} a second (WCAG 2.2, 2.3.1): give these pictures more time, or cut once"))
}

/// The frames that must be painted to know: those about which enough of a field can have changed seven times within a
/// second.
fn doubtful(film: &Film) -> Vec<Range<u64>> {
    let mut touches = Touches::new(film);
    let rate = film.rate();
    let mut last: Option<Picture> = None;
    let mut ranges: Vec<Range<u64>> = Vec::new();
    for frame in restless(film) {
        let picture = film.frame(FrameIndex(frame));
        let at = rate.start_of(FrameIndex(frame));
        let enough = match &last {
            Some(before) => touches.add(before, &picture, at),
            None => false,
        };
        last = Some(picture);
        if enough {
            let start = rate.first_at(at - LEAD).0;
            match ranges.last_mut() {
                Some(range) if range.end >= start => range.end = frame + 1,
                _ => ranges.push(start..frame + 1),
            }
        }
    }
    ranges
}

/// The frames that differ from the one before, and the first.
fn restless(film: &Film) -> impl Iterator<Item = u64> + '_ {
    let moving = film.runs(FrameIndex(0)..FrameIndex(film.frames())).filter(|run| !run.still);
    moving.flat_map(|run| run.frames.start.0..run.frames.end.0)
}

/// Paints and measures some frames: the first moment of every flash, those within a second of the last taken for one.
fn measured(film: &Film, frames: Range<u64>) -> Vec<(Time, Flash)> {
    let look = film.look();
    let mut painter = Painter::new(look);
    let mut meter = FlashMeter::new(look.size);
    let mut pixmap = Pixmap::new(look.size.width, look.size.height).expect("a film's size is never zero");
    let mut last: Option<Picture> = None;
    let mut found: Vec<(Time, Flash)> = Vec::new();
    let mut latest: Option<Time> = None;
    let moving = film.runs(FrameIndex(frames.start)..FrameIndex(frames.end)).filter(|run| !run.still);
    let moving = moving.flat_map(|run| run.frames.start.0..run.frames.end.0);
    for frame in std::iter::once(frames.start).chain(moving.filter(|&frame| frame > frames.start)) {
        let picture = film.frame(FrameIndex(frame));
        let changed = match &last {
            Some(last) => painter.damage(last, &picture),
            None => vec![super::tile::whole(look.size)],
        };
        painter.paint_within(&picture, &mut pixmap, &changed);
        last = Some(picture);
        let at = film.rate().start_of(FrameIndex(frame));
        if let Some(flash) = meter.see(&pixmap, &changed, at) {
            match (latest, found.last_mut()) {
                (Some(latest), Some((_, known))) if latest + SECOND > at => {
                    known.share = known.share.max(flash.share);
                }
                _ => found.push((at, flash)),
            }
            latest = Some(at);
        }
    }
    found
}

/// How often each place can have changed. A place is a square of the board or smaller.
struct Touches {
    look: Look,
    painter: Painter,
    columns: usize,
    rows: usize,
    places: Vec<Place>,
    /// How long a frame is on screen.
    frame: Duration,
    /// Which way the board's light last went.
    veil: f32,
}

#[derive(Clone, Copy)]
struct Place {
    /// The last seven changes counted, oldest first.
    counted: [Time; 7],
    /// When it was last touched, counted or not.
    touched: Time,
}

/// How something changes.
#[derive(Clone, Copy, PartialEq)]
enum Way {
    /// At once, or so many times over.
    Times(usize),
    /// Over several frames.
    Smoothly,
}

/// Places along the frame's longer side.
const PLACES: u32 = 48;
const NEVER: Time = Time::from_micros(i64::MIN / 4);
/// What goes on changing counts again after this: seven times a second.
const GOES_ON: Duration = Duration::from_micros(1_000_000 / 7);

impl Touches {
    fn new(film: &Film) -> Touches {
        let look = film.look();
        let Size { width, height } = look.size;
        let longer = width.max(height).max(1);
        let count = |side: u32| (side * PLACES / 3).div_ceil(longer).max(1) as usize * 3;
        let (columns, rows) = (count(width), count(height));
        Touches {
            look,
            painter: Painter::new(look),
            columns,
            rows,
            places: vec![Place { counted: [NEVER; 7], touched: NEVER }; columns * rows],
            frame: film.rate().start_of(FrameIndex(1)).since(Time::ZERO),
            veil: 0.0,
        }
    }

    /// Counts what can change from one frame to the next. Whether enough of a field can now have flashed.
    fn add(&mut self, before: &Picture, after: &Picture, at: Time) -> bool {
        let whole = super::tile::whole(self.look.size);
        let begins = match (&before.beneath, &after.beneath) {
            (Some((a, _)), Some((b, _))) => !Arc::ptr_eq(a, b) && a != b,
            (None, Some(_)) => true,
            _ => false,
        };
        if begins {
            self.add_fade(after, at);
        }
        match (&before.body, &after.body) {
            (Body::Scene(old), Body::Scene(new)) if old.head == new.head => self.add_scene(old, new, at),
            (Body::Card(old), Body::Card(new)) if old == new => {}
            _ if begins => {}
            (Body::Card(old), Body::Card(new)) if old.is_but_for_ring(new) => {
                for rect in self.painter.damage(before, after) {
                    self.touch(rect, Way::Smoothly, at);
                }
            }
            _ => self.touch(whole, Way::Times(1), at),
        }
        self.is_enough(at)
    }

    /// Counts a fade that begins, however many frames it takes: what was there goes into the ground and what comes rises
    /// from it, which is down and up again where both are light. Only a board that both show goes one way.
    fn add_fade(&mut self, after: &Picture, at: Time) {
        let whole = super::tile::whole(self.look.size);
        let shared = after.beneath.as_ref().and_then(|(old, _)| self.painter.shared_board(old, &after.body));
        let Some(board) = shared.and_then(|board| super::tile::intersection(board, whole)) else {
            return self.touch(whole, Way::Times(2), at);
        };
        let (right, bottom) = (board.x + board.width, board.y + board.height);
        let beside = |x: u32, y: u32, width: u32, height: u32| PixelRect { x, y, width, height };
        for rect in [
            beside(0, 0, whole.width, board.y),
            beside(0, bottom, whole.width, whole.height - bottom),
            beside(0, board.y, board.x, board.height),
            beside(right, board.y, whole.width - right, board.height),
        ] {
            self.touch(rect, Way::Times(2), at);
        }
        self.touch(board, Way::Times(1), at);
    }

    /// Counts the changes of a scene, each by itself: the board frame by frame, what goes one way in every pixel once.
    fn add_scene(&mut self, old: &ScenePicture, new: &ScenePicture, at: Time) {
        let alone = |change: &dyn Fn(&mut ScenePicture)| {
            let mut scene = old.clone();
            change(&mut scene);
            scene
        };
        let (drained, dimmed) = (old.board.drained, old.board.dimmed);
        let moved = alone(&|scene| scene.board = BoardPicture { drained, dimmed, ..new.board.clone() });
        let moving =
            |board: &BoardPicture| !(board.gliding.is_empty() && board.sliced.is_empty()) || board.promoting.is_some();
        let jumps = old.board.standing != new.board.standing && !moving(&old.board) && !moving(&new.board);
        self.touch_damage(old, &moved, if jumps { Way::Times(1) } else { Way::Smoothly }, at);
        let way = (new.board.drained - drained) + (new.board.dimmed - dimmed);
        if way != 0.0 && way.signum() != self.veil {
            let veiled =
                alone(&|scene| (scene.board.drained, scene.board.dimmed) = (new.board.drained, new.board.dimmed));
            self.touch_damage(old, &veiled, Way::Times(1), at);
        }
        self.veil = if way == 0.0 { 0.0 } else { way.signum() };
        // The old chip goes and the new one comes; words that scroll past cover little of what they pass.
        if old.list != new.list {
            let listed = alone(&|scene| {
                (scene.list, scene.list_before) = (Arc::clone(&new.list), new.list_before.clone());
            });
            self.touch_damage(old, &listed, Way::Times(3), at);
        }
        // Words go and words come.
        if old.caption.text != new.caption.text {
            let captioned = alone(&|scene| scene.caption = new.caption.clone());
            self.touch_damage(old, &captioned, Way::Times(2), at);
        }
    }

    fn touch_damage(&mut self, old: &ScenePicture, new: &ScenePicture, way: Way, at: Time) {
        for rect in scene::damage(old, new, &mut self.painter.kit) {
            self.touch(rect, way, at);
        }
    }

    fn touch(&mut self, rect: PixelRect, way: Way, at: Time) {
        let Size { width, height } = self.look.size;
        let range = |start: u32, length: u32, side: u32, count: usize| {
            let place = |pixel: u32| pixel.min(side) as usize * count;
            place(start) / side as usize..place(start + length).div_ceil(side as usize)
        };
        let columns = range(rect.x, rect.width, width, self.columns);
        for row in range(rect.y, rect.height, height, self.rows) {
            for place in &mut self.places[row * self.columns..][columns.clone()] {
                let goes_on = place.touched + self.frame + Duration::from_micros(1) >= at;
                let count = match way {
                    Way::Times(count) => count,
                    Way::Smoothly if goes_on && place.counted[6] + GOES_ON > at => 0,
                    Way::Smoothly => 1,
                };
                place.touched = at;
                for _ in 0..count {
                    place.counted.rotate_left(1);
                    place.counted[6] = at;
                }
            }
        }
    }

    /// Whether more than a quarter of any field has been touched seven times within the last second.
    fn is_enough(&self, at: Time) -> bool {
        let is_restless = |Place { counted, .. }: &Place| counted[0] + SECOND > counted[6] && counted[6] + SECOND > at;
        largest_share(self.columns, self.rows, |index| is_restless(&self.places[index])) > MOST_OF_FIELD
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::game::{PgnFiles, resolve};
    use crate::source::Source;
    use crate::timeline::parse;
    use std::fmt::Write;

    fn film(text: &str) -> Film {
        let (timeline, mistakes) = parse(&Source::new("film.toml", text));
        assert!(mistakes.is_empty(), "{mistakes:?}");
        let (game, mistakes) = resolve(&timeline, &PgnFiles::new());
        assert!(mistakes.is_empty(), "{mistakes:?}");
        Film::new(&timeline, &game, None).0
    }

    fn head(theme: &str) -> String {
        format!("[film]\ntitle = \"A film\"\nframe = \"640x360\"\ntheme = \"{theme}\"\n")
    }

    const KING: &str = "8/8/8/3k4/8/8/8/K7 w - - 0 1";

    /// Boards and cards in turn, each on screen for so long.
    fn cut(theme: &str, millis: u32, count: u32) -> String {
        let mut text = head(theme);
        for i in 0..count {
            let at = f64::from(i * millis) / 1000.0;
            let what = if i % 2 == 0 { format!("fen = \"{KING}\"") } else { "card = \"chapter\"".to_owned() };
            writeln!(text, "[[scene]]\nname = \"{i}\"\nat = {at}\n{what}").expect("a string takes any text");
        }
        text
    }

    #[test]
    fn cuts_ten_times_a_second_are_refused_at_their_scene() {
        for theme in ["dusk", "tide"] {
            let text = cut(theme, 100, 30);
            let found = flashes(&film(&text));
            assert_eq!(found.len(), 1, "{found:?}");
            assert_eq!(found[0].code, Code::Flash);
            assert!(
                found[0].message.ends_with("the film flashes more than three times in a second"),
                "{}",
                found[0].message
            );
            let share: u32 = found[0].primary.text.split(' ').next().and_then(|n| n.parse().ok()).expect("a share");
            assert!((50..=100).contains(&share), "{theme}: {share} %");
            // The seventh change is the eighth picture, on screen from .7 s.
            assert!(found[0].message.starts_with("at 0:00.7"), "{}", found[0].message);
            let line = text[..found[0].primary.span.start].matches("[[scene]]").count();
            assert!((7..=8).contains(&line), "scene {line}");
        }
    }

    #[test]
    fn cuts_three_times_a_second_are_allowed() {
        assert!(flashes(&film(&cut("dusk", 340, 20))).is_empty());
    }

    /// Marks on every square that come and go ten times a second: the film's own rule keeps them standing, and what is
    /// painted shows it.
    #[test]
    fn marks_called_for_too_often_stand_and_hatched_boards_are_no_flash() {
        let names: Vec<String> = (0..64).map(|i| format!("{}{}", char::from(b'a' + i % 8), i / 8 + 1)).collect();
        let squares = names.join(" ");
        let mut text = head("ink") + &format!("[[scene]]\nat = 0\nfen = \"{KING}\"\ncues = [\n");
        for i in 0..20 {
            writeln!(text, "{{ at = {}, marks = \"trap {squares}\", for = \"50ms\" }},", f64::from(i) / 10.0)
                .expect("a string takes any text");
        }
        text.push_str("{ at = 6, marks = \"trap a1\" }]\n");
        assert!(flashes(&film(&text)).is_empty());
    }

    /// Five cuts between a board and words, then a fade from the board by way of the ground to another one: seven
    /// changes within a second, two of which are the fade's.
    #[test]
    fn a_fade_by_way_of_the_ground_goes_down_and_up_again() {
        let mut text = cut("dusk", 100, 6);
        let (first, rest) = text.split_once("[[scene]]").map(|(a, b)| (a.to_owned(), b.to_owned())).expect("scenes");
        // The scenes in turn begin with words here.
        text =
            first + "[[scene]]" + &rest.replace("card = \"chapter\"", "?").replace(&format!("fen = \"{KING}\""), "!");
        text = text.replace('?', &format!("fen = \"{KING}\"")).replace('!', "card = \"chapter\"");
        writeln!(text, "[[scene]]\nat = 0.6\ncard = \"position\"\n[[scene]]\nat = 4\nfen = \"{KING}\"")
            .expect("a string");
        let found = flashes(&film(&text));
        assert_eq!(found.len(), 1, "{found:?}");
    }

    /// A countdown melts one tick after another; nothing of it needs to be painted to know that it does not flash.
    #[test]
    fn a_countdown_needs_no_painting() {
        let text = head("dusk")
            + &format!(
                "[[scene]]\nat = 0\ncard = \"position\"\nring = \"20s\"\n[[scene]]\nat = 22\nfen = \"{KING}\"\n"
            );
        let film = film(&text);
        assert!(film.runs(FrameIndex(0)..FrameIndex(film.frames())).filter(|run| !run.still).count() > 0);
        assert!(doubtful(&film).is_empty(), "{:?}", doubtful(&film));
    }

    #[test]
    fn ordinary_play_needs_no_painting() {
        let text = head("dusk")
            + "[[scene]]\nat = 0\nfen = \"8/8/1K6/8/1P6/5k2/8/1r6 w - - 0 1\"\ncues = [\n\
               { at = 1, play = \"b5 Rc1 Ka7 Ke4 b6 Kd5 b7 Kc6\", every = \"0.9s\", text = \"Now everybody runs.\" },\n\
               { at = 9, back = \"start\" },\n{ at = 12, text = \"\" }]\n[[scene]]\nat = 14\ncard = \"end\"\n";
        let film = film(&text);
        assert!(doubtful(&film).is_empty(), "{:?}", doubtful(&film));
    }
}
