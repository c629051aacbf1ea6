//! All that the kit is made of, and the way through a scene that most of its files take.

use super::fen;
use super::subtitles::tongue::Tongue;
use super::wording::{one_line, prose};
use crate::film::{Chapter, Film};
use crate::game::{self, Action, Board, Body, Claim, Claimed, Game, Node, NodeId, Ply, Step};
use crate::narration::transcript::Transcript;
use crate::proof::{Finding, Stipulation, Verdict};
use crate::source::{Source, Spanned};
use crate::timeline::{LineKind, Timeline};
use crate::units::{Side, Time};
use std::sync::Arc;
use std::time::Duration;

use crate::film::Profile;

/// The film in all its forms.
#[derive(Clone, Copy)]
pub struct Material<'a> {
    /// What the author wrote, the series' defaults filled in.
    pub timeline: &'a Timeline,
    /// Its chess.
    pub game: &'a Game,
    /// Its claims with their verdicts.
    pub findings: &'a [Finding],
    /// The film on its clock.
    pub film: &'a Film,
    /// What is said, and when.
    pub transcript: Option<&'a Transcript>,
    /// How long the narration is, if it can be read.
    pub narration: Option<Duration>,
}

/// What the user may choose.
#[derive(Clone)]
pub struct Wishes {
    /// How the files are named, without an ending: the timeline's own name.
    pub stem: String,
    /// The subtitles' house rules; those of the film's captions if not given, and `online` if it names none.
    pub profile: Option<&'static Profile>,
    /// Whether moves in subtitles are written with figurines, `♘f3` instead of `knight f3`.
    pub figurines: bool,
    /// The description's template; the built-in one if there is none.
    pub template: Option<Arc<Source>>,
    /// Lines for the description's `{links}`.
    pub links: Vec<String>,
    /// The finished film's file, as an editor's project shall name it: its path from the kit's folder, parted by `/`, or
    /// an address with its scheme.
    pub media: String,
    /// The narration's, in the same way; as the timeline names it if not given.
    pub narration: Option<String>,
    /// The folder of an overlay's pictures, in the same way.
    pub frames: String,
}

impl Wishes {
    /// The usual choices for a film of this name.
    pub fn of(stem: &str) -> Wishes {
        Wishes {
            stem: stem.to_owned(),
            profile: None,
            figurines: false,
            template: None,
            links: Vec::new(),
            media: format!("{stem}.mp4"),
            narration: None,
            frames: "frames".to_owned(),
        }
    }
}

/// A scene with a board of its own; a slow replay shows one that was there before.
#[derive(Clone, Copy)]
pub(super) struct Position<'a> {
    /// Index of the scene.
    pub scene: usize,
    pub chapter: &'a Chapter,
    pub board: &'a Board,
}

/// A step at its time.
#[derive(Clone, Copy)]
pub(super) struct Timed<'a> {
    pub time: Time,
    pub step: &'a Step,
}

/// A word of the film's own, on one line, if it has it.
pub(super) fn own(word: Option<&Spanned<String>>) -> Option<String> {
    word.map(|word| one_line(&word.value)).filter(|word| !word.is_empty())
}

impl<'a> Material<'a> {
    /// The film's title, or what to call it without one.
    pub(super) fn title(&self) -> &'a str {
        self.timeline.film.title.as_ref().map_or("A film about chess compositions", |title| &title.value)
    }

    /// `Lantern lessons · 4`, or as much of it as there is.
    pub(super) fn series(&self) -> String {
        let film = &self.timeline.film;
        let series = film.series.as_ref().map(|series| series.value.clone());
        let number = film.number.as_ref().map(|number| number.value.to_string());
        [series, number].into_iter().flatten().collect::<Vec<_>>().join(" · ")
    }

    /// Who is to move, in the film's own words if it has such.
    pub(super) fn who_moves(&self, side: Side) -> String {
        own(self.timeline.film.words.to_move(side)).unwrap_or_else(|| format!("{side} to move"))
    }

    /// The language its words are in, as far as it is one of those that are known by their words.
    pub(super) fn language(&self) -> Option<&'static str> {
        let texts = self.film.texts().iter().map(|text| text.text.as_str());
        let spoken = self.transcript.into_iter().flat_map(|transcript| &transcript.words).map(|word| &*word.text);
        Tongue::of(texts.flat_map(str::split_whitespace).chain(spoken)).map(|tongue| tongue.name)
    }

    /// The same as an attribute of an HTML element, a space before it; empty where the language is not known.
    pub(super) fn lang_attribute(&self) -> String {
        self.language().map_or_else(String::new, |language| format!(" lang=\"{language}\""))
    }

    pub(super) fn presenter(&self) -> Option<&'a str> {
        self.timeline.film.presenter.as_ref().map(|presenter| presenter.value.as_str())
    }

    /// Whose voice it is, if not the presenter's.
    pub(super) fn voice(&self) -> Option<&'a str> {
        self.timeline.film.voice.as_ref().map(|voice| voice.value.as_str())
    }

    pub(super) fn music(&self) -> Option<&'a str> {
        self.timeline.film.music.as_ref().map(|music| music.value.as_str())
    }

    /// How many frames of the film the narration is heard in, the last one perhaps in part.
    pub(super) fn narrated(&self) -> u64 {
        let frames = self.film.frames();
        self.narration.map_or(frames, |length| self.film.rate().frames_in(length).min(frames))
    }

    /// The scenes that pose a position, in the film's order.
    pub(super) fn positions(&self) -> impl Iterator<Item = Position<'a>> + use<'a> {
        let chapters = self.film.chapters().iter().enumerate();
        self.game.scenes.iter().zip(chapters).filter_map(|(scene, (index, chapter))| match &scene.body {
            Body::Board(board) if board.pace.is_none() && !board.nodes.is_empty() => {
                Some(Position { scene: index, chapter, board })
            }
            _ => None,
        })
    }

    /// The steps of a scene at their times.
    pub(super) fn steps(&self, scene: usize) -> impl Iterator<Item = Timed<'a>> + use<'a> {
        let steps: &'a [Step] = match self.game.scenes.get(scene).map(|scene| &scene.body) {
            Some(Body::Board(board)) => &board.steps,
            _ => &[],
        };
        let times = self.film.step_times(scene);
        steps.iter().zip(times).map(|(step, &time)| Timed { time, step })
    }

    /// What the film says where a node is on the board, as far as it is proven: of the position, or of the move to it.
    pub(super) fn proven(&self, position: &Position<'a>, node: NodeId) -> impl Iterator<Item = &'a Claim> + use<'a> {
        let (findings, scene) = (self.findings, position.scene);
        let claims = position.board.steps.iter().filter(move |step| step.node == node).flat_map(|step| &step.claims);
        let is_proven = move |claimed: &&Claimed| {
            let of_claim = |finding: &&Finding| finding.scene == scene && finding.span == claimed.span;
            findings.iter().find(of_claim).is_some_and(|finding| finding.verdict == Verdict::Proven)
        };
        claims.filter(is_proven).map(|claimed| &claimed.claim)
    }

    /// Where a scene's words were written.
    pub(super) fn scene_at(&self, scene: usize) -> &'a game::Scene {
        &self.game.scenes[scene]
    }
}

/// How a game or composition ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Outcome {
    Wins(Side),
    Draw,
    Unknown,
}

impl Outcome {
    /// PGN's termination marker (PGN standard 1994, §8.1.1.7).
    pub(super) fn marker(self) -> &'static str {
        match self {
            Outcome::Wins(Side::White) => "1-0",
            Outcome::Wins(Side::Black) => "0-1",
            Outcome::Draw => "1/2-1/2",
            Outcome::Unknown => "*",
        }
    }
}

impl<'a> Position<'a> {
    pub(super) fn root(&self) -> &'a Node {
        &self.board.nodes[0]
    }

    pub(super) fn node(&self, id: NodeId) -> &'a Node {
        &self.board.nodes[id.0]
    }

    pub(super) fn ply(&self, id: NodeId) -> Option<&'a Ply> {
        self.node(id).came.as_ref().map(|(_, ply)| ply)
    }

    pub(super) fn credit(&self) -> Option<&'a str> {
        self.board.credit.as_ref().map(|words| words.text.trim()).filter(|text| !text.is_empty())
    }

    pub(super) fn task(&self) -> Option<&'a str> {
        self.board.task.as_ref().map(|words| words.text.trim()).filter(|text| !text.is_empty())
    }

    /// Whether it begins from the initial array: a game, not a composition.
    pub(super) fn is_game(&self) -> bool {
        self.root().fen == fen::INITIAL
    }

    /// What a node leads to, the solution first, then in the order of their first showing.
    pub(super) fn children(&self, id: NodeId) -> Vec<NodeId> {
        let is_child = |child: &NodeId| self.node(*child).came.as_ref().is_some_and(|(parent, _)| *parent == id);
        let mut children: Vec<NodeId> = (id.0 + 1..self.board.nodes.len()).map(NodeId).filter(is_child).collect();
        children.sort_by_key(|child| self.node(*child).line != LineKind::Solution);
        children
    }

    /// The nodes of the main line, the start first.
    pub(super) fn main_line(&self) -> Vec<NodeId> {
        let mut line = vec![NodeId(0)];
        let mut here = NodeId(0);
        while let Some(next) = self.children(here).into_iter().find(|id| self.node(*id).line == LineKind::Solution) {
            line.push(next);
            here = next;
        }
        line
    }

    /// How it ends: as the main line does on the board, else by the stipulation, else by what is proven of the start
    /// or of the main line's end, else as the file of the game says.
    pub(super) fn outcome(&self, material: &Material<'a>) -> Outcome {
        let line = self.main_line();
        let last = line.last().copied().unwrap_or(NodeId(0));
        match self.node(last).state {
            game::State::Mate => return Outcome::Wins(self.node(last).turn.other()),
            game::State::Stalemate => return Outcome::Draw,
            _ => {}
        }
        if let Some(outcome) = self.task().and_then(|task| self.stipulated(task)) {
            return outcome;
        }
        for claim in [last, NodeId(0)].into_iter().flat_map(|node| material.proven(self, node)) {
            match claim {
                Claim::Wins(side) => return Outcome::Wins(*side),
                Claim::Draw => return Outcome::Draw,
                _ => {}
            }
        }
        self.played(last).unwrap_or(Outcome::Unknown)
    }

    /// The result of the game it comes from, where the main line is all of that game.
    fn played(&self, last: NodeId) -> Option<Outcome> {
        let roster = self.board.roster.as_ref().filter(|roster| roster.end == Some(last))?;
        let outcomes = [Outcome::Wins(Side::White), Outcome::Wins(Side::Black), Outcome::Draw];
        outcomes.into_iter().find(|outcome| roster.result.as_deref() == Some(outcome.marker()))
    }

    /// What a stipulation asks for is what happens.
    fn stipulated(&self, task: &str) -> Option<Outcome> {
        let turn = self.root().turn;
        let named = Stipulation::winner(task, turn);
        Some(match Stipulation::read(task)? {
            Stipulation::Win | Stipulation::Mate(_) => Outcome::Wins(named),
            Stipulation::Draw => Outcome::Draw,
            // In a selfmate the side to move is mated; in a helpmate whoever makes the last half-move mates.
            Stipulation::SelfMate(_) | Stipulation::ReflexMate(_) => Outcome::Wins(turn.other()),
            Stipulation::HelpMate(plies) => Outcome::Wins(if plies % 2 == 1 { turn } else { turn.other() }),
        })
    }

    /// The captions, each where it belongs among the moves, in the film's order.
    ///
    /// What is said between a return and the next move leads to that move: where it begins a variation, the words stand
    /// before it. Else they close the line that is left, for what stands there comes last before the main line goes on.
    pub(super) fn comments(&self) -> Comments {
        let none = || vec![Vec::new(); self.board.nodes.len()];
        let mut comments = Comments { before: none(), after: none() };
        // The position that was returned from, and what has been said since.
        let mut returned: Option<(NodeId, Vec<String>)> = None;
        let mut here = NodeId(0);
        let left_unplayed = |comments: &mut Comments, returned: Option<(NodeId, Vec<String>)>| {
            if let Some((left, said)) = returned {
                comments.after[left.0].extend(said);
            }
        };
        for step in &self.board.steps {
            match &step.action {
                Action::TakeBack(_) | Action::Cut => {
                    left_unplayed(&mut comments, returned.replace((here, Vec::new())));
                }
                Action::Play => {
                    if let Some((left, said)) = returned.take() {
                        let begins = self.children(here).first() != Some(&step.node);
                        let at = if begins { &mut comments.before[step.node.0] } else { &mut comments.after[left.0] };
                        at.extend(said);
                    }
                }
                Action::Stay => {}
            }
            here = step.node;
            if let Some(words) =
                step.text.as_ref().map(|words| prose(words.text.trim())).filter(|text| !text.is_empty())
            {
                match &mut returned {
                    Some((_, said)) => said.push(words),
                    None => comments.after[here.0].push(words),
                }
            }
        }
        left_unplayed(&mut comments, returned);
        comments
    }

    /// Whether it is a problem: one that asks for mate in so many moves, or, where no task says what it asks, one that
    /// comes to mate as soon as problems do.
    pub(super) fn is_problem(&self) -> bool {
        match self.task().map(Stipulation::read) {
            Some(Some(Stipulation::Win | Stipulation::Draw)) => false,
            Some(Some(_)) => true,
            Some(None) | None => {
                let line = self.main_line();
                let mates = line.last().is_some_and(|last| self.node(*last).state == game::State::Mate);
                mates && !self.is_game() && line.len() <= 2 * LONGEST_PROBLEM
            }
        }
    }
}

/// The moves of the longest mate that is taken for a problem without a word about it: the side to move has so many, and
/// the main line one node more than plies.
const LONGEST_PROBLEM: usize = 4;

/// The captions of a scene among its moves, by node.
pub(super) struct Comments {
    /// Before the move that leads to a node, which begins a variation.
    pub before: Vec<Vec<String>>,
    /// After the move that leads to a node; at the start, before any move.
    pub after: Vec<Vec<String>>,
}

/// `6.c8=R!` or `3...Rd4+`, with the author's sign.
pub(super) fn numbered(ply: &Ply) -> String {
    format!("{}{}", ply.numbered(), ply.suffix)
}
