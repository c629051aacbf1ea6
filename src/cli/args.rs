//! What was typed. What was meant is in `options`.

use super::cache;
use super::draft::DraftArguments;
use super::help;
use super::kit::Kit;
use super::levels::Levels;
use super::offered;
use super::proving::Published;
use super::replay::ReplayArguments;
use super::still::Still;
use super::sync::Sync;
use super::thumb::Thumb;
use clap::{ArgAction, ArgGroup, Args, Parser, Subcommand, ValueEnum, ValueHint};
use serde::{Deserialize, Serialize};
use std::path::PathBuf;

/// One timeline file, in step with the recorded voice, becomes a film about chess compositions.
#[derive(Debug, Parser)]
#[command(
    name = "plyreel",
    version,
    // It is declared in [`Talk`], so that it stands among the messages and not alone above everything.
    disable_help_flag = true,
    max_term_width = 100,
    after_help = help::PROGRAM
)]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Command,
    #[command(flatten)]
    pub talk: Talk,
}

/// The headings of `--help`, in the order in which they are read.
pub mod heading {
    /// What is made, and where it goes.
    pub const MADE: &str = "What is made";
    /// How it looks.
    pub const LOOK: &str = "How it looks";
    /// How it sounds.
    pub const SOUND: &str = "How it sounds";
    /// What is looked at, where it is no timeline.
    pub const READ: &str = "What is read";
    /// How many cores work, and what is kept.
    pub const SPEED: &str = "Speed, and what is kept";
    /// How hard claims are looked at.
    pub const CHECKS: &str = "What is checked";
    /// What is said.
    pub const MESSAGES: &str = "Messages";
}

/// How to speak; the same for every command.
#[derive(Args, Clone, Debug)]
pub struct Talk {
    /// How diagnostics and reports are printed
    #[arg(long, global = true, value_enum, default_value_t = Format::Human, value_name = "FORM",
          help_heading = heading::MESSAGES)]
    pub format: Format,
    /// Say nothing but mistakes
    #[arg(short, long, global = true, conflicts_with = "verbose", help_heading = heading::MESSAGES)]
    pub quiet: bool,
    /// Say more: what was read, what was decided
    #[arg(short, long, global = true, help_heading = heading::MESSAGES)]
    pub verbose: bool,
    /// Print help; `-h` a summary
    #[arg(short, long, global = true, action = ArgAction::Help, help_heading = heading::MESSAGES)]
    pub help: Option<bool>,
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
    /// A page of Markdown; `prove` alone has it, so only its help tells of it
    #[value(hide = true)]
    Markdown,
    /// A page of HTML that stands alone; `prove` alone has it, so only its help tells of it
    #[value(hide = true)]
    Html,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make a starter film in DIR: a commented timeline, ready to render
    #[command(after_help = help::NEW)]
    New(New),
    /// Look for everything that can be wrong, in one run: chess, times, claims, legibility, media
    #[command(after_help = help::CHECK)]
    Check(Check),
    /// Make the film: AV1 with the narration, as .mp4, .webm, .mkv or .ivf
    #[command(after_help = help::CLIP)]
    Clip(Clip),
    /// Put the parts of a film together that `clip --chunk` made, with the narration
    #[command(after_help = help::JOIN)]
    Join(Join),
    /// Write every frame as PNG
    #[command(after_help = help::FRAMES)]
    Frames(Frames),
    /// Write one frame as PNG
    #[command(after_help = help::STILL)]
    Still(Still),
    /// Paint every `[[thumbnail]]` at 1280x720 as PNG under 2 MB
    #[command(after_help = help::THUMB)]
    Thumb(Thumb),
    /// Make a line of the film in slow motion, silent, to go round: a clip, or an animated WebP, PNG or GIF
    #[command(after_help = help::REPLAY)]
    Replay(ReplayArguments),
    /// Make a first timeline out of what is said: a timed transcript and the lines it speaks of
    #[command(after_help = help::DRAFT)]
    Draft(DraftArguments),
    /// Make what is published beside the film: subtitles, chapters, description, PGN, diagrams, editors' markers
    #[command(after_help = help::KIT)]
    Kit(Kit),
    /// Bring a timeline into step with a new take: every cue goes to its word, all else of the file stays
    #[command(after_help = help::SYNC)]
    Sync(Sync),
    /// Test a composition: keys and cooks, only moves and duals, tries, zugzwangs, motifs
    #[command(after_help = help::PROVE)]
    Prove(Prove),
    /// Print the timeline's JSON Schema, for editors
    #[command(after_help = help::SCHEMA)]
    Schema,
    /// Print a completion script for a shell
    #[command(after_help = help::COMPLETIONS)]
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
    #[arg(long, help_heading = heading::CHECKS)]
    pub strict: bool,
    /// Propose marks and arrows, ready to paste, for the motifs that come on the board
    #[arg(long, help_heading = heading::CHECKS)]
    pub suggest: bool,
    #[command(flatten)]
    pub published: Published,
    /// Decide every claim anew, and keep neither verdicts nor endgame tables
    #[arg(long, help_heading = heading::SPEED)]
    pub no_cache: bool,
}

#[derive(Args, Debug)]
// Either of the two, and a message that names both.
#[command(group = ArgGroup::new("asked").args(["file", "fen"]).required(true))]
pub struct Prove {
    /// The timeline; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: Option<PathBuf>,
    /// A position instead of a timeline
    #[arg(long, value_name = "FEN", value_hint = ValueHint::Other, help_heading = heading::READ)]
    pub fen: Option<String>,
    /// The moves played from it, the solution
    #[arg(long, value_name = "MOVES", requires = "fen", help_heading = heading::READ)]
    pub line: Option<String>,
    /// What is claimed at the line's end, or the stipulation
    #[arg(long, value_name = "CLAIM", value_hint = ValueHint::Other, requires = "fen", help_heading = heading::READ)]
    pub claim: Option<String>,
    /// How long one question may take, about: `30s`, `500ms`, `2m`
    #[arg(long, value_name = "TIME", value_hint = ValueHint::Other, default_value = "5s", help_heading = heading::CHECKS)]
    pub budget: String,
    #[command(flatten)]
    pub published: Published,
    /// Decide everything anew, and keep neither verdicts nor endgame tables
    #[arg(long, help_heading = heading::SPEED)]
    pub no_cache: bool,
    /// Where to write; the ending decides the form: .html, .md, .json, .txt [default: standard output]
    #[arg(short, long, value_name = "OUT", value_hint = ValueHint::FilePath, help_heading = heading::MADE)]
    pub output: Option<PathBuf>,
    /// Print nothing but the whole proof of a claimed mate, every defence answered: a PGN game with variations
    #[arg(long, requires = "fen", requires = "claim", conflicts_with_all = ["output", "line"], help_heading = heading::MADE)]
    pub tree: bool,
}

/// Overrides of what the timeline says.
#[derive(Args, Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Overrides {
    /// Another layout than the timeline's: panel, lower-third, overlay
    #[arg(long, value_name = "LAYOUT", value_parser = offered::LAYOUTS, hide_possible_values = true,
          help_heading = heading::LOOK)]
    pub layout: Option<String>,
    /// Another frame: wide, tall, square, or a size such as 1600x900
    #[arg(long, value_name = "FRAME", value_parser = offered::FRAMES, hide_possible_values = true,
          help_heading = heading::LOOK)]
    pub frame: Option<String>,
    /// Another height in lines (wide, square) or width (tall)
    #[arg(long, value_name = "LINES", allow_negative_numbers = true, help_heading = heading::LOOK)]
    pub height: Option<i64>,
    /// Another frame rate: 24, 25, 30, 50, 60 or 30000/1001
    #[arg(long, value_name = "RATE", allow_negative_numbers = true, value_parser = offered::RATES,
          hide_possible_values = true, help_heading = heading::LOOK)]
    pub fps: Option<String>,
    /// Other colours than the timeline's: dusk, tide or ink (for daylight and print), or a file of your own colours that
    /// ends in .toml
    #[arg(long, value_name = "THEME", value_parser = offered::THEMES, hide_possible_values = true,
          help_heading = heading::LOOK)]
    pub theme: Option<String>,
}

/// A part of the film.
#[derive(Args, Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Begin here instead of at the start (`1:20`, `80`, or a label)
    #[arg(long, value_name = "TIME", value_hint = ValueHint::Other, allow_negative_numbers = true,
          help_heading = heading::MADE)]
    pub from: Option<String>,
    /// End here instead of at the end
    #[arg(long, value_name = "TIME", value_hint = ValueHint::Other, allow_negative_numbers = true,
          help_heading = heading::MADE)]
    pub to: Option<String>,
    /// Only this scene
    #[arg(long, value_name = "NAME", value_hint = ValueHint::Other, conflicts_with_all = ["from", "to"],
          help_heading = heading::MADE)]
    pub scene: Option<String>,
}

#[derive(Args, Debug)]
pub struct Clip {
    /// The timeline, or several; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath, required_unless_present = "clear_cache")]
    pub files: Vec<PathBuf>,
    /// Where to write; the ending decides the container. For several films a folder; for a part a name in .plyreel or a
    /// folder [default: the timeline's name with .mp4, beside it]
    #[arg(short, long, value_name = "OUT", value_hint = ValueHint::AnyPath, help_heading = heading::MADE)]
    pub output: Option<PathBuf>,
    /// Make it again whenever the timeline, the narration or another file it names is saved
    #[arg(long, help_heading = heading::MADE)]
    pub watch: bool,
    /// Make only this part of so many, for `plyreel join`; `3/12` is the third of twelve
    #[arg(long, value_name = "K/N", value_parser = share, conflicts_with = "watch", help_heading = heading::MADE)]
    pub chunk: Option<Share>,
    #[command(flatten)]
    pub wish: Wish,
    #[command(flatten)]
    pub levels: Levels,
    /// How many chunks are coded side by side [default: one a core]
    #[arg(short, long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256), help_heading = heading::SPEED)]
    pub jobs: Option<u16>,
    #[command(flatten)]
    pub caching: Caching,
    /// Doubts are mistakes
    #[arg(long, help_heading = heading::CHECKS)]
    pub strict: bool,
    #[command(flatten)]
    pub published: Published,
}

/// What decides the pictures, beside the timeline.
#[derive(Args, Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wish {
    #[command(flatten)]
    pub part: Part,
    /// A quarter of the pixels, fastest settings: to look at the timing
    #[arg(long, help_heading = heading::MADE)]
    pub draft: bool,
    #[command(flatten)]
    pub overrides: Overrides,
    /// Who writes the changed frames
    #[arg(long, value_enum, default_value_t = Coder::Patch, value_name = "CODER", help_heading = heading::MADE)]
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
    #[arg(long, help_heading = heading::SPEED)]
    pub no_cache: bool,
    /// Forget what was coded and proven before; without FILE that is all
    #[arg(long, help_heading = heading::SPEED)]
    pub clear_cache: bool,
    /// What may be kept, in MiB; what was least recently used goes first
    #[arg(long, value_name = "MIB", default_value_t = cache::LIMIT, value_parser = clap::value_parser!(u64).range(1..=1 << 40), help_heading = heading::SPEED)]
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
    #[arg(short, long, value_name = "OUT", value_hint = ValueHint::FilePath, help_heading = heading::MADE)]
    pub output: Option<PathBuf>,
    #[command(flatten)]
    pub levels: Levels,
    #[command(flatten)]
    pub caching: Caching,
    /// Doubts are mistakes
    #[arg(long, help_heading = heading::CHECKS)]
    pub strict: bool,
    #[command(flatten)]
    pub published: Published,
}

#[derive(Args, Debug)]
pub struct Frames {
    /// The timeline; `-` reads standard input
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// The folder for the pictures, made if it is not there
    #[arg(short, long, value_name = "DIR", value_hint = ValueHint::DirPath, help_heading = heading::MADE)]
    pub output: PathBuf,
    #[command(flatten)]
    pub part: Part,
    #[command(flatten)]
    pub overrides: Overrides,
    #[command(flatten)]
    pub published: Published,
}
