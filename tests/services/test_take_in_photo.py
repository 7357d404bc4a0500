import hashlib
import io
import threading
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import SetUp
from made_photos import jpeg
from made_photos import picture as made_picture
from PIL import Image

from journal_server.errors import PhotoRefused
from journal_server.services.journal import Journal
from journal_server.services.take_in_photo import TakenIn, picture, take_in_file, take_in_photo
from journal_server.storage.records import load_photo_file, load_record, load_records

A, B = "TAG-7K3Q9M", "TAG-0V4CAR"


def fields(journal: Journal, taken: TakenIn) -> dict[str, Any]:
    with journal.database.reading() as session:
        record = load_record(session, taken.photo.id)
    assert record is not None
    return record.fields


def test_card_and_date_match_a_photo(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting(A)
    taken = take_in_photo(journal, jpeg("2026:06:12 10:14:03", codes=(A,)), "IMG_1.jpg")
    found = fields(journal, taken)
    assert taken.outcome == "taken in"
    assert (found["match"], found["planting_id"], found["tag"]) == ("matched", planting, A)
    assert (found["taken_at"], found["taken_at_source"]) == ("2026-06-12T10:14:03+02:00", "exif")
    assert found["measuring"] == "waiting"


def test_the_original_is_kept_to_the_byte(journal: Journal) -> None:
    content = jpeg("2026:06:12 10:14:03")
    taken = take_in_photo(journal, content, "IMG_1.jpg")
    with journal.database.reading() as session:
        file = load_photo_file(session, taken.photo.id)
    assert file is not None
    assert file.sha256 == hashlib.sha256(content).hexdigest()
    assert journal.files.original(file.sha256, file.suffix).read_bytes() == content


def test_the_same_photo_twice_is_taken_once_also_renamed(journal: Journal) -> None:
    content = jpeg("2026:06:12 10:14:03")
    first = take_in_photo(journal, content, "a.jpg")
    again = take_in_photo(journal, content, "renamed.jpg")
    assert again.outcome == "already here"
    assert again.photo.id == first.photo.id
    assert "a.jpg" in again.says


def test_the_same_photo_at_the_same_time_is_taken_once(journal: Journal) -> None:
    content = jpeg("2026:06:12 10:14:03")
    outcomes: list[str] = []
    threads = [
        threading.Thread(target=lambda: outcomes.append(take_in_photo(journal, content, "a.jpg").outcome))
        for _ in range(6)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["already here"] * 5 + ["taken in"]
    with journal.database.reading() as session:
        assert len(load_records(session, "photo")) == 1


def test_without_an_offset_the_journals_zone_is_assumed_and_said(journal: Journal) -> None:
    found = fields(journal, take_in_photo(journal, jpeg("2026:06:12 10:14:03", offset=None), "a.jpg"))
    assert found["taken_at"] == "2026-06-12T10:14:03+02:00"
    assert "Europe/Paris" in found["moment_note"]
    assert not found["taken_at_doubtful"]


def test_file_time_is_the_last_resort_and_doubtful(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting(A)
    when = datetime(2026, 6, 12, 8, 0, tzinfo=UTC)
    found = fields(journal, take_in_photo(journal, jpeg(codes=(A,)), "a.jpg", file_time=when))
    assert (found["taken_at_source"], found["taken_at_doubtful"]) == ("file time", True)
    assert (found["match"], found["planting_id"], found["suggested_planting_id"]) == ("suggested", None, planting)


def test_two_cards_are_asked_about(journal: Journal, set_up: SetUp) -> None:
    set_up.planting(A)
    set_up.planting(B)
    found = fields(journal, take_in_photo(journal, jpeg("2026:06:12 10:14:03", codes=(A, B)), "a.jpg"))
    assert (found["match"], found["planting_id"]) == ("question", None)
    assert set(found["tags"]) == {A, B}


def test_a_photo_seconds_later_without_card_is_suggested_also_when_it_comes_first(
    journal: Journal, set_up: SetUp
) -> None:
    planting = set_up.planting(A)
    later = take_in_photo(journal, jpeg("2026:06:12 10:14:20", seed=1), "b.jpg")
    assert fields(journal, later)["match"] == "question"
    take_in_photo(journal, jpeg("2026:06:12 10:14:03", codes=(A,)), "a.jpg")
    found = fields(journal, later)
    assert (found["match"], found["suggested_planting_id"], found["planting_id"]) == ("suggested", planting, None)


def test_setting_up_the_planting_afterwards_matches_the_photo(journal: Journal, set_up: SetUp) -> None:
    taken = take_in_photo(journal, jpeg("2026:06:12 10:14:03", codes=(A,)), "a.jpg")
    assert "No planting in this journal" in fields(journal, taken)["match_reason"]
    planting = set_up.planting(A)
    assert fields(journal, taken)["planting_id"] == planting


def test_what_a_person_settled_stays(journal: Journal, set_up: SetUp) -> None:
    set_up.planting(A)
    other = set_up.planting(B)
    taken = take_in_photo(journal, jpeg("2026:06:12 10:14:03", codes=(A,)), "a.jpg")
    set_up.edit("photo", taken.photo.id, planting_id=other)
    set_up.edit("planting", other, note="rules run again")
    assert (fields(journal, taken)["match"], fields(journal, taken)["planting_id"]) == ("set by hand", other)
    set_up.edit("photo", taken.photo.id, planting_id=None)
    assert fields(journal, taken)["match"] == "matched", "let go of by hand, the card decides again"


NOT_PHOTOS = {
    "empty.jpg": b"",
    "text.jpg": b"Dear diary, today the petunias",
    "page.jpg": b"<!doctype html><html><body>hello</body></html>",
    "drawing.jpg": b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>',
    "film.mp4": b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom" + b"\x00" * 100,
    "cut.jpg": jpeg("2026:06:12 10:14:03")[:3000],
}


@pytest.mark.parametrize("name", NOT_PHOTOS)
def test_what_is_no_photo_is_refused_and_nothing_is_kept(journal: Journal, name: str) -> None:
    with pytest.raises(PhotoRefused) as refusal:
        take_in_photo(journal, NOT_PHOTOS[name], name)
    assert str(refusal.value).endswith(".")
    with journal.database.reading() as session:
        assert load_records(session, "photo") == []
    assert list(journal.files.all_originals()) == []


def test_a_missing_file_is_refused(journal: Journal, tmp_path: Path) -> None:
    with pytest.raises(PhotoRefused):
        take_in_file(journal, tmp_path / "nowhere.jpg")


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF", "HEIF"])
def test_other_photo_formats_are_taken_in(journal: Journal, kind: str) -> None:
    out = io.BytesIO()
    made_picture(3).save(out, kind)
    taken = take_in_photo(journal, out.getvalue(), f"2026-06-12 10.14.03.{kind.lower()}")
    found = fields(journal, taken)
    assert (found["format"], found["width"], found["height"]) == (kind, 640, 480)
    assert (found["taken_at"], found["taken_at_source"]) == ("2026-06-12T10:14:03+02:00", "file name")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_every_kind_of_pixel_is_taken_in_and_shown(journal: Journal, kind: str) -> None:
    modes = {
        "JPEG": ("L", "CMYK"),
        "PNG": ("1", "L", "LA", "P", "RGBA", "I;16"),
        "WEBP": ("RGBA",),
        "TIFF": ("1", "L", "P", "RGBA", "CMYK", "LAB", "I;16", "I", "F"),
    }
    large = made_picture(3)
    for mode in modes[kind]:
        out = io.BytesIO()
        as_kind(large, mode).save(out, kind)
        found = fields(journal, take_in_photo(journal, out.getvalue(), "a.photo"))
        for size, width in (("thumb", 320), ("screen", 640)):
            shown = Image.open(io.BytesIO(picture(journal, found["sha256"], f".{SUFFIX[kind]}", size)))
            assert (shown.format, shown.width) == ("JPEG", width), mode


SUFFIX = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp", "TIFF": "tif"}


def as_kind(image: Image.Image, mode: str) -> Image.Image:
    """The picture with other pixels; those of 16 bits, 32 and of floating point hold all that they can."""
    grey = np.asarray(image.convert("L"))
    if mode == "I;16":
        return Image.fromarray(grey.astype(np.uint16) * 257)
    if mode == "I":
        return Image.fromarray(grey.astype(np.int32) * 257)
    if mode == "F":
        return Image.fromarray(grey.astype(np.float32) / 255)
    return Image.frombytes("LAB", image.size, image.tobytes()) if mode == "LAB" else image.convert(mode)


def test_pictures_are_upright_without_metadata(journal: Journal) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (48.0, 51.0, 30.0)
    exif.get_ifd(0x8825)[3] = "E"
    exif.get_ifd(0x8825)[4] = (2.0, 17.0, 40.0)
    out = io.BytesIO()
    made_picture(4, size=(640, 400)).save(out, "JPEG", exif=exif)
    taken = take_in_photo(journal, out.getvalue(), "IMG_2.jpg")
    found = fields(journal, taken)
    assert (found["width"], found["height"], found["has_location"]) == (400, 640, True)
    shown = Image.open(io.BytesIO(picture(journal, found["sha256"], ".jpg", "thumb")))
    assert shown.size == (200, 320)
    assert not shown.getexif()


def test_hostile_file_names_are_kept_as_plain_words(journal: Journal) -> None:
    taken = take_in_photo(journal, jpeg(seed=5), "..\\..\\evil/\x00na\u202eme.jpg")
    assert fields(journal, taken)["file_name"] == "name.jpg"
    taken = take_in_photo(journal, jpeg(seed=6), "x" * 5000)
    assert len(fields(journal, taken)["file_name"]) == 200
