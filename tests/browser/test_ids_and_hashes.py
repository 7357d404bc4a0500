"""Hashes and ids made on the phone, against published vectors and against Python's own."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from browser.serving import Served
from playwright.sync_api import Page

# The examples that NIST publishes for SHA-256 of FIPS 180-4 (csrc.nist.gov, "Example Values"; the first two stood in
# FIPS 180-2, appendix B); the million times "a" is B.3 there. Written from memory; Python's hashlib gives the same.
NIST_EXAMPLES = [
    ("abc", 1, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    ("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 1,
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"),
    ("a", 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
]  # fmt: skip


@pytest.fixture
def run(empty: Served, open_page: Callable[..., Page]) -> Callable[[str, Any], Any]:
    page = open_page(empty.address)

    def ran(script: str, given: Any = None) -> Any:
        return page.evaluate(
            f"""async (given) => {{
                const {{ Sha256, hashOf, hexOf }} = await import("/store/sha256.js");
                const {{ derivedId, newId }} = await import("/store/ids.js");
                const bytesOf = (text) => new TextEncoder().encode(text);
                {script} }}""",
            given,
        )

    return ran


def test_the_hash_gives_the_published_examples(run: Callable[[str, Any], Any]) -> None:
    given = [[text, times] for text, times, _ in NIST_EXAMPLES]
    found = run("return given.map(([text, n]) => hexOf(new Sha256().update(bytesOf(text.repeat(n))).digest()));", given)
    assert found == [expected for _, _, expected in NIST_EXAMPLES]
    assert found == [hashlib.sha256(text.encode() * times).hexdigest() for text, times, _ in NIST_EXAMPLES]


def test_every_length_around_a_block_hashes_as_python_does(run: Callable[[str, Any], Any]) -> None:
    found = run(
        """return Array.from({ length: 200 }, (_, length) =>
            hexOf(new Sha256().update(Uint8Array.from({ length }, (_, i) => (i * 37 + length) % 256)).digest()));"""
    )
    made = [bytes((i * 37 + length) % 256 for i in range(length)) for length in range(200)]
    assert found == [hashlib.sha256(data).hexdigest() for data in made]


def test_pieces_of_any_size_give_the_hash_of_the_whole(run: Callable[[str, Any], Any]) -> None:
    found = run(
        """const all = bytesOf("0123456789".repeat(100));
        return [1, 7, 63, 64, 65, 999].map((size) => {
            const hash = new Sha256();
            for (let at = 0; at < all.length; at += size) hash.update(all.subarray(at, at + size));
            return hexOf(hash.digest());
        });"""
    )
    assert found == [hashlib.sha256(b"0123456789" * 100).hexdigest()] * 6


def test_a_photo_hashes_alike_with_and_without_the_browsers_own_code(run: Callable[[str, Any], Any]) -> None:
    found = run(
        """const photo = Uint8Array.from({ length: 2500001 }, (_, i) => (i * i) % 251).buffer;
        return [await hashOf(photo), await hashOf(photo, null), await hashOf(new ArrayBuffer(0), null)];"""
    )
    whole = hashlib.sha256(bytes((i * i) % 251 for i in range(2_500_001))).hexdigest()
    assert found == [whole, whole, hashlib.sha256(b"").hexdigest()]


def derived_id(*parts: str) -> str:
    """The rule of derived ids, written a second time: UUID version 8 (RFC 9562) of SHA-256."""
    value = int.from_bytes(hashlib.sha256("\n".join(parts).encode()).digest()[:16], "big")
    value = value & ~(0xF << 76) | 8 << 76
    return str(uuid.UUID(int=value & ~(3 << 62) | 2 << 62))


def test_a_derived_id_is_the_same_on_every_device(run: Callable[[str, Any], Any]) -> None:
    walk = ["walk", "7d9f4f6e-6c1e-4a53-9d0a-0f4c2f3f8a11", "2026-06-12"]
    rating = ["rating", "5a3c", "Zoë"]
    found = run("return given.map((parts) => derivedId(...parts));", [walk, rating])
    assert found == [derived_id(*walk), derived_id(*rating)]
    assert found[0] == "e3bd8db6-fa55-8474-b3f7-e3d430cc6806"
    assert uuid.UUID(found[0]).version == 8
    assert uuid.UUID(found[0]).variant == uuid.RFC_4122


def test_random_ids_are_version_four_and_differ(run: Callable[[str, Any], Any]) -> None:
    ids = [uuid.UUID(text) for text in run("return Array.from({ length: 50 }, newId);")]
    assert {(found.version, found.variant) for found in ids} == {(4, uuid.RFC_4122)}
    assert len(set(ids)) == 50
