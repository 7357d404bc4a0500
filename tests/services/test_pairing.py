"""Pairing and devices: what a code lets in, for how long, how often, and how a device is shut out."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from journal_server.domain.pairing_codes import ALPHABET, typed_pairing_code
from journal_server.errors import InputRefused, JournalError, NotFound, NotPaired, TooManyTries
from journal_server.services.devices import device_of_key, devices, rename_device, revoke_device
from journal_server.services.journal import Journal
from journal_server.services.pairing import make_pairing_code, pair_device

NOW = datetime(2026, 6, 12, 10, 0, tzinfo=UTC)
HERE = "192.168.1.30"


def wrong(code: str) -> str:
    return ("A" if code[0] != "A" else "C") + code[1:]


def test_a_code_is_eight_characters_that_do_not_look_alike(journal: Journal) -> None:
    codes = {make_pairing_code(journal, "owner", NOW).code for _ in range(20)}
    assert len(codes) == 20
    assert all(re.fullmatch(f"[{ALPHABET}]{{8}}", code) for code in codes)
    for alike in ("0O", "1IL", "2Z", "5S", "8B", "UV"):
        assert len(set(alike) & set(ALPHABET)) <= 1, alike


def test_a_code_lets_one_device_in_with_its_role(journal: Journal) -> None:
    code = make_pairing_code(journal, "helper", NOW).code
    typed = f" {code[:4].lower()}-{code[4:]} "
    made = pair_device(journal, typed, "Ada's phone", HERE, NOW)
    assert (made.device.name, made.device.role, made.device.created_at[:10]) == ("Ada's phone", "helper", "2026-06-12")
    assert len(made.key) == 43, "32 random bytes"
    assert device_of_key(journal, made.key, NOW).id == made.device.id
    with pytest.raises(InputRefused, match="has been used"):
        pair_device(journal, code, "Second", HERE, NOW)


def test_a_code_ends_after_ten_minutes(journal: Journal) -> None:
    code = make_pairing_code(journal, "owner", NOW).code
    with pytest.raises(InputRefused, match="ten minutes") as refused:
        pair_device(journal, code, "Late", HERE, NOW + timedelta(minutes=10))
    assert refused.value.field == "code"
    code = make_pairing_code(journal, "owner", NOW).code
    assert pair_device(journal, code, "In time", HERE, NOW + timedelta(minutes=9, seconds=59))


def test_of_many_who_bring_one_code_at_once_one_is_let_in(journal: Journal) -> None:
    code = make_pairing_code(journal, "owner", NOW).code

    def bring(number: int) -> bool:
        try:
            pair_device(journal, code, f"Phone {number}", f"192.168.1.{number}", NOW)
        except JournalError:
            return False
        return True

    with ThreadPoolExecutor(8) as pool:
        let_in = list(pool.map(bring, range(8)))
    assert sum(let_in) == 1
    assert len(devices(journal)) == 1


def test_five_wrong_codes_of_one_address_in_a_minute_are_enough(journal: Journal) -> None:
    code = make_pairing_code(journal, "owner", NOW).code
    for second in range(5):
        with pytest.raises(InputRefused):
            pair_device(journal, wrong(code), "Guess", HERE, NOW + timedelta(seconds=second))
    with pytest.raises(TooManyTries, match="Wait a minute"):
        pair_device(journal, code, "Right, but too soon", HERE, NOW + timedelta(seconds=59))
    assert pair_device(journal, code, "Another address", "192.168.1.31", NOW + timedelta(seconds=59))
    second_code = make_pairing_code(journal, "owner", NOW).code
    assert pair_device(journal, second_code, "A minute later", HERE, NOW + timedelta(seconds=64))


def test_twenty_wrong_codes_of_any_address_void_every_open_code(journal: Journal) -> None:
    codes = [make_pairing_code(journal, "owner", NOW).code for _ in range(2)]
    for number in range(20):
        with pytest.raises(InputRefused):
            pair_device(journal, wrong(codes[0]), "Guess", f"192.168.1.{number}", NOW)
    for code in codes:
        with pytest.raises(InputRefused):
            pair_device(journal, code, "Too late", f"192.168.2.{codes.index(code)}", NOW)
    assert devices(journal) == []
    fresh = make_pairing_code(journal, "owner", NOW).code
    assert pair_device(journal, fresh, "With a new one", "192.168.2.9", NOW)


def test_the_oldest_of_six_open_codes_is_dropped(journal: Journal) -> None:
    codes = [make_pairing_code(journal, "owner", NOW + timedelta(seconds=n)).code for n in range(6)]
    with pytest.raises(InputRefused):
        pair_device(journal, codes[0], "First", HERE, NOW)
    assert pair_device(journal, codes[1], "Second", HERE, NOW)


@pytest.mark.sqlite_only
def test_neither_codes_nor_keys_are_kept_as_they_are(journal: Journal) -> None:
    code = make_pairing_code(journal, "owner", NOW).code
    other = make_pairing_code(journal, "reader", NOW).code
    key = pair_device(journal, code, "Phone", HERE, NOW).key
    kept = b"".join(file.read_bytes() for file in Path(journal.folder).glob("journal.sqlite3*"))
    assert b"Phone" in kept
    for secret in (code, other, key):
        assert secret.encode() not in kept


def test_a_revoked_device_is_shut_out_at_once_and_for_good(journal: Journal) -> None:
    made = pair_device(journal, make_pairing_code(journal, "owner", NOW).code, "Phone", HERE, NOW)
    revoke_device(journal, made.device.id, NOW)
    with pytest.raises(NotPaired, match="taken back"):
        device_of_key(journal, made.key, NOW)
    first = devices(journal)[0].revoked_at
    revoke_device(journal, made.device.id, NOW + timedelta(days=1))
    assert devices(journal)[0].revoked_at == first
    for unknown in (None, "", "x" * 43, "é" * 43, "\udc80" * 43, "x" * 10_000):
        with pytest.raises(NotPaired, match="not paired"):
            device_of_key(journal, unknown, NOW)


def test_last_use_is_noted_at_most_once_a_minute(journal: Journal) -> None:
    made = pair_device(journal, make_pairing_code(journal, "owner", NOW).code, "Phone", HERE, NOW)

    def last_used_after(moment: datetime) -> datetime:
        device_of_key(journal, made.key, moment)
        return datetime.fromisoformat(devices(journal)[0].last_used_at)

    assert last_used_after(NOW + timedelta(seconds=60)) == NOW
    later = NOW + timedelta(seconds=61)
    assert last_used_after(later) == later
    assert last_used_after(later + timedelta(seconds=30)) == later


@pytest.mark.parametrize("name", ["", "   ", None, 5, "x" * 61, "\ud800"])
def test_a_name_that_cannot_be_shown_is_refused_and_the_code_stays(journal: Journal, name: object) -> None:
    code = make_pairing_code(journal, "owner", NOW).code
    with pytest.raises(InputRefused) as refused:
        pair_device(journal, code, name, HERE, NOW)
    assert refused.value.field == "device_name"
    assert pair_device(journal, code, "Phone", HERE, NOW)


@pytest.mark.parametrize("code", ["", None, 5, [], "\ud800\ud800", "A" * 100_000, "  --  "])
def test_what_is_no_code_is_refused_at_its_field(journal: Journal, code: object) -> None:
    make_pairing_code(journal, "owner", NOW)
    with pytest.raises(InputRefused) as refused:
        pair_device(journal, code, "Phone", HERE, NOW)
    assert refused.value.field == "code"


@pytest.mark.parametrize("role", ["", None, "admin", ["owner"], {"owner": 1}])
def test_there_are_three_roles(journal: Journal, role: object) -> None:
    with pytest.raises(InputRefused) as refused:
        make_pairing_code(journal, role, NOW)
    assert refused.value.field == "role"


def test_devices_are_renamed_and_unknown_ones_told(journal: Journal) -> None:
    made = pair_device(journal, make_pairing_code(journal, "owner", NOW).code, "Phone", HERE, NOW)
    rename_device(journal, made.device.id, "  Garden phone ")
    assert devices(journal)[0].name == "Garden phone"
    for call in (lambda: rename_device(journal, "none", "x"), lambda: revoke_device(journal, "none", NOW)):
        with pytest.raises(NotFound):
            call()


def test_typed_codes_are_read_as_people_type_them() -> None:
    assert typed_pairing_code("acde fghj") == "ACDEFGHJ"
    assert typed_pairing_code(" AC-DE fg·hj\n") == "ACDEFGHJ"
