"""What is observed of a planting, each as trait, method and scale."""

from __future__ import annotations

from dataclasses import dataclass

from journal_server.analysis.numbers import DATA_DICTIONARY
from journal_server.analysis.series import SHARE_WORDS, SHARES
from journal_server.domain.records import RATINGS

PHOTO, PERSON = "photo", "person"
MOMENT, DAY = "ISO 8601 moment with offset", "ISO 8601 day"
SHARMA_2005 = (
    "Sharma, G., Wu, W. and Dalal, E. N. (2005), The CIEDE2000 color-difference formula, "
    "Color Research and Application 30(1), 21-30"
)
PLANTS_ALIVE = "plants_alive"


@dataclass(frozen=True)
class Variable:
    id: str
    name: str
    trait: str
    method: str
    method_description: str
    scale: str
    time_scale: str
    reference: str | None = None


_MEANING = {column.name: (column.description, column.unit) for column in DATA_DICTIONARY}
_TRAITS = {
    "canopy_fill": "cover of the space that the planting is expected to fill",
    "bloom_cover": "share of the plant in open bloom",
    "flower_to_leaf": "open bloom in proportion to foliage",
    "spent_share": "share of the plant in spent bloom",
    "spill_cm": "length that hangs below the rim",
    "evenness": "evenness among the plants of the planting",
}
_BY_PHOTO = "every pixel of the photo is classed as bloom, spent bloom, foliage or other"


def _share(name: str) -> Variable:
    description, unit = _MEANING[name]
    return Variable(
        name, SHARE_WORDS[name], _TRAITS[name], f"{PHOTO}: shares of pixel classes",
        f"{_BY_PHOTO}; {description}", unit, MOMENT,
    )  # fmt: skip


_COLOURS = (
    Variable(
        "bloom_hex", "bloom colour", "colour of the open bloom", f"{PHOTO}: colour against a white",
        _MEANING["bloom_hex"][0], "sRGB code (#rrggbb)", MOMENT,
    ),
    Variable(
        "fade_de00", "fade", "change of the bloom's colour over the season", f"{PHOTO}: colour difference",
        _MEANING["fade_de00"][0], "CIEDE2000 units", MOMENT, SHARMA_2005,
    ),
)  # fmt: skip
_RATED = tuple(
    Variable(
        f"rating_{name}", f"{name}, rated", {"overall": "overall impression"}.get(name, name), f"{PERSON}: rating",
        "rated by eye on the walk", "1 to 5, 5 best", DAY,
    )
    for name in RATINGS
)  # fmt: skip
_COUNTED = Variable(
    PLANTS_ALIVE, "plants alive", "survival", f"{PERSON}: count", "living plants counted in the planting", "plants", DAY
)

BY_PHOTO: tuple[Variable, ...] = (*map(_share, SHARES), *_COLOURS)
VARIABLES: tuple[Variable, ...] = (*BY_PHOTO, *_RATED, _COUNTED)
