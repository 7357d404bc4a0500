from typing import Any

import numpy as np
from made_photos import jpeg

from journal_server.measurement.class_map import classes_at, likeliest_png, read_likeliest
from journal_server.measurement.measure import measure_and_draw
from journal_server.measurement.segmentation import CLASSES
from journal_server.services.class_maps import class_map
from journal_server.services.journal import Journal
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.measuring_inputs import plan_measuring
from journal_server.services.take_in_photo import take_in_photo


def kept_files(journal: Journal, photo_id: str) -> Any:
    job = plan_measuring(journal, photo_id)
    assert job is not None
    return journal.files.derived_file(job.sha256, job.classes_name), job


def test_the_class_map_is_kept_beside_the_numbers_and_made_again_where_it_is_gone(journal: Journal) -> None:
    photo_id = take_in_photo(journal, jpeg("2026:06:12 10:14:03"), "one.jpg").photo.id
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()
    file, job = kept_files(journal, photo_id)
    first = class_map(journal, photo_id)
    assert first is not None
    assert (first == np.argmax(measure_and_draw(job.path).classes, axis=2)).all()
    file.unlink()
    again = class_map(journal, photo_id)
    assert again is not None
    assert (again == first).all()
    assert file.exists(), "kept for the next time"


def test_there_is_none_without_the_photo(journal: Journal) -> None:
    assert class_map(journal, "none") is None
    photo_id = take_in_photo(journal, jpeg("2026:06:12 10:14:03"), "one.jpg").photo.id
    _, job = kept_files(journal, photo_id)
    journal.files.original(job.sha256, ".jpg").unlink()
    assert class_map(journal, photo_id) is None


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
