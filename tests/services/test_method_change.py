from typing import Any

import pytest
from made_photos import jpeg

from journal_server.services import measuring_inputs, method_change
from journal_server.services.journal import Journal
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.method_change import ask_anew_after_update, describe_method_change
from journal_server.services.take_in_photo import take_in_photo
from journal_server.storage.records import all_measurements, load_records, save_measurement, save_record


def older(row: dict[str, Any], canopy: float) -> dict[str, Any]:
    """The same photo's row as an earlier version of the method would have left it."""
    columns = {name: row["fields"][name] for name in row["fields"]}
    columns |= {"id": "0" * 36, "method": "learned 0, measure 0", "inputs_hash": "0" * 64}
    estimate = {"value": canopy, "low": canopy, "high": canopy}
    return columns | {"numbers": columns["numbers"] | {"canopy_fill": estimate}}


def test_a_new_method_measures_anew_keeps_the_old_and_says_what_changed(journal: Journal) -> None:
    take_in_photo(journal, jpeg("2026:06:12 10:14:03"), "a.jpg")
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()
    assert describe_method_change(journal)["changes"] is None
    with journal.database.writing() as session:
        (row,) = all_measurements(session)
        save_measurement(session, **older(row, canopy=0.25))
    assert ask_anew_after_update(journal) == 1
    with journal.database.reading() as session:
        assert [p.fields["measuring"] for p in load_records(session, "photo")] == ["waiting"]
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()
    said = describe_method_change(journal)
    with journal.database.reading() as session:
        newest, older_row = all_measurements(session)[-1], all_measurements(session)[0]
    assert newest["fields"]["method"] == measuring_inputs.METHOD == method_change.METHOD
    assert older_row["fields"]["numbers"]["canopy_fill"]["value"] == 0.25, "the old numbers are kept"
    now = newest["fields"]["numbers"]["canopy_fill"]["value"]
    assert said["photos"] == 1
    assert said["changes"]["canopy_fill"]["most"] == pytest.approx(now - 0.25)
    assert said["changes"]["canopy_fill"]["most_photo"] == "a.jpg"
    assert ask_anew_after_update(journal) == 0


def test_photos_by_the_present_method_are_left_alone(journal: Journal) -> None:
    take_in_photo(journal, jpeg("2026:06:12 10:14:03"), "a.jpg")
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()
    assert ask_anew_after_update(journal) == 0
    with journal.database.writing() as session:
        (photo,) = load_records(session, "photo")
        save_record(session, "photo", photo.id, {"measuring": "failed"})
    assert ask_anew_after_update(journal) == 0, "a failure is not tried again at every start"
