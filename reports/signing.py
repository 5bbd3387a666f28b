"""The shop's signature: bytes in, signed bytes out. The only file that sees the key.

The key is made when the first record is signed and lives outside the repository, in `signing/` of the data folder:

    shop-key.p12          EC P-256 key and self-signed certificate, mode 0600, under the passphrase below
    passphrase            used where CAMBERBOOK_SIGNING_PASSPHRASE is not set; mode 0600
    certificates/*.pem    every certificate the shop ever signed with, for verification

A certificate nobody else vouches for proves one thing: the file was signed by whoever holds this shop's key. It says
nothing of who an engineer is; an engineer signs with a certificate of their own, in the field left for it.
"""

import fcntl
import io
import os
import secrets
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import MappingProxyType

from asn1crypto import pem
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import pkcs12
from cryptography.x509.oid import NameOID
from django.conf import settings
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign import fields, signers
from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter
from pyhanko.sign.timestamps import HTTPTimeStamper, TimeStamper, TimestampRequestError

from jobs.site.private_files import kept_once, write_whole
from reports.evidence import attach

SHOP_FIELD, ENGINEER_FIELD = "ShopSignature", "EngineerSignature"
VALID_FOR = timedelta(days=3650)
PASSPHRASE_VARIABLE = "CAMBERBOOK_SIGNING_PASSPHRASE"  # noqa: S105 - the name of the variable, not a secret


TIMESTAMP_VARIABLE = "CAMBERBOOK_TIMESTAMP_SERVER"
TIMESTAMP_SECONDS = 10


class NoTimestamp(Exception):
    """A timestamp server is named and did not give a timestamp: nothing was signed."""


class SigningKeyUnreadable(Exception):
    """The shop's key is there but does not open. Nothing was signed, and the key was left as it is."""


@dataclass(frozen=True)
class EngineerField:
    """Where the empty field goes: page from 0, box in points from the lower left corner of the page."""

    page: int
    box: tuple[float, float, float, float]


def sign(
    pdf: bytes,
    *,
    shop: str,
    reason: str,
    engineer_field: EngineerField | None,
    evidence: Mapping[str, bytes] = MappingProxyType({}),
) -> bytes:
    """The PDF with its evidence attached, the engineer's field, empty, where one is wanted, and certified by the shop.

    Filling in that field is all that may change; where there is none, nothing. The field is there before the
    certification, because one added afterwards would break it. Raises SigningKeyUnreadable.
    """
    signer = _shop_signer(shop)
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    attach(writer, evidence)
    if engineer_field:
        left, bottom, right, top = (round(edge) for edge in engineer_field.box)
        fields.append_signature_field(
            writer, SigFieldSpec(ENGINEER_FIELD, on_page=engineer_field.page, box=(left, bottom, right, top))
        )
    fields.append_signature_field(writer, SigFieldSpec(SHOP_FIELD, on_page=0))
    prepared = io.BytesIO()
    writer.write(prepared)
    prepared.seek(0)
    meta = signers.PdfSignatureMetadata(
        field_name=SHOP_FIELD,
        subfilter=SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=MDPPerm.FILL_FORMS if engineer_field else MDPPerm.NO_CHANGES,
        md_algorithm="sha256",
        reason=reason,
        name=shop,
    )
    pen = signers.PdfSigner(meta, signer, timestamper=timestamper())
    try:
        signed = pen.sign_pdf(IncrementalPdfFileWriter(prepared), existing_fields_only=True)
    except (TimestampRequestError, TimeoutError) as exc:
        raise NoTimestamp(f"The timestamp server {os.environ.get(TIMESTAMP_VARIABLE)} did not answer: {exc}") from exc
    return bytes(signed.getvalue())


def timestamper() -> TimeStamper | None:
    """The server the environment names, asked by RFC 3161; None where none is named: the time is then our clock's."""
    address = os.environ.get(TIMESTAMP_VARIABLE, "").strip()
    return HTTPTimeStamper(address, timeout=TIMESTAMP_SECONDS) if address else None


def renew_key(shop: str, given: bytes | None = None, passphrase: bytes = b"") -> str:
    """Sign with a new key from now on, one made here or a PKCS#12 file given; returns the certificate's SHA-256.

    Certificates of before are kept, so records signed so far still verify; the key of before is gone.
    Raises SigningKeyUnreadable where the given file does not open, or holds no key that signs.
    """
    with _only_one():
        if given is None:
            _make_key(folder() / "shop-key.p12", shop)
        else:
            _take_key(folder() / "shop-key.p12", given, passphrase)
        return str(_opened(folder() / "shop-key.p12").signing_cert.sha256.hex())


def _take_key(file: Path, given: bytes, passphrase: bytes) -> None:
    try:
        key, certificate, others = pkcs12.load_key_and_certificates(given, passphrase or None)
    except ValueError as exc:
        raise SigningKeyUnreadable("The PKCS#12 file does not open with that passphrase.") from exc
    if not isinstance(key, ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey) or certificate is None:
        raise SigningKeyUnreadable("The PKCS#12 file holds no EC or RSA key with its certificate.")
    if certificate.not_valid_after_utc <= datetime.now(UTC):
        raise SigningKeyUnreadable("The certificate in the PKCS#12 file has run out.")
    fingerprint = certificate.fingerprint(hashes.SHA256()).hex()
    write_whole(folder() / "certificates" / f"{fingerprint}.pem", certificate.public_bytes(serialization.Encoding.PEM))
    locked = serialization.BestAvailableEncryption(_passphrase())
    write_whole(file, pkcs12.serialize_key_and_certificates(b"shop", key, certificate, others or None, locked))


def shop_certificates() -> list[asn1_x509.Certificate]:
    """Every certificate this shop has signed with, the present one included."""
    return [_certificate(file.read_bytes()) for file in sorted((folder() / "certificates").glob("*.pem"))]


def folder() -> Path:
    return Path(settings.DATA) / "signing"


def _certificate(data: bytes) -> asn1_x509.Certificate:
    return asn1_x509.Certificate.load(pem.unarmor(data)[2])


def _shop_signer(shop: str) -> signers.SimpleSigner:
    """The signer for the shop's key, which is made if there is none or its certificate has run out."""
    with _only_one():
        file = folder() / "shop-key.p12"
        if not file.exists():
            _make_key(file, shop)
        signer = _opened(file)
        if signer.signing_cert.not_valid_after <= datetime.now(UTC):
            _make_key(file, shop)
            signer = _opened(file)
        return signer


def _opened(file: Path) -> signers.SimpleSigner:
    try:
        return signers.SimpleSigner.load_pkcs12_data(file.read_bytes(), other_certs=[], passphrase=_passphrase())
    except ValueError as exc:
        raise SigningKeyUnreadable(
            f"The shop's signing key {file} does not open with the passphrase at hand. Set {PASSPHRASE_VARIABLE} to "
            f"the one it was made with, or move the file away to have a new key made; records signed so far "
            "still verify."
        ) from exc


def _make_key(file: Path, shop: str) -> None:
    """Make key and certificate. The certificate is kept first: what is signed can then always be verified."""
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = _self_signed(key, shop)
    fingerprint = certificate.fingerprint(hashes.SHA256()).hex()
    write_whole(folder() / "certificates" / f"{fingerprint}.pem", certificate.public_bytes(serialization.Encoding.PEM))
    locked = serialization.BestAvailableEncryption(_passphrase())
    write_whole(file, pkcs12.serialize_key_and_certificates(b"shop", key, certificate, None, locked))


def _self_signed(key: ec.EllipticCurvePrivateKey, shop: str) -> x509.Certificate:
    now = datetime.now(UTC)
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, (" ".join(shop.split()) or "Casting shop")[:64])])
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=True,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )
    return (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(minutes=5))
        .not_valid_after(now + VALID_FOR)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _passphrase() -> bytes:
    given = os.environ.get(PASSPHRASE_VARIABLE, "")
    return (given or kept_once(folder() / "passphrase", lambda: secrets.token_urlsafe(32))).encode()


@contextmanager
def _only_one() -> Iterator[None]:
    """One process at a time looks for the key or makes it; the lock falls with the process that holds it."""
    for part in (folder(), folder() / "certificates"):
        part.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle = os.open(folder() / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)
