"""Addresses that no page of ours asks for: whatever stands in them, the answer is a sentence and no fault."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from urllib.parse import quote

import pytest
from api.test_hostile_bodies import assert_refused_in_shape
from conftest import SetUp
from flask.testing import FlaskClient

from journal_server.api.operations import OPERATIONS

KNOWN = "known"
HOSTILE_WORDS = (
    "\0",
    "a\0b",
    f"{uuid.UUID(int=7)}\0",
    "\ud800",
    "x" * 10_000,
    "../../../etc/passwd",
    "\r\nA: b",
    "٣",
    "-1",
)
ASKING = sorted(call for call in OPERATIONS if "<" in call[1] or OPERATIONS[call].query)


def addresses(rule: str, names: Iterator[str] | list[str], known: dict[str, str], word: str) -> Iterator[str]:
    """The word in each place of the address and in each of its arguments, beside others that lead somewhere."""
    written = quote(word.encode("utf-8", "surrogatepass"), safe="")
    sound = re.sub(r"<([^>]+)>", lambda part: known.get(part[1], known["trial"]), rule)
    for name in re.findall(r"<([^>]+)>", rule):
        place = rule.replace(f"<{name}>", written)
        yield re.sub(r"<([^>]+)>", lambda part: known.get(part[1], known["trial"]), place)
    for name in names:
        others = "".join(f"&{other}={known[other]}" for other in names if other != name and other in known)
        yield f"{sound}?{name}={written}{others}"
    yield f"{sound}?{written}={written}"


@pytest.mark.parametrize("call", ASKING, ids=" ".join)
def test_an_address_may_hold_anything(client: FlaskClient, set_up: SetUp, call: tuple[str, str]) -> None:
    method, rule = call
    known = {"trial": set_up.trial_id, "planting_id": set_up.planting(), "kind": "trial", "quantity": "canopy_fill"}
    for word in HOSTILE_WORDS:
        for address in addresses(rule, list(OPERATIONS[call].query), known, word):
            answer = client.open(address, method=method, json={} if method == "POST" else None)
            assert_refused_in_shape(answer, (method, address[:200]))
            if "\0" in word:
                assert (answer.status_code, answer.get_json()["error"]["message"]) == (
                    400,
                    "The request could not be read.",
                ), address
            answer.close()
