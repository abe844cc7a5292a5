"""A private certificate authority and this machine's server certificate, so that a phone can trust it over HTTPS.

The authority is made once and a phone is told once to trust it. A stolen authority key could otherwise speak for any
site, so the authority is constrained (RFC 5280, 4.2.1.10) to this machine's name under .local and to addresses that no
router passes on to the internet, and it cannot make further authorities (path length 0). A constraint covers all names
below it, so the machine's bare name is none: it may be that of a top-level domain.

Each file holds a key and its certificate together, so that replacing the file replaces both or neither.
"""

import ipaddress
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from webapp.access import private

AUTHORITY_LIFE = timedelta(days=3650)
# Phones refuse server certificates of more than 398 days (CA/Browser Forum, Baseline Requirements 6.3.2; from memory).
SERVER_LIFE = timedelta(days=180)
RENEW_BEFORE_END = timedelta(days=30)
# A phone's clock may be behind this machine's.
CLOCK_SLACK = timedelta(days=1)

# Not globally reachable: IANA special-purpose address registries (RFC 6890), and the shared space of RFC 6598.
LOCAL_NETWORKS = tuple(
    ipaddress.ip_network(text)
    for text in (
        "10.0.0.0/8",
        "100.64.0.0/10",
        "127.0.0.0/8",
        "169.254.0.0/16",
        "172.16.0.0/12",
        "192.0.2.0/24",
        "192.168.0.0/16",
        "198.18.0.0/15",
        "198.51.100.0/24",
        "203.0.113.0/24",
        "::1/128",
        "fc00::/7",
        "fe80::/10",
    )
)


class CertificateError(Exception):
    """The certificates cannot be used or made; the message is one sentence for the person at the terminal."""


@dataclass(frozen=True)
class Certificates:
    """What the TLS front and the authority's page need."""

    server_file: Path  # PEM, key and certificate, for ssl.SSLContext.load_cert_chain
    authority_der: bytes
    names: tuple  # the host names that the server's certificate has
    fingerprint: str  # SHA-256 of authority_der, as phones show it: AB:CD:...
    server_ends: datetime
    new_authority: bool
    new_server: bool


def is_local(address):
    """True for an address, as text, that is not reachable from the internet.

    >>> is_local("192.168.4.20"), is_local("fd00::2"), is_local("8.8.8.8"), is_local("pit")
    (True, True, False, False)
    """
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return False
    found = getattr(found, "ipv4_mapped", None) or found
    return any(found in network for network in LOCAL_NETWORKS if network.version == found.version)


def ensure(folder, names, addresses, now=None):
    """Return the `Certificates` kept in `folder`, made or renewed where needed.

    `names` are host names (the first is the machine's own), `addresses` IP addresses as text; addresses that are not
    local are left out. `now` is an aware datetime, default the clock. A server certificate is renewed when the names or
    addresses changed or less than 30 days are left. Errors: CertificateError for files that cannot be read or written,
    and for a clock that says a time before the authority was made. A damaged authority is never replaced: every phone
    would have to trust the new one.
    """
    now = now or datetime.now(timezone.utc)
    folder = Path(folder)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        authority, new_authority = _authority(folder / "authority.pem", names, now)
        names = _vouchable(authority[1], names)
        addresses = sorted({address for address in addresses if is_local(address)})
        server_file = folder / "server.pem"
        server = None if new_authority else _usable_server(server_file, authority[1], names, addresses, now)
        new_server = server is None
        if new_server:
            server = _make_server(server_file, authority, names, addresses, now)
    except OSError as error:
        raise CertificateError(f"The certificates in {folder} cannot be kept: {error.strerror or error}.") from error
    der = authority[1].public_bytes(serialization.Encoding.DER)
    ends = server[1].not_valid_after_utc
    return Certificates(server_file, der, tuple(names), fingerprint(authority[1]), ends, new_authority, new_server)


def fingerprint(certificate):
    """SHA-256 of a certificate as pairs of hexadecimal digits with colons between."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def _authority(path, names, now):
    """The (key, certificate) in `path`, and whether it was made now: at first, and when a server's would outlive it."""
    if path.exists():
        found = _read(path)
        if found is None:
            raise CertificateError(f"{path} is damaged. Put a copy back, or delete it and pair the phones anew.")
        if now < found[1].not_valid_before_utc:
            raise CertificateError(f"The clock says {now:%Y-%m-%d}, before {path.name} was made. Set the clock.")
        if found[1].not_valid_after_utc - now >= SERVER_LIFE + RENEW_BEFORE_END:
            return found, False
    return _make_authority(path, names, now), True


def _make_authority(path, names, now):
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Overbowl on {names[0]}, {now:%Y-%m-%d}"[:64])])
    permitted = [x509.DNSName(f"{names[0].partition('.')[0]}.local")]
    permitted += [x509.IPAddress(network) for network in LOCAL_NETWORKS]
    certificate = (
        _builder(name, name, key, now, AUTHORITY_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_key_usage(key_cert_sign=True, crl_sign=True), critical=True)
        .add_extension(x509.NameConstraints(permitted_subtrees=permitted, excluded_subtrees=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    _write(path, key, certificate)
    return key, certificate


def _make_server(path, authority, names, addresses, now):
    key = ec.generate_private_key(ec.SECP256R1())
    # No host name: where no name is vouched for, this one would be held against the constraints.
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Overbowl server")])
    authority_key, issuer = authority
    certificate = (
        _builder(subject, issuer.subject, key, now, SERVER_LIFE)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_key_usage(digital_signature=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(_general_names(names, addresses)), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key()), critical=False)
        .sign(authority_key, hashes.SHA256())
    )
    _write(path, key, certificate)
    return key, certificate


def _builder(subject, issuer, key, now, life):
    start = now - CLOCK_SLACK
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(start + life)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _key_usage(**used):
    uses = (
        "digital_signature",
        "content_commitment",
        "key_encipherment",
        "data_encipherment",
        "key_agreement",
        "key_cert_sign",
        "crl_sign",
        "encipher_only",
        "decipher_only",
    )
    return x509.KeyUsage(**{use: used.get(use, False) for use in uses})


def _general_names(names, addresses):
    return [x509.DNSName(name) for name in names] + [x509.IPAddress(ipaddress.ip_address(text)) for text in addresses]


def _vouchable(authority, names):
    """The names that the authority may vouch for: none of a machine that was renamed since; its addresses remain."""
    permitted = authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees
    suffixes = [name.value for name in permitted if isinstance(name, x509.DNSName)]
    return [name for name in dict.fromkeys(names) if any(name == end or name.endswith("." + end) for end in suffixes)]


def _usable_server(path, authority, names, addresses, now):
    """The (key, certificate) in `path`, or None where a new one is due. A damaged one is simply made anew."""
    found = _read(path) if path.exists() else None
    if found is None:
        return None
    certificate = found[1]
    told = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    due = (
        list(told) != _general_names(names, addresses)
        or not certificate.not_valid_before_utc <= now < certificate.not_valid_after_utc - RENEW_BEFORE_END
    )
    try:
        certificate.verify_directly_issued_by(authority)
    except (ValueError, TypeError, InvalidSignature):
        return None
    return None if due else found


def _read(path):
    """The (key, certificate) in a file, or None where it is damaged."""
    pem = private.read(path)
    try:
        key = serialization.load_pem_private_key(pem, password=None)
        certificate = x509.load_pem_x509_certificate(pem)
    except (ValueError, TypeError):
        return None
    return (key, certificate) if key.public_key() == certificate.public_key() else None


def _write(path, key, certificate):
    pem = key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    private.write(path, pem + certificate.public_bytes(serialization.Encoding.PEM))
