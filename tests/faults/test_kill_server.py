"""A few rounds of the harness that kills the journal again and again (kill_server.py tells the counts of many)."""

from collections import Counter
from pathlib import Path

from faults.kill_server import TURNS, kill_again_and_again


def test_nothing_is_lost_doubled_or_half_written(tmp_path: Path) -> None:
    tally = kill_again_and_again(tmp_path, len(TURNS), seed=3)
    assert tally.wrong == [], tally.says()
    assert tally.kills == Counter(TURNS)
    assert tally.at_work.total() >= 2, tally.says()
    assert tally.acknowledged
    assert tally.measured == len(tally.made)
