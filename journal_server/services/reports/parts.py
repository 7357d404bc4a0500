"""Parts that several reports have: subtitle, footer, pictures, a verdict's answers, how to read the numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from journal_server.domain.dates import full_day_words
from journal_server.domain.markup import file_slug
from journal_server.domain.words import counted, listed
from journal_server.services.journal import Journal
from journal_server.services.reports.document import Block, Heading, Listing, Paragraph, Photos, Strong, Words
from journal_server.services.reports.gathered import Gathered, Grown
from journal_server.services.reports.options import Options
from journal_server.services.reports.photo_choice import Chosen
from journal_server.services.reports.pictures import show
from journal_server.services.reports.plain_words import GROW_AGAIN, NO_VERDICT, NOT_ANSWERED

INTERVALS = (
    "Every measured number stands with its 90 % interval: over many photos the truth lies inside about nine times "
    "in ten."
)
SHARES = (
    "Shares are of what the camera saw inside the frame, not leaf area: canopy fill is plant in the frame; bloom "
    "cover, spent share and flower to leaf are of the plant."
)
ONE_PLANTER = "One planter is one planter: where a cultivar grew in a single one, a difference may be the place."
MADE_SCENES = (
    "The widths of the intervals were fitted on made scenes whose truth is known; on real planters they are probably "
    "too narrow. A count of points by a person is the check."
)


def subtitle(gathered: Gathered, options: Options) -> str:
    site = gathered.trial.fields.get("site")
    return f"{gathered.words}, {site}" if options.with_place and site else gathered.words


def made(what: str, options: Options) -> str:
    return f"{what}. Made on {full_day_words(options.made_on)} with the planting trial journal"


def document_name(words: str, *ids: str) -> str:
    """A file name safe on every system: ASCII letters, digits and hyphens, and the beginning of an id."""
    return "-".join(part for part in (file_slug(words, 60), *(id_[:8] for id_ in ids)) if part)


def picture_blocks(
    journal: Journal, chosen: Sequence[Chosen], says: str, options: Options, *, columns: int, longest_px: int
) -> list[Block]:
    """Pictures in rows of ``columns``, who chose them, and what could not be shown."""
    if not options.photos or not chosen:
        return []
    photos, missing = show(journal, chosen, longest_px, crop=options.crop)
    said = " ".join([says, *missing, *(["Each is cut to its frame."] if options.crop and photos else [])]).strip()
    blocks: list[Block] = [Photos(tuple(photos), min(columns, max(2, len(photos))))] if photos else []
    return [*blocks, Paragraph((said,), "quiet")] if said else blocks


def verdict_answers(verdict: dict[str, Any] | None) -> tuple[Words, ...]:
    """Whether it would be grown again, what it is good for and what it needs."""
    if verdict is None:
        return (Strong(NO_VERDICT),)
    words: list[Words] = [Strong(GROW_AGAIN.get(verdict.get("grow_again") or "", NOT_ANSWERED))]
    for name, before in (("good_for", " Good for: "), ("needs", " Needs: ")):
        said = [str(one) for one in verdict.get(name) or []]
        words.append(f"{before}{listed(said)}." if said else "")
    return tuple(word for word in words if word)


def paragraphs(text: str | None) -> list[Block]:
    """What a person wrote, its empty lines parting paragraphs."""
    return [Paragraph((part.strip(),)) for part in (text or "").replace("\r\n", "\n").split("\n\n") if part.strip()]


def methods_words(grown: Iterable[Grown]) -> str:
    """Which versions of the method measured how many of the photos."""
    measured = [shot.method for one in grown for shot in one.shots if shot.measured]
    counts = Counter(str(method) for method in measured)
    if not counts:
        return "No photo has been measured."
    said = [f"{method} ({counted(count, 'photo')})" for method, count in sorted(counts.items())]
    return f"Measured by {listed(said)}."


def unknown_listing(unknown: Iterable[tuple[str, str]], of: str = "") -> list[Block]:
    """What is not known (``of`` what), put together by its reason."""
    by_reason: dict[str, list[str]] = {}
    for words, reason in unknown:
        by_reason.setdefault(reason.rstrip("."), []).append(words)
    if not by_reason:
        return []
    items = tuple(f"{listed(names)}: {reason}." for reason, names in by_reason.items())
    return [Heading(f"Not known{of}"), Listing(tuple(item[:1].upper() + item[1:] for item in items))]
