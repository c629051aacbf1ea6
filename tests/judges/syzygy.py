"""Random positions of three and four men with their worth by the published Syzygy tables.

usage: syzygy.py FOLDER SEED COUNT [MEN ...]

Writes COUNT lines `FEN;WORTH`: win, draw or loss for the side to move. Every material of three and four men takes its
turn, or only those named by the men besides the kings (`Qr`); of one pawn against one, half the positions have a right
to capture in passing.
FOLDER keeps python-chess's source distribution, which holds the tables; where it is not there, pip fetches it.
"""

import itertools
import pathlib
import random
import subprocess
import sys
import tarfile

NAME = "chess-1.11.2"


def distribution(folder):
    """The unpacked source distribution of python-chess."""
    unpacked = folder / NAME
    if not (unpacked / "data" / "syzygy" / "regular").is_dir():
        archive = folder / (NAME + ".tar.gz")
        folder.mkdir(parents=True, exist_ok=True)
        if not archive.is_file():
            wanted = NAME.replace("-", "==")
            fetch = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps"]
            fetch += ["--no-binary", "chess", "--dest", str(folder), wanted]
            if subprocess.run(fetch).returncode != 0 or not archive.is_file():
                sys.exit(
                    f"the Syzygy tables come with python-chess's source distribution; `pip download {wanted} "
                    f"--no-deps --no-binary chess -d {folder}` did not bring it: put {archive.name} there by hand"
                )
        with tarfile.open(archive) as files:
            # Older Pythons have no filters.
            safely = {"filter": "data"} if hasattr(tarfile, "data_filter") else {}
            files.extractall(folder, **safely)
    return unpacked


def materials():
    """Every way to add one or two men to the kings, colours included."""
    men = "QRBNPqrbnp"
    one = [(man,) for man in men]
    return one + list(itertools.combinations_with_replacement(men, 2))


def placed(chess, chance, men):
    """A legal position with these men besides the kings."""
    in_passing = set(men) == {"P", "p"} and chance.random() < 0.5
    while True:
        board = chess.Board(None)
        board.turn = chance.random() < 0.5
        if in_passing:
            file, rank, ahead = chance.randrange(8), 4 if board.turn else 3, 1 if board.turn else -1
            beside = file + chance.choice([-1, 1])
            if not 0 <= beside <= 7:
                continue
            board.set_piece_at(chess.square(file, rank), chess.Piece(chess.PAWN, board.turn))
            board.set_piece_at(chess.square(beside, rank), chess.Piece(chess.PAWN, not board.turn))
            empty = [chess.square(beside, rank + ahead), chess.square(beside, rank + 2 * ahead)]
            board.ep_square = empty[0]
        else:
            empty = []
        for man in ("K", "k") + (() if in_passing else men):
            free = [s for s in chess.SQUARES if not board.piece_at(s) and s not in empty]
            if man in "Pp":
                free = [s for s in free if 0 < chess.square_rank(s) < 7]
            board.set_piece_at(chance.choice(free), chess.Piece.from_symbol(man))
        if board.status() == chess.STATUS_VALID and (not in_passing or board.has_legal_en_passant()):
            return board


def asked(usual=None):
    """What the command line asks for: COUNT times the tables, the source of chance, and a position."""
    folder, seed, count = pathlib.Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    unpacked = distribution(folder)
    sys.path.insert(0, str(unpacked))
    import chess
    import chess.syzygy

    chance = random.Random(seed)
    wanted = [tuple(men) for men in sys.argv[4:]] or usual()
    with chess.syzygy.open_tablebase(str(unpacked / "data" / "syzygy" / "regular")) as tables:
        for men in itertools.islice(itertools.cycle(wanted), count):
            yield tables, chance, placed(chess, chance, men)


def main():
    for tables, _, board in asked(materials):
        worth = tables.probe_wdl(board)
        print(board.fen() + ";" + ("win" if worth > 0 else "loss" if worth < 0 else "draw"))


if __name__ == "__main__":
    main()
