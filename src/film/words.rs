//! Heads and cards: the words of a scene that do not move.

use super::list::ListWords;
use super::picture::{BoardPicture, CardPicture, Head, ListMove};
use super::walk::opening;
use super::{TextKind, TextUse};
use crate::game::{Board, Body, Card, Game, Scene, Words};
use crate::source::{Span, Spanned};
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
        task: setting.set(TextKind::Task, task(film, board)).unwrap_or_default(),
        side: board.nodes.first().map(|node| node.turn),
    };
    (head, setting.uses)
}

/// The task of a scene; where it has none, who is to move in the film's own words, if it has such. In ours it is said
/// where it is painted.
fn task(film: &FilmSettings, board: &Board) -> Option<Line> {
    let given = board.task.as_ref().filter(|task| !task.text.trim().is_empty());
    given.map(words).or_else(|| {
        let own = film.words.to_move(board.nodes.first()?.turn);
        own.map(|own| (own.value.clone(), Some(own.span)))
    })
}

/// The words of the list of moves, and the places of those that are the film's own.
pub(super) fn of_list(timeline: &Timeline, shown: (Time, Time)) -> (ListWords, Vec<TextUse>) {
    let own = &timeline.film.words;
    let mut setting = Setting { shown, uses: Vec::new() };
    let mut word = |kind: TextKind, own: &Option<Spanned<String>>, otherwise: &str| {
        setting.set(kind, Some(said(own.as_ref(), otherwise))).unwrap_or_default().into()
    };
    let words = ListWords {
        r#try: word(TextKind::ListWord, &own.r#try, "TRY"),
        or: word(TextKind::ListWord, &own.or, "OR"),
        stalemate: word(TextKind::ListWord, &own.stalemate, "stalemate"),
        fold: word(TextKind::FoldLine, &own.fold, ""),
    };
    (words, setting.uses)
}

/// What a card may show of the boards around it.
#[derive(Default)]
pub(super) struct Around {
    /// The board before it, at rest, and the last moves that led to it.
    pub left: Option<(BoardPicture, Vec<ListMove>)>,
}

/// A card, page by page (most have one), and its words' places.
pub(super) fn card(
    timeline: &Timeline,
    game: &Game,
    index: usize,
    card: &Card,
    around: Around,
    shown: (Time, Time),
) -> (Vec<CardPicture>, Vec<TextUse>) {
    let film = &timeline.film;
    let own = &film.words;
    let scene = &game.scenes[index];
    let name = name(timeline, index, scene);
    let text = card.text.as_ref().map(|text| (text.clone(), Some(card.span)));
    let coming =
        game.scenes[index + 1..].iter().zip(index + 1..).find_map(|(scene, at)| Some((at, scene, board(scene)?)));
    let presenter = film.presenter.as_ref().map(|presenter| (presenter.value.clone(), Some(presenter.span)));
    let mut task = None;
    let mut kicker = kicker(film);
    let count = |is: fn(&Scene) -> bool| {
        let past = game.scenes[..index].iter().filter(|scene| is(scene)).count();
        (past, game.scenes.iter().filter(|scene| is(scene)).count())
    };
    let chapters = count(is_chapter);
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
            if chapters.1 > 1 {
                kicker = Some(counted(own.chapter.as_ref(), "Chapter {n} of {count}", chapters));
            }
            task = coming.and_then(|(_, _, board)| stipulation(board));
            let coming_name = coming.and_then(|(at, scene, _)| self::name(timeline, at, scene));
            let credit = coming.and_then(|(_, _, board)| board.credit.as_ref()).map(words);
            match name.or(coming_name) {
                Some(title) => (Some(title), text.or(credit), None),
                None => (text, credit, None),
            }
        }
        CardKind::Position => {
            let positions = count(is_position);
            // A replay is no position of its own to be counted.
            if positions.1 > 1 && coming.is_some_and(|(_, scene, _)| is_position(scene)) {
                kicker = Some(counted(own.position.as_ref(), "Position {n} of {count}", positions));
            }
            let coming_name = name.or_else(|| coming.and_then(|(at, scene, _)| self::name(timeline, at, scene)));
            let stipulation = coming.and_then(|(_, _, board)| stipulation(board)).map(|(line, _)| line);
            let has_stipulation = stipulation.is_some();
            let beside = text.or_else(|| coming_name.clone().filter(|_| has_stipulation));
            task = coming.map(|(_, _, board)| (beside.unwrap_or_default(), board.nodes[0].turn));
            let credit = coming.and_then(|(_, _, board)| board.credit.as_ref()).map(words);
            (stipulation.or(coming_name), credit, None)
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
        CardKind::Credits => (name.or_else(|| Some(said(own.credits.as_ref(), "Credits"))), None, None),
    };
    let mut setting = Setting { shown, uses: Vec::new() };
    let is = |kind| card.kind == kind;
    let (left, moves) = around.left.filter(|_| is(CardKind::End)).unzip();
    let board = if is(CardKind::Position) { coming.map(|(_, _, board)| opening(&board.nodes[0])) } else { left };
    let pause = is(CardKind::Position).then(|| said(own.pause.as_ref(), "Pause and think"));
    let picture = CardPicture {
        kind: card.kind,
        kicker: setting.set(TextKind::Kicker, kicker),
        title: setting.set(TextKind::CardTitle, title).unwrap_or_default(),
        line: setting.set(TextKind::CardLine, line),
        second: setting.set(TextKind::CardLine, second),
        task: task.map(|(line, side)| (setting.set(TextKind::Task, Some(line)).unwrap_or_default(), side)),
        hero: hero(game),
        progress: is(CardKind::Chapter).then_some(chapters),
        board,
        moves: moves.unwrap_or_default(),
        rows: Vec::new(),
        pause: setting.set(TextKind::CardLine, pause),
        ring: None,
    };
    if !is(CardKind::Credits) {
        return (vec![picture], setting.uses);
    }
    let rows = credits(timeline, game, card);
    let rows: Vec<(String, String)> = rows
        .into_iter()
        .map(|(label, value)| {
            let label = setting.set(TextKind::CardLine, Some(label)).unwrap_or_default();
            (label, setting.set(TextKind::CardLine, Some(value)).unwrap_or_default())
        })
        .collect();
    let pages = page_sizes(rows.len());
    let mut rest = rows.as_slice();
    let pages = pages.into_iter().map(|size| {
        let (page, after) = rest.split_at(size);
        rest = after;
        CardPicture { rows: page.to_vec(), ..picture.clone() }
    });
    (pages.collect(), setting.uses)
}

/// Words of the film's own, or those that stand in for them.
fn said(own: Option<&Spanned<String>>, otherwise: &str) -> Line {
    own.map_or_else(|| (otherwise.to_owned(), None), |own| (own.value.clone(), Some(own.span)))
}

/// `Chapter 3 of 6`: the third when two are past.
fn counted(own: Option<&Spanned<String>>, otherwise: &str, (past, count): (usize, usize)) -> Line {
    let (text, span) = said(own, otherwise);
    (text.replace("{n}", &(past + 1).to_string()).replace("{count}", &count.to_string()), span)
}

fn board(scene: &Scene) -> Option<&Board> {
    if let Body::Board(board) = &scene.body { Some(board) } else { None }
}

fn is_chapter(scene: &Scene) -> bool {
    matches!(&scene.body, Body::Card(card) if card.kind == CardKind::Chapter)
}

fn is_position(scene: &Scene) -> bool {
    board(scene).is_some_and(|board| board.pace.is_none())
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

/// The most credits on one page.
const PAGE: usize = 12;

/// How many pages a credits card has.
pub(super) fn credit_pages(card: &Card, game: &Game) -> usize {
    // Presenter, voice and music are three at most, so that this may be one page too many, never one too few.
    let own = card.text.as_deref().unwrap_or_default().lines().count();
    page_sizes(credited(game).count() + own + 3).len()
}

/// Pages of almost the same number of rows, so that none stands nearly empty.
fn page_sizes(rows: usize) -> Vec<usize> {
    let pages = rows.div_ceil(PAGE).max(1);
    (0..pages).map(|page| rows / pages + usize::from(page < rows % pages)).collect()
}

/// The scenes whose compositions have a credit, replays of them left out.
fn credited(game: &Game) -> impl Iterator<Item = (usize, &Words)> {
    let scenes = game.scenes.iter().enumerate();
    scenes.filter_map(|(at, scene)| Some((at, board(scene).filter(|board| board.pace.is_none())?.credit.as_ref()?)))
}

/// Who made what: every composition shown, each credit once, presenter, voice and music, and what the card says itself
/// (`Label: value`, line by line). Nothing is left out.
fn credits(timeline: &Timeline, game: &Game, card: &Card) -> Vec<(Line, Line)> {
    let film = &timeline.film;
    let mut rows: Vec<(Line, Line)> = Vec::new();
    for (at, credit) in credited(game) {
        if rows.iter().all(|(_, (text, _))| *text != credit.text) {
            let name = name(timeline, at, &game.scenes[at]).unwrap_or_default();
            rows.push((name, words(credit)));
        }
    }
    let mut person = |label: Line, who: Option<&Spanned<String>>| {
        if let Some(who) = who.filter(|who| !who.value.trim().is_empty()) {
            rows.push((label, (who.value.clone(), Some(who.span))));
        }
    };
    person(said(film.words.presenter.as_ref(), "Presented by"), film.presenter.as_ref());
    let voice = film.voice.as_ref().filter(|voice| film.presenter.as_ref().is_none_or(|who| who.value != voice.value));
    person(said(film.words.voice.as_ref(), "Voice"), voice);
    person(said(film.words.music.as_ref(), "Music"), film.music.as_ref());
    for line in card.text.as_deref().unwrap_or_default().lines().filter(|line| !line.trim().is_empty()) {
        let (label, value) = line.split_once(": ").unwrap_or(("", line));
        rows.push(((label.trim().to_owned(), Some(card.span)), (value.trim().to_owned(), Some(card.span))));
    }
    rows
}

/// The piece drawn large: what a pawn becomes in this film, if not a queen; else the rook.
fn hero(game: &Game) -> Role {
    let plies = game.scenes.iter().filter_map(board).flat_map(|board| &board.nodes);
    plies.filter_map(|node| node.came.as_ref()?.1.promotion).find(|role| *role != Role::Queen).unwrap_or(Role::Rook)
}
