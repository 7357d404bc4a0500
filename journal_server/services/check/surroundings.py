"""What a journal needs around it: room on the disk, a right clock, a certificate that lasts, its libraries."""

from __future__ import annotations

import os
import re
import shutil
import stat
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from importlib import import_module, metadata
from pathlib import Path

from cryptography import x509

from journal_server.services.check.findings import NOTE, WRONG, Finding, together
from journal_server.storage.inspection import MeasurementSeen, RecordSeen

SCARCE_BYTES, FULL_BYTES = 1_000_000_000, 100_000_000
BEHIND = timedelta(minutes=10)
ENDS_SOON = timedelta(days=14)
BACKUP_OLD = timedelta(days=30)
WITH_NATIVE_CODE = ("cryptography", "numpy", "onnxruntime", "PIL.Image", "pillow_heif", "scipy", "skimage", "zxingcpp")
"""Libraries that may be installed and yet not load on this system."""
REINSTALL = "Install the program again into its environment (pip install --force-reinstall)."


def check_folder(folder: Path) -> list[Finding]:
    found = []
    if not os.access(folder, os.W_OK | os.X_OK):
        what = f"The folder {folder} cannot be written by this user."
        found.append(
            Finding(WRONG, "disk", what, "Run the journal as the user who owns the folder, or change its rights.")
        )
    free = shutil.disk_usage(folder).free
    if free < SCARCE_BYTES:
        what = f"Only {free / 1e6:.0f} MB are free on the journal's disk."
        found.append(Finding(WRONG if free < FULL_BYTES else NOTE, "disk", what, "Make room before the next walk."))
    return found


def check_clock(records: Iterable[RecordSeen], measured: Iterable[MeasurementSeen], now: datetime) -> list[Finding]:
    """The clock against what the journal wrote itself: nothing of that can lie ahead."""
    written = [str(r.fields["taken_in_at"]) for r in records if r.fields.get("taken_in_at")]
    newest = max(filter(None, map(_moment, [*written, *(m.measured_at for m in measured)])), default=None)
    if newest is None or newest - now <= BEHIND:
        return []
    what = f"The clock says {now:%Y-%m-%d %H:%M} UTC, but something was noted on {newest:%Y-%m-%d %H:%M} UTC."
    return [Finding(NOTE, "clock", what, "Set the clock of this computer right. No record is harmed by it.")]


def _moment(text: str) -> datetime | None:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def check_certificates(folder: Path, now: datetime) -> list[Finding]:
    found: list[Finding] = []
    for name, whose in (("authority.pem", "certificate authority"), ("server.pem", "server certificate")):
        file = folder / name
        if file.exists():
            found += _check_certificate(file, whose, now)
    return found


def _check_certificate(file: Path, whose: str, now: datetime) -> Iterator[Finding]:
    part = "certificate"
    renewed = "It is made anew when the journal is served with --lan; phones must trust a new authority once more."
    try:
        certificate = x509.load_pem_x509_certificate(file.read_bytes())
    except (OSError, ValueError) as error:
        yield Finding(WRONG, part, f"The {whose} cannot be read ({error}).", f"Move {file} away. {renewed}")
        return
    ends = certificate.not_valid_after_utc
    if ends < now:
        yield Finding(WRONG, part, f"The {whose} ended on {ends:%Y-%m-%d}.", renewed)
    elif ends - now < ENDS_SOON:
        yield Finding(NOTE, part, f"The {whose} ends on {ends:%Y-%m-%d}.", renewed)
    if certificate.not_valid_before_utc > now:
        what = (
            f"The {whose} is valid only from {certificate.not_valid_before_utc:%Y-%m-%d} on, after what the clock says."
        )
        yield Finding(WRONG, part, what, "Set the clock of this computer right.")
    if os.name != "nt" and stat.S_IMODE(file.stat().st_mode) & 0o077:
        yield Finding(WRONG, part, f"The key in {file} can be read by others on this computer.", f"chmod 600 {file}")


def check_libraries(needed: Iterable[str] | None = None, to_load: Iterable[str] = WITH_NATIVE_CODE) -> list[Finding]:
    """Those that the program's own metadata names, and those with native code, which must load as well."""
    names = _required() if needed is None else needed
    missing = (name for name in names if not _is_installed(name))
    return [
        *together(WRONG, "libraries", "Libraries are missing", missing, REINSTALL),
        *together(WRONG, "libraries", "Libraries are installed but do not load", _not_loading(to_load), REINSTALL),
    ]


def _required() -> list[str]:
    lines = metadata.requires("planting-trial-journal") or []
    return [re.split(r"[^A-Za-z0-9._-]", line, maxsplit=1)[0] for line in lines if "extra ==" not in line]


def _is_installed(name: str) -> bool:
    try:
        metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return False
    return True


def _not_loading(modules: Iterable[str]) -> Iterator[str]:
    for module in modules:
        try:
            import_module(module)
        except (ImportError, OSError) as error:
            yield f"{module} ({error})"


def check_backup(last_good: str | None, failure: str | None, now: datetime) -> list[Finding]:
    found = []
    made = _moment(last_good) if last_good else None
    if made is None:
        mend = "Run “journal-server backup FILE” and keep the file elsewhere, or set a folder under Set-up, Backup."
        found.append(Finding(NOTE, "backup", "The journal was never backed up.", mend))
    elif now - made > BACKUP_OLD:
        what = f"The last good backup is from {made:%Y-%m-%d}."
        found.append(Finding(NOTE, "backup", what, "Make one now."))
    if failure:
        mend = "See to it, then back up again under Set-up, Backup."
        found.append(Finding(WRONG, "backup", f"The last backup failed. {failure}", mend))
    return found
