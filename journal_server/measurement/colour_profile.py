"""Colour profiles of photos honoured: pixels by any ICC profile, or by the colours that a HEIC names, become sRGB."""

from __future__ import annotations

import io
import struct

import numpy as np
from PIL import Image, ImageCms

_SPACE_OF_MODE = {"RGB": "RGB", "L": "GRAY", "CMYK": "CMYK"}
# Levels that a profile may move colours by and still count as sRGB: the usual sRGB profiles differ by their rounding.
_SAME_WITHIN = 2
# Rec. ITU-T H.273, table 2: the primaries of SMPTE EG 432-1, which Display P3 has.
_P3_PRIMARIES = 12


def as_srgb(flat: Image.Image, profile: bytes | None) -> Image.Image:
    """The picture (mode RGB, L, CMYK or LAB) in sRGB, mode RGB.

    Without a profile, or by one that is damaged or of another kind of pixel, the levels count as sRGB, as in viewers.
    """
    if flat.mode == "LAB":
        lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
        return _applied(_to_srgb(lab, "LAB"), flat)
    if profile:
        try:
            return _converted(flat, profile)
        except (ImageCms.PyCMSError, OSError, ValueError):
            pass
    return _as_rgb(flat)


def profile_fits(image: Image.Image, profile: bytes) -> bool:
    """Whether the picture's levels can be read by this profile."""
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        _to_srgb(source, _mode_for(source, _flat_mode(image)))
    except (ImageCms.PyCMSError, OSError, ValueError):
        return False
    return True


def profile_of(image: Image.Image) -> bytes | None:
    """The ICC profile that came with a picture, or one made of the colours that its HEIC container names."""
    given = image.info.get("icc_profile")
    if given:
        return bytes(given)
    named = image.info.get("nclx_profile")
    if isinstance(named, dict) and named.get("color_primaries") == _P3_PRIMARIES:
        return display_p3()
    return None


def display_p3() -> bytes:
    """An ICC version 2 profile (ICC.1:2001-04) of a display with the P3 primaries, adapted to D50, and sRGB's curve.

    Returns
    -------
    bytes
        The colorants are those of the profiles that phones write (from memory).
    """
    colorants = (0.51512, 0.24120, -0.00105), (0.29198, 0.69225, 0.04189), (0.15710, 0.06657, 0.78407)
    levels = np.linspace(0, 1, 1024)
    linear = np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)
    curve = b"curv" + bytes(4) + struct.pack(">I", len(linear)) + np.rint(linear * 65535).astype(">u2").tobytes()
    name = b"Display P3\x00"
    words = b"desc" + bytes(4) + struct.pack(">I", len(name)) + name + bytes(4 + 4 + 2 + 1 + 67)
    parts = {
        b"desc": words,
        b"cprt": b"text" + bytes(4) + b"None\x00",
        b"wtpt": _xyz(0.96420, 1.0, 0.82491),
        **{tag: _xyz(*colorant) for tag, colorant in zip((b"rXYZ", b"gXYZ", b"bXYZ"), colorants, strict=True)},
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
    }
    return _packed(parts)


def _converted(flat: Image.Image, profile: bytes) -> Image.Image:
    source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
    mode = _mode_for(source, flat.mode)
    transform = _to_srgb(source, mode)
    if mode == "RGB" and _leaves_as_is(transform):
        return _as_rgb(flat)
    return _applied(transform, flat if flat.mode == mode else flat.convert(mode))


def _applied(transform: ImageCms.ImageCmsTransform, picture: Image.Image) -> Image.Image:
    done = ImageCms.applyTransform(picture, transform)
    return picture.convert("RGB") if done is None else done


def _to_srgb(source: ImageCms.ImageCmsProfile, mode: str) -> ImageCms.ImageCmsTransform:
    srgb = ImageCms.createProfile("sRGB")
    return ImageCms.buildTransform(source, srgb, mode, "RGB", ImageCms.Intent.RELATIVE_COLORIMETRIC)


def _mode_for(source: ImageCms.ImageCmsProfile, mode: str) -> str:
    """The mode in which the profile reads these pixels: grey ones are colours too, nothing else is another kind."""
    space = source.profile.xcolor_space.strip()
    if space == "RGB" and mode == "L":
        return "RGB"
    if _SPACE_OF_MODE.get(mode) != space:
        raise ValueError(f"a profile for {space} does not read {mode}")
    return mode


def _flat_mode(image: Image.Image) -> str:
    if image.mode in ("1", "L", "LA", "La", "I", "F") or image.mode.startswith("I;16"):
        return "L"
    return "CMYK" if image.mode == "CMYK" else "RGB"


def _leaves_as_is(transform: ImageCms.ImageCmsTransform) -> bool:
    steps = np.linspace(0, 255, 6).astype(np.uint8)
    cube = np.stack(np.meshgrid(steps, steps, steps), -1).reshape(1, -1, 3)
    after = np.asarray(_applied(transform, Image.fromarray(cube)))
    return bool(np.abs(after.astype(int) - cube).max() <= _SAME_WITHIN)


def _as_rgb(image: Image.Image) -> Image.Image:
    # Pillow would copy the whole picture.
    return image if image.mode == "RGB" else image.convert("RGB")


def _xyz(*values: float) -> bytes:
    return b"XYZ " + bytes(4) + b"".join(struct.pack(">i", round(value * 65536)) for value in values)


def _packed(parts: dict[bytes, bytes]) -> bytes:
    table, data = b"", b""
    first = 128 + 4 + 12 * len(parts)
    for tag, content in parts.items():
        table += tag + struct.pack(">II", first + len(data), len(content))
        data += content + bytes(-len(content) % 4)
    size = first + len(data)
    header = struct.pack(">I4sI4s4s4s", size, bytes(4), 0x02100000, b"mntr", b"RGB ", b"XYZ ")
    header += struct.pack(">6H4s", 2020, 1, 1, 0, 0, 0, b"acsp") + bytes(28) + _xyz(0.96420, 1.0, 0.82491)[8:]
    return header.ljust(128, b"\0") + struct.pack(">I", len(parts)) + table + data
