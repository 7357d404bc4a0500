"""The served OpenAPI document against the server: every route is in it, no answer is outside it, none is a fault.

`PYTHONPATH=tests python -m api.test_openapi --examples 500` asks far more of each call.
"""

from __future__ import annotations

import argparse
import contextlib
import sys
import tempfile
import warnings
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from conftest import SetUp
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from made_photos import jpeg
from schemathesis.checks import not_a_server_error
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import content_type_conformance, status_code_conformance

from journal_server.api.access import LEAST_ROLE
from journal_server.api.openapi import openapi_document
from journal_server.api.operations import DAY, ID, OPERATIONS, Operation
from journal_server.app import create_app
from journal_server.services.journal import open_journal
from journal_server.services.take_in_photo import take_in_photo

CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance]
EXAMPLES = 8


@contextlib.contextmanager
def served_journal(folder: Path) -> Iterator[tuple[Any, dict[str, str]]]:
    """The application of a small trial, its document as it serves it, and the ids that lead somewhere."""
    with contextlib.closing(open_journal(folder / "journal")) as journal:
        set_up = SetUp(journal)
        planting_id = set_up.planting()
        taken = take_in_photo(journal, jpeg(datetime.now(UTC).strftime("%Y:%m:%d %H:%M:%S")), "a.jpg")
        set_up.edit("photo", taken.photo.id, planting_id=planting_id)
        with journal.database.reading() as session:
            from journal_server.storage.records import load_record

            planting = load_record(session, planting_id)
        assert planting
        there = {
            "trial": set_up.trial_id, "trial_id": set_up.trial_id, "planting": planting_id, "planting_id": planting_id,
            "photo": taken.photo.id, "photo_id": taken.photo.id, "first": taken.photo.id, "second": taken.photo.id,
            "cultivar": planting.fields["cultivar_id"], "kind": "cultivar", "quantity": "canopy_fill",
        }  # fmt: skip
        yield schemathesis.openapi.from_wsgi("/api/openapi.json", create_app(journal)), there


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Any, dict[str, str]]]:
    with served_journal(tmp_path_factory.mktemp("openapi")) as found:
        yield found


def ask(served: tuple[Any, dict[str, str]], call: tuple[str, str], examples: int) -> None:
    """Sound and unsound requests of one call; half of the ids in them are of something that is there."""
    schema, there = served
    operation = schema[call[1].replace("<", "{").replace(">", "}")][call[0]]
    sound, unsound = (operation.as_strategy(generation_mode=mode) for mode in GenerationMode)

    @seed(7)
    @settings(
        max_examples=examples,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(sound | unsound, st.booleans())
    def ask_each(case: Any, known: bool) -> None:
        for part in (case.path_parameters, case.query, case.body):
            if known and isinstance(part, dict):
                part.update({name: value for name, value in there.items() if name in part and part is not case.body})
                part.update({"trial_id": there["trial_id"]} if "trial_id" in part else {})
        with contextlib.suppress(UnicodeError):
            case.call_and_validate(checks=CHECKS)

    ask_each()


def test_every_call_of_the_api_is_in_the_document_and_no_other() -> None:
    assert set(OPERATIONS) == {call for call in LEAST_ROLE if call[1].startswith("/api/")}
    document = openapi_document()
    assert sum(len(methods) for methods in document["paths"].values()) == len(OPERATIONS)


@pytest.mark.filterwarnings("ignore")
def test_an_answer_outside_the_document_would_be_noticed(
    served: tuple[Any, dict[str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    app, there = served[0].app, served[1]
    monkeypatch.setitem(OPERATIONS, ("GET", "/api/look-at"), Operation("Things to look at", {"trial": ID, "day": DAY}))
    with pytest.raises(BaseExceptionGroup) as noticed:
        ask((schemathesis.openapi.from_wsgi("/api/openapi.json", app), there), ("GET", "/api/look-at"), EXAMPLES)
    assert "Undocumented status code" in repr(noticed.value.exceptions)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("call", sorted(OPERATIONS), ids=" ".join)
def test_no_call_fails_and_none_answers_outside_the_document(served: tuple[Any, dict[str, str]], call: Any) -> None:
    ask(served, call, EXAMPLES)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--examples", type=int, default=500)
    examples, failed = parser.parse_args().examples, 0
    warnings.simplefilter("ignore")
    with tempfile.TemporaryDirectory() as folder, served_journal(Path(folder)) as served:
        for call in sorted(OPERATIONS):
            try:
                ask(served, call, examples)
            except BaseException as error:
                failed += 1
                print(" ".join(call), error, flush=True)
    print(f"{len(OPERATIONS)} calls, up to {examples} requests each: {failed} with answers outside the document")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
