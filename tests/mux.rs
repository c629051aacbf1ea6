//! Films in every container, judged by ffmpeg and mkvmerge: frames, rates, colours, chapters, and the sound in step.

#[path = "judges/ffmpeg.rs"]
mod judge;

use plyreel::encode::obu::without_delimiters;
use plyreel::encode::{AacPackets, NoStore, Reel, SoundCodec, SoundTrack, Unit, sound};
use plyreel::mux::{Container, Movie, MuxError, write};
use plyreel::narration::Recording;
use plyreel::units::{FrameRate, Size, Time};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

const SIZE: Size = Size { width: 96, height: 64 };

/// Where the narration clicks, in seconds.
const CLICKS: [f64; 4] = [0.1, 0.737, 1.501, 2.9];

/// Units made by ffmpeg's own coder: a key every second.
fn units(frames: usize, rate: FrameRate) -> Vec<Unit> {
    let source = format!("testsrc2=s={}x{}:r={rate}", SIZE.width, SIZE.height);
    let (frames, keys) = (frames.to_string(), (rate.num() / rate.den()).to_string());
    #[rustfmt::skip]
    let (ivf, _) = judge::ffmpeg(&[
        "-f", "lavfi", "-i", &source, "-frames:v", &frames, "-c:v", "libaom-av1", "-cpu-used", "8", "-crf", "50",
        "-g", &keys, "-lag-in-frames", "0", "-pix_fmt", "yuv420p", "-colorspace", "bt709", "-color_primaries", "bt709",
        "-color_trc", "bt709", "-color_range", "tv", "-f", "ivf", "-",
    ], &[]);
    let mut units = Vec::new();
    let mut at = 32;
    while at < ivf.len() {
        let size = u32::from_le_bytes(ivf[at..at + 4].try_into().unwrap()) as usize;
        let data = without_delimiters(&ivf[at + 12..at + 12 + size]).unwrap();
        let key = plyreel::encode::sequence_header(&data).is_some();
        units.push(Unit { data, key });
        at += 12 + size;
    }
    units
}

/// Three seconds of near silence with clicks of half a millisecond.
fn clicks(rate: u32, channels: usize) -> Vec<f32> {
    let mut samples = vec![0.0; 3 * rate as usize * channels];
    for at in CLICKS {
        let start = (at * f64::from(rate)).round() as usize;
        for n in start..start + rate as usize / 1000 {
            samples[n * channels..(n + 1) * channels].fill(0.7);
        }
    }
    samples
}

/// When `ffmpeg`'s decoding of the file clicks, in seconds: where it first passes half height after silence.
fn heard(path: &Path) -> Vec<f64> {
    // AAC in Matroska: the priming packet lies before 0 on the file's clock, and ffmpeg decodes it all the same. There
    // the sound is put on the clock first, as a player does; elsewhere the decoder itself leaves the priming out.
    let aac_in_matroska = path.extension().is_some_and(|ending| ending == "mkv")
        && probe(path, &["-select_streams", "a:0", "-show_streams"])["codec_name"] == "aac";
    let on_the_clock = "aresample=48000:async=1:min_hard_comp=0.000001:first_pts=0";
    let samples = if aac_in_matroska {
        let args =
            ["-copyts", "-i", path.to_str().unwrap(), "-vn", "-af", on_the_clock, "-ac", "1", "-f", "f32le", "-"];
        let (bytes, _) = judge::ffmpeg(&args, &[]);
        bytes.chunks_exact(4).map(|b| f32::from_le_bytes(b.try_into().unwrap())).collect()
    } else {
        judge::decoded(path, 48_000, 1)
    };
    let mut found: Vec<f64> = Vec::new();
    for (n, sample) in samples.iter().enumerate() {
        let at = n as f64 / 48_000.0;
        if sample.abs() > 0.35 && found.last().is_none_or(|last| at - last > 0.05) {
            found.push(at);
        }
    }
    found
}

struct Film {
    folder: TempDir,
    units: Vec<Unit>,
    rate: FrameRate,
    chapters: Vec<(Time, String)>,
}

impl Film {
    fn new(frames: usize, rate: FrameRate) -> Film {
        let chapters =
            vec![(Time::ZERO, "Põsed".to_owned()), (Time::from_millis(1250), "The try & its refutation".to_owned())];
        Film { folder: tempfile::tempdir().unwrap(), units: units(frames, rate), rate, chapters }
    }

    fn narration(&self, name: &str, rate: u32, channels: usize, options: &[&str]) -> Recording {
        let path = self.folder.path().join(name);
        judge::coded(&path, &clicks(rate, channels), rate, channels, options);
        Recording::open(&path).unwrap()
    }

    fn write(&self, container: Container, sound: Option<&SoundTrack>) -> PathBuf {
        let movie = Movie {
            size: SIZE,
            rate: self.rate,
            units: &Reel::from(&self.units[..]),
            sound,
            chapters: &self.chapters,
            title: Some("Lantern lessons № 4"),
        };
        let path = self.folder.path().join(format!("film.{}", container.extension()));
        let mut bytes = Vec::new();
        write(container, &movie, &mut bytes).unwrap();
        std::fs::write(&path, bytes).unwrap();
        path
    }
}

fn coded(recording: &Recording, aac: AacPackets) -> SoundTrack {
    let whole = Time::ZERO..Time::from_millis(3_600_000);
    sound(recording, whole, aac, &NoStore, 2, &|| false).unwrap().unwrap()
}

/// `key=value` lines of ffprobe about one stream, or about the file.
fn probe(path: &Path, args: &[&str]) -> HashMap<String, String> {
    let mut all = vec!["-v", "warning", "-of", "default=nw=1"];
    all.extend(args);
    all.push(path.to_str().unwrap());
    let (out, said) = judge::run("ffprobe", &all, &[]);
    assert_eq!(beyond_chapter_tracks(&said), "", "ffprobe on {}", path.display());
    let text = String::from_utf8(out).unwrap();
    text.lines().filter_map(|line| line.split_once('=')).map(|(k, v)| (k.to_owned(), v.to_owned())).collect()
}

/// What ffprobe says, but for its remark on every MP4 chapter track, its own included: 98314 is "plain data".
fn beyond_chapter_tracks(said: &str) -> String {
    said.lines().filter(|line| !line.starts_with("Unsupported codec with id 98314")).collect()
}

fn decodes_without_a_word(path: &Path) {
    let (_, said) = judge::ffmpeg(&["-xerror", "-i", path.to_str().unwrap(), "-f", "null", "-"], &[]);
    assert_eq!(said, "", "ffmpeg on {}", path.display());
}

fn mkvmerge_finds_no_fault(path: &Path) {
    let target = path.with_extension("remux.mkv");
    let (out, _) = judge::run("mkvmerge", &["-o", target.to_str().unwrap(), path.to_str().unwrap()], &[]);
    let said = String::from_utf8_lossy(&out).into_owned();
    assert!(!said.contains("Warning") && !said.contains("Error"), "mkvmerge on {}: {said}", path.display());
}

#[test]
fn frames_rates_and_colours_are_read_as_written() {
    for (num, den) in [(24, 1), (25, 1), (30, 1), (50, 1), (60, 1), (30_000, 1001), (60_000, 1001)] {
        let rate = FrameRate::new(num, den).unwrap();
        let frames = (3 * num / den) as usize;
        let film = Film::new(frames, rate);
        let track = coded(&film.narration("voice.wav", 48_000, 1, &[]), AacPackets::Recode);
        for container in [Container::Mp4, Container::WebM, Container::Matroska] {
            let path = film.write(container, Some(&track));
            let what = format!("{container} at {rate}");
            let video = probe(&path, &["-select_streams", "v:0", "-count_frames", "-show_streams"]);
            assert_eq!(video["nb_read_frames"], frames.to_string(), "{what}");
            // WebM's clock ticks in ms: there a fractional rate is what ffprobe makes of 16683333 ns, and mkvmerge below
            // takes the very number.
            let (told_num, told_den) = video["r_frame_rate"].split_once('/').unwrap();
            let told = told_num.parse::<f64>().unwrap() / told_den.parse::<f64>().unwrap();
            assert!((told * f64::from(den) / f64::from(num) - 1.0).abs() < 1e-5, "{what}: {told}");
            if container == Container::Mp4 {
                assert_eq!(video["r_frame_rate"], format!("{num}/{den}"), "{what}");
                assert_eq!(video["avg_frame_rate"], format!("{num}/{den}"), "{what}");
                assert_eq!(video["nb_frames"], frames.to_string(), "{what}");
                let length = frames as f64 * f64::from(den) / f64::from(num);
                assert!((video["duration"].parse::<f64>().unwrap() - length).abs() < 1e-6, "{what}");
            }
            for (key, value) in [
                ("codec_name", "av1"),
                ("width", "96"),
                ("height", "64"),
                ("color_range", "tv"),
                ("color_space", "bt709"),
                ("color_transfer", "bt709"),
                ("color_primaries", "bt709"),
                ("start_time", "0.000000"),
            ] {
                assert_eq!(video[key], value, "{what}: {key}");
            }
            let format = probe(&path, &["-show_format"]);
            let length = (frames as f64 * f64::from(den) / f64::from(num)).max(3.0);
            let told: f64 = format["duration"].parse().unwrap();
            assert!((told - length).abs() < 0.021, "{what}: {told} of {length} s");
            assert_eq!(format["TAG:title"], "Lantern lessons № 4", "{what}");
            decodes_without_a_word(&path);
            mkvmerge_finds_no_fault(&path);
        }
    }
}

#[test]
fn chapters_are_read_as_written() {
    let mut film = Film::new(75, FrameRate::new(25, 1).unwrap());
    for from in [0, 400] {
        film.chapters[0].0 = Time::from_millis(from);
        film.chapters.truncate(2);
        film.chapters.push((Time::from_millis(9_000), "after the end".to_owned()));
        for container in [Container::Mp4, Container::WebM, Container::Matroska] {
            let path = film.write(container, None);
            let (out, said) = judge::run(
                "ffprobe",
                &[
                    "-v",
                    "warning",
                    "-of",
                    "csv=p=0",
                    "-show_entries",
                    "chapter=start_time,end_time:chapter_tags=title",
                    path.to_str().unwrap(),
                ],
                &[],
            );
            assert_eq!(beyond_chapter_tracks(&said), "", "{container}");
            let first = from as f64 / 1000.0;
            let expected = format!("{first:.6},1.250000,Põsed\n1.250000,3.000000,The try & its refutation\n");
            assert_eq!(String::from_utf8(out).unwrap(), expected, "{container}");
            decodes_without_a_word(&path);
            mkvmerge_finds_no_fault(&path);
        }
    }
}

#[test]
fn clicks_are_heard_when_they_were_made() {
    let film = Film::new(90, FrameRate::new(30, 1).unwrap());
    let in_step = |path: &Path, what: &str| {
        let heard = heard(path);
        assert_eq!(heard.len(), CLICKS.len(), "{what}: {heard:?}");
        for (heard, made) in heard.iter().zip(CLICKS) {
            assert!((heard - made).abs() < 0.001, "{what}: made at {made} s, heard at {heard} s");
        }
        decodes_without_a_word(path);
        mkvmerge_finds_no_fault(path);
    };
    for channels in [1, 2] {
        for rate in [48_000, 44_100] {
            let voice = film.narration("voice.flac", rate, channels, &[]);
            let track = coded(&voice, AacPackets::PassOn);
            assert_eq!(track.codec, SoundCodec::Opus);
            for container in [Container::Mp4, Container::WebM, Container::Matroska] {
                let path = film.write(container, Some(&track));
                in_step(&path, &format!("{rate} Hz in {channels} channels as Opus in {container}"));
            }
            let voice = film.narration("voice.m4a", rate, channels, &["-c:a", "aac", "-b:a", "128k"]);
            let track = coded(&voice, AacPackets::PassOn);
            assert!(matches!(track.codec, SoundCodec::Aac { .. }));
            for container in [Container::Mp4, Container::Matroska] {
                let path = film.write(container, Some(&track));
                in_step(&path, &format!("{rate} Hz in {channels} channels as AAC in {container}"));
            }
            assert!(matches!(coded(&voice, AacPackets::Recode).codec, SoundCodec::Opus));
        }
    }
}

/// Our own reader of what we wrote: length to the sample, and clicks in step.
#[test]
fn sound_survives_the_way_there_and_back() {
    let film = Film::new(90, FrameRate::new(30, 1).unwrap());
    let voice = film.narration("voice.m4a", 44_100, 1, &["-c:a", "aac"]);
    let track = coded(&voice, AacPackets::PassOn);
    let back = Recording::open(&film.write(Container::Mp4, Some(&track))).unwrap();
    assert_eq!((back.samples(), back.rate()), (voice.samples(), voice.rate()));
    let again = coded(&back, AacPackets::PassOn);
    assert_eq!(again, track);
    let opus = coded(&voice, AacPackets::Recode);
    let back = Recording::open(&film.write(Container::Mp4, Some(&opus))).unwrap();
    assert_eq!(back.samples(), voice.samples());
}

#[test]
fn ivf_is_what_the_codecs_tools_read() {
    let film = Film::new(30, FrameRate::new(30_000, 1001).unwrap());
    let path = film.write(Container::Ivf, None);
    let video = probe(&path, &["-select_streams", "v:0", "-count_frames", "-show_streams"]);
    assert_eq!((video["nb_read_frames"].as_str(), video["r_frame_rate"].as_str()), ("30", "30000/1001"));
    let (_, said) = judge::run("aomdec", &["--rawvideo", "-o", "/dev/null", path.to_str().unwrap()], &[]);
    assert_eq!(said, "");
    let voice = film.narration("voice.wav", 48_000, 1, &[]);
    let track = coded(&voice, AacPackets::Recode);
    let units = Reel::from(&film.units[..]);
    let movie = Movie { size: SIZE, rate: film.rate, units: &units, sound: Some(&track), chapters: &[], title: None };
    let refused = write(Container::Ivf, &movie, &mut Vec::new()).unwrap_err();
    assert_eq!(refused.to_string(), "IVF carries no Opus sound");
}

#[test]
fn what_is_no_film_is_refused() {
    let film = Film::new(3, FrameRate::new(30, 1).unwrap());
    let (none, beheaded) = (Reel::default(), Reel::from(&film.units[1..]));
    let units = Reel::from(&film.units[..]);
    let movie = Movie { size: SIZE, rate: film.rate, units: &none, sound: None, chapters: &[], title: None };
    assert!(matches!(write(Container::Mp4, &movie, &mut Vec::new()), Err(MuxError::NoFrame)));
    let movie = Movie { units: &beheaded, ..movie };
    assert!(matches!(write(Container::WebM, &movie, &mut Vec::new()), Err(MuxError::NoKey)));
    let movie = Movie { units: &units, size: Size { width: 70_000, height: 2 }, ..movie };
    assert!(matches!(write(Container::Mp4, &movie, &mut Vec::new()), Err(MuxError::TooLarge { .. })));
}

/// The index comes first and the same film is the same file.
#[test]
fn the_index_comes_first() {
    let film = Film::new(30, FrameRate::new(30, 1).unwrap());
    let mp4 = std::fs::read(film.write(Container::Mp4, None)).unwrap();
    let at = |letters: &[u8]| mp4.windows(4).position(|four| four == letters).unwrap();
    assert!(at(b"ftyp") < at(b"moov") && at(b"moov") < at(b"mdat"));
    assert_eq!(mp4, std::fs::read(film.write(Container::Mp4, None)).unwrap());
    let mkv = std::fs::read(film.write(Container::Matroska, None)).unwrap();
    let at = |id: [u8; 4]| mkv.windows(4).position(|four| four == id).unwrap();
    // The seek head names Cues as well; the element itself is the last such id before the first cluster.
    assert!(at([0x1C, 0x53, 0xBB, 0x6B]) < at([0x1F, 0x43, 0xB6, 0x75]));
}
