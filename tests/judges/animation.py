"""Decodes an animated picture and compares it with the painted frames of its film.

    animation.py FILE RAW WIDTH HEIGHT NUM DEN

RAW holds every frame of the film as straight RGBA bytes; NUM/DEN are its frames a second. Pillow decodes all forms,
ffmpeg PNG and GIF as well (it knows no animated WebP). Prints: pictures, whether they go round for ever, the largest
difference of a channel, the mean squared difference, the largest error of a time in ms, and the same two differences by
ffmpeg, or dashes.
"""

import subprocess
import sys

import numpy as np
from PIL import Image

path, raw, width, height, num, den = sys.argv[1], sys.argv[2], *map(int, sys.argv[3:])
film = np.fromfile(raw, dtype=np.uint8).reshape(-1, height, width, 4)


def visible(pixels):
    """Colours of pixels that are not there do not matter."""
    return np.where(pixels[..., 3:] == 0, 0, pixels).astype(int)


def differences(shown, wanted):
    apart = np.abs(visible(shown) - visible(wanted))
    return int(apart.max()), float((apart.astype(float) ** 2).mean())


image = Image.open(path)
cels, clock, starts, worst, square, late = image.n_frames, 0.0, [], 0, 0.0, 0.0
for cel in range(cels):
    image.seek(cel)
    image.load()
    # The film's frame that begins with this cel.
    frame = round(clock / 1000 * num / den)
    late = max(late, abs(clock - frame * 1000 * den / num))
    starts.append(frame)
    clock += image.info["duration"]
    end = min(round(clock / 1000 * num / den), len(film))
    shown = np.asarray(image.convert("RGBA"))
    for each in range(frame, end):
        apart, squared = differences(shown, film[each])
        worst, square = max(worst, apart), max(square, squared)
late = max(late, abs(clock - len(film) * 1000 * den / num))

by_ffmpeg = "- -"
if not path.endswith(".webp"):
    command = ["ffmpeg", "-v", "error", "-nostdin", "-i", path, "-fps_mode", "passthrough"]
    command += ["-f", "rawvideo", "-pix_fmt", "rgba", "-"]
    out = subprocess.run(command, check=True, capture_output=True)
    assert not out.stderr, out.stderr
    decoded = np.frombuffer(out.stdout, dtype=np.uint8).reshape(-1, height, width, 4)
    assert len(decoded) == cels, (len(decoded), cels)
    pairs = [differences(shown, film[frame]) for shown, frame in zip(decoded, starts)]
    by_ffmpeg = f"{max(pair[0] for pair in pairs)} {max(pair[1] for pair in pairs)}"
print(cels, image.info.get("loop") == 0, worst, square, late, by_ffmpeg)
