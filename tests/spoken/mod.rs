//! Narrations with their moves marked: read, spoiled as recognisers spoil them, and held against a draft.
//!
//! A narration is one phrase a line. `{rook to d six|Rd6+}` plays the move at these words; `{go back|<}` returns to
//! the scene's start, `<2` by two plies, `<c7 Rd6+` to the position after these moves, each perhaps followed by a move
//! to play from there (`<2 Kb4`); `>2` begins the second game of the file beside it.

#![allow(dead_code)] // every test takes its own part of this

use plyreel::diag::has_errors;
use plyreel::draft::{self, Heading, Language, Study, Wish};
use plyreel::game::{self, Action, Body, PgnFiles, Position, When};
use plyreel::narration::transcript::{Timing, Transcript, Word};
use plyreel::source::{Source, Spanned};
use plyreel::timeline::{self, At, SceneBody, Timeline};
use plyreel::units::Time;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A narration with what it plays.
pub struct Narration {
    pub name: String,
    pub language: String,
    pub transcript: Transcript,
    /// Moves in order.
    pub played: Vec<Played>,
    pub studies: Vec<Study>,
    pub pgn: Arc<Source>,
}

/// A move on the board.
#[derive(Clone, Debug, PartialEq)]
pub struct Played {
    pub at: Time,
    /// The position before it.
    pub fen: String,
    pub san: String,
}

/// Every narration of a folder under `tests/narrations`, in alphabetical order.
pub fn narrations(folder: &str) -> Vec<Narration> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/narrations").join(folder);
    let mut paths: Vec<PathBuf> = fs::read_dir(&folder)
        .expect("the folder of narrations can be listed")
        .map(|entry| entry.expect("an entry can be read").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "txt"))
        .collect();
    paths.sort();
    paths.iter().map(|path| read(path)).collect()
}

/// One narration.
pub fn read(path: &Path) -> Narration {
    let text = fs::read_to_string(path).expect("a narration is text");
    let pgn_path = path.with_extension("pgn");
    let pgn = Arc::new(Source::new(&pgn_path, fs::read_to_string(&pgn_path).expect("a PGN beside the narration")));
    let studies = studies(&pgn);
    let starts: Vec<Position> = studies.iter().map(|study| study.start.clone()).collect();
    let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
    let mut teller = Teller {
        starts: &starts,
        study: 0,
        line: vec![starts[0].clone()],
        clock: 1.0,
        phrase: 0,
        words: Vec::new(),
        played: Vec::new(),
        name: &name,
    };
    let mut language = "en".to_owned();
    for line in text.lines() {
        if let Some(named) = line.strip_prefix("# language: ") {
            named.clone_into(&mut language);
        } else if !line.trim().is_empty() && !line.starts_with('#') {
            teller.phrase(line);
        }
    }
    let (words, played) = (teller.words, teller.played);
    Narration { name, language, transcript: Transcript::from_words(words), played, studies, pgn }
}

/// The studies of a PGN file, as the program makes them.
pub fn studies(pgn: &Arc<Source>) -> Vec<Study> {
    let count = game::games_in(pgn);
    let scene = |number: usize| timeline::Scene {
        name: None,
        at: None,
        body: SceneBody::Pgn {
            file: Spanned::new("lines.pgn".into(), 0..0),
            game: Some(Spanned::new(number as u32, 0..0)),
        },
        task: None,
        credit: None,
        text: None,
        ring: None,
        cues: Vec::new(),
        span: plyreel::source::Span::default(),
    };
    let timeline = Timeline { scenes: (1..=count).map(scene).collect(), ..Timeline::default() };
    let files = PgnFiles::from([("lines.pgn".to_owned(), Ok(pgn.clone()))]);
    let (game, found) = game::resolve(&timeline, &files);
    assert!(!has_errors(&found), "{}: {found:?}", pgn.path().display());
    game.scenes
        .into_iter()
        .filter_map(|scene| match scene.body {
            Body::Board(board) => Some(Study { start: Position::of(&board.nodes[0]), lines: board.nodes }),
            Body::Card(_) => None,
        })
        .collect()
}

struct Teller<'a> {
    starts: &'a [Position],
    study: usize,
    /// The positions from the start to the one on the board.
    line: Vec<Position>,
    clock: f64,
    phrase: usize,
    words: Vec<Word>,
    played: Vec<Played>,
    name: &'a str,
}

impl Teller<'_> {
    fn phrase(&mut self, line: &str) {
        let mut rest = line;
        while let Some((before, inside)) = rest.split_once('{') {
            self.say(before);
            let (marked, after) = inside.split_once('}').expect("a mark is closed");
            let (words, event) = marked.split_once('|').expect("a mark has its event");
            let at = self.clock;
            self.say(words);
            self.event(event.trim(), Time::from_millis((at * 1000.0) as i64));
            rest = after;
        }
        self.say(rest);
        self.phrase += 1;
        self.clock += 0.7;
    }

    fn say(&mut self, text: &str) {
        let time = |seconds: f64| Time::from_millis((seconds * 1000.0) as i64);
        for text in text.split_whitespace() {
            if !text.contains(char::is_alphanumeric) {
                if let Some(last) = self.words.last_mut() {
                    last.text.push_str(text);
                }
                continue;
            }
            let length = 0.12 + 0.055 * text.len() as f64;
            let (start, end) = (time(self.clock), time(self.clock + length));
            let timing = Timing::Given;
            self.words.push(Word { text: text.to_owned(), start, end, phrase: self.phrase, timing });
            self.clock += length + 0.04;
            if text.ends_with([',', '.', '!', '?', ':']) {
                self.clock += 0.25;
            }
        }
    }

    fn event(&mut self, event: &str, at: Time) {
        if let Some(number) = event.strip_prefix('>') {
            self.study = number.parse::<usize>().expect("a number of a game") - 1;
            self.line = vec![self.starts[self.study].clone()];
            return;
        }
        let Some(back) = event.strip_prefix('<') else { return self.play(event, Some(at)) };
        let mut words: Vec<&str> = back.split_whitespace().collect();
        if let Some(plies) = words.first().and_then(|word| word.parse::<usize>().ok()) {
            words.remove(0);
            self.line.truncate(self.line.len() - plies);
            for san in words {
                self.play(san, Some(at));
            }
        } else {
            self.line.truncate(1);
            for san in words {
                self.play(san, None);
            }
        }
    }

    fn play(&mut self, san: &str, at: Option<Time>) {
        let here = self.line.last().expect("a position");
        let bare = |text: &str| text.trim_end_matches(['+', '#']).to_owned();
        let legal = here.legal_moves().into_iter().find(|legal| bare(&here.san(legal)) == bare(san));
        let legal = legal.unwrap_or_else(|| panic!("{}: {san} is not legal in {}", self.name, here.fen()));
        if let Some(at) = at {
            self.played.push(Played { at, fen: here.fen(), san: here.san(&legal) });
        }
        let after = here.after(&legal);
        self.line.push(after);
    }
}

/// Drafts a narration, with its lines or from its positions alone.
pub fn drafted(narration: &Narration, transcript: &Transcript, with_lines: bool) -> String {
    let language = Language::named(&narration.language).expect("a known language");
    let studies: Vec<Study> = narration
        .studies
        .iter()
        .map(|study| Study {
            start: study.start.clone(),
            lines: if with_lines { study.lines.clone() } else { Vec::new() },
        })
        .collect();
    let pgn = |number: usize| with_lines.then(|| ("lines.pgn".to_owned(), number as u32));
    let headings: Vec<Heading> = (1..=studies.len())
        .map(|number| Heading { name: Some(format!("Position {number}")), pgn: pgn(number), ..Heading::default() })
        .collect();
    let wish = Wish { headings, ..Wish::default() };
    draft::draft(transcript, &language, &studies, &wish).text
}

/// What a drafted timeline plays; it must be without mistakes.
pub fn played(text: &str, pgn: &Arc<Source>) -> Vec<Played> {
    let source = Source::new("draft.toml", text);
    let (timeline, mut found) = timeline::parse(&source);
    let files = PgnFiles::from([("lines.pgn".to_owned(), Ok(pgn.clone()))]);
    let (game, of_game) = game::resolve(&timeline, &files);
    found.extend(of_game);
    found.extend(plyreel::proof::diagnostics(&plyreel::proof::judge(&game)));
    found.extend(plyreel::film::Film::new(&timeline, &game, None).1);
    assert!(!has_errors(&found), "{}\n{text}", plyreel::diag::human::render(&found, &source, false));
    let mut played = Vec::new();
    for scene in &game.scenes {
        let Body::Board(board) = &scene.body else { continue };
        let mut at = Time::ZERO;
        for step in &board.steps {
            if let When::At(At::Clock(time)) = step.when {
                at = time;
            }
            if step.action == Action::Play {
                let (parent, ply) = board.nodes[step.node.0].came.as_ref().expect("a move has a position before it");
                played.push(Played { at, fen: board.nodes[parent.0].fen.clone(), san: ply.san.clone() });
            }
        }
    }
    played
}

/// How many moves were said, drafted, and both.
#[derive(Clone, Copy, Debug, Default)]
pub struct Score {
    pub said: usize,
    pub drafted: usize,
    pub right: usize,
}

impl Score {
    pub fn recall(self) -> f64 {
        self.right as f64 / self.said.max(1) as f64
    }

    pub fn precision(self) -> f64 {
        self.right as f64 / self.drafted.max(1) as f64
    }

    pub fn add(&mut self, other: Score) {
        self.said += other.said;
        self.drafted += other.drafted;
        self.right += other.right;
    }
}

/// A drafted move is right if it is played from the right position, no further from its words than this.
const NEAR: f32 = 1200.0;

/// Holds a draft against what was said; also the moves missed and the moves too many.
pub fn score(said: &[Played], drafted: &[Played]) -> (Score, Vec<Played>, Vec<Played>) {
    let mut spare: Vec<Option<&Played>> = drafted.iter().map(Some).collect();
    let mut missed = Vec::new();
    for wanted in said {
        let fits = |played: &Played| {
            played.fen == wanted.fen && played.san == wanted.san && played.at.millis_after(wanted.at).abs() <= NEAR
        };
        match spare.iter_mut().find(|spare| spare.is_some_and(fits)) {
            Some(found) => *found = None,
            None => missed.push(wanted.clone()),
        }
    }
    let extra: Vec<Played> = spare.into_iter().flatten().cloned().collect();
    let score = Score { said: said.len(), drafted: drafted.len(), right: said.len() - missed.len() };
    (score, missed, extra)
}

/// A generator of numbers that only depends on its seed (64-bit linear congruential, Knuth's MMIX constants).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: &str, strength: u32) -> Dice {
        let mixed = seed.bytes().fold(u64::from(strength) + 1, |sum, byte| {
            sum.wrapping_mul(1_099_511_628_211).wrapping_add(u64::from(byte))
        });
        Dice(mixed)
    }

    pub fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn pick<'a>(&mut self, from: &[&'a str]) -> &'a str {
        from[(self.roll() * from.len() as f64) as usize % from.len()]
    }
}

/// What recognisers write for the words of the board; the last of each are rare.
const MISHEARD: [(&str, &[&str]); 25] = [
    ("knight", &["night", "Night", "nite", "knights"]),
    ("rook", &["brook", "rock", "rook's", "ruck"]),
    ("queen", &["Queen", "Quinn", "green"]),
    ("king", &["King", "kings", "kink"]),
    ("bishop", &["Bishop", "bishops", "fish up"]),
    ("pawn", &["pond", "pawns", "porn"]),
    ("takes", &["take", "text", "tax"]),
    ("check", &["Czech", "cheque", "jack"]),
    ("castles", &["castle", "cassels"]),
    ("a", &["A", "ay", "hey"]),
    ("b", &["be", "bee", "B", "p"]),
    ("c", &["see", "sea", "C", "si"]),
    ("d", &["D", "dee", "the"]),
    ("e", &["E", "he", "ee"]),
    ("f", &["F", "ef", "if"]),
    ("g", &["G", "gee", "ji"]),
    ("h", &["H", "age", "aitch"]),
    ("one", &["1", "won"]),
    ("two", &["2", "to", "too"]),
    ("three", &["3", "free", "tree"]),
    ("four", &["4", "for", "fore"]),
    ("five", &["5", "fife"]),
    ("six", &["6", "sex", "sics"]),
    ("seven", &["7", "Seven"]),
    ("eight", &["8", "ate"]),
];

/// The words as a recogniser of this strength of noise would give them: 1 mishears now and then and forgets commas; 2
/// mishears half of what can be, knows no punctuation, joins squares, drops little words and writes down every `um`; 3 loses words too.
pub fn spoiled(transcript: &Transcript, name: &str, strength: u32) -> Transcript {
    if strength == 0 {
        return transcript.clone();
    }
    let mut dice = Dice::new(name, strength);
    let (mishears, joins, drops, loses) = match strength {
        1 => (0.15, 0.3, 0.0, 0.0),
        2 => (0.4, 0.5, 0.04, 0.004),
        _ => (0.6, 0.4, 0.08, 0.025),
    };
    let mut hesitates = Dice::new(name, strength + 100);
    let mut words: Vec<Word> = Vec::new();
    for word in &transcript.words {
        if strength > 1 && hesitates.roll() < 0.02 {
            let text = hesitates.pick(&["um", "uh", "er"]).to_owned();
            words.push(Word { text, end: word.start, ..word.clone() });
        }
        let bare = word.text.trim_matches(|sign: char| !sign.is_alphanumeric()).to_lowercase();
        let tail: String = word.text.chars().rev().take_while(|sign| !sign.is_alphanumeric()).collect();
        let tail = if strength > 1 || dice.roll() < 0.4 { "" } else { tail.as_str() };
        let little = ["the", "to", "a", "and", "of", "with"].contains(&bare.as_str());
        let heard = MISHEARD.iter().find(|(said, _)| *said == bare).map(|(_, heard)| *heard);
        if (little && dice.roll() < drops) || (heard.is_some() && dice.roll() < loses) {
            continue;
        }
        let text = match heard {
            Some(heard) if dice.roll() < mishears => {
                let common = if strength < 3 { (heard.len() - 1).max(1) } else { heard.len() };
                dice.pick(&heard[..common]).to_owned()
            }
            _ if strength > 1 => bare.clone(),
            _ => word.text.trim_end_matches(|sign: char| !sign.is_alphanumeric()).to_owned(),
        };
        // `e` and `4` become `e4`.
        let figure = text.len() == 1 && text.chars().all(|sign| sign.is_ascii_digit());
        let file = words.last().is_some_and(|last| {
            last.text.len() == 1 && last.text.to_lowercase().chars().all(|sign| ('a'..='h').contains(&sign))
        });
        if figure
            && file
            && dice.roll() < joins
            && let Some(last) = words.last_mut()
        {
            last.text.push_str(&text);
            last.text.push_str(tail);
            last.end = word.end;
            continue;
        }
        words.push(Word { text: text + tail, ..word.clone() });
    }
    Transcript::from_words(words)
}

/// A file of no games.
pub fn no_pgn() -> Arc<Source> {
    Arc::new(Source::new("none.pgn", ""))
}

/// A timeline with its chess, and the chess of its prepared lines alone.
pub fn resolved(text: &str, pgn: &Arc<Source>) -> (Timeline, game::Game, game::Game) {
    let (timeline, _) = timeline::parse(&Source::new("draft.toml", text));
    let files = PgnFiles::from([("lines.pgn".to_owned(), Ok(pgn.clone()))]);
    let mut bare = timeline.clone();
    for scene in &mut bare.scenes {
        scene.cues.clear();
    }
    let (game, _) = game::resolve(&timeline, &files);
    let (lines, _) = game::resolve(&bare, &files);
    (timeline, game, lines)
}
