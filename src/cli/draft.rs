//! `plyreel draft`: a first timeline out of a timed transcript.

use super::args::{Format, Talk};
use super::failure::Failure;
use super::inputs::spare_given;
use super::load::{pgn_files, read_text};
use super::output::{Output, folder_of};
use super::{report, rewrite, words};
use crate::diag::{Code, Diagnostic};
use crate::draft::{self, Draft, Heading, Study, Wish};
use crate::encode::EncodeError;
use crate::game::{self, Body, PgnFiles, Position};
use crate::narration::Recording;
use crate::narration::transcript;
use crate::source::{Source, Span, Spanned};
use crate::timeline::{self, FilmSettings, SceneBody, Timeline};
use crate::units::Time;
use clap::{ArgGroup, Args, ValueHint};
use serde_json::json;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

// One of the three, and a message that names them all.
#[derive(Args, Debug)]
#[command(group = ArgGroup::new("spoken of").args(["pgn", "fen", "pin"]).required(true))]
pub struct DraftArguments {
    /// What is said and when: SRT, WebVTT, JSON with timed words, or text with `[m:ss]` stamps; `-` reads standard
    /// input
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub words: PathBuf,
    /// The lines spoken of; each game of the file is a scene, in the order in which they come up
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub pgn: Option<PathBuf>,
    /// A position spoken of, where no lines are written down; once for each scene
    #[arg(long, value_name = "FEN")]
    pub fen: Vec<String>,
    /// The recording, named in the timeline
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub narration: Option<PathBuf>,
    /// The language spoken
    #[arg(long, value_name = "NAME", default_value = "en", value_parser = words::known())]
    pub language: String,
    /// Every phrase becomes a caption
    #[arg(long)]
    pub captions: bool,
    /// Keep the cues of the timeline at OUT that have no `# ?` beside them, and listen again around them. Its scenes and
    /// positions are the timeline's own
    #[arg(long, conflicts_with_all = ["force", "captions"])]
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
    let (recording, lines) = (arguments.narration.as_ref(), arguments.pgn.as_ref());
    let given =
        [("the transcript", Some(&arguments.words)), ("the recording", recording), ("the file of lines", lines)];
    spare_given(output, &given)?;
    let language = words::language(&arguments.language)?;
    let transcript = words::read(&arguments.words, talk)?;
    let (studies, headings) = studies(arguments, talk)?;
    let wish = Wish {
        film: film(arguments),
        headings,
        captions: arguments.captions,
        end: end(arguments.narration.as_deref())?,
    };
    let draft = draft::draft(&transcript, &language, &studies, &wish);
    let mut out = Output::create(output)?;
    out.write_all(draft.text.as_bytes()).map_err(|error| Failure::write(output, error))?;
    out.keep()?;
    tell(&draft, output, talk)
}

/// Drafts again around what was corrected.
fn again(arguments: &DraftArguments, talk: &Talk) -> Result<(), Failure> {
    let path = &arguments.output;
    if path == Path::new("-") {
        return Err(Failure::Usage("`--pin` needs the timeline that was corrected: name it with `-o`".to_owned()));
    }
    let language = words::language(&arguments.language)?;
    let source = Source::new(path, read_text(path)?);
    let (timeline, mut found) = timeline::parse(&source);
    let files = pgn_files(&timeline, folder_of(path));
    let (game, of_game) = game::resolve(&timeline, &files);
    found.extend(of_game);
    words::tell(&found, &source, talk)?;
    let mut bare = timeline.clone();
    for scene in &mut bare.scenes {
        scene.cues.clear();
    }
    let (lines, _) = game::resolve(&bare, &files);
    let transcript = words::read(&arguments.words, talk)?;
    let named = timeline.film.narration.as_ref().map(|narration| folder_of(path).join(&narration.value));
    let end = match (&arguments.narration, named) {
        (Some(given), _) => end(Some(given))?,
        // The recording that the timeline names may be gone; nothing but the end is known of it here.
        (None, named) => named.and_then(|named| end(Some(&named)).ok().flatten()),
    };
    let draft = draft::redraft(&transcript, &language, source.text(), (&timeline, &game, &lines), end);
    match draft {
        Ok(mut draft) => {
            if let Some(narration) = &arguments.narration {
                draft.text = rewrite::with_narration(&draft.text, narration, path, talk);
            }
            rewrite::check(&draft.text, &source, talk)?;
            rewrite::write(path, path, source.text(), &draft.text)?;
            tell(&draft, path, talk)
        }
        Err(place) => {
            let message = "lines cannot come and go around this";
            let error = Diagnostic::error(Code::BadValue, Span::new(place.start, place.end), message)
                .label("not on lines of its own")
                .hint("write every cue, and the brackets of `cues`, on lines of their own: `  { at = \"0:12\", play = \"c7\" },`");
            words::tell(&[error], &source, talk)
        }
    }
}

/// When a recording is over.
fn end(recording: Option<&Path>) -> Result<Option<Time>, Failure> {
    let Some(path) = recording else { return Ok(None) };
    let recording = Recording::open(path).map_err(EncodeError::from)?;
    Ok(Some(Time::ZERO + recording.length()))
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
        words::tell(&found, &source, talk)?;
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
    words::tell(&found, &source, talk)?;
    let name = rewrite::beside(path, output);
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
    let narration = arguments.narration.as_deref().map(|path| rewrite::beside(path, &arguments.output));
    let spanned = |text: Option<String>| text.map(|text| Spanned::new(text, 0..0));
    FilmSettings { title: spanned(title), narration: spanned(narration), ..FilmSettings::default() }
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
