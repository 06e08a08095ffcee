"""The desk's own certificate: made on the spot, kept in the data folder, told by its fingerprint."""

from __future__ import annotations

import datetime
import hashlib
import ipaddress
import os
import ssl
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pacewright.exceptions import MissingComplaint, OutputComplaint, Where, how_to_install

if TYPE_CHECKING:
    from cryptography import x509

NAME: Final = "https.pem"
LASTS_DAYS: Final = 397
"""Some phones take none that lasts longer than 825 days, and some none longer than 398 (from memory)."""
MADE_AHEAD: Final = datetime.timedelta(days=1)
"""The clock of a phone may be behind, and a certificate is made anew this long before it ends."""
_IN_A_LINE: Final = 8
_OTHER_USES: Final = (
    *("content_commitment", "key_encipherment", "data_encipherment", "key_agreement"),
    *("key_cert_sign", "crl_sign", "encipher_only", "decipher_only"),
)


@dataclass(frozen=True, slots=True)
class Certificate:
    """A certificate with its key.

    Attributes
    ----------
    path
        The file that holds both, for this user's eyes alone.
    fingerprint
        SHA-256 of the certificate, as browsers show it: 32 bytes in hexadecimal, colons between.
    """

    path: Path
    fingerprint: str


def certificate_of(folder: Path, hosts: Sequence[str], now: datetime.datetime) -> Certificate:
    """The certificate of a data folder, made where there is none that still holds.

    It stays the same as long as it holds, whatever network the machine is in: the fingerprint that
    somebody wrote down stays good.

    Parameters
    ----------
    folder
        The data folder.
    hosts
        The addresses and names that a new one is made for.
    now
        With its zone.

    Raises
    ------
    MissingComplaint
        The library that makes it is not installed.
    OutputComplaint
        It cannot be written.
    """
    _check_library()
    path = folder / NAME
    found = _read(path, now)
    if found is None:
        try:
            _write(path, _made(hosts, now))
        except OSError as refused:
            raise OutputComplaint(
                f"the certificate cannot be written ({refused.strerror})",
                "Check the data folder",
                Where(str(path)),
            ) from None
        found = _read(path, now)
    assert found is not None, "a certificate that was just made holds"
    return Certificate(path, fingerprint_of(found))


def fingerprint_of(encoded: bytes) -> str:
    """The SHA-256 fingerprint of a certificate in DER.

    >>> fingerprint_of(b"")[:11]
    'E3:B0:C4:42'
    """
    return hashlib.sha256(encoded).digest().hex(":").upper()


def in_lines(fingerprint: str) -> list[str]:
    """A fingerprint in lines of eight bytes, to be compared by eye.

    >>> in_lines("01:02:03:04:05:06:07:08:09")
    ['01:02:03:04:05:06:07:08', '09']
    """
    parts = fingerprint.split(":") if fingerprint else []
    return [":".join(parts[at : at + _IN_A_LINE]) for at in range(0, len(parts), _IN_A_LINE)]


def encrypting_with(certificate: Certificate) -> ssl.SSLContext:
    """How lines are encrypted: TLS 1.2 or later, with this certificate."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.options |= ssl.OP_NO_RENEGOTIATION
    context.set_alpn_protocols(["http/1.1"])
    context.load_cert_chain(certificate.path)
    return context


def _check_library() -> None:
    try:
        import cryptography  # noqa: F401
    except ImportError:
        raise MissingComplaint(
            "the library that makes a certificate is not installed",
            f"{how_to_install('https')}, or leave --https away",
        ) from None


def _read(path: Path, now: datetime.datetime) -> bytes | None:
    """The certificate of a file in DER; None where there is none that holds now and tomorrow."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding, load_pem_private_key

    try:
        held = path.read_bytes()
        found = x509.load_pem_x509_certificate(held)
        key = load_pem_private_key(held, None)
    except (OSError, ValueError, TypeError):
        return None
    if found.public_key() != key.public_key():
        return None
    holds = found.not_valid_before_utc <= now < found.not_valid_after_utc - MADE_AHEAD
    return found.public_bytes(Encoding.DER) if holds else None


def _made(hosts: Sequence[str], now: datetime.datetime) -> bytes:
    """A new key and a certificate that it signed itself, as PEM.

    References
    ----------
    RFC 5280, 4.2.1 (extensions of a certificate).
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "pacewright desk")])
    usage = {"digital_signature": True, **dict.fromkeys(_OTHER_USES, False)}
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - MADE_AHEAD)
        .not_valid_after(now + datetime.timedelta(days=LASTS_DAYS) - MADE_AHEAD)
        .add_extension(x509.SubjectAlternativeName(_named(hosts)), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.KeyUsage(**usage), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, hashes.SHA256())
    )
    secret = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return secret + certificate.public_bytes(Encoding.PEM)


def _named(hosts: Sequence[str]) -> list[x509.GeneralName]:
    from cryptography import x509

    found: list[x509.GeneralName] = [x509.DNSName("localhost")]
    for host in dict.fromkeys(("127.0.0.1", *hosts)):
        try:
            found.append(x509.IPAddress(ipaddress.ip_address(host)))
        except ValueError:
            # A name with other letters cannot stand in a certificate as it is.
            found += [x509.DNSName(host)] if host and host.isascii() else []
    return found


def _write(path: Path, held: bytes) -> None:
    path.unlink(missing_ok=True)
    # Made with its permissions, not given them afterwards: nobody reads the key in between.
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(path, flags, 0o600), "wb") as file:
        file.write(held)
        file.flush()
        os.fsync(file.fileno())
