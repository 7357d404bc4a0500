"""Reading the card: its code, and its four corners in the photo."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import zxingcpp
from PIL import Image, ImageFilter, ImageOps

from journal_server.domain.cards import is_card_code
from journal_server.measurement.card_layout import CODE_CORNERS_MM, CORNERS_MM, MODULES
from journal_server.measurement.card_pose import CardPose, fit_pose, rough_pose

Grey = npt.NDArray[np.uint8]
Box = tuple[int, int, int, int]

_QR = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])
# Enlarging a whole photo of more pixels costs more time than it finds cards.
_MOST_TO_ENLARGE = 6_000_000
_LONGEST_TO_ENLARGE = 16_000
# A card that fills more is blurred or covered, not small.
_MOST_OF_A_PART = 1_500_000
_ENLARGEMENTS = (2.0, 3.0, 4.0)
# Below this the pattern may lie a module off, and another start is tried.
_GOOD_FIT = 0.965
_BINARIZERS = (zxingcpp.Binarizer.LocalAverage, zxingcpp.Binarizer.GlobalHistogram)


@dataclass(frozen=True)
class Card:
    """A card that was read. ``corners`` are pixels of the picture it was read in, from top left, clockwise."""

    code: str
    corners: npt.NDArray[np.float64]
    pose: CardPose
    module_px: float

    def scaled(self, factor: float) -> Card:
        """The same card in the same photo at ``factor`` times the size."""
        matrix = np.diag([factor, factor, 1.0]) @ self.pose.matrix
        return Card(self.code, self.corners * factor, CardPose(matrix, self.pose.fit), self.module_px * factor)

    def moved(self, right: float, down: float) -> Card:
        """The same card in a picture with another origin."""
        matrix = np.array([[1, 0, right], [0, 1, down], [0, 0, 1.0]]) @ self.pose.matrix
        return Card(self.code, self.corners + np.array([right, down]), CardPose(matrix, self.pose.fit), self.module_px)


@dataclass(frozen=True)
class CardReading:
    """Cards from the largest down, and the texts of codes that are no cards of a journal."""

    cards: tuple[Card, ...] = ()
    other_codes: tuple[str, ...] = ()


def read_cards(grey: Grey, *, enlarge: bool = True) -> CardReading:
    """Read every card at the picture's own size, and, where there is none, at twice its size."""
    reading = _gather(grey, [(grey, 1.0, (0, 0))])
    if reading.cards or not enlarge:
        return reading
    if grey.size > _MOST_TO_ENLARGE or max(grey.shape) > _LONGEST_TO_ENLARGE:
        return reading
    larger = _gather(grey, _enlarged_whole(grey))
    return CardReading(larger.cards, larger.other_codes or reading.other_codes)


def search_cards(grey: Grey, boxes: Iterable[Box]) -> CardReading:
    """Search again inside ``boxes`` (left, top, right, bottom) where a card is thought to be."""
    for box in boxes:
        reading = _gather(grey, _views_of_part(grey, box))
        if reading.cards:
            return reading
    return CardReading()


def _gather(grey: Grey, views: Iterable[tuple[Grey, float, tuple[int, int]]]) -> CardReading:
    others: set[str] = set()
    for view, scale, origin in views:
        cards: dict[str, Card] = {}
        for found in _decoded(view):
            if not is_card_code(found.text):
                others.add(found.text)
                continue
            card = _locate(grey, found, scale, origin)
            if card is not None and (found.text not in cards or card.module_px > cards[found.text].module_px):
                cards[found.text] = card
        if cards:
            ordered = sorted(cards.values(), key=lambda card: -card.module_px)
            return CardReading(tuple(ordered), tuple(sorted(others)))
    return CardReading((), tuple(sorted(others)))


def _decoded(view: Grey) -> list[zxingcpp.Barcode]:
    contiguous = np.ascontiguousarray(view)
    for binarizer in _BINARIZERS:
        found = zxingcpp.read_barcodes(contiguous, formats=_QR, try_invert=False, binarizer=binarizer)
        if found:
            return list(found)
    return []


def _enlarged_whole(grey: Grey) -> Iterator[tuple[Grey, float, tuple[int, int]]]:
    picture = Image.fromarray(grey)
    doubled = picture.resize((grey.shape[1] * 2, grey.shape[0] * 2), Image.Resampling.BICUBIC)
    yield np.asarray(doubled), 2.0, (0, 0)
    yield np.asarray(doubled.filter(ImageFilter.UnsharpMask(3, 200, 0))), 2.0, (0, 0)


def _views_of_part(grey: Grey, box: Box) -> Iterator[tuple[Grey, float, tuple[int, int]]]:
    """The part as it is, then enlarged and sharpened more and more, as far as enlarging may help."""
    left, top, right, bottom = box
    part = Image.fromarray(grey[top:bottom, left:right])
    if min(part.size) < 12:
        return
    yield np.asarray(part), 1.0, (left, top)
    stretched = ImageOps.autocontrast(part, cutoff=1)
    largest = math.sqrt(_MOST_OF_A_PART / (part.width * part.height))
    for scale in [s for s in _ENLARGEMENTS if s <= largest] or [1.0]:
        large = stretched.resize((round(part.width * scale), round(part.height * scale)), Image.Resampling.BICUBIC)
        for radius, per_cent in ((0.0, 0), (1.0, 200), (1.5, 400), (2.5, 300)):
            sharp = large.filter(ImageFilter.UnsharpMask(radius * scale / 2, per_cent, 0)) if per_cent else large
            yield np.asarray(sharp), scale, (left, top)


def _locate(grey: Grey, found: zxingcpp.Barcode, scale: float, origin: tuple[int, int]) -> Card | None:
    where = found.position
    seen = [where.top_left, where.top_right, where.bottom_right, where.bottom_left]
    # The reader gives whole pixels; their centres are meant.
    code_corners = (np.array([[p.x, p.y] for p in seen], float) + 0.5) / scale + origin
    module_px = float(np.sqrt(_area(code_corners)) / MODULES)
    modules = _modules(found)
    if module_px < 0.5 or modules is None:
        return None
    # The corner without a finder pattern is the reader's guess; a parallelogram is another.
    guessed = code_corners.copy()
    guessed[2] = code_corners[1] + code_corners[3] - code_corners[0]
    try:
        starts = [rough_pose(corners) for corners in (code_corners, guessed)]
    except np.linalg.LinAlgError:
        return None
    pose = fit_pose(grey, modules, starts[0])
    if pose.fit < _GOOD_FIT:
        pose = max(pose, fit_pose(grey, modules, starts[1]), key=lambda fitted: fitted.fit)
    # The three corners with finder patterns are read to within a module: a fit that leaves them went astray.
    moved = np.linalg.norm(pose.to_pixels(CODE_CORNERS_MM) - code_corners, axis=1)[[0, 1, 3]]
    if moved.max() > 1.5 * module_px + 1:
        pose = CardPose(starts[0], 0.0)
    return Card(found.text, pose.to_pixels(CORNERS_MM), pose, module_px)


def _modules(found: zxingcpp.Barcode) -> npt.NDArray[np.bool_] | None:
    drawn = np.asarray(found.to_image(scale=1)) == 0
    rows, columns = np.flatnonzero(drawn.any(axis=1)), np.flatnonzero(drawn.any(axis=0))
    if len(rows) == 0 or rows[-1] - rows[0] != MODULES - 1 or columns[-1] - columns[0] != MODULES - 1:
        return None
    return np.asarray(drawn[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1])


def _area(corners: npt.NDArray[np.float64]) -> float:
    x, y = corners[:, 0], corners[:, 1]
    return float(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2)
