"""The journal's own certificate authority and its server certificate, for phones on the home network.

The authority is limited, in the certificate itself, to addresses of home networks and to names in .local: a phone that
trusts it trusts it for nothing on the internet, even if its key were stolen. Both files hold the key with the
certificate, so that a renewal replaces both in one rename.
"""

from __future__ import annotations

import os
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address, ip_network
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from journal_server.errors import InputRefused, JournalBusy, JournalDamaged
from journal_server.storage.photo_files import write_durably

HOME_NETWORKS = tuple(
    ip_network(one)
    for one in (
        "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16",  # RFC 1918
        "169.254.0.0/16", "fe80::/10",  # link-local: RFC 3927, RFC 4291
        "fc00::/7",  # unique local: RFC 4193
        "127.0.0.0/8", "::1/128",
    )
)  # fmt: skip
HOME_DOMAINS = ("local", "localhost")

AUTHORITY_LASTS = timedelta(days=3652)
LASTS = timedelta(days=397)
"""The longest that a certificate may last, with a margin of a day (the CA/Browser Forum's limit of 398 days)."""
RENEWED_BEFORE = timedelta(days=30)
BACKDATED = timedelta(days=1)
"""For phones whose clock is behind."""


@dataclass(frozen=True)
class Certificate:
    """A certificate to serve with: its files, for whom it stands, and until when."""

    chain_file: Path
    key_file: Path
    names: tuple[str, ...]
    not_after: datetime
    authority: bytes | None = None
    """The authority's certificate (DER) that a phone must trust first; None where phones trust it already."""


@dataclass(frozen=True)
class _Pair:
    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    def pem(self) -> bytes:
        key = self.key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
        return key + self.certificate.public_bytes(serialization.Encoding.PEM)

    def has_long(self, now: datetime) -> bool:
        return self.certificate.not_valid_after_utc - now > RENEWED_BEFORE


def is_of_home(host: str) -> bool:
    """Whether the authority can vouch for this address or name."""
    try:
        address = ip_address(host)
    except ValueError:
        return host in HOME_DOMAINS or any(host.endswith(f".{domain}") for domain in HOME_DOMAINS)
    return any(address in network for network in HOME_NETWORKS)


def home_certificate(folder: Path, hosts: Sequence[str], now: datetime) -> Certificate:
    """The certificate for these hosts, kept in ``folder``; made anew where it ends soon or a host is missing in it."""
    for host in hosts:
        if not is_of_home(host):
            raise InputRefused(
                f"The journal's own certificates are for home networks and names in .local only, not for {host}. "
                "For other names give a certificate of your own with --cert and --key."
            )
    _private_folder(folder)
    authority = _authority(folder / "authority.pem", now)
    wanted = tuple(dict.fromkeys((*hosts, "localhost", "127.0.0.1", "::1")))
    file = folder / "server.pem"
    server = _read(file)
    if server is None or not _still_good(server, authority, wanted, now):
        server = _issue(authority, wanted, now)
        write_durably(file, server.pem(), mode=0o600)
    ends = server.certificate.not_valid_after_utc
    authority_der = authority.certificate.public_bytes(serialization.Encoding.DER)
    return Certificate(file, file, names_of(server.certificate), ends, authority_der)


def _still_good(server: _Pair, authority: _Pair, wanted: Sequence[str], now: datetime) -> bool:
    try:
        server.certificate.verify_directly_issued_by(authority.certificate)
    except (ValueError, TypeError, InvalidSignature):
        return False
    return server.has_long(now) and set(wanted) <= set(names_of(server.certificate))


def names_of(certificate: x509.Certificate) -> tuple[str, ...]:
    """The DNS names and IP addresses that a certificate stands for."""
    try:
        names = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return ()
    dns = (name.lower() for name in names.get_values_for_type(x509.DNSName))
    return (*dns, *(str(address) for address in names.get_values_for_type(x509.IPAddress)))


def _private_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if os.name != "nt":  # Windows has no such modes: there the user's own folder keeps others out.
            for path in (folder, *folder.glob("*.pem")):
                path.chmod(0o700 if path == folder else 0o600)
    except OSError as error:
        raise JournalBusy(f"The folder {folder} cannot be used ({error.strerror}).") from error


def _authority(file: Path, now: datetime) -> _Pair:
    kept = _read(file)
    if kept is None and file.exists():
        raise JournalDamaged(
            f"The journal's certificate authority in {file} cannot be read. Put it back from a copy; or remove it, "
            "then a new one is made, which every phone has to trust anew. The journal itself is not touched by this."
        )
    if kept is not None and kept.has_long(now):
        return kept
    made = _make_authority(now)
    write_durably(file, made.pem(), mode=0o600)
    return made


def _read(file: Path) -> _Pair | None:
    try:
        content = file.read_bytes()
        key = serialization.load_pem_private_key(content, None)
        certificate = x509.load_pem_x509_certificate(content)
    except (OSError, ValueError, TypeError):
        return None
    return _Pair(certificate, key) if isinstance(key, ec.EllipticCurvePrivateKey) else None


def _make_authority(now: datetime) -> _Pair:
    key = ec.generate_private_key(ec.SECP256R1())
    # The number tells authorities apart in a phone's list.
    name = _name(f"Planting trial journal {secrets.token_hex(3)}")
    permitted = [x509.DNSName(domain) for domain in HOME_DOMAINS] + [x509.IPAddress(one) for one in HOME_NETWORKS]
    begins = now.astimezone(UTC) - BACKDATED
    builder = (
        _builder(name, name, key.public_key(), begins, begins + AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_key_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
    )
    return _Pair(builder.sign(key, hashes.SHA256()), key)


def _issue(authority: _Pair, hosts: Sequence[str], now: datetime) -> _Pair:
    key = ec.generate_private_key(ec.SECP256R1())
    begins = now.astimezone(UTC) - BACKDATED
    ends = min(begins + LASTS - timedelta(days=1), authority.certificate.not_valid_after_utc)
    issuer = authority.certificate
    key_id = issuer.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    builder = (
        _builder(_name("Planting trial journal, server"), issuer.subject, key.public_key(), begins, ends)
        .add_extension(x509.SubjectAlternativeName([_general(host) for host in hosts]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_key_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(key_id), critical=False)
    )
    return _Pair(builder.sign(authority.key, hashes.SHA256()), key)


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, begins: datetime, ends: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(ends)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key), critical=False)
    )


def _key_usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _general(host: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def _name(common_name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common_name)])
