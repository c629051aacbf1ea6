//! The plan as a timeline's text: one cue a line, a comment beside each doubtful one.

use super::plan::{Cue, Scene};
use crate::source::Spanned;
use crate::timeline::{self, At, FilmSettings, Ghost, SceneBody, Timeline};
use crate::units::Time;
use std::fmt::Write;

/// What stands at the head of every draft.
const HEAD: &str = "\
# A draft out of the narration. A cue with `# ?` beside it is doubtful: how sure it is, what was heard, what it may be.
# Correct it and take the comment away; `plyreel draft --pin` keeps it and listens again to the rest.
";

/// How scenes are named and what they show; one entry a study.
#[derive(Clone, Debug, Default)]
pub struct Heading {
    /// The chapter's title.
    pub name: Option<String>,
    /// The PGN file and the game in it, if the study comes from one.
    pub pgn: Option<(String, u32)>,
    /// The stipulation.
    pub task: Option<String>,
    /// Author, source, year.
    pub credit: Option<String>,
}

/// Something said that found no place, for a comment of its own.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Remark {
    pub at: Time,
    pub words: String,
}

impl Remark {
    /// The comment on a line of its own.
    pub fn comment(&self) -> String {
        format!("# ? {} \"{}\": no legal move was found for this", self.at, self.words)
    }
}

/// The whole file.
pub(super) fn write(
    film: &FilmSettings,
    headings: &[Heading],
    fens: &[String],
    scenes: &[Scene],
    remarks: &[Remark],
) -> String {
    let mut out = HEAD.to_owned();
    let settings = timeline::print(&Timeline { film: film.clone(), ..Timeline::default() });
    if !settings.is_empty() {
        out.push('\n');
        out.push_str(&settings);
    }
    let mut told = 0;
    let mut shown = vec![0_u32; headings.len()];
    for (number, scene) in scenes.iter().enumerate() {
        out.push('\n');
        shown[scene.study] += 1;
        out.push_str(&head(scene, &headings[scene.study], &fens[scene.study], shown[scene.study]));
        let next = scenes.get(number + 1).map(|next| next.at);
        let until = remarks.partition_point(|remark| next.is_none_or(|next| remark.at < next)).max(told);
        list(&mut out, &scene.cues, &remarks[told..until]);
        told = until;
    }
    out
}

/// A scene's settings, above its cues.
fn head(scene: &Scene, heading: &Heading, fen: &str, count: u32) -> String {
    let plain = |text: &String| Spanned::new(text.clone(), 0..0);
    let body = match (&scene.start, &heading.pgn) {
        (Some(position), _) => SceneBody::Position { fen: Some(Spanned::new(position.fen(), 0..0)) },
        (None, Some((file, game))) => {
            SceneBody::Pgn { file: plain(file), game: (*game > 1).then(|| Spanned::new(*game, 0..0)) }
        }
        (None, None) => SceneBody::Position { fen: Some(Spanned::new(fen.to_owned(), 0..0)) },
    };
    let name = heading.name.as_ref().map(|name| match count {
        1 => name.clone(),
        count => format!("{name} ({count})"),
    });
    let from_file = matches!(body, SceneBody::Pgn { .. });
    let scene = timeline::Scene {
        name: name.as_ref().map(plain),
        at: Some(Spanned::new(At::Clock(scene.at), 0..0)),
        task: heading.task.as_ref().filter(|_| !from_file).map(plain),
        credit: heading.credit.as_ref().filter(|_| !from_file).map(plain),
        body,
        text: None,
        ring: None,
        cues: Vec::new(),
        span: crate::source::Span::default(),
    };
    timeline::print(&Timeline { scenes: vec![scene], ..Timeline::default() })
}

/// The cues, with the remarks that fall between them.
fn list(out: &mut String, cues: &[Cue], remarks: &[Remark]) {
    let mut remarks = remarks.iter().peekable();
    if cues.is_empty() && remarks.peek().is_none() {
        return;
    }
    out.push_str("cues = [\n");
    let remark = |out: &mut String, remark: &Remark| {
        writeln!(out, "  {}", remark.comment()).expect("a string takes any text");
    };
    for cue in cues {
        while let Some(early) = remarks.next_if(|early| early.at < cue.at) {
            remark(out, early);
        }
        writeln!(out, "  {}", line(cue)).expect("a string takes any text");
    }
    for late in remarks {
        remark(out, late);
    }
    out.push_str("]\n");
}

/// One cue and what there is to doubt about it.
pub(super) fn line(cue: &Cue) -> String {
    let printed = timeline::print_cue(&written(cue));
    match &cue.doubt {
        None => format!("{printed},"),
        Some(doubt) => format!("{printed},  # {}", doubt.comment()),
    }
}

/// A cue as the timeline's own value.
fn written(cue: &Cue) -> timeline::Cue {
    let spanned = |text: &str| Spanned::new(text.to_owned(), 0..0);
    let carried = cue.carried.clone().unwrap_or_default();
    let own = cue.claims.iter().map(|claim| spanned(claim));
    let more = carried.claims.iter().filter(|claim| !cue.claims.contains(&claim.value.as_str())).cloned();
    timeline::Cue {
        at: Some(Spanned::new(At::Clock(cue.at), 0..0)),
        back: cue.back.clone().map(|back| Spanned::new(back, 0..0)),
        play: cue.play.iter().map(|san| spanned(san)).collect(),
        line: cue.line.map(|line| Spanned::new(line, 0..0)),
        label: cue.label.as_deref().map(spanned),
        claims: own.chain(more).collect(),
        ghost: cue.ghost.clone().map(|(side, san)| Spanned::new(Ghost { side, san }, 0..0)).or(carried.ghost),
        text: cue.text.as_deref().map(spanned).or(carried.text),
        ..carried
    }
}
