#!/usr/bin/env python3
"""Plays and seeks films in a headless Chromium: `chromium.py film.mp4 film.webm …`.

For each film the browser must tell its length, let the clock run while playing, show a decoded picture, and reach three
places out of order. Needs `chromium` and nothing beyond Python's own library. Exit code 0 if all films pass.
"""

import http.server
import json
import os
import queue
import re
import shutil
import subprocess
import sys
import tempfile
import threading

PAGE = """<!doctype html><meta charset=utf-8><video id=v src="film" preload=auto></video><script>
const v = document.getElementById('v'), told = {};
const tell = () => fetch('told', {method: 'POST', body: JSON.stringify(told)});
const event = name => new Promise((done, fail) => {
  v.addEventListener(name, done, {once: true});
  v.addEventListener('error', () => fail(new Error(v.error ? v.error.message : 'error')), {once: true});
});
(async () => {
  try {
    if (v.readyState < 1) await event('loadedmetadata');
    told.duration = v.duration; told.size = [v.videoWidth, v.videoHeight];
    v.volume = 0.5;
    await v.play();
    await new Promise(done => setTimeout(done, 1000));
    told.played = v.currentTime;
    v.pause();
    told.frames = v.getVideoPlaybackQuality().totalVideoFrames;
    told.sound = v.webkitAudioDecodedByteCount;
    told.seeks = [];
    for (const part of [0.9, 0.2, 0.6]) {
      const to = part * v.duration;
      const there = event('seeked');
      v.currentTime = to;
      await there;
      const c = document.createElement('canvas');
      c.width = v.videoWidth; c.height = v.videoHeight;
      const g = c.getContext('2d');
      g.drawImage(v, 0, 0);
      const lit = g.getImageData(0, 0, c.width, c.height).data.some((x, i) => i % 4 < 3 && x > 16);
      told.seeks.push([to, v.currentTime, lit]);
    }
  } catch (e) { told.error = String(e); }
  tell();
})();
</script>"""


def serve(film, told):
    data = open(film, "rb").read()

    class Handler(http.server.BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def reply(self, code, kind, body, **headers):
            self.send_response(code)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            for name, value in headers.items():
                self.send_header(name.replace("_", "-"), value)
            self.end_headers()
            self.wfile.write(body)

        def do_GET(self):
            if self.path != "/film":
                return self.reply(200, "text/html", PAGE.encode() if self.path == "/" else b"")
            kind = "video/mp4" if film.endswith(".mp4") else "video/webm"
            asked = re.match(r"bytes=(\d+)-(\d*)", self.headers.get("Range", ""))
            if not asked:
                return self.reply(200, kind, data, Accept_Ranges="bytes")
            start = int(asked[1])
            end = min(int(asked[2] or len(data) - 1), len(data) - 1)
            self.reply(206, kind, data[start : end + 1], Content_Range=f"bytes {start}-{end}/{len(data)}")

        def do_POST(self):
            told.put(json.loads(self.rfile.read(int(self.headers["Content-Length"]))))
            self.reply(200, "text/plain", b"")

        def log_message(self, *_):
            pass

    return http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)


def judge(film):
    told = queue.Queue()
    server = serve(film, told)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    profile = tempfile.mkdtemp()
    browser = subprocess.Popen(
        ["chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--mute-audio", f"--user-data-dir={profile}",
         "--autoplay-policy=no-user-gesture-required", f"http://127.0.0.1:{server.server_port}/"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        answer = told.get(timeout=60)
    except queue.Empty:
        answer = {"error": "no answer in 60 s"}
    finally:
        browser.terminate()
        browser.wait()
        server.shutdown()
        shutil.rmtree(profile, ignore_errors=True)
    probe = subprocess.run(
        ["ffprobe", "-v", "error", "-show_entries", "format=duration", "-of", "csv=p=0", film],
        capture_output=True, text=True, check=True)
    length = float(probe.stdout)
    good = (
        "error" not in answer
        and abs(answer["duration"] - length) < 0.05
        and answer["played"] > 0.3
        and answer["frames"] > 5
        and all(abs(to - at) < 0.1 and lit for to, at, lit in answer["seeks"])
    )
    print("good" if good else "BAD ", os.path.basename(film), json.dumps(answer))
    return good


if __name__ == "__main__":
    sys.exit(0 if all([judge(film) for film in sys.argv[1:]]) else 1)
