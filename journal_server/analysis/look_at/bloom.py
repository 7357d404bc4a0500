"""Bloom that went faster than it should, or has not come; spent bloom that shows, or never does.

What a fall may mean is common practice, no source: bud-eating caterpillars leave the leaves alone; heat stops buds for
one to two weeks; a trim costs two to three weeks of bloom; flowers of a flush that ends wither where they stand.
"""

from __future__ import annotations

from datetime import timedelta
from statistics import median

from journal_server.analysis.differences import difference
from journal_server.analysis.look_at.things import (
    DAYS,
    SHARE,
    Evidence,
    LookAt,
    StandingPlanting,
    TrialDay,
    fell,
    is_news,
    measured,
    nearest_on,
    percent,
    same_age,
)
from journal_server.analysis.series import SeasonPoint
from journal_server.domain.dates import day_words
from journal_server.domain.words import counted
from journal_server.measurement.result import Estimate

#: A fall is told against the highest cover of so many days before: what is eaten goes within days.
LOOK_BACK_DAYS = 18
#: Less bloom than this before a fall is no bloom to lose; a planting above it is in bloom.
IN_BLOOM = 0.05
#: Canopy fill held where it kept this share of what it was.
HELD = 0.9
#: Where spent bloom grew by this share of what was lost, the flowers withered and were not eaten.
WITHERED = 0.25
#: So many others make a usual course.
FEWEST_MATES = 3
#: Days for which a trim explains missing bloom, and a spell of heat missing buds.
TRIM_DAYS, HEAT_DAYS = 21, 21

SPRAY_CAUTION = "Spraying is a decision to take with the product label."

Dated = tuple[SeasonPoint, Estimate]


def bloom_fell(planting: StandingPlanting, trial: TrialDay, least_fall: float) -> LookAt | None:
    """Bloom cover lost at least the share ``least_fall`` by more than measuring error while canopy fill held.

    Silent where the records explain it: a trim, flowers that withered (spent share rose), or a fall that the other
    plantings share on the same dates (then only what goes beyond theirs counts).
    """
    pair = _fall(planting, least_fall)
    if pair is None or not is_news(pair[1][0], trial.day):
        return None
    (before, cover_before), (after, cover_after) = pair
    if not _canopy_held(before, after) or _withered(before, after, cover_before.value - cover_after.value):
        return None
    if planting.cared_for(("trimmed",), after.taken_on - timedelta(days=TRIM_DAYS), after.taken_on):
        return None
    usual = _usual_course(planting, trial, before, after)
    if usual is not None and cover_after.value > (1 - least_fall) * cover_before.value * min(1.0, usual):
        return None
    sentence = (
        f"Bloom cover fell from {percent(cover_before.value)} to {percent(cover_after.value)} while canopy fill held: "
        "look for holed or missing buds and for the caterpillars that eat them."
    )
    evidence = [measured("bloom cover", before, cover_before), measured("bloom cover", after, cover_after)]
    evidence += [measured("canopy fill", p, p.canopy_fill) for p in (before, after) if p.canopy_fill]
    return LookAt(
        "bloom_fell",
        planting.id,
        after.taken_on,
        sentence,
        tuple(evidence),
        tuple(_other_explanations(planting, trial, before, after, usual)),
        SPRAY_CAUTION,
    )


def _fall(planting: StandingPlanting, least_fall: float) -> tuple[Dated, Dated] | None:
    if planting.season.foliage_only or len(planting.blooms) < 2:
        return None
    after = planting.blooms[-1]
    since = after[0].taken_on - timedelta(days=LOOK_BACK_DAYS)
    earlier = [one for one in planting.blooms[:-1] if one[0].taken_on >= since]
    if not earlier:
        return None
    before = max(earlier, key=lambda one: one[1].value)
    lost = before[1].value >= IN_BLOOM and after[1].value <= (1 - least_fall) * before[1].value
    return (before, after) if lost and fell(before[1], after[1]) else None


def _canopy_held(before: SeasonPoint, after: SeasonPoint) -> bool:
    if before.canopy_fill is None or after.canopy_fill is None:
        return False
    kept = after.canopy_fill.value >= HELD * before.canopy_fill.value
    return kept or not fell(before.canopy_fill, after.canopy_fill)


def _withered(before: SeasonPoint, after: SeasonPoint, lost: float) -> bool:
    if before.spent_share is None or after.spent_share is None:
        return False
    more = difference(before.spent_share, after.spent_share)
    return more.low > 0 and more.value >= WITHERED * lost


def _usual_course(planting: StandingPlanting, trial: TrialDay, before: SeasonPoint, after: SeasonPoint) -> float | None:
    """What share of its bloom the median of the others kept between the two dates; of the genus where enough are."""
    kept: list[tuple[bool, float]] = []
    for mate in trial.mates_of(planting):
        then, now = nearest_on(mate.blooms, before.taken_on), nearest_on(mate.blooms, after.taken_on)
        if then and now and then[1].value >= IN_BLOOM:
            kept.append((mate.season.genus == planting.season.genus, now[1].value / then[1].value))
    own_kind = [share for same, share in kept if same]
    chosen = own_kind if len(own_kind) >= FEWEST_MATES else [share for _, share in kept]
    return median(chosen) if len(chosen) >= FEWEST_MATES else None


def _other_explanations(
    planting: StandingPlanting, trial: TrialDay, before: SeasonPoint, after: SeasonPoint, usual: float | None
) -> list[str]:
    found = []
    hot = trial.heat_days(before.taken_on - timedelta(days=HEAT_DAYS), after.taken_on)
    if hot:
        found.append(
            f"Heat: {counted(len(hot), 'heat day')} up to {day_words(hot[-1].day)}. Heat stops the buds of many kinds; "
            "it shows one to two weeks later and passes."
        )
    tidied = planting.cared_for(("deadheaded",), before.taken_on, after.taken_on)
    if tidied:
        found.append(f"Deadheaded on {day_words(tidied.done_on)}: open flowers may have gone with the spent ones.")
    if usual is not None and usual < 1:
        found.append(f"The others lost bloom too: half of them kept no more than {percent(usual)} of theirs.")
    pause = _earlier_pause(planting, before)
    if pause:
        found.append(
            f"A pause between two flushes: it bloomed as little about {day_words(pause.taken_on)} and came back."
        )
        return found
    return [*found, "A natural pause between two flushes."]


def _earlier_pause(planting: StandingPlanting, before: SeasonPoint) -> SeasonPoint | None:
    """The date before ``before`` on which bloom cover was at most half of what it was both earlier and later."""
    past = [one for one in planting.blooms if one[0].taken_on <= before.taken_on]
    for at in range(1, len(past) - 1):
        sides = (max(e.value for _, e in past[:at]), max(e.value for _, e in past[at + 1 :]))
        if 2 * past[at][1].value <= min(sides) and min(sides) >= IN_BLOOM:
            return past[at][0]
    return None


def not_yet_in_bloom(planting: StandingPlanting, trial: TrialDay, late_days: float) -> LookAt | None:
    """No bloom above measuring error ``late_days`` after half of the others of its age came into bloom."""
    if planting.season.foliage_only or not planting.blooms or any(e.low > 0.02 for _, e in planting.blooms):
        return None
    point, cover = planting.blooms[-1]
    if cover.value >= IN_BLOOM or not is_news(point, trial.day):
        return None
    mates = [m for m in trial.mates_of(planting) if not m.season.foliage_only and m.blooms and same_age(planting, m)]
    own_kind = [m for m in mates if m.season.genus == planting.season.genus]
    chosen = own_kind if len(own_kind) >= FEWEST_MATES else mates
    ages = sorted(age for m in chosen if (age := _first_bloom_days(m)) is not None)
    if len(chosen) < FEWEST_MATES or 2 * len(ages) < len(chosen):
        return None
    usual = ages[(len(chosen) - 1) // 2]
    age = (point.taken_on - planting.season.planted_on).days
    if age - usual < late_days:
        return None
    whom = f"the others of {planting.season.genus}" if chosen is own_kind else "the others of the trial"
    return LookAt(
        "not_yet_in_bloom",
        planting.id,
        point.taken_on,
        f"Not yet in bloom {age} days after planting: half of {whom} were after {usual}. Look for buds.",
        (
            measured("bloom cover", point, cover),
            Evidence(f"half of {whom} in bloom, days after planting", usual, DAYS),
        ),
        ("A kind that flowers late, or in short days only.", "Too much shade or too much nitrogen.", "Buds eaten."),
    )


def _first_bloom_days(mate: StandingPlanting) -> int | None:
    first = next((p for p, cover in mate.blooms if cover.value >= IN_BLOOM and cover.low > 0), None)
    return (first.taken_on - mate.season.planted_on).days if first else None


def spent_high(planting: StandingPlanting, trial: TrialDay, threshold: float) -> LookAt | None:
    """Spent share surely at or above ``threshold`` on the last date, and not deadheaded since."""
    spent = [(p, p.spent_share) for p in planting.days if p.spent_share is not None]
    if planting.season.foliage_only or not spent:
        return None
    point, share = spent[-1]
    if share.low < threshold or not is_news(point, trial.day):
        return None
    if planting.cared_for(("deadheaded", "trimmed"), point.taken_on - timedelta(days=1), trial.day):
        return None
    return LookAt(
        "spent_high",
        planting.id,
        point.taken_on,
        f"{percent(share.value)} of what is seen is spent bloom: deadheading would show a difference.",
        (measured("spent share", point, share),),
        ("A flush that ends: it passes by itself in a kind that cleans itself.",),
    )


#: Self-cleaning is told from so many dates in bloom over so many days.
SELF_CLEANING_DATES, SELF_CLEANING_DAYS = 5, 35


def self_cleaning(planting: StandingPlanting, trial: TrialDay, threshold: float) -> LookAt | None:
    """Spent share surely at most ``threshold`` on every date in bloom, never deadheaded or trimmed.

    It is the upper bound of each date that counts: what was measured roughly says nothing of a cultivar.

    Its day is the first on which this could be told, so that an answer to it holds while it stays so.
    """
    dates = [
        (p, p.spent_share, p.bloom_cover)
        for p in planting.days
        if p.spent_share is not None and p.bloom_cover is not None and p.bloom_cover.value >= 2 * IN_BLOOM
    ]
    if planting.season.foliage_only or any(c.action in ("deadheaded", "trimmed") for c in planting.care):
        return None
    if any(spent.high > threshold for _, spent, _ in dates):
        return None
    long_enough = [
        i for i, (p, _, _) in enumerate(dates) if (p.taken_on - dates[0][0].taken_on).days >= SELF_CLEANING_DAYS
    ]
    told = next((i for i in long_enough if i + 1 >= SELF_CLEANING_DATES), None)
    if told is None:
        return None
    worst_point, worst, _ = max(dates, key=lambda one: one[1].high)
    return LookAt(
        "self_cleaning",
        planting.id,
        dates[told][0].taken_on,
        f"Self-cleaning, as far as it is measured: spent bloom at most {percent(worst.value)} "
        f"({percent(worst.high)} with measuring error) on {len(dates)} dates in bloom, without deadheading. "
        "Worth a note.",
        (
            measured("spent share, highest", worst_point, worst),
            Evidence("spent share, median", median(spent.value for _, spent, _ in dates), SHARE),
        ),
    )
