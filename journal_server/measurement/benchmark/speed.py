"""Speed against the full decode of the same JPEG in the same run, memory, import time, two processes against one.

Times are processor time, best of several, on one thread: what else the machine does at the time hardly matters.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from journal_server.measurement.benchmark.scenes import Scene
from journal_server.measurement.photo_file import open_photo, render

_ONE_THREAD = {**os.environ, "OMP_NUM_THREADS": "1", "VECLIB_MAXIMUM_THREADS": "1"}
# Fine grain as of a small sensor in daylight: enlarged pictures are smooth and would decode faster than photos.
_GRAIN = 4.0
_GOAL = 3.0


def speed_lines(scenes: Iterable[Scene]) -> list[str]:
    """All of it, in lines to print."""
    lines = ["Processor time on one thread, best of several, 12-megapixel JPEG, frame, colours and plants given:"]
    with tempfile.TemporaryDirectory() as folder:
        photos = {words: _large(scene, 12, Path(folder)) for words, scene in _usual_and_hard(scenes).items()}
        for words, photo in photos.items():
            lines += _ratio_lines(words, photo)
        usual = next(iter(photos.values()))
        for megapixels in (12, 100):
            path = usual[0] if megapixels == 12 else enlarged(usual[0], megapixels, Path(folder) / "largest.jpg")
            lines.append(f"peak memory at {megapixels} megapixels: {float(_child(_PEAK, path)):.0f} MB")
        lines.append(f"import: {min(float(_child(_IMPORT)) for _ in range(3)):.2f} s")
        one, two = _seconds_for_each(usual[0], 1), _seconds_for_each(usual[0], 2)
        lines.append(
            f"two processes side by side measure {2 * one / two:.2f} times as many photos as one on two free cores"
            f" ({two / one:.2f} times the processor time for each)"
        )
    return lines


def enlarged(photo: Path, megapixels: float, target: Path) -> Path:
    """The photo as a JPEG of about that many megapixels, quality 90, with fine grain."""
    picture = render(open_photo(photo))
    scale = (megapixels * 1e6 / (picture.width * picture.height)) ** 0.5
    large = picture.resize((round(picture.width * scale), round(picture.height * scale)), Image.Resampling.BICUBIC)
    grain = Image.effect_noise((512, 512), _GRAIN)
    tile = np.asarray(grain, np.int16)[..., None] - 128
    for top in range(0, large.height, 512):
        for left in range(0, large.width, 512):
            box = left, top, min(left + 512, large.width), min(top + 512, large.height)
            part = np.asarray(large.crop(box)) + tile[: box[3] - top, : box[2] - left]
            large.paste(Image.fromarray(np.clip(part, 0, 255).astype(np.uint8)), box)
    large.save(target, quality=90)
    return target


def _usual_and_hard(scenes: Iterable[Scene]) -> dict[str, Scene]:
    """One scene of each kind, as far as there are any."""
    found: dict[str, Scene] = {}
    for scene in scenes:
        tag = scene.truth["tag"]
        kind = "no card" if tag is None else "card read at once" if tag["decodes"] else "card that hides"
        found.setdefault(kind, scene)
    return dict(sorted(found.items(), key=lambda pair: ("at once" not in pair[0], pair[0])))


def _large(scene: Scene, megapixels: float, folder: Path) -> tuple[Path, dict[str, Any]]:
    path = enlarged(scene.photo, megapixels, folder / f"{scene.name}.jpg")
    scale = open_photo(path).width / open_photo(scene.photo).width
    declared = scene.truth["declared"]
    told = {
        "frame": [[x * scale, y * scale] for x, y in scene.truth["frame_polygon"]],
        "bloom_colours": declared["bloom_colours"],
        "foliage_colours": declared["foliage_colours"],
        "plants": scene.truth["n_plants"],
    }
    return path, told


def _ratio_lines(words: str, photo: tuple[Path, dict[str, Any]]) -> list[str]:
    path, told = photo
    seconds: dict[str, float] = json.loads(_child(_TIMES, path, json.dumps(told)))
    decode, measure = seconds.pop("full decode"), seconds.pop("measured")
    parts = [f"    {part}: {1e3 * taken:.0f} ms" for part, taken in seconds.items()]
    parts.append(f"    all else: {1e3 * (measure - sum(seconds.values())):.0f} ms")
    size = path.stat().st_size / 1e6
    return [
        f"  {words} ({size:.1f} MB): full decode {decode * 1e3:.0f} ms, measured in {measure * 1e3:.0f} ms:"
        f" {measure / decode:.1f} times the decode (goal {_GOAL:.0f})",
        *parts,
    ]


_TIMES = """
import json, sys, time
import numpy as np
from PIL import Image
from journal_server.measurement import measure, photo_file
from journal_server.measurement.measure import measure_photo

path, told = sys.argv[1], json.loads(sys.argv[2])
spent = {}

def timed(words, function):
    def run(*args, **kwargs):
        start = time.process_time()
        try:
            return function(*args, **kwargs)
        finally:
            spent[words] = spent.get(words, 0.0) + time.process_time() - start
    return run

def full_decode():
    with Image.open(path) as image:
        image.load()

PARTS = {
    "open_photo": "checking and hashing the file", "render": "decoding at reduced size", "_shrunk": "shrinking",
    "segmentation_of": "segmentation", "_read_card": "card", "look_at": "signs of quality", "_colours": "colours",
}
measure_photo(path, **told)
best = {"full decode": 9e9, "measured": 9e9}
for _ in range(9):
    spent.clear()
    timed("full decode", full_decode)()
    timed("measured", measure_photo)(path, **told)
    best = {words: min(best[words], spent[words]) for words in best}
for name, words in PARTS.items():
    setattr(measure, name, timed(words, getattr(measure, name)))
rounds = []
for _ in range(5):
    spent.clear()
    measure_photo(path, **told)
    rounds.append(dict(spent))
print(json.dumps({**best, **{words: min(r[words] for r in rounds) for words in PARTS.values()}}))
"""

_PEAK = """
import sys
from journal_server.measurement import measure_photo
from journal_server.measurement.benchmark.speed import peak_memory_mb
measure_photo(sys.argv[1])
print(peak_memory_mb())
"""

_IMPORT = """
import time
start = time.process_time()
from journal_server.measurement import measure_photo
print(time.process_time() - start)
"""

_SIDE_BY_SIDE = """
import sys, time
from journal_server.measurement import measure_photo
measure_photo(sys.argv[1])
print("ready", flush=True)
sys.stdin.readline()
taken = []
for _ in range(10):
    start = time.process_time()
    measure_photo(sys.argv[1])
    taken.append(time.process_time() - start)
print(sorted(taken)[len(taken) // 2])
"""


def peak_memory_mb() -> float:
    """The most memory this process has held; read from /proc, since getrusage counts the parent's before exec."""
    status = Path("/proc/self/status")
    if status.exists():
        held = next(line for line in status.read_text("ascii").splitlines() if line.startswith("VmHWM"))
        return int(held.split()[1]) / 1024
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _seconds_for_each(path: Path, processes: int) -> float:
    """Processor seconds for one photo while that many processes measure side by side, start-up not counted."""
    command = [sys.executable, "-c", _SIDE_BY_SIDE, str(path)]
    children = [
        subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=_ONE_THREAD, text=True)
        for _ in range(processes)
    ]
    for child in children:
        assert child.stdout is not None
        child.stdout.readline()
    for child in children:
        assert child.stdin is not None
        child.stdin.write("go\n")
        child.stdin.flush()
    return float(np.mean([float(child.communicate()[0]) for child in children]))


def _child(program: str, *arguments: Path | str) -> str:
    command = [sys.executable, "-c", program, *(str(a) for a in arguments)]
    return subprocess.run(command, check=True, capture_output=True, text=True, env=_ONE_THREAD).stdout.strip()
