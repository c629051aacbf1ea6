//! The kit's texts, as other programs read them.
//!
//! Needs `python3` with `chess`, `srt`, `webvtt-py`, `opentimelineio` and `otio-cmx3600-adapter`; `scripts/tools test`
//! installs them.

#[path = "judges/kit.rs"]
mod judges;

use judges::judged;
use plyreel::diag::{Diagnostic, has_errors};
use plyreel::film::Film;
use plyreel::game::{self, Body, Game, NodeId, PgnFiles, Position};
use plyreel::kit::{self, Content, KitFile, Material, Wishes, read_vtt};
use plyreel::narration::transcript::Transcript;
use plyreel::proof::{self, Finding};
use plyreel::source::Source;
use plyreel::timeline::{self, Timeline};
use plyreel::units::Time;
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::fs;
use std::sync::Arc;

/// A film without pictures.
struct Made {
    timeline: Timeline,
    game: Game,
    findings: Vec<Finding>,
    film: Film,
}

impl Made {
    fn of(text: &str, files: &PgnFiles) -> Made {
        let source = Source::new("film.toml", text);
        let (timeline, mut diagnostics) = timeline::parse(&source);
        let (game, found) = game::resolve(&timeline, files);
        diagnostics.extend(found);
        let findings = proof::judge(&game);
        diagnostics.extend(proof::diagnostics(&findings));
        let (film, found) = Film::new(&timeline, &game, None);
        diagnostics.extend(found);
        // Random lines branch deeper than a move list can show; the chess is sound all the same.
        diagnostics.retain(|diagnostic| diagnostic.code != plyreel::diag::Code::Conflict);
        assert!(!has_errors(&diagnostics), "{}\n{text}", plyreel::diag::human::render(&diagnostics, &source, false));
        Made { timeline, game, findings, film }
    }

    fn kit(&self, transcript: Option<&Transcript>, wishes: &Wishes) -> (Vec<KitFile>, Vec<Diagnostic>) {
        let Made { timeline, game, findings, film } = self;
        kit::make(&Material { timeline, game, findings, film, transcript, narration: None }, wishes)
    }
}

fn text<'a>(files: &'a [KitFile], ending: &str) -> &'a str {
    let file = files.iter().find(|file| file.name.ends_with(ending)).unwrap_or_else(|| panic!("no file {ending}"));
    match &file.content {
        Content::Text(text) => text,
        Content::Picture(_) => panic!("{ending} is a picture"),
    }
}

/// A fixed sequence of numbers, so that every run tries the same.
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % count
    }
}

/// Starts that reach promotions, castling and en passant within a few plies; invented for this test.
const STARTS: &[&str] = &[
    "r3k2r/pppppppp/8/8/8/8/PPPPPPPP/R3K2R w KQkq - 0 1",
    "4k3/8/8/PPPPPPPP/pppppppp/8/8/4K3 b - - 0 40",
    "n3k3/1P4P1/8/8/8/8/1p4p1/N3K3 w - - 0 1",
    "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1",
    "1k6/8/8/2NbN3/8/2N1N3/8/1K6 w - - 9 12",
    "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
];

/// A scene of a random tree with signs and captions. Every line returns along itself, so that each is reached.
fn random_scene(dice: &mut Dice, number: usize) -> String {
    let fen = STARTS[number % STARTS.len()];
    let (start, _) = Position::read(fen);
    let mut path = vec![start.expect("a legal position")];
    let mut cues = String::new();
    for _ in 0..28 {
        let here = path.last().expect("the start is never left").clone();
        let moves = here.legal_moves();
        if moves.is_empty() || path.len() > 2 && dice.below(5) == 0 {
            let plies = 1 + dice.below(path.len() - 1);
            path.truncate(path.len() - plies);
            writeln!(cues, "  {{ back = {plies}, text = \"Zurück; {{{plies}}}\" }},").unwrap();
            continue;
        }
        let chosen = &moves[dice.below(moves.len())];
        let sign = ["", "", "", "!", "?", "!!", "??", "!?", "?!"][dice.below(9)];
        let words =
            ["", "", ", text = \"Ein “Zug” – žubr, or a rather long caption that has to be broken\""][dice.below(3)];
        writeln!(cues, "  {{ play = \"{}{sign}\"{words} }},", here.san(chosen)).unwrap();
        path.push(here.after(chosen));
    }
    format!(
        "[[scene]]\nname = \"Game {number}\"\nfen = \"{fen}\"\ncredit = \"A. Composer, Bulletin 1931\"\ncues = [\n{cues}]\n"
    )
}

/// A game as the judge writes it.
fn own_tree(game: &Game, scene: usize) -> Value {
    let Body::Board(board) = &game.scenes[scene].body else { panic!("a board") };
    let words_of = |step: &game::Step| step.text.as_ref().map(|text| text.text.replace('{', "(").replace('}', ")"));
    let is_return = |step: &game::Step| matches!(step.action, game::Action::TakeBack(_) | game::Action::Cut);
    // By node: before the move to it, and after.
    let mut comments = vec![(Vec::new(), Vec::new()); board.nodes.len()];
    for (at, step) in board.steps.iter().enumerate() {
        let Some(words) = words_of(step) else { continue };
        let since = board.steps[..=at].iter().rposition(|past| past.action != game::Action::Stay);
        let Some(since) = since.filter(|since| is_return(&board.steps[*since])) else {
            comments[step.node.0].1.push(words);
            continue;
        };
        match board.steps[at + 1..].iter().find(|next| next.action != game::Action::Stay) {
            Some(next) if next.action == game::Action::Play && children_of(board, step.node)[0] != next.node => {
                comments[next.node.0].0.push(words);
            }
            _ => comments[if since == 0 { 0 } else { board.steps[since - 1].node.0 }].1.push(words),
        }
    }
    type Said = (Vec<String>, Vec<String>);
    fn children_of(board: &game::Board, id: NodeId) -> Vec<NodeId> {
        let mut children: Vec<NodeId> = (0..board.nodes.len())
            .map(NodeId)
            .filter(|child| board.nodes[child.0].came.as_ref().is_some_and(|(parent, _)| *parent == id))
            .collect();
        children.sort_by_key(|child| board.nodes[child.0].line != timeline::LineKind::Solution);
        children
    }
    fn node(board: &game::Board, comments: &[Said], id: NodeId) -> Value {
        let moves: Vec<Value> = children_of(board, id)
            .into_iter()
            .map(|child| {
                let (_, ply) = board.nodes[child.0].came.as_ref().unwrap();
                let promoted = ply.promotion.map(|role| role.letter().to_ascii_lowercase().to_string());
                let uci = format!("{}{}{}", ply.from, ply.to, promoted.unwrap_or_default());
                json!([uci, ply.san, node(board, comments, child)])
            })
            .collect();
        let sign = board.nodes[id.0].came.as_ref().map_or("", |(_, ply)| ply.suffix.as_str());
        let nags: Vec<usize> = ["!", "?", "!!", "??", "!?", "?!"]
            .iter()
            .position(|known| *known == sign)
            .map(|at| at + 1)
            .into_iter()
            .collect();
        let (before, after) = &comments[id.0];
        json!({ "before": before.join(" "), "comment": after.join(" "), "nags": nags, "moves": moves })
    }
    node(board, &comments, NodeId(0))
}

#[test]
fn python_chess_reads_every_tree_and_so_does_plyreel() {
    let mut dice = Dice(7);
    let scenes: Vec<String> = (0..60).map(|number| random_scene(&mut dice, number)).collect();
    let made = Made::of(&scenes.concat(), &PgnFiles::new());
    let (files, _) = made.kit(None, &Wishes::of("film"));
    let pgn = text(&files, ".pgn");
    for line in pgn.lines().filter(|line| !line.starts_with('[')) {
        assert!(line.chars().count() < 80 && line.trim() == line && !line.contains("  "), "{line}");
    }
    let games = judged("pgn", "film.pgn", pgn, &[]);
    let games = games.as_array().expect("a list");
    assert_eq!(games.len(), scenes.len());
    for (number, found) in games.iter().enumerate() {
        assert_eq!(found["errors"], json!([]), "game {number}");
        assert_eq!(found["tags"]["White"], "Composer, A.");
        let mut tree = found["tree"].clone();
        // What opens the game is the scene's head.
        let opening = tree["comment"].as_str().expect("a comment").to_owned();
        assert!(opening.starts_with(&format!("Game {number}. A. Composer, Bulletin 1931.")), "{opening}");
        tree["comment"] = json!("");
        let mut own = own_tree(&made.game, number);
        own["comment"] = json!("");
        assert_eq!(tree, own, "game {number}");
    }

    let source = Arc::new(Source::new("film.pgn", pgn));
    let mut again = String::new();
    for number in 1..=scenes.len() {
        write!(again, "[[scene]]\nname = \"Again {number}\"\npgn = \"film.pgn\"\ngame = {number}\n").unwrap();
    }
    let again = Made::of(&again, &PgnFiles::from([("film.pgn".to_owned(), Ok(source))]));
    for scene in 0..scenes.len() {
        let tree = |made: &Made| {
            let mut tree = own_tree(&made.game, scene);
            strip_comments(&mut tree);
            tree
        };
        assert_eq!(tree(&made), tree(&again), "game {scene} comes back as another");
        let (Body::Board(first), Body::Board(second)) = (&made.game.scenes[scene].body, &again.game.scenes[scene].body)
        else {
            panic!("boards")
        };
        assert_eq!(first.nodes[0].fen, second.nodes[0].fen);
        assert_eq!(second.credit.as_ref().unwrap().text, "A. Composer, Bulletin 1931");
    }
}

fn strip_comments(tree: &mut Value) {
    tree["comment"] = Value::Null;
    tree["before"] = Value::Null;
    if let Some(moves) = tree["moves"].as_array_mut() {
        for played in moves.iter_mut() {
            strip_comments(&mut played[2]);
        }
    }
}

#[test]
fn san_and_fen_of_the_standard() {
    let made = Made::of(
        r#"
[[scene]]
name = "Three queens"
fen = "8/8/4k3/8/Q6Q/8/8/K6Q w - - 0 1"
task = "White to play and win"
cues = [{ play = "Qh4e4+" }, { back = 1 }, { play = "Qae4+?", line = "try" }, { back = 1 }, { play = "Q1e4+?", line = "try" }]
[[scene]]
name = "In passing"
fen = "4k3/5p2/8/4P3/8/8/8/4K3 b - - 0 9"
cues = [{ play = "f5", label = "double step" }, { play = "exf6" }]
[[scene]]
name = "The array"
cues = [{ play = "e4", label = "one" }, { play = "c5", label = "two" }, { play = "Nf3", label = "three" }]
[[scene]]
name = "Mate"
fen = "7k/5K2/8/6Q1/8/8/8/8 w - - 0 1"
cues = [{ play = "Qg7#", claim = ["mate"] }]
[[scene]]
name = "Only"
fen = "6k1/8/5KP1/8/8/8/8/8 w - - 0 1"
cues = [{ play = "g7!", claim = ["only winning move", "White wins"] }]
"#,
        &PgnFiles::new(),
    );
    let (files, _) = made.kit(None, &Wishes::of("film"));
    let pgn = text(&files, ".pgn");
    for part in ["1. Qh4e4+ (1. Qae4+ $2) (1. Q1e4+ $2) 1-0", "9... f5 10. exf6 *", "1. e4 c5 2. Nf3 *", "1. Qg7# 1-0"]
    {
        let in_one_line = pgn.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(in_one_line.contains(part), "{part}\n{pgn}");
    }
    assert!(pgn.contains("1. g7 $1 $8 $18 1-0"), "{pgn}");
    let games = judged("pgn", "film.pgn", pgn, &[]);
    assert!(games.as_array().unwrap().iter().all(|game| game["errors"] == json!([])));
    assert!(!pgn.contains("[FEN \"rnbqkbnr"), "the initial array needs no tag");
    let fens = text(&files, ".fen");
    // The vectors of the 1994 standard, §16.1.4.
    for fen in [
        "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
        "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq e3 0 1",
        "rnbqkbnr/pp1ppppp/8/2p5/4P3/8/PPPP1PPP/RNBQKBNR w KQkq c6 0 2",
        "rnbqkbnr/pp1ppppp/8/2p5/4P3/5N2/PPPP1PPP/RNBQKB1R b KQkq - 1 2",
    ] {
        assert!(fens.lines().any(|line| line.split(" ; ").next() == Some(fen)), "{fen}\n{fens}");
    }
}

/// A talk about the example's beginning, in words of our own.
const TALK: &[(i64, i64, &str)] = &[
    (0, 3000, "Good evening, and welcome to the lighthouse."),
    (3100, 7000, "Tonight, a pawn, a rook, and two kings who are late."),
    (11_000, 16_000, "The king is on his way, but the rook is there already, and it will not go away & that is bad."),
    (
        17_500,
        23_000,
        "pawn b five, and then rook c 1, cutting off the king for good, and for the rest of this long evening",
    ),
    (59_000, 61_500, "Now knight takes D6, I would say."),
];

fn talk() -> Transcript {
    Transcript::from_phrases(
        TALK.iter().map(|(start, end, words)| (Time::from_millis(*start), Time::from_millis(*end), *words)),
    )
}

#[test]
fn other_readers_agree_about_subtitles() {
    let text_of = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/out-example/not-a-queen.toml")).unwrap();
    let made = Made::of(&text_of.replace("narration = \"narration.ogg\"", "ends = \"1:30\""), &PgnFiles::new());
    let talk = talk();
    for transcript in [None, Some(&talk)] {
        for (profile, characters) in [("broadcast", 37), ("online", 34), ("streaming", 42)] {
            let profile = plyreel::film::Profile::named(profile).unwrap();
            let (files, _) = made.kit(transcript, &Wishes { profile: Some(profile), ..Wishes::of("film") });
            let cues = read_vtt(text(&files, "film.vtt"), true).expect("sound WebVTT");
            let ours: Vec<Value> = cues
                .iter()
                .map(|cue| {
                    let plain = cue.payload.replace("&lt;", "<").replace("&amp;", "&");
                    json!([cue.start.as_micros() / 1000, cue.end.as_micros() / 1000, plain])
                })
                .collect();
            assert!(ours.len() > 5);
            assert_eq!(judged("srt", "film.srt", text(&files, "film.srt"), &[]), json!(ours));
            let theirs = judged("vtt", "film.vtt", text(&files, "film.vtt"), &[]).to_string();
            assert_eq!(theirs.replace("&lt;", "<").replace("&amp;", "&"), json!(ours).to_string());
            let scenes: Vec<Time> = made.film.chapters().iter().map(|chapter| chapter.start).collect();
            for (at, cue) in cues.iter().enumerate() {
                let lines: Vec<&str> = cue.payload.lines().collect();
                assert!(lines.len() <= 2, "{cue:?}");
                assert!(lines.iter().all(|line| line.replace("&amp;", "&").chars().count() <= characters), "{cue:?}");
                assert!(cue.end.since(cue.start).as_secs_f64() <= 7.05, "{cue:?}");
                assert!(cues.get(at + 1).is_none_or(|next| next.start >= cue.end), "{cue:?}");
                assert!(!scenes.iter().any(|cut| *cut > cue.start && *cut < cue.end), "{cue:?} straddles a cut");
                if profile.name == "streaming" {
                    let frames = cues.get(at + 1).map(|next| next.start.since(cue.end).as_millis());
                    assert!(frames.is_none_or(|gap| gap >= 66), "two frames apart: {cue:?}");
                }
            }
        }
    }
    let (files, _) = made.kit(Some(&talk), &Wishes { figurines: true, ..Wishes::of("film") });
    let srt = text(&files, "film.srt").replace('\n', " ");
    assert!(srt.contains("b5,") && srt.contains("♖c1") && srt.contains("♘×d6"), "{srt}");
    // `pawn b five` begins at 17.5 s; the pawn moves at 17.6 s.
    assert!(srt.contains("00:00:17,600 -->"), "words are snapped to the move\n{srt}");
    for name in ["film.chapters.vtt", "film.markers.vtt"] {
        read_vtt(text(&files, name), name.contains("chapters")).unwrap_or_else(|fault| panic!("{name}: {fault}"));
    }
}

#[test]
fn editors_find_every_marker_at_its_frame() {
    let mut cues = String::new();
    for second in (2..1290).step_by(7) {
        let play = ["Kb7", "Kb2", "Ka8", "Ka1"][second / 7 % 4];
        writeln!(
            cues,
            "  {{ at = \"{}:{:02}.3\", play = \"{play}\", text = \"At {second}: a note\" }},",
            second / 60,
            second % 60
        )
        .unwrap();
    }
    for (fps, rate) in [("\"30000/1001\"", "30000/1001"), ("\"60000/1001\"", "60000/1001"), ("25", "25"), ("24", "24")]
    {
        let text_of = format!(
            "[film]\ntitle = \"Long\"\nfps = {fps}\nends = \"21:40\"\n[[scene]]\nname = \"Kings\"\n\
             fen = \"k7/8/8/8/8/8/8/K7 b - - 0 1\"\ncues = [\n{cues}]\n"
        );
        let made = Made::of(&text_of, &PgnFiles::new());
        let (files, _) = made.kit(None, &Wishes::of("film"));
        let otio = judged("otio", "film.otio", text(&files, ".otio"), &[]);
        let markers = otio["markers"].as_array().expect("markers");
        let Body::Board(board) = &made.game.scenes[0].body else { panic!("a board") };
        let times = made.film.step_times(0);
        assert_eq!(markers.len(), times.len() + 1, "one for the scene, one a move");
        assert_eq!(board.steps.len(), times.len());
        for (marker, time) in markers[1..].iter().zip(times) {
            assert_eq!(marker[0].as_u64(), Some(made.film.rate().first_at(*time).0), "at {rate}");
        }
        assert_eq!(otio["frames"].as_u64(), Some(made.film.frames()));
        let lists = files.iter().filter(|file| file.name.split('.').next_back() == Some("edl"));
        for list in lists.clone() {
            let edl = judged("edl", "film.edl", text(&files, &list.name), &[rate]);
            let listed = edl["markers"].as_array().expect("markers");
            assert_eq!(listed.len(), markers.len(), "at {rate}");
            for (a, b) in markers.iter().zip(listed) {
                assert_eq!((&a[0], &a[2]), (&b[0], &b[2]), "at {rate}");
                assert!(b[1].as_str().unwrap().starts_with(a[1].as_str().unwrap()), "{b} is {a}");
            }
            assert_eq!(edl["frames"].as_u64(), Some(made.film.frames()));
        }
        assert_eq!(lists.count(), 1 + usize::from(rate.contains("1001")), "at {rate}");
    }
}

#[test]
fn words_after_the_films_end_are_told() {
    let made = Made::of(
        "[film]\nends = 6\n[[scene]]\nname = \"Kings\"\nfen = \"k7/8/8/8/8/8/8/K7 w - - 0 1\"\n",
        &PgnFiles::new(),
    );
    let said = |at: i64, words| (Time::from_millis(at), Time::from_millis(at + 400), words);
    let talk =
        Transcript::from_phrases([said(1000, "Now"), said(5800, "look"), said(6000, "here"), said(7000, "again")]);
    let (files, found) = made.kit(Some(&talk), &Wishes::of("film"));
    let srt = text(&files, "film.srt");
    assert!(srt.contains("look") && !srt.contains("here"), "{srt}");
    let told: Vec<&str> = found.iter().map(|found| found.message.as_str()).collect();
    assert!(told.contains(&"2 words of the transcript are said after the film's end and in no subtitle"), "{told:?}");
}

#[test]
fn a_template_is_filled_and_never_loses_a_credit() {
    let made = Made::of(
        r#"
[film]
title = "Two kings"
series = "Lantern lessons"
ends = "1:00"
[[scene]]
name = "First"
at = "0:00"
fen = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"
credit = "A. Composer, Club Bulletin 1931"
task = "White to play and win"
[[scene]]
name = "Second"
at = "0:20"
fen = "k7/8/8/8/8/8/8/K6R w - - 0 1"
credit = "B. Other, original"
"#,
        &PgnFiles::new(),
    );
    let filled = |template: &str| {
        let template = Some(Arc::new(Source::new("template.txt", template)));
        let links = vec!["Book: example.org".to_owned()];
        let (files, found) = made.kit(None, &Wishes { template, links, ..Wishes::of("film") });
        (text(&files, ".description.txt").to_owned(), found)
    };
    let (all, found) = filled("{title} {{really}}\n{series} · {number}\nMusic: {music}\n\n{links}\n");
    assert_eq!(
        all,
        "Two kings {really}\nLantern lessons\n\nBook: example.org\n\nFirst: A. Composer, Club Bulletin 1931\n\
         Second: B. Other, original\n"
    );
    let codes: Vec<&str> = found.iter().map(|diagnostic| diagnostic.code.name()).collect();
    assert!(codes.contains(&"unpublished") && codes.contains(&"chapters"), "{codes:?}");
    assert_eq!(codes.iter().filter(|code| **code == "unpublished").count(), 1, "the first one was published");
    let (_, found) = filled("{credits}\n{tilte}\n{oops");
    let headlines: Vec<&str> = found.iter().map(|found| found.message.as_str()).collect();
    assert!(headlines.contains(&"the template has no field `tilte`"), "{headlines:?}");
    assert!(headlines.contains(&"the template has a brace without its other"), "{headlines:?}");
    let hints: Vec<&String> = found.iter().flat_map(|found| &found.hints).collect();
    assert!(hints.iter().any(|hint| hint.contains("`{title}`")), "{hints:?}");
    let (plain, _) = made.kit(None, &Wishes::of("film"));
    let plain = text(&plain, ".description.txt");
    for part in [
        "0:00 First\n0:20 Second\n",
        "A. Composer, Club Bulletin 1931\nWhite to play and win\n8/8/1KP5/3r4/8/8/8/k7 w - - 0 1\n",
    ] {
        assert!(plain.contains(part), "{plain}");
    }
}

#[test]
fn the_telling_has_every_move_and_position_in_words() {
    let made = Made::of(
        r#"
[[scene]]
name = "Words"
fen = "r3k3/P5p1/8/1p5P/8/8/8/R3K2R w KQq - 0 1"
cues = [
  { play = "O-O Ke7 Rae1+ Kd6 Kh1 g5 hxg6", marks = ["guard g6", "force f1 f8"] },
  { back = "start" },
  { play = "Kd2?", line = "try", arrows = ["a8 a7"], ghost = "b b4" },
]
"#,
        &PgnFiles::new(),
    );
    let (files, _) = made.kit(None, &Wishes::of("film"));
    let telling = text(&files, ".telling.txt");
    for part in [
        "White: king on e1, rooks on a1 and h1, pawns on h5 and a7. Black: king on e8, rook on a8, pawns on b5 and g7.",
        "1.O-O: White castles, the king to g1 and the rook to f1.",
        "4.hxg6: the white pawn on h5 takes the pawn on g5 in passing and stands on g6.",
        "Guarded: g6. A line of force from f1 to f8.",
        "The moves are taken back, to the start.",
        "A try. 1.Kd2?: the white king on e1 goes to d2. A poor move. An arrow for the black rook from a8 to a7. \
         Shown, not played: the black pawn on b4.",
    ] {
        assert!(telling.contains(part), "{part}\n{telling}");
    }
}

#[test]
fn sheet_and_telling_have_the_film_s_own_words() {
    let of = |words: &str, by: &str| {
        let made = Made::of(
            &format!(
                "[film]\npresenter = \"A. Voice\"\n{words}\n[[scene]]\nname = \"One\"\n\
                 fen = \"8/8/8/8/8/1k6/1p6/1K6 b - - 0 1\"\ncues = [{{ play = \"Kc3 Ka2 Kc2\" }}]\n"
            ),
            &PgnFiles::new(),
        );
        let (files, _) = made.kit(None, &Wishes::of("film"));
        assert!(text(&files, ".description.txt").contains(by), "{}", text(&files, ".description.txt"));
        (text(&files, ".sheet.html").to_owned(), text(&files, ".telling.txt").to_owned())
    };
    let (sheet, telling) = of("", "\nPresented by A. Voice\n");
    assert!(sheet.contains("<span>Black to move</span>"), "{sheet}");
    for part in ["Presented by A. Voice.", "pawn on b2. Black to move.\n"] {
        assert!(telling.contains(part), "{part}\n{telling}");
    }
    let own = "words = { white = \"Weiß am Zug\", black = \"Schwarz am Zug\", presenter = \"Sprecherin {B}\" }";
    let (sheet, telling) = of(own, "\nSprecherin {B}: A. Voice\n");
    assert!(sheet.contains("<span>Schwarz am Zug</span>") && !sheet.contains("to move"), "{sheet}");
    for part in ["Sprecherin {B}: A. Voice.", "pawn on b2. Schwarz am Zug.\n"] {
        assert!(telling.contains(part), "{part}\n{telling}");
    }
    let stalemate = "words = { stalemate = \"Patt\" }\n[[scene]]\nname = \"Two\"\n\
                     fen = \"7k/8/5KQ1/8/8/8/8/8 w - - 0 1\"\ncues = [{ play = \"Qf7\" }]";
    let (_, telling) = of(stalemate, "Presented by");
    assert!(telling.contains("goes to f7. Patt.\n"), "{telling}");
}

/// A two-mover with two near misses, invented for this test.
const TWO_MOVER: &str = r#"
[[scene]]
name = "Before the king wakes"
fen = "7k/p7/5K2/8/8/3Q4/8/8 w - - 0 1"
task = "Mate in 2"
credit = "A. Composer, Bulletin 2026"
cues = [
  { text = "The king isn't caught -- yet...", label = "begin" },
  { play = "Qd4?", line = "try" },
  { play = "Kg8" },
  { back = "start", text = "" },
  { play = "Qa3?", line = "try" },
  { play = "Kg8" },
  { back = "start", text = "Neither." },
  { play = "Qg3!", line = "solution", label = "key", text = "Quietly." },
  { play = "Kh7 Qg7#", text = "There." },
  { back = "key", text = "And if Black waits?" },
  { text = "He has a pawn." },
  { play = "a6 Qg7#", line = "solution" },
  { back = "key" },
  { play = "a5 Qg7#", line = "solution" },
  { back = "start", text = "Nothing helps." },
]
"#;

#[test]
fn words_after_a_return_stand_before_the_move_they_lead_to() {
    let (files, _) = Made::of(TWO_MOVER, &PgnFiles::new()).kit(None, &Wishes::of("film"));
    let pgn = text(&files, ".pgn");
    let games = judged("pgn", "film.pgn", pgn, &[]);
    assert_eq!(games[0]["errors"], json!([]));
    let key = &games[0]["tree"]["moves"][0];
    assert_eq!((&key[0], &key[2]["comment"]), (&json!("d3g3"), &json!("Quietly.")));
    let defences = key[2]["moves"].as_array().expect("defences");
    assert_eq!(defences.len(), 3);
    assert_eq!((&defences[0][2]["comment"], &defences[0][2]["before"]), (&json!("There."), &json!("")));
    assert_eq!(defences[0][2]["moves"][0][2]["comment"], "");
    // The main line's own move: what is said before it closes the try.
    let tries = games[0]["tree"]["moves"].as_array().expect("tries");
    assert_eq!((&tries[2][0], &tries[2][2]["moves"][0][2]["comment"]), (&json!("d3a3"), &json!("Neither.")));
    assert_eq!(
        (&defences[1][0], &defences[1][2]["before"]),
        (&json!("a7a6"), &json!("And if Black waits? He has a pawn."))
    );
    // Nothing is played after the last return.
    assert_eq!(defences[2][2]["moves"][0][2]["comment"], "Nothing helps.");
    assert!(games[0]["tree"]["comment"].as_str().unwrap().ends_with("The king isn’t caught – yet…"), "{pgn}");
}

#[test]
fn a_problem_s_sheet_has_each_defence_with_its_mate() {
    let (files, _) = Made::of(TWO_MOVER, &PgnFiles::new()).kit(None, &Wishes::of("film"));
    let sheet = text(&files, ".sheet.html");
    let plain = |line: &str| {
        let mut tags = 0;
        line.chars()
            .filter(|sign| {
                tags += i32::from(*sign == '<');
                let text = tags == 0;
                tags -= i32::from(*sign == '>');
                text
            })
            .collect::<String>()
    };
    let lines: Vec<String> = sheet.lines().filter(|line| line.starts_with("<p")).map(plain).collect();
    let at = lines.iter().position(|line| line == "The king isn’t caught – yet…").expect("words as the film sets them");
    assert_eq!(
        lines[at + 1..],
        [
            "1.g3!",
            "Quietly.",
            "1.d4? g8",
            "1.a3? g8",
            "Neither.",
            "1…h7",
            "There.",
            "2.g7#",
            "And if Black waits? He has a pawn.",
            "1…a6 2.g7#",
            "1…a5 2.g7#",
            "Nothing helps."
        ]
    );
    let is_picture = |file: &&KitFile| matches!(file.content, Content::Picture(_));
    let diagrams: Vec<&str> = files.iter().filter(is_picture).map(|file| &*file.name).collect();
    assert_eq!(diagrams.len(), 3, "start, key and end: {diagrams:?}");
}

#[test]
fn every_try_and_variation_is_announced() {
    let (files, _) = Made::of(TWO_MOVER, &PgnFiles::new()).kit(None, &Wishes::of("film"));
    let telling = text(&files, ".telling.txt");
    for part in [
        "On screen: “The king isn’t caught – yet…”",
        "A try. 1.Qd4?:",
        "A try. 1.Qa3?:",
        "The solution. 1.Qg3!:",
        "A variation. 1...a6:",
        "A variation. 1...a5:",
    ] {
        assert!(telling.contains(part), "{part}\n{telling}");
    }
    assert_eq!(telling.matches("The solution.").count(), 1, "{telling}");
}

#[test]
fn a_german_film_is_known_by_its_words() {
    let film = r#"
[film]
title = "Der letzte Schritt"
words = { pause = "Nachdenken!", credits = "Mitwirkende" }
ends = 60
[[scene]]
card = "position"
[[scene]]
name = "Die Dame und der Turm"
at = 10
fen = "8/5P2/6K1/4r3/8/8/8/7k b - - 0 1"
task = "Schwarz am Zug, Weiß gewinnt"
credit = "A. Autor, Rundschau 1931"
cues = [{ at = 15, play = "Re6+ Kg5", text = "Der König ist nicht allein." }]
[[scene]]
card = "credits"
at = 40
"#;
    let made = Made::of(film, &PgnFiles::new());
    let said = |at: i64, words| (Time::from_millis(at), Time::from_millis(at + 2500), words);
    let talk = Transcript::from_phrases([said(11_000, "Der Bauer steht auf f sieben."), said(15_000, "Turm e sechs.")]);
    let (files, _) = made.kit(Some(&talk), &Wishes::of("film"));
    let srt = text(&files, ".srt");
    assert!(srt.contains("Der Bauer steht auf f7.") && srt.contains("Turm e6."), "{srt}");
    assert_eq!(text(&files, ".chapters.txt"), "0:00 Nachdenken!\n0:10 Die Dame und der Turm\n0:40 Mitwirkende\n");
    assert!(text(&files, ".sheet.html").contains("<html lang=\"de\">"));
    let games = judged("pgn", "film.pgn", text(&files, ".pgn"), &[]);
    assert_eq!(games[0]["tags"]["Result"], "1-0", "the side named last wins, whoever begins");
    let (files, _) = Made::of(TWO_MOVER, &PgnFiles::new()).kit(None, &Wishes::of("film"));
    assert!(text(&files, ".sheet.html").contains("<html lang=\"en\">"));
}
