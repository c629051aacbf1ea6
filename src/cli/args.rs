//! What was typed. What was meant is in `options`.

use super::cache;
use super::draft::DraftArguments;
use super::kit::Kit;
use super::levels::Levels;
use super::proving::Published;
use super::replay::{self, ReplayArguments};
use super::still::Still;
use super::sync::Sync;
use super::thumb::Thumb;
use clap::{Args, Parser, Subcommand, ValueEnum, ValueHint};
use serde::{Deserialize, Serialize};
use std::path::PathBuf;

/// One timeline file, in step with the recorded voice, becomes a film about chess compositions.
#[derive(Debug, Parser)]
#[command(
    name = "plyreel",
    version,
    max_term_width = 100,
    after_help = "\
Examples:
  plyreel new lantern-01            a starter film, ready to render
  plyreel check lantern-01/film.toml
  plyreel clip lantern-01/film.toml -o lantern-01.mp4
  plyreel still lantern-01/film.toml --at 0:12.5 -o still.png

Exit codes: 0 made, 1 the input has mistakes, 2 bad usage, 3 the world failed, 130 stopped by Ctrl-C."
)]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Command,
    #[command(flatten)]
    pub talk: Talk,
}

/// How to speak; the same for every command.
#[derive(Args, Clone, Debug)]
pub struct Talk {
    /// How diagnostics and reports are printed
    #[arg(long, global = true, value_enum, default_value_t = Format::Human, value_name = "FORM")]
    pub format: Format,
    /// Say nothing but mistakes
    #[arg(short, long, global = true, conflicts_with = "verbose")]
    pub quiet: bool,
    /// Say more: what was read, what was decided
    #[arg(short, long, global = true)]
    pub verbose: bool,
}

/// How diagnostics and reports are printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// With the lines of the file and carets, for reading
    #[default]
    Human,
    /// One line each, for editors
    Short,
    /// One JSON object on standard output, for programs
    Json,
    /// A page of Markdown (`prove` only)
    Markdown,
    /// A page of HTML that stands alone (`prove` only)
    Html,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make a starter film in DIR: a commented timeline, ready to render
    #[command(after_help = "Example:\n  plyreel new lantern-01 && plyreel clip lantern-01/film.toml")]
    New(New),
    /// Look for everything that can be wrong, in one run: chess, times, claims, legibility, media
    #[command(after_help = "\
Examples:
  plyreel check film.toml
  plyreel check film.toml --format json | jq .film.frames
  plyreel check film.toml --suggest                 pins, forks, batteries …: the marks that would show them
  plyreel check - < film.toml")]
    Check(Check),
    /// Make the film: AV1 with the narration, as .mp4, .webm, .mkv or .ivf
    #[command(after_help = "\
Examples:
  plyreel clip film.toml                              film.mp4 beside film.toml
  plyreel clip film.toml -o film.webm
  plyreel clip film.toml --layout overlay -o over.mp4  over.fill.mp4 and over.key.mp4, to lay over footage
  plyreel clip film.toml --from 1:20 --to 1:50 --draft
  plyreel clip film.toml --scene \"The first position\" -o first.mp4
  plyreel clip film.toml --loudness -14               the narration at -14 LUFS, true peaks below -1 dBTP
  plyreel clip film.toml --watch                      again whenever the timeline is saved
  plyreel clip lesson-*/film.toml                     several films share the cores
  plyreel clip --clear-cache                          forget what was coded before

One film on several machines:
  plyreel clip film.toml --chunk 3/12                 film.part-03-of-12.plyreel
  plyreel join film.toml film.part-*.plyreel -o film.mp4

What was coded once is kept in the user's cache folder, XDG_CACHE_HOME obeyed, and not coded again: after an edit
only what it touches, after a stop or a crash only what was not finished.")]
    Clip(Clip),
    /// Put the parts of a film together that `clip --chunk` made, with the narration
    #[command(after_help = "\
Examples:
  plyreel join film.toml film.part-*.plyreel -o film.mp4

The film is the same, byte for byte, as if it had been made in one go. Size, coder and the like are those of the
parts. With GNU parallel, and as a Slurm array:
  parallel plyreel clip film.toml --chunk {}/12 ::: $(seq 12)
  sbatch --array=1-12 --wrap 'plyreel clip film.toml --chunk $SLURM_ARRAY_TASK_ID/12'")]
    Join(Join),
    /// Write every frame as PNG
    #[command(after_help = "\
Examples:
  plyreel frames film.toml -o frames --from 0:10 --to 0:12
  plyreel frames film.toml -o frames --layout overlay          straight alpha, to lay over footage")]
    Frames(Frames),
    /// Write one frame as PNG
    #[command(after_help = "\
Examples:
  plyreel still film.toml --at 0:12.5 -o still.png
  plyreel still film.toml --at crossroads -o - > still.png     (a label; `-` is standard output)")]
    Still(Still),
    /// Paint every `[[thumbnail]]` at 1280x720 as PNG under 2 MB
    #[command(after_help = "\
Examples:
  plyreel thumb film.toml                     film-thumb-1.png, film-thumb-2.png, ... beside film.toml
  plyreel thumb film.toml -o pictures --sheet      and pictures/film-thumbs.png: all of them as on a phone

In the timeline:
  [[thumbnail]]
  moment = \"crossroads\"          a label; or `scene`, or `at`
  words  = \"Not a *queen*!\"      one to three; the accented between asterisks
  arrows = [\"c7 c8\"]             with `marks` they decide which part of the board is shown
  design = \"split\"               split, portrait or band; chosen by what is shown if left out")]
    Thumb(Thumb),
    /// Make a line of the film in slow motion, silent, to go round: a clip, or an animated WebP, PNG or GIF
    #[command(after_help = replay::HELP)]
    Replay(ReplayArguments),
    /// Make a first timeline out of what is said: a timed transcript and the lines it speaks of
    #[command(after_help = "\
Examples:
  plyreel draft --words talk.vtt --pgn lines.pgn --narration talk.flac -o film.toml
  plyreel draft --words talk.json --fen \"8/8/1KP5/3r4/8/8/8/k7 w - - 0 1\" -o film.toml
  plyreel draft --words talk.vtt -o film.toml --pin      again, around what was corrected

With lines at hand every move is sought on them first; a legal move that they lack is taken if it is plainly spoken.
With a position alone a draft is a help to begin with. What is doubtful has `# ?` beside it: how sure it is, what was
heard, what it may be. Moves that are only threatened or planned become ghosts.")]
    Draft(DraftArguments),
    /// Make what is published beside the film: subtitles, chapters, description, PGN, diagrams, editors' markers
    #[command(after_help = super::kit::HELP)]
    Kit(Kit),
    /// Bring a timeline into step with a new take: every cue goes to its word, all else of the file stays
    #[command(after_help = "\
Examples:
  plyreel sync film.toml --words take-2.vtt --narration take-2.flac
  plyreel sync film.toml --old-words take-1.json --words take-2.json --narration take-2.flac
  plyreel sync film.toml --words take-2.srt --dry-run -v      what would move, and by how much

With the old take's transcript every word is found again by the words around it; without, the moves are heard in the
new one, and the captions looked for. What was not found is told, and lies where it would be by what is around it.
The file as it was is kept beside it as film.toml.bak.")]
    Sync(Sync),
    /// Test a composition: keys and cooks, only moves and duals, tries, zugzwangs, motifs
    #[command(after_help = super::prove::HELP)]
    Prove(Prove),
    /// Print the timeline's JSON Schema, for editors
    #[command(after_help = "\
Example:
  plyreel schema > timeline.schema.json
  then, as the first line of a timeline:  #:schema ./timeline.schema.json")]
    Schema,
    /// Print a completion script for a shell
    #[command(after_help = "Example:\n  plyreel completions bash > ~/.local/share/bash-completion/completions/plyreel")]
    Completions {
        /// Which shell
        #[arg(value_enum)]
        shell: clap_complete::Shell,
    },
}

#[derive(Args, Debug)]
pub struct New {
    /// The folder to make; must not hold a film already
    #[arg(value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub folder: PathBuf,
}

#[derive(Args, Debug)]
pub struct Check {
    /// The timeline; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// Doubts are mistakes
    #[arg(long)]
    pub strict: bool,
    /// Propose marks and arrows, ready to paste, for the motifs that come on the board
    #[arg(long)]
    pub suggest: bool,
    #[command(flatten)]
    pub published: Published,
    /// Decide every claim anew, and keep neither verdicts nor endgame tables
    #[arg(long)]
    pub no_cache: bool,
}

#[derive(Args, Debug)]
pub struct Prove {
    /// The timeline; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath, required_unless_present = "fen", conflicts_with = "fen")]
    pub file: Option<PathBuf>,
    /// A position instead of a timeline
    #[arg(long, value_name = "FEN")]
    pub fen: Option<String>,
    /// The moves played from it, the solution
    #[arg(long, value_name = "MOVES", requires = "fen")]
    pub line: Option<String>,
    /// What is claimed at the line's end, or the stipulation
    #[arg(long, value_name = "CLAIM", requires = "fen")]
    pub claim: Option<String>,
    /// How long one question may take, about: `30s`, `500ms`, `2m`
    #[arg(long, value_name = "TIME", default_value = "5s")]
    pub budget: String,
    #[command(flatten)]
    pub published: Published,
    /// Decide everything anew, and keep neither verdicts nor endgame tables
    #[arg(long)]
    pub no_cache: bool,
    /// Where to write; the ending decides the form: .html, .md, .json, .txt [default: standard output]
    #[arg(short, long, value_name = "OUT", value_hint = ValueHint::FilePath)]
    pub output: Option<PathBuf>,
    /// Print nothing but the whole proof of a claimed mate, every defence answered: a PGN game with variations
    #[arg(long, requires = "fen", requires = "claim", conflicts_with_all = ["output", "line"])]
    pub tree: bool,
}

/// Overrides of what the timeline says.
#[derive(Args, Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Overrides {
    /// Another layout than the timeline's: panel, lower-third, overlay
    #[arg(long, value_name = "LAYOUT")]
    pub layout: Option<String>,
    /// Another frame: wide, tall, square, or a size such as 1600x900
    #[arg(long, value_name = "FRAME")]
    pub frame: Option<String>,
    /// Another height in lines (wide, square) or width (tall)
    #[arg(long, value_name = "LINES")]
    pub height: Option<u32>,
    /// Another frame rate: 24, 25, 30, 50, 60 or 30000/1001
    #[arg(long, value_name = "RATE")]
    pub fps: Option<String>,
    /// Another theme: dusk, tide, ink
    #[arg(long, value_name = "THEME")]
    pub theme: Option<String>,
}

/// A part of the film.
#[derive(Args, Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Begin here instead of at the start (`1:20`, `80`, or a label)
    #[arg(long, value_name = "TIME")]
    pub from: Option<String>,
    /// End here instead of at the end
    #[arg(long, value_name = "TIME")]
    pub to: Option<String>,
    /// Only this scene
    #[arg(long, value_name = "NAME", conflicts_with_all = ["from", "to"])]
    pub scene: Option<String>,
}

#[derive(Args, Debug)]
pub struct Clip {
    /// The timeline, or several; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath, required_unless_present = "clear_cache")]
    pub files: Vec<PathBuf>,
    /// Where to write; the ending decides the container. For several films a folder; for a part a name in .plyreel or a
    /// folder [default: the timeline's name with .mp4, beside it]
    #[arg(short, long, value_name = "OUT", value_hint = ValueHint::AnyPath)]
    pub output: Option<PathBuf>,
    #[command(flatten)]
    pub wish: Wish,
    /// How many chunks are coded side by side [default: one a core]
    #[arg(short, long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
    /// Doubts are mistakes
    #[arg(long)]
    pub strict: bool,
    /// Make it again whenever the timeline, the narration or another file it names is saved
    #[arg(long)]
    pub watch: bool,
    /// Make only this part of so many, for `plyreel join`; `3/12` is the third of twelve
    #[arg(long, value_name = "K/N", value_parser = share, conflicts_with = "watch")]
    pub chunk: Option<Share>,
    #[command(flatten)]
    pub levels: Levels,
    #[command(flatten)]
    pub caching: Caching,
    #[command(flatten)]
    pub published: Published,
}

/// What decides the pictures, beside the timeline.
#[derive(Args, Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wish {
    #[command(flatten)]
    pub part: Part,
    #[command(flatten)]
    pub overrides: Overrides,
    /// A quarter of the pixels, fastest settings: to look at the timing
    #[arg(long)]
    pub draft: bool,
    /// Who writes the changed frames
    #[arg(long, value_enum, default_value_t = Coder::Patch, value_name = "CODER")]
    pub coder: Coder,
}

/// Who writes the changed frames.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum, Serialize, Deserialize)]
pub enum Coder {
    /// Our own frames of copies and palettes: the fastest by far
    #[default]
    Patch,
    /// An ordinary AV1 coder: smallest files, and no palettes for decoders that trip over them
    Rav1e,
}

/// What is kept from one render to the next.
#[derive(Args, Clone, Debug)]
pub struct Caching {
    /// Neither use nor keep what was coded or proven before
    #[arg(long)]
    pub no_cache: bool,
    /// Forget what was coded and proven before; without FILE that is all
    #[arg(long)]
    pub clear_cache: bool,
    /// What may be kept, in MiB; what was least recently used goes first
    #[arg(long, value_name = "MIB", default_value_t = cache::LIMIT, value_parser = clap::value_parser!(u64).range(1..=1 << 40))]
    pub cache_limit: u64,
}

/// Part `part` of `parts`, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Share {
    pub part: u64,
    pub parts: u64,
}

/// Reads `3/12`.
fn share(text: &str) -> Result<Share, String> {
    let numbers = text.split_once('/').and_then(|(part, parts)| Some((part.parse().ok()?, parts.parse().ok()?)));
    match numbers {
        Some((part, parts)) if (1..=parts).contains(&part) && parts <= 10_000 => Ok(Share { part, parts }),
        _ => Err("a part is written as `3/12`: the third of twelve, at most of 10000".to_owned()),
    }
}

#[derive(Args, Debug)]
pub struct Join {
    /// The timeline
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// The parts, in any order
    #[arg(value_name = "PART", required = true, value_hint = ValueHint::FilePath)]
    pub parts: Vec<PathBuf>,
    /// Where to write; the ending decides the container [default: the timeline's name with .mp4]
    #[arg(short, long, value_name = "OUT", value_hint = ValueHint::FilePath)]
    pub output: Option<PathBuf>,
    /// Doubts are mistakes
    #[arg(long)]
    pub strict: bool,
    #[command(flatten)]
    pub levels: Levels,
    #[command(flatten)]
    pub caching: Caching,
    #[command(flatten)]
    pub published: Published,
}

#[derive(Args, Debug)]
pub struct Frames {
    /// The timeline; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// The folder for the pictures, made if it is not there
    #[arg(short, long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub output: PathBuf,
    #[command(flatten)]
    pub part: Part,
    #[command(flatten)]
    pub overrides: Overrides,
    #[command(flatten)]
    pub published: Published,
}
