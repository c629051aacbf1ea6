//! `plyreel prove`: the test report of a composition, from a timeline or from a position typed.

use super::args::{Format, Prove, Talk};
use super::failure::Failure;
use super::inputs;
use super::load;
use super::output::{Output, folder_of};
use super::report;
use crate::diag::{self, Code, Diagnostic};
use crate::game::{self, Body, Game, PgnFiles};
use crate::proof::{self, Budget, Finding, NoTree, Report, Stipulation, Verdict};
use crate::source::{Source, Span};
use crate::timeline::{self, Timeline};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::io::{self, IsTerminal, Write as _};
use std::path::{Path, PathBuf};

/// Positions that one second of one core looks at, about; budgets count positions, so that the same question has the
/// same answer on every machine.
const POSITIONS_A_SECOND: f64 = 5_000_000.0;

/// What was asked about.
struct Asked {
    timeline: Timeline,
    /// The folder that names in the timeline start from.
    folder: PathBuf,
    source: Source,
    game: Game,
    diagnostics: Vec<Diagnostic>,
}

/// Prints the report of every board of the timeline, or of the position given.
pub fn run(arguments: &Prove, talk: &Talk) -> Result<(), Failure> {
    let proving = arguments.published.proving(arguments.no_cache);
    let usual = budget(&arguments.budget)?;
    if arguments.tree {
        return tree(arguments, talk, usual);
    }
    let form = form(arguments, talk)?;
    let mut asked = read(arguments)?;
    if let Some(output) = &arguments.output {
        inputs::spare_film(output, &asked.source, &asked.timeline, None)?;
    }
    let budget = proving.budget(usual, &asked.timeline.film, &asked.folder, &mut asked.diagnostics)?;
    if diag::has_errors(&asked.diagnostics) {
        return refuse(talk, &asked.source, &asked.diagnostics);
    }
    tell(talk, &asked.source, &asked.diagnostics);
    proving.keep_tables();
    let findings = proving.judge(&asked.game, budget);
    let reports = reports(&asked.game, &findings, budget);
    let title = asked.timeline.film.title.as_ref().map(|title| title.value.as_str());
    let text = match form {
        Format::Json => report::json_text(&object(&asked, &reports, &findings)),
        Format::Markdown => proof::markdown(title, &reports),
        Format::Html => proof::page(title, &reports),
        Format::Short => proof::short(&reports),
        Format::Human => proof::human(&reports),
    };
    write(arguments.output.as_deref(), &text, talk)?;
    let refuted = reports.iter().any(|report| report.verdict == Some(Verdict::Refuted.word()))
        || findings.iter().any(|finding| finding.verdict == Verdict::Refuted);
    if refuted { Err(Failure::Mistakes) } else { Ok(()) }
}

/// The form of the report: what the file's ending says, else `--format`.
fn form(arguments: &Prove, talk: &Talk) -> Result<Format, Failure> {
    let Some(path) = arguments.output.as_deref().filter(|path| *path != Path::new("-")) else {
        return Ok(talk.format);
    };
    let ending = path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    match ending.as_str() {
        "html" | "htm" => Ok(Format::Html),
        "md" | "markdown" => Ok(Format::Markdown),
        "json" => Ok(Format::Json),
        "txt" if talk.format == Format::Short => Ok(Format::Short),
        "txt" => Ok(Format::Human),
        _ => {
            let known = "a report ends with .html, .md, .json or .txt";
            Err(Failure::Usage(format!("--output: `{}` has no ending that says its form; {known}", path.display())))
        }
    }
}

/// Prints the report, or writes it to a file and prints which.
fn write(path: Option<&Path>, text: &str, talk: &Talk) -> Result<(), Failure> {
    let Some(path) = path.filter(|path| *path != Path::new("-")) else { return report::print(text) };
    let mut output = Output::create(path)?;
    output.write_all(text.as_bytes()).map_err(|error| Failure::write(path, error))?;
    output.keep()?;
    if talk.format == Format::Json {
        return report::print(&report::json_text(&json!({ "written": path.to_string_lossy() })));
    }
    report::print(&format!("{}\n", path.display()))
}

fn object(asked: &Asked, reports: &[Report], findings: &[Finding]) -> Value {
    let claims: Vec<Value> = findings
        .iter()
        .map(|finding| {
            json!({
                "scene": asked.game.scenes[finding.scene].name,
                "claim": finding.claim,
                "verdict": finding.verdict.word(),
                "witness": finding.witness,
            })
        })
        .collect();
    json!({
        "diagnostics": diag::json::values(&asked.diagnostics, &asked.source),
        "title": asked.timeline.film.title.as_ref().map(|title| &title.value),
        "reports": reports,
        "claims": claims,
    })
}

/// Prints the tree of a mate.
fn tree(arguments: &Prove, talk: &Talk, budget: Budget) -> Result<(), Failure> {
    let (fen, claim) = (arguments.fen.as_deref().unwrap_or_default(), arguments.claim.as_deref().unwrap_or_default());
    let Some(Stipulation::Mate(moves)) = Stipulation::read(claim) else {
        return Err(Failure::Usage(format!("--tree proves a mate, and `{claim}` is none; write `mate in 3` or `#3`")));
    };
    let mut asked = read(arguments)?;
    if diag::has_errors(&asked.diagnostics) {
        return refuse(talk, &asked.source, &asked.diagnostics);
    }
    match proof::mating_tree(fen, moves, budget) {
        Ok(game) => {
            tell(talk, &asked.source, &asked.diagnostics);
            report::print(&game)
        }
        Err(why) => {
            asked.diagnostics.push(no_tree(&asked, claim, why));
            refuse(talk, &asked.source, &asked.diagnostics)
        }
    }
}

/// Why there is no tree, told of the claim that was typed.
fn no_tree(asked: &Asked, claim: &str, why: NoTree) -> Diagnostic {
    let start = asked.source.text().rfind(claim).unwrap_or_default();
    let span = Span::from(start..start + claim.len());
    let (code, headline) = match why {
        NoTree::NoMate | NoTree::NoPosition => (Code::ClaimRefuted, format!("the claim `{claim}` is not true")),
        NoTree::Undecided => (Code::ClaimOpen, format!("the claim `{claim}` is neither proven nor refuted")),
        NoTree::TooLarge => (Code::ClaimOpen, format!("the proof of `{claim}` is too large to be printed")),
    };
    let error = Diagnostic::error(code, span, headline).label(why.to_string());
    match why {
        NoTree::Undecided => error.hint("a larger `--budget` looks at more positions"),
        NoTree::TooLarge => error.hint("without `--tree` the mate is proven and its main variations are printed"),
        NoTree::NoMate | NoTree::NoPosition => error,
    }
}

/// Says on standard error what is doubtful of the input; in JSON form the report itself says it.
fn tell(talk: &Talk, source: &Source, diagnostics: &[Diagnostic]) {
    let colour = report::colour_on(io::stderr().is_terminal());
    eprint!("{}", report::diagnostics_text(talk, diagnostics, source, colour));
}

/// Tells the mistakes of the input.
fn refuse(talk: &Talk, source: &Source, diagnostics: &[Diagnostic]) -> Result<(), Failure> {
    if talk.format == Format::Json {
        report::print(&report::json_text(&json!({ "diagnostics": diag::json::values(diagnostics, source) })))?;
    } else {
        tell(talk, source, diagnostics);
    }
    Err(Failure::Mistakes)
}

/// The chess of the timeline, or of a timeline of one scene made of what was typed.
fn read(arguments: &Prove) -> Result<Asked, Failure> {
    let (source, folder) = match (&arguments.file, &arguments.fen) {
        (Some(path), _) => {
            let folder = if path == Path::new("-") { PathBuf::from(".") } else { folder_of(path).to_owned() };
            (Source::new(path, load::read_text(path)?), Some(folder))
        }
        (None, fen) => (Source::new("the command line", typed(fen.as_deref().unwrap_or_default(), arguments)), None),
    };
    let (timeline, mut diagnostics) = timeline::parse(&source);
    let files = folder.as_ref().map_or_else(PgnFiles::new, |folder| load::pgn_files(&timeline, folder));
    let (game, of_game) = game::resolve(&timeline, &files);
    diagnostics.extend(of_game);
    Ok(Asked { timeline, folder: folder.unwrap_or_default(), source, game, diagnostics })
}

/// A timeline of one scene. A stipulation becomes the task; a claim is made after the line's last move.
fn typed(fen: &str, arguments: &Prove) -> String {
    let quoted = |text: &str| Value::from(text).to_string();
    let mut text = format!("[[scene]]\nfen = {}\n", quoted(fen));
    let claim = arguments.claim.as_deref();
    let (task, claim) = match claim {
        Some(words) if game::is_claim(words) => (words.starts_with("mate in").then_some(words), Some(words)),
        Some(words) if Stipulation::read(words).is_some() => (Some(words), None),
        other => (None, other),
    };
    if let Some(task) = task {
        // Writing to a text never fails.
        writeln!(text, "task = {}", quoted(task)).unwrap_or_default();
    }
    let mut keys = Vec::new();
    keys.extend(arguments.line.as_deref().map(|line| format!("play = {}", quoted(line))));
    keys.extend(claim.map(|claim| format!("claim = {}", quoted(claim))));
    if !keys.is_empty() {
        writeln!(text, "cues = [\n  {{ {} }},\n]", keys.join(", ")).unwrap_or_default();
    }
    text
}

/// One report a scene with a board; slow replays show what was shown before.
fn reports(game: &Game, findings: &[Finding], budget: Budget) -> Vec<Report> {
    let scenes = game.scenes.iter().enumerate();
    let boards = scenes.filter_map(|(index, scene)| match &scene.body {
        Body::Board(board) if board.pace.is_none() => Some((index, scene.name.as_deref(), board)),
        _ => None,
    });
    boards
        .map(|(index, name, board)| {
            let own: Vec<&Finding> = findings.iter().filter(|finding| finding.scene == index).collect();
            proof::report(name, board, &own, budget)
        })
        .collect()
}

/// `30s`, `500ms`, `2m`, or seconds.
fn budget(text: &str) -> Result<Budget, Failure> {
    let (number, unit) = text.find(|c: char| c.is_ascii_alphabetic()).map_or((text, "s"), |at| text.split_at(at));
    let factor = match unit {
        "ms" => 0.001,
        "s" => 1.0,
        "m" | "min" => 60.0,
        _ => 0.0,
    };
    let seconds = number.trim().parse::<f64>().unwrap_or(0.0) * factor;
    if seconds.is_finite() && (0.001..=86_400.0).contains(&seconds) {
        Ok(Budget::of((seconds * POSITIONS_A_SECOND) as u64))
    } else {
        Err(Failure::Usage(format!("--budget: `{text}` is no time; write `30s`, `500ms` or `2m`")))
    }
}
