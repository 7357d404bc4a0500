"""Which planned care is due at which planting on a day. Pure; the phones keep to it by the same table of cases."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TypeVar


@dataclass(frozen=True)
class Standing:
    """A planting and the days on which it stands."""

    id: str
    trial_id: str
    planted_on: date
    removed_on: date | None = None

    def stands_on(self, day: date) -> bool:
        return self.planted_on <= day and (self.removed_on is None or day <= self.removed_on)


@dataclass(frozen=True)
class CarePlan:
    """``planting_id`` None is for all plantings of the trial."""

    id: str
    trial_id: str
    planting_id: str | None
    action: str
    every_days: int
    begins_on: date | None = None
    ends_on: date | None = None

    def is_in_force_on(self, day: date) -> bool:
        return (self.begins_on is None or self.begins_on <= day) and (self.ends_on is None or day <= self.ends_on)


@dataclass(frozen=True)
class CareDone:
    """``planting_id`` None was done at all plantings of the trial."""

    trial_id: str
    planting_id: str | None
    action: str
    done_on: date


@dataclass(frozen=True)
class CareDue:
    """``overdue_days`` is 0 on the very day on which it is due."""

    planting_id: str
    action: str
    plan_id: str
    due_on: date
    overdue_days: int
    last_done_on: date | None


_OfPlanting = TypeVar("_OfPlanting", CarePlan, CareDone)


def care_due(
    plans: Iterable[CarePlan], care: Sequence[CareDone], plantings: Iterable[Standing], day: date
) -> list[CareDue]:
    """What is due or overdue on ``day``, the longest due first; at most one of each action for a planting.

    A plan counts from the last time its action was done at the planting, or at all of the trial, since it was planted:
    due ``every_days`` later, but not before the plan begins. Never done, it is due on the day it begins, and without
    such a day ``every_days`` after planting. A planting's own plans go before those for all with the same action.
    """
    in_force = [plan for plan in plans if plan.is_in_force_on(day)]
    found = [due for p in plantings if p.stands_on(day) for due in _due_at(p, in_force, care, day)]
    return sorted(found, key=lambda due: (due.due_on, due.planting_id, due.action))


def care_ahead(
    plans: Iterable[CarePlan], care: Sequence[CareDone], plantings: Iterable[Standing], first: date, last: date
) -> list[CareDue]:
    """What is due or overdue on ``first``, and what will be until ``last`` if all is done on the day it is due."""
    plans_of, care_of = _by_planting(plans), _by_planting(care)
    found = [
        due
        for planting in plantings
        for due in _ahead_at(
            planting,
            [plan for whom in (planting.id, None) for plan in plans_of.get(whom, ())],
            [done for whom in (planting.id, None) for done in care_of.get(whom, ())],
            first,
            last,
        )
    ]
    return sorted(found, key=lambda due: (due.due_on, due.planting_id, due.action))


def _by_planting(things: Iterable[_OfPlanting]) -> dict[str | None, list[_OfPlanting]]:
    found: dict[str | None, list[_OfPlanting]] = {}
    for thing in things:
        found.setdefault(thing.planting_id, []).append(thing)
    return found


def _ahead_at(
    planting: Standing, plans: Sequence[CarePlan], care: Sequence[CareDone], first: date, last: date
) -> Iterator[CareDue]:
    last_done = {plan.action: _last_done(plan.action, planting, care, first) for plan in plans}
    done = [CareDone(planting.trial_id, planting.id, action, day) for action, day in last_done.items() if day]
    for day in (first + timedelta(days=n) for n in range((last - first).days + 1)):
        if planting.stands_on(day):
            due = _due_at(planting, [plan for plan in plans if plan.is_in_force_on(day)], done, day)
            done = [*done, *(CareDone(planting.trial_id, planting.id, one.action, day) for one in due)]
            yield from due


def _due_at(planting: Standing, plans: Sequence[CarePlan], care: Sequence[CareDone], day: date) -> list[CareDue]:
    own = [p for p in plans if p.planting_id == planting.id]
    planned_here = {p.action for p in own}
    for_all = [p for p in plans if p.planting_id is None and p.trial_id == planting.trial_id]
    first: dict[str, CareDue] = {}
    for plan in (*own, *(p for p in for_all if p.action not in planned_here)):
        last = _last_done(plan.action, planting, care, day)
        due_on = _due_on(plan, planting, last)
        if due_on <= day and (plan.action not in first or due_on < first[plan.action].due_on):
            overdue_days = (day - due_on).days
            first[plan.action] = CareDue(planting.id, plan.action, plan.id, due_on, overdue_days, last)
    return list(first.values())


def _last_done(action: str, planting: Standing, care: Sequence[CareDone], day: date) -> date | None:
    days = (
        done.done_on
        for done in care
        if done.action == action
        and done.trial_id == planting.trial_id
        and done.planting_id in (None, planting.id)
        and planting.planted_on <= done.done_on <= day
    )
    return max(days, default=None)


def _due_on(plan: CarePlan, planting: Standing, last: date | None) -> date:
    begins_on = plan.begins_on or date.min
    if last is None and plan.begins_on is not None:
        return max(begins_on, planting.planted_on)
    return max((last or planting.planted_on) + timedelta(days=plan.every_days), begins_on)
