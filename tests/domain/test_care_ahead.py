"""What care comes next, if all is done on the day it is due; worked by hand."""

from __future__ import annotations

from datetime import date

from journal_server.domain.care_due import CareDone, CarePlan, Standing, care_ahead, care_due

PLANTED = date(2026, 5, 16)
P1, P2 = Standing("p1", "t", PLANTED), Standing("p2", "t", PLANTED, removed_on=date(2026, 6, 20))
FEED = CarePlan("feed", "t", None, "fed", 7)


def ahead(
    *plans: CarePlan, care: tuple[CareDone, ...] = (), last: date = date(2026, 6, 30)
) -> list[tuple[str, str, date]]:
    found = care_ahead(plans, care, [P1, P2], date(2026, 6, 10), last)
    return [(one.planting_id, one.action, one.due_on) for one in found]


def june(day: int) -> date:
    return date(2026, 6, day)


def test_overdue_first_then_every_interval_until_it_is_removed() -> None:
    fed = (CareDone("t", None, "fed", june(2)),)
    assert ahead(FEED, care=fed) == [
        ("p1", "fed", june(9)), ("p2", "fed", june(9)),
        ("p1", "fed", june(17)), ("p2", "fed", june(17)), ("p1", "fed", june(24)),
    ]  # fmt: skip


def test_the_first_day_says_the_same_as_what_is_due() -> None:
    fed = (CareDone("t", "p1", "fed", june(4)),)
    plans = [FEED, CarePlan("own", "t", "p2", "fed", 3)]
    due = care_due(plans, fed, [P1, P2], june(10))
    assert care_ahead(plans, fed, [P1, P2], june(10), june(10)) == due != []


def test_a_plan_that_begins_and_ends_later_is_seen_coming() -> None:
    spray = CarePlan("spray", "t", "p1", "sprayed", 7, begins_on=june(15), ends_on=june(25))
    assert ahead(spray) == [("p1", "sprayed", june(15)), ("p1", "sprayed", june(22))]
