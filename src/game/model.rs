//! The film's chess, resolved: every scene a tree of legal positions, every cue a step on it.

use crate::source::{Span, Spanned};
use crate::timeline::{At, CardKind, LineKind, MarkRole};
use crate::units::{Piece, Placement, Role, Side, Square};
use std::time::Duration;

/// The chess of a whole timeline; one entry a scene, in the timeline's order.
#[derive(Clone, Debug, Default)]
pub struct Game {
    /// As many as the timeline has.
    pub scenes: Vec<Scene>,
}

/// One scene.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The chapter's title, if given.
    pub name: Option<String>,
    /// When it begins, as written.
    pub at: Option<At>,
    /// What is shown.
    pub body: Body,
    /// The `[[scene]]` header.
    pub span: Span,
}

/// What a scene shows.
#[derive(Clone, Debug)]
pub enum Body {
    /// A tree of positions and the walk over it.
    Board(Board),
    /// A card.
    Card(Card),
}

/// A card's words.
#[derive(Clone, Debug)]
pub struct Card {
    /// Which card.
    pub kind: CardKind,
    /// Its own words.
    pub text: Option<String>,
    /// How long the ring of a position card counts down to its end.
    pub ring: Option<Spanned<Duration>>,
    /// Where they are written.
    pub span: Span,
}

/// The tree of a scene and the walk over it.
#[derive(Clone, Debug)]
pub struct Board {
    /// Node 0 is the start; a child always comes after its parent.
    pub nodes: Vec<Node>,
    /// What happens, in order.
    pub steps: Vec<Step>,
    /// The stipulation, if given.
    pub task: Option<Words>,
    /// Author, source, year, if given (or from the PGN's tags).
    pub credit: Option<Words>,
    /// The slow pace of a replay scene, as a factor on speed; `None` in ordinary scenes.
    pub pace: Option<f64>,
    /// What the PGN file it comes from says of the game.
    pub roster: Option<Box<Roster>>,
}

/// What a game's own tags say of it, as they are written (PGN standard 1994, §8.1.1); nothing where they say nothing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Roster {
    /// The match or the place of publication.
    pub event: Option<String>,
    /// Where.
    pub site: Option<String>,
    /// When: `1988.05.03`, with question marks for what is unknown.
    pub date: Option<String>,
    /// Which round.
    pub round: Option<String>,
    /// Who had White, or composed it.
    pub white: Option<String>,
    /// Who had Black.
    pub black: Option<String>,
    /// `1-0`, `0-1` or `1/2-1/2`.
    pub result: Option<String>,
    /// The position after the game's last move, to which the result belongs.
    pub end: Option<NodeId>,
}

impl Board {
    /// The author's sign behind the ply that a step plays, as far as it has been given by then.
    pub fn sign_at<'a>(&'a self, step: &'a Step) -> &'a str {
        let own = || self.nodes[step.node.0].came.as_ref().map_or("", |(_, ply)| ply.suffix.as_str());
        step.sign.as_deref().unwrap_or_else(own)
    }
}

/// A text with its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    /// The text.
    pub text: String,
    /// Where it is written.
    pub span: Span,
}

/// Index of a node in [`Board::nodes`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NodeId(pub usize);

/// A position in the tree, and the ply that led to it.
#[derive(Clone, Debug)]
pub struct Node {
    /// The position before, and the ply from it; `None` for the start.
    pub came: Option<(NodeId, Ply)>,
    /// What stands where.
    pub placement: Placement,
    /// Whose move it is.
    pub turn: Side,
    /// The number of the coming move, as in FEN.
    pub move_number: u32,
    /// Check, mate, stalemate.
    pub state: State,
    /// What the ply that led here belongs to.
    pub line: LineKind,
    /// The position's name, if a cue gave one.
    pub label: Option<String>,
    /// The position as FEN (PGN standard 1994, §16.1; en passant square only where a capture is legal).
    pub fen: String,
}

/// Whether the side to move is in check and can move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum State {
    /// Neither.
    Quiet,
    /// In check, with a legal move.
    Check,
    /// In check, without one.
    Mate,
    /// Not in check, without one.
    Stalemate,
}

/// One half-move as it is seen and written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ply {
    /// The piece before the move (a pawn, when it promotes).
    pub piece: Piece,
    /// Where it stood.
    pub from: Square,
    /// Where it stands after; for castling the king's own target (g1, c1, g8, c8).
    pub to: Square,
    /// What is taken, and where it stood (beside the target when en passant).
    pub captured: Option<(Piece, Square)>,
    /// What the pawn becomes.
    pub promotion: Option<Role>,
    /// The rook's way when castling, from and to.
    pub castling: Option<(Square, Square)>,
    /// SAN in English letters with its correct check sign, without `!` and `?` (PGN standard 1994, §8.2.3).
    pub san: String,
    /// The author's `!`, `?`, `!!`, `??`, `!?`, `?!`, or empty; the last one given, see [`Step::sign`].
    pub suffix: String,
    /// The move's number.
    pub number: u32,
    /// Where the move is written; for a PGN ply that no cue names, the scene's `pgn` value.
    pub span: Span,
}

impl Ply {
    /// `6.c8=R` or `3...Rd4+`: with its number, without the author's sign.
    pub fn numbered(&self) -> String {
        let dots = if self.piece.side == Side::White { "." } else { "..." };
        format!("{}{dots}{}", self.number, self.san)
    }
}

/// Something that happens at a time: a cue, or one of its moves.
#[derive(Clone, Debug)]
pub struct Step {
    /// When.
    pub when: When,
    /// What the board does.
    pub action: Action,
    /// The node on the board once the action is done.
    pub node: NodeId,
    /// The sign that the played ply bears by then, where a cue plays it; a later cue may give it another. `None`: the
    /// ply's own.
    pub sign: Option<String>,
    /// Whether marks, arrows and ghosts leave although the board stays: at a return to the position that is on it.
    pub clears: bool,
    /// Marks, in the order written; squares parsed, `force` split off into its own form.
    pub marks: Vec<Mark>,
    /// Arrows, in the order written.
    pub arrows: Vec<Arrow>,
    /// A move shown, not played.
    pub ghost: Option<Ghost>,
    /// The caption from here on; `Some("")` clears it.
    pub text: Option<Words>,
    /// What is claimed.
    pub claims: Vec<Claimed>,
    /// How long marks, arrows and ghost stay.
    pub stay: Option<Duration>,
    /// What the next untimed step waits after this one's motion, if not the film's own `rest`.
    pub rest: Option<Duration>,
    /// The cue.
    pub span: Span,
}

impl Step {
    /// A step that shows nothing but its node.
    pub fn bare(when: When, action: Action, node: NodeId, span: Span) -> Step {
        Step {
            when,
            action,
            node,
            sign: None,
            clears: false,
            marks: Vec::new(),
            arrows: Vec::new(),
            ghost: None,
            text: None,
            claims: Vec::new(),
            stay: None,
            rest: None,
            span,
        }
    }
}

/// When a step happens, as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// As the cue says.
    At(At),
    /// This long after the step before began (`every`).
    Every(Duration),
    /// After the motion of the step before, and its rest.
    Follow,
}

/// What the board does in a step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Action {
    /// Nothing: only marks, arrows, ghost, words change.
    Stay,
    /// The ply that leads to the step's node is played.
    Play,
    /// Plies are taken back, the last one first: the nodes passed on the way to the step's node, the one left first.
    TakeBack(Vec<NodeId>),
    /// The step's node appears at once (`cut = true`, or a return to another branch).
    Cut,
}

/// A mark on the board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mark {
    /// A role other than `force` on its squares.
    Squares(MarkRole, Vec<Square>),
    /// A line of force.
    Force(Square, Square),
}

/// An arrow on the board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arrow {
    /// The tail's square.
    pub from: Square,
    /// The tip's square.
    pub to: Square,
    /// Whose colour it has.
    pub side: Side,
    /// Hollow.
    pub plan: bool,
}

/// A legal move that is shown and not played.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ghost {
    /// The piece as it would stand after (the promoted one, when a pawn promotes).
    pub piece: Piece,
    /// Where it stands now.
    pub from: Square,
    /// Where it would stand.
    pub to: Square,
}

/// A claim at its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Claimed {
    /// What is claimed.
    pub claim: Claim,
    /// The phrase in the timeline.
    pub span: Span,
}

/// What a film can claim of a position (the one after the cue's moves; `only …` of the one before the last move).
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Claim {
    /// The side to move is in check.
    Check,
    /// It is checkmate (FIDE Laws 5.1.1).
    Mate,
    /// It is stalemate (FIDE Laws 5.2.1).
    Stalemate,
    /// The cue's last move was the only legal one.
    OnlyMove,
    /// The side to move mates in this many of its own moves at the latest, whatever the defence.
    MateIn(u32),
    /// The side that moved threatens this move: after a null move it is legal. Mates if it says so.
    Threat(String),
    /// The side that moved threatens to mate in this many moves.
    ThreatMateIn(u32),
    /// This side wins with best play.
    Wins(Side),
    /// Neither side wins with best play.
    Draw,
    /// The cue's last move was the only one that wins.
    OnlyWinningMove,
    /// The cue's last move was the only one that draws.
    OnlyDrawingMove,
    /// Mutual zugzwang: whoever has the move is worse off for it.
    Zugzwang,
    /// A motif stands on the board, and the men on all these squares take part in it.
    Motif(Motif, Vec<Square>),
    /// The king on the first square may go to exactly these squares, were it to move.
    Flights(Square, Vec<Square>),
}

/// A motif that narrators name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Motif {
    /// A direct or an indirect one.
    Battery,
    /// The rear man gives check when the front man leaves their line.
    DirectBattery,
    /// The rear man reaches a square beside the king when the front man leaves their line.
    IndirectBattery,
    /// A man may not, or dare not, leave the line between an enemy's man and a better one behind it.
    Pin,
    /// A man attacked on a line must leave it to the one behind.
    Skewer,
    /// One man attacks two at once.
    Fork,
    /// Two men give check.
    DoubleCheck,
    /// The man that moved uncovered the check of another.
    DiscoveredCheck,
    /// The man that moved cuts a man's line to what it guarded.
    Interference,
    /// The man that moved stands between an enemy's man and what that man attacked.
    Interposition,
    /// One side can offer a man so that taking it is stalemate.
    StalemateNet,
    /// A man has no safe move.
    Trapped,
    /// The squares a king may go to; as a claim it is [`Claim::Flights`].
    Flights,
}
