"""A new key, one that is given, and the time by a server: older records still verify, and no time is taken on trust."""

from __future__ import annotations

import io
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest
from asn1crypto import keys, pem, tsp
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import pkcs12
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pyhanko.sign.timestamps import DummyTimeStamper

from engineering.models import JobStatus
from jobs.models import Role
from reports import actions, signing, tasks
from reports.management.commands.verify_record import lines_of
from reports.models import IssuedRecord
from reports.verification import read_facts
from tests.factories import make_design, newest, person
from tests.reports.issuing import SITE, issued

pytestmark = pytest.mark.django_db


def pkcs12_of(name: str, passphrase: bytes) -> bytes:
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = signing._self_signed(key, name)
    locked = serialization.BestAvailableEncryption(passphrase)
    return pkcs12.serialize_key_and_certificates(b"k", key, certificate, None, locked)


def renewed(*words: str) -> str:
    out = io.StringIO()
    call_command("renew_signing_key", *words, stdout=out)
    return out.getvalue()


def test_records_of_before_still_verify_after_the_key_is_renewed():
    old = issued()
    said = renewed()
    new = issued()
    for record in (old, new):
        assert read_facts(record.path.read_bytes()).signed_by_the_shop
    assert len(signing.shop_certificates()) == 2
    assert any(c.sha256.hex() in said for c in signing.shop_certificates())


def test_a_given_key_is_taken_and_signs_from_then_on(tmp_path, monkeypatch):
    old = issued()
    file = tmp_path / "given.p12"
    file.write_bytes(pkcs12_of("Slate & Lime Castings, records", b"pass"))
    monkeypatch.setenv("CAMBERBOOK_PKCS12_PASSPHRASE", "pass")
    renewed("--pkcs12", str(file))
    new = issued()
    assert read_facts(old.path.read_bytes()).signed_by_the_shop
    assert read_facts(new.path.read_bytes()).signed_by_the_shop
    names = {c.subject.native["common_name"] for c in signing.shop_certificates()}
    assert "Slate & Lime Castings, records" in names


def test_a_given_key_that_does_not_open_leaves_everything_as_it_was(tmp_path, monkeypatch, own_data_folder):
    issued()
    before = (own_data_folder / "signing" / "shop-key.p12").read_bytes()
    file = tmp_path / "given.p12"
    file.write_bytes(pkcs12_of("Another", b"pass"))
    monkeypatch.setenv("CAMBERBOOK_PKCS12_PASSPHRASE", "wrong")
    err = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("renew_signing_key", "--pkcs12", str(file), stderr=err)
    assert "does not open" in err.getvalue()
    assert (own_data_folder / "signing" / "shop-key.p12").read_bytes() == before
    assert len(signing.shop_certificates()) == 1


def test_anybody_may_take_the_certificates_and_they_are_no_keys():
    issued()
    renewed()
    answer = Client().get(reverse("shop_certificates"))
    assert answer.status_code == 200
    assert b"PRIVATE" not in answer.content
    found = [asn1_x509.Certificate.load(der).sha256 for _, _, der in pem.unarmor(answer.content, multiple=True)]
    assert sorted(found) == sorted(c.sha256 for c in signing.shop_certificates())
    client = Client()
    client.force_login(person(Role.VIEWER))
    assert client.get(reverse("shop_certificates")).content == answer.content


def test_without_a_server_the_time_is_said_to_be_the_machines():
    facts = read_facts(issued().path.read_bytes())
    assert "clock of the machine" in facts.time_known_by
    assert any("clock of the machine" in line for line in lines_of(facts))


@pytest.fixture
def server(monkeypatch) -> Iterator[str]:
    """A timestamp server on this machine, with a key and certificate of its own; it vouches for nothing."""
    key = rsa.generate_private_key(65537, 2048)
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Clock of the tests")])
    now = timezone.now()
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(7)
        .not_valid_before(now - timezone.timedelta(days=1))
        .not_valid_after(now + timezone.timedelta(days=1))
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING]), critical=True)
        .sign(key, hashes.SHA256())
    )
    der = key.private_bytes(serialization.Encoding.DER, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    clock = DummyTimeStamper(
        asn1_x509.Certificate.load(certificate.public_bytes(serialization.Encoding.DER)),
        keys.PrivateKeyInfo.load(der),
    )

    class Answer(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            asked = tsp.TimeStampReq.load(self.rfile.read(int(self.headers["Content-Length"])))
            body = clock.request_tsa_response(asked).dump()
            self.send_response(200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    served = HTTPServer(("127.0.0.1", 0), Answer)
    threading.Thread(target=served.serve_forever, daemon=True).start()
    address = f"http://127.0.0.1:{served.server_port}/"
    monkeypatch.setenv(signing.TIMESTAMP_VARIABLE, address)
    yield address
    served.shutdown()


def test_a_timestamp_of_the_server_is_in_the_signature(server):
    facts = read_facts(issued().path.read_bytes())
    assert facts.signed_by_the_shop
    assert facts.covers_whole_file
    assert "timestamp of" in facts.time_known_by
    assert "Clock of the tests" in facts.time_known_by


def test_a_server_that_does_not_answer_means_no_record_and_words_for_it(monkeypatch):
    monkeypatch.setenv(signing.TIMESTAMP_VARIABLE, "http://127.0.0.1:9/")
    record = actions.request_record(newest(make_design()), by=person(), site_address=SITE)
    tasks.build_record(record.pk)
    record = IssuedRecord.objects.get(pk=record.pk)
    assert record.status == JobStatus.BROKEN
    assert "timestamp server did not answer" in record.problem
