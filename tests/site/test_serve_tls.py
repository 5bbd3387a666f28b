"""`serve --certificate --key`: https in one process, as the shop's tablets need it to work offline."""

import datetime
import http.client
import re
import ssl
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from tests.site.processes import Process, manage, until


@pytest.fixture
def certificate(tmp_path: Path) -> tuple[Path, Path]:
    """A certificate for `localhost` that vouches for itself, and its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")])
    now = datetime.datetime.now(datetime.UTC)
    until_then = now + datetime.timedelta(days=1)
    made = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number(), now, until_then)
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("localhost")]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    (tmp_path / "c.pem").write_bytes(made.public_bytes(serialization.Encoding.PEM))
    (tmp_path / "k.pem").write_bytes(key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()))
    return tmp_path / "c.pem", tmp_path / "k.pem"


def test_pages_and_cookies_go_over_tls_only(tmp_path: Path, certificate: tuple[Path, Path]) -> None:
    pem, key = certificate
    command = manage("serve", "--port", "0", "--host", "localhost", "--certificate", str(pem), "--key", str(key))
    with Process(command, log=tmp_path / "log", CAMBERBOOK_DATA=str(tmp_path / "data")) as process:
        found = until(lambda: re.search(r"https://localhost:(\d+)/\n", process.said()), "printed address", process)
        call = http.client.HTTPSConnection("localhost", int(found[1]), timeout=30,
                                           context=ssl.create_default_context(cafile=str(pem)))
        call.request("GET", "/first-account/")
        answer = call.getresponse()
        assert answer.status == 200, process.said()
        cookies = [cookie.lower() for cookie in answer.headers.get_all("Set-Cookie", [])]
        assert cookies
        assert all("; secure" in cookie for cookie in cookies)
