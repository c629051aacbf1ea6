"""Random claims `mate in N`, one to four moves, true and false, by trying everything.

usage: mates.py SEED COUNT
       mates.py --tree < PGN
       mates.py --keys < LINES
       mates.py --ends < PGN

Writes COUNT lines `FEN;N;VERDICT`: true if the side to move mates in N moves at the latest against any defence. The
search knows the rules from python-chess and nothing else; what it found of a position it keeps, for every later claim.
The longer the mate, the fewer the men, so that all of it can be tried.

With --tree it reads a proof, a PGN game with variations, and prints the longest mate in it, in moves; it fails unless
every line ends in mate and every legal answer of the side that is mated has its line.

With --keys it reads lines `FEN;N` and prints of each every first move that mates in N moves, in SAN with spaces between;
`short` if there is a mate in fewer.

With --ends it reads whole games and prints of each `N;KEY;FEN`: the position after the move that its tag `After` names,
the move played there, and the number of its tag `MateIn`. It fails where a move is not legal.
"""

import random
import sys

import chess
import chess.pgn


class Exhaustive:
    """Mates by trying every move and every answer."""

    def __init__(self):
        self.mated_in = {}
        self.none_in = {}
        self.saving = {}

    def mates(self, board, moves):
        """Whether the side to move mates in so many moves at the latest."""
        key = board._transposition_key()
        if self.mated_in.get(key, 99) <= moves:
            return True
        if self.none_in.get(key, 0) >= moves:
            return False
        found = self.mates_at_once(board) if moves == 1 else self.tries(board, moves)
        if found:
            self.mated_in[key] = moves
        else:
            self.none_in[key] = moves
        return found

    @staticmethod
    def mates_at_once(board):
        for move in board.legal_moves:
            if board.gives_check(move):
                board.push(move)
                mate = board.is_checkmate()
                board.pop()
                if mate:
                    return True
        return False

    def tries(self, board, moves):
        if self.mates(board, moves - 1):
            return True
        firsts = sorted(board.legal_moves, key=lambda move: not board.gives_check(move))
        for first in firsts:
            board.push(first)
            answers = list(board.legal_moves)
            holds = bool(answers) or board.is_check()
            if holds:
                key = board._transposition_key()
                saved = self.saving.get(key)
                if saved in answers:
                    answers.remove(saved)
                    answers.insert(0, saved)
                for answer in answers:
                    board.push(answer)
                    lost = self.mates(board, moves - 1)
                    board.pop()
                    if not lost:
                        self.saving[key] = answer
                        holds = False
                        break
            board.pop()
            if holds:
                return True
        return False


MEN = {
    1: ["QR", "QBr", "RRn", "QNpp", "RBNr", "QPrb", "RRBbn", "QQrr", "PPRp", "BBNp", "QRBrpp"],
    2: ["Q", "R", "QP", "QR", "Rp", "Qn", "RR", "RB", "BN", "QB", "RN", "Qp", "RP"],
    3: ["Q", "R", "Q", "QP", "P"],
    4: ["Q", "R", "Q"],
}


def position(chance, moves):
    """A legal position; the weaker side's king stands near an edge for the longer mates."""
    while True:
        board = chess.Board(None)
        edge = [s for s in chess.SQUARES if chess.square_file(s) in (0, 7) or chess.square_rank(s) in (0, 7)]
        enemy = chance.choice(edge if moves > 1 or chance.random() < 0.7 else chess.SQUARES)
        board.set_piece_at(enemy, chess.Piece.from_symbol("k"))
        near = [s for s in chess.SQUARES if 2 <= chess.square_distance(s, enemy) <= (3 if chance.random() < 0.7 else 7)]
        board.set_piece_at(chance.choice(near), chess.Piece.from_symbol("K"))
        for man in chance.choice(MEN[moves]):
            free = [s for s in chess.SQUARES if not board.piece_at(s)]
            if man in "Pp":
                free = [s for s in free if 0 < chess.square_rank(s) < 7]
            board.set_piece_at(chance.choice(free), chess.Piece.from_symbol(man))
        # Mostly the stronger side moves.
        board.turn = chance.random() < 0.9
        if chance.random() < 0.5:
            board = board.mirror()
        if board.status() == chess.STATUS_VALID and any(board.legal_moves):
            return board


def longest(node, mating):
    """How many moves the mating side still needs; every answer must be there, and only one move of its own."""
    board = node.board()
    if board.is_checkmate():
        return 0
    moves = [after.move for after in node.variations]
    if board.turn == mating:
        assert len(moves) == 1, f"{board.fen()}: {len(moves)} moves"
        return 1 + longest(node.variations[0], mating)
    assert sorted(moves, key=str) == sorted(board.legal_moves, key=str), f"{board.fen()}: {moves}"
    return max(longest(after, mating) for after in node.variations)


def keys(board, moves):
    """The first moves that mate in so many moves, by trying everything."""
    search = Exhaustive()
    if moves > 1 and search.mates(board, moves - 1):
        return "short"
    found = []
    for first in list(board.legal_moves):
        san = board.san(first)
        board.push(first)
        answers = list(board.legal_moves)
        held = bool(answers) or board.is_check()
        for answer in answers:
            board.push(answer)
            held = held and moves > 1 and search.mates(board, moves - 1)
            board.pop()
            if not held:
                break
        board.pop()
        if held:
            found.append(san.rstrip("+#"))
    return " ".join(found)


def end(game):
    """The position of a game that its tags name, and the move played there."""
    assert not game.errors, game.errors
    board, moves = game.board(), list(game.mainline_moves())
    for move, following in zip(moves, moves[1:]):
        number = f"{board.fullmove_number}{'.' if board.turn else '...'}{board.san(move)}"
        board.push(move)
        if number == game.headers["After"]:
            return f"{game.headers['MateIn']};{board.san(following).rstrip('+#')};{board.fen(en_passant='legal')}"
    raise ValueError(f"no {game.headers['After']} in {game}")


def main():
    if sys.argv[1] == "--keys":
        for line in sys.stdin:
            fen, moves = line.strip().split(";")
            board = chess.Board(fen)
            assert board.is_valid(), fen
            print(keys(board, int(moves)), flush=True)
        return
    if sys.argv[1] == "--ends":
        while game := chess.pgn.read_game(sys.stdin):
            print(end(game))
        return
    if sys.argv[1] == "--tree":
        game = chess.pgn.read_game(sys.stdin)
        assert not game.errors, game.errors
        print(longest(game, game.board().turn))
        return
    seed, count = int(sys.argv[1]), int(sys.argv[2])
    chance = random.Random(seed)
    search = Exhaustive()
    for _ in range(count):
        moves = chance.choices([1, 2, 3, 4], weights=[40, 35, 17, 8])[0]
        wanted = chance.random() < 0.5
        for _ in range(10):
            board = position(chance, moves)
            true = search.mates(board, moves)
            if true == wanted:
                break
        print(board.fen() + ";" + str(moves) + ";" + str(true).lower(), flush=True)


main()
