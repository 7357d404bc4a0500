"""A fixed sample of hostile files through the real intake; `python tests/hostile_photos.py` sends thousands."""

from __future__ import annotations

import hostile_photos
from flask.testing import FlaskClient


def test_every_hostile_file_is_taken_in_and_shown_or_refused_with_a_sentence(client: FlaskClient) -> None:
    light = [file for file in hostile_photos.hostile_files(330) if file.kind not in hostile_photos.HEAVY][:300]
    assert len(light) == 300
    assert {file.kind for file in light} == set(hostile_photos.MAKERS) - set(hostile_photos.HEAVY)
    outcomes = [(file.kind, file.name[:40], hostile_photos.send(client, file)) for file in light]
    assert not [told for told in outcomes if not hostile_photos.is_well(told[2])]
    assert not [told for told in outcomes if told[2].seconds > hostile_photos.SECONDS_A_FILE]
    taken_in = sum(told[2].status in (200, 201) for told in outcomes)
    assert 50 < taken_in < 250
