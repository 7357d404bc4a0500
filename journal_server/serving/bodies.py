"""Bodies of requests: each says beforehand how long it is, and what no one reads of it is thrown away in pieces.

Stock cheroot reads the rest of a body whole before it answers, and a chunk of any size whole: a stranger without a key
could fill the memory with either.
"""

from __future__ import annotations

from cheroot.server import HTTPConnection, HTTPRequest

PIECE = 64 * 1024
LONGEST_READ_TO_ITS_END = 200_000_000
"""Who sends more is cut off; who sends less hears why it was not taken, as one who is cut off hears nothing."""
SAYS_ITS_LENGTH = "The request must say how long it is (Content-Length)."


class Request(HTTPRequest):
    def respond(self) -> None:
        if self.chunked_read:
            self._refuse("411 Length Required")
        elif int(self.inheaders.get(b"Content-Length", 0)) < 0:
            self._refuse("400 Bad Request")
        else:
            super().respond()

    def send_headers(self) -> None:
        self._throw_away_the_rest()
        super().send_headers()

    def _throw_away_the_rest(self) -> None:
        if self.rfile.remaining > LONGEST_READ_TO_ITS_END:
            self.close_connection = True
            return
        while self.rfile.remaining and self.rfile.read(PIECE):
            pass

    def _refuse(self, status: str) -> None:
        """What follows cannot be told from the next request, so that the connection ends."""
        self.close_connection = True
        self.simple_response(status, SAYS_ITS_LENGTH)


class Connection(HTTPConnection):
    RequestHandlerClass = Request
