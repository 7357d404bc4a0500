"""Bloom colour that moved more than is usual for its kind, judged by the fade of the others of the same kind."""

from __future__ import annotations

from statistics import median

from journal_server.analysis.fade import ColourDifference, colour_difference
from journal_server.analysis.look_at.fades import SureFade
from journal_server.analysis.look_at.things import DE00, Evidence, LookAt, StandingPlanting, TrialDay, is_news
from journal_server.domain.dates import day_words

#: So many others of the same cultivar, or else genus, or else of the trial, say what is usual.
FEWEST_OF_CULTIVAR, FEWEST_OTHERS = 2, 3
#: All of the last so many sure dates must show it, so that one photo in an odd light does not.
SURE_DATES = 2
#: Signed CIELAB parts below this are not told in words.
TOLD = 2.0


def colour_moved(planting: StandingPlanting, trial: TrialDay, more_than_usual: float) -> LookAt | None:
    """Bloom colour farther from its reference date, by ``more_than_usual`` (CIEDE2000), than is usual for its kind.

    Usual is the median fade of the other plantings of the cultivar at about the same time after their own reference
    dates, else of those of the genus, else of the trial. Only dates count on which nothing speaks for the light.
    """
    own = trial.fades.get(planting.id)
    if own is None or len(own.steps) < SURE_DATES or not is_news(own.steps[-1].point, trial.day):
        return None
    last, recent = own.steps[-1], own.steps[-SURE_DATES:]
    if any(step.de00 < more_than_usual for step in recent):
        return None
    usual, of_whom = _usual(planting, trial, last.days)
    if usual is None or any(step.de00 - usual < more_than_usual for step in recent):
        return None
    reference_lab, lab = own.reference.bloom_lab, last.point.bloom_lab
    if reference_lab is None or lab is None:
        return None
    difference = colour_difference(reference_lab, lab)
    return LookAt(
        "colour_moved",
        planting.id,
        last.point.taken_on,
        f"Bloom colour moved by {last.de00:.0f} (CIEDE2000) since {day_words(own.reference.taken_on)}"
        f"{_direction(difference)}; {of_whom} moved by {usual:.0f}. Look whether it shows.",
        (
            Evidence(
                "colour moved",
                last.de00,
                DE00,
                last.point.taken_on,
                photo_ids=(own.reference.photo_id, last.point.photo_id),
            ),
            Evidence(f"usual: {of_whom}", usual, DE00),
        ),
        ("Older flowers in the picture than before.", *_heat(trial, own), "Short days and cold deepen colour."),
        "A colour read from a photo is off by about 3 (CIEDE2000) in the middle, more in sun and shade.",
    )


def _usual(planting: StandingPlanting, trial: TrialDay, days: int) -> tuple[float | None, str]:
    genus: list[float] = []
    cultivar: list[float] = []
    everyone: list[float] = []
    for mate in trial.mates_of(planting):
        faded = trial.fades.get(mate.id)
        de00 = faded.near(days) if faded else None
        if de00 is None:
            continue
        everyone.append(de00)
        if mate.season.genus == planting.season.genus:
            genus.append(de00)
        if mate.cultivar_id and mate.cultivar_id == planting.cultivar_id:
            cultivar.append(de00)
    if len(cultivar) >= FEWEST_OF_CULTIVAR:
        return median(cultivar), "the others of the cultivar"
    if len(genus) >= FEWEST_OTHERS:
        return median(genus), f"the others of {planting.season.genus}"
    return (median(everyone), "the others of the trial") if len(everyone) >= FEWEST_OTHERS else (None, "")


def _direction(difference: ColourDifference) -> str:
    told = []
    if abs(difference.dl) >= TOLD:
        told.append("lighter" if difference.dl > 0 else "darker")
    if abs(difference.dc) >= TOLD:
        told.append("stronger" if difference.dc > 0 else "duller")
    return f", {' and '.join(told)}" if told else ""


def _heat(trial: TrialDay, own: SureFade) -> tuple[str, ...]:
    hot = trial.heat_days(own.reference.taken_on, own.steps[-1].point.taken_on)
    return (f"Heat and strong light: {len(hot)} heat days since.",) if hot else ()
