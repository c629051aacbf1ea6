//! What other programs read out of the kit's files: `kit.py` asks them.

use serde_json::Value;
use std::fs;
use std::process::Command;

/// The judge's reading of a text of this kind, as a file of this name; `more` are the judge's further arguments.
pub fn judged(kind: &str, name: &str, text: &str, more: &[&str]) -> Value {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join(name);
    fs::write(&path, text).expect("a file");
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/judges/kit.py");
    let output = Command::new("python3").args([script, kind]).arg(&path).args(more).output().expect("python3 starts");
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the judge failed; `scripts/tools test` installs what it needs\n{complaint}");
    serde_json::from_slice(&output.stdout).expect("the judge writes JSON")
}
