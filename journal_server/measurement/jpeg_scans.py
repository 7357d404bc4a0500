"""How often a JPEG goes over its picture. Each scan costs a pass over all pixels; a small file can ask for millions."""

from __future__ import annotations

import mmap
import re

_START_OF_SCAN, _END_OF_IMAGE = 0xDA, 0xD9
# Inside a scan FF is followed by 00 or by a restart marker; anything else ends it.
_NEXT_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
_WITHOUT_LENGTH = frozenset((0x01, *range(0xD0, 0xD9)))


def count_scans(jpeg: bytes | mmap.mmap, most: int) -> int:
    """Scans of the first picture in a JPEG file (ITU-T T.81, annex B), counted no further than ``most`` + 1."""
    at, scans = 2, 0
    while scans <= most:
        marker = _NEXT_MARKER.search(jpeg, at)
        if marker is None:
            break
        kind, at = jpeg[marker.start() + 1], marker.end()
        if kind == _END_OF_IMAGE:
            break
        scans += kind == _START_OF_SCAN
        if kind not in _WITHOUT_LENGTH:
            at += max(2, int.from_bytes(jpeg[at : at + 2], "big"))
    return scans
