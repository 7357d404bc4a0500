"""A PostgreSQL server of the tests' own, from Debian's packages, in a folder that is thrown away."""

from __future__ import annotations

import getpass
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import create_engine, text

PLACES = ("/usr/lib/postgresql/*/bin/initdb", "/opt/homebrew/opt/postgresql*/bin/initdb")

GUARDED = "guarded"
"""The one user who is asked for a password."""


def programs() -> Path | None:
    """The folder with initdb and pg_ctl, the newest version that is installed; None where there is none."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).parent
    found = [path for place in PLACES for path in Path("/").glob(place.lstrip("/"))]
    return max(found, key=lambda path: path.parts[-3].zfill(12)).parent if found else None


class Server:
    """Makes databases and throws them away; each is told by its address, as SQLAlchemy takes it."""

    def __init__(self, socket_folder: Path):
        self._socket_folder = socket_folder
        self._made = 0
        self._plain = create_engine(self.url("postgres"), isolation_level="AUTOCOMMIT")

    def url(self, name: str, user: str = "journal") -> str:
        return f"postgresql+psycopg://{user}@/{name}?host={self._socket_folder}"

    def fresh(self, like: str | None = None) -> str:
        """The address of a new database: empty, or a copy of the one at the address ``like``."""
        self._made += 1
        name = f"journal_{os.getpid()}_{self._made}"
        template = f" TEMPLATE {_name(like)}" if like else ""
        with self._plain.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name}{template}"))
        return self.url(name)

    def drop(self, url: str) -> None:
        name = _name(url)
        with self._plain.connect() as connection:
            connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))

    def close(self) -> None:
        self._plain.dispose()


def _name(url: str) -> str:
    return url.split("@/")[1].split("?")[0]


@contextmanager
def running_server(durable: bool = False) -> Iterator[Server]:
    """Started, and stopped and removed at the end; without ``durable`` nothing waits for the disk.

    As root it runs as the user that Debian's package makes."""
    where = programs()
    if where is None:
        raise RuntimeError("PostgreSQL is not installed (Debian: apt-get install postgresql).")
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    try:
        if os.geteuid() == 0:
            shutil.chown(folder, "postgres")
        data = folder / "data"
        _run([where / "initdb", "-D", data, "-A", "trust", "-U", "journal", "-E", "UTF8", "--locale=C", "--no-sync"])
        access = data / "pg_hba.conf"
        access.write_text(f"local all {GUARDED} scram-sha-256\n{access.read_text()}")
        settings = f"-k {folder} -c listen_addresses='' -c fsync={'on' if durable else 'off'} -c max_connections=200"
        _run([where / "pg_ctl", "-D", data, "-l", folder / "log", "-o", settings, "-w", "start"])
        server = Server(folder)
        try:
            yield server
        finally:
            server.close()
            _run([where / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop"])
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _run(command: Sequence[str | Path]) -> None:
    words = [str(part) for part in command]
    if os.geteuid() == 0 and getpass.getuser() != "postgres":
        words = ["runuser", "-u", "postgres", "--", *words]
    with tempfile.TemporaryFile() as said:  # a pipe would be held open by the server that is started
        done = subprocess.run(words, stdout=said, stderr=subprocess.STDOUT, cwd="/")
        if done.returncode:
            said.seek(0)
            raise RuntimeError(f"{words} failed: {said.read().decode(errors='replace')[-2000:]}")
