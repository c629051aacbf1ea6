//! What proofs are made with: tables and verdicts of earlier runs, the user's Syzygy files, and the budget.

use super::args::heading;
use super::cache;
use super::failure::Failure;
use super::kept::Kept;
use crate::diag::{Code, Diagnostic};
use crate::game::{Body, Game};
use crate::proof::{self, Budget, Finding, Memory, Syzygy, SyzygyFault, TableStore, Verdict};
use crate::timeline::FilmSettings;
use crate::units::Fnv;
use clap::{Args, ValueHint};
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

/// What the folder of endgame tables may hold: all of three and four men, and two or three of five men.
const TABLES: u64 = 1 << 30;

/// What the folder of verdicts may hold: some ten thousand of them.
const VERDICTS: u64 = 4 << 20;

/// Where proofs may look things up.
#[derive(Args, Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Published {
    /// A folder of Syzygy tables, for endings of more than four men
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath, help_heading = heading::CHECKS)]
    pub syzygy: Option<PathBuf>,
}

impl Published {
    /// How claims are proven with it.
    pub fn proving(&self, no_cache: bool) -> Proving {
        Proving { no_cache, syzygy: self.syzygy.clone() }
    }
}

/// How claims are to be proven.
#[derive(Clone, Debug, Default)]
pub struct Proving {
    /// Nothing of earlier runs is used, and nothing kept.
    pub no_cache: bool,
    /// The command line's Syzygy folder.
    pub syzygy: Option<PathBuf>,
}

impl Proving {
    /// The budget with the Syzygy folder that the command line or the timeline names. A folder of the timeline that
    /// cannot be used is a mistake of the timeline.
    pub fn budget(
        &self,
        usual: Budget,
        film: &FilmSettings,
        folder: &Path,
        diagnostics: &mut Vec<Diagnostic>,
    ) -> Result<Budget, Failure> {
        if let Some(path) = &self.syzygy {
            return Ok(Budget { syzygy: Some(opened(path)?), ..usual });
        }
        let Some(name) = &film.syzygy else { return Ok(usual) };
        match Syzygy::open(&folder.join(&name.value)) {
            Ok(syzygy) => Ok(Budget { syzygy: Some(syzygy), ..usual }),
            Err(fault) => {
                let headline = format!("the Syzygy folder `{}` cannot be used", name.value);
                diagnostics.push(Diagnostic::error(Code::Media, name.span, headline).label(fault_told(&fault)));
                Ok(usual)
            }
        }
    }

    /// Every claim of the film with its verdict.
    pub fn judge(&self, game: &Game, budget: Budget) -> Vec<Finding> {
        if !has_claims(game) {
            return Vec::new();
        }
        self.keep_tables();
        match self.folder() {
            Some(folder) => proof::judge_remembering(game, budget, &Verdicts::open(&folder)),
            None => proof::judge_within(game, budget),
        }
    }

    /// Tasks that are not true, and lines that contradict theirs.
    pub fn tasks(&self, game: &Game, budget: Budget) -> Vec<Diagnostic> {
        self.keep_tables();
        match self.folder() {
            Some(folder) => proof::tasks(game, budget, &Verdicts::open(&folder)),
            None => proof::tasks(game, budget, &proof::NoMemory),
        }
    }

    /// Lets the tables be kept, or not, as [`Proving::judge`] does by itself.
    pub fn keep_tables(&self) {
        static TABLES_KEPT: OnceLock<Arc<Tables>> = OnceLock::new();
        let tables = |folder: PathBuf| TABLES_KEPT.get_or_init(|| Arc::new(Tables(kept_tables(&folder)))).clone();
        proof::keep_tables_in(self.folder().map(|folder| tables(folder) as Arc<dyn TableStore>));
    }

    /// Where tables and verdicts are kept, if they are.
    fn folder(&self) -> Option<PathBuf> {
        cache::usual_folder().filter(|_| !self.no_cache)
    }
}

fn has_claims(game: &Game) -> bool {
    game.scenes.iter().any(|scene| match &scene.body {
        Body::Board(board) => board.steps.iter().any(|step| !step.claims.is_empty()),
        Body::Card(_) => false,
    })
}

fn opened(path: &Path) -> Result<Syzygy, Failure> {
    Syzygy::open(path).map_err(|fault| match fault {
        SyzygyFault::Unreadable(source) => Failure::read(path, source),
        SyzygyFault::Empty => Failure::Usage(format!("--syzygy {}: {fault}", path.display())),
    })
}

fn fault_told(fault: &SyzygyFault) -> String {
    match fault {
        SyzygyFault::Unreadable(error) => super::failure::reason(error),
        SyzygyFault::Empty => fault.to_string(),
    }
}

fn kept_tables(folder: &Path) -> Kept {
    Kept::open(folder.join("tables"), "table", TABLES)
}

fn kept_verdicts(folder: &Path) -> Kept {
    Kept::open(folder.join("verdicts"), "verdict", VERDICTS)
}

/// Removes tables and verdicts that were kept.
pub fn clear(folder: &Path) {
    kept_tables(folder).clear();
    kept_verdicts(folder).clear();
}

/// Endgame tables, a file each.
struct Tables(Kept);

impl Tables {
    fn number(name: &str) -> u128 {
        let mut hash = Fnv::default();
        hash.bytes(proof::TABLES_VERSION.as_bytes());
        hash.bytes(name.as_bytes());
        hash.value()
    }
}

impl TableStore for Tables {
    fn get(&self, name: &str) -> Option<Vec<u8>> {
        self.0.get(Tables::number(name), |bytes| Some(bytes.to_vec()))
    }

    fn put(&self, name: &str, bytes: &[u8]) {
        self.0.put(Tables::number(name), bytes);
    }
}

/// Verdicts, a file each: the verdict's word, the witness, and a checksum, a line each.
struct Verdicts(Kept);

impl Verdicts {
    fn open(folder: &Path) -> Verdicts {
        Verdicts(kept_verdicts(folder))
    }
}

fn packed(question: u128, verdict: Verdict, witness: &str) -> String {
    let word = verdict.word();
    let mut hash = Fnv::default();
    hash.bytes(&question.to_le_bytes());
    hash.bytes(word.as_bytes());
    hash.bytes(witness.as_bytes());
    format!("{word}\n{witness}\n{:032x}\n", hash.value())
}

fn unpacked(question: u128, bytes: &[u8]) -> Option<(Verdict, String)> {
    let text = std::str::from_utf8(bytes).ok()?;
    let (word, rest) = text.split_once('\n')?;
    let (witness, _) = rest.strip_suffix('\n')?.rsplit_once('\n')?;
    let verdict = Verdict::of_word(word)?;
    (packed(question, verdict, witness) == text).then(|| (verdict, witness.to_owned()))
}

impl Memory for Verdicts {
    fn recall(&self, question: u128) -> Option<(Verdict, String)> {
        self.0.get(question, |bytes| unpacked(question, bytes))
    }

    fn keep(&self, question: u128, verdict: Verdict, witness: &str) {
        self.0.put(question, packed(question, verdict, witness).as_bytes());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_verdict_comes_back_whole_or_not_at_all() {
        let kept = packed(7, Verdict::Refuted, "1.Kf7 wins too\nand more");
        assert_eq!(unpacked(7, kept.as_bytes()), Some((Verdict::Refuted, "1.Kf7 wins too\nand more".to_owned())));
        assert_eq!(unpacked(8, kept.as_bytes()), None, "another question");
        for cut in 0..kept.len() {
            assert_eq!(unpacked(7, &kept.as_bytes()[..cut]), None);
        }
        assert_eq!(unpacked(7, kept.replace("refuted", "proven").as_bytes()), None);
    }

    #[test]
    fn a_damaged_verdict_is_forgotten() {
        let folder = tempfile::tempdir().unwrap();
        let verdicts = Verdicts::open(folder.path());
        verdicts.keep(7, Verdict::Proven, "1.Ra6 bxa6 2.b7#");
        assert_eq!(verdicts.recall(7), Some((Verdict::Proven, "1.Ra6 bxa6 2.b7#".to_owned())));
        std::fs::write(verdicts.0.path(7), "proven\n1.Ra7\n").unwrap();
        assert_eq!(verdicts.recall(7), None);
        assert!(!verdicts.0.path(7).exists());
    }
}
