"""A JPEG with other metadata and the very same picture: its segments are sorted, nothing is decoded (ITU-T T.81)."""

from __future__ import annotations

from collections.abc import Iterator

SOI, EOI, SOS, COMMENT = b"\xff\xd8", 0xD9, 0xDA, 0xFE
_ALONE = {0x01, *range(0xD0, 0xD8)}
"""Markers without a length: TEM and the restart markers, which stand within the coded picture."""
_SHOWS_THE_PICTURE = {0xE0: b"JFIF\0", 0xE2: b"ICC_PROFILE\0", 0xEE: b"Adobe"}
"""Of the application segments only these say how the picture is to be shown: resolution, colours, colour transform."""
MOST_IN_A_SEGMENT = 65_533


class NotSegments(ValueError):
    """The bytes do not go on as a JPEG does."""


def with_only(jpeg: bytes, exif: bytes, xmp: bytes) -> bytes:
    """The first picture of the file, its coded bytes untouched, with this Exif block and this XMP packet.

    All other metadata (Exif, XMP, IPTC, maker's notes, comments) and whatever follows the picture (previews, gain maps,
    short films, which carry metadata of their own) stay behind.

    Raises
    ------
    NotSegments : the file is damaged, or a block is longer than a segment may be
    """
    kept = [(marker, segment) for marker, segment in segments(jpeg) if _is_kept(marker, segment)]
    front = [segment for marker, segment in kept if marker == 0xE0]
    rest = [segment for marker, segment in kept if marker != 0xE0]
    added = [_application_1(b"Exif\0\0" + exif), _application_1(b"http://ns.adobe.com/xap/1.0/\0" + xmp)]
    return b"".join([SOI, *front, *added, *rest])


def segments(jpeg: bytes) -> Iterator[tuple[int, bytes]]:
    """Marker and bytes of each segment up to the end of the first picture; coded data goes with its SOS."""
    if not jpeg.startswith(SOI):
        raise NotSegments("no JPEG")
    at = 2
    while True:
        if at + 2 > len(jpeg) or jpeg[at] != 0xFF:
            raise NotSegments(f"no marker at byte {at}")
        marker = jpeg[at + 1]
        if marker == 0xFF:  # fill bytes may stand before any marker
            at += 1
            continue
        end = at + 2 if marker == EOI or marker in _ALONE else at + 2 + int.from_bytes(jpeg[at + 2 : at + 4])
        if marker == SOS:
            end = _end_of_scan(jpeg, end)
        if end > len(jpeg) or end < at + 2:
            raise NotSegments("cut short")
        yield marker, jpeg[at:end]
        if marker == EOI:
            return
        at = end


def _end_of_scan(jpeg: bytes, at: int) -> int:
    """Where the next marker stands that is neither a stuffed byte nor a restart."""
    while True:
        at = jpeg.find(b"\xff", at)
        if at < 0 or at + 1 >= len(jpeg):
            raise NotSegments("the picture has no end")
        if jpeg[at + 1] != 0 and jpeg[at + 1] not in _ALONE and jpeg[at + 1] != 0xFF:
            return at
        at += 1 if jpeg[at + 1] == 0xFF else 2


def _is_kept(marker: int, segment: bytes) -> bool:
    if marker == COMMENT:
        return False
    if 0xE0 <= marker <= 0xEF:
        begins = _SHOWS_THE_PICTURE.get(marker)
        return begins is not None and segment[4:].startswith(begins)
    return True


def _application_1(content: bytes) -> bytes:
    if len(content) > MOST_IN_A_SEGMENT:
        raise NotSegments(f"{len(content)} bytes do not fit into one segment")
    return b"\xff\xe1" + (len(content) + 2).to_bytes(2) + content
