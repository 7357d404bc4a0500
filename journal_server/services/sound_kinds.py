"""Telling by its first bytes what kind of sound a file holds; only what browsers record and play back is kept."""

from __future__ import annotations

from dataclasses import dataclass

from journal_server.errors import RecordingRefused

MAX_RECORDING_BYTES = 20_000_000


@dataclass(frozen=True)
class SoundKind:
    mime: str
    suffix: str


WEBM = SoundKind("audio/webm", ".webm")
OGG = SoundKind("audio/ogg", ".ogg")
MP4 = SoundKind("audio/mp4", ".m4a")
WAV = SoundKind("audio/wav", ".wav")

_MP4_BRANDS = {b"M4A ", b"mp41", b"mp42", b"dash"}


def refuse_oversized(content: bytes) -> None:
    """Raises RecordingRefused for more bytes than a recording may have."""
    if len(content) > MAX_RECORDING_BYTES:
        raise RecordingRefused(
            f"This recording is larger than {MAX_RECORDING_BYTES // 1_000_000} MB, the most that is taken in. "
            "Record the remark in shorter parts."
        )


def sound_kind(content: bytes) -> SoundKind:
    """The kind of a recording, or RecordingRefused with the reason.

    The marks are those of the formats themselves: EBML with the document type "webm" (RFC 8794), Ogg with an Opus
    header (RFC 3533, RFC 7845), the file type box of ISO 14496-12, RIFF with the form WAVE.
    """
    if not content:
        raise RecordingRefused("This recording is empty; nothing was recorded. Record the remark again.")
    found = _by_first_bytes(content[:128])
    if found is None:
        raise RecordingRefused("This is not a sound recording that can be kept (WebM, Ogg with Opus, MP4 or WAV).")
    return found


def _by_first_bytes(head: bytes) -> SoundKind | None:
    if head.startswith(b"\x1aE\xdf\xa3"):
        return WEBM if b"\x42\x82\x84webm" in head else None
    if head.startswith(b"OggS"):
        return OGG if b"OpusHead" in head else None
    if head[4:8] == b"ftyp":
        return MP4 if head[8:11] == b"iso" or head[8:12] in _MP4_BRANDS else None
    return WAV if head[:4] == b"RIFF" and head[8:12] == b"WAVE" else None
