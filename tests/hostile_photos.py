"""Files that mean harm or were harmed: made from a seed, and sent to a journal as a phone would send them.

`python tests/hostile_photos.py --count 2000` sends that many to a journal in a child process with a limit on
memory, which its decoding processes inherit, each within a time limit, and prints what became of them. Every one must
be taken in (and then be shown) or refused with a sentence.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import multiprocessing
import random
import resource
import struct
import sys
import tempfile
import time
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import numpy as np
import pillow_heif
from made_photos import jpeg, picture
from PIL import Image
from werkzeug.datastructures import FileStorage
from werkzeug.test import encode_multipart

SECONDS_A_FILE = 30.0
MEMORY_BYTES = 6 << 30
"""Address space, of which decoding takes a part; libraries and threads reserve far more than they use."""
EXIF_IFD, GPS_IFD = 0x8769, 0x8825


@dataclass(frozen=True)
class HostileFile:
    kind: str
    name: str
    content: bytes


Maker = Callable[[random.Random], tuple[str, bytes]]
MAKERS: dict[str, Maker] = {}
HEAVY = ("many pixels", "decompression bomb", "endless scans")
"""Kinds that keep a computer busy for seconds; few are made of them."""


def hostile_files(count: int, seed: int = 7, heavy_share: float = 1 / 64) -> Iterator[HostileFile]:
    """The same files for the same seed: each kind in turn, of the heavy ones only this share."""
    rng = random.Random(seed)
    kinds = list(MAKERS)
    turn = 0
    for _ in range(count):
        kind = kinds[turn % len(kinds)]
        while kind in HEAVY and rng.random() > heavy_share:
            turn += 1
            kind = kinds[turn % len(kinds)]
        turn += 1
        name, content = MAKERS[kind](rng)
        yield HostileFile(kind, name, content)


def _kind(words: str) -> Callable[[Maker], Maker]:
    def keep(maker: Maker) -> Maker:
        MAKERS[words] = maker
        return maker

    return keep


# --- sound files that the others are made from


def _encoded(image: Image.Image, kind: str, **how: Any) -> bytes:
    out = io.BytesIO()
    if kind == "HEIF":
        pillow_heif.from_pillow(image).save(out, **how)
    else:
        image.save(out, kind, **how)
    return out.getvalue()


@cache
def sound_files() -> dict[str, bytes]:
    small = picture(1, (160, 120))
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(EXIF_IFD)[0x9003] = "2026:06:12 10:14:03"
    exif.get_ifd(GPS_IFD).update({1: "N", 2: (48.0, 51.0, 29.0), 3: "E", 4: (2.0, 17.0, 40.0), 29: "2026:06:12"})
    block = exif.tobytes()
    srgb16 = Image.fromarray(np.asarray(small.convert("L")).astype(np.uint16) * 257)
    return {
        "photo.jpg": jpeg("2026:06:12 10:14:03", size=(320, 240)),
        "placed.jpg": _encoded(small, "JPEG", exif=block),
        "progressive.jpg": _encoded(small, "JPEG", progressive=True, exif=block),
        "grey.jpg": _encoded(small.convert("L"), "JPEG"),
        "cmyk.jpg": _encoded(small.convert("CMYK"), "JPEG"),
        "two.jpg": _encoded(small, "MPO", save_all=True, append_images=[small]),
        "photo.png": _encoded(small, "PNG", exif=block),
        "alpha.png": _encoded(small.convert("RGBA"), "PNG"),
        "palette.png": _encoded(small.quantize(32), "PNG"),
        "bits16.png": _encoded(srgb16, "PNG"),
        "rgb16.png": png_of(160, 120, bits=16, packed=zlib.compress(bytes(120 * (1 + 160 * 6)))),
        "moving.png": _encoded(small, "PNG", save_all=True, append_images=[small.rotate(9)]),
        "photo.webp": _encoded(small, "WEBP", exif=block),
        "moving.webp": _encoded(small, "WEBP", save_all=True, append_images=[small.rotate(9)]),
        "photo.tif": _encoded(small, "TIFF", exif=exif),
        "packed.tif": _encoded(small, "TIFF", compression="tiff_lzw"),
        "zipped.tif": _encoded(small, "TIFF", compression="tiff_adobe_deflate"),
        "measured.tif": _encoded(small.convert("F"), "TIFF"),
        "photo.heic": _encoded(small, "HEIF", exif=block),
        "several.heic": _encoded_several(small),
        "alpha.heic": _encoded(small.convert("RGBA"), "HEIF"),
    }


def _encoded_several(image: Image.Image) -> bytes:
    file = pillow_heif.from_pillow(image)
    file.add_from_pillow(image.rotate(90, expand=True))
    out = io.BytesIO()
    file.save(out)
    return out.getvalue()


def _any_sound(rng: random.Random) -> tuple[str, bytes]:
    name = rng.choice(list(sound_files()))
    return name, sound_files()[name]


# --- damage


@_kind("bits flipped")
def _bits_flipped(rng: random.Random) -> tuple[str, bytes]:
    name, content = _any_sound(rng)
    damaged = bytearray(content)
    for _ in range(rng.choice((1, 3, 10, 60))):
        damaged[rng.randrange(len(damaged))] ^= 1 << rng.randrange(8)
    return name, bytes(damaged)


@_kind("bits flipped in the head")
def _head_flipped(rng: random.Random) -> tuple[str, bytes]:
    name, content = _any_sound(rng)
    damaged = bytearray(content)
    for _ in range(rng.choice((1, 2, 5))):
        damaged[rng.randrange(min(700, len(damaged)))] = rng.choice((0, 1, 0x7F, 0x80, 0xFE, 0xFF))
    return name, bytes(damaged)


@_kind("cut short")
def _cut_short(rng: random.Random) -> tuple[str, bytes]:
    name, content = _any_sound(rng)
    return name, content[: rng.randrange(len(content))]


@_kind("pieces moved")
def _pieces_moved(rng: random.Random) -> tuple[str, bytes]:
    name, content = _any_sound(rng)
    at, to = sorted(rng.randrange(len(content)) for _ in range(2))
    piece = content[at:to][:500]
    return name, content[:at] + piece * rng.choice((0, 2, 40)) + content[to:]


@_kind("spliced with another")
def _spliced(rng: random.Random) -> tuple[str, bytes]:
    (name, one), (_, other) = _any_sound(rng), _any_sound(rng)
    return name, one[: rng.randrange(len(one))] + other[rng.randrange(len(other)) :]


@_kind("wrong name")
def _wrong_name(rng: random.Random) -> tuple[str, bytes]:
    names = (
        "a.png",
        "a.exe",
        "..",
        "../../etc/passwd",
        "a\0b.jpg",
        "x" * 3000 + ".jpg",
        "\u202egpj.exe",
        "\ud800.jpg",
        "",
    )
    content = bytearray(_any_sound(rng)[1])
    return rng.choice(names), bytes(content) + rng.randbytes(4)


# --- Exif


def tiff_block(entries: list[tuple[int, int, int, bytes]], rest: bytes = b"", after: int = 0) -> bytes:
    """A TIFF structure of one directory: (tag, type, count, four bytes), then whatever follows; ``after``: next one."""
    made = b"II*\0" + struct.pack("<IH", 8, len(entries))
    for tag, kind, count, value in entries:
        made += struct.pack("<HHI", tag, kind, count & 0xFFFFFFFF) + value.ljust(4, b"\0")[:4]
    return made + struct.pack("<I", after) + rest


def _with_exif(block: bytes, rng: random.Random) -> tuple[str, bytes]:
    """The block in a JPEG (in as many segments as it takes), a PNG or a WebP."""
    how = rng.choice(("jpg", "jpg", "png", "webp"))
    small = picture(rng.randrange(9), (64, 48))
    if how == "png":
        whole = _encoded(small, "PNG")
        chunk = struct.pack(">I", len(block)) + b"eXIf" + block + struct.pack(">I", zlib.crc32(b"eXIf" + block))
        return "exif.png", whole[:33] + chunk + whole[33:]
    if how == "webp":
        return "exif.webp", _encoded(small, "WEBP", exif=b"Exif\0\0" + block)
    whole, segments = _encoded(small, "JPEG"), b""
    for at in range(0, len(block), 65_000):
        part = b"Exif\0\0" + block[at : at + 65_000]
        segments += b"\xff\xe1" + struct.pack(">H", len(part) + 2) + part
    return "exif.jpg", whole[:2] + segments + whole[2:]


@_kind("Exif of absurd lengths")
def _absurd_lengths(rng: random.Random) -> tuple[str, bytes]:
    tags = (0x0112, 0x010F, 0x9003, 0x927C, 0x9286, EXIF_IFD, GPS_IFD, 0x0201, 0x0202, 0x02BC, 0x8773)
    counts = (0, 1, 2, 999, 0xFFFF, 0x7FFFFFFF, 0xFFFFFFFF)
    entries = [
        (
            rng.choice(tags),
            rng.choice((*range(14), 0xFFFF)),
            rng.choice(counts),
            struct.pack("<I", rng.choice((0, 8, 9, 200, 0xFFFFFFF0))),
        )
        for _ in range(rng.choice((1, 5, 40)))
    ]
    return _with_exif(tiff_block(entries, rng.randbytes(300)), rng)


@_kind("Exif claimed over and over")
def _claimed_over_and_over(rng: random.Random) -> tuple[str, bytes]:
    size = 200_000
    entries = [(tag, 7, size, struct.pack("<I", 8)) for tag in range(0x9000, 0x9000 + 4000)]
    return _with_exif(tiff_block(entries, bytes(size)), rng)


@_kind("Exif in circles")
def _circles(rng: random.Random) -> tuple[str, bytes]:
    pointers = [
        (rng.choice((EXIF_IFD, GPS_IFD, 0xA005, 0x014A)), 4, 1, struct.pack("<I", 8))
        for _ in range(rng.choice((1, 3, 5000)))
    ]
    return _with_exif(tiff_block(pointers, after=rng.choice((8, 0, 9))), rng)


@_kind("Exif with absurd dates")
def _absurd_dates(rng: random.Random) -> tuple[str, bytes]:
    dates = (
        "0000:00:00 00:00:00", "9999:99:99 99:99:99", "2026:02:30 10:00:00", "1970:01:01 00:00:00",
        "    :  :     :  :  ",
        "2026:06:12 24:60:61", "-026:06:12 10:00:00", "2026:06:12", "\u0662\u0660\u0662\u0666:06:12 10:00:00",
        "\0" * 19,
        "2099:12:31 23:59:59", "2026:06:12 10:14:03" + "9" * 400, "<script>alert(1)</script>", "2026:6:1 1:1:1",
    )  # fmt: skip
    exif = Image.Exif()
    shooting = exif.get_ifd(EXIF_IFD)
    shooting[0x9003] = rng.choice(dates)
    shooting[0x9004] = rng.choice(dates)
    shooting[0x9011] = rng.choice(("+99:99", "-14:00", "+14:00", "Z", "", "+1", "\xff", "+00:00"))
    return _with_exif(exif.tobytes().removeprefix(b"Exif\0\0"), rng)


@_kind("GPS out of range")
def _gps(rng: random.Random) -> tuple[str, bytes]:
    exif = Image.Exif()
    odd = (0.0, 90.0, 1e9, 4294967295.0)
    exif.get_ifd(GPS_IFD).update(
        {1: rng.choice("NSX"), 2: tuple(rng.choice(odd) for _ in range(3)), 3: rng.choice("EW?"), 4: (rng.choice(odd),),
         7: tuple(rng.choice(odd) for _ in range(3)), 29: rng.choice(("2026:06:12", "0000:00:00", "9999:12:31", "x"))}
    )  # fmt: skip
    block = bytearray(exif.tobytes().removeprefix(b"Exif\0\0"))
    if rng.random() < 0.5:  # denominators of zero
        block = block.replace(struct.pack("<I", 1), bytes(4))
    return _with_exif(bytes(block), rng)


# --- sizes


def png_of(width: int, height: int, mode: int = 2, bits: int = 8, packed: bytes | None = None) -> bytes:
    """A PNG that says it is so large; ``packed`` are its compressed rows, else a few zeros."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width & 0xFFFFFFFF, height & 0xFFFFFFFF, bits, mode, 0, 0, 0)
    rows = zlib.compress(bytes(1000)) if packed is None else packed
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@_kind("huge in the head")
def _huge_head(rng: random.Random) -> tuple[str, bytes]:
    sides = (0, 1, 9_000, 65_535, 2**31 - 1, 2**32 - 1)
    width, height = rng.choice(sides), rng.choice(sides)
    how = rng.choice(("png", "jpg", "tif", "heic"))
    if how == "png":
        return "huge.png", png_of(width, height, rng.choice((0, 2, 3, 4, 6, 7)), rng.choice((1, 8, 16, 64)))
    if how == "heic":
        whole = bytearray(sound_files()["photo.heic"])
        at = whole.find(b"ispe") + 8
        whole[at : at + 8] = struct.pack(">II", width, height)
        return "huge.heic", bytes(whole)
    if how == "tif":
        entries = [(256, 4, 1, struct.pack("<I", width)),
                   (257, 4, 1, struct.pack("<I", height)), (258, 3, 1, b"\x08\0"),
                   (259, 3, 1, struct.pack("<H", rng.choice((1, 5, 7, 8, 32773)))),
                   (262, 3, 1, b"\1\0"), (273, 4, 1, b"\x08\0\0\0"),
                   (277, 3, 1, struct.pack("<H", rng.choice((1, 3, 4, 65535)))), (278, 4, 1, struct.pack("<I", height)),
                   (279, 4, 1, struct.pack("<I", rng.choice((10, 2**32 - 1))))]  # fmt: skip
        return "huge.tif", tiff_block(entries, bytes(500))
    whole = bytearray(sound_files()["photo.jpg"])
    at = next(at for at in range(len(whole)) if whole[at : at + 2] in (b"\xff\xc0", b"\xff\xc2"))
    whole[at + 5 : at + 9] = struct.pack(">HH", height & 0xFFFF, width & 0xFFFF)
    return "huge.jpg", bytes(whole)


@_kind("many pixels")
def _many_pixels(rng: random.Random) -> tuple[str, bytes]:
    """As many as are taken in, in few bytes."""
    side = 10_100
    kind, mode = rng.choice(
        (("PNG", "RGB"), ("PNG", "RGBA"), ("TIFF", "F"), ("PNG", "I;16"), ("JPEG", "CMYK"), ("WEBP", "RGB"))
    )
    if kind == "WEBP":
        side = 9_000
    how = {"compression": "tiff_adobe_deflate"} if kind == "TIFF" else {}
    name = {"PNG": "many.png", "TIFF": "many.tif", "JPEG": "many.jpg", "WEBP": "many.webp"}[kind]
    return name, _encoded(Image.new(mode, (side, side)), kind, **how)


@_kind("decompression bomb")
def _bomb(rng: random.Random) -> tuple[str, bytes]:
    packed = zlib.compress(bytes(30_000_000), 9)
    how = rng.choice(("rows", "profile", "text", "small"))
    if how == "rows":
        return "bomb.png", png_of(20_000, 5_000, packed=zlib.compress(bytes(300_020_000), 9))
    if how == "small":
        return "bomb.png", png_of(16, 16, packed=packed)
    whole = _encoded(picture(2, (64, 48)), "PNG")
    name, data = (b"iCCP", b"icc\0\0" + packed) if how == "profile" else (b"zTXt", b"Comment\0\0" + packed)
    chunk = struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
    return "bomb.png", whole[:33] + chunk * (1 if how == "profile" else 8) + whole[33:]


@_kind("endless scans")
def _endless_scans(rng: random.Random) -> tuple[str, bytes]:
    whole = _encoded(Image.new("L", (4000, 4000), 120), "JPEG", progressive=True)
    last = whole[whole.rindex(b"\xff\xda") : -2]
    return "scans.jpg", whole[:-2] + last * rng.choice((20, 20_000)) + whole[-2:]


# --- pixels and profiles of every kind


@_kind("odd pixels")
def _odd_pixels(rng: random.Random) -> tuple[str, bytes]:
    base = picture(rng.randrange(1000), rng.choice(((64, 48), (640, 480))))  # as it is, and to be shrunk
    mode, kind = rng.choice(
        [("1", "PNG"), ("L", "PNG"), ("LA", "PNG"), ("P", "PNG"), ("RGBA", "PNG"), ("I;16", "PNG"),
         ("CMYK", "JPEG"), ("L", "JPEG"),
         ("F", "TIFF"), ("I", "TIFF"), ("I;16", "TIFF"), ("CMYK", "TIFF"), ("LAB", "TIFF"),
         ("RGBA", "WEBP"), ("RGBA", "HEIF")]
    )  # fmt: skip
    if mode == "LAB":
        made = Image.frombytes("LAB", base.size, base.tobytes())
    else:
        made = base.convert("L").convert(mode) if mode in ("I;16", "I", "F", "LA") else base.convert(mode)
    if mode == "F" and rng.random() < 0.5:
        made = Image.fromarray(np.full(base.size[::-1], rng.choice((np.nan, np.inf, -1e30, 1e30)), np.float32))
    return f"odd.{kind.lower()}", _encoded(made, kind)


@_kind("odd profiles")
def _odd_profiles(rng: random.Random) -> tuple[str, bytes]:
    from journal_server.measurement.colour_profile import display_p3

    profile = bytearray(display_p3())
    for _ in range(rng.choice((0, 1, 5, 50))):
        profile[rng.randrange(len(profile))] = rng.randrange(256)
    cut = bytes(profile[: rng.choice((len(profile), len(profile), rng.randrange(1, len(profile))))])
    mode = rng.choice(("RGB", "RGB", "L", "CMYK"))
    kind = "JPEG" if mode == "CMYK" else rng.choice(("JPEG", "PNG", "TIFF"))
    return f"profile.{kind.lower()}", _encoded(
        picture(rng.randrange(1000), (64, 48)).convert(mode), kind, icc_profile=cut
    )


@_kind("moving")
def _moving(rng: random.Random) -> tuple[str, bytes]:
    first = picture(rng.randrange(1000), (64, 48))
    kind = rng.choice(("PNG", "WEBP", "TIFF", "GIF", "MPO"))
    return f"moving.{kind.lower()}", _encoded(
        first, kind, save_all=True, append_images=[first.rotate(5 * n) for n in range(1, 30)]
    )


@_kind("HEIC variants")
def _heic(rng: random.Random) -> tuple[str, bytes]:
    whole = bytearray(sound_files()[rng.choice(("photo.heic", "several.heic", "alpha.heic"))])
    box = rng.choice(
        (b"ftyp", b"meta", b"iloc", b"iinf", b"ipco", b"ipma", b"ispe", b"hvcC", b"pitm", b"iref", b"colr")
    )
    at = max(0, whole.find(box))
    for _ in range(rng.choice((1, 4))):
        whole[(at + rng.randrange(-4, 24)) % len(whole)] = rng.choice((0, 1, 0x7F, 0xFF, rng.randrange(256)))
    if rng.random() < 0.3:
        whole[8:12] = rng.choice((b"heix", b"hevc", b"mif1", b"msf1", b"avif", b"qt  ", b"mp42", b"\0\0\0\0"))
    return "variant.heic", bytes(whole)


# --- what is something else


@_kind("something else")
def _something_else(rng: random.Random) -> tuple[str, bytes]:
    others = (
        b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
        b"<!doctype html><script>alert(1)</script>",
        b"%PDF-1.7\n", b"GIF89a" + bytes(30), b"PK\x03\x04" + bytes(30), b"\x7fELF" + bytes(60), b"MZ" + bytes(60),
        b"RIFF\x10\0\0\0AVI LIST", b"\0\0\0\x18ftypmp42", b"OggS", b"ID3\3", b"BM" + bytes(60),
        b"\xff\xd8\xff", b"", b"\0" * 5000,
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n", b"8BPS\0\1" + bytes(40), b"\x93NUMPY",
        b"SIMPLE  =", b"\x0a\x05\x01\x08",
    )  # fmt: skip
    return rng.choice(("a.jpg", "b.heic", "c.png")), rng.choice(others) + rng.randbytes(rng.choice((0, 1, 5)))


@_kind("two things at once")
def _polyglot(rng: random.Random) -> tuple[str, bytes]:
    """A photo with something else in a comment, before it or behind it."""
    other = rng.choice(
        (b"<script>alert(1)</script>", b"<svg onload=alert(1)>", b"PK\x05\x06" + bytes(18), b"%PDF-1.7", b"GIF89a")
    )
    whole = _encoded(picture(rng.randrange(1000), (64, 48)), "JPEG")
    comment = b"\xff\xfe" + struct.pack(">H", len(other) + 2) + other
    made = rng.choice(
        (other + whole, whole + other, whole[:2] + comment + whole[2:], whole + sound_files()["photo.png"])
    )
    return rng.choice(("two.jpg", "two.html", "two.svg")), made


# --- sending them


@dataclass(frozen=True)
class Outcome:
    status: int
    says: str
    seconds: float


def send(client: Any, file: HostileFile) -> Outcome:
    """Send the file as a phone would; what is taken in must then be shown, as a JPEG that the journal made."""
    before = time.monotonic()
    name = file.name.encode("utf-8", "replace").decode()
    # Encoded here, as the client would leave the temporary file of a large one open.
    mark, body = encode_multipart({"photo": FileStorage(io.BytesIO(file.content), filename=name)})
    sent = client.post("/api/photos", data=body, content_type=f"multipart/form-data; boundary={mark}")
    status, told = sent.status_code, sent.get_json() or {}
    says = told["error"]["message"] if "error" in told else told.get("says", "")
    if status in (200, 201):
        for size in ("thumb", "screen"):
            shown = client.get(f"/api/photos/{told['photo']['id']}/picture?size={size}")
            if shown.status_code != 200 or not shown.data.startswith(b"\xff\xd8\xff"):
                status, says = shown.status_code, f"taken in, but not shown ({size})"
    return Outcome(status, says, time.monotonic() - before)


def is_well(outcome: Outcome) -> bool:
    refused = outcome.status == 422 and outcome.says.endswith(".")
    return refused or outcome.status in (200, 201)


@contextlib.contextmanager
def fresh_client() -> Iterator[Any]:
    from journal_server.app import create_app
    from journal_server.services.journal import open_journal

    with tempfile.TemporaryDirectory() as folder, contextlib.closing(open_journal(Path(folder) / "journal")) as journal:
        yield create_app(journal).test_client()


def _child(count: int, seed: int, begin: int, pipe: Connection) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    files = enumerate(hostile_files(count, seed, heavy_share=1 / 8))
    with contextlib.ExitStack() as stack:
        client = stack.enter_context(fresh_client())
        for at, file in files:
            if at < begin:
                continue
            if at % 200 == 199:
                client = stack.enter_context(fresh_client())
            pipe.send(("sends", file.kind, file.name, None))
            outcome = send(client, file)
            pipe.send(("sent", file.kind, file.name, outcome))
    for child in multiprocessing.active_children():  # the system counts those that have ended
        child.kill()
        child.join()
    peaks = [resource.getrusage(who).ru_maxrss * 1024 for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    pipe.send(("peak", "", "", peaks))


def run(count: int, seed: int) -> int:
    """Send all; a child that dies or hangs on one is replaced after it. Returns how many ended as they must not."""
    seen: Counter[tuple[str, str]] = Counter()
    bad: list[str] = []
    slowest, peaks, done = (0.0, ""), [0, 0], 0
    context = multiprocessing.get_context("spawn")
    while done < count:
        here, there = context.Pipe(duplex=False)
        child = context.Process(target=_child, args=(count, seed, done, there))
        child.start()
        there.close()
        kind = name = "before the first"
        while True:
            try:
                if not here.poll(60 + SECONDS_A_FILE):
                    raise TimeoutError
                what, kind, name, told = here.recv()
            except (EOFError, TimeoutError) as end:
                bad.append(
                    f"{kind}, {name}, file {done}: {'hung' if isinstance(end, TimeoutError) else 'the process died'}"
                )
                done += 1
                break
            if what == "peak":
                peaks = [max(before, now) for before, now in zip(peaks, told, strict=True)]
                break
            if what == "sent":
                done += 1
                seen[kind, "taken in" if told.status in (200, 201) else "refused"] += 1
                slowest = max(slowest, (told.seconds, f"{kind}, {name}"))
                if not is_well(told) or told.seconds > SECONDS_A_FILE:
                    bad.append(f"{kind}, {name}, file {done - 1}: {told}")
        child.kill()
        child.join()
    _print(seen, bad, slowest, peaks)
    return len(bad)


def _print(seen: Counter[tuple[str, str]], bad: list[str], slowest: tuple[float, str], peaks: list[int]) -> None:
    for kind in MAKERS:
        print(f"{kind:28} taken in {seen[kind, 'taken in']:5}   refused {seen[kind, 'refused']:5}")
    print(f"{'all':28} taken in {sum(n for (_, how), n in seen.items() if how == 'taken in'):5}"
          f"   refused {sum(n for (_, how), n in seen.items() if how == 'refused'):5}")  # fmt: skip
    here, decoders = (peak / 2**20 for peak in peaks)
    print(f"slowest {slowest[0]:.1f} s ({slowest[1]})")
    print(f"most memory: {here:.0f} MiB, of a decoding process {decoders:.0f} MiB")
    print("\n".join(bad) or "every file was taken in and shown, or refused with a sentence")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=7)
    given = parser.parse_args()
    return 1 if run(given.count, given.seed) else 0


if __name__ == "__main__":
    sys.exit(main())
