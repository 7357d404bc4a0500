"""The cultivars of a trial in order: one number drawn and tabled with its ties, the others in a table beside it."""

from __future__ import annotations

from collections.abc import Mapping

from journal_server.analysis.comparison import QUANTITIES
from journal_server.analysis.survival import together
from journal_server.domain.words import counted, listed
from journal_server.figures.ranking import change_words, tied_words, value_words
from journal_server.services.compare_plantings import Asked, Compared, compare_plantings, survival_words
from journal_server.services.journal import Journal
from journal_server.services.reports.document import Block, Heading, Listing, Paragraph, Table
from journal_server.services.reports.figures import compared_curves, ranking, title_of
from journal_server.services.reports.gathered import Gathered
from journal_server.services.reports.notices import measured_days

FIRST = "season_bloom"
BESIDE = ("peak", "weeks_in_bloom", "days_to_50")
MOST_REACH = 0.75
"""The share of plantings that must have been seen at an age for their canopies to be compared at it."""
HOW_RANKED = (
    "Ranks such as 2–4 are ties: two cultivars differ only where they would among all pairs at once (Tukey, 90 %), so "
    "that a long list makes no winners by chance."
)
NO_STANDARD = "No cultivar of these is marked as the standard."


def ranking_part(journal: Journal, gathered: Gathered) -> list[Block]:
    """Ranked by mean bloom over the season, with the figure, the table and the curves; then the other numbers."""
    if not any(measured_days(one) for one in gathered.grown):
        return [Paragraph(("Nothing was measured in this trial, so there is nothing to rank.",))]
    first = _compared(journal, gathered, FIRST)
    drawn = ranking(first)
    said = [HOW_RANKED, *([] if drawn else first.comparison.sentences)]
    said += [] if first.standard else [NO_STANDARD]
    return [
        *drawn,
        Paragraph((" ".join(said),)),
        _table(first),
        *compared_curves(first, "bloom_cover"),
        *_other_numbers(journal, gathered, first),
    ]


def _table(compared: Compared) -> Table:
    """One row for each cultivar; those without a value last, with the reason."""
    of, standard = compared.asked.of, compared.standard
    rows = [
        (
            rank.words,
            f"{compared.labels[rank.contender.key]}{' (the standard)' if rank.contender.key == standard else ''}",
            value_words(of, rank.contender.estimate),
            counted(rank.contender.plantings, "planter"),
            tied_words(rank.tied_with, compared.labels, most=1) or "none",
            *([change_words(of, rank.against_standard)] if standard else []),
        )
        for rank in compared.comparison.ranks
    ]
    rest = [""] * (2 + bool(standard))
    rows += [("not ranked", compared.labels[one.key], one.reason, *rest) for one in compared.comparison.unknown]
    against, room = (("against the standard",), (2.0,)) if standard else ((), ())
    headers = ("rank", "cultivar", QUANTITIES[of].words, "from", "tied with", *against)
    return Table(title_of(compared), headers, tuple(rows), (1.1, 2.4, 2.0, 1.0, 2.0, *room))


def _compared(journal: Journal, gathered: Gathered, of: str, week: int | None = None) -> Compared:
    return compare_plantings(journal, Asked("cultivar", of, trial_id=gathered.trial.id, week=week))


def common_week(gathered: Gathered) -> int | None:
    """The oldest age in whole weeks at which most plantings have been measured; None where none was."""
    last = sorted(
        ((measured_days(one)[-1] - one.season.planted_on).days // 7 for one in gathered.grown if measured_days(one)),
        reverse=True,
    )
    reached = [week for week in last if week > 0]
    return reached[max(0, int(MOST_REACH * len(reached) + 0.5) - 1)] if reached else None


def _other_numbers(journal: Journal, gathered: Gathered, first: Compared) -> list[Block]:
    week = common_week(gathered)
    others = {QUANTITIES[of].words: _compared(journal, gathered, of) for of in BESIDE}
    if week is not None:
        others[f"canopy fill at {week} weeks"] = _compared(journal, gathered, "canopy_fill", week)
    columns = {words: _cells(compared) for words, compared in others.items()}
    unknown = {words: {one.key: one.reason for one in other.comparison.unknown} for words, other in others.items()}
    columns["plants living"] = {
        group.key: survival_words(together([one.survival for one in group.members])) for group in first.groups
    }
    order = [rank.contender.key for rank in first.comparison.ranks] + [one.key for one in first.comparison.unknown]
    rows = tuple((first.labels[key], *(column.get(key, "not known") for column in columns.values())) for key in order)
    title = "The other numbers, each with its 90 % interval and its rank"
    return [
        Heading("The other numbers", 3),
        Table(title, ("cultivar", *columns), rows, (2.0, *(1.5,) * len(columns))),
        *_why_unknown(first, unknown),
    ]


def _why_unknown(first: Compared, unknown: Mapping[str, Mapping[str, str]]) -> list[Block]:
    """For each cultivar the numbers that it lacks, put together by the reason."""
    items = []
    for key, label in first.labels.items():
        by_reason: dict[str, list[str]] = {}
        for words, reasons in unknown.items():
            if key in reasons:
                by_reason.setdefault(reasons[key], []).append(words)
        if by_reason:
            said = "; ".join(f"{listed(words)}, {reason}" for reason, words in by_reason.items())
            items.append(f"{label}: {said}.")
    return [Heading("Why they are not known", 3), Listing(tuple(items))] if items else []


def _cells(compared: Compared) -> dict[str, str]:
    of = compared.asked.of
    return {
        rank.contender.key: f"{value_words(of, rank.contender.estimate)}, rank\u00a0{rank.words}"
        for rank in compared.comparison.ranks
    }
