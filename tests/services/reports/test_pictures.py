"""Pictures in reports: chosen by a person before the journal, without anything of the file but its pixels."""

from __future__ import annotations

import io
import json
import random
from pathlib import Path

import pytest
from conftest import SetUp
from made_photos import picture
from made_reports import SEASON, asked, measured, photographed, say_verdict, texts_of
from measurement.made_files import exiftool
from PIL import Image

from journal_server.services.journal import Journal
from journal_server.services.reports.document import Document, Photo
from journal_server.services.reports.make_report import KINDS, build, make_report, markdown_files

DAYS = {day: SEASON[day] for day in ("2026-05-30", "2026-07-11", "2026-08-08")}


@pytest.fixture
def cultivar(set_up: SetUp) -> str:
    return set_up.make("cultivar", genus="Petunia", name="Made Up")


def captions(document: Document) -> list[str]:
    return [photo.caption for photo in document.photos()]


def told(journal: Journal, set_up: SetUp, cultivar: str, **more: object) -> Document:
    return build(journal, asked(set_up, "cultivar", cultivar_id=cultivar, **more))


def telling_photo(tmp_path: Path) -> bytes:
    """A photo that says where, with what, by whom and of whom it was taken, in every kind of metadata there is."""
    path = tmp_path / "telling.jpg"
    picture(7).save(path, "JPEG", quality=90, comment=b"garden of a neighbour")
    exiftool(
        "-overwrite_original", "-GPSLatitude=48.1", "-GPSLatitudeRef=N", "-GPSLongitude=11.5", "-GPSLongitudeRef=E",
        "-SerialNumber=SN-123456", "-LensSerialNumber=LS-7", "-OwnerName=A Person", "-Artist=A Person",
        "-Copyright=A Person", "-Make=Maker", "-DateTimeOriginal=2026:07:11 10:00:00", "-XMP:Creator=A Person",
        "-XMP:Location=Home", "-IPTC:City=Town", "-UserComment=hidden", path,
    )  # fmt: skip
    return path.read_bytes()


def test_pictures_carry_no_metadata_at_all(journal: Journal, set_up: SetUp, cultivar: str, tmp_path: Path) -> None:
    planting = set_up.planting(cultivar_id=cultivar)
    photographed(journal, planting, {"2026-07-11": (0.8, 0.6)}, content={"2026-07-11": telling_photo(tmp_path)})
    for crop in (False, True):
        wanted = asked(set_up, "cultivar", cultivar_id=cultivar, crop=crop, format="markdown")
        ((path, jpeg),) = ((p, c) for p, c in markdown_files(journal, wanted).items() if p.endswith(".jpg"))
        (tmp_path / "shown.jpg").write_bytes(jpeg)
        (tags,) = json.loads(exiftool("-json", "-G", "-a", tmp_path / "shown.jpg"))
        groups = {name.partition(":")[0] for name in tags} - {"SourceFile"}
        assert groups <= {"File", "JFIF", "Composite", "ExifTool"}, path
        assert "Comment" not in " ".join(tags)
    for form in ("html", "pdf"):
        made = make_report(journal, asked(set_up, "cultivar", cultivar_id=cultivar, format=form)).content
        for secret in (b"SN-123456", b"LS-7", b"A Person", b"garden of a neighbour", b"GPS"):
            assert secret not in made


def test_without_a_choice_the_first_the_peak_and_the_latest_are_shown_and_said(
    journal: Journal, set_up: SetUp, cultivar: str
) -> None:
    photographed(journal, set_up.planting(cultivar_id=cultivar), DAYS)
    document = told(journal, set_up, cultivar)
    assert captions(document) == [
        "First photo: 30 May 2026, 2 weeks after planting, Trough 1",
        "At its peak: 11 July 2026, 8 weeks after planting, Trough 1",
        "Latest: 8 August 2026, 12 weeks after planting, Trough 1",
    ]
    alts = [photo.alt for photo in document.photos()]
    assert alts[1].startswith("Petunia ‘Made Up’ in Trough 1, 11 July 2026, 8 weeks after planting: canopy fill 80 %")
    text = texts_of(journal, set_up, "cultivar", cultivar_id=cultivar)["html"]
    assert "Pictures chosen by the journal: first photo, at its peak and latest." in text


def test_what_the_verdict_chose_goes_first(journal: Journal, set_up: SetUp, cultivar: str) -> None:
    first, peak, last = photographed(journal, set_up.planting(cultivar_id=cultivar), DAYS)
    say_verdict(journal, set_up.trial_id, cultivar, pictures={"best": last, "before": first})
    roles = [one.partition(":")[0] for one in captions(told(journal, set_up, cultivar))]
    assert roles == ["The best of it", "Before", "At its peak"], "each photo once, the peak as nobody chose another"
    text = texts_of(journal, set_up, "cultivar", cultivar_id=cultivar)["html"]
    assert "Pictures chosen in the verdict, the others by the journal." in text
    trial = build(journal, asked(set_up, "trial"))
    assert captions(trial) == ["Petunia ‘Made Up’: 8 August 2026, 12 weeks after planting, Trough 1"]
    say_verdict(journal, set_up.trial_id, cultivar, pictures={"peak": last})
    roles = [one.partition(":")[0] for one in captions(told(journal, set_up, cultivar))]
    assert roles == ["At its peak", "First photo"], "what was chosen stands for what would have been"
    say_verdict(journal, set_up.trial_id, cultivar, pictures={"peak": peak})
    assert captions(build(journal, asked(set_up, "trial")))[0].startswith("Petunia ‘Made Up’: 11 July 2026")


def test_a_chosen_picture_that_is_gone_is_said(journal: Journal, set_up: SetUp, cultivar: str) -> None:
    first, *_ = photographed(journal, set_up.planting(cultivar_id=cultivar), DAYS)
    (elsewhere,) = measured(journal, set_up.planting(), {"2026-06-01": (0.3, 0.1)})
    say_verdict(journal, set_up.trial_id, cultivar, pictures={"best": elsewhere, "before": first})
    text = texts_of(journal, set_up, "cultivar", cultivar_id=cultivar)["html"]
    assert "1 picture chosen there is no longer among its photos." in text


def test_a_photo_whose_file_is_missing_is_named(journal: Journal, set_up: SetUp, cultivar: str) -> None:
    photographed(journal, set_up.planting(cultivar_id=cultivar), {"2026-07-11": (0.8, 0.6)})
    for original in journal.files.all_originals():
        original.unlink()
    text = texts_of(journal, set_up, "cultivar", cultivar_id=cultivar)["pdf"]
    assert "The photo 2026-07-11.jpg cannot be shown: its original is missing from the journal's folder" in text


def test_a_crop_shows_the_frame_as_large_as_the_whole(journal: Journal, set_up: SetUp, cultivar: str) -> None:
    """The frame of made-up numbers spans (0, 0) to (100, 100), so its surroundings up to 106 pixels are shown."""
    photographed(journal, set_up.planting(cultivar_id=cultivar), {"2026-07-11": (0.8, 0.6)})
    (whole,), (cut,) = (tuple(told(journal, set_up, cultivar, crop=crop).photos()) for crop in (False, True))
    assert (whole.width, whole.height) == (640, 480)
    assert (cut.width, cut.height) == (106, 106)
    seen, expected = (opened(one) for one in (cut, whole))
    difference = [
        abs(a - b)
        for x, y in ((random.Random(i).randrange(106), random.Random(-i).randrange(106)) for i in range(200))
        for a, b in zip(seen.getpixel((x, y)), expected.getpixel((x, y)), strict=True)  # type: ignore[arg-type]
    ]
    assert sum(difference) / len(difference) < 6


def opened(photo: Photo) -> Image.Image:
    return Image.open(io.BytesIO(photo.jpeg)).convert("RGB")


def test_photos_can_be_left_out(journal: Journal, set_up: SetUp, cultivar: str) -> None:
    photographed(journal, set_up.planting(cultivar_id=cultivar), {"2026-07-11": (0.8, 0.6)})
    assert list(told(journal, set_up, cultivar, photos=False).photos()) == []


def test_the_site_is_named_only_when_asked(journal: Journal, set_up: SetUp, cultivar: str) -> None:
    set_up.planting(cultivar_id=cultivar)
    set_up.edit("trial", set_up.trial_id, site="Behind the mill")
    other = set_up.make("trial", title="Other", year=2025, site="Upper field")
    asked_with = {"cultivar": {"cultivar_id": cultivar}, "two-trials": {"other_trial_id": other}}
    for kind in KINDS:
        for place in (False, True):
            texts = texts_of(journal, set_up, kind, with_place=place, **asked_with.get(kind, {}))
            assert all(("Behind the mill" in text) is place for text in texts.values()), kind
