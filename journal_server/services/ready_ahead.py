"""After a start: the season now under way put together before it is asked for, as nothing is in memory yet."""

from __future__ import annotations

import logging
import threading

from journal_server.errors import NotFound
from journal_server.services.journal import Journal
from journal_server.services.season import load_season
from journal_server.services.timeline import Order, timeline_figure
from journal_server.storage.records import Record, load_records

log = logging.getLogger(__name__)

PAUSE_S = 0.01
"""Between two plantings, so that whoever asks for something meanwhile comes first."""
PHONE_PX = 358
"""The width of a figure on a common phone (`web/store/season_addresses.js`)."""


class ReadyAhead:
    """Works through the plantings of one trial in a thread of its own, until done or told to stop."""

    def __init__(self, journal: Journal):
        self.journal = journal
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="ready ahead", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        self._stopping.set()
        if self._thread.is_alive():
            self._thread.join(timeout=30)

    def _run(self) -> None:
        try:
            self.make_ready()
        except NotFound:
            pass  # deleted meanwhile: what is asked for will be put together then
        except Exception:  # nothing rests on it: without it the first answer takes longer
            log.exception("putting the season together ahead failed")

    def make_ready(self) -> None:
        plantings = self._of_the_season()
        for planting in plantings:
            if self._stopping.wait(PAUSE_S):
                return
            load_season(self.journal, planting.id)
        if plantings and not self._stopping.is_set():
            timeline_figure(self.journal, plantings[0].fields["trial_id"], PHONE_PX, Order())

    def _of_the_season(self) -> list[Record]:
        """The plantings of the trial that was planted last, up to today: next year's may be set up long before."""
        today = self.journal.today().isoformat()
        with self.journal.database.reading() as session:
            begun = [one for one in load_records(session, "planting") if one.fields["planted_on"] <= today]
        if not begun:
            return []
        trial_id = max(begun, key=lambda one: one.fields["planted_on"]).fields["trial_id"]
        return [one for one in begun if one.fields["trial_id"] == trial_id]
