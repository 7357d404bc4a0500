"""A whole planting that shrank or stopped growing.

That heat makes leaves hang for hours, and that a weak water supply stops growth, is common practice, no source.
"""

from __future__ import annotations

from datetime import timedelta
from statistics import median

from journal_server.analysis.differences import difference
from journal_server.analysis.look_at.things import (
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

#: A shrinking is told against the highest fill of so many days before.
LOOK_BACK_DAYS = 35
#: A standing canopy does not shrink by itself: one chance in ten is enough to send somebody to look. This part of the
#: half-width of a 90 % interval (normal quantiles of 0.9 and 0.95); simulated seasons without events raised no alarm.
ONE_IN_TEN = 0.779
#: So many others of its age, measured on the same dates, make a usual course.
FEWEST_MATES = 3
#: The others must have grown by this much for a planting beside them to have stopped.
OTHERS_GREW = 0.08
#: A planting this full has arrived and need not grow.
FULL = 0.7
#: A planting roots in first: common practice, one to two weeks with little to see.
ROOTING_DAYS = 14


def shrank(planting: StandingPlanting, trial: TrialDay, least_loss: float) -> LookAt | None:
    """Canopy fill lost at least the share ``least_loss``, by more than measuring error but in one case of ten.

    Silent after a trim, and after a plant died or was lifted: the records explain it.
    """
    if len(planting.fills) < 2 or not is_news(planting.fills[-1][0], trial.day):
        return None
    after, now = planting.fills[-1]
    since = after.taken_on - timedelta(days=LOOK_BACK_DAYS)
    earlier = [one for one in planting.fills[:-1] if one[0].taken_on >= since]
    if not earlier:
        return None
    before, then = max(earlier, key=lambda one: one[1].value)
    lost = difference(then, now)
    surely = lost.value + ONE_IN_TEN * (lost.high - lost.value) < 0
    if now.value > (1 - least_loss) * then.value or not surely:
        return None
    if planting.cared_for(("trimmed",), before.taken_on, after.taken_on) or _plants_went(planting, before, after):
        return None
    hot = trial.heat_days(after.taken_on - timedelta(days=2), after.taken_on)
    others = []
    if hot:
        hottest = hot[-1].tmax_c or 0.0
        others.append(
            f"Hanging limp in the heat ({trial.units.temperature_words(hottest)} on {day_words(hot[-1].day)}): "
            "it stands up again by evening if there is water."
        )
    others += ["Wilting, also in wet soil: feel it before watering.", "The photo was taken from elsewhere, or windy."]
    return LookAt(
        "shrank",
        planting.id,
        after.taken_on,
        f"Canopy fill fell from {percent(then.value)} to {percent(now.value)}: check the water first, then the roots.",
        (measured("canopy fill", before, then), measured("canopy fill", after, now)),
        tuple(others),
        None if lost.high < 0 else "At the edge of measuring error: its photos are measured with wide intervals.",
    )


def _plants_went(planting: StandingPlanting, before: SeasonPoint, after: SeasonPoint) -> bool:
    """Whether a count between the two dates was lower than the one before it."""
    living = planting.season.plants
    for count in sorted(planting.counts, key=lambda c: c.counted_on):
        fewer = living is not None and count.plants < living
        if fewer and before.taken_on < count.counted_on <= after.taken_on:
            return True
        living = count.plants
    return False


def stopped_growing(planting: StandingPlanting, trial: TrialDay, for_days: float) -> LookAt | None:
    """No growth above measuring error for ``for_days``, below full, while the others of its age grew on."""
    if not planting.fills:
        return None
    after, now = planting.fills[-1]
    rooted = planting.season.planted_on + timedelta(days=ROOTING_DAYS)
    earlier = [
        one
        for one in planting.fills
        if (after.taken_on - one[0].taken_on).days >= for_days and one[0].taken_on >= rooted
    ]
    if now.value >= FULL or not earlier or not is_news(after, trial.day):
        return None
    before, then = earlier[-1]
    grown = difference(then, now)
    if grown.low > 0 or fell(then, now) or planting.cared_for(("trimmed",), before.taken_on, after.taken_on):
        return None
    others = _growth_of_others(planting, trial, before, after)
    if others is None or others < OTHERS_GREW or grown.high > others:
        return None
    days = (after.taken_on - before.taken_on).days
    return LookAt(
        "stopped_growing",
        planting.id,
        after.taken_on,
        f"No growth in {days} days, at {percent(now.value)} canopy fill, while the others filled in by "
        f"{round(100 * others)} points: check the dripper, the roots and the feed.",
        (measured("canopy fill", before, then), measured("canopy fill", after, now)),
        ("A kind that stays small.", "Slow to start: some kinds catch up later."),
    )


def _growth_of_others(
    planting: StandingPlanting, trial: TrialDay, before: SeasonPoint, after: SeasonPoint
) -> float | None:
    """Median growth of the others of its age between the two dates, in shares of the frame."""
    grown = []
    for mate in trial.mates_of(planting):
        if not same_age(planting, mate):
            continue
        then, now = nearest_on(mate.fills, before.taken_on), nearest_on(mate.fills, after.taken_on)
        if then and now and then[0] is not now[0]:
            grown.append(now[1].value - then[1].value)
    return median(grown) if len(grown) >= FEWEST_MATES else None
