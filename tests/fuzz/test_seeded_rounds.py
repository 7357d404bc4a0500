"""A few hundred rounds of what the fuzzers do, from a seed and without coverage, so that they keep running."""

from __future__ import annotations

import random

from flask.testing import FlaskClient
from fuzz import changes, intake
from hostile_photos import sound_files


def test_damaged_photos_end_as_pixels_or_refused() -> None:
    rng = random.Random(7)
    for _ in range(150):
        damaged = bytearray(rng.choice(list(sound_files().values())))
        for _ in range(rng.choice((1, 8))):
            damaged[rng.randrange(len(damaged))] = rng.randrange(256)
        intake.one(bytes(damaged))


def test_changes_at_random_are_answered_in_shape(client: FlaskClient) -> None:
    changes.rounds(client, 150)
