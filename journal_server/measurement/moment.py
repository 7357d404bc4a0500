"""When a photo was taken, and how sure that is: Exif, GPS, the file's name, the file's time, in that order."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from PIL import Image
from PIL.ExifTags import IFD

from journal_server.measurement.photo_file import Photo

EARLIEST_YEAR = 1990
LATEST_YEAR = 2100


@dataclass(frozen=True)
class Moment:
    """``taken_at`` is ISO 8601 with offset. ``doubtful`` asks for a person's look, ``note`` says why."""

    taken_at: str | None
    source: str | None
    offset_assumed: bool = False
    doubtful: bool = False
    note: str | None = None


@dataclass(frozen=True)
class CameraFacts:
    """What else the Exif block says that a measurement may use. The place itself is never read out."""

    focal_length_35mm: float | None
    has_gps_position: bool


# Exif 2.32. Only these are read, each directory once: a block can point to itself thousands of times over.
_READ = {
    IFD.Exif: {
        0x9003: "DateTimeOriginal",
        0x9004: "DateTimeDigitized",
        0x9010: "OffsetTime",
        0x9011: "OffsetTimeOriginal",
        0x9012: "OffsetTimeDigitized",
        0xA405: "FocalLengthIn35mmFilm",
    },
    IFD.GPSInfo: {0x0002: "GPSLatitude", 0x0004: "GPSLongitude", 0x0007: "GPSTimeStamp", 0x001D: "GPSDateStamp"},
}


@dataclass(frozen=True)
class ExifTags:
    """Values of the tags that are read, by their names in the Exif standard; empty for no or unreadable Exif."""

    values: dict[str, Any]

    def text(self, name: str) -> str:
        value = self.values.get(name, "")
        words = value.decode("latin-1") if isinstance(value, bytes) else value if isinstance(value, str) else ""
        return words.split("\0")[0].strip()

    def numbers(self, name: str) -> list[float]:
        value = self.values.get(name, ())
        try:
            numbers = [float(number) for number in (value if isinstance(value, tuple) else (value,))]
        except (TypeError, ValueError, ZeroDivisionError, OverflowError):  # of another type, or nothing to divide by
            return []
        return numbers if all(math.isfinite(number) for number in numbers) else []


def read_exif(block: bytes) -> ExifTags:
    """Read a bare Exif block (a TIFF structure, without the ``Exif\\0\\0`` marker)."""
    found: dict[str, Any] = {}
    if not block:
        return ExifTags(found)
    try:
        exif = Image.Exif()
        exif.load(block)
        for directory, names in _READ.items():
            values = exif.get_ifd(directory)
            found |= {name: values[tag] for tag, name in names.items() if tag in values}
    except Exception:  # a damaged block makes the reader raise nearly anything; what was found before it stays
        return ExifTags(found)
    return ExifTags(found)


def read_moment(
    tags: ExifTags,
    file_name: str | None = None,
    file_time_s: float | None = None,
    zone: str | None = None,
) -> Moment:
    """The moment a photo was taken.

    Parameters
    ----------
    tags : the photo's Exif tags
    file_name : its original name, for dates written there
    file_time_s : the file's time of change, in seconds since 1970 (UTC)
    zone : IANA name of the zone to assume for times without an offset; UTC if None

    Raises
    ------
    ValueError
        If ``zone`` is not a known time zone.
    """
    assumed = _zone(zone)
    zone_words = zone or "UTC"
    passed_over: list[str] = []
    for reader in (_from_exif, _from_gps):
        found = reader(tags, assumed, zone_words, passed_over)
        if found:
            return _with_notes(found, passed_over)
    found = _from_name(file_name, assumed, zone_words) or _from_file_time(file_time_s, assumed, passed_over)
    return _with_notes(found or Moment(None, None, note="The photo holds no date."), passed_over)


def camera_facts(tags: ExifTags) -> CameraFacts:
    """Focal length as on 35 mm film, if written and believable, and whether a position is in the file."""
    focal = next(iter(tags.numbers("FocalLengthIn35mmFilm")), 0.0)
    has_gps = "GPSLatitude" in tags.values and "GPSLongitude" in tags.values
    return CameraFacts(focal if 8 <= focal <= 400 else None, has_gps)


def moment_of(photo: Photo, zone: str | None = None) -> Moment:
    """`read_moment` for an opened photo."""
    return read_moment(read_exif(photo.exif), photo.name, photo.file_time_s, zone)


def _zone(name: str | None) -> tzinfo:
    if name is None:
        return UTC
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ValueError(f"not a known time zone: {name!r}") from error


def _believable(moment: datetime) -> bool:
    return EARLIEST_YEAR <= moment.year < LATEST_YEAR


def _from_exif(tags: ExifTags, assumed: tzinfo, zone_words: str, passed_over: list[str]) -> Moment | None:
    for when, offset in (
        ("DateTimeOriginal", "OffsetTimeOriginal"),
        ("DateTimeDigitized", "OffsetTimeDigitized"),
    ):
        text = tags.text(when)
        if not text:
            continue
        naive = _exif_datetime(text)
        if naive is None:
            passed_over.append(f"The camera wrote an impossible date ({_shown(text)}).")
            continue
        zone = _exif_offset(tags.text(offset)) or _exif_offset(tags.text("OffsetTime"))
        if zone is not None:
            return Moment(naive.replace(tzinfo=zone).isoformat(), "exif")
        note = f"The camera wrote no time zone; {zone_words} is assumed."
        return Moment(naive.replace(tzinfo=assumed).isoformat(), "exif", offset_assumed=True, note=note)
    return None


def _exif_datetime(text: str) -> datetime | None:
    digits = re.fullmatch(r"(\d{4})[:/.-](\d\d?)[:/.-](\d\d?)[ T]+(\d\d?):(\d\d?)(?::(\d\d?))?.*", text, re.DOTALL)
    if not digits:
        return None
    return _naive(*(int(part or 0) for part in digits.groups()))


def _naive(*parts: int) -> datetime | None:
    try:
        moment = datetime(*parts)  # type: ignore[arg-type]  # noqa: DTZ001 - the offset is added by the caller
    except (ValueError, OverflowError):
        return None
    return moment if _believable(moment) else None


def _exif_offset(text: str) -> timezone | None:
    match = re.fullmatch(r"([+-])(\d\d):?(\d\d)", text)
    if match:
        minutes = int(match[2]) * 60 + int(match[3])
        if minutes <= 14 * 60 and int(match[3]) < 60:
            return timezone(timedelta(minutes=minutes if match[1] == "+" else -minutes))
    return UTC if text == "Z" else None


def _from_gps(tags: ExifTags, assumed: tzinfo, zone_words: str, passed_over: list[str]) -> Moment | None:
    date = re.fullmatch(r"(\d{4})[:-](\d\d)[:-](\d\d)", tags.text("GPSDateStamp"))
    time = tags.numbers("GPSTimeStamp")
    if not date or len(time) != 3:
        return None
    moment = _naive(*(int(part) for part in date.groups()), *(int(part) for part in time))
    if moment is None:
        passed_over.append("The GPS date in the photo is impossible.")
        return None
    return Moment(moment.replace(tzinfo=UTC).isoformat(), "gps")


_DATE_IN_NAME = re.compile(
    r"(?<!\d)(?P<year>19[9]\d|20\d\d)(?P<sep>[-_.]?)(?P<month>0[1-9]|1[0-2])(?P=sep)(?P<day>0[1-9]|[12]\d|3[01])"
    r"(?:(?:[-_ T.]|[-_ ]?at[-_ ]?)(?P<hour>[01]\d|2[0-3])(?P<sep2>[-_.:h]?)(?P<minute>[0-5]\d)"
    r"(?:(?P=sep2)(?P<second>[0-5]\d)(?:\d{3})?)?)?(?!\d)"
)


def _from_name(name: str | None, assumed: tzinfo, zone_words: str) -> Moment | None:
    for match in _DATE_IN_NAME.finditer(name or ""):
        date = [int(match[part]) for part in ("year", "month", "day")]
        timed = match["hour"] is not None
        clock = [int(match["hour"]), int(match["minute"]), int(match["second"] or 0)] if timed else [12, 0, 0]
        moment = _naive(*date, *clock)
        if moment is None:
            continue
        if not timed:
            note = f"Only the file's name gives a date and it gives no time; noon ({zone_words}) is assumed."
        elif (name or "").startswith("PXL_"):
            # Names of this pattern count in UTC (common practice, no source).
            return Moment(moment.replace(tzinfo=UTC).isoformat(), "file name")
        else:
            note = f"The time is from the file's name, which gives no time zone; {zone_words} is assumed."
        taken_at = moment.replace(tzinfo=assumed).isoformat()
        return Moment(taken_at, "file name", offset_assumed=True, doubtful=not timed, note=note)
    return None


def _from_file_time(file_time_s: float | None, assumed: tzinfo, passed_over: list[str]) -> Moment | None:
    if file_time_s is None:
        return None
    try:
        moment = datetime.fromtimestamp(int(file_time_s), tz=UTC).astimezone(assumed)
    except (ValueError, OverflowError, OSError):
        passed_over.append("The file's own time is impossible.")
        return None
    if not _believable(moment):
        passed_over.append("The file's own time is impossible.")
        return None
    note = "Only the file's own time is known, which changes when a file is copied: please check the date."
    return Moment(moment.isoformat(), "file time", doubtful=True, note=note)


def _with_notes(moment: Moment, passed_over: list[str]) -> Moment:
    if not passed_over:
        return moment
    note = " ".join([*passed_over, moment.note or ""]).strip()
    return Moment(moment.taken_at, moment.source, moment.offset_assumed, moment.doubtful, note)


def _shown(text: str) -> str:
    return "".join(c for c in text if c.isprintable())[:30]
