"""What is due or doubtful without any measuring: care, photos, cards, identity, heat ahead."""

from __future__ import annotations

from datetime import timedelta

from journal_server.analysis.look_at.things import (
    DAYS,
    Evidence,
    LookAt,
    PhotoSeen,
    StandingPlanting,
    TrialDay,
)
from journal_server.analysis.weather import DayWeather
from journal_server.domain.dates import day_words
from journal_server.domain.words import counted

#: What to do, by the care that was planned.
CARE_WORDS = {
    "fed": "Feeding",
    "sprayed": "Spraying",
    "deadheaded": "Deadheading",
    "trimmed": "Trimming",
    "watered": "Watering",
    "repaired": "Repairing",
}
SPRAY_CAUTION = (
    "The product's label says what, how much and how often. "
    "Not on open bloom while bees fly; mind pets and local rules."
)


def care_overdue(planting: StandingPlanting, trial: TrialDay, late_days: float) -> LookAt | None:
    """Planned care at least ``late_days`` late; the longest overdue leads."""
    late = [c for c in planting.overdue if (trial.day - c.due_on).days >= late_days]
    if not late:
        return None
    worst = min(late, key=lambda c: c.due_on)
    words = [f"{CARE_WORDS.get(c.action, c.action)}{f' ({c.product})' if c.product else ''}" for c in late]
    days = (trial.day - worst.due_on).days
    return LookAt(
        "care_overdue",
        planting.id,
        max(c.due_on for c in late),
        f"{' and '.join(dict.fromkeys(words))} was due on {day_words(worst.due_on)}, {counted(days, 'day')} ago.",
        tuple(
            Evidence(f"{CARE_WORDS.get(c.action, c.action)}, days overdue", (trial.day - c.due_on).days, DAYS, c.due_on)
            for c in late
        ),
        ("Done, but not entered.",),
        SPRAY_CAUTION if any(c.action == "sprayed" for c in late) else None,
    )


def not_photographed(planting: StandingPlanting, trial: TrialDay, after_days: float) -> LookAt | None:
    """No photo for ``after_days``; its day is that of the last photo, or of planting."""
    last = max((p.taken_on for p in planting.photos), default=None)
    since = last or planting.season.planted_on
    days = (trial.day - since).days
    if days < after_days:
        return None
    words = (
        f"Not photographed for {counted(days, 'day')}."
        if last
        else f"Never photographed, {counted(days, 'day')} after planting."
    )
    newest = max(planting.photos, key=lambda p: p.taken_on, default=None)
    photo_ids = (newest.photo_id,) if newest else ()
    said = "last photo, days ago" if last else "planted, days ago"
    return LookAt(
        "not_photographed", planting.id, since, words, (Evidence(said, days, DAYS, since, photo_ids=photo_ids),)
    )


def card_missing(planting: StandingPlanting, trial: TrialDay, dates: float) -> LookAt | None:
    """The card could not be read on any photo of the last ``dates`` days with photos."""
    days = sorted({p.taken_on for p in planting.photos}, reverse=True)[: int(dates)]
    if not planting.has_card or len(days) < dates:
        return None
    lately = [p for p in planting.photos if p.taken_on >= days[-1]]
    if any(p.card_read for p in lately):
        return None
    newest: PhotoSeen = max(lately, key=lambda p: p.taken_on)
    return LookAt(
        "card_missing",
        planting.id,
        newest.taken_on,
        f"The card was not readable on the last {len(days)} dates: see that it stands, clean and free of leaves.",
        tuple(
            Evidence("photos without a card", sum(p.taken_on == d for p in lately), "photos", d,
                     photo_ids=tuple(p.photo_id for p in lately if p.taken_on == d))
            for d in sorted(days)
        ),
        ("The photos were taken from too far, or at a slant.",),
    )  # fmt: skip


def identity_doubtful(planting: StandingPlanting, trial: TrialDay, _on: float) -> LookAt | None:
    """The identity is entered as doubtful."""
    if not planting.identity_doubtful:
        return None
    said = f"the label said “{planting.label_said}”" if planting.label_said else None
    like = f"it looks like {planting.looks_like}" if planting.looks_like else None
    known = "; ".join(filter(None, (said, like)))
    return LookAt(
        "identity_doubtful",
        planting.id,
        planting.season.planted_on,
        f"Which cultivar is it? {known[0].upper()}{known[1:]}."
        if known
        else "Which cultivar is it? Its identity is in doubt.",
    )


def heat_ahead(planting: StandingPlanting, trial: TrialDay, days_ahead: float) -> LookAt | None:
    """A heat day within ``days_ahead`` days after the day looked at, for a planting in full sun."""
    if not planting.full_sun:
        return None
    hot = trial.heat_ahead(trial.day + timedelta(days=int(days_ahead)))
    if not hot:
        return None
    worst = max(hot, key=lambda w: w.tmax_c or 0.0)
    said = trial.units.temperature_words(worst.tmax_c or 0.0)
    return LookAt(
        "heat_ahead",
        planting.id,
        hot[0].day,
        f"{said} ahead on {day_words(worst.day)}, in full sun: see that the water runs; water early.",
        tuple(_temperature(trial, w) for w in hot),
        ("A forecast may be wrong.",),
        "For people too: walk early, drink, look for shade.",
    )


def _temperature(trial: TrialDay, weather: DayWeather) -> Evidence:
    value, unit = trial.units.read(weather.tmax_c or 0.0)
    return Evidence("highest temperature ahead", value, unit, weather.day)
