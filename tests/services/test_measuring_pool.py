"""Measuring on a real dask cluster on this computer: the same numbers, and a machine that dies costs one photo."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from distributed import LocalCluster
from made_photos import jpeg
from worker_targets import end_or_hang_on_marked

from journal_server.errors import InputRefused, JournalBusy
from journal_server.services.journal import Journal
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.measuring_inputs import MeasureJob, plan_measuring
from journal_server.services.measuring_pool import DaskPool, chosen_workers
from journal_server.services.measuring_process import measure_job
from journal_server.services.take_in_photo import take_in_photo
from journal_server.storage.records import load_records

pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning")
# The cluster's own processes are ended hard on purpose, and complain of it.


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0", silence_logs=60, memory_limit=0
    ) as made:
        yield made


def take_in(journal: Journal, *names: str) -> list[str]:
    return [
        take_in_photo(journal, jpeg(f"2026:06:12 10:1{i}:03", seed=i, size=(320, 240)), name).photo.id
        for i, name in enumerate(names)
    ]


def planned(journal: Journal, photo_id: str) -> MeasureJob:
    job = plan_measuring(journal, photo_id)
    assert job is not None
    return job


def test_a_cluster_measures_what_a_process_here_measures(journal: Journal, cluster: Any) -> None:
    drawn_on, photo = take_in(journal, "a.jpg", "b.jpg")
    with journal.database.reading():
        job = planned(journal, photo)
    pool = DaskPool(cluster.scheduler_address)
    assert len(pool.workers) == 2
    found = pool.workers[0].measure(job)
    assert found.failure is None
    assert found == measure_job(job)
    assert planned(journal, drawn_on).path != job.path
    pool.close()


def test_a_machine_that_dies_or_hangs_costs_one_photo(journal: Journal, cluster: Any) -> None:
    take_in(journal, "a.jpg", "crash.jpg", "b.jpg", "hang.jpg", "c.jpg", "d.jpg")
    pool = DaskPool(cluster.scheduler_address, end_or_hang_on_marked, longest_s=20)
    for worker in pool.workers:
        worker.queued_s = 1
    MeasuringRoom(journal, pool.workers).run_until_done()
    pool.close()
    with journal.database.reading() as session:
        states = {p.fields["file_name"]: p.fields for p in load_records(session, "photo")}
    assert {name for name, fields in states.items() if fields["measuring"] == "done"} == {
        "a.jpg", "b.jpg", "c.jpg", "d.jpg"
    }  # fmt: skip
    assert "The machine" in states["crash.jpg"]["measuring_note"]
    assert "in time" in states["hang.jpg"]["measuring_note"]


def test_a_machine_with_another_version_measures_nothing(journal: Journal, cluster: Any) -> None:
    (photo,) = take_in(journal, "a.jpg")
    pool = DaskPool(cluster.scheduler_address)
    with pytest.raises(JournalBusy, match="another version"):
        pool.workers[0].measure(replace(planned(journal, photo), method="an earlier one"))
    pool.close()


def test_what_workers_may_be_chosen() -> None:
    with chosen_workers(None) as usual, chosen_workers("0") as none, chosen_workers("3") as three:
        assert (usual, none) == (None, [])
        assert three is not None
        assert [type(worker) for worker in three] == [WorkerProcess] * 3
    for wrong in ("-1", "many", "65", "http://example.org", "²"):
        with pytest.raises(InputRefused, match="scheduler"), chosen_workers(wrong):
            pass


def test_a_scheduler_that_does_not_answer_is_said_so() -> None:
    with pytest.raises(JournalBusy, match="does not answer"), chosen_workers("tcp://127.0.0.1:1"):
        pass
