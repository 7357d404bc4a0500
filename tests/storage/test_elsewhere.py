"""Photos in an S3-compatible store, over HTTP against a server that speaks its protocol."""

import hashlib
import shutil
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import fsspec
import pytest
from conftest import FreshDatabase
from made_photos import jpeg
from made_sounds import wav
from moto.server import ThreadedMotoServer

from journal_server.errors import InputRefused, JournalBusy, JournalDamaged
from journal_server.services.backup import make_backup
from journal_server.services.check.run import check_journal
from journal_server.services.journal import Journal, open_journal
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.take_in_photo import picture, take_in_photo
from journal_server.services.take_in_recording import sound_of, take_in_recording
from journal_server.storage.database import Database
from journal_server.storage.elsewhere import FileStore
from journal_server.storage.records import load_records

pytestmark = pytest.mark.filterwarnings(
    "ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning", "ignore::DeprecationWarning"
)  # of the server for tests and of the store's client, whose connections end with the process
URL = "s3://garden/beds"

Opened = Callable[[str], Journal]


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    running = ThreadedMotoServer(ip_address="127.0.0.1", port=0)
    running.start()
    host, port = running.get_host_and_port()
    yield f"http://{host}:{port}"
    running.stop()


@pytest.fixture
def bucket(server: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    for name, value in {
        "AWS_ENDPOINT_URL": server,
        "AWS_ACCESS_KEY_ID": "made-up",
        "AWS_SECRET_ACCESS_KEY": "made-up",
        "AWS_DEFAULT_REGION": "us-east-1",
        "AWS_CONFIG_FILE": "/nonexistent",
        "AWS_SHARED_CREDENTIALS_FILE": "/nonexistent",
    }.items():
        monkeypatch.setenv(name, value)
    fsspec.get_filesystem_class("s3").clear_instance_cache()
    files = fsspec.filesystem("s3", use_listings_cache=False)
    files.mkdir("garden")
    yield files
    files.rm("garden", recursive=True)


@pytest.fixture
def elsewhere(bucket: Any, tmp_path: Path, fresh_database: FreshDatabase) -> Iterator[Opened]:
    """Opens the same journal from any folder, as another computer would."""
    opened: list[Journal] = []
    with fresh_database() as url:
        database = url or f"sqlite:///{tmp_path / 'shared.sqlite3'}"

        def open_it(name: str, photos: str | None = URL) -> Journal:
            opened.append(open_journal(tmp_path / name, database, photos))
            return opened[-1]

        yield open_it
        for journal in opened:
            journal.close()


def take_in(journal: Journal, seed: int = 0) -> tuple[bytes, str, str]:
    content = jpeg("2026:06:12 10:14:03", seed=seed, size=(320, 240))
    record = take_in_photo(journal, content, f"{seed}.jpg").photo
    return content, record.fields["sha256"], record.id


def test_an_acknowledged_photo_is_in_the_store_and_the_folder_may_go(elsewhere: Opened, bucket: Any) -> None:
    journal = elsewhere("here")
    content, sha256, _ = take_in(journal)
    assert bucket.cat_file(f"garden/beds/originals/{sha256[:2]}/{sha256}.jpg") == content
    shutil.rmtree(journal.files.originals)
    shutil.rmtree(journal.files.derived)
    assert journal.files.original(sha256, ".jpg").read_bytes() == content
    assert picture(journal, sha256, ".jpg", "thumb").startswith(b"\xff\xd8")
    assert take_in_photo(journal, content, "again.jpg").outcome == "already here"


def test_another_computer_sees_photos_class_maps_and_recordings(elsewhere: Opened) -> None:
    here, there = elsewhere("here"), elsewhere("there")
    content, sha256, _ = take_in(here)
    recording = take_in_recording(here, wav(), "remark.wav").recording.id
    MeasuringRoom(there, [WorkerProcess()]).run_until_done()
    with here.database.reading() as session:
        assert [p.fields["measuring"] for p in load_records(session, "photo")] == ["done"]
    overlays = [path.name.removeprefix(f"{sha256}.") for path in there.files.derived.glob("*/*.overlay-*")]
    assert overlays
    assert here.files.derived_file(sha256, overlays[0]).read_bytes().startswith(b"RIFF")
    assert there.files.original(sha256, ".jpg").read_bytes() == content
    assert sound_of(there, recording)[0].read_bytes() == wav()
    MeasuringRoom(elsewhere("third"), []).start()
    with here.database.reading() as session:
        assert [p.fields["measuring"] for p in load_records(session, "photo")] == ["done"], "nothing is measured anew"


def test_what_the_store_did_not_keep_whole_is_not_acknowledged(
    elsewhere: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = elsewhere("here")
    real = FileStore._content
    monkeypatch.setattr(FileStore, "_content", lambda store, path: (real(store, path) or b"")[:-1])
    with pytest.raises(JournalBusy, match="other bytes"):
        take_in(journal)
    with journal.database.reading() as session:
        assert load_records(session, "photo") == []
    monkeypatch.undo()


def test_a_store_that_does_not_answer_refuses_the_photo_and_says_so(elsewhere: Opened, bucket: Any) -> None:
    journal = elsewhere("here")
    bucket.rm("garden", recursive=True)
    with pytest.raises(JournalBusy, match="does not answer or refuses"):
        take_in(journal)
    with journal.database.reading() as session:
        assert load_records(session, "photo") == []
    assert not list(journal.files.all_originals())
    bucket.mkdir("garden")
    assert take_in(journal)[0]


def test_a_photo_that_was_damaged_in_the_store_is_not_handed_out(elsewhere: Opened, bucket: Any) -> None:
    journal = elsewhere("here")
    _, sha256, _ = take_in(journal)
    shutil.rmtree(journal.files.originals)
    bucket.pipe_file(f"garden/beds/originals/{sha256[:2]}/{sha256}.jpg", b"rot")
    with pytest.raises(JournalDamaged, match="damaged in the photo store"):
        journal.files.original(sha256, ".jpg")


def test_a_journal_moves_into_the_store_and_is_not_opened_without_it(elsewhere: Opened, bucket: Any) -> None:
    before = elsewhere("here", None)  # type: ignore[call-arg]
    contents = [take_in(before, seed)[0] for seed in range(2)]
    elsewhere("here")
    kept = {hashlib.sha256(bucket.cat_file(path)).hexdigest() for path in bucket.find("garden/beds/originals")}
    assert kept == {hashlib.sha256(content).hexdigest() for content in contents}
    for other in (None, "s3://another/place"):
        with pytest.raises(InputRefused, match="--photos s3://garden/beds"):
            elsewhere("here", other)  # type: ignore[call-arg]


def test_who_is_refused_leaves_no_connection_to_the_database_open(
    elsewhere: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere("here")
    closed: list[Database] = []
    real = Database.close
    monkeypatch.setattr(Database, "close", lambda database: (closed.append(database), real(database))[1])
    with pytest.raises(InputRefused):
        elsewhere("here", None)  # type: ignore[call-arg]
    (database,) = closed
    assert database.on_sqlite or database.engine.pool.checkedin() == 0  # type: ignore[attr-defined]


def test_check_and_backup_say_that_the_photos_are_elsewhere(elsewhere: Opened, tmp_path: Path) -> None:
    journal = elsewhere("here")
    take_in(journal)
    report = check_journal(journal.folder, datetime.now(UTC), url=journal.database.url)
    assert report.wrong == 0
    assert any("s3://garden/beds and were not read" in finding.what for finding in report.findings)
    with pytest.raises(InputRefused, match=r"(versioning or|pg_dump)"):
        make_backup(journal, tmp_path / "backup.zip")


@pytest.mark.parametrize("url", ["/tmp/photos", "s3://", "http://example.org/photos"])
def test_an_address_that_is_no_bucket_is_refused(tmp_path: Path, url: str) -> None:
    with pytest.raises(InputRefused, match="s3://bucket/garden"), closing(open_journal(tmp_path, None, url)):
        pass
