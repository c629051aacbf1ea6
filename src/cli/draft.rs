//! `plyreel draft`: a first timeline out of a timed transcript.

use super::args::{Format, Talk};
use super::failure::Failure;
use super::load::{pgn_files, read_text};
use super::output::{Output, folder_of};
use super::report;
use crate::diag::{Code, Diagnostic, has_errors};
use crate::draft::{self, Draft, Heading, Language, Study, Wish};
use crate::game::{self, Body, PgnFiles, Position};
use crate::narration::Recording;
use crate::narration::transcript::{self, Transcript};
use crate::source::{Source, Span, Spanned};
use crate::timeline::{self, FilmSettings, SceneBody, Timeline};
use crate::units::Time;
use clap::{Args, ValueHint};
use serde_json::json;
use std::fs;
use std::io::{self, IsTerminal, Write};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

#[derive(Args, Debug)]
pub struct DraftArguments {
    /// What is said and when: SRT, WebVTT, JSON with timed words, or text with `[m:ss]` stamps; `-` reads standard
    /// input
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub words: PathBuf,
    /// The lines spoken of; each game of the file is a scene, in the order in which they come up
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath, required_unless_present_any = ["fen", "pin"], conflicts_with = "fen")]
    pub pgn: Option<PathBuf>,
    /// A position spoken of, where no lines are written down; once for each scene
    #[arg(long, value_name = "FEN")]
    pub fen: Vec<String>,
    /// The recording, named in the timeline
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub narration: Option<PathBuf>,
    /// The language spoken: en, de
    #[arg(long, value_name = "NAME", default_value = "en")]
    pub language: String,
    /// Every phrase becomes a caption
    #[arg(long)]
    pub captions: bool,
    /// Keep the cues of the timeline at OUT that have no `# ?` beside them, and listen again around them. Its scenes and
    /// positions are the timeline's own
    #[arg(long, conflicts_with_all = ["force", "pgn", "fen", "captions"])]
    pub pin: bool,
    /// Replace the timeline already at OUT
    #[arg(long)]
    pub force: bool,
    /// Where to write the timeline; `-` is standard output
    #[arg(short, long, value_name = "OUT", value_hint = ValueHint::FilePath, default_value = "-")]
    pub output: PathBuf,
}

/// The name under which a PGN file is known while its lines are read.
const LINES: &str = "lines";

/// Hears the moves and writes the draft.
pub fn run(arguments: &DraftArguments, talk: &Talk) -> Result<(), Failure> {
    let output = &arguments.output;
    let to_file = output != Path::new("-");
    if arguments.pin {
        return again(arguments, talk);
    }
    if to_file && output.exists() && !arguments.force {
        let text =
            "is already there and was left as it is; `--pin` keeps what was corrected in it, `--force` replaces it";
        return Err(Failure::Usage(format!("`{}` {text}", output.display())));
    }
    let language = language(&arguments.language)?;
    let transcript = words(&arguments.words, talk)?;
    let (studies, headings) = studies(arguments, talk)?;
    let recording = arguments.narration.as_deref().map(Recording::open).transpose();
    let recording = recording.map_err(|error| Failure::Usage(error.to_string()))?;
    let wish = Wish {
        film: film(arguments),
        headings,
        captions: arguments.captions,
        end: recording.map(|recording| Time::ZERO + recording.length()),
    };
    let draft = draft::draft(&transcript, &language, &studies, &wish);
    keep(&draft, output, talk)
}

/// Drafts again around what was corrected.
fn again(arguments: &DraftArguments, talk: &Talk) -> Result<(), Failure> {
    let path = &arguments.output;
    if path == Path::new("-") {
        return Err(Failure::Usage("`--pin` needs the timeline that was corrected: name it with `-o`".to_owned()));
    }
    let language = language(&arguments.language)?;
    let source = Source::new(path, read_text(path)?);
    let (timeline, mut found) = timeline::parse(&source);
    let files = pgn_files(&timeline, folder_of(path));
    let (game, of_game) = game::resolve(&timeline, &files);
    found.extend(of_game);
    told(&found, &source, talk)?;
    let mut bare = timeline.clone();
    for scene in &mut bare.scenes {
        scene.cues.clear();
    }
    let (lines, _) = game::resolve(&bare, &files);
    let transcript = words(&arguments.words, talk)?;
    let end = match &arguments.narration {
        Some(narration) => {
            let recording = Recording::open(narration).map_err(|error| Failure::Usage(error.to_string()))?;
            Some(Time::ZERO + recording.length())
        }
        None => None,
    };
    let draft = draft::redraft(&transcript, &language, source.text(), (&timeline, &game, &lines), end);
    match draft {
        Ok(draft) => keep(&draft, path, talk),
        Err(place) => {
            let message = "lines cannot come and go around this";
            let error = Diagnostic::error(Code::BadValue, Span::new(place.start, place.end), message)
                .label("not alone on its lines, with a comma behind it")
                .hint("write every cue on a line of its own: `  { at = \"0:12\", play = \"c7\" },`");
            told(&[error], &source, talk)
        }
    }
}

/// Writes the draft where it belongs.
fn keep(draft: &Draft, output: &Path, talk: &Talk) -> Result<(), Failure> {
    let mut out = Output::create(output)?;
    out.write_all(draft.text.as_bytes()).map_err(|error| Failure::write(output, error))?;
    out.keep()?;
    tell(draft, output, talk)
}

fn language(name: &str) -> Result<Language, Failure> {
    Language::named(name).ok_or_else(|| {
        let names: Vec<&str> = Language::names().collect();
        Failure::Usage(format!("no words are known of the language `{name}`; there are {}", names.join(", ")))
    })
}

/// The transcript, with what is wrong in it told.
fn words(path: &Path, talk: &Talk) -> Result<Transcript, Failure> {
    let text = if path == Path::new("-") {
        read_text(path)?
    } else {
        transcript::decode(&fs::read(path).map_err(|error| Failure::read(path, error))?)
    };
    let source = Source::new(path, text);
    let (transcript, found) = transcript::read(&source);
    told(&found, &source, talk)?;
    Ok(transcript)
}

/// Prints diagnostics on standard error; mistakes end the command.
fn told(found: &[Diagnostic], source: &Source, talk: &Talk) -> Result<(), Failure> {
    let colour = report::colour_on(io::stderr().is_terminal());
    let _ = io::stderr().lock().write_all(report::diagnostics_text(talk, found, source, colour).as_bytes());
    if !has_errors(found) {
        return Ok(());
    }
    if talk.format == Format::Json {
        report::print(&report::json_text(&json!({ "diagnostics": crate::diag::json::values(found, source) })))?;
    }
    Err(Failure::Mistakes)
}

/// What the film is about, and how each scene is headed.
fn studies(arguments: &DraftArguments, talk: &Talk) -> Result<(Vec<Study>, Vec<Heading>), Failure> {
    if let Some(pgn) = &arguments.pgn {
        return from_pgn(pgn, &arguments.output, talk);
    }
    let mut studies = Vec::new();
    for fen in &arguments.fen {
        let source = Source::new("--fen", fen.as_str());
        let (position, found) = Position::read(fen);
        told(&found, &source, talk)?;
        studies.extend(position.map(|start| Study { start, lines: Vec::new() }));
    }
    let count = studies.len();
    let heading = |number| Heading { name: Some(scene_name(number, count)), ..Heading::default() };
    Ok((studies, (1..=count).map(heading).collect()))
}

fn from_pgn(path: &Path, output: &Path, talk: &Talk) -> Result<(Vec<Study>, Vec<Heading>), Failure> {
    let bytes = fs::read(path).map_err(|error| Failure::read(path, error))?;
    let source = Arc::new(Source::new(path, transcript::decode(&bytes)));
    let count = game::games_in(&source);
    let file = Spanned::new(LINES.to_owned(), 0..0);
    let scene = |number: usize| timeline::Scene {
        name: None,
        at: None,
        body: SceneBody::Pgn { file: file.clone(), game: Some(Spanned::new(number as u32, 0..0)) },
        task: None,
        credit: None,
        text: None,
        ring: None,
        cues: Vec::new(),
        span: Span::default(),
    };
    let timeline = Timeline { scenes: (1..=count).map(scene).collect(), ..Timeline::default() };
    let files = PgnFiles::from([(LINES.to_owned(), Ok(Arc::clone(&source)))]);
    let (game, mut found) = game::resolve(&timeline, &files);
    if count == 0 {
        let message = format!("the PGN file `{}` holds no game", path.display());
        found.push(Diagnostic::error(Code::Pgn, Span::default(), message).label("neither tags nor moves in it"));
    }
    told(&found, &source, talk)?;
    let name = beside(path, output);
    let (mut studies, mut headings) = (Vec::new(), Vec::new());
    for scene in game.scenes {
        let Body::Board(board) = scene.body else { continue };
        let number = studies.len() + 1;
        headings.push(Heading {
            name: Some(scene_name(number, count)),
            pgn: Some((name.clone(), number as u32)),
            ..Heading::default()
        });
        studies.push(Study { start: Position::of(&board.nodes[0]), lines: board.nodes });
    }
    Ok((studies, headings))
}

/// `The position`, or `Position 2` of several.
fn scene_name(number: usize, count: usize) -> String {
    if count == 1 { "The position".to_owned() } else { format!("Position {number}") }
}

/// What `[film]` says: a title out of the file's name, and the recording.
fn film(arguments: &DraftArguments) -> FilmSettings {
    let stem = arguments.output.file_stem().map(|stem| stem.to_string_lossy().replace(['-', '_'], " "));
    let title = stem.filter(|stem| stem.chars().any(char::is_alphabetic)).map(|stem| {
        let mut letters = stem.chars();
        letters.next().map(|first| first.to_uppercase().chain(letters).collect::<String>()).unwrap_or_default()
    });
    let narration = arguments.narration.as_deref().map(|path| beside(path, &arguments.output));
    let spanned = |text: Option<String>| text.map(|text| Spanned::new(text, 0..0));
    FilmSettings { title: spanned(title), narration: spanned(narration), ..FilmSettings::default() }
}

/// A file's path as seen from the folder of the timeline.
fn beside(path: &Path, output: &Path) -> String {
    let folder = if output == Path::new("-") { Path::new(".") } else { folder_of(output) };
    let whole = |path: &Path| fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let (path_whole, folder_whole) = (whole(path), whole(folder));
    let mut ours = path_whole.components().peekable();
    let mut theirs = folder_whole.components().peekable();
    while ours.peek().is_some() && ours.peek() == theirs.peek() {
        ours.next();
        theirs.next();
    }
    let up = theirs.map(|_| Component::ParentDir);
    up.chain(ours).collect::<PathBuf>().to_string_lossy().into_owned()
}

/// Says what was drafted.
fn tell(draft: &Draft, output: &Path, talk: &Talk) -> Result<(), Failure> {
    let Draft { played, doubtful, missed, .. } = draft;
    let to_file = output != Path::new("-");
    if talk.format == Format::Json {
        let about =
            json!({ "file": output.to_string_lossy(), "moves": played, "doubtful": doubtful, "missed": missed });
        return if to_file { report::print(&report::json_text(&json!({ "draft": about }))) } else { Ok(()) };
    }
    report::say(
        talk,
        &format!("{played} cues with moves; {doubtful} doubtful, {missed} that found no place: look for `# ?`"),
    );
    if to_file { report::print(&format!("{}\n", output.display())) } else { Ok(()) }
}
