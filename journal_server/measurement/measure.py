"""From a photo to its numbers, step by step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from PIL import Image

from journal_server.errors import InputRefused
from journal_server.measurement import colour_segmentation, segmentation
from journal_server.measurement.bloom_colour import colours_of
from journal_server.measurement.card import Card, CardReading, read_cards, search_cards
from journal_server.measurement.card_boxes import likely_card_boxes, may_hold_card
from journal_server.measurement.colour import lab_of_hexes
from journal_server.measurement.frame import Polygon, checked_frame
from journal_server.measurement.grid import PhotoOnGrid
from journal_server.measurement.hand_correction import PaintedMap, Stroke, checked_strokes, paint
from journal_server.measurement.hand_doubt import painted_share, shares_by_hand, with_intervals_by_hand
from journal_server.measurement.intervals import Circumstances, interval
from journal_server.measurement.moment import Moment, moment_of
from journal_server.measurement.photo_file import Photo, PhotoSource, luminance, open_photo, render
from journal_server.measurement.quality import codes_of, look_at, quality_of
from journal_server.measurement.result import BloomColour, Estimate, Measurement
from journal_server.measurement.segmentation import working_size
from journal_server.measurement.shares import BLOOM, CARD, FOLIAGE, Shares, shares_in
from journal_server.measurement.slots import SlotFill, slot_fill
from journal_server.measurement.white import White, estimated_white, white_of_card

Bytes = npt.NDArray[np.uint8]
Floats = npt.NDArray[np.float32]

METHOD_VERSION = "4"
BY_HAND = "corrected by hand"
"""Stands in the name of the method where a person painted over the class map."""
MOST_PLANTS = 200
_DECODED_PIXELS = 1_500_000
# Beyond this a card that is still unread is blurred, not small; more would only take memory.
_SEARCHED_PIXELS = 16_000_000
# Whole pixels are averaged first where that leaves at least this many for each one wanted: twice as fast.
_REDUCING_GAP = 1.5
_FULL_SIZE = 1.01  # decoded so nearly at full size that decoding again shows no more
_LEAST_PIXELS = 10_000
_SMALL_FRAME = 0.04
_SMALL_MODULE_PX = 2.2


@dataclass(frozen=True)
class Drawn:
    """A measurement with the class map it was made from, for drawing it over the photo.

    ``classes`` is float32 (h, w, 6) in the order of ``segmentation.CLASSES``; ``painted`` is the same with what was
    there before a person painted over it, and ``painted_share`` the share of the frame that was.
    """

    measurement: Measurement
    classes: Floats
    circumstances: Circumstances
    segmented_by: str
    painted: PaintedMap | None = None
    painted_share: float = 0.0


def measure_photo(
    photo: PhotoSource,
    *,
    frame: Sequence[Sequence[float]] | None = None,
    bloom_colours: Sequence[str] = (),
    foliage_colours: Sequence[str] = (),
    plants: int | None = None,
    zone: str | None = None,
    correction: Sequence[Stroke] = (),
) -> Measurement:
    """Measure one photo.

    Parameters
    ----------
    photo : path, open binary file, or Pillow image
    frame : points (x, y) in displayed pixels of the polygon the planting is to fill; the whole photo if None
    bloom_colours, foliage_colours : declared colours as ``#rrggbb``
    plants : number of plants in the planter, for the slots
    zone : IANA name of the time zone to assume where the photo's clock gives none; UTC if None
    correction : strokes that a person painted over the class map, see `hand_correction`

    Raises
    ------
    journal_server.errors.PhotoRefused
        If the file is not a photo that can be used.
    journal_server.errors.InputRefused
        If the frame, a colour, the number of plants or a stroke cannot be used.
    """
    return measure_and_draw(
        photo,
        frame=frame,
        bloom_colours=bloom_colours,
        foliage_colours=foliage_colours,
        plants=plants,
        zone=zone,
        correction=correction,
    ).measurement


def measure_and_draw(
    photo: PhotoSource,
    *,
    frame: Sequence[Sequence[float]] | None = None,
    bloom_colours: Sequence[str] = (),
    foliage_colours: Sequence[str] = (),
    plants: int | None = None,
    zone: str | None = None,
    correction: Sequence[Stroke] = (),
    method: str | None = None,
) -> Drawn:
    """`measure_photo`, with the class map beside the numbers. ``method="colour"`` asks for colour alone."""
    bloom_lab = _declared(bloom_colours, "bloom_colours")
    foliage_lab = _declared(foliage_colours, "foliage_colours")
    _check_plants(plants)
    strokes = checked_strokes(correction)
    opened = open_photo(photo)
    polygon = _frame_or_all(frame, opened)
    decoded = render(opened, min_pixels=_DECODED_PIXELS)
    small = _shrunk(decoded)
    classes, segmented_by = segmentation_of(small, bloom_lab, foliage_lab, method)
    seen = classes[..., CARD] if segmented_by != colour_segmentation.METHOD else None
    reading = _read_card(opened, decoded, seen)
    painted = paint(classes, strokes, opened.width, opened.height) if strokes else None
    counted = painted.after if painted else classes
    grid = PhotoOnGrid.of(opened, decoded, small, counted, polygon, framed=frame is not None)
    drawn = _drawn(grid, reading, moment_of(opened, zone), segmented_by, bloom_lab, foliage_lab, plants, painted)
    return drawn if painted is None else _by_hand(drawn, grid, painted, plants)


def _by_hand(drawn: Drawn, grid: PhotoOnGrid, painted: PaintedMap, plants: int | None) -> Drawn:
    measurement = with_intervals_by_hand(drawn.measurement, painted, grid, drawn.segmented_by, plants)
    measurement = replace(measurement, method=f"{measurement.method}, {BY_HAND}")
    return replace(drawn, measurement=measurement, painted=painted, painted_share=painted_share(painted, grid.frame))


def _drawn(
    grid: PhotoOnGrid,
    reading: CardReading,
    moment: Moment,
    segmented_by: str,
    bloom_lab: Floats,
    foliage_lab: Floats,
    plants: int | None,
    painted: PaintedMap | None,
) -> Drawn:
    card = reading.cards[0] if reading.cards else None
    white = _white(grid, card)
    shares = shares_by_hand(painted, grid.frame) if painted else shares_in(grid.classes, grid.frame)
    look = look_at(grid.small, grid.frame, grid.canopy, grid.megapixels)
    seen = grid.circumstances(shares, look, declared=bool(len(bloom_lab)), card=card is not None)
    slots = slot_fill(grid.canopy, grid.frame, grid.polygon, plants) if plants else None
    bloom, foliage, colour_reasons = _colours(grid, white, foliage_lab)
    estimates, reasons = _estimates(shares, slots, seen, segmented_by, plants)
    codes = codes_of(look) + _codes(grid, reading, shares, white, moment, segmented_by)
    measurement = Measurement(
        photo=grid.photo.name,
        method=f"{segmented_by}, measure {METHOD_VERSION}",
        taken_at=moment.taken_at,
        taken_at_source=moment.source,
        width=grid.photo.width,
        height=grid.photo.height,
        tag=card.code if card else None,
        card_corners=_points(card.corners) if card else None,
        white_reference=white.source,
        **estimates,
        slots=slots.fill if slots else None,
        bloom_colour=bloom,
        foliage_colour=foliage,
        quality=quality_of(codes, {"time_doubtful": moment.note} if moment.note else None),
        reasons={**reasons, **colour_reasons, **_reasons_without(card, moment)},
        other_tags=tuple(c.code for c in reading.cards[1:]) + reading.other_codes,
        lagging_slot=slots.lagging if slots else None,
    )
    return Drawn(measurement, grid.classes, seen, segmented_by)


def _declared(colours: Sequence[str], field: str) -> Floats:
    if isinstance(colours, str):
        colours = (colours,)
    try:
        return lab_of_hexes(tuple(colours))
    except (TypeError, ValueError) as error:
        raise InputRefused(f"A colour must be written as #rrggbb: {error}.", field) from error


def _check_plants(plants: int | None) -> None:
    whole = isinstance(plants, int) and not isinstance(plants, bool)
    if plants is not None and not (whole and 1 <= plants <= MOST_PLANTS):
        raise InputRefused(f"The number of plants must be a whole number from 1 to {MOST_PLANTS}.", "plants")


def _frame_or_all(frame: Sequence[Sequence[float]] | None, photo: Photo) -> Polygon:
    width, height = photo.width, photo.height
    if frame is None:
        return np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    return checked_frame(frame, width, height)


def _shrunk(decoded: Image.Image) -> Bytes:
    """The picture at the size that is segmented, where it is much larger; all steps but the card's use this one."""
    size = working_size(*decoded.size)
    if decoded.width > 2 * size[0]:
        return np.asarray(decoded.resize(size, Image.Resampling.BOX, reducing_gap=_REDUCING_GAP))
    return np.asarray(decoded)


def segmentation_of(
    srgb: Bytes, bloom_lab: Floats, foliage_lab: Floats, method: str | None = None
) -> tuple[Floats, str]:
    """Class probabilities and the name of the method: the learned one, or colour alone where it cannot run."""
    if method != "colour":
        try:
            return segmentation.segment(srgb, bloom_lab, foliage_lab), segmentation.METHOD
        except (ImportError, FileNotFoundError):
            # No runtime or no weights on this machine: colour alone still works, and the result says so.
            pass
    return colour_segmentation.segment(srgb, bloom_lab, foliage_lab), colour_segmentation.METHOD


def _read_card(photo: Photo, decoded: Image.Image, seen: Floats | None) -> CardReading:
    """The card, in displayed pixels: first in what is decoded anyway, then at full size where one is seen to stand.

    ``seen`` is the probability of card, (h, w); None where the method does not tell cards.
    """
    grey = np.asarray(decoded.convert("L"))
    scale = photo.width / grey.shape[1]
    reading = read_cards(grey, enlarge=False)
    if not reading.cards and (seen is None or may_hold_card(seen)):
        if scale > _FULL_SIZE:
            grey = luminance(photo, _SEARCHED_PIXELS)
            scale = photo.width / grey.shape[1]
        found = read_cards(grey) if seen is None else search_cards(grey, likely_card_boxes(seen, grey))
        reading = CardReading(found.cards, reading.other_codes or found.other_codes)
    return CardReading(tuple(card.scaled(scale) for card in reading.cards), reading.other_codes)


def _white(grid: PhotoOnGrid, card: Card | None) -> White:
    if card is None:
        return estimated_white()
    there = card.scaled(grid.decoded.width / grid.photo.width)
    left, top = np.maximum(np.floor(there.corners.min(axis=0)).astype(int) - 1, 0).tolist()
    right, bottom = np.ceil(there.corners.max(axis=0)).astype(int).tolist()
    around = grid.decoded.crop((left, top, min(right + 2, grid.decoded.width), min(bottom + 2, grid.decoded.height)))
    # A card whose patches cannot be told apart gives a warning, but no white.
    return white_of_card(np.asarray(around), there.moved(-left, -top).pose) or estimated_white(flat=True)


def _colours(
    grid: PhotoOnGrid, white: White, foliage_lab: Floats
) -> tuple[BloomColour | None, BloomColour | None, dict[str, str]]:
    if grid.photo.greyscale:
        sentence = "The photo has no colours."
        return None, None, {"bloom_colour": sentence, "foliage_colour": sentence}
    bloom_weights, foliage_weights = (grid.classes[..., kind] * grid.frame for kind in (BLOOM, FOLIAGE))
    bloom, foliage = colours_of(grid.small, bloom_weights, foliage_weights, white, foliage_lab)
    reasons = {}
    for kind, colour in (("bloom", bloom), ("foliage", foliage)):
        if colour is None:
            reasons[f"{kind}_colour"] = f"Too little {kind} is seen inside the frame to read its colour."
    return bloom, foliage, reasons


def _codes(
    grid: PhotoOnGrid, reading: CardReading, shares: Shares, white: White, moment: Moment, segmented_by: str
) -> list[str]:
    found = {
        "too_small": grid.photo.width * grid.photo.height < _LEAST_PIXELS,
        "greyscale": grid.photo.greyscale,
        "profile_unfit": grid.photo.profile_unfit,
        "frame_missing": not grid.framed,
        "cut_off": grid.framed and grid.cut_off,
        "frame_small": grid.framed and float(grid.frame.mean()) < _SMALL_FRAME,
        "no_plant": "bloom_cover" in shares.reasons,
        "no_card": not reading.cards,
        "card_small": bool(reading.cards) and reading.cards[0].module_px < _SMALL_MODULE_PX,
        "card_clipped": white.clipped,
        "card_flat": white.flat,
        "several_cards": len(reading.cards) > 1,
        "time_doubtful": moment.doubtful,
        "colour_only": segmented_by == colour_segmentation.METHOD,
    }
    return [code for code, holds in found.items() if holds]


def _reasons_without(card: Card | None, moment: Moment) -> dict[str, str]:
    reasons = {}
    if card is None:
        reasons["tag"] = reasons["card_corners"] = "No card could be read in the photo."
    if moment.taken_at is None:
        reasons["taken_at"] = reasons["taken_at_source"] = moment.note or "The photo holds no date."
    return reasons


def _estimates(
    shares: Shares, slots: SlotFill | None, seen: Circumstances, segmented_by: str, plants: int | None
) -> tuple[dict[str, Estimate | None], dict[str, str]]:
    values = {
        "canopy_fill": shares.canopy_fill,
        "bloom_cover": shares.bloom_cover,
        "flower_to_leaf": shares.flower_to_leaf,
        "spent_share": shares.spent_share,
        "evenness": slots.evenness if slots else None,
    }
    reasons = dict(shares.reasons)
    if slots is None:
        reasons["slots"] = "The number of plants is not given."
        reasons["evenness"] = reasons["slots"]
    elif slots.evenness is None:
        reasons["evenness"] = (
            "One plant has nothing to be even with." if plants == 1 else "Hardly any plant is seen inside the frame."
        )
    estimates: dict[str, Estimate | None] = {
        name: None if value is None else interval(name, value, seen, segmented_by) for name, value in values.items()
    }
    estimates["spill_cm"] = None
    reasons["spill_cm"] = "This version does not measure how far the plants hang below the rim."
    return estimates, reasons


def _points(corners: npt.NDArray[np.float64]) -> tuple[tuple[float, float], ...]:
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in corners)
