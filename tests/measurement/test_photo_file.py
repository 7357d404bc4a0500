"""What is taken in, what is refused with which sentence, and that pixels come out upright and in sRGB."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pytest
from measurement.made_files import FORMATS, QUARTERS, exiftool, quarter_names, quarters, save_turned
from PIL import Image, ImageCms

from journal_server.errors import PhotoRefused
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


def test_see_through_parts_become_mid_grey() -> None:
    clear = Image.new("RGBA", (8, 8), (255, 0, 0, 0))
    assert np.asarray(render(open_photo(clear)))[4, 4].tolist() == [119, 119, 119]


def test_a_display_p3_photo_is_converted_to_srgb() -> None:
    # A colour inside both spaces: sRGB (200, 100, 50) is Display P3 (188, 106, 62) by the two standards' matrices
    # (SMPTE EG 432-1 primaries, D65, sRGB transfer), worked out here from the primaries.
    def to_xyz(primaries: list[tuple[float, float]]) -> np.ndarray:
        columns = np.array([[x / y, 1, (1 - x - y) / y] for x, y in primaries]).T
        white = np.array([0.3127 / 0.3290, 1, (1 - 0.3127 - 0.3290) / 0.3290])
        return columns * np.linalg.solve(columns, white)

    p3 = to_xyz([(0.680, 0.320), (0.265, 0.690), (0.150, 0.060)])
    srgb = to_xyz([(0.640, 0.330), (0.300, 0.600), (0.150, 0.060)])
    decoded = ((np.array([200, 100, 50]) / 255 + 0.055) / 1.055) ** 2.4
    in_p3 = np.linalg.solve(p3, srgb @ decoded)
    levels = np.rint((1.055 * in_p3 ** (1 / 2.4) - 0.055) * 255).astype(int)
    image = Image.new("RGB", (16, 16), tuple(levels.tolist()))
    buffer = io.BytesIO()
    image.save(buffer, "PNG", icc_profile=display_p3_profile())
    buffer.seek(0)
    shown = np.asarray(render(open_photo(buffer)))[8, 8].astype(int)
    assert np.abs(shown - [200, 100, 50]).max() <= 2


def display_p3_profile() -> bytes:
    """An ICC version 2 display profile with the P3 primaries adapted to D50, put together by hand (ICC.1:2001-04)."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    # The P3 primaries adapted to D50 by Bradford, as in the profiles that phones write (from memory).
    colorants = {
        b"rXYZ": (0.51512, 0.24120, -0.00105),
        b"gXYZ": (0.29198, 0.69225, 0.04189),
        b"bXYZ": (0.15710, 0.06657, 0.78407),
    }
    data = bytearray(srgb)
    for index in range(int.from_bytes(data[128:132], "big")):
        entry = 132 + 12 * index
        name, offset = bytes(data[entry : entry + 4]), int.from_bytes(data[entry + 4 : entry + 8], "big")
        if name in colorants:
            for axis, value in enumerate(colorants[name]):
                at = offset + 8 + 4 * axis
                data[at : at + 4] = round(value * 65536).to_bytes(4, "big", signed=True)
        elif name == b"desc":
            length = int.from_bytes(data[entry + 8 : entry + 12], "big")
            text = bytes(data[offset : offset + length])
            data[offset : offset + length] = text.replace(
                "sRGB".encode("utf-16-be"), "P3 D".encode("utf-16-be")
            ).replace(b"sRGB", b"P3 D")
    return bytes(data)


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


@pytest.mark.parametrize(("suffix", "sentence"), [("png", "animation"), ("webp", "animation"), ("tif", "pages")])
def test_more_than_one_picture_is_refused(tmp_path: Path, suffix: str, sentence: str) -> None:
    frames = [Image.fromarray(quarters()), Image.fromarray(quarters()[::-1].copy())]
    path = tmp_path / f"several.{suffix}"
    frames[0].save(path, save_all=True, append_images=frames[1:])
    with pytest.raises(PhotoRefused, match=sentence):
        open_photo(path)


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
