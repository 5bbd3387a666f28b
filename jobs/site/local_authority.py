"""`serve --tls`: an authority of the shop's own and a certificate from it for this machine's names.

Tablets keep pages and queue entries only over https, and https on the shop's network needs a certificate that somebody
vouches for. The authority lives in `tls/` of the data folder, readable by its owner only:

    authority.crt   goes onto the tablets; it may vouch for private addresses and local names alone (RFC 5280 4.2.1.10),
    authority.key   so that whoever trusts it trusts it with nothing outside the shop
    site.crt, site.key   of this machine; made anew when its names change or a month before they end
"""

from __future__ import annotations

import ipaddress
import os
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_LIFE = timedelta(days=3650)
SITE_LIFE = timedelta(days=397)  # browsers take no more from public authorities, and Apple's 825 days from private ones
RENEW_BEFORE = timedelta(days=30)
LOCAL_NAMES = ("localhost", "local", "lan", "internal", "home.arpa")  # with everything under them
PRIVATE = ("127.0.0.0/8", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "::1/128", "fc00::/7",
           "fe80::/10")  # fmt: skip


@dataclass(frozen=True)
class Files:
    """Where the four files are."""

    folder: Path

    @property
    def authority(self) -> Path:
        return self.folder / "authority.crt"

    @property
    def authority_key(self) -> Path:
        return self.folder / "authority.key"

    @property
    def site(self) -> Path:
        return self.folder / "site.crt"

    @property
    def site_key(self) -> Path:
        return self.folder / "site.key"


def ready(folder: Path, names: list[str]) -> Files:
    """The files, made or made anew as needed. `names`: the hosts to answer for, the likeliest first."""
    files = Files(folder)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    folder.chmod(0o700)
    if not (files.authority.exists() and files.authority_key.exists()):
        _make_authority(files, names)
    if not _serves(files, names):
        _make_site(files, names)
    return files


def fingerprint(certificate: x509.Certificate) -> str:
    """SHA-256 in pairs, as tablets show it."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def read_certificate(file: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(file.read_bytes())


def _general(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name.strip("[]")))
    except ValueError:
        return x509.DNSName(name)


def _serves(files: Files, names: list[str]) -> bool:
    """The site's certificate is there, of this authority, for exactly these names, and has more than a month left."""
    try:
        site, authority = read_certificate(files.site), read_certificate(files.authority)
        site.verify_directly_issued_by(authority)
    except (OSError, ValueError, TypeError):
        return False
    except Exception:  # cryptography's InvalidSignature: of an authority that was made anew
        return False
    told = site.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    in_time = site.not_valid_after_utc - datetime.now(UTC) > RENEW_BEFORE
    return in_time and files.site_key.exists() and set(told) == {_general(name) for name in names}


def _subject(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:64])])


def _make_authority(files: Files, names: list[str]) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    now = datetime.now(UTC)
    name = _subject(f"Shop authority of {names[0]}, {now:%Y-%m-%d}")
    own = [name for name in names if isinstance(_general(name), x509.DNSName)]
    allowed: list[x509.GeneralName] = [x509.DNSName(local) for local in dict.fromkeys((*LOCAL_NAMES, *own))]
    allowed += [x509.IPAddress(ipaddress.ip_network(network)) for network in PRIVATE]
    made = (
        _builder(name, name, key, now, AUTHORITY_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(x509.NameConstraints(allowed, None), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .sign(key, hashes.SHA256())
    )
    _write(files.authority_key, _private(key))
    _write(files.authority, made.public_bytes(serialization.Encoding.PEM))


def _make_site(files: Files, names: list[str]) -> None:
    authority = read_certificate(files.authority)
    signer = serialization.load_pem_private_key(files.authority_key.read_bytes(), None)
    if not isinstance(signer, ec.EllipticCurvePrivateKey):
        raise ValueError(f"{files.authority_key} is no key of this authority. Move the folder away to have a new one.")
    key = ec.generate_private_key(ec.SECP256R1())
    made = (
        _builder(_subject(names[0]), authority.subject, key, datetime.now(UTC), SITE_LIFE)
        .add_extension(x509.SubjectAlternativeName([_general(name) for name in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key()), critical=False)
        .sign(signer, hashes.SHA256())
    )
    _write(files.site_key, _private(key))
    _write(files.site, made.public_bytes(serialization.Encoding.PEM))


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime, life: timedelta
) -> x509.CertificateBuilder:
    made = x509.CertificateBuilder(
        issuer, subject, key.public_key(), x509.random_serial_number(), now - timedelta(hours=1), now + life
    )  # an hour back: a tablet's clock may run behind
    return made.add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        encipher_only=False,
        decipher_only=False,
    )


def _private(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(file: Path, content: bytes) -> None:
    """Whole or not at all, mode 0600."""
    fresh = file.with_name(f".{file.name}.{secrets.token_hex(4)}")
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    fresh.replace(file)
