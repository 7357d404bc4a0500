"""Every call of the API for programs: what it takes and which answers it can give. A test holds it to the routes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from journal_server.domain.records import HOW_TAKEN, KINDS
from journal_server.domain.roles import ROLES

Schema = Mapping[str, Any]

JSON, SVG, ZIP, PDF = "application/json", "image/svg+xml", "application/zip", "application/pdf"
TEXT: Schema = {"type": "string"}
FLAG: Schema = {"type": "boolean"}
OBJECT: Schema = {"type": "object"}
ID: Schema = {"type": "string", "format": "uuid"}
ID_OR_NONE: Schema = {"anyOf": [ID, {"type": "null"}]}
DAY: Schema = {"type": "string", "format": "date"}
DAY_OR_NONE: Schema = {"anyOf": [DAY, {"type": "null"}]}
TEXT_OR_NONE: Schema = {"type": ["string", "null"]}


def choice(*words: str) -> Schema:
    return {"type": "string", "enum": list(words)}


def whole(least: int, most: int) -> Schema:
    return {"type": "integer", "minimum": least, "maximum": most}


def listed(one: Schema) -> Schema:
    return {"type": "array", "items": one}


def holding(needed: Mapping[str, Schema], **more: Schema) -> Schema:
    return {"type": "object", "properties": {**needed, **more}, "required": list(needed)}


@dataclass(frozen=True)
class Operation:
    """``gives``: media types of success by status; ``refuses``: statuses beside those of every call."""

    says: str
    query: Mapping[str, Schema] = field(default_factory=dict)
    body: Schema | None = None
    form: bool = False
    gives: Mapping[int, tuple[str, ...]] = field(default_factory=lambda: {200: (JSON,)})
    refuses: tuple[int, ...] = ()


NO_SUCH = (404, 422)
YES_NO = choice("yes", "no")
WIDTH: Mapping[str, Schema] = {"width": whole(240, 2400)}
TRIAL: Mapping[str, Schema] = {"trial": ID}
TWO_PHOTOS: Mapping[str, Schema] = {"first": ID, "second": ID}
GROUPS: Mapping[str, Schema] = {
    "by": choice("cultivar", "ground", "light", "year", "try"),
    "of": TEXT,
    "trial": ID,
    "cultivar": ID,
    "week": whole(0, 60),
    "on": DAY,
    "only": listed(TEXT),
    "draw": listed(TEXT),
}
COUNTED: Mapping[str, Schema] = {"trial": ID, "of": choice("canopy_fill", "bloom_cover", "spent_share")}
PHOTOS_MEANT = holding({}, photo_ids=listed(ID), all=FLAG)
CHANGE = holding(
    {"kind": choice(*KINDS), "id": ID},
    fields=OBJECT,
    base={"type": ["object", "null"], "additionalProperties": {"type": "integer"}},
    delete=FLAG,
    restore=FLAG,
)
FROM_PHONE: Mapping[str, Schema] = {
    "id": ID,
    "sha256": TEXT,
    "visit_id": ID,
    "planting_id": ID,
    "taken_at": {"type": "string", "format": "date-time"},
    "how": choice(*HOW_TAKEN),
}
FILE: Schema = {"type": "string", "format": "binary"}
LIST = holding({"trial_id": ID, "text": TEXT}, planted_on=DAY_OR_NONE, dry_run=FLAG)
ANY_LIST = holding(
    {"trial_id": ID, "text": TEXT},
    columns=OBJECT,
    has_headings=FLAG,
    date_order=TEXT_OR_NONE,
    planted_on=DAY_OR_NONE,
    genus=TEXT_OR_NONE,
    planter_name=TEXT_OR_NONE,
    planter_kind=TEXT_OR_NONE,
    again=FLAG,
    dry_run=FLAG,
)
WEATHER_FILE = holding(
    {"trial_id": ID, "text": TEXT},
    columns=OBJECT,
    date_order=TEXT_OR_NONE,
    temperature_unit=TEXT_OR_NONE,
    rain_unit=TEXT_OR_NONE,
    station=TEXT_OR_NONE,
    first_day=DAY_OR_NONE,
    last_day=DAY_OR_NONE,
    forecast=FLAG,
    replace=FLAG,
    dry_run=FLAG,
)
SEASON = holding(
    {"title": TEXT, "year": whole(1990, 2100)},
    planted_on=DAY_OR_NONE,
    plantings={"type": ["array", "null"], "items": ID},
    cards=TEXT_OR_NONE,
    plans=FLAG,
    remove_on=DAY_OR_NONE,
    dry_run=FLAG,
)
SHARED_REPORT = holding(
    {"report": TEXT, "trial_id": ID, "name": TEXT},
    last_day=DAY_OR_NONE,
    cultivar=ID_OR_NONE,
    other=ID_OR_NONE,
    paper=TEXT_OR_NONE,
    place=FLAG,
    photos=FLAG,
    crop=FLAG,
)
REPORT: Mapping[str, Schema] = {
    "trial": ID,
    "cultivar": ID,
    "other": ID,
    "format": choice("html", "markdown", "pdf"),
    "paper": choice("a4", "letter"),
    "place": YES_NO,
    "photos": YES_NO,
    "crop": YES_NO,
    "view": YES_NO,
}
PHOTO_CHOICE: Mapping[str, Schema] = {
    "trial": ID,
    "planting": listed(ID),
    "from": DAY,
    "until": DAY,
    "place": YES_NO,
    "owner": YES_NO,
}


def _svg(says: str, query: Mapping[str, Schema]) -> Operation:
    return Operation(says, {**query, **WIDTH}, gives={200: (SVG,)}, refuses=NO_SUCH)


OPERATIONS: dict[tuple[str, str], Operation] = {
    ("GET", "/api/openapi.json"): Operation("This document"),
    ("GET", "/api/health"): Operation("Whether the server lives"),
    ("GET", "/api/ready"): Operation("Whether it can take photos in"),
    ("GET", "/api/me"): Operation("Who calls"),
    ("POST", "/api/pair"): Operation(
        "Pair a device",
        body=holding({"code": TEXT, "device_name": TEXT}),
        gives={201: (JSON,)},
        refuses=(413, 422, 429),
    ),
    ("POST", "/api/leave"): Operation("Forget this device"),
    ("GET", "/api/devices"): Operation("The paired devices"),
    ("POST", "/api/devices"): Operation(
        "Make a pairing code", body=holding({"role": choice(*ROLES)}), gives={201: (JSON,)}, refuses=(413, 422)
    ),
    ("POST", "/api/devices/<device_id>"): Operation("Rename", body=holding({"name": TEXT}), refuses=(404, 413, 422)),
    ("DELETE", "/api/devices/<device_id>"): Operation("Shut a device out", refuses=(404,)),
    ("GET", "/api/changes"): Operation(
        "Records in order of change", {"since": whole(0, 2**53), "limit": whole(1, 2000)}, refuses=(422,)
    ),
    ("POST", "/api/changes"): Operation(
        "Edit records",
        body=holding({"changes": listed(CHANGE)}),
        gives={200: (JSON,), 409: (JSON,), 422: (JSON,)},
        refuses=(413,),
    ),
    ("GET", "/api/record-kinds"): Operation("Kinds of records and their fields"),
    ("POST", "/api/photos"): Operation(
        "Take a photo in",
        body=holding({"photo": FILE}, **FROM_PHONE, file_time=FROM_PHONE["taken_at"]),
        form=True,
        gives={200: (JSON,), 201: (JSON,)},
        refuses=(413, 422),
    ),
    ("GET", "/api/photos/<photo_id>/picture"): Operation(
        "A picture of the photo",
        {"size": choice("thumb", "screen", "full")},
        gives={200: ("image/jpeg",)},
        refuses=NO_SUCH,
    ),
    ("GET", "/api/photos/<photo_id>/classes"): Operation(
        "Its class map, drawn",
        {"of": {"type": "string", "pattern": "^[0-9a-f]{64}$"}},
        gives={200: ("image/webp",), 206: ("image/webp",), 304: ()},
        refuses=(404, 416, 422),
    ),
    ("GET", "/api/photos/<photo_id>/measurements"): Operation("All its measurements", refuses=(404,)),
    ("GET", "/api/photos/<photo_id>/original"): Operation(
        "The file as it came",
        refuses=(404, 416),
        gives={200: ("image/jpeg", "image/heic", "image/png", "image/webp", "image/tiff"), 206: (), 304: ()},
    ),
    ("GET", "/api/photos/<photo_id>/quotes"): Operation("Its numbers as people quote them", refuses=(404,)),
    ("POST", "/api/recordings"): Operation(
        "Take a spoken remark in",
        body=holding({"recording": FILE}, **FROM_PHONE),
        form=True,
        gives={200: (JSON,), 201: (JSON,)},
        refuses=(413, 422),
    ),
    ("GET", "/api/recordings/<recording_id>/sound"): Operation(
        "The sound", gives={200: (), 206: (), 304: ()}, refuses=(404, 416)
    ),
    ("POST", "/api/measure-again"): Operation("Ask for measuring again", body=PHOTOS_MEANT, refuses=(413, 422)),
    ("GET", "/api/legend"): Operation("Colours of class maps"),
    ("GET", "/api/home"): Operation("What waits today"),
    ("GET", "/api/unsettled"): Operation("Photos that wait for a person"),
    ("POST", "/api/unsettled/accept"): Operation("Accept suggestions", body=PHOTOS_MEANT, refuses=(413, 422)),
    ("POST", "/api/planting-list"): Operation("Enter a pasted list", body=LIST, refuses=(404, 413, 422)),
    ("POST", "/api/planting-list/import"): Operation("Enter a CSV file", body=ANY_LIST, refuses=(404, 413, 422)),
    ("POST", "/api/trials/<trial_id>/new-season"): Operation("Copy a season", body=SEASON, refuses=(404, 413, 422)),
    ("GET", "/api/weather"): Operation("The weather of a trial", TRIAL, refuses=NO_SUCH),
    ("POST", "/api/weather/import"): Operation("Enter a file of weather", body=WEATHER_FILE, refuses=(404, 413, 422)),
    ("GET", "/api/settings"): Operation("The settings"),
    ("POST", "/api/settings"): Operation("Change settings", body=OBJECT, refuses=(413, 422)),
    ("GET", "/api/backups"): Operation("Backups into the folder"),
    ("POST", "/api/backups"): Operation("Begin a backup", gives={202: (JSON,)}, refuses=(422,)),
    ("GET", "/api/cards.pdf"): Operation(
        "Cards to print",
        {"planting": listed(ID), "plantings": choice("none"), "spare": whole(0, 40), "paper": choice("a4", "letter")},
        gives={200: (PDF,)},
        refuses=NO_SUCH,
    ),
    ("GET", "/api/reports/<kind>"): Operation(
        "A report", REPORT, gives={200: ("text/html", ZIP, PDF)}, refuses=NO_SUCH
    ),
    ("GET", "/api/exports/miappe.zip"): Operation(
        "A trial as MIAPPE", {"trial": ID, "place": YES_NO}, gives={200: (ZIP,)}, refuses=NO_SUCH
    ),
    ("GET", "/api/exports/photos.zip"): Operation("Photos", PHOTO_CHOICE, gives={200: (ZIP,)}, refuses=NO_SUCH),
    ("GET", "/api/numbers"): Operation(
        "The numbers",
        {"format": choice("csv", "json", "package"), "trial": ID, "for": choice("spreadsheet")},
        gives={200: (JSON, "text/csv", ZIP)},
        refuses=NO_SUCH,
    ),
    ("GET", "/api/calendar.ics"): Operation(
        "Care due", {"trial": ID, "key": TEXT}, gives={200: ("text/calendar",)}, refuses=(404, 422, 429)
    ),
    ("GET", "/api/calendar-addresses"): Operation("Addresses for calendar programs"),
    ("POST", "/api/calendar-addresses"): Operation(
        "Make one", body=holding({"name": TEXT, "trial_id": ID}), gives={201: (JSON,)}, refuses=(404, 409, 413, 422)
    ),
    ("DELETE", "/api/calendar-addresses/<key_id>"): Operation("Close one", refuses=(404,)),
    ("GET", "/api/shared-report"): Operation(
        "A shared report", {"key": TEXT}, gives={200: ("text/html",)}, refuses=(404, 422, 429)
    ),
    ("GET", "/api/shared-report.pdf"): Operation(
        "A shared report to print", {"key": TEXT}, gives={200: (PDF,)}, refuses=(404, 422, 429)
    ),
    ("GET", "/api/report-links"): Operation("Readers' links"),
    ("POST", "/api/report-links"): Operation(
        "Share a report", body=SHARED_REPORT, gives={201: (JSON,)}, refuses=(404, 409, 413, 422)
    ),
    ("POST", "/api/report-links/<link_id>"): Operation("Bring one up to date", refuses=(404, 409, 422)),
    ("DELETE", "/api/report-links/<link_id>"): Operation("Close one", refuses=(404,)),
    ("GET", "/api/timeline.svg"): _svg("The season", {**TRIAL, "sort": TEXT, "group": TEXT}),
    ("GET", "/api/timeline"): Operation("The season's table", {**TRIAL, "sort": TEXT, "group": TEXT}, refuses=NO_SUCH),
    ("GET", "/api/plantings/<planting_id>/curves"): Operation("All curves", WIDTH, refuses=NO_SUCH),
    ("GET", "/api/plantings/<planting_id>/curves/<quantity>.svg"): _svg("A curve", {}),
    ("GET", "/api/plantings/<planting_id>/curves/<quantity>"): Operation("A curve's table", refuses=NO_SUCH),
    ("GET", "/api/plantings/<planting_id>/summary"): Operation("A season in numbers", refuses=(404,)),
    ("GET", "/api/plantings/<planting_id>/quotes"): Operation("Its numbers as people quote them", refuses=(404,)),
    ("GET", "/api/plantings/<planting_id>/look-at"): Operation("Things to look at", {"day": DAY}, refuses=NO_SUCH),
    ("GET", "/api/look-at"): Operation("Things to look at", {**TRIAL, "day": DAY}, refuses=NO_SUCH),
    ("GET", "/api/review/point-counts"): Operation("What point counts say", {"photo": ID}, refuses=NO_SUCH),
    ("GET", "/api/review/how-sure"): Operation("How sure the method is", TRIAL, refuses=NO_SUCH),
    ("GET", "/api/review/agreement.svg"): _svg("Agreement", COUNTED),
    ("GET", "/api/review/agreement"): Operation("Its table", COUNTED, refuses=NO_SUCH),
    ("GET", "/api/compare/choices"): Operation("What can be compared"),
    ("GET", "/api/compare/dates"): Operation("Two dates", TWO_PHOTOS, refuses=NO_SUCH),
    ("GET", "/api/compare/registration"): Operation("How one lies on the other", TWO_PHOTOS, refuses=NO_SUCH),
    ("GET", "/api/compare/registered"): Operation(
        "One laid on the other", TWO_PHOTOS, gives={200: ("image/webp",)}, refuses=NO_SUCH
    ),
    ("GET", "/api/compare/plantings"): Operation("Groups of plantings", GROUPS, refuses=NO_SUCH),
    ("GET", "/api/compare/side-by-side"): Operation("All of it", {**GROUPS, **WIDTH}, refuses=NO_SUCH),
    ("GET", "/api/compare/ranking.svg"): _svg("The ranking", GROUPS),
    ("GET", "/api/compare/ranking"): Operation("Its table", GROUPS, refuses=NO_SUCH),
    ("GET", "/api/compare/curves.svg"): _svg("The curves", GROUPS),
    ("GET", "/api/compare/curves"): Operation("Their table", GROUPS, refuses=NO_SUCH),
    ("GET", "/api/method-change"): Operation("What a new version of the method moved"),
    ("GET", "/api/verdicts"): Operation("Verdicts and how far they are", TRIAL, refuses=NO_SUCH),
    ("GET", "/api/verdict-drafts"): Operation(
        "Sentences for a verdict", {**TRIAL, "cultivar": ID, "place": choice("container", "ground")}, refuses=NO_SUCH
    ),
}
