//! `plyreel replay`: one line in slow motion, without the voice, to go round and round.

use super::args::{Caching, Format, Overrides, Talk};
use super::failure::Failure;
use super::levels::Levels;
use super::load::{self, Loaded};
use super::options;
use super::output::{Output, folder_of};
use super::progress::Progress;
use super::render::{self, Order};
use super::report;
use super::signal;
use crate::animation::{self, AnimationError, Form};
use crate::diag::{Diagnostic, nearest};
use crate::film::Film;
use crate::game::Body;
use crate::mux::Container;
use crate::paint;
use crate::source::{Span, Spanned};
use crate::timeline::{FrameShape, LineKind, Replay, SceneBody};
use crate::units::{FrameIndex, FrameRate};
use clap::{Args, ValueHint};
use serde_json::json;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// What `plyreel replay --help` ends with.
pub const HELP: &str = "\
Examples:
  plyreel replay film.toml                                film-replay.mp4, where one scene has a solution
  plyreel replay film.toml --scene \"The first position\" -o slow.mp4
  plyreel replay film.toml --scene \"The first position\" --line try --pace 0.2 -o try.webm
  plyreel replay film.toml --frame square -o post.webp    a picture that moves, for posts
  plyreel replay film.toml --height 360 -o post.gif

It ends as it begins, so it goes round without a jump. An animated .webp or .png shows the painted pixels exactly; a
.gif has 256 colours. They are 540 lines high unless told otherwise.";

/// Lines of an animated picture if nobody says: what a post shows of it.
const POST_LINES: u32 = 540;
/// Pictures a second of a GIF if nobody says: its delays are hundredths of a second.
const GIF_RATE: u32 = 25;

#[derive(Args, Debug)]
pub struct ReplayArguments {
    /// The timeline; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// Whose line: a scene with a board, or a replay scene with its own line and pace [default: the only one with a
    /// solution]
    #[arg(long, value_name = "NAME")]
    pub scene: Option<String>,
    /// Which line: `solution`, `try`, or a label at which it ends [default: solution]
    #[arg(long, value_name = "LINE")]
    pub line: Option<String>,
    /// Speed against the ordinary glide, 0.1 to 1 [default: 0.35]
    #[arg(long, value_name = "PACE", value_parser = pace)]
    pub pace: Option<f64>,
    /// With the captions that the line has in the film
    #[arg(long)]
    pub captions: bool,
    /// Where to write; .mp4, .webm, .mkv or .ivf, or an animated .webp, .png (also .apng) or .gif [default: the
    /// timeline's name with -replay.mp4, beside it]
    #[arg(short, long, value_name = "OUT", value_hint = ValueHint::FilePath)]
    pub output: Option<PathBuf>,
    #[command(flatten)]
    pub overrides: Overrides,
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
    let cache = render::open_cache(&arguments.caching, talk);
    let loaded = load::load(&arguments.file, &options::settings(&arguments.overrides)?, false)?;
    report::before_making(talk, &loaded)?;
    let loaded = alone(arguments, sort, loaded)?;
    report::before_making(talk, &loaded)?;

    let film = &loaded.film;
    let (frames, seconds) = (film.frames(), || began.elapsed().as_secs_f64());
    let mut object = report::film_json(&loaded);
    let told = match sort {
        Sort::Clip(container) => {
            let whole = FrameIndex(0)..FrameIndex(frames);
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

/// The loaded film with nothing in it but the replay.
fn alone(arguments: &ReplayArguments, sort: Sort, mut loaded: Loaded) -> Result<Loaded, Failure> {
    let (scene, replay) = wanted(arguments, &loaded)?;
    let film = &mut loaded.timeline.film;
    if let Sort::Animation(form) = sort {
        let free = matches!(film.frame, Some(Spanned { value: FrameShape::Free { .. }, .. }));
        if arguments.overrides.height.is_none() && !free {
            film.height = Some(Spanned::new(POST_LINES, 0..0));
        }
        if form == Form::Gif && arguments.overrides.fps.is_none() {
            film.fps = FrameRate::new(GIF_RATE, 1).map(|rate| Spanned::new(rate, 0..0));
        }
    }
    let own = loaded.film.look().own;
    let round = Film::round(&loaded.timeline, &loaded.game, scene, &replay, arguments.captions);
    let (mut film, mut diagnostics) = round.map_err(|mistake| no_line(&mistake))?;
    film.wear(own.pieces, own.fonts);
    diagnostics.extend(paint::legibility(&film));
    diagnostics.extend(paint::flashes(&film));
    // What holds of the whole film has been told.
    diagnostics.retain(|found| !loaded.diagnostics.iter().any(|told| told.message == found.message));
    (loaded.film, loaded.diagnostics) = (film, diagnostics);
    (loaded.recording, loaded.posters) = (None, Vec::new());
    Ok(loaded)
}

fn no_line(mistake: &Diagnostic) -> Failure {
    let hint = mistake.hints.first().map(|hint| format!("; {hint}")).unwrap_or_default();
    Failure::Usage(format!("--line: {}{hint}", mistake.message))
}

/// The scene whose line is shown, and which line of it at which pace.
fn wanted(arguments: &ReplayArguments, loaded: &Loaded) -> Result<(usize, Replay), Failure> {
    let scenes = &loaded.timeline.scenes;
    let name_of = |index: usize| scenes[index].name.as_ref().map(|name| name.value.clone());
    let is_board = |index: &usize| matches!(loaded.game.scenes[*index].body, Body::Board(_));
    let boards: Vec<usize> = (0..scenes.len()).filter(is_board).collect();
    let chosen = match &arguments.scene {
        Some(wanted) => boards.iter().copied().find(|index| name_of(*index).as_ref() == Some(wanted)),
        None => only_solution(loaded, &boards),
    };
    let Some(chosen) = chosen else {
        let names: Vec<String> = boards.iter().filter_map(|index| name_of(*index)).collect();
        let list = if names.is_empty() { "no scene with a board has a name".to_owned() } else { names.join(", ") };
        return Err(Failure::Usage(match &arguments.scene {
            Some(wanted) => match nearest(wanted, names.iter().map(String::as_str)) {
                Some(near) => format!("--scene: no scene with a board is called `{wanted}`; did you mean `{near}`?"),
                None => format!("--scene: no scene with a board is called `{wanted}`; there are: {list}"),
            },
            None => format!("which line? Give --scene NAME, one of: {list}"),
        }));
    };
    let spoken = |text: &String| Spanned::new(text.clone(), 0..0);
    let (shown, line, own_pace) = match &scenes[chosen].body {
        SceneBody::Replay(replay) => {
            let shown = boards.iter().copied().find(|index| name_of(*index).as_ref() == Some(&replay.scene.value));
            (shown.unwrap_or(chosen), replay.line.clone(), replay.pace)
        }
        _ => (chosen, None, None),
    };
    let replay = Replay {
        scene: Spanned { value: name_of(shown).unwrap_or_default(), span: Span::default() },
        line: arguments.line.as_ref().map(spoken).or(line),
        pace: arguments.pace.map(|pace| Spanned::new(pace, 0..0)).or(own_pace),
    };
    Ok((shown, replay))
}

/// The scene with a solution, if there is just one; replays have none of their own.
fn only_solution(loaded: &Loaded, boards: &[usize]) -> Option<usize> {
    let solved = |index: &usize| match &loaded.game.scenes[*index].body {
        Body::Board(board) => {
            board.pace.is_none() && board.nodes.iter().skip(1).any(|node| node.line == LineKind::Solution)
        }
        Body::Card(_) => false,
    };
    let mut solved = boards.iter().copied().filter(solved);
    solved.next().filter(|_| solved.next().is_none())
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
    folder_of(file).join(format!("{stem}-replay.mp4"))
}
