"""The whole trial: every cultivar ranked with its ties, the season, the method, what was checked, and the caveats."""

from __future__ import annotations

from journal_server.domain.verdict_fields import PLACE_WORDS
from journal_server.domain.words import counted, listed
from journal_server.services.journal import Journal
from journal_server.services.reports.agreement_part import agreement_words
from journal_server.services.reports.changed_numbers import changed_words
from journal_server.services.reports.document import Block, Document, Heading, Listing, Paragraph, Table
from journal_server.services.reports.figures import timeline_figures
from journal_server.services.reports.gathered import Gathered, Grown
from journal_server.services.reports.notices import measured_days, name_notices, planting_notices
from journal_server.services.reports.options import Options
from journal_server.services.reports.parts import (
    INTERVALS,
    MADE_SCENES,
    ONE_PLANTER,
    SHARES,
    document_name,
    made,
    methods_words,
    picture_blocks,
)
from journal_server.services.reports.photo_choice import Chosen, peak_shot
from journal_server.services.reports.pictures import SMALL_PX
from journal_server.services.reports.plain_words import GROW_AGAIN, NO_VERDICT, NOT_ANSWERED, span_words
from journal_server.services.reports.ranking_part import ranking_part
from journal_server.services.reports.season_parts import (
    care_table,
    findings_table,
    load_surroundings,
    measured_table,
    weather_words,
)

MOST_PICTURES = 48


def trial_report(journal: Journal, gathered: Gathered, options: Options) -> Document:
    """Every cultivar of the trial, also those of which nothing is known."""
    grown, title = gathered.grown, gathered.words
    site = gathered.trial.fields.get("site") if options.with_place else None
    name, report = document_name(title, gathered.trial.id), made(title, options)
    if not grown:
        blocks: tuple[Block, ...] = (Paragraph(("Nothing is planted in this trial yet.",), "lead"),)
        return Document(name, title, str(site or ""), report, blocks)
    weather, care = load_surroundings(journal, gathered)
    blocks = (
        Paragraph((_summary(gathered),), "lead"),
        *_pictures(journal, gathered, options),
        Heading("Verdicts"),
        _verdicts(gathered) if gathered.verdicts else Paragraph((NO_VERDICT,)),
        Heading("Ranking"),
        *ranking_part(journal, gathered),
        Heading("The season"),
        *timeline_figures(gathered, weather, care),
        *_not_drawn(gathered),
        Paragraph((weather_words(journal, gathered),)),
        *care_table(journal, gathered),
        *findings_table(journal, gathered),
        Heading("What was measured, and how"),
        Paragraph((f"{SHARES} {INTERVALS} {methods_words(grown)}",)),
        measured_table(grown),
        Heading("How well it agrees with point counts", 3),
        Paragraph((agreement_words(journal, gathered.trial.id),)),
        Heading("What to know before trusting it"),
        Listing((*_caveats(gathered), *_changed(journal, gathered))),
    )
    return Document(name, title, str(site or ""), report, blocks)


def _summary(gathered: Gathered) -> str:
    grown = gathered.grown
    cultivars = len({one.cultivar.id for one in grown})
    planted = sorted({one.season.planted_on for one in grown})
    photos = sum(len(one.shots) for one in grown)
    days = sorted({day for one in grown for day in measured_days(one)})
    seen = (
        f"{counted(photos, 'photo')}, measured on {counted(len(days), 'day')} {span_words(days)}"
        if days
        else (f"{counted(photos, 'photo')}, none measured" if photos else "no photo")
    )
    return (
        f"{counted(cultivars, 'cultivar')} in {counted(len(grown), 'planting')}, planted {span_words(planted)}; {seen}."
    )


def _pictures(journal: Journal, gathered: Gathered, options: Options) -> list[Block]:
    """One picture of each planting: what its verdict calls best or peak, else the journal's choice of its peak."""
    chosen = [picture for one in gathered.grown if (picture := _picture(gathered, one))]
    named = [Chosen(one.one.name, one.one, one.shot) for one in chosen[:MOST_PICTURES]]
    left = f" Only the first {MOST_PICTURES} plantings are shown." if len(chosen) > MOST_PICTURES else ""
    unseen = [f"{one.name}, {one.season.place}" for one in gathered.grown if not one.shots]
    none = f" No photo was taken of {listed(unseen)}." if unseen else ""
    says = f"Each as its verdict chose it, else at most bloom, or most canopy where none was in flower.{left}{none}"
    return picture_blocks(journal, named, says, options, columns=4, longest_px=SMALL_PX)


def _picture(gathered: Gathered, one: Grown) -> Chosen | None:
    verdict = gathered.verdict(one.cultivar.id, one.place) or {}
    pictures = verdict.get("pictures") or {}
    shown = {shot.photo.id: shot for shot in one.shots}
    for role in ("best", "peak"):
        if pictures.get(role) in shown:
            return Chosen(role, one, shown[pictures[role]])
    return peak_shot(one)


def _not_drawn(gathered: Gathered) -> list[Block]:
    """The plantings that the picture of the season lacks."""
    without = [f"{one.name}, {one.season.place}" for one in gathered.grown if not measured_days(one)]
    return [Paragraph((f"Not drawn, as nothing was measured: {'; '.join(without)}.",), "quiet")] if without else []


def _verdicts(gathered: Gathered) -> Table:
    keys = dict.fromkeys((one.cultivar.id, one.place) for one in gathered.grown)
    names = {one.cultivar.id: one.name for one in gathered.grown}
    both = {id_ for id_, place in keys if place == "ground"} & {id_ for id_, place in keys if place == "container"}
    rows = []
    for cultivar_id, place in keys:
        verdict = gathered.verdict(cultivar_id, place)
        name = f"{names[cultivar_id]}, {PLACE_WORDS[place]}" if cultivar_id in both else names[cultivar_id]
        if verdict is None:
            rows.append((name, NO_VERDICT, "", ""))
            continue
        good, needs = (listed([str(one) for one in verdict.get(field) or []]) for field in ("good_for", "needs"))
        answer = GROW_AGAIN.get(verdict.get("grow_again") or "", NOT_ANSWERED)
        line = str(verdict.get("one_line") or "")
        rows.append((name, f"{answer} {line}".strip(), good or "not said", needs or "not said"))
    headers = ("cultivar", "verdict", "good for", "needs")
    return Table("What the trialler concludes", headers, tuple(rows), (2.0, 3.0, 1.6, 1.2))


def _changed(journal: Journal, gathered: Gathered) -> list[str]:
    names = {one.cultivar.id: one.name for one in gathered.grown}
    found = changed_words(journal, gathered)
    return [f"{names.get(id_, 'A cultivar')}, verdict: {' '.join(said)}" for (id_, _), said in found.items()]


def _caveats(gathered: Gathered) -> list[str]:
    said = [ONE_PLANTER, MADE_SCENES]
    planted = {one.season.planted_on for one in gathered.grown}
    if len(planted) > 1:
        said.append(
            f"Not all were planted on one day ({span_words(sorted(planted))}): compare them at the same age as well "
            "as on the same date."
        )
    for one in gathered.grown:
        if notices := [*name_notices(one), *planting_notices(one)]:
            said.append(f"{one.name}, {one.season.place}: {' '.join(notices)}")
    several = [
        names[0]
        for id_ in dict.fromkeys(one.cultivar.id for one in gathered.grown)
        if len(names := [one.name for one in gathered.grown if one.cultivar.id == id_]) > 1
    ]
    if several:
        said.append(
            f"Of {listed(several)} there are several plantings: in the ranking they stand for their cultivar together, "
            "with an interval from how they differ."
        )
    return said
