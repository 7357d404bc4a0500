"""Hits and false alarms of the rules on simulated seasons and on the sample season.

    python tests/analysis/look_at_benchmark.py [seasons]

A hit: the rule named the planting that the event struck (and, for a lagging plant, the right plant) within five weeks.
A false alarm: it named one that the event did not strike, on any walk of the season. Counted are plantings, not walks.
Spent bloom is judged by its true share: twice the threshold should be named, less than the threshold should not.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))


from analysis.sample_season import measured_trial, trial_from_truth
from analysis.simulated_seasons import PLANTED, WALKS, Simulated, growth, simulate_trial, slot_fills

from journal_server.analysis.look_at.lagging import lag_scores, least_score
from journal_server.analysis.look_at.rule_settings import USUAL
from journal_server.analysis.look_at.rules import look_at
from journal_server.analysis.look_at.things import LookAt, StandingPlanting, TrialDay
from journal_server.analysis.weather import DayWeather

#: What each event should make a rule say. Trims and flushes should make no rule say anything.
MEANT = {
    "stunted": "lagging_plant",
    "bud loss": "bloom_fell",
    "heat sag": "shrank",
    "fade": "colour_moved",
    "stop": "stopped_growing",
    "late bloom": "not_yet_in_bloom",
}
#: Facts about a kind or about upkeep, which no event of the simulation makes true or false.
NOT_JUDGED = ("self_cleaning", "not_photographed")
WITHIN_DAYS = 35
SPENT_THRESHOLD = USUAL["spent_high"] / 100


def walk_through(
    plantings: tuple[StandingPlanting, ...], weather: tuple[DayWeather, ...], days: Iterable[int]
) -> list[LookAt]:
    """All that is said on the walks of a season, told on the evening of each walk; days after planting."""
    said = []
    for day in days:
        said += look_at(TrialDay(PLANTED + timedelta(days=day), plantings, weather))
    return said


def count(trials: Iterable[Simulated]) -> tuple[dict[str, Counter[str]], int]:
    """For each rule: struck, hit, false alarms and because of which event; and the number of plantings."""
    found: dict[str, Counter[str]] = defaultdict(Counter)
    plantings = 0
    for trial in trials:
        plantings += len(trial.plantings)
        hot = {day for event, day, _ in trial.events.values() if event == "heat sag"}
        said = walk_through(trial.plantings, trial.weather, sorted({d + 1 for d in WALKS} | hot))
        said_of = {(one.planting_id, one.day) for one in said if one.rule == "spent_high"}
        sure = [key for key, share in trial.spent.items() if share >= 2 * SPENT_THRESHOLD]
        found["spent_high"]["struck"] += len({planting_id for planting_id, _ in sure})
        found["spent_high"]["hit"] += len({key[0] for key in sure if key in said_of})
        for event, _, _ in trial.events.values():
            if event in MEANT:
                found[MEANT[event]]["struck"] += 1
        for rule, planting_id in {(one.rule, one.planting_id) for one in said if one.rule not in NOT_JUDGED}:
            event, day, plant = trial.events.get(planting_id, ("nothing", 0, None))
            mine = [one for one in said if (one.rule, one.planting_id) == (rule, planting_id)]
            if rule == "spent_high":
                mine = [one for one in mine if trial.spent[planting_id, one.day] < SPENT_THRESHOLD]
                found[rule][f"false: {event}"] += bool(mine)
            elif MEANT.get(event) == rule:
                found[rule]["hit"] += _in_time(mine, day, plant)
                found[rule]["wrong plant"] += plant is not None and not _in_time(mine, day, plant, 400)
            else:
                found[rule][f"false: {event}"] += 1
    return found, plantings


def _in_time(said: list[LookAt], day: int, plant: int | None, within: int = WITHIN_DAYS) -> bool:
    until = PLANTED + timedelta(days=day + (400 if plant is not None else within))
    return any(one.day <= until and (plant is None or f"Plant {plant} of" in one.sentence) for one in said)


def lagging_by_week(wrongly_named: float = USUAL["lagging_plant"], rows: int = 400, seed: int = 5) -> list[str]:
    """Share of rows named by week: of those with a plant 0.42 to 0.62 as vigorous as the others, and of even ones."""
    rng = np.random.default_rng(seed)
    lines = ["week  named rightly (inner, end)  named wrongly  even named today  even named so far"]
    named: dict[str, list[list[int | None]]] = {"lagging": [], "even": []}
    truth = []
    for _ in range(rows):
        plants = int(rng.integers(3, 8))
        stunted = int(rng.integers(0, plants))
        truth.append((stunted, stunted in (0, plants - 1)))
        for kind, which in (("lagging", stunted), ("even", None)):
            days = np.array(WALKS[:14], dtype=float)
            slots = slot_fills(rng, growth(rng, days), plants, which, rng.uniform(0.42, 0.62))
            slots = np.clip(slots + rng.normal(0, 0.012, slots.shape), 0.001, 1)
            named[kind].append([named_plant(slots[: i + 1], wrongly_named) for i in range(len(days))])
    for week in (1, 2, 3, 4, 6, 8, 10, 14):
        said = [row[week - 1] for row in named["lagging"]]
        right = [s == t for s, (t, _) in zip(said, truth, strict=True)]
        ends = [end for _, end in truth]
        wrong = np.mean([s is not None and s != t for s, (t, _) in zip(said, truth, strict=True)])
        today = np.mean([row[week - 1] is not None for row in named["even"]])
        ever = np.mean([any(one is not None for one in row[:week]) for row in named["even"]])
        inner, end = (np.mean([r for r, e in zip(right, ends, strict=True) if e == which]) for which in (False, True))
        lines.append(
            f"{week:4}  {np.mean(right):6.0%} ({inner:.0%}, {end:.0%}){'':10}{wrong:9.0%}{today:15.0%}{ever:17.0%}"
        )
    return lines


def named_plant(slots: np.ndarray, wrongly_named: float) -> int | None:
    """The plant that the rule would name (from 0), or None; slots of shape (dates, plants)."""
    slots = slots[slots.mean(axis=1) >= 0.05]
    if not slots.size:
        return None
    scores = lag_scores(slots)
    worst = int(scores.argmax())
    return worst if scores[worst] >= least_score(wrongly_named, slots.shape[1]) else None


def table(found: dict[str, Counter[str]], plantings: int) -> list[str]:
    lines = [f"  {'rule':<18}{'hit':>10}  false alarms of {plantings} plantings, by what befell them"]
    for rule in sorted(set(found) | set(MEANT.values())):
        counted = found[rule]
        false = {name[7:]: n for name, n in sorted(counted.items()) if name.startswith("false: ")}
        hits = f"{counted['hit']}/{counted['struck']}" if counted["struck"] else "-"
        wrong = f", wrong plant {counted['wrong plant']}" if counted["wrong plant"] else ""
        lines.append(f"  {rule:<18}{hits:>10}  {sum(false.values())} {false or ''}{wrong}")
    return lines


def main(seasons: int) -> None:
    print(f"{seasons} simulated seasons with events, 24 plantings, {len(WALKS)} walks each")
    print("\n".join(table(*count(simulate_trial(seed) for seed in range(seasons)))))
    print(f"{seasons} simulated seasons without any event")
    print("\n".join(table(*count(simulate_trial(1000 + seed, with_events=False) for seed in range(seasons)))))
    print("A lagging plant, all dates together, meant: 15 in 100 even rows named by mistake over a season")
    print("\n".join(lagging_by_week()))
    for name, trial in (("as measured", measured_trial()), ("exact truth", trial_from_truth())):
        print(
            f"Sample season, {name} (P1 loses bloom by 14 July and fades, plant 3 of P2 is stunted, P4 sags on 27 July)"
        )
        walks = sorted({(p.taken_on - PLANTED).days for one in trial.plantings for p in one.season.points})
        for one in walk_through(trial.plantings, trial.weather, walks):
            if one.rule != "not_photographed":
                print(f"  {one.day} {one.planting_id} {one.rule}: {one.sentence}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
