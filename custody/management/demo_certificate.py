"""A certificate for showing the demo to phones on the local network: they take a page for safe only with encryption.

An authority of the demo's own vouches for one host and, by its name constraints (RFC 5280, 4.2.1.10), can vouch for no
other; its key is gone once it has. Both end after 30 days. Nothing of it is used outside the demo.
"""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

DAYS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """Paths of what was made: the authority's certificate for the phones, the server's with its key."""

    authority: Path
    server: Path
    key: Path


def certificate_in(folder: Path, host: str) -> Certificate:
    """Where those for a host are kept."""
    return Certificate(
        authority=folder / f"{host}-authority.crt", server=folder / f"{host}.crt", key=folder / f"{host}.key"
    )


def make_certificate(folder: Path, host: str, *, now: int) -> Certificate:
    """What is in the folder for that host, made if it is not there or has ended. `now` is in Unix seconds."""
    made = certificate_in(folder, host)
    if made.server.exists() and _ends(made.server) > now + 86_400:
        return made
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    start = datetime.fromtimestamp(now, UTC) - timedelta(hours=1)
    signer, key = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
    authority = make_authority(host, signer, start)
    server = make_server_certificate(host, key.public_key(), authority, signer)
    # The authority's key is let go of: it signs this one certificate and no other.
    pem = serialization.Encoding.PEM
    made.key.unlink(missing_ok=True)
    made.key.touch(mode=0o600)
    made.key.write_bytes(key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()))
    made.server.write_bytes(server.public_bytes(pem) + authority.public_bytes(pem))
    made.authority.write_bytes(authority.public_bytes(pem))
    return made


def make_authority(host: str, signer: ec.EllipticCurvePrivateKey, start: datetime) -> x509.Certificate:
    """An authority for one host.

    Constraints of one kind of name say nothing of the other kind: the kind that the host is not is excluded as a whole, an
    empty name standing for all names (RFC 5280, 4.2.1.10).
    """
    general = _general(host, subtree=True)
    addresses = [x509.IPAddress(ipaddress.ip_network(network)) for network in ("0.0.0.0/0", "::/0")]
    excluded = [x509.DNSName("")] if isinstance(general, x509.IPAddress) else addresses
    name = _name(f"Custody log demo for {host}")
    return (
        _begin(name, name, signer.public_key(), start)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(x509.NameConstraints(permitted_subtrees=[general], excluded_subtrees=excluded), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(signer.public_key()), critical=False)
        .add_extension(_usage(signs=True), critical=True)
        .sign(signer, hashes.SHA256())
    )


def make_server_certificate(
    host: str, key: ec.EllipticCurvePublicKey, authority: x509.Certificate, signer: ec.EllipticCurvePrivateKey
) -> x509.Certificate:
    """A server's certificate, which lasts as long as its authority."""
    # A subject that looks like a host would be held against the constraints, as if it were one.
    return (
        _begin(_name("Custody log demo"), authority.subject, key, authority.not_valid_before_utc)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName([_general(host)]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key()), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(_usage(signs=False), critical=True)
        .sign(signer, hashes.SHA256())
    )


def _ends(certificate: Path) -> float:
    return x509.load_pem_x509_certificate(certificate.read_bytes()).not_valid_after_utc.timestamp()


def _begin(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, start: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(start + timedelta(days=DAYS))
    )


def _name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:64])])


def _general(host: str, *, subtree: bool = False) -> x509.GeneralName:
    """A host by its address or name; as a subtree, that address alone."""
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return x509.DNSName(host)
    return x509.IPAddress(ipaddress.ip_network(address) if subtree else address)


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs,
        key_cert_sign=signs,
        crl_sign=signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )
