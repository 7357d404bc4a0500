"""Two photos of one planting: what changed between them, and one laid over the other."""

from __future__ import annotations

import io
import json
import threading
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from journal_server.analysis.differences import (
    COMPARED_SHARES,
    TOO_LITTLE_BLOOM,
    ColourReading,
    Difference,
    colour_differences,
    share_differences,
)
from journal_server.analysis.fade import difference_doubt, usual_leaf_lab
from journal_server.analysis.numbers import PhotoFacts
from journal_server.analysis.series import FOR_ITS_LEAVES, SHARES_OF_BLOOM, SeasonPoint
from journal_server.domain.field_checks import record_id
from journal_server.errors import InputRefused, NotFound
from journal_server.figures.words import estimate_words, signed
from journal_server.measurement.landmarks import View
from journal_server.measurement.photo_file import Photo, luminance, open_photo, render
from journal_server.measurement.registration import VERSION, Registration, lay_over, register, scaled
from journal_server.services.journal import Journal
from journal_server.services.photo_quotes import QuotedPair
from journal_server.services.quotes import Named
from journal_server.services.season import load_season, measurements_that_count, method_of, photo_facts, season_point
from journal_server.storage.records import Record, load_photo_file, load_record

NOT_ALIKE = "one photo was measured in the planting's frame and one as a whole, so the two are different numbers"

SHOWN_PX = 1600
LANDMARK_PIXELS = 400_000

HOW_WORDS = {
    "features": "by what both photos show of wall and planter",
    "features of a plane": "by what both photos show, seen from another side",
    "card": "by the card",
}

_registering = threading.BoundedSemaphore(1)
"""One at a time: it takes most of a second of one processor."""


@dataclass(frozen=True)
class Dated:
    """One photo of the pair: its record, the planting's numbers, its file."""

    photo: Record
    numbers: dict[str, Any] | None
    framed: bool
    method: str | None
    sha256: str
    suffix: str

    @property
    def facts(self) -> PhotoFacts:
        return photo_facts(self.photo, self.method)


def compare_dates(journal: Journal, first_id: str, second_id: str) -> dict[str, Any]:
    """What changed from the first photo to the second, each with interval and verdict, as numbers and as words."""
    first, second = _pair(journal, first_id, second_id)
    not_compared, colours, unknown = _not_alike(first, second), (_colour(first), _colour(second)), TOO_LITTLE_BLOOM
    if _is_foliage_only(journal, first):
        not_compared |= dict.fromkeys(SHARES_OF_BLOOM, FOR_ITS_LEAVES)
        colours, unknown = (None, None), FOR_ITS_LEAVES
    differences = [
        *share_differences(_point(first), _point(second), not_compared),
        *colour_differences(*colours, unknown),
    ]
    season = load_season(journal, first.photo.fields["planting_id"]).season
    quoting = QuotedPair(Named(season.genus, season.cultivar, season.place), *(d.facts for d in (first, second)))
    rows = [_row(one) for one in differences]
    return {
        "planting_id": first.photo.fields["planting_id"],
        "first": _photo_facts(first, quoting),
        "second": _photo_facts(second, quoting),
        "rows": [row | {"quote": quoting.change(row)} for row in rows],
        "colour_doubt": _colour_doubt(journal, first, second),
        "copies": quoting.table(rows).as_dict()["copies"],
    }


def register_photos(journal: Journal, first_id: str, second_id: str) -> dict[str, Any]:
    """How the second photo lies on the first, found once and kept; with a sentence that says how and how well."""
    first, second = _pair(journal, first_id, second_id)
    kept = journal.files.derived_file(first.sha256, f"{_name(second)}.json")
    if kept.exists():
        found: dict[str, Any] = json.loads(kept.read_text(encoding="utf-8"))
        return found
    with _registering:
        result = register(_view(journal, first), _view(journal, second))
    found = _described(result, first)
    journal.files.keep_derived(first.sha256, kept.name.removeprefix(f"{first.sha256}."), json.dumps(found).encode())
    return found


def registered_picture(journal: Journal, first_id: str, second_id: str) -> bytes:
    """The second photo on the place of the first: WebP without metadata, seen through where it does not reach."""
    found = register_photos(journal, first_id, second_id)
    if found["matrix"] is None:
        raise NotFound(found["words"])
    first, second = _pair(journal, first_id, second_id)
    kept = journal.files.derived_file(first.sha256, f"{_name(second)}.webp")
    if kept.exists():
        return kept.read_bytes()
    photo_1, photo_2 = _opened(journal, first), _opened(journal, second)
    picture = render(photo_2, SHOWN_PX)
    shown = min(1.0, SHOWN_PX / max(photo_1.width, photo_1.height))
    size = round(photo_1.width * shown), round(photo_1.height * shown)
    matrix = scaled(np.array(found["matrix"]), shown, picture.width / photo_2.width)
    out = io.BytesIO()
    lay_over(picture, size, matrix).save(out, "WEBP", quality=85, method=3)
    journal.files.keep_derived(first.sha256, f"{_name(second)}.webp", out.getvalue())
    return out.getvalue()


def _pair(journal: Journal, first_id: str, second_id: str) -> tuple[Dated, Dated]:
    """The two photos; they must be different photos of one planting."""
    with journal.database.reading() as session:
        pair = []
        for name, given in (("first", first_id), ("second", second_id)):
            photo_id = _known_form(given)
            photo, file = load_record(session, photo_id), load_photo_file(session, photo_id)
            if photo is None or file is None:
                raise NotFound(f"There is no such {name} photo.")
            measured = measurements_that_count(session, [photo]).get(photo_id)
            numbers = measured["fields"]["numbers"] if measured else None
            framed = bool(measured and measured["fields"]["frame_polygon"])
            pair.append(
                Dated(
                    photo,
                    numbers,
                    framed,
                    method_of(measured["fields"]) if measured else None,
                    file.sha256,
                    file.suffix,
                )
            )
    first, second = pair
    if first.photo.id == second.photo.id:
        raise InputRefused("Choose two different photos.", "second")
    if not first.photo.fields["planting_id"] or first.photo.fields["planting_id"] != second.photo.fields["planting_id"]:
        raise InputRefused("These two photos do not show the same planting; choose two of one planting.", "second")
    return first, second


def _not_alike(first: Dated, second: Dated) -> dict[str, str]:
    """The shares that cannot be compared, since only one of two measured photos has a frame."""
    both = first.numbers is not None and second.numbers is not None
    return dict.fromkeys(COMPARED_SHARES, NOT_ALIKE) if both and first.framed != second.framed else {}


def _is_foliage_only(journal: Journal, dated: Dated) -> bool:
    return load_season(journal, dated.photo.fields["planting_id"]).season.foliage_only


def _known_form(given: str) -> str:
    try:
        return record_id(given)
    except InputRefused:
        raise NotFound("There is no such photo.") from None


def _point(dated: Dated) -> SeasonPoint:
    numbers = dated.numbers or {"quality": {"usable": False}}
    taken_at = dated.photo.fields["taken_at"]
    day = date.fromisoformat(taken_at[:10]) if taken_at else date.min
    return season_point(dated.photo.id, day, numbers)


def _colour(dated: Dated) -> ColourReading | None:
    numbers = dated.numbers
    if numbers is None or not numbers["quality"]["usable"] or not numbers.get("bloom_colour"):
        return None
    colour = numbers["bloom_colour"]
    return ColourReading((colour["lab"][0], colour["lab"][1], colour["lab"][2]), colour["hex"], colour["error_de00"])


def _colour_doubt(journal: Journal, first: Dated, second: Dated) -> str | None:
    """Why part of the colours' difference may be the light; None where nothing speaks for it or no colour is known."""
    if _colour(first) is None or _colour(second) is None:
        return None
    season = load_season(journal, first.photo.fields["planting_id"]).season
    return difference_doubt(_point(first), _point(second), usual_leaf_lab(season))


def _photo_facts(dated: Dated, quoting: QuotedPair) -> dict[str, Any]:
    colour = _colour(dated)
    return {
        "photo_id": dated.photo.id,
        "taken_at": dated.photo.fields["taken_at"],
        "bloom_hex": colour.hex if colour else None,
        "bloom_quote": quoting.colour(dated.facts, dated.numbers) if colour else None,
        "measured": dated.numbers is not None,
    }


def _row(one: Difference) -> dict[str, Any]:
    words: dict[str, str | None] = {
        side: estimate_words(one.name, estimate) if estimate else None
        for side, estimate in (("first_words", one.first), ("second_words", one.second))
    }
    words |= {"change_words": None, "interval": None}
    if one.change:
        words["change_words"] = _in_unit(one.name, one.change.value)
        words["interval"] = f"{_plain(one.name, one.change.low)} to {_plain(one.name, one.change.high)}"
    return one.as_dict() | words


def _in_unit(name: str, change: float) -> str:
    words = _plain(name, change)
    if name not in COMPARED_SHARES:
        return words
    return f"{words} point" if words[1:] == "1" else f"{words} points"


def _plain(name: str, change: float) -> str:
    """A share's change in points, a colour's with one decimal; CIEDE2000 is a distance and has no sign."""
    if name == "de00":
        return f"{change:.1f}"
    return signed(100 * change, 0) if name in COMPARED_SHARES else signed(change, 1)


def _name(second: Dated) -> str:
    return f"under-{second.sha256[:24]}-{VERSION}"


def _opened(journal: Journal, dated: Dated) -> Photo:
    return open_photo(journal.files.original(dated.sha256, dated.suffix))


def _view(journal: Journal, dated: Dated) -> View:
    photo = _opened(journal, dated)
    corners = dated.photo.fields.get("card_corners")
    one_card = corners and len(dated.photo.fields.get("tags") or []) == 1
    return View(
        photo.width, photo.height, np.array(corners, float) if one_card else None, luminance(photo, LANDMARK_PIXELS)
    )


def _described(result: Registration, first: Dated) -> dict[str, Any]:
    if result.matrix is None:
        words = f"The photos could not be laid over each other: {result.reason}. Look at them side by side."
        return {"how": "failed", "matrix": None, "error_share": None, "matches": 0, "words": words}
    width = max(int(first.photo.fields["width"]), int(first.photo.fields["height"]))
    share = (result.error_px or 0.0) / width
    words = (
        f"Laid over each other {HOW_WORDS[result.how]}; things lie within about {100 * share:.1f} % of the photo's "
        "longer side nine times in ten. What stands nearer or farther than the planter shifts more."
    )
    return {
        "how": result.how,
        "matrix": result.matrix.tolist(),
        "error_share": share,
        "matches": result.matches,
        "words": words,
    }
