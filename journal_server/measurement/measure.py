"""From a photo to its numbers, step by step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from journal_server.errors import InputRefused
from journal_server.measurement import colour_segmentation
from journal_server.measurement.bloom_colour import colour_of
from journal_server.measurement.card import Card, CardReading, read_cards, search_cards
from journal_server.measurement.card_boxes import likely_card_boxes
from journal_server.measurement.colour import lab_of_hexes, srgb_to_linear
from journal_server.measurement.frame import checked_frame, coverage
from journal_server.measurement.intervals import Circumstances, interval
from journal_server.measurement.moment import moment_of
from journal_server.measurement.photo_file import Photo, PhotoSource, luminance, open_photo, render
from journal_server.measurement.quality import codes_of, look_at, quality_of
from journal_server.measurement.result import BloomColour, Estimate, Measurement
from journal_server.measurement.shares import CARD, FOLIAGE, SPENT, Shares, shares_in
from journal_server.measurement.slots import SlotFill, slot_fill
from journal_server.measurement.white import White, estimated_white, white_of_card

Bytes = npt.NDArray[np.uint8]
Floats = npt.NDArray[np.float32]

METHOD_VERSION = "1"
_DECODED_PIXELS = 1_500_000
MOST_PLANTS = 200


@dataclass(frozen=True)
class Drawn:
    """A measurement with the class map it was made from, for drawing it over the photo.

    ``classes`` is float32 (h, w, 6) in the order of ``segmentation.CLASSES``.
    """

    measurement: Measurement
    classes: Floats


def measure_photo(
    photo: PhotoSource,
    *,
    frame: Sequence[Sequence[float]] | None = None,
    bloom_colours: Sequence[str] = (),
    foliage_colours: Sequence[str] = (),
    plants: int | None = None,
    zone: str | None = None,
) -> Measurement:
    """Measure one photo.

    Parameters
    ----------
    photo : path, open binary file, or Pillow image
    frame : points (x, y) in displayed pixels of the polygon the planting is to fill; the whole photo if None
    bloom_colours, foliage_colours : declared colours as ``#rrggbb``
    plants : number of plants in the planter, for the slots
    zone : IANA name of the time zone to assume where the photo's clock gives none; UTC if None

    Raises
    ------
    journal_server.errors.PhotoRefused
        If the file is not a photo that can be used.
    journal_server.errors.InputRefused
        If the frame, a colour or the number of plants cannot be used.
    """
    return measure_and_draw(
        photo, frame=frame, bloom_colours=bloom_colours, foliage_colours=foliage_colours, plants=plants, zone=zone
    ).measurement


def measure_and_draw(
    photo: PhotoSource,
    *,
    frame: Sequence[Sequence[float]] | None = None,
    bloom_colours: Sequence[str] = (),
    foliage_colours: Sequence[str] = (),
    plants: int | None = None,
    zone: str | None = None,
    method: str | None = None,
) -> Drawn:
    """`measure_photo`, with the class map beside the numbers. ``method="colour"`` asks for colour alone."""
    bloom_lab = _declared(bloom_colours, "bloom_colours")
    foliage_lab = _declared(foliage_colours, "foliage_colours")
    _check_plants(plants)
    opened = open_photo(photo)
    polygon = _frame_or_all(frame, opened)
    srgb = np.asarray(render(opened, min_pixels=_DECODED_PIXELS))
    classes, segmented_by = _segment(srgb, bloom_lab, foliage_lab, method)
    reading = _read_card(opened, srgb, classes)
    scene = _Scene.of(opened, srgb, classes, polygon, framed=frame is not None)
    return Drawn(_measured(scene, reading, segmented_by, bool(len(bloom_lab)), plants, zone), classes)


@dataclass(frozen=True)
class _Scene:
    """One photo on the grid of its class map."""

    photo: Photo
    decoded: Bytes
    small: Bytes
    classes: Floats
    frame: Floats
    polygon: npt.NDArray[np.float64]
    framed: bool

    @classmethod
    def of(
        cls, photo: Photo, decoded: Bytes, classes: Floats, polygon: npt.NDArray[np.float64], framed: bool
    ) -> _Scene:
        height, width = classes.shape[:2]
        scale = width / photo.width, height / photo.height
        small = np.asarray(Image.fromarray(decoded).resize((width, height), Image.Resampling.BOX))
        inside = coverage(polygon, (height, width), scale)
        return cls(photo, decoded, small, classes, inside, polygon * scale, framed)

    @property
    def canopy(self) -> Floats:
        return np.asarray(self.classes[..., FOLIAGE : SPENT + 1].sum(axis=-1))


def _measured(
    scene: _Scene, reading: CardReading, segmented_by: str, declared: bool, plants: int | None, zone: str | None
) -> Measurement:
    photo = scene.photo
    card = reading.cards[0] if reading.cards else None
    white, codes = _white(scene, card)
    shares = shares_in(scene.classes, scene.frame)
    seen, look_codes = _circumstances(scene, shares, declared, card)
    slots = slot_fill(scene.canopy, scene.frame, scene.polygon, plants) if plants else None
    bloom, foliage, colour_reasons = _colours(scene, white)
    moment = moment_of(photo, zone)
    codes = _all_codes(scene, reading, shares, segmented_by, moment.doubtful, look_codes + codes)
    estimates, reasons = _estimates(shares, slots, seen, segmented_by, plants)
    reasons = {**reasons, **colour_reasons}
    if moment.taken_at is None:
        reasons["taken_at"] = moment.note or "The photo holds no date."
    if card is None:
        reasons["tag"] = "No card could be read in the photo."
        reasons["card_corners"] = reasons["tag"]
    return Measurement(
        photo=photo.name,
        method=f"{segmented_by}, measure {METHOD_VERSION}",
        taken_at=moment.taken_at,
        taken_at_source=moment.source,
        width=photo.width,
        height=photo.height,
        tag=card.code if card else None,
        card_corners=_points(card.corners) if card else None,
        white_reference=white.source,
        **estimates,
        slots=slots.fill if slots else None,
        bloom_colour=bloom,
        foliage_colour=foliage,
        quality=quality_of(codes, {"time_doubtful": moment.note} if moment.note else None),
        reasons=reasons,
        other_tags=tuple(c.code for c in reading.cards[1:]) + reading.other_codes,
        lagging_slot=slots.lagging if slots else None,
    )


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


def _frame_or_all(frame: Sequence[Sequence[float]] | None, photo: Photo) -> npt.NDArray[np.float64]:
    width, height = photo.width, photo.height
    if frame is None:
        return np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    return checked_frame(frame, width, height)


def _segment(srgb: Bytes, bloom_lab: Floats, foliage_lab: Floats, method: str | None) -> tuple[Floats, str]:
    if method != "colour":
        try:
            from journal_server.measurement import segmentation

            return segmentation.segment(srgb, bloom_lab, foliage_lab), segmentation.METHOD
        except (ImportError, FileNotFoundError):
            # No runtime or no weights on this machine: colour alone still works, and the result says so.
            pass
    return colour_segmentation.segment(srgb, bloom_lab, foliage_lab), colour_segmentation.METHOD


def _read_card(photo: Photo, decoded: Bytes, classes: Floats) -> CardReading:
    """The card, in displayed pixels: first in what is decoded anyway, then at full size where it hides."""
    grey = np.asarray(Image.fromarray(decoded).convert("L"))
    scale = photo.width / grey.shape[1]
    reading = read_cards(grey)
    if not reading.cards:
        if scale > 1.01:
            grey, scale = luminance(photo), 1.0
            reading = read_cards(grey)
        if not reading.cards:
            found = search_cards(grey, likely_card_boxes(classes[..., CARD], grey))
            reading = CardReading(found.cards, reading.other_codes)
    return CardReading(tuple(card.scaled(scale) for card in reading.cards), reading.other_codes)


def _white(scene: _Scene, card: Card | None) -> tuple[White, list[str]]:
    white = None
    if card is not None:
        scale = scene.decoded.shape[1] / scene.photo.width
        white = white_of_card(scene.decoded, card.scaled(scale).pose)
    if white is None:
        return estimated_white(scene.small), []
    return white, ["card_clipped"] * white.clipped + ["card_flat"] * white.flat


def _circumstances(scene: _Scene, shares: Shares, declared: bool, card: Card | None) -> tuple[Circumstances, list[str]]:
    megapixels = scene.photo.width * scene.photo.height / 1e6
    look = look_at(scene.small, scene.frame, scene.canopy, megapixels)
    outside = 1 - scene.frame
    green = scene.small[..., 1].astype(np.int16) > np.maximum(scene.small[..., 0], scene.small[..., 2])
    share_in_frame = float(scene.frame.mean())
    seen = Circumstances(
        canopy_fill=shares.canopy_fill,
        bloom_cover=shares.bloom_cover or 0.0,
        canopy_doubt=shares.canopy_doubt,
        bloom_doubt=shares.bloom_doubt,
        bloom_declared=float(declared),
        card=float(card is not None),
        framed=float(scene.framed),
        green_around=float((green * outside).sum() / max(float(outside.sum()), 1.0)),
        sharpness=look.sharpness,
        brightness=look.brightness,
        clipped=look.clipped,
        light_ratio=look.light_ratio,
        frame_megapixels=share_in_frame * megapixels,
    )
    return seen, codes_of(look)


def _colours(scene: _Scene, white: White) -> tuple[BloomColour | None, BloomColour | None, dict[str, str]]:
    reasons = {}
    linear = srgb_to_linear(scene.small)
    foliage = colour_of(linear, scene.classes[..., 1] * scene.frame, white.gain)
    bloom = colour_of(linear, scene.classes[..., 2] * scene.frame, white.gain)
    if scene.photo.greyscale:
        bloom = foliage = None
    for name, colour in (("bloom_colour", bloom), ("foliage_colour", foliage)):
        if colour is None:
            kind = name.removesuffix("_colour")
            reasons[name] = (
                "The photo has no colours."
                if scene.photo.greyscale
                else f"Too little {kind} is seen to read its colour."
            )
    return bloom, foliage, reasons


def _all_codes(
    scene: _Scene, reading: CardReading, shares: Shares, segmented_by: str, doubtful: bool, found: list[str]
) -> list[str]:
    codes = list(found)
    if not scene.framed:
        codes.append("frame_missing")
    elif _runs_out(scene):
        codes.append("cut_off")
    if scene.framed and float(scene.frame.mean()) < 0.04:
        codes.append("frame_small")
    if not reading.cards:
        codes.append("no_card")
    elif reading.cards[0].module_px < 2.2:
        codes.append("card_small")
    if len(reading.cards) > 1:
        codes.append("several_cards")
    if scene.photo.greyscale:
        codes.append("greyscale")
    if "bloom_cover" in shares.reasons:
        codes.append("no_plant")
    if doubtful:
        codes.append("time_doubtful")
    if segmented_by == colour_segmentation.METHOD:
        codes.append("colour_only")
    return codes


def _runs_out(scene: _Scene) -> bool:
    height, width = scene.frame.shape
    points = scene.polygon
    return bool((points < -0.02 * width).any() or (points > [1.02 * width, 1.02 * height]).any())


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
    reasons["spill_cm"] = "The planter's rim cannot be told from this photo."
    return estimates, reasons


def _points(corners: npt.NDArray[np.float64]) -> tuple[tuple[float, float], ...]:
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in corners)
