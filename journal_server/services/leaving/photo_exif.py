"""The Exif block of a photo that leaves the journal: what the picture needs, and nothing that tells on its owner."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from PIL import Image

ORIENTATION, EXIF_IFD, GPS_IFD = 0x0112, 0x8769, 0x8825
DATE_TIME_ORIGINAL, OFFSET_TIME_ORIGINAL, COLOUR_SPACE, WIDTH, HEIGHT = 0x9003, 0x9011, 0xA001, 0xA002, 0xA003
_SRGB, _NOT_SAID = 1, 0xFFFF

_CAMERA = (0x010F, 0x0110)
"""Make and model."""
_SHOT = (0x829A, 0x829D, 0x8827, 0x9209, 0x920A, COLOUR_SPACE, 0xA403, 0xA405, 0xA434)
"""Exposure time, aperture, sensitivity, flash, focal length, colour space, white balance, 35 mm equivalent, lens."""
_OWNER = (0x013B, 0x8298)
"""Artist and copyright."""
_OWNER_OF_CAMERA = (0xA430, 0xA431, 0xA435)
"""Owner of the camera, serial numbers of body and lens."""
_IN_EVERY_JPEG = {0x011A: 72.0, 0x011B: 72.0, 0x0128: 2, 0x0213: 1}
_IN_EVERY_SHOT = {0x9000: b"0232", 0xA000: b"0100"}
"""What Exif 2.32 asks of every block: resolution, place of the colour samples, versions."""


@dataclass(frozen=True)
class StoredPicture:
    """The picture as it is coded: its size before it is turned, how it is to be turned (Exif tag 0x0112)."""

    width: int
    height: int
    orientation: int
    converted: bool
    """Whether it was drawn anew, in sRGB."""


def exif_of(
    block: bytes, taken_at: datetime | None, picture: StoredPicture, *, with_place: bool, with_owner: bool
) -> bytes:
    """A fresh block (a TIFF structure) from that of the original; maker's notes and previews never go along.

    Parameters
    ----------
    block : the original's Exif block, empty where it has none
    taken_at : the moment by the journal, which a person may have corrected
    """
    try:
        return _block(_read(block), taken_at, picture, with_place, with_owner)
    except Exception:  # values of a wrong type make the writer raise nearly anything
        return _block(_read(b""), taken_at, picture, with_place=False, with_owner=False)


def _block(
    known: Image.Exif, taken_at: datetime | None, picture: StoredPicture, with_place: bool, with_owner: bool
) -> bytes:
    made = Image.Exif()
    made.update(_IN_EVERY_JPEG)
    made[ORIENTATION] = picture.orientation
    _copy(known, made, _CAMERA + (_OWNER if with_owner else ()))
    shot = made.get_ifd(EXIF_IFD)
    shot.update({COLOUR_SPACE: _NOT_SAID, WIDTH: picture.width, HEIGHT: picture.height, **_IN_EVERY_SHOT})
    _copy(known.get_ifd(EXIF_IFD), shot, _SHOT + (_OWNER_OF_CAMERA if with_owner else ()))
    if picture.converted:
        shot[COLOUR_SPACE] = _SRGB
    if taken_at is not None:
        offset = taken_at.strftime("%z")
        shot[DATE_TIME_ORIGINAL] = taken_at.strftime("%Y:%m:%d %H:%M:%S")
        shot[OFFSET_TIME_ORIGINAL] = f"{offset[:3]}:{offset[3:5]}"
    if with_place:
        made.get_ifd(GPS_IFD).update(known.get_ifd(GPS_IFD))
    return made.tobytes().removeprefix(b"Exif\0\0")


def _copy(source: Any, target: Any, tags: tuple[int, ...]) -> None:
    for tag in tags:
        if tag in source:
            target[tag] = source[tag]


def _read(block: bytes) -> Image.Exif:
    read = Image.Exif()
    try:
        read.load(block)
        for part in (EXIF_IFD, GPS_IFD):
            read.get_ifd(part)
    except Exception:  # damaged blocks make the reader raise nearly anything; then there is no Exif
        return Image.Exif()
    return read
