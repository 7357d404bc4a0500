"""The certificates, judged by two others: the verifier of the cryptography package and openssl."""

from __future__ import annotations

import shutil
import stat
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError
from made_certificate import own_certificate, subject

from journal_server.errors import InputRefused, JournalDamaged
from journal_server.services.certificates import Certificate, _authority, _issue, home_certificate
from journal_server.services.given_certificate import given_certificate

NOW = datetime(2026, 6, 12, 10, 0, tzinfo=UTC)
HOSTS = ["192.168.1.20", "fd00::20", "garden.local"]
OUTSIDE = ["example.org", "local.example.org", "garden.locale", "8.8.8.8", "192.0.2.7", "172.32.0.1", "2001:db8::1"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "certificates"


def leaf(certificate: Certificate) -> x509.Certificate:
    return x509.load_pem_x509_certificate(certificate.chain_file.read_bytes())


def authority(certificate: Certificate) -> x509.Certificate:
    assert certificate.authority is not None
    return x509.load_der_x509_certificate(certificate.authority)


def verify(trusted: x509.Certificate, shown: x509.Certificate, host: str, at: datetime = NOW) -> None:
    builder = PolicyBuilder().store(Store([trusted])).time(at)
    builder.build_server_verifier(subject(host)).verify(shown, [])


@pytest.mark.parametrize("host", [*HOSTS, "localhost", "127.0.0.1", "::1"])
def test_the_certificate_stands_for_each_host_of_the_machine(folder: Path, host: str) -> None:
    made = home_certificate(folder, HOSTS, NOW)
    verify(authority(made), leaf(made), host)
    with pytest.raises(VerificationError):
        verify(authority(made), leaf(made), "192.168.1.21")


@pytest.mark.parametrize("host", OUTSIDE)
def test_what_the_authority_signs_for_other_names_is_refused(folder: Path, host: str) -> None:
    """As if its key had been stolen: signed all the same, by the key itself."""
    home_certificate(folder, HOSTS, NOW)
    kept = _authority(folder / "authority.pem", NOW)
    stolen = _issue(kept, [host], NOW).certificate
    with pytest.raises(VerificationError, match="name constraints"):
        verify(kept.certificate, stolen, host)


@pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not on this machine")
def test_openssl_judges_the_same(folder: Path, tmp_path: Path) -> None:
    now = datetime.now(UTC)
    made = home_certificate(folder, HOSTS, now)
    kept = _authority(folder / "authority.pem", now)
    trusted, stolen = tmp_path / "trusted.pem", tmp_path / "stolen.pem"
    trusted.write_bytes(kept.certificate.public_bytes(serialization.Encoding.PEM))
    stolen.write_bytes(_issue(kept, ["example.org"], now).pem())

    def judged(file: Path, *more: str) -> tuple[int, str]:
        call = ["openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", str(trusted), *more, str(file)]
        done = subprocess.run(call, capture_output=True, text=True, timeout=30)
        return done.returncode, done.stderr

    assert judged(made.chain_file, "-verify_ip", "192.168.1.20")[0] == 0
    assert judged(made.chain_file, "-verify_hostname", "garden.local")[0] == 0
    assert "IP address mismatch" in judged(made.chain_file, "-verify_ip", "192.168.1.21")[1]
    assert "permitted subtree violation" in judged(stolen)[1]


def test_the_certificates_say_what_they_are_for_and_for_how_long(folder: Path) -> None:
    made = home_certificate(folder, HOSTS, NOW)
    root, shown = authority(made), leaf(made)
    constraints = root.extensions.get_extension_for_class(x509.BasicConstraints)
    assert (constraints.critical, constraints.value.ca, constraints.value.path_length) == (True, True, 0)
    assert root.extensions.get_extension_for_class(x509.NameConstraints).critical
    usage = shown.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert not shown.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    for one in (root, shown):
        key = one.public_key()
        assert isinstance(key, ec.EllipticCurvePublicKey)
        assert isinstance(key.curve, ec.SECP256R1)
    assert shown.not_valid_after_utc - shown.not_valid_before_utc <= timedelta(days=397)
    assert shown.not_valid_before_utc <= NOW - timedelta(hours=23), "a phone whose clock is behind"


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps no such modes")
def test_keys_are_their_owners_alone_and_made_so_again(folder: Path) -> None:
    home_certificate(folder, HOSTS, NOW)
    folder.chmod(0o755)
    (folder / "server.pem").chmod(0o644)
    home_certificate(folder, HOSTS, NOW)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {stat.S_IMODE(file.stat().st_mode) for file in folder.iterdir()} == {0o600}
    assert {file.name for file in folder.iterdir()} == {"authority.pem", "server.pem"}


def test_it_is_kept_until_an_address_is_new_or_its_end_is_near(folder: Path) -> None:
    first = home_certificate(folder, HOSTS, NOW)
    assert home_certificate(folder, HOSTS[:1], NOW + timedelta(days=360)) == first
    moved = home_certificate(folder, ["10.0.0.7"], NOW)
    assert "10.0.0.7" in moved.names
    verify(authority(first), leaf(moved), "10.0.0.7")
    later = NOW + timedelta(days=366)
    renewed = home_certificate(folder, ["10.0.0.7"], later)
    assert renewed.not_after > moved.not_after
    verify(authority(first), leaf(renewed), "10.0.0.7", later)
    assert renewed.authority == first.authority, "phones need not trust anew"


def test_a_new_authority_is_made_before_the_old_one_ends(folder: Path) -> None:
    first = home_certificate(folder, HOSTS, NOW)
    late = NOW + timedelta(days=3651 - 200)
    cut_short = home_certificate(folder, HOSTS, late)
    assert cut_short.authority == first.authority
    assert cut_short.not_after == authority(first).not_valid_after_utc, "not longer than who vouches for it"
    later = NOW + timedelta(days=3651 - 20)
    second = home_certificate(folder, HOSTS, later)
    assert second.authority != first.authority
    verify(authority(second), leaf(second), HOSTS[0], later)


def test_a_broken_server_certificate_is_replaced_a_broken_authority_is_told(folder: Path) -> None:
    first = home_certificate(folder, HOSTS, NOW)
    (folder / "server.pem").write_bytes(b"half written")
    again = home_certificate(folder, HOSTS, NOW)
    verify(authority(first), leaf(again), HOSTS[0])
    (folder / "authority.pem").write_bytes(b"half written")
    with pytest.raises(JournalDamaged, match="every phone has to trust anew"):
        home_certificate(folder, HOSTS, NOW)
    (folder / "authority.pem").unlink()
    anew = home_certificate(folder, HOSTS, NOW)
    verify(authority(anew), leaf(anew), HOSTS[0])


@pytest.mark.parametrize("host", OUTSIDE)
def test_other_hosts_are_refused_with_a_way_on(folder: Path, host: str) -> None:
    with pytest.raises(InputRefused, match="--cert and --key"):
        home_certificate(folder, [host], NOW)


def test_a_certificate_that_was_brought_is_taken(tmp_path: Path) -> None:
    ends = NOW + timedelta(days=80)
    files = own_certificate(tmp_path, names=["Journal.example.org"], begins=NOW, ends=ends)
    taken = given_certificate(*files, NOW)
    assert (taken.names, taken.not_after, taken.authority) == (("journal.example.org",), ends, None)


@pytest.mark.parametrize(
    ("days", "names", "words"),
    [
        ((-90, -1), ["a.example.org"], "ended on 2026-06-11"),
        ((2, 90), ["a.example.org"], "begins on 2026-06-14"),
        ((-1, 90), [], "names no server"),
    ],
)
def test_one_that_no_browser_would_take_is_refused(
    tmp_path: Path, days: tuple[int, int], names: list[str], words: str
) -> None:
    begins, ends = (NOW + timedelta(days=one) for one in days)
    with pytest.raises(InputRefused, match=words):
        given_certificate(*own_certificate(tmp_path, names=names, begins=begins, ends=ends), NOW)


def test_a_pair_that_does_not_fit_or_cannot_be_read_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    far = NOW + timedelta(days=90)
    chain, key = own_certificate(tmp_path / "a", names=["a.example.org"], begins=NOW, ends=far)
    _, other_key = own_certificate(tmp_path / "b", names=["a.example.org"], begins=NOW, ends=far)
    locked = tmp_path / "locked.key"
    loaded = serialization.load_pem_private_key(key.read_bytes(), None)
    assert isinstance(loaded, ec.EllipticCurvePrivateKey)
    how = serialization.BestAvailableEncryption(b"secret")
    locked.write_bytes(loaded.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, how))
    for pair, words in (
        ((chain, other_key), "does not belong"),
        ((chain, locked), "passphrase"),
        ((chain, chain), "not a private key"),
        ((key, key), "not a certificate"),
        ((tmp_path / "none.pem", key), "cannot be read"),
        ((tmp_path, key), "cannot be read"),
    ):
        with pytest.raises(InputRefused, match=words):
            given_certificate(*pair, NOW)
