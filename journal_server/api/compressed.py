"""Text answers are packed for the way where the browser can unpack them: figures and feeds shrink to a tenth."""

from __future__ import annotations

import gzip

from flask import Response, request

WORTH_IT_BYTES = 2000
TEXTS = ("text/", "application/json", "image/svg+xml")


def compress_text(response: Response) -> Response:
    """The answer gzipped (RFC 1952) when it is text, large enough, whole, and asked for by a browser that can."""
    response.vary.add("Accept-Encoding")
    if (
        response.status_code != 200
        or not (response.mimetype or "").startswith(TEXTS)
        or "Content-Encoding" in response.headers
        or not request.accept_encodings.quality("gzip")
    ):
        return response
    response.direct_passthrough = False  # a file of the web folder: read it
    content = response.get_data()
    if len(content) >= WORTH_IT_BYTES:
        response.set_data(gzip.compress(content, compresslevel=5, mtime=0))
        response.headers["Content-Encoding"] = "gzip"
    return response
