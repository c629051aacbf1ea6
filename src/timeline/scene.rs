//! `[[scene]]` with its replay, and `[[thumbnail]]`.

use super::reader::{Entry, Fields, Reader};
use super::{CardKind, Replay, Scene, SceneBody, Thumbnail, cue, shown};
use crate::diag::{Code, Diagnostic};
use crate::source::Spanned;
use std::time::Duration;

/// Reads one scene.
pub(super) fn scene<'a>(reader: &mut Reader<'a>, mut fields: Fields<'a>) -> Scene {
    let body = body(reader, &mut fields);
    let (cues, ring) = (fields.take("cues"), fields.take("ring"));
    let mut cues: Vec<_> = reader.tables(cues).into_iter().map(|fields| cue::cue(reader, fields)).collect();
    if let SceneBody::Replay(_) | SceneBody::Card(_) = body {
        // They are refused above, and nobody is to stumble over them again.
        cues.clear();
    }
    let scene = Scene {
        name: reader.text(fields.take("name")),
        at: reader.at(fields.take("at")),
        task: reader.text(fields.take("task")),
        credit: reader.text(fields.take("credit")),
        text: reader.text(fields.take("text")),
        ring: ring.and_then(|entry| ring_of(reader, entry, &body)),
        body,
        cues,
        span: fields.span,
    };
    fields.close();
    scene
}

/// The shortest and the longest countdown, in seconds.
const RING: (u64, u64) = (3, 600);

/// Reads how long a position card's ring counts down; other scenes have none.
fn ring_of<'a>(reader: &mut Reader<'a>, entry: Entry<'a>, body: &SceneBody) -> Option<Spanned<Duration>> {
    let ring = reader.length(Some(entry))?;
    if !matches!(body, SceneBody::Card(kind) if kind.value == CardKind::Position) {
        reader.report(
            Diagnostic::error(Code::Conflict, entry.key_span, "`ring` needs `card = \"position\"`")
                .label("a countdown, and nothing here waits for the viewer")
                .hint("put it into the position card before the scene"),
        );
        return None;
    }
    let (least, most) = (Duration::from_secs(RING.0), Duration::from_secs(RING.1));
    if ring.value < least || ring.value > most {
        let message = format!("a ring cannot count down for {} s", ring.value.as_secs_f64());
        let fact = if ring.value < least { "too short to think" } else { "nobody waits so long" };
        let hint = format!("a ring takes {} to {} s", RING.0, RING.1);
        reader.report(Diagnostic::error(Code::BadValue, ring.span, message).label(fact).hint(hint));
        return None;
    }
    Some(ring)
}

/// Reads what a scene shows, and reports the keys that cannot stand beside it.
///
/// Of `card`, `replay`, `pgn` and `fen` the first that is given decides.
fn body<'a>(reader: &mut Reader<'a>, fields: &mut Fields<'a>) -> SceneBody {
    let [card, replay, pgn, game, fen] = ["card", "replay", "pgn", "game", "fen"].map(|name| fields.take(name));
    let kind = reader.word(card);
    let line = reader.table(replay).and_then(|table| self::replay(reader, table));
    let file = reader.text(pgn);
    let number = reader.count(game);
    let position = reader.text(fen);

    if let Some(card) = card {
        for name in ["replay", "pgn", "fen", "game", "task", "credit", "cues"] {
            refuse_beside(reader, fields, card, "a card has no board", name);
        }
    } else if let Some(replay) = replay {
        for name in ["pgn", "fen", "game", "cues"] {
            refuse_beside(reader, fields, replay, "a replay takes its moves from another scene", name);
        }
    } else if let Some(pgn) = pgn {
        refuse_beside(reader, fields, pgn, "the position comes from the PGN file", "fen");
    } else if let Some(game) = game {
        reader.report(
            Diagnostic::error(Code::MissingKey, game.key_span, "`game` needs `pgn`")
                .label("of which file?")
                .hint("name the file: `pgn = \"games.pgn\"`"),
        );
    }
    if let (None, Some(text)) = (card, fields.take("text")) {
        reader.report(
            Diagnostic::error(Code::Conflict, text.key_span, "`text` of a scene needs `card`")
                .label("the words of a card, and this scene is none")
                .hint("a caption is the `text` of a cue; the stipulation is `task`"),
        );
    }

    match (kind, line, file) {
        (Some(kind), _, _) => SceneBody::Card(kind),
        (None, Some(line), _) => SceneBody::Replay(line),
        (None, None, Some(file)) => SceneBody::Pgn { file, game: number },
        (None, None, None) => SceneBody::Position { fen: position },
    }
}

/// Reports the key `name`, if it is given beside `decisive`, which excludes it.
fn refuse_beside<'a>(reader: &mut Reader<'a>, fields: &mut Fields<'a>, decisive: Entry<'a>, why: &str, name: &str) {
    let Some(refused) = fields.take(name) else { return };
    let kept = decisive.name();
    reader.report(
        Diagnostic::error(Code::Conflict, refused.key_span, format!("`{name}` cannot stand beside `{kept}`"))
            .label(why)
            .also(decisive.key_span, format!("`{kept}` is given here"))
            .hint(format!("keep one of `{kept}` and `{name}`")),
    );
}

/// Reads `replay = { … }`; `None` without a scene's name.
fn replay<'a>(reader: &mut Reader<'a>, mut fields: Fields<'a>) -> Option<Replay> {
    let scene = reader.text(fields.take("scene"));
    let line = reader.text(fields.take("line"));
    let pace = reader.ratio(fields.take("pace"));
    fields.close();
    scene.map(|scene| Replay { scene, line, pace })
}

/// Reads one thumbnail.
pub(super) fn thumbnail<'a>(reader: &mut Reader<'a>, mut fields: Fields<'a>) -> Thumbnail {
    let [scene, moment, at] = ["scene", "moment", "at"].map(|name| fields.take(name));
    if let (Some(moment), Some(_)) = (moment, at) {
        refuse_beside(reader, &mut fields, moment, "a label already says the moment", "at");
    }
    if scene.is_none() && moment.is_none() && at.is_none() && reader.is_whole() {
        reader.report(
            Diagnostic::error(Code::MissingKey, fields.span, "the thumbnail does not say which picture")
                .label("neither `scene` nor `moment` nor `at`")
                .hint("name a scene, a label in it (`moment`), or a time (`at`)"),
        );
    }
    let thumbnail = Thumbnail {
        scene: reader.text(scene),
        moment: reader.text(moment),
        at: reader.clock(at),
        words: reader.text(fields.take("words")),
        design: reader.word(fields.take("design")),
        marks: shown::marks(reader, fields.take("marks")),
        arrows: shown::arrows(reader, fields.take("arrows")),
        theme: reader.word(fields.take("theme")),
        span: fields.span,
    };
    fields.close();
    thumbnail
}
