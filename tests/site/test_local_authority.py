"""`serve --tls`: an authority of the shop's own, good for nothing outside it, and how tablets come to trust it."""

from __future__ import annotations

import http.client
import ipaddress
import re
import ssl
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from jobs.site import local_authority
from jobs.site.local_authority import Files, fingerprint, read_certificate, ready
from tests.site.processes import Process, manage, until

NAMES = ["192.168.1.20", "shop-pc", "shop-pc.local", "localhost", "127.0.0.1"]


def test_the_keys_are_their_owners_only(tmp_path: Path) -> None:
    files = ready(tmp_path / "tls", NAMES)
    assert stat.S_IMODE(files.folder.stat().st_mode) == 0o700
    for file in files.folder.iterdir():
        assert stat.S_IMODE(file.stat().st_mode) == 0o600, file
    assert {file.name for file in files.folder.iterdir()} == {"authority.crt", "authority.key", "site.crt", "site.key"}


def test_the_authority_vouches_for_private_places_alone(tmp_path: Path) -> None:
    authority = read_certificate(ready(tmp_path / "tls", NAMES).authority)
    extension = authority.extensions.get_extension_for_class(x509.NameConstraints)
    assert extension.critical
    allowed = extension.value.permitted_subtrees or []
    networks = [name.value for name in allowed if isinstance(name, x509.IPAddress)]
    assert all(network.is_private for network in networks if isinstance(network, ipaddress.IPv4Network))
    names = {name.value for name in allowed if isinstance(name, x509.DNSName)}
    assert names == {"localhost", "local", "lan", "internal", "home.arpa", "shop-pc", "shop-pc.local"}
    basic = authority.extensions.get_extension_for_class(x509.BasicConstraints).value
    assert (basic.ca, basic.path_length) == (True, 0)


def test_the_site_is_of_the_authority_and_a_second_start_makes_nothing_new(tmp_path: Path) -> None:
    files = ready(tmp_path / "tls", NAMES)
    before = {file.name: file.read_bytes() for file in files.folder.iterdir()}
    site, authority = read_certificate(files.site), read_certificate(files.authority)
    site.verify_directly_issued_by(authority)
    assert site.not_valid_after_utc - site.not_valid_before_utc <= timedelta(days=398)
    assert not site.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    ready(tmp_path / "tls", NAMES)
    assert {file.name: file.read_bytes() for file in files.folder.iterdir()} == before


def test_another_address_gets_another_certificate_of_the_same_authority(tmp_path: Path) -> None:
    """The router gave the machine a new address: no tablet has to trust anything anew."""
    files = ready(tmp_path / "tls", NAMES)
    authority, site = files.authority.read_bytes(), files.site.read_bytes()
    ready(tmp_path / "tls", ["192.168.1.77", *NAMES[1:]])
    assert files.authority.read_bytes() == authority
    assert files.site.read_bytes() != site
    told = read_certificate(files.site).extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert ipaddress.ip_address("192.168.1.77") in told.get_values_for_type(x509.IPAddress)


def test_it_is_made_anew_a_month_before_it_ends(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(local_authority, "SITE_LIFE", timedelta(days=29))
    files = ready(tmp_path / "tls", NAMES)
    ends_soon = files.site.read_bytes()
    monkeypatch.undo()
    ready(tmp_path / "tls", NAMES)
    assert files.site.read_bytes() != ends_soon
    assert read_certificate(files.site).not_valid_after_utc > datetime.now(UTC) + timedelta(days=300)


@pytest.mark.parametrize("broken", ["authority.key", "site.key", "site.crt"])
def test_a_lost_file_is_made_again(broken: str, tmp_path: Path) -> None:
    files = ready(tmp_path / "tls", NAMES)
    (files.folder / broken).unlink()
    ready(tmp_path / "tls", NAMES)
    read_certificate(files.site).verify_directly_issued_by(read_certificate(files.authority))


def get(port: int, path: str, context: ssl.SSLContext | None = None) -> http.client.HTTPResponse:
    call = (
        http.client.HTTPSConnection("localhost", port, timeout=30, context=context)
        if context
        else http.client.HTTPConnection("localhost", port, timeout=30)
    )
    call.request("GET", path)
    return call.getresponse()


def test_a_tablet_that_trusts_the_authority_gets_the_site_and_others_are_led_there(tmp_path: Path) -> None:
    command = manage("serve", "--tls", "--port", "0", "--trust-port", "0", "--host", "localhost")
    with Process(command, log=tmp_path / "log", CAMBERBOOK_DATA=str(tmp_path / "data")) as process:
        door = until(lambda: re.search(r"http://localhost:(\d+)/trust/\n +(\S+)\n", process.said()), "page", process)
        site = re.search(r"https://localhost:(\d+)/\n", process.said())
        assert site
        page = get(int(door[1]), "/trust/")
        text = page.read().decode()
        assert page.status == 200, process.said()
        assert door[2] in text
        style = re.search(r'href="(/static/[^"]+\.css)"', text)
        assert style
        assert get(int(door[1]), style[1]).status == 200
        file = get(int(door[1]), "/trust/shop-authority.crt")
        assert file.getheader("Content-Type") == "application/x-x509-ca-cert"
        authority = x509.load_der_x509_certificate(file.read())
        assert fingerprint(authority) == door[2]
        trusting = ssl.create_default_context(cadata=authority.public_bytes(Encoding.PEM).decode())
        assert get(int(site[1]), "/first-account/", trusting).status == 200
        with pytest.raises(ssl.SSLCertVerificationError):
            get(int(site[1]), "/first-account/", ssl.create_default_context())
        for path in ("/first-account/", "/sign-in/", "/static/../sign-in/", "/board/"):
            away = get(int(door[1]), path)
            assert away.status in (301, 302, 404), path
            assert away.status == 404 or (away.getheader("Location") or "").startswith("https://"), path
    assert stat.S_IMODE((tmp_path / "data" / "tls").stat().st_mode) == 0o700
    assert Files(tmp_path / "data" / "tls").authority_key.exists()


def test_tls_and_a_certificate_of_ones_own_do_not_go_together(tmp_path: Path) -> None:
    command = manage("serve", "--tls", "--certificate", "x", "--key", "y")
    with Process(command, log=tmp_path / "log", CAMBERBOOK_DATA=str(tmp_path / "data")) as process:
        until(lambda: process.child.poll() is not None, "end")
        assert "Either --tls makes a certificate" in process.said()
    assert not (tmp_path / "data" / "tls").exists()
