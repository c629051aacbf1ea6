"""What other parsers read in a subtitle file: one line a cue, `start_ms end_ms text`.

usage: subtitles.py FILE.srt | FILE.vtt
SRT by `srt`, WebVTT by `webvtt-py` (both PyPI).
"""
import sys

path = sys.argv[1]
if path.endswith(".srt"):
    import srt

    with open(path, encoding="utf-8-sig") as file:
        cues = [(cue.start.total_seconds(), cue.end.total_seconds(), cue.content) for cue in srt.parse(file.read())]
else:
    import webvtt

    # `start_in_seconds` drops the milliseconds in some versions.
    def seconds(clock):
        parts = [float(part) for part in clock.split(":")]
        return sum(part * unit for part, unit in zip(reversed(parts), [1, 60, 3600]))

    cues = [(seconds(cue.start), seconds(cue.end), cue.text) for cue in webvtt.read(path)]
for start, end, text in cues:
    print(round(start * 1000), round(end * 1000), " ".join(text.split()))
