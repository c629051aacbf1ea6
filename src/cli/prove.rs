//! `plyreel prove`: the test report of a composition, from a timeline or from a position typed.

use super::args::{Format, Prove, Talk};
use super::failure::Failure;
use super::load;
use super::output::folder_of;
use super::proving::Proving;
use super::report;
use crate::diag::{self, Diagnostic};
use crate::game::{self, Body, Game, PgnFiles};
use crate::proof::{self, Budget, Finding, Report, Stipulation, Verdict};
use crate::source::Source;
use crate::timeline::{self, FilmSettings};
use serde_json::json;
use std::fmt::Write as _;
use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

/// Positions that one second of one core looks at, about; budgets count positions, so that the same question has the
/// same answer on every machine.
const POSITIONS_A_SECOND: f64 = 5_000_000.0;

/// Prints the report of every board of the timeline, or of the position given.
pub fn run(arguments: &Prove, talk: &Talk) -> Result<(), Failure> {
    let proving = Proving { no_cache: arguments.no_cache, syzygy: arguments.published.syzygy.clone() };
    let usual = budget(&arguments.budget)?;
    let (source, game, mut diagnostics, film, folder) = read(arguments)?;
    let budget = proving.budget(usual, &film, &folder, &mut diagnostics)?;
    if diag::has_errors(&diagnostics) {
        return refuse(talk, &source, &diagnostics);
    }
    proving.keep_tables();
    let reports = reports(&game, budget);
    let findings = proving.judge(&game, budget);
    let text = match (talk.format, arguments.markdown) {
        (Format::Json, _) => report::json_text(&json!({
            "diagnostics": diag::json::values(&diagnostics, &source),
            "reports": reports,
            "claims": findings.iter().map(|finding| json!({
                "claim": finding.claim,
                "verdict": word(finding.verdict),
                "witness": finding.witness,
            })).collect::<Vec<_>>(),
        })),
        (_, true) => printed(&reports, &findings, Report::markdown, "\n### Claims\n\n", "- "),
        _ => printed(&reports, &findings, Report::human, "\n  Claims\n", "    "),
    };
    report::print(&text)?;
    let refuted = reports.iter().any(|report| report.verdict == Some(word(Verdict::Refuted)))
        || findings.iter().any(|finding| finding.verdict == Verdict::Refuted);
    if refuted { Err(Failure::Mistakes) } else { Ok(()) }
}

/// Tells the mistakes of the input.
fn refuse(talk: &Talk, source: &Source, diagnostics: &[Diagnostic]) -> Result<(), Failure> {
    if talk.format == Format::Json {
        report::print(&report::json_text(&json!({ "diagnostics": diag::json::values(diagnostics, source) })))?;
    } else {
        let colour = report::colour_on(io::stderr().is_terminal());
        eprint!("{}", report::diagnostics_text(talk, diagnostics, source, colour));
    }
    Err(Failure::Mistakes)
}

/// The chess of the timeline, or of a timeline of one scene made of what was typed.
fn read(arguments: &Prove) -> Result<(Source, Game, Vec<Diagnostic>, FilmSettings, PathBuf), Failure> {
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
    Ok((source, game, diagnostics, timeline.film, folder.unwrap_or_default()))
}

/// A timeline of one scene. A stipulation becomes the task; a claim is made after the line's last move.
fn typed(fen: &str, arguments: &Prove) -> String {
    let quoted = |text: &str| serde_json::Value::from(text).to_string();
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
fn reports(game: &Game, budget: Budget) -> Vec<Report> {
    let boards = game.scenes.iter().filter_map(|scene| match &scene.body {
        Body::Board(board) if board.pace.is_none() => Some((scene.name.as_deref(), board)),
        _ => None,
    });
    boards.map(|(name, board)| proof::report(name, board, budget)).collect()
}

fn printed(
    reports: &[Report],
    findings: &[Finding],
    print: impl Fn(&Report) -> String,
    heading: &str,
    lead: &str,
) -> String {
    let mut text = reports.iter().map(print).collect::<Vec<String>>().join("\n");
    if !findings.is_empty() {
        text.push_str(heading);
    }
    for finding in findings {
        writeln!(text, "{lead}{}: {}: {}", finding.claim, word(finding.verdict), finding.witness).unwrap_or_default();
    }
    text
}

fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Proven => "proven",
        Verdict::Refuted => "refuted",
        Verdict::Open => "open",
    }
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
