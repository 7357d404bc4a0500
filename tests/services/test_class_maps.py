from typing import Any

import numpy as np
from conftest import SetUp
from made_photos import jpeg

from journal_server.measurement.class_map import classes_at, likeliest_png, read_likeliest
from journal_server.measurement.measure import measure_and_draw
from journal_server.measurement.segmentation import CLASSES
from journal_server.services.class_maps import class_map
from journal_server.services.journal import Journal
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.measuring_inputs import plan_measuring
from journal_server.services.take_in_photo import take_in_photo
from journal_server.storage.records import all_measurements


def measure_all(journal: Journal) -> None:
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()


def stored(journal: Journal) -> list[dict[str, Any]]:
    with journal.database.reading() as session:
        return [row["fields"]["numbers"] for row in all_measurements(session)]


def kept_files(journal: Journal, photo_id: str) -> Any:
    job = plan_measuring(journal, photo_id)
    assert job is not None
    return journal.files.derived_file(job.sha256, job.classes_name), job


def test_the_class_map_is_kept_and_made_again_once_a_count_asks_for_it(journal: Journal, set_up: SetUp) -> None:
    photo_id = take_in_photo(journal, jpeg("2026:06:12 10:14:03"), "one.jpg").photo.id
    measure_all(journal)
    file, job = kept_files(journal, photo_id)
    first = class_map(journal, job)
    assert first is not None
    assert (first == np.argmax(measure_and_draw(job.path).classes, axis=2)).all()
    file.unlink()
    assert class_map(journal, job) is None
    numbers = stored(journal)
    points = [[1.0, 1.0]] * 50
    begun = {"photo_id": photo_id, "points": points, "answers": "f" * 50, "seed": 1, "counted_on": "2026-07-01"}
    count_id = set_up.make("point_count", **begun)
    measure_all(journal)
    assert not file.exists(), "a count that is not ended asks for nothing"
    set_up.edit("point_count", count_id, ended=True)
    measure_all(journal)
    again = class_map(journal, job)
    assert again is not None
    assert (again == first).all()
    assert stored(journal) == numbers, "nothing is measured anew"


def test_the_likeliest_class_comes_back_from_its_file_and_is_found_at_points() -> None:
    classes = np.zeros((2, 3, len(CLASSES)), np.float32)
    places = [[0, 1, 2], [3, 4, 5]]
    for row, column in np.ndindex(2, 3):
        classes[row, column, places[row][column]] = 1
    found = read_likeliest(likeliest_png(classes))
    assert found.tolist() == places
    # 300 x 200 displayed pixels, so that each pixel of the map is 100 wide and high
    corners = [(0, 0), (99.9, 99.9), (100, 0), (250, 50), (0, 100), (199, 199.9), (300, 200), (-5, -5), (400, 150)]
    assert classes_at(found, corners, 300, 200) == [0, 0, 1, 2, 3, 4, 5, 0, 5]
