//! Pictures built by hand, for tests that paint. Positions: Barbier and Saavedra, Glasgow Weekly Citizen 1895; the
//! others are made up for what they show.

#![allow(dead_code)] // each test binary uses its own part

use plyreel::film::{
    ArrowPicture, BoardPicture, Body, CaptionPicture, CardPicture, Current, ForcePicture, GhostPicture, Head,
    KingMoment, ListMove, Look, MarkPicture, MoveList, Own, Picture, RingPicture, ScenePicture, Standing, TryLine,
};
use plyreel::timeline::{CardKind, Layout, LineKind, MarkRole, Notation, ThemeName};
use plyreel::units::{Piece, Role, Side, Size, Square};
use std::sync::Arc;

pub fn look(theme: ThemeName, width: u32, height: u32) -> Look {
    Look {
        size: Size { width, height },
        theme,
        layout: Layout::Panel,
        notation: Notation::Figurine,
        own: Own::default(),
    }
}

pub fn square(name: &str) -> Square {
    Square::parse(name).expect("a square")
}

pub fn piece(letter: char) -> Piece {
    let role = Role::ALL.into_iter().find(|role| role.letter() == letter.to_ascii_uppercase()).expect("a piece letter");
    Piece { role, side: if letter.is_uppercase() { Side::White } else { Side::Black } }
}

/// The first field of a FEN.
pub fn standing(placement: &str) -> Vec<Standing> {
    let mut all = Vec::new();
    for (row, rank) in placement.split('/').zip((0..8).rev()) {
        let mut file = 0;
        for letter in row.chars() {
            if let Some(skip) = letter.to_digit(10) {
                file += skip as u8;
                continue;
            }
            let square = Square::at(file, rank).expect("on the board");
            all.push(Standing { square, piece: piece(letter), opacity: 1.0 });
            file += 1;
        }
    }
    all.sort_by_key(|standing| standing.square);
    all
}

/// Moves in order, the first with this number and side.
pub fn moves(number: u32, side: Side, sans: &str) -> Vec<ListMove> {
    let (mut number, mut side) = (number, side);
    let mut line = Vec::new();
    for san in sans.split_whitespace() {
        line.push(ListMove { number, side, san: san.into(), muted: false });
        number += u32::from(side == Side::Black);
        side = side.other();
    }
    line
}

pub fn try_line(after: usize, within: Option<usize>, moves: Vec<ListMove>, verdict: &str) -> TryLine {
    let label = if within.is_none() { "TRY" } else { "OR" }.into();
    TryLine { after, within, line: LineKind::Try, label, moves: moves.into(), verdict: verdict.into() }
}

pub fn mark(role: MarkRole, name: &str) -> MarkPicture {
    MarkPicture { role, square: square(name), enter: 1.0, opacity: 1.0 }
}

pub fn arrow(from: &str, to: &str, side: Side, plan: bool) -> ArrowPicture {
    ArrowPicture { from: square(from), to: square(to), side, plan, corner: None, drawn: 1.0, head: 1.0, opacity: 1.0 }
}

pub fn caption(text: &str) -> CaptionPicture {
    CaptionPicture { text: Some(text.into()), ..CaptionPicture::default() }
}

pub fn head(kicker: &str, title: &str, credit: &str, task: &str, side: Side) -> Arc<Head> {
    Arc::new(Head {
        kicker: kicker.into(),
        title: title.into(),
        credit: credit.into(),
        task: task.into(),
        side: Some(side),
    })
}

pub fn scene(board: BoardPicture, head: Arc<Head>, list: MoveList, caption: CaptionPicture) -> ScenePicture {
    ScenePicture { board, head, list: Arc::new(list), list_before: None, caption }
}

pub fn picture(scene: ScenePicture) -> Picture {
    Picture { body: Body::Scene(Box::new(scene)), beneath: None }
}

/// Barbier and Saavedra 1895, after 6.c8=R.
pub fn study() -> ScenePicture {
    let board = BoardPicture {
        standing: standing("2R5/8/8/8/3r4/8/2K5/k7"),
        footprint: Some(square("c7")),
        plinth: Some(square("c8")),
        marks: vec![mark(MarkRole::Trap, "b1"), mark(MarkRole::Trap, "b2")],
        arrows: vec![arrow("c8", "a8", Side::White, true)],
        ..BoardPicture::default()
    };
    let list = MoveList {
        main: moves(1, Side::White, "c7 Rd6+ Kb5 Rd5+ Kb4 Rd4+ Kb3 Rd3+ Kc2 Rd4! c8=R!").into(),
        tries: [try_line(10, None, moves(6, Side::White, "c8=Q? Rc4+ Qxc4"), "stalemate")].into(),
        current: Current::Main(10),
        ..MoveList::default()
    };
    let head = head(
        "Endgame study",
        "The rook it chose",
        "Barbier & Saavedra · Glasgow 1895",
        "White to play and win",
        Side::White,
    );
    let words = "A rook, not a queen: it threatens mate on a8, and there is no stalemate to hide in.";
    scene(board, head, list, caption(words))
}

/// A running game of forty moves, gone back into a try at move 33.
pub fn long_list() -> ScenePicture {
    let mut main = moves(1, Side::White, &"Nf3 Nc6 ".repeat(31));
    main.extend(moves(32, Side::White, "Kd3 Ra4 Rc2 Rb4 Rd2 Rb3+ Kd4 Rb4+ Ke3 Rb3+ Kf4 Rb4+ Ke3 Rb3+ Kd4 Rb4+ Re2!"));
    for played in &mut main[66..] {
        played.muted = true;
    }
    let tries = vec![
        try_line(65, None, moves(33, Side::Black, "Ra3+? Rc3 Rxc3+ Kxc3 g5"), "White wins"),
        try_line(66, Some(0), moves(34, Side::White, "Kd4? Rxf3"), "draw"),
    ];
    let board = BoardPicture {
        standing: standing("8/5pk1/4p1p1/3pP1Pp/1r1K3P/5P2/4R3/8"),
        footprint: Some(square("d2")),
        plinth: Some(square("e2")),
        ..BoardPicture::default()
    };
    let head =
        head("Running game · move 40", "The class against the lantern", "Viewers' game, part 6", "", Side::White);
    let list = MoveList { main: main.into(), tries: tries.into(), current: Current::Try(0, 1), ..MoveList::default() };
    scene(board, head, list, caption("Back to move 33: why the side check loses."))
}

/// Every mark, three arrows, two ghosts and a check.
pub fn busy() -> ScenePicture {
    let mut knight = arrow("f3", "g5", Side::White, true);
    knight.corner = Some(square("g3"));
    let board = BoardPicture {
        standing: standing("6k1/5ppp/4p3/2r5/8/1P3N2/1B3PPP/3Q2K1"),
        footprint: Some(square("c1")),
        plinth: Some(square("b2")),
        marks: [
            (MarkRole::Key, "g7"),
            (MarkRole::Threat, "c5"),
            (MarkRole::Guard, "b3"),
            (MarkRole::Trap, "f8"),
            (MarkRole::Trap, "h8"),
            (MarkRole::Dot, "h6"),
        ]
        .map(|(role, name)| mark(role, name))
        .into(),
        forces: vec![ForcePicture { from: square("b2"), to: square("g7"), enter: 1.0, opacity: 1.0 }],
        arrows: vec![arrow("d1", "d8", Side::White, false), knight, arrow("c5", "c1", Side::Black, false)],
        ghosts: [('Q', "d8"), ('r', "c1")]
            .map(|(letter, name)| GhostPicture { piece: piece(letter), square: square(name), enter: 1.0, opacity: 1.0 })
            .into(),
        king: Some(KingMoment::Check { square: square("g8"), enter: 1.0 }),
        ..BoardPicture::default()
    };
    let head = head("Lantern lessons · 4", "Everything at once", "", "Black to move", Side::Black);
    let list = MoveList {
        main: moves(21, Side::Black, "Rc5 Bb2").into(),
        tries: [].into(),
        current: Current::Main(1),
        ..MoveList::default()
    };
    scene(board, head, list, caption("Marks keep their shapes in every theme."))
}

/// The immortal game's last position (Anderssen and Kieseritzky, London 1851).
pub fn mate() -> ScenePicture {
    let board = BoardPicture {
        standing: standing("r1bk3r/p2pBpNp/n4n2/1p1NP2P/6P1/3P4/P1P1K3/q5b1"),
        footprint: Some(square("d6")),
        plinth: Some(square("e7")),
        king: Some(KingMoment::Mate { square: square("d8"), shut: 1.0, bow: -1.0 }),
        ..BoardPicture::default()
    };
    let head = head("", "Mate with the whole army", "Anderssen · London 1851", "", Side::White);
    let list = MoveList {
        main: moves(22, Side::White, "Qf6+ Nxf6 Be7#").into(),
        tries: [].into(),
        current: Current::Main(2),
        ..MoveList::default()
    };
    scene(board, head, list, caption("Mate, against the whole army."))
}

pub fn card(kind: CardKind) -> CardPicture {
    let plain = CardPicture {
        kind,
        kicker: Some("Lantern lessons · 4".into()),
        title: "Who made this".into(),
        line: None,
        second: None,
        task: None,
        hero: Role::Rook,
        progress: None,
        board: None,
        moves: Vec::new(),
        rows: Vec::new(),
        pause: None,
        ring: None,
    };
    match kind {
        CardKind::Title => CardPicture {
            title: "The rook that would not be queen".into(),
            line: Some("Georges Barbier & Fernando Saavedra".into()),
            second: Some("Glasgow Weekly Citizen, 1895".into()),
            task: Some(("White to play and win".into(), Side::White)),
            ..plain
        },
        CardKind::Chapter => CardPicture {
            title: "The try that almost works".into(),
            line: Some("A new queen, and why she draws".into()),
            progress: Some((2, 6)),
            ..plain
        },
        CardKind::End => CardPicture {
            title: "Solved.".into(),
            line: Some("Barbier & Saavedra, Glasgow 1895".into()),
            second: Some("Next: A king on two roads\nSources: Weekly Citizen, May 1895".into()),
            board: Some(BoardPicture {
                standing: standing("8/8/8/8/3r4/1K6/8/k1R5"),
                plinth: Some(square("c1")),
                king: Some(KingMoment::Mate { square: square("a1"), shut: 1.0, bow: 1.0 }),
                ..BoardPicture::default()
            }),
            moves: moves(7, Side::White, "Kb3 Rd4 Rc1#"),
            ..plain
        },
        CardKind::Credits => CardPicture {
            rows: [
                ("The rook it chose", "Georges Barbier & Fernando Saavedra, Glasgow Weekly Citizen, 1895"),
                ("Two roads", "Richard Réti, Ostrauer Morgenzeitung, 1921"),
                ("Presented by", "The Wednesday class"),
                ("Music", "The keeper's concertina"),
            ]
            .map(|(label, value)| (label.into(), value.into()))
            .into(),
            hero: Role::Queen,
            ..plain
        },
        CardKind::Position => CardPicture {
            kicker: Some("Position 2 of 4".into()),
            title: "White to play and win".into(),
            line: Some("Barbier & Saavedra · 1895".into()),
            task: Some(("King and pawn against rook".into(), Side::White)),
            board: Some(BoardPicture { standing: standing("8/8/1KP5/3r4/8/8/8/k7"), ..BoardPicture::default() }),
            pause: Some("Pause and think".into()),
            ring: Some(RingPicture { ticks: 30, spent: 10.5, left: 20, change: None }),
            ..plain
        },
    }
}

pub fn card_picture(kind: CardKind) -> Picture {
    Picture { body: Body::Card(Arc::new(card(kind))), beneath: None }
}
