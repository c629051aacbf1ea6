//! What was coded once is not coded again, and that nothing else follows from it: the same bytes, whatever the cache
//! holds and whenever the program was killed.

mod films;

use films::{Film, chunks_made, plyreel, run};
use std::fs;
use std::path::PathBuf;
use std::process::Stdio;
use std::time::{Duration, Instant};

fn cached(film: &Film) -> Vec<PathBuf> {
    let entries = fs::read_dir(film.cache().join("plyreel")).unwrap();
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).filter(|path| path.is_file()).collect();
    paths.sort();
    paths
}

#[test]
fn a_warm_render_has_the_bytes_of_a_cold_one() {
    for coder in ["patch", "rav1e"] {
        let film = Film::new();
        let seconds = if coder == "rav1e" { "0:14" } else { "1:00" };
        let more = ["--coder", coder, "--to", seconds];
        let (cold, made) = film.clip(&more);
        assert!(made.chunks > 1);
        assert_eq!(made.coded, made.chunks);
        let (warm, made) = film.clip(&more);
        assert_eq!(made.coded, 0, "{coder}");
        assert!(warm == cold, "{coder}: a warm render differs");
        let (without, made) = film.clip(&[&more[..], &["--no-cache"]].concat());
        assert_eq!(made.coded, made.chunks);
        assert!(without == cold, "{coder}: a render without the cache differs");
    }
}

#[test]
fn an_edit_codes_anew_what_it_touches() {
    let film = Film::new();
    let (_, first) = film.clip(&[]);
    let edits: [(&str, &str, &str, usize); 5] = [
        ("a caption is worded anew", "third caption", "third saying", 2),
        ("a cue is moved by half a second", "at = 31.5, back", "at = 32, back", 3),
        // The scene before ends later, and the scene itself, which is the last, ends with the film all the same.
        ("a scene begins two seconds later", "at = 40 # third", "at = 42 # third", 2),
        ("a title is changed", "title = \"A film\"", "title = \"The film\"", 0),
        ("a theme is changed", "theme = \"dusk\"", "theme = \"ink\"", first.chunks + 2),
    ];
    for (what, from, to, most) in edits {
        let text = fs::read_to_string(film.path()).unwrap();
        let edited = text.replacen(from, to, 1);
        assert_ne!(text, edited, "{what}");
        fs::write(film.path(), &edited).unwrap();
        let (warm, made) = film.clip(&[]);
        assert!(made.coded <= most, "{what}: {} of {} chunks coded", made.coded, made.chunks);
        assert!(made.coded > 0 || most == 0, "{what}");
        let (cold, _) = film.clip(&["--no-cache"]);
        assert!(warm == cold, "{what}: a warm render differs");
    }
}

#[test]
fn a_new_narration_codes_no_picture() {
    let film = Film::new();
    let text = fs::read_to_string(film.path()).unwrap();
    fs::write(film.path(), text.replacen("title =", "narration = \"voice.wav\"\ntitle =", 1)).unwrap();
    film.speak("voice.wav", 60.0, 440.0);
    let (one, _) = film.clip(&[]);
    film.speak("voice.wav", 60.0, 330.0);
    let (other, made) = film.clip(&[]);
    assert_eq!(made.coded, 0);
    assert!(one != other, "the other voice is heard");
    assert_eq!(cached(&film).len(), made.chunks + 2, "each voice is kept too");
    assert!(film.clip(&[]).0 == other);
    film.speak("voice.wav", 60.0, 440.0);
    assert!(film.clip(&[]).0 == one, "the first voice comes back");
    assert!(film.clip(&["--no-cache"]).0 == one);
}

#[test]
fn damaged_chunks_are_ignored_and_replaced() {
    let film = Film::new();
    let (cold, made) = film.clip(&[]);
    let paths = cached(&film);
    assert_eq!(paths.len(), made.chunks);
    let bytes = fs::read(&paths[1]).unwrap();
    fs::write(&paths[0], "nothing of the kind").unwrap();
    fs::write(&paths[1], &bytes[..bytes.len() - 1]).unwrap();
    let mut bytes = fs::read(&paths[2]).unwrap();
    *bytes.last_mut().unwrap() ^= 1;
    fs::write(&paths[2], bytes).unwrap();
    fs::copy(&paths[4], &paths[3]).unwrap();
    let (warm, made) = film.clip(&[]);
    assert_eq!(made.coded, 4);
    assert!(warm == cold);
    assert_eq!(film.clip(&[]).1.coded, 0, "they are whole again");
}

#[test]
fn a_cache_that_cannot_be_used_is_done_without() {
    let film = Film::new();
    let (cold, _) = film.clip(&["--no-cache"]);
    assert!(!film.cache().exists(), "--no-cache makes no folder");
    fs::write(film.cache(), "a file where the folder should be").unwrap();
    let output = run(film.command(&["clip"]).args(["-v", "-o"]).args([film.out(), film.path()]));
    assert!(fs::read(film.out()).unwrap() == cold);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.contains("nothing is kept in"), "{said}");
    let output = run(film.command(&["clip", "-o"]).args([film.out(), film.path()]));
    assert!(!String::from_utf8_lossy(&output.stderr).contains("kept"), "only who asks is told");
}

#[test]
fn the_cache_is_bounded_and_cleared() {
    let film = Film::new();
    film.clip(&["--frame", "1280x720", "--cache-limit", "1"]);
    let held: u64 = cached(&film).iter().map(|path| fs::metadata(path).unwrap().len()).sum();
    assert!(held > 0 && held <= 1 << 20, "{held} bytes");
    let output = run(&mut film.command(&["clip", "--clear-cache"]));
    assert!(output.stdout.is_empty());
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.contains("removed"), "{said}");
    assert!(cached(&film).is_empty());
}

#[test]
fn two_programs_use_one_cache_at_once() {
    let film = Film::new();
    let (cold, _) = film.clip(&["--no-cache"]);
    let start = |out: &str| {
        let mut command = film.command(&["clip", "-q", "--format", "json", "-o"]);
        command.arg(film.folder().join(out)).arg(film.path()).stdout(Stdio::piped());
        command.spawn().unwrap()
    };
    let both = [start("a.mp4"), start("b.mp4")];
    for (child, out) in both.into_iter().zip(["a.mp4", "b.mp4"]) {
        let output = child.wait_with_output().unwrap();
        assert!(output.status.success());
        chunks_made(&output);
        assert!(fs::read(film.folder().join(out)).unwrap() == cold);
    }
    assert_eq!(film.clip(&[]).1.coded, 0);
}

#[cfg(unix)]
#[test]
fn a_render_killed_at_any_moment_goes_on_from_what_was_finished() {
    let film = Film::new();
    let began = Instant::now();
    let (undisturbed, _) = film.clip(&["--no-cache", "--jobs", "1"]);
    let length = began.elapsed();
    fs::remove_file(film.out()).unwrap();
    let mut kept_before = 0;
    // Twelve moments, or as many as asked for, between the start and what a whole render took, in no order: the golden
    // ratio's multiples fill the unit interval evenly (Weyl 1916).
    let moments: u32 = std::env::var("PLYREEL_KILLS").ok().and_then(|count| count.parse().ok()).unwrap_or(12);
    for (number, moment) in (1..=moments).map(|i| (i, (f64::from(i) * 0.618_033_988_749_895).fract())) {
        if kept_before > 0 && number % 3 == 0 {
            run(&mut film.command(&["clip", "-q", "--clear-cache"]));
            kept_before = 0;
        }
        let mut child = film
            .command(&["clip", "-q", "--jobs", "1", "-o"])
            .args([film.out(), film.path()])
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let until = Instant::now() + length.mul_f64(moment);
        while Instant::now() < until && child.try_wait().unwrap().is_none() {
            std::thread::park_timeout(Duration::from_millis(1));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        let made = fs::read(film.out());
        assert!(made.map_or(true, |made| made == undisturbed), "a broken film under the final name");
        let kept = cached(&film).into_iter().filter(|path| path.extension().is_some_and(|end| end == "chunk")).count();
        assert!(kept >= kept_before, "finished chunks are lost");
        let (resumed, made) = film.clip(&[]);
        assert!(resumed == undisturbed, "killed at {moment:.3} of the time");
        assert_eq!(made.coded, made.chunks - kept, "killed at {moment:.3}: what was finished is coded again");
        kept_before = made.chunks;
        fs::remove_file(film.out()).unwrap();
    }
    // What a killed writer leaves beside the film goes when the next one begins.
    film.clip(&[]);
    fs::remove_file(film.out()).unwrap();
    let left: Vec<String> = fs::read_dir(film.folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| name != "film.toml" && name != "cache")
        .collect();
    assert_eq!(left, [] as [&str; 0]);
    let output = plyreel(&["clip", "--clear-cache"]).env("XDG_CACHE_HOME", film.cache()).output().unwrap();
    assert!(output.status.success());
}
