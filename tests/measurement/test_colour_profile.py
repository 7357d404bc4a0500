"""Photos in other colours than sRGB show, and are measured, as the same picture in sRGB does."""

from __future__ import annotations

import io
import struct
from typing import Any

import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageCms
from skimage.color import deltaE_ciede2000, rgb2lab

from journal_server.measurement.colour_profile import display_p3
from journal_server.measurement.measure import measure_photo
from journal_server.measurement.photo_file import open_photo, render

SRGB = [(0.640, 0.330), (0.300, 0.600), (0.150, 0.060)]
P3 = [(0.680, 0.320), (0.265, 0.690), (0.150, 0.060)]  # SMPTE EG 432-1


def to_xyz(primaries: list[tuple[float, float]]) -> np.ndarray:
    """Linear levels to XYZ under D65, worked out from the primaries as in SMPTE RP 177."""
    columns = np.array([[x / y, 1, (1 - x - y) / y] for x, y in primaries]).T
    white = np.array([0.3127 / 0.3290, 1, (1 - 0.3127 - 0.3290) / 0.3290])
    return columns * np.linalg.solve(columns, white)


def as_in_p3(srgb: np.ndarray) -> np.ndarray:
    levels = srgb / 255
    linear = np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)
    moved = np.clip(linear @ np.linalg.solve(to_xyz(P3), to_xyz(SRGB)).T, 0, 1)
    return np.rint(np.where(moved <= 0.0031308, moved * 12.92, 1.055 * moved ** (1 / 2.4) - 0.055) * 255)


def colour_chart() -> np.ndarray:
    """125 colours of sRGB in fields of 16 pixels, so that nothing bleeds from one into the next."""
    steps = np.linspace(20, 235, 5)
    colours = np.stack(np.meshgrid(steps, steps, steps), -1).reshape(5, 25, 3)
    return np.rint(colours).astype(np.uint8).repeat(16, 0).repeat(16, 1)


def saved(picture: Image.Image, kind: str, **how: Any) -> io.BytesIO:
    out = io.BytesIO()
    if kind == "HEIF":
        pillow_heif.from_pillow(picture).save(out, quality=-1, chroma=444, **how)
    else:
        picture.save(out, kind, **how)
    out.seek(0)
    return out


def shown(file: io.BytesIO) -> np.ndarray:
    return np.asarray(render(open_photo(file)))[8::16, 8::16]


def far_apart(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    return np.asarray(deltaE_ciede2000(rgb2lab(first), rgb2lab(second)))


@pytest.mark.parametrize(
    ("kind", "how"),
    [
        ("PNG", {"icc_profile": display_p3()}),
        ("JPEG", {"icc_profile": display_p3(), "quality": 98, "subsampling": 0}),
        ("WEBP", {"icc_profile": display_p3(), "lossless": True}),
        ("TIFF", {"icc_profile": display_p3()}),
        ("HEIF", {"icc_profile": display_p3()}),
        # Without a profile, the container itself naming the colours.
        ("HEIF", {"color_primaries": 12, "transfer_characteristics": 13, "matrix_coefficients": 6}),
    ],
)
def test_a_display_p3_photo_shows_the_colours_of_the_same_picture_in_srgb(kind: str, how: dict[str, Any]) -> None:
    chart = colour_chart()
    in_p3 = Image.fromarray(as_in_p3(chart.astype(float)).astype(np.uint8))
    apart = far_apart(shown(saved(in_p3, kind, **how)), chart[8::16, 8::16])
    assert np.quantile(apart, 0.95) < 1
    assert apart.max() < (2 if kind in ("JPEG", "HEIF") else 1)
    # Unhonoured, the colours would be far off.
    assert far_apart(np.asarray(in_p3)[8::16, 8::16], chart[8::16, 8::16]).max() > 4


def test_a_photo_in_p3_measures_as_the_same_in_srgb() -> None:
    chart = np.tile(np.array([[60, 130, 50], [200, 60, 140]], np.uint8).repeat(200, 0), (400, 1, 1))
    plain = measure_photo(Image.fromarray(chart), bloom_colours=["#c83c8c"])
    in_p3 = Image.fromarray(as_in_p3(chart.astype(float)).astype(np.uint8))
    profiled = measure_photo(saved(in_p3, "PNG", icc_profile=display_p3()), bloom_colours=["#c83c8c"])
    assert (profiled.bloom_colour is None) == (plain.bloom_colour is None)
    if plain.bloom_colour and profiled.bloom_colour:
        assert profiled.bloom_colour.hex == pytest.approx(plain.bloom_colour.hex)


def test_a_profile_counts_by_its_curves_and_not_by_its_name() -> None:
    srgb = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    linear = with_curves(bytes(srgb), 1.0)
    chart = colour_chart()
    levels = chart / 255
    decoded = np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)
    stored = Image.fromarray(np.rint(decoded * 255).astype(np.uint8))
    apart = far_apart(shown(saved(stored, "PNG", icc_profile=linear)), chart[8::16, 8::16])
    assert np.median(apart) < 1.5  # eight bits of linear light are coarse in the shades


def with_curves(profile: bytes, gamma: float) -> bytes:
    """The profile with a plain power for its three curves (curveType with one entry, ICC.1:2001-04)."""
    made = bytearray(profile) + b"curv" + bytes(4) + struct.pack(">IH", 1, round(gamma * 256)) + bytes(2)
    made[0:4] = struct.pack(">I", len(made))
    for entry in range(132, 132 + 12 * int.from_bytes(profile[128:132], "big"), 12):
        if bytes(made[entry : entry + 4]) in (b"rTRC", b"gTRC", b"bTRC"):
            made[entry + 4 : entry + 12] = struct.pack(">II", len(profile), 14)
    return bytes(made)


def grey_profile(gamma: float) -> bytes:
    """A grey profile with a plain power, put together by hand (ICC.1:2001-04, monochrome input)."""
    curve = b"curv" + bytes(4) + struct.pack(">IH", 1, round(gamma * 256)) + bytes(2)
    white = b"XYZ " + bytes(4) + struct.pack(">3i", 63190, 65536, 54061)
    name = b"desc" + bytes(4) + struct.pack(">I", 5) + b"grey\0" + bytes(78 + 1)
    parts, at, table, data = ((b"desc", name), (b"wtpt", white), (b"kTRC", curve)), 128 + 4 + 36, b"", b""
    for tag, content in parts:
        table += tag + struct.pack(">II", at + len(data), len(content))
        data += content + bytes(-len(content) % 4)
    head = struct.pack(
        ">I4sI4s4s4s12s4s", at + len(data), bytes(4), 0x02100000, b"mntr", b"GRAY", b"XYZ ", bytes(12), b"acsp"
    )
    head += bytes(28) + struct.pack(">3i", 63190, 65536, 54061)
    return head.ljust(128, b"\0") + struct.pack(">I", 3) + table + data


@pytest.mark.parametrize("mode", ["L", "LA", "I;16"])
def test_grey_levels_are_read_by_their_profile(mode: str) -> None:
    levels = np.tile(np.arange(0, 256, 5, dtype=np.uint8), (32, 1))
    grey = Image.fromarray(levels.astype(np.uint16) * 257) if mode == "I;16" else Image.fromarray(levels).convert(mode)
    seen = np.asarray(render(open_photo(saved(grey, "PNG", icc_profile=grey_profile(1.8)))))[16, :, 1] / 255
    expected = (levels[0] / 255) ** 1.8
    expected = np.where(expected <= 0.0031308, expected * 12.92, 1.055 * expected ** (1 / 2.4) - 0.055)
    assert np.abs(seen - expected).max() < 0.015


@pytest.mark.parametrize("kind", ["JPEG", "TIFF"])
def test_cmyk_is_shown_with_and_without_a_fitting_profile(kind: str) -> None:
    cmyk = Image.fromarray(colour_chart()).convert("CMYK")
    plain = shown(saved(cmyk, kind))
    assert np.abs(plain.astype(int) - colour_chart()[8::16, 8::16]).max() < 25
    unfit = saved(cmyk, kind, icc_profile=display_p3())
    assert open_photo(unfit).profile_unfit
    unfit.seek(0)
    assert (shown(unfit) == plain).all()


def test_16_bits_a_channel_are_shown() -> None:
    levels = np.tile(np.linspace(0, 65535, 64).astype(np.uint16), (64, 1))
    seen = np.asarray(render(open_photo(saved(Image.fromarray(levels), "TIFF"))))
    assert np.abs(seen[0, :, 0].astype(int) - np.rint(levels[0] / 257)).max() <= 1


def test_lab_pixels_are_shown() -> None:
    chart = Image.fromarray(colour_chart())
    to_lab = ImageCms.buildTransform(ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB")
    in_lab = ImageCms.applyTransform(chart, to_lab)
    assert in_lab is not None
    assert far_apart(shown(saved(in_lab, "TIFF")), colour_chart()[8::16, 8::16]).max() < 2


def test_a_damaged_profile_is_said_and_the_levels_count_as_srgb() -> None:
    chart = Image.fromarray(colour_chart())
    for damaged in (display_p3()[:200], b"no profile", bytes(3000)):
        file = saved(chart, "PNG", icc_profile=damaged)
        assert open_photo(file).profile_unfit
        file.seek(0)
        assert (shown(file) == colour_chart()[8::16, 8::16]).all()
        file.seek(0)
        assert "profile_unfit" in [warning.code for warning in measure_photo(file).quality.warnings]
    assert not open_photo(saved(chart, "PNG", icc_profile=display_p3())).profile_unfit
    assert not open_photo(saved(chart, "PNG")).profile_unfit
