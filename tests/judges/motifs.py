"""Pins, checks and flights in positions of random games, as python-chess sees them.

usage: motifs.py SEED COUNT

One JSON object a line: the position before a move (`fen`), the move (`san`), and of the position after it `pins` (the
squares of men pinned to their kings), `double`, `discovered`, and `flights` (each king's square with the squares it may
go to, the other side having passed if need be). Every random choice comes from SEED.
"""

import json
import random
import sys

try:
    import chess
except ImportError:
    sys.exit("python-chess is not installed: python3 -m pip install chess")

# Starting points with open lines, so that pins, batteries and double checks are met often.
STARTS = [
    chess.STARTING_FEN,
    "r3k2r/8/8/8/8/8/8/R3K2R w KQkq - 0 1",
    "rnbqk2r/8/8/8/8/8/8/RNBQK2R w KQkq - 0 1",
    "2bqkb2/8/2n2n2/8/8/2N2N2/8/2BQKB2 w - - 0 1",
    "4k3/2r1q3/3n1b2/8/8/2B1N3/3Q1R2/4K3 w - - 0 1",
    "q3k2q/1n4b1/8/2pPpP2/2PpPp2/8/1B4N1/Q3K2Q w - - 0 1",
    "8/2p5/3p4/KP5r/1R3p1k/8/4P1P1/8 w - - 0 1",
    "3qk3/P1P3PP/8/8/8/8/p1p3pp/3QK3 b - - 0 9",
]
# Batteries, loaded.
BATTERIES = [
    "3rk3/3p4/8/8/4N3/b7/8/K3R3 w - - 0 1",
    "k7/8/8/3N4/4B3/8/3n4/2r1K3 w - - 0 1",
    "4k3/8/2R5/1B6/8/8/r7/6K1 w - - 0 1",
    "4r1k1/8/8/4n3/8/8/8/R3K2R b KQ - 0 1",
    "8/2p5/3p4/KP5r/1R3p1k/8/4P1P1/8 w - - 0 1",
]


def flights(board, color):
    """The legal king moves of a side, castling apart, were it to move."""
    turned = board.copy(stack=False)
    turned.turn = color
    turned.ep_square = None
    turned.castling_rights = chess.BB_EMPTY
    king = turned.king(color)
    return [chess.square_name(move.to_square) for move in turned.legal_moves if move.from_square == king]


def uncovered(board, move):
    """The men that give check after a move and did not move themselves; and how many give check in all."""
    moved = chess.SquareSet([move.to_square])
    if board.is_castling(move):
        rank = chess.square_rank(move.to_square)
        moved = chess.SquareSet([chess.square(3, rank), chess.square(5, rank)])
    board.push(move)
    checkers = board.checkers()
    board.pop()
    return checkers - moved, len(checkers)


def looked_at(chance):
    """A position of a random game with what python-chess sees in it."""
    while True:
        loaded = chance.random() < 0.3
        board = chess.Board(chance.choice(BATTERIES if loaded else STARTS))
        for _ in range(chance.randrange(0, 4 if loaded else 30)):
            moves = list(board.legal_moves)
            if moves:
                board.push(chance.choice(moves))
        moves = list(board.legal_moves)
        if not moves:
            continue
        # Half the time a move that uncovers a check, where there is one: chance alone hardly meets them.
        rare = [move for move in moves if board.gives_check(move) and uncovered(board, move)[0]]
        double = [move for move in rare if uncovered(board, move)[1] > 1]
        chosen = chance.choice(double or rare if rare and chance.random() < 0.5 else moves)
        before, san, (others, checkers) = board.fen(), board.san(chosen), uncovered(board, chosen)
        board.push(chosen)
        pins = [
            chess.square_name(square)
            for square, man in board.piece_map().items()
            if man.piece_type != chess.KING and board.is_pinned(man.color, square)
        ]
        return {
            "fen": before,
            "san": san,
            "pins": sorted(pins),
            "double": checkers > 1,
            "discovered": bool(others),
            "flights": {
                chess.square_name(board.king(color)): sorted(flights(board, color)) for color in chess.COLORS
            },
        }


def main():
    chance, count = random.Random(int(sys.argv[1])), int(sys.argv[2])
    for _ in range(count):
        print(json.dumps(looked_at(chance)))


main()
