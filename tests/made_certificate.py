"""A certificate that signs itself, as a person might bring one."""

from __future__ import annotations

from datetime import datetime
from ipaddress import ip_address
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec


def subject(host: str) -> x509.DNSName | x509.IPAddress:
    try:
        return x509.IPAddress(ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def own_certificate(folder: Path, *, names: list[str], begins: datetime, ends: datetime) -> tuple[Path, Path]:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "own")])
    builder = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(ends)
    )
    if names:
        builder = builder.add_extension(x509.SubjectAlternativeName([subject(one) for one in names]), critical=False)
    chain, secret = folder / "own.pem", folder / "own.key"
    chain.write_bytes(builder.sign(key, hashes.SHA256()).public_bytes(serialization.Encoding.PEM))
    pkcs8, plain = serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    secret.write_bytes(key.private_bytes(serialization.Encoding.PEM, pkcs8, plain))
    return chain, secret
