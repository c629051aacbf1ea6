"""Positions of few men with all that their moves lead to, as python-chess knows the rules.

usage: fives.py FOLDER SEED COUNT MEN ...

Writes COUNT lines for the materials named by the men besides the kings (`RBr`), each in its turn:
`FEN;STATE;AFTER|WORTH;AFTER|WORTH;…`. STATE is `mate`, `stalemate` or `-`. AFTER is the position after a legal move, and
WORTH what the published Syzygy tables say of it for the side to move there, `win`, `draw` or `loss`; `-` where it has
more than four men. FOLDER keeps python-chess's source distribution, as for `syzygy.py`.

Half of the positions are drawn at random, half come from these by random moves that keep the men.
"""

from syzygy import asked


def worth(tables, board):
    if len(board.piece_map()) > 4:
        return "-"
    found = tables.probe_wdl(board)
    return "win" if found > 0 else "loss" if found < 0 else "draw"


def walked(board, chance):
    """The position some random moves later, with the same men."""
    board = board.copy()
    for _ in range(chance.randrange(1, 12)):
        quiet = [move for move in board.legal_moves if not board.is_capture(move) and not move.promotion]
        if not quiet:
            break
        board.push(chance.choice(quiet))
    return board


def main():
    for tables, chance, board in asked():
        if chance.random() < 0.5:
            board = walked(board, chance)
        state = "mate" if board.is_checkmate() else "stalemate" if board.is_stalemate() else "-"
        words = [board.fen(), state]
        for move in board.legal_moves:
            board.push(move)
            words.append(board.fen() + "|" + worth(tables, board))
            board.pop()
        print(";".join(words))


if __name__ == "__main__":
    main()
