"""Random games, spoilt games and small mates, as python-chess plays, refuses and solves them.

usage: games.py (play | spoil | mates) SEED COUNT

One JSON object a line. Every random choice comes from SEED.
"""

import json
import random
import sys

try:
    import chess
except ImportError:
    sys.exit("python-chess is not installed: python3 -m pip install chess")

# Starting points that reach promotions, en passant captures and castling within a few plies.
STARTS = [
    chess.STARTING_FEN,
    chess.STARTING_FEN,
    "r3k2r/pppppppp/8/8/8/8/PPPPPPPP/R3K2R w KQkq - 0 1",
    "r3k2r/8/8/8/8/8/8/R3K2R b KQkq - 3 17",
    "4k3/pppppppp/8/8/8/8/PPPPPPPP/4K3 w - - 0 1",
    "4k3/8/8/PPPPPPPP/pppppppp/8/8/4K3 b - - 0 40",
    "n3k3/1P4P1/8/8/8/8/1p4p1/N3K3 w - - 0 1",
    "3qk3/P1P3PP/8/8/8/8/p1p3pp/3QK3 b - - 0 9",
    "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1",
    "4k3/8/8/R6R/8/R6R/8/2Q1K1Q1 w - - 0 1",
    "1k6/8/8/2NbN3/8/2N1N3/8/1K6 w - - 99 120",
    "r1bqk2r/pppp1ppp/2n2n2/2b1p3/2B1P3/2N2N2/PPPP1PPP/R1BQK2R w KQkq - 6 5",
]


def favourite(board, rng):
    """A legal move; promotions, en passant captures and castling more often than chance has them."""
    moves = list(board.legal_moves)
    if not moves:
        return None
    if rng.random() < 0.4:
        special = [m for m in moves if m.promotion or board.is_en_passant(m) or board.is_castling(m)]
        if special:
            return rng.choice(special)
    return rng.choice(moves)


def written(board, move, san, rng):
    """The move as an author might write it."""
    way = rng.random()
    if way < 0.7:
        return san
    if way < 0.8:
        return san.rstrip("+#") + rng.choice(["", "!", "?", "!?", "!!"])
    if way < 0.85:
        return board.lan(move)
    if way < 0.9:
        return board.uci(move)
    if way < 0.95:
        return san.replace("x", "").replace("=", "")
    return san.replace("O", "0")


def play(rng):
    board = chess.Board(rng.choice(STARTS))
    game = {"fen": board.fen(en_passant="legal"), "words": [], "sans": [], "fens": []}
    for _ in range(rng.randint(8, 40)):
        move = favourite(board, rng)
        if move is None:
            break
        san = board.san(move)
        game["words"].append(written(board, move, san, rng))
        game["sans"].append(san)
        board.push(move)
        game["fens"].append(board.fen(en_passant="legal"))
    if board.is_checkmate():
        game["end"] = "mate"
    elif board.is_stalemate():
        game["end"] = "stalemate"
    else:
        game["end"] = "check" if board.is_check() else "quiet"
    return game


def spoilt(board, move, rng):
    """A word that python-chess refuses here, or a move with a sign that it does not earn, and which of them it is."""
    san = board.san(move)
    bare = san.rstrip("+#")
    kind = rng.choice(["target", "piece", "undecided", "promotion", "theirs", "sign"])
    if kind == "sign":
        truth = san[len(bare):]
        sign = rng.choice([s for s in ("+", "#") if s != truth])
        return bare + sign, "wrong-suffix"
    if kind == "target":
        at = bare.find("=") if "=" in bare else len(bare)
        square = chess.square_name(rng.randrange(64))
        word = bare[: at - 2] + square + bare[at:]
        if "O" in bare:
            word = "K" + square
    elif kind == "piece":
        letters = [letter for letter in "KQRBN" if not bare.startswith(letter)]
        word = rng.choice(letters) + chess.square_name(move.to_square)
    elif kind == "undecided":
        sans = [board.san(other).rstrip("+#") for other in board.legal_moves]
        decided = [other for other in sans if other[0] in "QRBN" and len(other.replace("x", "")) > 3]
        if not decided:
            return None
        other = rng.choice(decided)
        word = other[0] + ("x" if "x" in other else "") + other[-2:]
    elif kind == "promotion":
        if "=" not in bare:
            return None
        word = bare[: bare.find("=")]
    else:
        other = board.copy(stack=False)
        other.turn = not other.turn
        replies = list(other.pseudo_legal_moves)
        if not replies:
            return None
        reply = rng.choice(replies)
        piece = board.piece_at(reply.from_square)
        word = ("" if piece.piece_type == chess.PAWN else piece.symbol().upper()) + chess.square_name(reply.to_square)
    try:
        board.parse_san(word)
    except chess.AmbiguousMoveError:
        return word, "ambiguous-move"
    except chess.IllegalMoveError:
        return word, "illegal-move"
    except chess.InvalidMoveError:
        return None
    return None


def spoil(rng):
    """A game in which one word is wrong; what follows it would have been right."""
    while True:
        board = chess.Board(rng.choice(STARTS))
        moves = []
        for _ in range(rng.randint(3, 24)):
            move = favourite(board, rng)
            if move is None:
                break
            moves.append(move)
            board.push(move)
        at = rng.randrange(len(moves))
        board = chess.Board(board.root().fen())
        game = {"fen": board.fen(en_passant="legal"), "words": [], "bad": at}
        wrong = None
        for number, move in enumerate(moves):
            if number == at:
                tries = (spoilt(board, move, rng) for _ in range(4))
                wrong = next((found for found in tries if found), None)
                if wrong is None:
                    break
                game["words"].append(wrong[0])
                game["code"] = wrong[1]
            else:
                game["words"].append(board.san(move))
            board.push(move)
        if wrong is not None:
            return game


def mates_in(board, moves):
    """Whether the side to move mates in so many moves at the latest: every move against every answer."""
    for move in board.legal_moves:
        board.push(move)
        answers = list(board.legal_moves)
        good = bool(answers) and moves > 1
        if not answers:
            good = board.is_check()
        elif good:
            for answer in answers:
                board.push(answer)
                if not mates_in(board, moves - 1):
                    good = False
                board.pop()
                if not good:
                    break
        board.pop()
        if good:
            return True
    return False


def mates(rng):
    """A sparse legal position and its shortest mate in one or two moves, 0 if there is none."""
    while True:
        board = chess.Board(None)
        men = ["K", "k", *rng.choice(["QR", "RR", "QN", "RBn", "QBp", "RPp", "QPr", "RNP", "QRb", "BNNp", "RRrp"])]
        board.set_piece_at(rng.choice([0, 1, 2, 3, 8, 16, 24]), chess.Piece.from_symbol("k"))
        squares = [square for square in range(64) if board.piece_at(square) is None]
        rng.shuffle(squares)
        for symbol, square in zip([man for man in men if man != "k"], squares):
            board.set_piece_at(square, chess.Piece.from_symbol(symbol))
        if not board.is_valid() or board.is_game_over():
            continue
        shortest = next((moves for moves in (1, 2) if mates_in(board, moves)), 0)
        if shortest == 0 and rng.random() < 0.6:
            continue
        return {"fen": board.fen(), "mate": shortest}


def main():
    make = {"play": play, "spoil": spoil, "mates": mates}[sys.argv[1]]
    rng = random.Random(int(sys.argv[2]))
    for _ in range(int(sys.argv[3])):
        print(json.dumps(make(rng)))


main()
