"""Ids that two phones without a signal make alike for the same thing."""

from __future__ import annotations

import hashlib
import uuid


def derived_id(*parts: str) -> str:
    """A UUID of version 8 (RFC 9562, section 5.8) of the SHA-256 of the parts, joined by line feeds."""
    made = bytearray(hashlib.sha256("\n".join(parts).encode()).digest()[:16])
    made[6] = made[6] & 0x0F | 0x80
    made[8] = made[8] & 0x3F | 0x80
    return str(uuid.UUID(bytes=bytes(made)))
