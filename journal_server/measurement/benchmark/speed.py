"""Speed against the full decode of the same JPEG in the same run, memory, import time, two processes against one."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

from journal_server.measurement.photo_file import open_photo, render

_ONE_THREAD = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}


def enlarged(photo: Path, megapixels: float, folder: Path) -> Path:
    """The photo as a JPEG of about that many megapixels, quality 90."""
    picture = render(open_photo(photo))
    scale = (megapixels * 1e6 / (picture.width * picture.height)) ** 0.5
    size = round(picture.width * scale), round(picture.height * scale)
    path = folder / f"{megapixels:.0f}_megapixels.jpg"
    picture.resize(size, Image.Resampling.BICUBIC).save(path, quality=90)
    return path


def speed_lines(photo: Path) -> list[str]:
    """All of it, in lines to print."""
    with tempfile.TemporaryDirectory() as folder:
        large = enlarged(photo, 12, Path(folder))
        decode, measure = _median_s(lambda: _full_decode(large)), _child_measure_s(large)
        lines = [
            f"12-megapixel JPEG: full decode {decode * 1e3:.0f} ms, measured in {measure * 1e3:.0f} ms:"
            f" {measure / decode:.1f} times the decode",
        ]
        lines += [f"  {words}: {1e3 * seconds:.0f} ms" for words, seconds in _parts(large)]
        for megapixels in (12, 100):
            path = enlarged(photo, megapixels, Path(folder))
            lines.append(f"peak memory at {megapixels} megapixels: {_peak_mb(path):.0f} MB")
        lines.append(f"import: {_import_s():.2f} s")
        one, two = _batch_s(large, 1), _batch_s(large, 2)
        lines.append(f"two processes measure {2 * one / two:.2f} times as many photos as one")
    return lines


def _full_decode(path: Path) -> None:
    with Image.open(path) as image:
        image.load()


def _median_s(action: Callable[[], object], rounds: int = 7) -> float:
    taken = []
    for _ in range(rounds):
        start = time.perf_counter()
        action()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def _child_measure_s(path: Path) -> float:
    program = (
        "import sys, time, statistics\n"
        "from journal_server.measurement import measure_photo\n"
        "measure_photo(sys.argv[1])\n"
        "taken = []\n"
        "for _ in range(7):\n"
        "    start = time.perf_counter()\n"
        "    measure_photo(sys.argv[1])\n"
        "    taken.append(time.perf_counter() - start)\n"
        "print(statistics.median(taken))\n"
    )
    return float(_child(program, path))


def _parts(path: Path) -> list[tuple[str, float]]:
    from journal_server.measurement.card import read_cards
    from journal_server.measurement.measure import segmentation_of

    photo = open_photo(path)
    decoded = np.asarray(render(photo, min_pixels=1_500_000))
    grey = np.asarray(Image.fromarray(decoded).convert("L"))
    none = np.zeros((0, 3), np.float32)
    return [
        ("checking and hashing the file", _median_s(lambda: open_photo(path))),
        ("decoding at reduced size", _median_s(lambda: render(photo, min_pixels=1_500_000))),
        ("segmentation", _median_s(lambda: segmentation_of(decoded, none, none))),
        ("card", _median_s(lambda: read_cards(grey))),
    ]


def _peak_mb(path: Path) -> float:
    program = (
        "import sys\n"
        "from journal_server.measurement import measure_photo\n"
        "from journal_server.measurement.benchmark.speed import peak_memory_mb\n"
        "measure_photo(sys.argv[1])\n"
        "print(peak_memory_mb())\n"
    )
    return float(_child(program, path))


def peak_memory_mb() -> float:
    """The most memory this process has held; read from /proc, since getrusage counts the parent's before exec."""
    status = Path("/proc/self/status")
    if status.exists():
        held = next(line for line in status.read_text("ascii").splitlines() if line.startswith("VmHWM"))
        return int(held.split()[1]) / 1024
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _import_s() -> float:
    program = (
        "import time\nstart = time.perf_counter()\n"
        "from journal_server.measurement import measure_photo\n"
        "print(time.perf_counter() - start)\n"
    )
    return min(float(_child(program)) for _ in range(3))


def _batch_s(path: Path, processes: int, photos: int = 8) -> float:
    """Seconds for each of ``processes`` processes to measure ``photos`` photos, start-up not counted."""
    program = (
        "import sys, time\n"
        "from journal_server.measurement import measure_photo\n"
        "measure_photo(sys.argv[1])\n"
        "print('ready', flush=True)\n"
        "sys.stdin.readline()\n"
        f"for _ in range({photos}):\n    measure_photo(sys.argv[1])\n"
    )
    command = [sys.executable, "-c", program, str(path)]
    children = [
        subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=_ONE_THREAD, text=True)
        for _ in range(processes)
    ]
    for child in children:
        assert child.stdout is not None
        child.stdout.readline()
    start = time.perf_counter()
    for child in children:
        child.communicate("go\n")
    return time.perf_counter() - start


def _child(program: str, *arguments: Path) -> str:
    command = [sys.executable, "-c", program, *(str(a) for a in arguments)]
    return subprocess.run(command, check=True, capture_output=True, text=True, env=_ONE_THREAD).stdout.strip()
