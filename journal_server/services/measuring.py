"""Measuring in processes of their own: one that crashes, hangs or runs out of memory costs one photo, not the rest."""

from __future__ import annotations

import logging
import os
import signal
import threading
import time
import uuid
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Protocol

from sqlalchemy.orm import Session

from journal_server.errors import JournalError
from journal_server.services.child_process import ChildProcess, EndedUnexpectedly, TookTooLong
from journal_server.services.journal import Journal
from journal_server.services.matching import rematch
from journal_server.services.measuring_inputs import MeasureJob, MeasureOutcome, plan_measuring
from journal_server.services.measuring_process import serve_jobs
from journal_server.services.method_change import ask_anew_after_update
from journal_server.storage.claims import RENEW_S, claim_next, give_up, renew
from journal_server.storage.records import (
    Record,
    find_measurement,
    load_record,
    load_records,
    save_measurement,
    save_record,
)

LONGEST_S = 180.0
"""A photo that takes longer is given up; the largest accepted ones take a few seconds."""

log = logging.getLogger(__name__)


class Worker(Protocol):
    """Measures one photo at a time, somewhere."""

    def measure(self, job: MeasureJob) -> MeasureOutcome:
        """Whatever happens to what measures, an outcome comes back."""

    def stop(self) -> None: ...


class WorkerProcess:
    """One child process that measures; replaced when it dies or is ended for taking too long."""

    def __init__(self, target: Callable[[Connection], None] = serve_jobs, longest_s: float = LONGEST_S) -> None:
        self._longest_s = longest_s
        self._child = ChildProcess(target, longest_s)

    @property
    def pid(self) -> int | None:
        return self._child.pid

    def measure(self, job: MeasureJob) -> MeasureOutcome:
        """Measure one photo; whatever happens to the process, an outcome comes back."""
        try:
            outcome = self._child.ask(job)
        except TookTooLong:
            return MeasureOutcome(failure=f"Measuring took over {self._longest_s:.0f} seconds and was ended.")
        except EndedUnexpectedly as ended:
            return MeasureOutcome(failure=_how_it_ended(ended.code))
        assert isinstance(outcome, MeasureOutcome)
        return outcome

    def stop(self) -> None:
        self._child.stop()


def _how_it_ended(code: int | None) -> str:
    says = f"The measuring process ended unexpectedly (exit code {code})."
    if code is not None and code == -signal.SIGKILL:
        says += " The system may have ended it because memory ran out; try the photo again when less is running."
    return says


class MeasuringRoom:
    """Measures every photo that waits, on a few worker processes, until told to stop."""

    def __init__(self, journal: Journal, workers: Sequence[Worker] | None = None):
        self.journal = journal
        self._claims: set[str] = set()
        """Tokens of the claims on the photos that are being measured here."""
        self._wake = threading.Event()
        self._stopping = threading.Event()
        usual = max(1, min(4, os.cpu_count() or 1))
        self._workers = [WorkerProcess() for _ in range(usual)] if workers is None else workers
        self._threads = [threading.Thread(target=self._work, args=(w,), daemon=True) for w in self._workers]
        self._threads.append(threading.Thread(target=self._keep_claims, daemon=True))

    def start(self) -> None:
        ask_anew_after_update(self.journal)
        for thread in self._threads:
            thread.start()

    def wake(self) -> None:
        self._wake.set()

    def stop(self) -> None:
        self._stopping.set()
        self._wake.set()
        for worker in self._workers:
            worker.stop()
        for thread in self._threads:
            if thread.is_alive():
                thread.join(timeout=5)

    def run_until_done(self, tell: Callable[[int, int], None] = lambda done, total: None) -> None:
        """Measure all that waits and return; ``tell(done, total)`` is called as it goes on."""
        self.start()
        total = len(self._waiting())
        try:
            while True:
                left = len(self._waiting())
                tell(max(0, total - left), total)
                if left == 0 and not self._claims:
                    return
                time.sleep(0.2)
        finally:
            self.stop()

    def _waiting(self) -> list[str]:
        with self.journal.database.reading() as session:
            return [p.id for p in load_records(session, "photo", equals={"measuring": "waiting"})]

    def _work(self, worker: Worker) -> None:
        while not self._stopping.is_set():
            try:
                if not self._measure_next(worker):
                    self._wake.wait(timeout=2.0)
                    self._wake.clear()
            except JournalError as error:  # a disk or database that takes nothing for a while
                log.warning("Measuring waits: %s", error)
                time.sleep(2.0)
            except Exception:  # the room must outlive any one photo; it keeps waiting and is tried again
                log.exception("measuring failed outside the worker")
                time.sleep(2.0)

    def _measure_next(self, worker: Worker) -> bool:
        """Measure a photo that waits; False where none does. One that cannot be stored goes on waiting."""
        token = str(uuid.uuid4())
        with self.journal.database.claiming() as session:
            photo_id = claim_next(session, token)
        if photo_id is None:
            return False
        self._claims.add(token)
        try:
            self._measure_one(worker, photo_id, token)
        finally:
            self._claims.discard(token)
            with self.journal.database.claiming() as session:
                give_up(session, photo_id, token)
        return True

    def _keep_claims(self) -> None:
        while not self._stopping.wait(RENEW_S):
            held = list(self._claims)
            try:
                if held:
                    with self.journal.database.claiming() as session:
                        renew(session, held)
            except JournalError as error:
                log.warning("Claims on photos could not be renewed: %s", error)

    def _measure_one(self, worker: Worker, photo_id: str, token: str) -> None:
        job = plan_measuring(self.journal, photo_id)
        if job is None:
            return
        with self.journal.database.reading() as session:
            known = find_measurement(session, photo_id, job.inputs_hash) is not None
        names = [name for one in (job, job.uncorrected) for name in (one.overlay_name, one.classes_name)]
        pictures_there = all(self.journal.files.derived_file(job.sha256, name).exists() for name in names)
        if known and pictures_there:
            outcome = MeasureOutcome()
        else:
            self._bring_photos(job)
            outcome = worker.measure(job)
            if self._stopping.is_set():
                return
        self._store(job, token, outcome, known)

    def _bring_photos(self, job: MeasureJob) -> None:
        """Both, where photos are kept elsewhere: the workers read them from the folder."""
        for path in (Path(job.path), *([Path(job.frame.path)] if job.frame else ())):
            self.journal.files.original(path.stem, path.suffix)

    def _store(self, job: MeasureJob, token: str, outcome: MeasureOutcome, known: bool) -> None:
        for name, made in (
            (job.overlay_name, outcome.overlay),
            (job.classes_name, outcome.classes),
            (job.uncorrected.overlay_name, outcome.overlay_uncorrected),
            (job.uncorrected.classes_name, outcome.classes_uncorrected),
        ):
            if made is not None:
                self.journal.files.keep_derived(job.sha256, name, made)
        with self.journal.database.writing() as session:
            photo = load_record(session, job.photo_id)
            if photo is None or not give_up(session, photo.id, token):
                return  # another process has it by now, since this one was held up for too long
            if outcome.numbers is not None or known:
                save_measurement(session, **_columns(job, outcome))
            _note_card_found(session, photo, outcome.numbers)
            state = "done" if outcome.failure is None else "failed"
            again = plan_measuring(self.journal, job.photo_id, session)
            if again is not None and again.inputs_hash != job.inputs_hash:
                state = "waiting"  # what it rests on changed while it was measured
            save_record(session, "photo", photo.id, {"measuring": state, "measuring_note": outcome.failure})


def _note_card_found(session: Session, photo: Record, numbers: dict[str, Any] | None) -> None:
    """Measuring searches longer for a card than taking in does; what it found is matched like any card."""
    if numbers is None or photo.fields["tags"] or not numbers.get("tag"):
        return
    found = {"tag": numbers["tag"], "tags": [numbers["tag"]], "card_corners": numbers["card_corners"]}
    save_record(session, "photo", photo.id, found)
    taken_at = photo.fields["taken_at"]
    rematch(session, {datetime.fromisoformat(taken_at).date() if taken_at else None})


def _columns(job: MeasureJob, outcome: MeasureOutcome) -> dict[str, Any]:
    numbers = outcome.numbers or {}
    return {
        "id": job.measurement_id,
        "photo_id": job.photo_id,
        "planting_id": job.planting_id,
        "inputs_hash": job.inputs_hash,
        "basis_hash": job.basis_hash,
        "method": job.method,
        "numbers": numbers,
        "frame_polygon": outcome.frame_polygon,
        "frame_how": outcome.frame_how,
        "measured_at": datetime.now(UTC).isoformat(timespec="seconds"),
    }
