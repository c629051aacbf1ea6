"""Speaks one phrase a line of standard input, and says when each word begins.

usage: espeak.py OUT.wav SEED [VOICE SPEED] < phrases
Prints one JSON list a phrase: [start, end, [[word, start], ...]], in seconds. Words and their times are the synthesiser's
own events (libespeak-ng, espeak_EVENT_WORD). Without VOICE three of them take turns. Between phrases lies a pause of 0.4 to 1.4 s.
"""
import ctypes, ctypes.util, json, random, sys, wave

lib = ctypes.CDLL(ctypes.util.find_library("espeak-ng") or "libespeak-ng.so.1")
RATE = lib.espeak_Initialize(2, 0, None, 0)  # AUDIO_OUTPUT_SYNCHRONOUS


class Event(ctypes.Structure):
    _fields_ = [
        ("type", ctypes.c_int), ("unique", ctypes.c_uint), ("text_position", ctypes.c_int), ("length", ctypes.c_int),
        ("audio_position", ctypes.c_int), ("sample", ctypes.c_int), ("user", ctypes.c_void_p), ("id", ctypes.c_char * 8),
    ]


samples, events = [], []


def heard(wav, count, event):
    if wav and count > 0:
        samples.append(ctypes.string_at(wav, count * 2))
    number = 0
    while event[number].type != 0:
        if event[number].type == 1:
            events.append((event[number].text_position, event[number].length, event[number].audio_position / 1000))
        number += 1
    return 0


Callback = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_int, ctypes.POINTER(Event))
callback = Callback(heard)
lib.espeak_SetSynthCallback(callback)
dice = random.Random(int(sys.argv[2]))
sound = b"\0\0" * (RATE // 2)
for number, phrase in enumerate(line.strip() for line in sys.stdin if line.strip()):
    if len(sys.argv) > 4:
        lib.espeak_SetVoiceByName(sys.argv[3].encode())
        lib.espeak_SetParameter(1, int(sys.argv[4]), 0)
    elif number % 8 == 0:
        lib.espeak_SetVoiceByName([b"en-gb", b"en-us", b"en-gb+f3"][number // 8 % 3])
        lib.espeak_SetParameter(1, [145, 165, 180][number // 8 % 3], 0)
    samples.clear()
    events.clear()
    text = phrase.encode()
    lib.espeak_Synth(text, len(text) + 1, 0, 1, 0, 1, None, None)
    lib.espeak_Synchronize()
    data = b"".join(samples)
    values = memoryview(data).cast("h")
    loud = [i for i, value in enumerate(values) if abs(value) > 60]
    first, last = loud[0] / RATE, (loud[-1] + 1) / RATE
    begin = len(sound) / 2 / RATE
    words = [[phrase[at - 1:at - 1 + length], begin + max(time, first)] for at, length, time in events]
    print(json.dumps([begin + first, begin + last, words]))
    sound += data + b"\0\0" * int(RATE * (0.4 + dice.random()))
with wave.open(sys.argv[1], "wb") as out:
    out.setnchannels(1)
    out.setsampwidth(2)
    out.setframerate(RATE)
    out.writeframes(sound)
