"""The workshop's own certificate authority and the door's certificate: made once, renewed by themselves, keys 0600.

A phone trusts the authority once. It is constrained to private names and addresses, so that a stolen key cannot
stand in for the rest of the internet at clients that honour name constraints (RFC 5280, 4.2.1.10).
"""

import ipaddress
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.types import CertificateIssuerPrivateKeyTypes
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from sync.errors import DoorError
from sync.secrecy import keep_secret

AUTHORITY_DAYS = 3650
LEAF_DAYS = 397  # iOS refuses leaves over 825 days even under a trusted authority (Apple HT210176, from memory)
RENEW_DAYS = 30
_BACKDATED = timedelta(days=1)  # a phone's clock may be a little behind
PRIVATE_NAMES = ("local", "lan", "home.arpa", "internal", "localhost")
PRIVATE_NETS = (
    "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10",
    "::1/128",
)  # fmt: skip


@dataclass(frozen=True)
class Served:
    """What uvicorn is given, and what people are told: `authority` is empty with a domain certificate of one's own."""

    certificate: Path
    key: Path
    authority: Path | None
    fingerprint: str
    renewed: bool


def local_certificate(folder: Path, names: Iterable[str], addresses: Iterable[str], now: datetime) -> Served:
    """The door's certificate under the local authority in `folder`, made or renewed where that is due.

    Names that the authority may not speak for are left out: phones would refuse them. Raises DoorError where the files
    are damaged, or where this PC's clock stands before they were made.
    """
    folder.mkdir(parents=True, exist_ok=True)
    wanted = (*sorted(set(names)), *sorted(set(addresses)))
    ca_key, ca = _authority(folder, wanted, now)
    hosts = tuple(host for host in wanted if _may_speak_for(ca, host))
    renewed = not _still_good(folder / "door.pem", ca, hosts, now)
    if renewed:
        key = ec.generate_private_key(ec.SECP256R1())
        leaf = _leaf(key.public_key(), ca, ca_key, hosts, now)
        keep_secret(folder / "door.key", _pem_key(key))
        keep_secret(folder / "door.pem", _pem(leaf) + _pem(ca))
    return Served(folder / "door.pem", folder / "door.key", folder / "authority.pem", fingerprint(ca), renewed)


def own_certificate(certificate: Path, key: Path, now: datetime) -> Served:
    """The collection's own domain certificate, checked before a phone has to find out.

    Raises DoorError where it cannot be read, is not valid today, or the key belongs to another.
    """
    cert = _read_certificate(certificate)
    private = _read_key(key)
    if cert.not_valid_after_utc <= now:
        raise DoorError(
            f"{certificate}: the certificate ended on {cert.not_valid_after_utc:%Y-%m-%d}; give a renewed one"
        )
    _refuse_future(certificate, cert, now)
    if private.public_key() != cert.public_key():
        raise DoorError(f"{key}: the key does not belong to the certificate {certificate}; give the pair")
    return Served(certificate, key, None, fingerprint(cert), renewed=False)


def names_in(certificate: Path) -> tuple[str, ...]:
    """Host names and addresses that a certificate is for."""
    found = _read_certificate(certificate).extensions
    try:
        names = found.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return ()
    addresses = [str(address) for address in names.get_values_for_type(x509.IPAddress)]
    return (*names.get_values_for_type(x509.DNSName), *addresses)


def as_der(certificate: Path) -> bytes:
    """A certificate as phones install it."""
    return _read_certificate(certificate).public_bytes(serialization.Encoding.DER)


def fingerprint_in(pem: str) -> str:
    """SHA-256 of the certificate in a PEM text. Raises DoorError where there is none."""
    try:
        return fingerprint(x509.load_pem_x509_certificate(pem.encode()))
    except ValueError as error:
        raise DoorError("what was given as an authority is no certificate (PEM)") from error


def fingerprint(cert: x509.Certificate) -> str:
    """SHA-256 of a certificate as people compare it: pairs of hex digits."""
    return cert.fingerprint(hashes.SHA256()).hex(" ", 1).upper()


def _authority(
    folder: Path, hosts: tuple[str, ...], now: datetime
) -> tuple[CertificateIssuerPrivateKeyTypes, x509.Certificate]:
    path, key_path = folder / "authority.pem", folder / "authority.key"
    if path.exists() and key_path.exists():
        cert, key = _read_certificate(path), _read_key(key_path)
        _refuse_future(path, cert, now)
        if cert.not_valid_after_utc > now + timedelta(days=LEAF_DAYS):
            return key, cert
    key = ec.generate_private_key(ec.SECP256R1())
    cert = _new_authority(key, hosts, now)
    keep_secret(key_path, _pem_key(key))
    keep_secret(path, _pem(cert))
    return key, cert


def _new_authority(key: ec.EllipticCurvePrivateKey, hosts: tuple[str, ...], now: datetime) -> x509.Certificate:
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Driptray workshop {now:%Y-%m-%d}")])
    bare = [host for host in hosts if "." not in host and ":" not in host]
    permitted: list[x509.GeneralName] = [x509.DNSName(n) for n in dict.fromkeys([*PRIVATE_NAMES, *bare])]
    permitted += [x509.IPAddress(ipaddress.ip_network(net)) for net in PRIVATE_NETS]
    usage = x509.KeyUsage(
        digital_signature=False, content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, key_cert_sign=True, crl_sign=True, encipher_only=False, decipher_only=False,
    )  # fmt: skip
    return (
        _dated(name, name, now, AUTHORITY_DAYS)
        .public_key(key.public_key())
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _may_speak_for(ca: x509.Certificate, host: str) -> bool:
    """Whether a host is within the authority's own name constraints."""
    may = ca.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        names = [tree.value for tree in may if isinstance(tree, x509.DNSName)]
        return any(host == name or host.endswith(f".{name}") for name in names)
    return any(address in ipaddress.ip_network(tree.value) for tree in may if isinstance(tree, x509.IPAddress))


def _leaf(
    public: ec.EllipticCurvePublicKey,
    ca: x509.Certificate,
    ca_key: CertificateIssuerPrivateKeyTypes,
    hosts: tuple[str, ...],
    now: datetime,
) -> x509.Certificate:
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, hosts[0][:64])])
    issuer_id = x509.AuthorityKeyIdentifier.from_issuer_public_key(ca.public_key())  # type: ignore[arg-type]  # EC only
    return (
        _dated(name, ca.subject, now, LEAF_DAYS)
        .public_key(public)
        .add_extension(x509.SubjectAlternativeName([_general(host) for host in hosts]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(issuer_id, critical=False)
        .sign(ca_key, hashes.SHA256())
    )


def _dated(subject: x509.Name, issuer: x509.Name, now: datetime, days: int) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _BACKDATED)
        .not_valid_after(now + timedelta(days=days))
    )


def _general(host: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def _still_good(path: Path, ca: x509.Certificate, hosts: tuple[str, ...], now: datetime) -> bool:
    if not path.exists() or not path.with_suffix(".key").exists():
        return False
    cert = _read_certificate(path)
    names = cert.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return (
        cert.issuer == ca.subject
        and {_general(host) for host in hosts} <= set(names)
        and cert.not_valid_before_utc <= now
        and cert.not_valid_after_utc > now + timedelta(days=RENEW_DAYS)
    )


def _refuse_future(path: Path, cert: x509.Certificate, now: datetime) -> None:
    if cert.not_valid_before_utc > now:
        raise DoorError(
            f"{path}: made on {cert.not_valid_before_utc + _BACKDATED:%Y-%m-%d}, and this PC's clock says "
            f"{now:%Y-%m-%d}; set the clock right and start again"
        )


def _read_certificate(path: Path) -> x509.Certificate:
    try:
        return x509.load_pem_x509_certificate(path.read_bytes())
    except (OSError, ValueError) as error:
        raise DoorError(f"{path}: no certificate can be read from it ({_why(error)}); expected PEM") from error


def _read_key(path: Path) -> CertificateIssuerPrivateKeyTypes:
    try:
        key = serialization.load_pem_private_key(path.read_bytes(), password=None)
    except (OSError, ValueError, TypeError) as error:
        raise DoorError(
            f"{path}: no key can be read from it ({_why(error)}); expected PEM without a password"
        ) from error
    return key  # type: ignore[return-value]  # a key that cannot issue is refused when it signs


def _why(error: Exception) -> str:
    return error.strerror or "unreadable" if isinstance(error, OSError) else "not PEM"


def _pem(cert: x509.Certificate) -> bytes:
    return cert.public_bytes(serialization.Encoding.PEM)


def _pem_key(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
