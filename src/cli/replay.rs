//! `plyreel replay`: one line in slow motion, without the voice, to go round and round.

use super::args::{Caching, Format, Overrides, Talk, heading};
use super::failure::Failure;
use super::inputs;
use super::levels::Levels;
use super::load::{self, Loaded};
use super::options;
use super::output::Output;
use super::progress::Progress;
use super::proving::Published;
use super::render::{self, Order};
use super::report;
use super::signal;
use crate::animation::{self, AnimationError, Form};
use crate::diag::{Code, Diagnostic, nearest};
use crate::film::Film;
use crate::game::{self, Body};
use crate::mux::Container;
use crate::paint;
use crate::source::{Span, Spanned};
use crate::timeline::{FrameShape, Replay, SceneBody};
use crate::units::{FrameIndex, FrameRate};
use clap::{Args, ValueHint};
use serde_json::json;
use std::mem;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Lines (columns of a tall frame) of an animated picture, if the film has more and nobody says: what a post shows.
const POST_LINES: u32 = 540;
/// Frames a second of a GIF, if the film has more than it can show: its delays are hundredths of a second.
const GIF_RATE: u32 = 25;

#[derive(Args, Debug)]
pub struct ReplayArguments {
    /// The timeline; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// Whose line: a scene with a board, or a replay scene with its own line and pace [default: the only scene that has
    /// the line]
    #[arg(long, value_name = "NAME", value_hint = ValueHint::Other, help_heading = heading::MADE)]
    pub scene: Option<String>,
    /// Which line: `solution`, `try`, or a label at which it ends [default: solution]
    #[arg(long, value_name = "LINE", value_hint = ValueHint::Other, help_heading = heading::MADE)]
    pub line: Option<String>,
    /// Speed against the ordinary glide, 0.1 to 1 [default: 0.35]
    #[arg(long, value_name = "PACE", value_parser = pace, help_heading = heading::MADE)]
    pub pace: Option<f64>,
    /// With the captions that the line has in the film
    #[arg(long, help_heading = heading::MADE)]
    pub captions: bool,
    /// Where to write; .mp4, .webm, .mkv or .ivf, or an animated .webp, .png (also .apng) or .gif; `-` is a
    /// Matroska clip on standard output [default: the timeline's name with -replay.mp4, beside it]
    #[arg(short, long, value_name = "OUT", value_hint = ValueHint::FilePath, help_heading = heading::MADE)]
    pub output: Option<PathBuf>,
    #[command(flatten)]
    pub overrides: Overrides,
    #[command(flatten)]
    pub published: Published,
    #[command(flatten)]
    pub caching: Caching,
}

/// What is written.
#[derive(Clone, Copy)]
enum Sort {
    Clip(Container),
    Animation(Form),
}

fn pace(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(pace) if (0.1..=1.0).contains(&pace) => Ok(pace),
        _ => Err("a pace is a number from 0.1 to 1; 0.35 is about a third of the ordinary speed".to_owned()),
    }
}

/// Makes the replay.
pub fn run(arguments: &ReplayArguments, talk: &Talk) -> Result<(), Failure> {
    let began = Instant::now();
    let path = arguments.output.clone().unwrap_or_else(|| usual_path(&arguments.file));
    let sort = sort(&path)?;
    let proving = arguments.published.proving(arguments.caching.no_cache);
    let mut loaded = load::load(&arguments.file, &options::settings(&arguments.overrides)?, false, &proving)?;
    // The voice is not needed here, so it need not be there.
    let voice = loaded.timeline.film.narration.as_ref().map(|name| name.span);
    loaded.diagnostics.retain(|found| found.code != Code::Media || Some(found.primary.span) != voice);
    report::before_making(talk, &loaded)?;
    let before = mem::take(&mut loaded.diagnostics);
    let mut loaded = alone(arguments, sort, &before, loaded)?;
    report::before_making(talk, &loaded)?;
    loaded.diagnostics.splice(..0, before);

    inputs::spare(&path, &loaded)?;
    let film = &loaded.film;
    let (frames, seconds) = (film.frames(), || began.elapsed().as_secs_f64());
    let mut object = report::film_json(&loaded);
    let told = match sort {
        Sort::Clip(container) => {
            let whole = FrameIndex(0)..FrameIndex(frames);
            let cache = render::open_cache(&arguments.caching, talk);
            let orders = Order::of(&loaded, &whole, &path, container, Levels::default())?;
            render::films(&orders, render::settings(&super::args::Wish::default(), None), cache.as_ref(), talk)?;
            let paths: Vec<String> = orders.iter().map(|order| order.path.display().to_string()).collect();
            object["made"] = json!({ "path": paths[0], "frames": frames, "took": seconds() });
            if let Some(key) = paths.get(1) {
                object["made"]["key_path"] = json!(key);
            }
            Told { paths, what: format!("{frames} frames") }
        }
        Sort::Animation(form) => {
            let made = animate(film, form, &path, talk)?;
            object["made"] =
                json!({ "path": path.to_string_lossy(), "frames": frames, "pictures": made.cels, "took": seconds() });
            let colours = match made.colours {
                Some((kept, painted)) if kept < painted => format!(", {kept} of {painted} colours"),
                _ => String::new(),
            };
            Told { paths: vec![path.display().to_string()], what: format!("{} pictures{colours}", made.cels) }
        }
    };
    if path == Path::new("-") {
        return Ok(());
    }
    if talk.format == Format::Json {
        return report::print(&report::json_text(&object));
    }
    let length = film.rate().start_of(FrameIndex(frames));
    report::say(talk, &format!("{length} once round, {}, made in {:.1} s", told.what, seconds()));
    report::print(&(told.paths.join("\n") + "\n"))
}

/// What is said at the end.
struct Told {
    paths: Vec<String>,
    what: String,
}

fn animate(film: &Film, form: Form, path: &Path, talk: &Talk) -> Result<animation::Made, Failure> {
    if let Some(why) = form.refuses(film) {
        return Err(Failure::Usage(why));
    }
    let stop = signal::listen();
    let mut output = Output::create(path)?;
    let progress = Progress::new(talk, "painting", 2 * film.frames());
    let made = animation::write(film, form, &mut output, &|frame| progress.set(frame), stop);
    drop(progress);
    let made = made.map_err(|error| match error {
        AnimationError::Stopped => Failure::Stopped,
        AnimationError::Write(error) => Failure::write(path, error),
    })?;
    output.keep()?;
    Ok(made)
}

/// The loaded film with nothing in it but the replay; its diagnostics are those that were not told before.
fn alone(arguments: &ReplayArguments, sort: Sort, told: &[Diagnostic], mut loaded: Loaded) -> Result<Loaded, Failure> {
    let Wanted { head, shown, replay } = wanted(arguments, &loaded)?;
    let look = loaded.film.look();
    let film = &mut loaded.timeline.film;
    if let Sort::Animation(form) = sort {
        let shape = film.frame.as_ref().map(|frame| frame.value).unwrap_or_default();
        let lines = if shape == FrameShape::Tall { look.size.width } else { look.size.height };
        let free = matches!(shape, FrameShape::Free { .. });
        if arguments.overrides.height.is_none() && !free && lines > POST_LINES {
            film.height = Some(Spanned::new(POST_LINES, 0..0));
        }
        if form == Form::Gif && arguments.overrides.fps.is_none() && form.refuses(&loaded.film).is_some() {
            film.fps = FrameRate::new(GIF_RATE, 1).map(|rate| Spanned::new(rate, 0..0));
        }
    }
    let round = Film::round(&loaded.timeline, &loaded.game, (head, shown), &replay, arguments.captions);
    let (mut film, mut diagnostics) = round.map_err(|mistake| no_line(&mistake))?;
    film.wear(look.own.pieces, look.own.fonts);
    diagnostics.extend(paint::legibility(&film));
    diagnostics.extend(paint::flashes(&film));
    let same = |one: &Diagnostic, other: &Diagnostic| {
        (one.severity, one.code, &one.message) == (other.severity, other.code, &other.message)
    };
    diagnostics.retain(|found| !told.iter().any(|told| same(told, found)));
    loaded.findings.retain(|finding| finding.scene == shown);
    (loaded.film, loaded.diagnostics) = (film, diagnostics);
    (loaded.recording, loaded.posters) = (None, Vec::new());
    Ok(loaded)
}

fn no_line(mistake: &Diagnostic) -> Failure {
    let hint = mistake.hints.first().map(|hint| format!("; {hint}")).unwrap_or_default();
    Failure::Usage(format!("--line: {}{hint}", mistake.message))
}

/// What is to be shown.
struct Wanted {
    /// The scene whose name, task and credit stand beside it.
    head: usize,
    /// The scene whose line it is.
    shown: usize,
    /// Which line, at which pace.
    replay: Replay,
}

fn wanted(arguments: &ReplayArguments, loaded: &Loaded) -> Result<Wanted, Failure> {
    let scenes = &loaded.timeline.scenes;
    let name_of = |index: usize| scenes[index].name.as_ref().map(|name| name.value.clone());
    let is_board = |index: &usize| matches!(loaded.game.scenes[*index].body, Body::Board(_));
    let boards: Vec<usize> = (0..scenes.len()).filter(is_board).collect();
    let head = match &arguments.scene {
        Some(wanted) => {
            let named = boards.iter().copied().find(|index| name_of(*index).as_ref() == Some(wanted));
            let names: Vec<String> = boards.iter().filter_map(|index| name_of(*index)).collect();
            named.ok_or_else(|| no_scene(wanted, &names))?
        }
        None => only_with_line(arguments, loaded, &boards)?,
    };
    let (shown, own) = match &scenes[head].body {
        SceneBody::Replay(replay) => {
            let shown = boards.iter().copied().find(|index| name_of(*index).as_ref() == Some(&replay.scene.value));
            (shown.unwrap_or(head), Some(replay))
        }
        _ => (head, None),
    };
    let spoken = arguments.line.as_ref().map(|line| Spanned::new(line.clone(), 0..0));
    let replay = Replay {
        scene: Spanned { value: name_of(shown).unwrap_or_default(), span: Span::default() },
        line: spoken.or_else(|| own.and_then(|own| own.line.clone())),
        pace: arguments.pace.map(|pace| Spanned::new(pace, 0..0)).or_else(|| own.and_then(|own| own.pace)),
    };
    Ok(Wanted { head, shown, replay })
}

fn no_scene(wanted: &str, names: &[String]) -> Failure {
    let missing = format!("--scene: no scene with a board is called `{wanted}`");
    Failure::Usage(match nearest(wanted, names.iter().map(String::as_str)) {
        Some(near) => format!("{missing}; did you mean `{near}`?"),
        None if names.is_empty() => format!("{missing}; none has a name"),
        None => format!("{missing}; there are: {}", names.join(", ")),
    })
}

/// The scene that has the line asked for, if there is just one; replays have none of their own.
fn only_with_line(arguments: &ReplayArguments, loaded: &Loaded, boards: &[usize]) -> Result<usize, Failure> {
    let replay = Replay {
        scene: Spanned { value: String::new(), span: Span::default() },
        line: arguments.line.as_ref().map(|line| Spanned::new(line.clone(), 0..0)),
        pace: None,
    };
    let has_line = |index: &usize| match &loaded.game.scenes[*index].body {
        Body::Board(board) => board.pace.is_none() && game::round(&replay, board, Span::default(), false).is_ok(),
        Body::Card(_) => false,
    };
    let word = arguments.line.as_deref().unwrap_or("solution");
    match boards.iter().copied().filter(has_line).collect::<Vec<_>>()[..] {
        [only] => Ok(only),
        [] if boards.is_empty() => Err(Failure::Usage("the film has no scene with a board".to_owned())),
        [] => {
            let labels: Vec<&str> = loaded.film.label_names().collect();
            let known = [&["solution", "try"], &labels[..]].concat();
            let hint = match nearest(word, known.into_iter().filter(|known| *known != word)) {
                Some(near) => format!("did you mean `{near}`?"),
                None if labels.contains(&word) => "no move leads to that label".to_owned(),
                None => "a line is `solution`, `try`, or a label with moves before it".to_owned(),
            };
            Err(Failure::Usage(format!("--line: no scene has a line `{word}`; {hint}")))
        }
        ref several => {
            let name = |index: &usize| match &loaded.game.scenes[*index].name {
                Some(name) => name.clone(),
                None => format!("the {} scene (give it a `name`)", ordinal(index + 1)),
            };
            let names: Vec<String> = several.iter().map(name).collect();
            let message =
                format!("{} scenes have a line `{word}`; give --scene NAME: {}", several.len(), names.join(", "));
            Err(Failure::Usage(message))
        }
    }
}

/// `1st`, `2nd`, `3rd`, `4th`, `11th`.
fn ordinal(number: usize) -> String {
    let ending = match (number % 10, number % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{number}{ending}")
}

fn sort(path: &Path) -> Result<Sort, Failure> {
    if path == Path::new("-") {
        return Ok(Sort::Clip(Container::Matroska));
    }
    if let Some(form) = Form::from_path(path) {
        return Ok(Sort::Animation(form));
    }
    match Container::from_path(path) {
        Ok(container) => Ok(Sort::Clip(container)),
        Err(_) => Err(Failure::Usage(format!(
            "a replay is a clip (.mp4, .webm, .mkv, .ivf) or an animated picture (.webp, .png, .apng, .gif), and `{}` \
             ends as neither",
            path.display()
        ))),
    }
}

/// `film-replay.mp4`, beside the timeline.
fn usual_path(file: &Path) -> PathBuf {
    let name = if file == Path::new("-") { Path::new("film") } else { file };
    let stem = name.file_stem().unwrap_or_default().to_string_lossy();
    file.with_file_name(format!("{stem}-replay.mp4"))
}
