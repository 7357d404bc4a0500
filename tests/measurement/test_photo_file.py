"""What is taken in, what is refused with which sentence, and that pixels come out upright and in sRGB."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pytest
from measurement.made_files import FORMATS, QUARTERS, exiftool, quarter_names, quarters, save_turned
from PIL import Image

from journal_server.errors import PhotoRefused
from journal_server.measurement.jpeg_scans import count_scans
from journal_server.measurement.photo_file import luminance, open_photo, render


@pytest.mark.parametrize("suffix", FORMATS)
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_format_and_orientation_is_shown_upright(tmp_path: Path, suffix: str, orientation: int) -> None:
    path = save_turned(tmp_path / f"turned.{suffix}", orientation)
    photo = open_photo(path)
    assert (photo.width, photo.height) == (96, 64)
    for picture in (render(photo), render(photo, 48)):
        assert quarter_names(np.asarray(picture)) == list(QUARTERS)
    assert render(photo, 48).size == (48, 32)
    assert luminance(photo).shape == (64, 96)


@pytest.mark.parametrize("suffix", ["jpg", "png", "webp", "tif"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_and_size_agree_with_exiftool(tmp_path: Path, suffix: str, orientation: int) -> None:
    path = save_turned(tmp_path / f"turned.{suffix}", 1)
    exiftool("-q", "-overwrite_original", "-n", f"-Orientation={orientation}", path)
    said = json.loads(exiftool("-json", "-n", "-Orientation", "-ImageWidth", "-ImageHeight", path))[0]
    photo = open_photo(path)
    stored = (said["ImageWidth"], said["ImageHeight"])
    assert (photo.width, photo.height) == (stored if orientation < 5 else stored[::-1])
    if suffix != "tif":  # Pillow turns TIFF itself
        assert photo.orientation == said["Orientation"] == orientation


def test_a_path_an_open_file_and_a_picture_show_the_same(tmp_path: Path) -> None:
    path = save_turned(tmp_path / "turned.jpg", 6)
    by_path = np.asarray(render(open_photo(path)))
    with path.open("rb") as file:
        by_file = open_photo(file)
    with Image.open(path) as image:
        by_picture = np.asarray(render(open_photo(image)))
    assert by_file.sha256 == open_photo(path).sha256
    assert (by_path == np.asarray(render(by_file))).all()
    assert (by_path == by_picture).all()


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "I;16", "CMYK", "F"])
def test_every_kind_of_pixel_becomes_8_bit_srgb(mode: str) -> None:
    grey = Image.fromarray(np.tile(np.linspace(0, 255, 64).astype(np.uint8), (64, 1)))
    if mode == "I;16":
        image = Image.fromarray(np.asarray(grey).astype(np.uint16) * 257)
    else:
        image = grey.convert("RGB")
        image = image.quantize(256) if mode == "P" else grey.convert(mode) if mode != "CMYK" else image.convert(mode)
    shown = np.asarray(render(open_photo(image)))
    assert shown.shape == (64, 64, 3)
    tolerance = 255 if mode == "1" else 8
    assert np.abs(shown[..., 1].astype(int) - np.asarray(grey)).max() <= tolerance
    assert shown[:, -1].min() > 240
    assert shown[:, 0].max() < 15
    small = np.asarray(render(open_photo(image), 16))
    assert small.shape == (16, 16, 3)
    assert small[:, -1].min() > 230
    assert small[:, 0].max() < 25


def test_see_through_parts_become_mid_grey() -> None:
    clear = Image.new("RGBA", (8, 8), (255, 0, 0, 0))
    assert np.asarray(render(open_photo(clear)))[4, 4].tolist() == [119, 119, 119]


def jpeg_bytes() -> bytes:
    buffer = io.BytesIO()
    noise = np.random.default_rng(3).integers(0, 255, (200, 300, 3)).astype(np.uint8)
    Image.fromarray(noise).save(buffer, "JPEG")
    return buffer.getvalue()


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "empty"),
        (b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00isommp42" + bytes(64), "video"),
        (b"\x1aE\xdf\xa3" + bytes(64), "video"),
        (b"RIFF\x00\x00\x00\x00AVI LIST" + bytes(64), "video"),
        (b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>', "SVG"),
        (b"<!DOCTYPE html><title>no</title>", "web page"),
        (b"%PDF-1.7" + bytes(64), "PDF"),
        (b"GIF89a" + bytes(64), "GIF"),
        (b"just words\n", "text"),
        (bytes(5000), "not a photo"),
        (jpeg_bytes()[:8000], "cut short"),
        (jpeg_bytes()[:200], "cut short|not a photo"),
        (b"\xff\xd8\xff" + bytes(60_000_000), "60 MB"),
    ],
)
def test_what_is_no_photo_is_refused_by_name(content: bytes, sentence: str) -> None:
    with pytest.raises(PhotoRefused, match=sentence):
        render(open_photo(io.BytesIO(content)))


@pytest.mark.parametrize("suffix", FORMATS)
def test_a_file_cut_short_is_refused_in_every_format(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"whole.{suffix}"
    noise = np.random.default_rng(3).integers(0, 255, (200, 300, 3)).astype(np.uint8)
    Image.fromarray(noise).save(path, FORMATS[suffix])
    whole = path.read_bytes()
    for share in (0.5, 0.9):
        with pytest.raises(PhotoRefused):
            render(open_photo(io.BytesIO(whole[: int(len(whole) * share)])))


def test_a_picture_that_unpacks_to_too_many_pixels_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "bomb.png"
    Image.new("1", (20_000, 20_000)).save(path)
    with pytest.raises(PhotoRefused, match="400 megapixels"):
        open_photo(path)


@pytest.mark.parametrize("suffix", ["png", "webp", "tif"])
def test_of_several_pictures_the_first_counts(tmp_path: Path, suffix: str) -> None:
    frames = [Image.fromarray(quarters()), Image.fromarray(quarters()[::-1].copy())]
    path = tmp_path / f"several.{suffix}"
    frames[0].save(path, save_all=True, append_images=frames[1:])
    assert quarter_names(np.asarray(render(open_photo(path)))) == list(QUARTERS)


def test_a_jpeg_that_goes_over_its_picture_without_end_is_refused(tmp_path: Path) -> None:
    buffer = io.BytesIO()
    Image.fromarray(quarters()).save(buffer, "JPEG", progressive=True)
    whole = buffer.getvalue()
    assert 3 <= count_scans(whole, 100) <= 12
    last = whole[whole.rindex(b"\xff\xda") : -2]
    again = whole[:-2] + 200 * last + whole[-2:]
    path = tmp_path / "again.jpg"
    path.write_bytes(again)
    for source in (io.BytesIO(again), path):
        with pytest.raises(PhotoRefused, match="again and again"):
            open_photo(source)
    path.write_bytes(whole)
    assert render(open_photo(path)).size == (96, 64)


def test_missing_files_and_folders_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path / "absent.jpg", tmp_path):
        with pytest.raises(PhotoRefused):
            open_photo(path)


def test_random_damage_never_escapes_as_another_error() -> None:
    whole = jpeg_bytes()
    random = np.random.default_rng(11)
    sentences: list[str] = []
    for _ in range(60):
        damaged = bytearray(whole)
        for at in random.integers(0, len(whole), 12):
            damaged[at] = int(random.integers(0, 256))
        try:
            render(open_photo(io.BytesIO(bytes(damaged))))
        except PhotoRefused as refusal:
            sentences.append(str(refusal))
    assert sentences
    assert all(sentence.endswith(".") for sentence in sentences)
