//! How much memory a render takes: what the kernel says was the most at any time.

mod films;

use films::plyreel;
use std::fs;
use std::process::Command;

/// How long the film is, in seconds.
const SECONDS: usize = 24;

/// A film with a move, a mark and a caption every two seconds.
fn text() -> String {
    let moves = ["Nf3", "Nf6", "Ng1", "Ng8"];
    let cue = |n: usize| {
        let play = moves[n % 4];
        format!(
            "  {{ at = {}, play = \"{play}\", marks = [\"key e4\"], text = \"The knight goes out and home.\" }},\n",
            2 * n + 1
        )
    };
    let cues: String = (0..SECONDS / 2).map(cue).collect();
    let fen = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";
    format!(
        "[film]\ntitle = \"Out and home\"\nfps = 24\nends = {SECONDS}\n\n[[scene]]\nat = 0\nfen = \"{fen}\"\ncues = [\n{cues}]\n"
    )
}

/// The most megabytes that a render with these options held at a time.
fn most(options: &[&str]) -> u64 {
    let folder = tempfile::tempdir().expect("a folder");
    let film = folder.path().join("film.toml");
    fs::write(&film, text()).expect("a file");
    let render = plyreel(&["clip", "-q", "--no-cache"]);
    let judge = "import resource, subprocess, sys\n\
        subprocess.run(sys.argv[1:], check=True, stdout=subprocess.DEVNULL)\n\
        print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024)";
    let output = Command::new("python3")
        .args(["-c", judge])
        .arg(render.get_program())
        .args(render.get_args())
        .args(options)
        .arg("-o")
        .arg(folder.path().join("film.mp4"))
        .arg(&film)
        .output()
        .expect("python3 is there");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("text").trim().parse().expect("a number")
}

#[test]
fn rav1e_at_1080p_takes_less_than_400_megabytes_on_two_cores() {
    let most = most(&["--coder", "rav1e", "-j", "2"]);
    assert!(most < 400, "{most} MB");
}
