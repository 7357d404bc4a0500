"""Photos for a report: made anew from the pixels, so that nothing of the file's metadata comes along."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date

from PIL import Image

from journal_server.domain.cultivar_names import words_of_fields
from journal_server.domain.dates import full_day_words
from journal_server.domain.markup import file_slug
from journal_server.domain.words import listed
from journal_server.errors import PhotoRefused
from journal_server.figures.words import estimate_words
from journal_server.measurement.photo_file import open_photo, render
from journal_server.measurement.result import Estimate
from journal_server.services.journal import Journal
from journal_server.services.reports.document import Photo
from journal_server.services.reports.gathered import Grown, Shot
from journal_server.services.reports.photo_choice import Chosen
from journal_server.services.reports.plain_words import weeks_words
from journal_server.storage.records import load_photo_file

LARGE_PX, SMALL_PX = 1000, 640
"""The longer side of a picture: 300 dots an inch at a third of a page, and at a quarter."""
QUALITY = 84
MOST_NAMED = 3
"""More photos that cannot be shown for one reason are counted."""
AROUND_THE_FRAME = 0.06
"""What a crop leaves around the frame, as a share of the frame's longer side."""


def show(journal: Journal, chosen: Sequence[Chosen], longest_px: int, *, crop: bool) -> tuple[list[Photo], list[str]]:
    """The pictures that can be shown, and a sentence for each reason why others cannot."""
    shown: list[Photo] = []
    missing: dict[str, list[str]] = {}
    for one in chosen:
        try:
            shown.append(_photo(journal, one, longest_px, crop=crop))
        except PhotoRefused as error:
            missing.setdefault(str(error).rstrip("."), []).append(str(one.shot.photo.fields["file_name"]))
    return shown, [_missing_words(names, reason) for reason, names in missing.items()]


def _missing_words(names: Sequence[str], reason: str) -> str:
    if len(names) > MOST_NAMED:
        return f"{len(names)} photos cannot be shown, {names[0]} the first of them: {reason}."
    return f"The photo{'s' if len(names) > 1 else ''} {listed(names)} cannot be shown: {reason}."


def _photo(journal: Journal, chosen: Chosen, longest_px: int, *, crop: bool) -> Photo:
    one, shot = chosen.one, chosen.shot
    with journal.database.reading() as session:
        file = load_photo_file(session, shot.photo.id)
    if file is None:
        raise PhotoRefused("its file is not in the journal")
    path = journal.files.original(file.sha256, file.suffix)
    if not path.exists():
        raise PhotoRefused("its original is missing from the journal's folder; restore it from a backup")
    polygon = shot.measured["frame_polygon"] if crop and shot.measured else None
    photo = open_photo(path)
    if polygon:
        left, top, right, bottom = _around(polygon, photo.width, photo.height)
        # The part is cut from a picture so large that it is still as large as asked for.
        needed = longest_px * max(photo.width, photo.height) / max(right - left, bottom - top)
        whole = render(photo, round(needed))
        scale = whole.width / photo.width
        picture = whole.crop((left * scale, top * scale, right * scale, bottom * scale))
        picture.thumbnail((longest_px, longest_px))
    else:
        picture = render(photo, longest_px)
    day = shot.day
    return Photo(
        name=_file_name(one, day),
        jpeg=_jpeg(picture),
        width=picture.width,
        height=picture.height,
        caption=f"{chosen.role}: {_when(one, day)}, {one.season.place}",
        alt=_alt(one, shot, day),
    )


def _around(polygon: Sequence[Sequence[float]], width: int, height: int) -> tuple[float, float, float, float]:
    xs, ys = [point[0] for point in polygon], [point[1] for point in polygon]
    edge = AROUND_THE_FRAME * max(max(xs) - min(xs), max(ys) - min(ys))
    left, right = max(0.0, min(xs) - edge), min(float(width), max(xs) + edge)
    top, bottom = max(0.0, min(ys) - edge), min(float(height), max(ys) + edge)
    if right - left < 2 or bottom - top < 2:
        return 0.0, 0.0, float(width), float(height)
    return left, top, right, bottom


def _jpeg(picture: Image.Image) -> bytes:
    """Pixels alone: a fresh image has no Exif, no comment, no profile to write."""
    clean = Image.new("RGB", picture.size)
    clean.paste(picture)
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def _when(one: Grown, day: date | None) -> str:
    return f"{full_day_words(day)}, {weeks_words(one.season.planted_on, day)}" if day else "date not known"


def _alt(one: Grown, shot: Shot, day: date | None) -> str:
    said = f"{words_of_fields(one.cultivar.fields)} in {one.season.place}, {_when(one, day)}"
    numbers = shot.measured["numbers"] if shot.usable and shot.measured else {}
    names = (("canopy_fill", "canopy fill"), ("bloom_cover", "bloom cover"))
    shares = [
        f"{words} {estimate_words(name, Estimate(**numbers[name]))}"
        for name, words in names
        if numbers.get(name) and not (one.season.foliage_only and name == "bloom_cover")
    ]
    return f"{said}: {', '.join(shares) or 'not measured'}"


def _file_name(one: Grown, day: date | None) -> str:
    """Safe on every system: ASCII letters, digits and hyphens, and part of the planting's id where names are alike."""
    words = file_slug(f"{words_of_fields(one.cultivar.fields)} {one.season.place}", 48)
    return "-".join(part for part in (words, day.isoformat() if day else "", one.season.planting_id[:8]) if part)
