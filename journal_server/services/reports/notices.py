"""What a reader must know of a planting before trusting its numbers: said first, in every report."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from journal_server.analysis.survival import GIVEN_UP_DAYS
from journal_server.domain.dates import full_day_words
from journal_server.domain.words import counted, listed
from journal_server.services.reports.gathered import Grown, Shot
from journal_server.services.reports.plain_words import times

FOR_ITS_LEAVES = "It is grown for its leaves, so numbers of bloom do not apply to it."


def cultivar_notices(grown: Sequence[Grown]) -> list[str]:
    """Of all plantings of one cultivar in a trial; each planting is named by its planter where there are several."""
    said = name_notices(grown[0])
    if len(grown) > 1:
        places = listed([one.season.place for one in grown])
        said.append(
            f"There are {len(grown)} plantings of it in this trial ({places}); each has its own numbers, named by its "
            "planter."
        )
    for one in grown:
        said += [f"{one.season.place}: {words}" if len(grown) > 1 else words for words in planting_notices(one)]
    return said


def name_notices(one: Grown) -> list[str]:
    """What its cultivar was called before, and whether it has flowers to speak of."""
    earlier = [str(name) for name in one.cultivar.fields.get("earlier_names") or []]
    said = [f"It was called {listed(earlier)} earlier."] if earlier else []
    return [*said, FOR_ITS_LEAVES] if one.season.foliage_only else said


def planting_notices(one: Grown) -> list[str]:
    """Sentences on doubts, gaps and what is missing."""
    return [*_identity(one), *_removal(one), *_photos(one), *_cards(one), *_frames(one), *_off_types(one)]


def _identity(one: Grown) -> list[str]:
    if one.fields["identity"] != "doubtful":
        return []
    said = "Its identity is doubtful"
    reasons = [
        f"{what} “{one.fields[name]}”"
        for name, what in (("label_said", "the label said"), ("looks_like", "it looks like"))
        if one.fields[name]
    ]
    return [f"{said}: {listed(reasons)}." if reasons else f"{said}; the numbers may belong to another cultivar."]


def _removal(one: Grown) -> list[str]:
    removed = one.season.removed_on
    if removed is None:
        return []
    days = (removed - one.season.planted_on).days
    words = f"It was removed on {full_day_words(removed)}, {counted(days, 'day')} after planting"
    after = [shot for shot in one.shots if shot.day and shot.day > removed]
    late = [f"{counted(len(after), 'photo')} taken after that is counted as of it."] if len(after) == 1 else []
    late = [f"{len(after)} photos taken after that are counted as of it."] if len(after) > 1 else late
    if days < GIVEN_UP_DAYS:
        return [f"{words}: what is said of it is of that short time only, not of a season.", *late]
    return [f"{words}.", *late]


def _photos(one: Grown) -> list[str]:
    shots = one.shots
    if not shots:
        return ["No photo was taken of it, so nothing of it was measured."]
    said = []
    undated = [shot for shot in shots if shot.day is None]
    if undated:
        said.append(f"{counted(len(undated), 'photo')} of it without a known date is left out.")
    measured = [shot for shot in shots if shot.usable and shot.day]
    if not measured:
        which = "Its only photo could not" if len(shots) == 1 else f"None of its {len(shots)} photos could"
        return [*said, f"{which} be measured: {_why_not(shots)}."]
    if len(measured) < len(shots) - len(undated):
        left = [shot for shot in shots if shot.day and not shot.usable]
        said.append(f"{len(left)} of its {len(shots)} photos could not be measured: {_why_not(left)}.")
    if len({shot.day for shot in measured}) == 1:
        said.append("It was measured on one day only, so nothing is known of how it changed.")
    return said


def _why_not(shots: Sequence[Shot]) -> str:
    reasons = dict.fromkeys(map(_why, shots))
    return listed(list(reasons))


def _why(shot: Shot) -> str:
    if shot.measured:
        warnings = shot.measured["numbers"]["quality"]["warnings"]
        return str(warnings[0]["message"]).rstrip(".") if warnings else "the photo cannot be used"
    note = shot.photo.fields.get("measuring_note")
    return str(note).rstrip(".") if note else "it has not been measured yet"


def _cards(one: Grown) -> list[str]:
    measured = [shot for shot in one.shots if shot.usable]
    without = [shot for shot in measured if shot.measured and shot.measured["numbers"]["white_reference"] != "card"]
    if not measured or not without:
        return []
    if len(without) == len(measured):
        return ["No card was read on its photos, so its colours are estimated without a white to go by."]
    return [f"On {len(without)} of {len(measured)} photos no card was read; the colours there are less sure."]


def _frames(one: Grown) -> list[str]:
    measured = [shot for shot in one.shots if shot.usable]
    if not measured or any(shot.measured and shot.measured["frame_polygon"] for shot in measured):
        return []
    return ["No frame was drawn for it: its shares are of the whole photo, not to be compared with those in a frame."]


def _off_types(one: Grown) -> list[str]:
    return [f"Off-type flowers were noted {times(one.planted.off_types)}."] if one.planted.off_types else []


def measured_days(one: Grown) -> list[date]:
    return sorted({shot.day for shot in one.shots if shot.usable and shot.day})
