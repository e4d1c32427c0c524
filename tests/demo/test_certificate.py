"""The demo's certificate, by the library's own path validation: good for its host, for no other, and for a month."""

from __future__ import annotations

import shutil
import stat
import subprocess
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from custody.management.demo_certificate import DAYS, make_authority, make_certificate, make_server_certificate
from tests.conftest import lacking

NOW = int(datetime(2026, 11, 4, tzinfo=UTC).timestamp())


def subject(host: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def verify(folder: Path, host: str, asked: str, *, days: int = 1) -> None:
    """RFC 5280 path validation, as `cryptography` does it for the web."""
    made = make_certificate(folder, host, now=NOW)
    leaf, authority = x509.load_pem_x509_certificates(made.server.read_bytes())
    assert made.authority.read_bytes().strip() in made.server.read_bytes()
    when = datetime.fromtimestamp(NOW, UTC) + timedelta(days=days)
    builder = PolicyBuilder().store(Store([authority])).time(when)
    builder.build_server_verifier(subject(asked)).verify(leaf, [])  # type: ignore[arg-type]


@pytest.mark.parametrize("host", ["192.168.1.20", "demo.alder.example"])
def test_it_is_good_for_its_host_alone_and_for_a_month(tmp_path: Path, host: str) -> None:
    verify(tmp_path, host, host)
    with pytest.raises(VerificationError):
        verify(tmp_path, host, "192.168.1.21")
    with pytest.raises(VerificationError):
        verify(tmp_path, host, "other.example")
    with pytest.raises(VerificationError):
        verify(tmp_path, host, host, days=DAYS + 1)


@pytest.mark.parametrize("host", ["192.168.1.20", "demo.alder.example"])
@pytest.mark.parametrize("other", ["192.168.1.21", "other.example", "fd00::2"])
def test_its_authority_may_vouch_for_no_other_host(tmp_path: Path, host: str, other: str) -> None:
    """RFC 5280, 4.2.1.10, as OpenSSL reads it; the authority's key, which is let go of, in the wrong hands."""
    if shutil.which("openssl") is None:
        lacking("browser", "there is no openssl")
    start = datetime.fromtimestamp(NOW, UTC)
    signer = ec.generate_private_key(ec.SECP256R1())
    authority = make_authority(host, signer, start)
    said = {}
    for each in (host, other):
        leaf = make_server_certificate(each, signer.public_key(), authority, signer)
        for name, certificate in (("authority", authority), ("leaf", leaf)):
            (tmp_path / name).write_bytes(certificate.public_bytes(Encoding.PEM))
        command = [
            "openssl",
            "verify",
            "-attime",
            str(NOW + 1),
            "-CAfile",
            str(tmp_path / "authority"),
            str(tmp_path / "leaf"),
        ]
        done = subprocess.run(command, capture_output=True, text=True)  # noqa: S603
        said[each] = (done.returncode, done.stdout + done.stderr)
    assert said[host][0] == 0, said[host][1]
    assert said[other][0] != 0
    assert "subtree violation" in said[other][1]


def test_it_is_made_once_and_its_key_is_for_nobody_else(tmp_path: Path) -> None:
    made = make_certificate(tmp_path, "192.168.1.20", now=NOW)
    before = made.server.read_bytes()
    assert stat.S_IMODE(made.key.stat().st_mode) == 0o600
    assert make_certificate(tmp_path, "192.168.1.20", now=NOW + 86_400).server.read_bytes() == before
    assert make_certificate(tmp_path, "192.168.1.20", now=NOW + DAYS * 86_400).server.read_bytes() != before
    assert sorted(path.suffix for path in tmp_path.iterdir()) == [".crt", ".crt", ".key"]
