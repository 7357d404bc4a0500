"""A threaded server in which a connection costs a thread only once it has something to say.

Stock cheroot shakes hands for TLS while it accepts, so that one silent socket keeps everyone waiting; and it gives a
thread to each new connection, so that as many silent ones as there are threads do the same. Here new connections wait
in the selector, and the handshake is carried on a step at a time, whenever the other side has sent something.
"""

from __future__ import annotations

import logging
import socket
import ssl
import sys
import time
from typing import Any

from cheroot import errors
from cheroot.ssl.builtin import BuiltinSSLAdapter
from cheroot.wsgi import Server

from journal_server.errors import InputRefused
from journal_server.services.certificates import Certificate
from journal_server.serving.bodies import Connection
from journal_server.serving.logs import LoggedRequests

LOG = logging.getLogger(__name__)
ANY_ADDRESS = "any"
THREADS = 32
WAITING_IN_LINE = 128
MOST_IDLE = 400
"""Silent and idle connections together; below the thousand files that a process may commonly open."""
SHAKING_HANDS_TAKES_S = 10
IN_FLIGHT_TAKES_S = 60
"""So long a stopping server waits for what it is being sent; a sender that falls silent is given up long before."""
LONGEST_HEADERS = 64 * 1024
SPEAK_HTTPS = b"This address speaks https only: put https:// before it.\n"
PLAIN_ANSWER = (
    b"HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain\r\nConnection: close\r\nContent-Length: %d\r\n\r\n%s"
    % (len(SPEAK_HTTPS), SPEAK_HTTPS)
)


class LateHandshake(BuiltinSSLAdapter):
    """Wraps a socket without shaking hands; the certificate can be replaced while it serves."""

    def __init__(self, certificate: Certificate):
        super().__init__(str(certificate.chain_file), str(certificate.key_file))
        self.renew(certificate)

    def renew(self, certificate: Certificate) -> None:
        """Connections from now on get this certificate."""
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.minimum_version = ssl.TLSVersion.TLSv1_2
        context.load_cert_chain(certificate.chain_file, certificate.key_file)
        self.context = context

    def wrap(self, sock: socket.socket) -> tuple[ssl.SSLSocket, dict[str, str]]:
        try:
            wrapped = self.context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
        except OSError as error:
            raise errors.FatalSSLAlert(*error.args) from error
        return wrapped, {"wsgi.url_scheme": "https", "HTTPS": "on"}


class JournalServer(Server):
    """One listener. ``prepare`` holds the port; it answers from ``serve`` on."""

    ConnectionClass = Connection
    keep_alive_conn_limit = MOST_IDLE
    max_request_header_size = LONGEST_HEADERS

    def __init__(self, address: tuple[str, int], app: Any, certificate: Certificate | None = None):
        super().__init__(
            address,
            app,
            numthreads=THREADS,
            server_name="planting-trial-journal",
            request_queue_size=WAITING_IN_LINE,
            shutdown_timeout=IN_FLIGHT_TAKES_S,
        )
        self.tls = LateHandshake(certificate) if certificate else None
        self.ssl_adapter = self.tls

    @property
    def port(self) -> int:
        return int(self.bind_addr[1])

    def process_conn(self, conn: Any) -> None:
        """What cheroot calls with each connection that is new or has sent something."""
        try:
            if conn.last_used is None:
                self._take(conn)
            elif is_shaking_hands(conn.socket):
                self._shake_hands(conn)
            else:
                super().process_conn(conn)
        except (OSError, ValueError) as error:  # it has gone meanwhile
            LOG.info("a connection was lost: %s", error)
            conn.close()

    def put_conn(self, conn: Any) -> None:
        if self.ready and isinstance(conn.socket, ssl.SSLSocket) and conn.socket.pending():
            super().process_conn(conn)  # read from the network already, so the selector would not hear of it
        else:
            super().put_conn(conn)

    def error_log(self, msg: str = "", level: int = logging.INFO, traceback: bool = False) -> None:
        """What cheroot says may quote what was sent, so that of a failure only its kind and place are kept."""
        if traceback and level >= logging.ERROR:
            LOG.log(level, "a connection failed", exc_info=sys.exc_info())
        else:
            LOG.info("%s", msg)

    def _take(self, conn: Any) -> None:
        if self.can_add_keepalive_connection:
            conn.accepted_at = time.monotonic()
            self.put_conn(conn)
        else:
            conn.close()

    def _shake_hands(self, conn: Any) -> None:
        conn.socket.setblocking(False)
        try:
            conn.socket.do_handshake()
        except ssl.SSLWantReadError:
            if time.monotonic() - conn.accepted_at > SHAKING_HANDS_TAKES_S:
                raise
        except ssl.SSLError as error:
            if error.reason == "HTTP_REQUEST":
                socket.socket.send(conn.socket, PLAIN_ANSWER)
            raise
        conn.socket.settimeout(self.timeout)
        self.put_conn(conn)


def is_shaking_hands(sock: socket.socket) -> bool:
    return isinstance(sock, ssl.SSLSocket) and sock.version() is None


def listen(app: Any, host: str, port: int, certificate: Certificate | None = None) -> JournalServer:
    """A server that holds its port already; ``host`` may be ANY_ADDRESS. Raises OSError where the port is taken."""
    if host == ANY_ADDRESS:
        host = "::" if _both_versions_work() else "0.0.0.0"
    # Where the port is taken cheroot would leave a socket open, so it is tried first.
    _hold(host, port).close()
    server = JournalServer((host, port), LoggedRequests(app), certificate)
    server.prepare()
    return server


def _hold(host: str, port: int) -> socket.socket:
    if ":" in host:
        return socket.create_server((host, port), family=socket.AF_INET6, dualstack_ipv6=host == "::")
    return socket.create_server((host, port))


def _both_versions_work() -> bool:
    """IPv6 may be known to the system and yet switched off."""
    try:
        _hold("::", 0).close()
    except (OSError, ValueError):
        return False
    return True


def check_port(port: int) -> int:
    if not 0 <= port <= 65535:
        raise InputRefused(f"There is no port {port}; it must be from 0 to 65535.")
    return port
