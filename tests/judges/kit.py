"""What other programs make of a kit's files; one JSON value on standard output.

usage: kit.py pgn FILE          games as trees, as python-chess reads them
       kit.py srt FILE          subtitles, as srt reads them
       kit.py vtt FILE          cues, as webvtt-py reads them
       kit.py otio FILE         markers, as OpenTimelineIO reads them
       kit.py media FILE        each clip's file, and how much of it there is and is used, in frames
       kit.py edl FILE RATE     markers, as its CMX 3600 adapter reads them; RATE like 30000/1001
"""

import json
import re
import sys
from fractions import Fraction


def tree(node):
    return {
        "before": " ".join(getattr(node, "starting_comment", "").split()),
        "comment": " ".join(node.comment.split()),
        "nags": sorted(node.nags),
        "moves": [[child.move.uci(), child.san(), tree(child)] for child in node.variations],
    }


def pgn(path):
    import chess.pgn

    games = []
    with open(path, encoding="utf-8") as file:
        while (game := chess.pgn.read_game(file)) is not None:
            games.append({
                "errors": [str(error) for error in game.errors],
                "tags": dict(game.headers),
                "fen": game.board().fen(),
                "tree": tree(game),
            })
    return games


def millis(delta):
    return round(delta.total_seconds() * 1000)


def srt(path):
    import srt

    with open(path, encoding="utf-8") as file:
        return [[millis(s.start), millis(s.end), s.content] for s in srt.parse(file.read(), ignore_errors=False)]


def vtt(path):
    import webvtt

    def at(stamp):
        hours, minutes, seconds = stamp.split(":")
        return round((int(hours) * 60 + int(minutes)) * 60000 + float(seconds) * 1000)

    return [[at(c.start), at(c.end), c.raw_text] for c in webvtt.read(path)]


def markers(timeline):
    found = []
    for track in timeline.tracks:
        for item in track:
            for marker in getattr(item, "markers", []):
                start = marker.marked_range.start_time
                offset = item.source_range.start_time if item.source_range else None
                assert offset is None or offset.value == 0, offset
                found.append([round(start.value), marker.name, str(marker.color)])
    return {"markers": found, "tracks": [[track.kind, len(track)] for track in timeline.tracks],
            "frames": round(timeline.duration().value)}


def otio(path):
    import opentimelineio

    return markers(opentimelineio.adapters.read_from_file(path))


def media(path):
    import os

    import opentimelineio

    found = []
    folder = os.path.dirname(os.path.realpath(path))
    for clip in opentimelineio.adapters.read_from_file(path).find_clips():
        url, there = clip.media_reference.target_url, clip.available_range()
        file = os.path.normpath(os.path.join(folder, opentimelineio.url_utils.filepath_from_url(url)))
        assert os.path.isfile(file), file
        found.append([file, round(there.duration.value), round(clip.trimmed_range().duration.value)])
    return found


def edl(path, rate):
    import opentimelineio

    with open(path, encoding="utf-8") as file:
        text = file.read()
    rate = float(Fraction(rate))
    found = markers(opentimelineio.adapters.read_from_string(text, "cmx_3600", rate=rate))
    if "FCM: DROP FRAME" in text:
        # The adapter passes over locators with `;`; the library itself reads their labels.
        for label, colour, name in re.findall(r"^\* LOC: (\S+) (\w+)\s+(.*)$", text, re.MULTILINE):
            found["markers"].append([round(opentimelineio.opentime.from_timecode(label, rate).value), name, colour])
    return found


print(json.dumps({"pgn": pgn, "srt": srt, "vtt": vtt, "otio": otio, "media": media, "edl": edl}[sys.argv[1]](*sys.argv[2:])))
