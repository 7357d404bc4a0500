"""What is packed for the way, and that it unpacks to the same."""

from __future__ import annotations

import gzip

import pytest
from flask.testing import FlaskClient


@pytest.mark.parametrize("address", ["/api/record-kinds", "/app.js"])
def test_text_is_packed_where_asked_for_and_unpacks_to_the_same(client: FlaskClient, address: str) -> None:
    with client.get(address) as plain, client.get(address, headers={"Accept-Encoding": "gzip, br"}) as packed:
        assert "Content-Encoding" not in plain.headers
        assert packed.headers["Content-Encoding"] == "gzip"
        assert "Accept-Encoding" in packed.headers["Vary"]
        assert gzip.decompress(packed.data) == plain.data
        assert int(packed.headers["Content-Length"]) == len(packed.data) < len(plain.data) / 2


def test_small_answers_go_as_they_are(client: FlaskClient) -> None:
    answer = client.get("/api/nowhere", headers={"Accept-Encoding": "gzip"})
    assert "Content-Encoding" not in answer.headers
    assert answer.json
