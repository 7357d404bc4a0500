"""The moment of a photo, against exiftool for Exif and against hand-made cases for the rest."""

from __future__ import annotations

import json
import struct
import time
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from measurement.made_files import FORMATS, exiftool, save_turned
from PIL import Image

from journal_server.measurement.moment import (
    ExifTags,
    camera_facts,
    moment_of,
    read_exif,
    read_moment,
)
from journal_server.measurement.photo_file import open_photo

NONE = ExifTags({})


@pytest.mark.parametrize("suffix", FORMATS)
def test_exif_time_offset_and_focal_length_agree_with_exiftool(tmp_path: Path, suffix: str) -> None:
    path = save_turned(tmp_path / f"photo.{suffix}", 1)
    exiftool(
        "-q", "-overwrite_original", "-DateTimeOriginal=2026:06:12 10:14:03", "-OffsetTimeOriginal=+01:00",
        "-FocalLengthIn35mmFormat=26", "-GPSLatitude=1.5", "-GPSLongitude=2.5", path,
    )  # fmt: skip
    said = json.loads(
        exiftool("-json", "-n", "-DateTimeOriginal", "-OffsetTimeOriginal", "-FocalLengthIn35mmFormat", path)
    )[0]
    photo = open_photo(path)
    moment = moment_of(photo, "Asia/Tokyo")
    expected = datetime.strptime(said["DateTimeOriginal"] + said["OffsetTimeOriginal"], "%Y:%m:%d %H:%M:%S%z")
    assert (moment.taken_at, moment.source) == (expected.isoformat(), "exif")
    assert not moment.offset_assumed
    facts = camera_facts(read_exif(photo.exif))
    assert facts.focal_length_35mm == said["FocalLengthIn35mmFormat"] == 26
    assert facts.has_gps_position


@pytest.mark.parametrize("suffix", FORMATS)
def test_gps_time_is_used_without_a_camera_clock(tmp_path: Path, suffix: str) -> None:
    path = save_turned(tmp_path / f"photo.{suffix}", 1)
    exiftool("-q", "-overwrite_original", "-GPSDateStamp=2026:06:12", "-GPSTimeStamp=09:14:03", path)
    moment = moment_of(open_photo(path))
    assert (moment.taken_at, moment.source) == ("2026-06-12T09:14:03+00:00", "gps")


def test_a_missing_offset_is_assumed_and_said(tmp_path: Path) -> None:
    path = save_turned(tmp_path / "photo.jpg", 1)
    exiftool("-q", "-overwrite_original", "-DateTimeOriginal=2026:06:12 10:14:03", path)
    moment = moment_of(open_photo(path), "Europe/London")
    assert moment.taken_at == "2026-06-12T10:14:03+01:00"
    assert moment.offset_assumed
    assert "Europe/London" in (moment.note or "")
    assert "UTC" in (moment_of(open_photo(path)).note or "")


@pytest.mark.parametrize(
    "date", ["0000:00:00 00:00:00", "2999:01:01 10:00:00", "1985:01:01 10:00:00", "2026:13:41 99:99:99"]
)
def test_impossible_dates_are_passed_over_with_a_note(tmp_path: Path, date: str) -> None:
    path = save_turned(tmp_path / "IMG_20260714_101500.jpg", 1)
    exiftool("-q", "-m", "-overwrite_original", "-n", f"-DateTimeOriginal={date}", path)
    moment = moment_of(open_photo(path), "Europe/London")
    assert (moment.taken_at, moment.source) == ("2026-07-14T10:15:00+01:00", "file name")
    assert "impossible" in (moment.note or "")


@pytest.mark.parametrize(
    ("name", "taken_at", "doubtful"),
    [
        ("IMG_20260714_101500.jpg", "2026-07-14T10:15:00+00:00", False),
        ("PXL_20260714_081500123.jpg", "2026-07-14T08:15:00+00:00", False),
        ("2026-07-14 10.15.00.png", "2026-07-14T10:15:00+00:00", False),
        ("Photo 2026-07-14 at 10.15.00.heic", "2026-07-14T10:15:00+00:00", False),
        ("p1_2026-05-22.jpg", "2026-05-22T12:00:00+00:00", True),
        ("20260714.jpg", "2026-07-14T12:00:00+00:00", True),
    ],
)
def test_dates_in_file_names(name: str, taken_at: str, doubtful: bool) -> None:
    moment = read_moment(NONE, name)
    assert (moment.taken_at, moment.source, moment.doubtful) == (taken_at, "file name", doubtful)


@pytest.mark.parametrize(
    "name", ["IMG_1234.jpg", "20261340.jpg", "99999999_999999.jpg", "1234567890123.jpg", "", "a2026b.jpg"]
)
def test_other_digits_in_file_names_are_no_dates(name: str) -> None:
    moment = read_moment(NONE, name)
    assert moment.taken_at is None
    assert moment.note


def test_the_files_own_time_is_doubtful() -> None:
    moment = read_moment(NONE, "IMG_1.jpg", 1_780_000_000.7, "Europe/London")
    assert (moment.taken_at, moment.source, moment.doubtful) == ("2026-05-28T21:26:40+01:00", "file time", True)


@pytest.mark.parametrize("file_time_s", [1e300, -1e18, 0.0, 9e9])
def test_an_absurd_file_time_is_passed_over(file_time_s: float) -> None:
    assert read_moment(NONE, None, file_time_s).taken_at is None


def test_an_unknown_zone_is_named() -> None:
    with pytest.raises(ValueError, match="Mars"):
        read_moment(NONE, zone="Mars/Base")


@settings(deadline=None)
@given(st.binary(max_size=300))
def test_any_exif_block_is_survived(block: bytes) -> None:
    for damaged in (block, b"II*\x00\x08\x00\x00\x00" + block, b"MM\x00*\x00\x00\x00\x08" + block):
        tags = read_exif(damaged)
        read_moment(tags)
        camera_facts(tags)


def test_a_damaged_exif_block_is_survived(tmp_path: Path) -> None:
    path = save_turned(tmp_path / "photo.jpg", 6)
    exiftool("-q", "-overwrite_original", "-DateTimeOriginal=2026:06:12 10:14:03", "-FocalLengthIn35mmFormat=26", path)
    block = open_photo(path).exif
    random = np.random.default_rng(5)
    for _ in range(300):
        damaged = bytearray(block)
        for at in random.integers(0, len(block), 6):
            damaged[at] = int(random.integers(0, 256))
        tags = read_exif(bytes(damaged))
        read_moment(tags, zone="Europe/London")
        camera_facts(tags)


def test_a_block_that_points_to_itself_thousands_of_times_is_read_at_once() -> None:
    entries = b"".join(struct.pack("<HHII", 0x8825, 4, 1, 8) for _ in range(5000))
    began = time.process_time()
    tags = read_exif(b"II*\0" + struct.pack("<IH", 8, 5000) + entries + struct.pack("<I", 8))
    assert time.process_time() - began < 2
    assert tags.text("DateTimeOriginal") == ""


def test_a_time_divided_by_nothing_is_no_time() -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8825).update({7: (10.0, 14.0, 3.0), 29: "2026:06:12"})
    block = exif.tobytes().removeprefix(b"Exif\0\0")
    assert read_moment(read_exif(block)).source == "gps"
    tags = read_exif(block.replace(struct.pack("<I", 1) * 1 + struct.pack("<I", 14), bytes(4) + struct.pack("<I", 14)))
    assert read_moment(tags).taken_at is None
