"""Photos taken out: the same picture, what it shows written so that exiftool reads it, nothing that tells on people."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import SetUp
from made_photos import jpeg, picture
from measurement.made_files import exiftool, save_turned
from PIL import Image, ImageCms

from journal_server.errors import InputRefused, NotFound
from journal_server.services.journal import Journal
from journal_server.services.leaving.jpeg_metadata import NotSegments, segments, with_only
from journal_server.services.leaving.photos import (
    INDEX,
    UNTOUCHED,
    PhotoChoice,
    choose_photos,
    exported_photos,
)
from journal_server.services.leaving.zip_stream import zipped
from journal_server.services.take_in_photo import take_in_photo

TELLS_ON_PEOPLE = (
    "-GPSLatitude=48.1", "-GPSLatitudeRef=N", "-GPSLongitude=11.5", "-GPSLongitudeRef=E", "-Artist=Ada Owner",
    "-Copyright=Ada Owner", "-ExifIFD:OwnerName=Ada Owner", "-ExifIFD:SerialNumber=SN-4711",
    "-ExifIFD:LensSerialNumber=LS-4712", "-XMP-dc:Creator=Ada Owner", "-IPTC:By-line=Ada Owner",
    "-IPTC:City=Secret Town", "-Comment=at Ada's", "-XMP-exif:GPSLatitude=48.1", "-Make=Invented", "-Model=Slab A",
    "-ExifIFD:LensModel=Invented 24 mm",
)  # fmt: skip
HOSTILE = '</rdf:li><x:evil onload="1">&\'"‘شتلة 🌼'


def tagged(tmp_path: Path, content: bytes, *tags: str) -> bytes:
    file = tmp_path / "tagged.jpg"
    file.write_bytes(content)
    exiftool("-q", "-overwrite_original", *tags, file)
    return file.read_bytes()


def taken_out(journal: Journal, choice: PhotoChoice | None = None) -> dict[str, bytes]:
    choice = choice or PhotoChoice()
    return dict(exported_photos(choose_photos(journal, choice), choice))


def the_photo(members: dict[str, bytes]) -> tuple[str, bytes]:
    ((name, content),) = [(name, content) for name, content in members.items() if name != INDEX]
    return name, content


def told(tmp_path: Path, content: bytes, *arguments: str) -> dict[str, Any]:
    file = tmp_path / "out.jpg"
    file.write_bytes(content)
    (found,) = json.loads(exiftool("-json", "-G1", "-struct", "-charset", "utf8", *arguments, file))
    return found  # type: ignore[no-any-return]


@pytest.fixture
def matched(journal: Journal, set_up: SetUp, tmp_path: Path) -> bytes:
    """A photo of the one planting, with all that tells on people in it; its bytes."""
    set_up.edit("trial", set_up.trial_id, site="Secret Town")
    planter = set_up.make(
        "planter", trial_id=set_up.trial_id, name="Trough 1", planter_kind="trough", exposure="full sun"
    )
    cultivar = set_up.make("cultivar", genus="Petunia", name="Grüne Laterne")
    set_up.planting("TAG-7K3Q9M", planter_id=planter, cultivar_id=cultivar)
    content = tagged(tmp_path, jpeg("2026:06:12 10:14:03", codes=("TAG-7K3Q9M",)), *TELLS_ON_PEOPLE)
    take_in_photo(journal, content, "IMG_0001.jpg")
    return content


def test_exiftool_reads_what_the_photo_shows(journal: Journal, matched: bytes, tmp_path: Path) -> None:
    name, content = the_photo(taken_out(journal))
    short = hashlib.sha256(matched).hexdigest()[:12]
    folder, file = name.split("/")
    assert file == f"2026-06-12_trough-1_petunia-grune-laterne_{short}.jpg"
    assert folder.startswith("trough-1_petunia-grune-laterne_")
    said = told(tmp_path, content)
    assert said["XMP-dc:Title"] == "Petunia ‘Grüne Laterne’ in Trough 1, 12 June 2026"
    assert said["XMP-dc:Description"] == (
        "Petunia ‘Grüne Laterne’ in Trough 1, 12 June 2026, week 4 after planting. "
        "Planted on 16 May 2026 (trough, full sun)."
    )
    assert said["XMP-dc:Date"] == ["2026:06:12 10:14:03+02:00"]
    assert said["XMP-photoshop:DateCreated"] == "2026:06:12 10:14:03+02:00"
    assert {"planting trial", "Terrace", "2026", "Petunia", "Grüne Laterne", "Trough 1", "week 4"} <= {
        str(word) for word in said["XMP-dc:Subject"]
    }
    assert said["XMP-iptcCore:AltTextAccessibility"].startswith("Photo of Petunia ‘Grüne Laterne’ in Trough 1")
    assert said["XMP-iptcExt:Event"] == "Terrace"
    assert (said["ExifIFD:DateTimeOriginal"], said["ExifIFD:OffsetTimeOriginal"]) == ("2026:06:12 10:14:03", "+02:00")
    assert (said["IFD0:Model"], said["ExifIFD:LensModel"]) == ("Slab A", "Invented 24 mm")


def test_the_picture_is_the_originals_own_to_the_bit(journal: Journal, matched: bytes) -> None:
    members = taken_out(journal)
    _, content = the_photo(members)

    def coded(file: bytes) -> list[bytes]:
        return [segment for marker, segment in segments(file) if not 0xE1 <= marker <= 0xEF and marker != 0xFE]

    assert coded(content) == coded(matched)
    assert np.array_equal(*(np.asarray(Image.open(io.BytesIO(file))) for file in (content, matched)))
    assert UNTOUCHED in members[INDEX].decode()


def test_place_serial_numbers_and_owner_stay_unless_asked(journal: Journal, matched: bytes, tmp_path: Path) -> None:
    secret = ("Ada", "4711", "4712", "Secret", "GPS", "Serial", "Artist", "Copyright", "Creator", "By-line", "Comment")
    _, content = the_photo(taken_out(journal))
    everything = json.dumps(told(tmp_path, content, "-a", "-u", "-ee"))
    assert [word for word in secret if word in everything] == []
    assert b"Ada" not in content
    with_place = told(tmp_path, the_photo(taken_out(journal, PhotoChoice(with_place=True)))[1], "-n")
    assert (with_place["GPS:GPSLatitude"], with_place["GPS:GPSLongitude"]) == (48.1, 11.5)
    assert with_place["XMP-iptcCore:Location"] == "Secret Town"
    assert with_place["XMP-iptcExt:LocationCreated"] == [{"Sublocation": "Secret Town"}]
    assert "Ada" not in json.dumps(with_place)
    with_owner = told(tmp_path, the_photo(taken_out(journal, PhotoChoice(with_owner=True)))[1])
    assert (with_owner["IFD0:Artist"], with_owner["ExifIFD:SerialNumber"]) == ("Ada Owner", "SN-4711")
    assert "Secret" not in json.dumps(with_owner)


@pytest.mark.parametrize("name", [HOSTILE, "]]>" + "&lt;" * 10, "𝔊" * 60, "=cmd|' /C calc'!A0", "א" * 80])
def test_any_name_is_read_back_as_typed_and_makes_a_safe_file_name(
    journal: Journal, set_up: SetUp, tmp_path: Path, name: str
) -> None:
    planter = set_up.make("planter", trial_id=set_up.trial_id, name=name, planter_kind="pot")
    cultivar = set_up.make("cultivar", genus="Petunia", name=name)
    set_up.planting("TAG-7K3Q9M", planter_id=planter, cultivar_id=cultivar)
    take_in_photo(journal, jpeg("2026:06:12 10:14:03", codes=("TAG-7K3Q9M",)), "../../etc/passwd")
    members = taken_out(journal)
    file_name, content = the_photo(members)
    assert file_name.isascii()
    assert set(file_name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-_/.")
    assert ".." not in file_name
    said = told(tmp_path, content)
    assert name in said["XMP-dc:Subject"]
    assert said["XMP-dc:Title"] == f"Petunia ‘{name}’ in {name}, 12 June 2026"
    assert "\r\n=" not in members[INDEX].decode(), "no cell begins a formula"
    assert ",=" not in members[INDEX].decode()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_turned_photo_is_still_shown_upright(journal: Journal, tmp_path: Path, orientation: int) -> None:
    turned = save_turned(tmp_path / "turned.jpg", orientation)
    take_in_photo(journal, turned.read_bytes(), "turned.jpg")
    _, content = the_photo(taken_out(journal))
    said = told(tmp_path, content, "-n")
    assert said["IFD0:Orientation"] == orientation
    assert (said["ExifIFD:ExifImageWidth"], said["ExifIFD:ExifImageHeight"]) == (
        said["File:ImageWidth"],
        said["File:ImageHeight"],
    )


@pytest.mark.parametrize(("suffix", "kind"), [("png", "PNG"), ("webp", "WebP"), ("tif", "TIFF"), ("heic", "HEIC")])
def test_other_kinds_are_converted_upright_and_said_to_be(
    journal: Journal, tmp_path: Path, suffix: str, kind: str
) -> None:
    take_in_photo(journal, save_turned(tmp_path / f"turned.{suffix}", 6).read_bytes(), f"turned.{suffix}")
    members = taken_out(journal)
    _, content = the_photo(members)
    assert f"converted from {kind} to JPEG, quality 95" in members[INDEX].decode()
    said = told(tmp_path, content, "-n")
    assert (said["File:ImageWidth"], said["File:ImageHeight"], said["IFD0:Orientation"]) == (96, 64, 1)
    assert "XMP-dc:Title" in said


def test_what_follows_the_picture_stays_behind() -> None:
    """Phones hang previews, gain maps and films behind the picture, with metadata of their own."""
    plain = jpeg("2026:06:12 10:14:03")
    first = with_only(plain, b"E", b"X")
    assert with_only(plain + jpeg("2026:06:12 10:14:03", seed=1) + b"ftypmp42", b"E", b"X") == first


def test_progressive_and_restarted_scans_are_walked_to_their_end() -> None:
    out = io.BytesIO()
    picture(3).save(out, "JPEG", progressive=True, quality=90, restart_marker_rows=2)
    made = with_only(out.getvalue() + b"trailer", b"E", b"X")
    assert made.endswith(b"\xff\xd9")
    assert np.array_equal(*(np.asarray(Image.open(io.BytesIO(file))) for file in (made, out.getvalue())))


def test_colour_profile_and_resolution_stay() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    out = io.BytesIO()
    picture(3).save(out, "JPEG", icc_profile=profile, dpi=(300, 300))
    read = Image.open(io.BytesIO(with_only(out.getvalue(), b"", b"")))
    assert (read.info["icc_profile"], read.info["dpi"]) == (profile, (300, 300))


@pytest.mark.parametrize("cut", [0, 1, 3, 30, 400, -2])
def test_a_damaged_jpeg_is_told_not_to_be_one(cut: int) -> None:
    with pytest.raises(NotSegments):
        with_only(jpeg()[:cut], b"", b"")


def test_a_block_too_long_for_its_segment_is_refused() -> None:
    with pytest.raises(NotSegments):
        with_only(jpeg(), b"", b"x" * 70_000)


def test_photos_are_chosen_by_trial_planting_and_day(journal: Journal, set_up: SetUp) -> None:
    first, second = set_up.planting("TAG-7K3Q9M"), set_up.planting("TAG-0V4CAR")
    for seed, (day, codes) in enumerate([("12", ("TAG-7K3Q9M",)), ("13", ("TAG-0V4CAR",)), ("14", ())]):
        take_in_photo(journal, jpeg(f"2026:06:{day} 10:00:00", seed=seed, codes=codes), f"{day}.jpg")
    aside = take_in_photo(journal, jpeg("2026:06:15 10:00:00", seed=9, codes=("TAG-7K3Q9M",)), "aside.jpg")
    set_up.edit("photo", aside.photo.id, set_aside=True)

    def days(**chosen: Any) -> list[str]:
        return [photo.record.fields["file_name"] for photo in choose_photos(journal, PhotoChoice(**chosen))]

    assert days() == ["12.jpg", "13.jpg", "14.jpg"], "what is set aside stays"
    assert days(trial_id=set_up.trial_id) == ["12.jpg", "13.jpg"]
    assert days(planting_ids=(second,)) == ["13.jpg"]
    assert days(first_day=date(2026, 6, 13)) == ["13.jpg", "14.jpg"]
    assert days(planting_ids=(first,), last_day=date(2026, 6, 12)) == ["12.jpg"]
    with pytest.raises(InputRefused):
        days(first_day=date(2027, 1, 1))
    with pytest.raises(NotFound):
        days(trial_id="nowhere")
    with pytest.raises(NotFound):
        days(planting_ids=("nobody",))


def test_an_original_that_is_gone_is_named_and_the_others_come(journal: Journal, set_up: SetUp) -> None:
    set_up.planting("TAG-7K3Q9M")
    gone = take_in_photo(journal, jpeg("2026:06:12 10:00:00", codes=("TAG-7K3Q9M",)), "gone.jpg").photo
    take_in_photo(journal, jpeg("2026:06:13 10:00:00", seed=1, codes=("TAG-7K3Q9M",)), "here.jpg")
    path = journal.files.original(gone.fields["sha256"], ".jpg")
    path.chmod(0o644)
    path.unlink()
    refused: list[str] = []
    members = dict(exported_photos(choose_photos(journal, PhotoChoice()), PhotoChoice(), refused=refused))
    assert len(members) == 2
    assert refused == ["gone.jpg: There is no such file."]
    assert "There is no such file." in members[INDEX].decode()


def test_the_archive_is_made_piece_by_piece_and_is_whole(journal: Journal, matched: bytes) -> None:
    choice = PhotoChoice()
    pieces = list(zipped(exported_photos(choose_photos(journal, choice), choice)))
    assert len(pieces) == 3, "the photo, the table, the list of contents"
    with zipfile.ZipFile(io.BytesIO(b"".join(pieces))) as archive:
        assert archive.testzip() is None
        assert {name: archive.read(name) for name in archive.namelist()} == taken_out(journal)
