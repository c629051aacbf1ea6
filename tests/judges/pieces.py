#!/usr/bin/env python3
"""Tells pieces apart by plain template matching: `pieces.py boards.json`.

The list names pictures of boards; for each its theme, the side of its squares, the corner of a8, and what stands on
each square (`K` to `P` for White, `k` to `p` for Black, `.` for nothing; a8 first, rank by rank). Every picture is
blurred (Gaussian, radius 0.8 pixels), saved as JPEG of quality 50 and read again. Each square is then cut out, a pixel
off its place, and held against the clean drawing of every piece on both colours of squares, shifted by up to two
pixels: the template with the greatest normalised correlation of luma names the piece. Prints a confusion table for each
theme and size. Exit code 0 if at least 99 % are named rightly in every one of them. Needs numpy and Pillow.
"""

import io
import json
import sys
from collections import defaultdict

import numpy as np
from PIL import Image, ImageFilter

PIECES = "KQRBNPkqrbnp"
SHIFT = 2


def squares(picture, entry):
    """The cut-outs of all squares with a piece, with a margin for shifting."""
    side, (left, top) = entry["square"], entry["corner"]
    for index, piece in enumerate(entry["pieces"]):
        if piece != ".":
            x, y = left + index % 8 * side, top + index // 8 * side
            yield index, piece, picture[y - SHIFT - 1 : y + side + SHIFT + 1, x - SHIFT - 1 : x + side + SHIFT + 1]


def normalised(cut):
    cut = cut - cut.mean(axis=(-2, -1), keepdims=True)
    return cut / np.sqrt((cut**2).sum(axis=(-2, -1), keepdims=True) + 1e-9)


def main(path):
    entries = json.load(open(path))
    groups = defaultdict(list)
    for entry in entries:
        groups[entry["theme"], entry["square"]].append(entry)
    fails = False
    for (theme, side), boards in groups.items():
        clean = [np.asarray(Image.open(b["path"]).convert("L"), dtype=float) for b in boards]
        edge = SHIFT + 1
        sums, counts = {}, defaultdict(int)
        for board, picture in zip(boards, clean):
            for index, piece, cut in squares(picture, board):
                key = piece, (index % 8 + index // 8) % 2
                sums[key] = sums.get(key, 0) + cut[edge : edge + side, edge : edge + side]
                counts[key] += 1
        keys = sorted(sums)
        templates = normalised(np.stack([sums[key] / counts[key] for key in keys])).reshape(len(keys), -1)
        table = np.zeros((12, 12), dtype=int)
        for number, board in enumerate(boards):
            image = Image.open(board["path"]).convert("RGB").filter(ImageFilter.GaussianBlur(0.8))
            packed = io.BytesIO()
            image.save(packed, "JPEG", quality=50)
            picture = np.asarray(Image.open(packed).convert("L"), dtype=float)
            off = (number % 3 - 1, number // 3 % 3 - 1)
            for index, piece, cut in squares(picture, board):
                windows = np.stack([
                    cut[edge + dy + off[1] : edge + dy + off[1] + side, edge + dx + off[0] : edge + dx + off[0] + side]
                    for dy in range(-SHIFT, SHIFT + 1)
                    for dx in range(-SHIFT, SHIFT + 1)
                ])
                scores = normalised(windows).reshape(len(windows), -1) @ templates.T
                named = keys[int(scores.max(axis=0).argmax())][0]
                table[PIECES.index(piece), PIECES.index(named)] += 1
        right, whole = int(np.trace(table)), int(table.sum())
        print(f"{theme}, squares of {side} pixels: {right} of {whole} named rightly, {100 * right / whole:.2f} %")
        print("     " + "".join(f"{piece:>4}" for piece in PIECES))
        for piece, row in zip(PIECES, table):
            print(f"  {piece}  " + "".join(f"{n if n else '.':>4}" for n in row))
        fails |= right < 0.99 * whole
    return 1 if fails else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
