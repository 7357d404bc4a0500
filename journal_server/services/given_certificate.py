"""A certificate that a person brought: checked before it is served, with a sentence for whatever is wrong."""

from __future__ import annotations

import ssl
from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.types import PrivateKeyTypes

from journal_server.errors import InputRefused
from journal_server.services.certificates import Certificate, names_of


def given_certificate(chain_file: Path, key_file: Path, now: datetime) -> Certificate:
    """Read and check both; raises InputRefused where they cannot be served with."""
    certificate = _certificate(chain_file)
    key = _key(key_file)
    public = (serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo)
    if certificate.public_key().public_bytes(*public) != key.public_key().public_bytes(*public):
        raise InputRefused(f"The key in {key_file} does not belong to the certificate in {chain_file}.")
    if certificate.not_valid_after_utc <= now:
        raise InputRefused(
            f"The certificate in {chain_file} ended on {_day(certificate.not_valid_after_utc)}. Renew it first."
        )
    if certificate.not_valid_before_utc > now:
        raise InputRefused(
            f"The certificate in {chain_file} begins on {_day(certificate.not_valid_before_utc)}. "
            "Is this computer's clock right?"
        )
    names = names_of(certificate)
    if not names:
        raise InputRefused(f"The certificate in {chain_file} names no server, so no browser would accept it.")
    _try_it(chain_file, key_file)
    return Certificate(chain_file, key_file, names, certificate.not_valid_after_utc)


def _certificate(file: Path) -> x509.Certificate:
    try:
        return x509.load_pem_x509_certificate(_content(file))
    except ValueError:
        raise InputRefused(
            f"{file} is not a certificate in PEM form (a text that begins with BEGIN CERTIFICATE)."
        ) from None


def _key(file: Path) -> PrivateKeyTypes:
    try:
        return serialization.load_pem_private_key(_content(file), None)
    except TypeError:
        raise InputRefused(f"The key in {file} is locked with a passphrase. Give one without.") from None
    except ValueError:
        raise InputRefused(f"{file} is not a private key in PEM form.") from None


def _try_it(chain_file: Path, key_file: Path) -> None:
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(chain_file, key_file)
    except (OSError, ValueError) as error:
        raise InputRefused(f"The certificate in {chain_file} cannot be served with ({error}).") from None


def _content(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise InputRefused(f"{file} cannot be read ({error.strerror}).") from None


def _day(moment: datetime) -> str:
    return moment.date().isoformat()
