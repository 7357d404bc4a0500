"""The first bytes of recordings as browsers write them, and a whole small one."""

from __future__ import annotations

import io
import wave

# EBML header (RFC 8794): document type "webm"; then the segment, left open as live recorders do.
WEBM = bytes.fromhex("1a45dfa39f4286810142f7810142f2810442f381084282847765626d42878104428581021853806701ffffffffffffff")
MATROSKA = bytes.fromhex("1a45dfa3a34286810142f7810142f2810442f381084282886d6174726f736b61428781044285810218538067")
OGG_OPUS = b"OggS\x00\x02" + bytes(20) + b"\x01\x13OpusHead\x01\x01\x38\x01\x80\xbb\x00\x00\x00\x00\x00" + bytes(40)
OGG_VIDEO = b"OggS\x00\x02" + bytes(20) + b"\x01\x2a\x80theora" + bytes(60)
MP4 = b"\x00\x00\x00\x1cftypiso5\x00\x00\x00\x01isomiso5hlsf" + bytes(40)
HEIC = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(40)


def wav(seconds: float = 0.1, level: int = 3) -> bytes:
    """A playable sound, different for each level."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(1)
        file.setframerate(8000)
        file.writeframes(bytes([128 + level]) * round(8000 * seconds))
    return out.getvalue()
