//! Heads and cards: the words of a scene that do not move.

use super::picture::{BoardPicture, CardPicture, Head};
use super::{TextKind, TextUse};
use crate::game::{Board, Body, Card, Game, Scene, Words};
use crate::source::Span;
use crate::timeline::{CardKind, FilmSettings, Timeline};
use crate::units::{Role, Side, Time};

/// Words with the place that gave them, if the timeline wrote them.
type Line = (String, Option<Span>);

/// Series and number: `Lantern lessons · 4`.
fn kicker(film: &FilmSettings) -> Option<Line> {
    let number = film.number.as_ref().map(|number| (number.value.to_string(), Some(number.span)));
    match (&film.series, number) {
        (Some(series), Some((number, _))) => Some((format!("{} · {number}", series.value), Some(series.span))),
        (Some(series), None) => Some((series.value.clone(), Some(series.span))),
        (None, number) => number,
    }
}

fn film_title(film: &FilmSettings) -> Option<Line> {
    film.title.as_ref().map(|title| (title.value.clone(), Some(title.span)))
}

fn words(words: &Words) -> Line {
    (words.text.clone(), Some(words.span))
}

/// A scene's name with the place of the name, or of the scene if it has it from elsewhere.
fn name(timeline: &Timeline, index: usize, scene: &Scene) -> Option<Line> {
    let span = timeline.scenes.get(index).and_then(|scene| scene.name.as_ref()).map_or(scene.span, |name| name.span);
    scene.name.as_ref().map(|name| (name.clone(), Some(span)))
}

/// Collects a picture's words and, beside them, where they came from.
struct Setting {
    shown: (Time, Time),
    uses: Vec<TextUse>,
}

impl Setting {
    fn set(&mut self, kind: TextKind, line: Option<Line>) -> Option<String> {
        let (text, span) = line.filter(|(text, _)| !text.trim().is_empty())?;
        if let Some(span) = span {
            self.uses.push(TextUse { kind, text: text.clone(), span, shown: self.shown });
        }
        Some(text)
    }
}

/// The head of a board scene, and its words' places.
pub(super) fn head(
    timeline: &Timeline,
    index: usize,
    scene: &Scene,
    board: &Board,
    shown: (Time, Time),
) -> (Head, Vec<TextUse>) {
    let film = &timeline.film;
    let mut setting = Setting { shown, uses: Vec::new() };
    let head = Head {
        kicker: setting.set(TextKind::Kicker, kicker(film)).unwrap_or_default(),
        title: setting
            .set(TextKind::Title, name(timeline, index, scene).or_else(|| film_title(film)))
            .unwrap_or_default(),
        credit: setting.set(TextKind::Credit, board.credit.as_ref().map(words)).unwrap_or_default(),
        task: setting.set(TextKind::Task, board.task.as_ref().map(words)).unwrap_or_default(),
        side: board.nodes.first().map(|node| node.turn),
    };
    (head, setting.uses)
}

/// A card, and its words' places. `left` is the board before it, at rest.
pub(super) fn card(
    timeline: &Timeline,
    game: &Game,
    index: usize,
    card: &Card,
    left: Option<BoardPicture>,
    shown: (Time, Time),
) -> (CardPicture, Vec<TextUse>) {
    let film = &timeline.film;
    let scene = &game.scenes[index];
    let name = name(timeline, index, scene);
    let text = card.text.as_ref().map(|text| (text.clone(), Some(card.span)));
    let coming =
        game.scenes[index + 1..].iter().zip(index + 1..).find_map(|(scene, at)| Some((at, scene, board(scene)?)));
    let presenter = film.presenter.as_ref().map(|presenter| (presenter.value.clone(), Some(presenter.span)));
    let mut task = None;
    let (title, line, second) = match card.kind {
        CardKind::Title => {
            let mut boards = game.scenes.iter().filter_map(board).filter(|board| board.pace.is_none());
            if let (Some(only), None) = (boards.next(), boards.next()) {
                task = stipulation(only);
            }
            let title = film_title(film).or_else(|| text.clone()).or(name);
            let second = text.filter(|(text, _)| title.as_ref().is_none_or(|(title, _)| title != text));
            (title, presenter, second)
        }
        CardKind::Chapter => {
            task = coming.and_then(|(_, _, board)| stipulation(board));
            let coming_name = coming.and_then(|(at, scene, _)| self::name(timeline, at, scene));
            let credit = coming.and_then(|(_, _, board)| board.credit.as_ref()).map(words);
            match name.or(coming_name) {
                Some(title) => (Some(title), text.or(credit), None),
                None => (text, credit, None),
            }
        }
        CardKind::End => {
            let (first, rest) = split(text);
            if name.is_some() {
                (name, first, rest)
            } else {
                let (line, second) = split(rest);
                (first.or_else(|| film_title(film)), line.or_else(|| presenter.clone()), second)
            }
        }
        CardKind::Credits => (name.or_else(|| film_title(film)), text.or_else(|| credits(game)), presenter),
    };
    let chapters = game.scenes.iter().filter(|scene| is_chapter(scene)).count();
    let past = game.scenes[..index].iter().filter(|scene| is_chapter(scene)).count();
    let mut setting = Setting { shown, uses: Vec::new() };
    let picture = CardPicture {
        kind: card.kind,
        kicker: setting.set(TextKind::Kicker, kicker(film)),
        title: setting.set(TextKind::CardTitle, title).unwrap_or_default(),
        line: setting.set(TextKind::CardLine, line),
        second: setting.set(TextKind::CardLine, second),
        task: task.and_then(|(line, side)| Some((setting.set(TextKind::Task, Some(line))?, side))),
        hero: hero(game),
        progress: (card.kind == CardKind::Chapter).then_some((past, chapters)),
        board: left.filter(|_| card.kind == CardKind::End),
    };
    (picture, setting.uses)
}

fn board(scene: &Scene) -> Option<&Board> {
    if let Body::Board(board) = &scene.body { Some(board) } else { None }
}

fn is_chapter(scene: &Scene) -> bool {
    matches!(&scene.body, Body::Card(card) if card.kind == CardKind::Chapter)
}

fn stipulation(board: &Board) -> Option<(Line, Side)> {
    Some((words(board.task.as_ref()?), board.nodes.first()?.turn))
}

/// The first line of a text, and the rest.
fn split(text: Option<Line>) -> (Option<Line>, Option<Line>) {
    let Some((text, span)) = text else { return (None, None) };
    match text.trim().split_once('\n') {
        Some((first, rest)) => (Some((first.trim().to_owned(), span)), Some((rest.trim().to_owned(), span))),
        None => (Some((text, span)), None),
    }
}

/// Whose compositions were shown, each once.
fn credits(game: &Game) -> Option<Line> {
    let mut credits: Vec<&Words> = Vec::new();
    for credit in game.scenes.iter().filter_map(board).filter_map(|board| board.credit.as_ref()) {
        if credits.iter().all(|other| other.text != credit.text) {
            credits.push(credit);
        }
    }
    let span = credits.first()?.span;
    Some((credits.iter().map(|credit| credit.text.as_str()).collect::<Vec<_>>().join("; "), Some(span)))
}

/// The piece drawn large: what a pawn becomes in this film, if not a queen; else the rook.
fn hero(game: &Game) -> Role {
    let plies = game.scenes.iter().filter_map(board).flat_map(|board| &board.nodes);
    plies.filter_map(|node| node.came.as_ref()?.1.promotion).find(|role| *role != Role::Queen).unwrap_or(Role::Rook)
}
