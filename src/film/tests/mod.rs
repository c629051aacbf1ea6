//! Films written as the timeline's values, and what they show.

mod calm;
mod cards;
mod clock;
mod laws;
mod lines;
mod list;
mod motion;

use super::{BoardPicture, Body, Film, Picture, ScenePicture};
use crate::diag::Diagnostic;
use crate::game::{PgnFiles, resolve};
use crate::source::{Source, Span, Spanned};
use crate::timeline::{
    Arrow, At, Back, CardKind, Cue, FilmSettings, LineKind, Mark, MarkRole, Scene, SceneBody, Timeline, parse,
};
use crate::units::{FrameRate, Square, Time};
use std::time::Duration;

/// F. Saavedra's win after G. E. Barbier, 1895 (from memory).
const SAAVEDRA: &str = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1";

/// Values in order, each at a place of its own.
#[derive(Default)]
struct Writer(usize);

impl Writer {
    fn span(&mut self) -> Span {
        self.0 += 10;
        Span::new(self.0, self.0 + 5)
    }

    fn at<T>(&mut self, value: T) -> Spanned<T> {
        let span = self.span();
        Spanned::new(value, span)
    }
}

/// A timeline under construction.
#[derive(Default)]
struct Draft {
    writer: Writer,
    timeline: Timeline,
}

impl Draft {
    fn new(settings: impl FnOnce(&mut FilmSettings)) -> Draft {
        let mut draft = Draft::default();
        settings(&mut draft.timeline.film);
        draft
    }

    fn scene(mut self, at: Option<At>, body: SceneBody) -> Draft {
        let (at, span) = (at.map(|at| self.writer.at(at)), self.writer.span());
        let (task, credit, text) = (None, None, None);
        self.timeline.scenes.push(Scene {
            name: None,
            at,
            body,
            task,
            credit,
            text,
            ring: None,
            cues: Vec::new(),
            span,
        });
        self
    }

    fn position(mut self, at: Option<u32>, fen: &str) -> Draft {
        let fen = Some(self.writer.at(fen.to_owned()));
        self.scene(at.map(clock), SceneBody::Position { fen })
    }

    fn card(mut self, at: Option<u32>, kind: CardKind, text: &str) -> Draft {
        let kind = self.writer.at(kind);
        let text = self.writer.at(text.to_owned());
        let mut draft = self.scene(at.map(clock), SceneBody::Card(kind));
        draft.last().text = Some(text);
        draft
    }

    fn last(&mut self) -> &mut Scene {
        self.timeline.scenes.last_mut().expect("a scene comes before what is in it")
    }

    fn named(mut self, name: &str) -> Draft {
        let name = self.writer.at(name.to_owned());
        self.last().name = Some(name);
        self
    }

    /// A cue; `at` in milliseconds.
    fn cue(mut self, at: impl Into<Option<u32>>, fill: impl FnOnce(&mut Cue)) -> Draft {
        let mut cue = Cue { span: self.writer.span(), ..Cue::default() };
        cue.at = at.into().map(|at| self.writer.at(clock(at)));
        fill(&mut cue);
        self.last().cues.push(cue);
        self
    }

    fn play(self, at: impl Into<Option<u32>>, moves: &str) -> Draft {
        let moves = moves.split(' ').map(|word| Spanned::new(word.to_owned(), 0..0)).collect();
        self.cue(at, |cue| cue.play = moves)
    }

    fn back(self, at: impl Into<Option<u32>>, back: Back) -> Draft {
        self.cue(at, |cue| cue.back = Some(Spanned::new(back, 0..0)))
    }

    fn film(&self, narration: Option<u32>) -> (Film, Vec<Diagnostic>) {
        let (game, mistakes) = resolve(&self.timeline, &PgnFiles::new());
        assert!(mistakes.is_empty(), "{mistakes:#?}");
        Film::new(&self.timeline, &game, narration.map(|ms| Duration::from_millis(ms.into())))
    }

    /// A film without mistakes.
    fn good(&self) -> Film {
        let (film, mistakes) = self.film(None);
        assert!(mistakes.is_empty(), "{mistakes:#?}");
        film
    }
}

/// A film read from a text, which may only be doubted.
fn of_text(text: &str, narration: Option<u32>) -> (Film, Vec<Diagnostic>) {
    let (timeline, mistakes) = parse(&Source::new("film.toml", text));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (game, mistakes) = resolve(&timeline, &PgnFiles::new());
    assert!(mistakes.is_empty(), "{mistakes:?}");
    Film::new(&timeline, &game, narration.map(|ms| Duration::from_millis(ms.into())))
}

/// The same without any doubt, where no narration is heard.
fn good_text(text: &str) -> Film {
    let (film, doubts) = of_text(text, None);
    assert!(doubts.is_empty(), "{doubts:?}");
    film
}

fn clock(ms: u32) -> At {
    At::Clock(ms_time(ms))
}

fn ms_time(ms: u32) -> Time {
    Time::from_millis(ms.into())
}

fn marks(role: MarkRole, squares: &str) -> Vec<Spanned<Mark>> {
    let squares = squares.split(' ').map(str::to_owned).collect();
    vec![Spanned::new(Mark { role, squares }, 0..0)]
}

fn arrow(from: &str, to: &str) -> Spanned<Arrow> {
    Spanned::new(Arrow { plan: false, side: None, from: from.to_owned(), to: to.to_owned() }, 0..0)
}

fn line(kind: LineKind) -> Spanned<LineKind> {
    Spanned::new(kind, 0..0)
}

fn square(name: &str) -> Square {
    Square::parse(name).expect("a test names squares that are there")
}

fn scene(picture: Picture) -> ScenePicture {
    match picture.body {
        Body::Scene(scene) => *scene,
        Body::Card(card) => panic!("a board was expected, not {card:?}"),
    }
}

/// The board at a time in milliseconds.
fn board(film: &Film, ms: u32) -> BoardPicture {
    scene(film.at(ms_time(ms))).board
}

fn rate(num: u32, den: u32) -> Spanned<FrameRate> {
    Spanned::new(FrameRate::new(num, den).expect("a test's rate is a rate"), 0..0)
}

/// Saavedra's study as a presenter would tell it, without times.
fn untimed() -> Draft {
    Draft::new(|film| {
        film.title = Some(Spanned::new("The longer road".to_owned(), 0..1));
        film.series = Some(Spanned::new("Lantern lessons".to_owned(), 1..2));
        film.number = Some(Spanned::new(4, 2..3));
    })
    .card(None, CardKind::Title, "One pawn and a long walk")
    .position(None, SAAVEDRA)
    .named("The first position")
    .play(None, "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+")
    .cue(None, |cue| {
        cue.play = vec![Spanned::new("Kc2".to_owned(), 0..0), Spanned::new("Rd4!".to_owned(), 0..0)];
        cue.label = Some(Spanned::new("crossroads".to_owned(), 0..0));
        cue.marks = marks(MarkRole::Trap, "b1 b2");
        cue.marks.extend(marks(MarkRole::Key, "c4"));
        cue.arrows = vec![arrow("c7", "c8"), arrow("d4", "c4")];
        cue.text = Some(Spanned::new("Why not a queen at once?".to_owned(), 0..0));
    })
    .cue(None, |cue| {
        cue.play = "c8=Q? Rc4+ Qxc4".split(' ').map(|word| Spanned::new(word.to_owned(), 0..0)).collect();
        cue.line = Some(line(LineKind::Try));
        cue.text = Some(Spanned::new("Stalemate.".to_owned(), 0..0));
    })
    .back(None, Back::Label("crossroads".to_owned()))
    .cue(None, |cue| {
        cue.play = "c8=R! Ra4 Kb3".split(' ').map(|word| Spanned::new(word.to_owned(), 0..0)).collect();
        cue.line = Some(line(LineKind::Solution));
        cue.marks = marks(MarkRole::Threat, "a4 a1");
        cue.text = Some(Spanned::new(String::new(), 0..0));
    })
    .card(None, CardKind::End, "Next week: a king on two roads")
}
