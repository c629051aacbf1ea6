//! One film in parts, and several films in one call.

mod films;

use films::{Film, run};
use std::fs;
use std::path::PathBuf;
use std::process::Output;

/// Makes all parts of the film, at the same time.
fn parts(film: &Film, of: usize, more: &[&str]) -> Vec<PathBuf> {
    let start = |part: usize| {
        let share = format!("{part}/{of}");
        let mut command = film.command(&["clip", "-q", "--no-cache", "--chunk", &share]);
        command.arg(film.path()).args(more).stdout(std::process::Stdio::piped()).spawn().unwrap()
    };
    let children: Vec<_> = (1..=of).map(start).collect();
    let path = |output: Output| {
        assert!(output.status.success());
        PathBuf::from(String::from_utf8(output.stdout).unwrap().trim_end())
    };
    children.into_iter().map(|child| path(child.wait_with_output().unwrap())).collect()
}

fn join(film: &Film, parts: &[PathBuf]) -> Output {
    film.command(&["join", "-q"]).arg(film.path()).args(parts).arg("-o").arg(film.out()).output().unwrap()
}

#[test]
fn parts_make_the_undivided_film() {
    let film = Film::new();
    let text = fs::read_to_string(film.path()).unwrap();
    fs::write(film.path(), text.replacen("title =", "narration = \"voice.wav\"\ntitle =", 1)).unwrap();
    film.speak("voice.wav", 60.0, 440.0);
    for (of, more) in [(3, &[][..]), (1, &[]), (40, &[]), (2, &["--from", "3", "--to", "0:25", "--theme", "ink"])] {
        let (whole, _) = film.clip(&[&["--no-cache"], more].concat());
        let mut parts = parts(&film, of, more);
        if of == 40 {
            assert!(parts[2].ends_with("film.part-03-of-40.plyreel"), "{parts:?}");
        }
        parts.reverse();
        fs::remove_file(film.out()).unwrap();
        let output = join(&film, &parts);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        assert!(fs::read(film.out()).unwrap() == whole, "{of} parts");
    }
}

#[test]
fn parts_share_the_work_evenly() {
    let film = Film::new();
    let sizes = parts(&film, 3, &[]).iter().map(|part| fs::metadata(part).unwrap().len()).collect::<Vec<_>>();
    let (least, most) = (sizes.iter().min().unwrap(), sizes.iter().max().unwrap());
    assert!(most < &(2 * least), "{sizes:?}");
}

#[test]
fn parts_that_do_not_make_the_film_are_refused() {
    let film = Film::new();
    let good = parts(&film, 3, &[]);
    let refused = |parts: &[PathBuf], reason: &str| {
        let output = join(&film, parts);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains(reason), "{said}");
        assert!(!film.out().exists());
    };
    let moved = |part: usize, name: &str| {
        let path = film.folder().join(name);
        fs::copy(&good[part], &path).unwrap();
        path
    };
    refused(&good[..2], "part 3 of 3 is missing");
    refused(&good[1..2], "parts 1, 3 of 3 are missing");
    let twice = moved(1, "twice.plyreel");
    refused(&[good[0].clone(), good[1].clone(), twice.clone(), good[2].clone()], "part 2 is there twice");

    let mut bytes = fs::read(&twice).unwrap();
    let last = bytes.len() - 1;
    bytes[last] ^= 1;
    fs::write(&twice, &bytes).unwrap();
    refused(&[good[0].clone(), twice.clone(), good[2].clone()], "twice.plyreel` is cut short or damaged");
    fs::write(&twice, "a letter").unwrap();
    refused(&[good[0].clone(), twice, good[2].clone()], "twice.plyreel` is not a part");

    let kept: Vec<PathBuf> = (0..3).map(|part| moved(part, &format!("{part}.plyreel"))).collect();
    let ink = parts(&film, 3, &["--theme", "ink"]);
    refused(&[kept[0].clone(), ink[1].clone(), kept[2].clone()], "with different options");
    let two = parts(&film, 2, &[]);
    refused(&[kept[0].clone(), two[1].clone(), kept[2].clone()], "is one of 3 parts");

    let text = fs::read_to_string(film.path()).unwrap();
    fs::write(film.path(), text.replace("third caption", "third saying")).unwrap();
    let edited = parts(&film, 3, &[]);
    refused(&[kept[0].clone(), edited[1].clone(), kept[2].clone()], "the timeline was changed between them");
    refused(&kept, "the timeline was changed since");
}

#[test]
fn several_films_are_made_in_one_call() {
    let (one, other) = (Film::new(), Film::new());
    let text = fs::read_to_string(other.path()).unwrap();
    let short = other.folder().join("short.toml");
    fs::write(&short, text.replace("caption", "word").replace("fps = 24", "fps = 25")).unwrap();
    let (first, _) = one.clip(&["--no-cache"]);
    run(other.command(&["clip", "-q", "--no-cache", "-o"]).arg(other.out()).arg(&short));
    let second = fs::read(other.out()).unwrap();
    fs::remove_file(one.out()).unwrap();

    let mut command = one.command(&["clip", "-q", "--no-cache"]);
    let output = run(command.args([one.path(), short.clone()]));
    let beside = other.folder().join("short.mp4");
    assert_eq!(String::from_utf8_lossy(&output.stdout), format!("{}\n{}\n", one.out().display(), beside.display()));
    assert!(fs::read(one.out()).unwrap() == first && fs::read(&beside).unwrap() == second);

    let folder = one.folder().join("all of them");
    let mut command = one.command(&["clip", "-q", "--jobs", "3", "--format", "json", "-o"]);
    let output = run(command.arg(&folder).args([one.path(), short.clone()]));
    let object: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(object["films"].as_array().unwrap().len(), 2);
    assert!(
        fs::read(folder.join("film.mp4")).unwrap() == first && fs::read(folder.join("short.mp4")).unwrap() == second
    );

    let refused = |arguments: &[PathBuf], code: i32, reason: &str| {
        let output = one.command(&["clip", "-q", "--format", "short"]).args(arguments).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{said}");
        assert!(said.contains(reason), "{said}");
    };
    let into_file = ["-o".into(), one.folder().join("x.mp4"), one.path(), short.clone()];
    refused(&into_file, 2, "several films go into a folder");
    refused(&["-o".into(), folder, one.path(), other.path()], 2, "two films would be written to");
    fs::write(&short, text.replace("c8=R", "c8=K")).unwrap();
    refused(&[one.path(), short], 1, "error");
}
