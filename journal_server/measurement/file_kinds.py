"""Telling by its first bytes what a file is when it is no photo, so that it can be refused by name."""

from __future__ import annotations

_STARTS: tuple[tuple[bytes, str], ...] = (
    (b"%PDF", "This is a PDF document, not a photo."),
    (b"GIF8", "This is a GIF picture; photos are taken in as JPEG, HEIC, PNG, WebP or TIFF."),
    (b"BM", "This is a BMP picture; photos are taken in as JPEG, HEIC, PNG, WebP or TIFF."),
    (b"PK\x03\x04", "This is an archive or an office document, not a photo."),
    (b"\x1aE\xdf\xa3", "This is a video, not a photo."),
    (b"\x00\x00\x01\xba", "This is a video, not a photo."),
    (b"\x00\x00\x01\xb3", "This is a video, not a photo."),
    (b"OggS", "This is a sound or video file, not a photo."),
    (b"ID3", "This is a sound file, not a photo."),
    (b"fLaC", "This is a sound file, not a photo."),
)

_PHOTO_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"mif2", b"miaf"}


def why_not_a_photo(head: bytes) -> str | None:
    """A sentence if the first bytes of a file show that it is something else; None if it may be a photo."""
    for start, sentence in _STARTS:
        if head.startswith(start):
            return sentence
    if head[:4] == b"RIFF" and head[8:12] != b"WEBP":
        kind = "a video" if head[8:12] == b"AVI " else "a sound file"
        return f"This is {kind}, not a photo."
    if head[4:8] in (b"moov", b"mdat", b"free", b"wide"):
        return "This is a video, not a photo."
    if head[4:8] == b"ftyp":
        return _why_not_by_brand(head)
    return _why_not_by_text(head)


def _why_not_by_brand(head: bytes) -> str | None:
    length = min(int.from_bytes(head[:4], "big"), len(head))
    brands = {head[8:12], *(head[i : i + 4] for i in range(16, length - 3, 4))}
    if head[8:12] in _PHOTO_BRANDS or (b"mif1" in brands and not brands & {b"isom", b"mp42", b"qt  "}):
        return None
    if brands & {b"avif", b"avis"}:
        return "This is an AVIF picture; photos are taken in as JPEG, HEIC, PNG, WebP or TIFF."
    return "This is a video, not a photo."


def _why_not_by_text(head: bytes) -> str | None:
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if b"<svg" in text:
        return "This is an SVG drawing, not a photo."
    if text.startswith((b"<!doctype html", b"<html", b"<head", b"<body", b"<script")):
        return "This is a web page, not a photo."
    if text.startswith(b"<?xml"):
        return "This is an XML document, not a photo."
    printable = sum(32 <= byte < 127 or byte in b"\t\r\n" for byte in head)
    if head and printable == len(head):
        return "This is a text file, not a photo."
    return None
