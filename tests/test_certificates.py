"""The authority and the server certificate, parsed, and judged by OpenSSL rather than by ourselves."""

import ipaddress
import os
import ssl
import stat
from datetime import datetime, timedelta, timezone

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.x509.oid import ExtendedKeyUsageOID

from webapp.access import certificates

NOW = datetime(2026, 3, 1, 12, tzinfo=timezone.utc)
NAMES = ["pit", "pit.local", "localhost"]
VOUCHED = ["pit.local"]
ADDRESSES = ["192.168.4.20", "127.0.0.1", "::1"]

# RFC 5280, 4.2.1.3 and 4.2.1.9: the bits of key usage, and what they are for.
AUTHORITY_USES = {"key_cert_sign", "crl_sign"}
SERVER_USES = {"digital_signature"}
# CA/Browser Forum, Baseline Requirements 6.3.2: at most 398 days (from memory). Phones apply it.
LONGEST_SERVER_LIFE = timedelta(days=398)


def ensure(folder, names=NAMES, addresses=ADDRESSES, now=NOW):
    return certificates.ensure(folder, names, addresses, now)


def server_of(made):
    return x509.load_pem_x509_certificate(made.server_file.read_bytes())


def authority_of(made):
    return x509.load_der_x509_certificate(made.authority_der)


def extension(certificate, kind):
    return certificate.extensions.get_extension_for_class(kind)


def uses(certificate):
    told = extension(certificate, x509.KeyUsage).value
    names = [
        "digital_signature",
        "content_commitment",
        "key_encipherment",
        "data_encipherment",
        "key_agreement",
        "key_cert_sign",
        "crl_sign",
    ]
    return {name for name in names if getattr(told, name)}


def handshake(made, name):
    """Let OpenSSL judge the certificate as a client that trusts the authority and asks for `name`, at the real time."""
    client_context = ssl.create_default_context(cadata=made.authority_der)
    server_context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server_context.load_cert_chain(made.server_file)
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = client_context.wrap_bio(to_client, to_server, server_hostname=name)
    server = server_context.wrap_bio(to_server, to_client, server_side=True)
    for _ in range(5):
        for side in (client, server):
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                continue
    return client.getpeercert()


def test_authority_can_only_make_server_certificates(tmp_path):
    authority = authority_of(ensure(tmp_path))
    basic = extension(authority, x509.BasicConstraints)
    assert basic.critical and basic.value.ca and basic.value.path_length == 0
    assert uses(authority) == AUTHORITY_USES and extension(authority, x509.KeyUsage).critical
    assert authority.issuer == authority.subject
    authority.verify_directly_issued_by(authority)


def test_authority_is_constrained_to_local_names_and_addresses(tmp_path):
    constraints = extension(authority_of(ensure(tmp_path)), x509.NameConstraints)
    assert constraints.critical
    permitted = [name.value for name in constraints.value.permitted_subtrees]
    assert [name for name in permitted if isinstance(name, str)] == ["pit.local"], "a bare name may be a top-level domain"
    networks = [network for network in permitted if not isinstance(network, str)]
    # Python's own table of the IANA registries says that none of them is reachable from the internet.
    assert networks and not any(network.is_global for network in networks)


def test_server_certificate(tmp_path):
    made = ensure(tmp_path)
    server, authority = server_of(made), authority_of(made)
    server.verify_directly_issued_by(authority)
    basic = extension(server, x509.BasicConstraints)
    assert basic.critical and not basic.value.ca
    assert uses(server) == SERVER_USES and extension(server, x509.KeyUsage).critical
    assert list(extension(server, x509.ExtendedKeyUsage).value) == [ExtendedKeyUsageOID.SERVER_AUTH]
    told = extension(server, x509.SubjectAlternativeName).value
    assert told.get_values_for_type(x509.DNSName) == VOUCHED == list(made.names)
    assert set(told.get_values_for_type(x509.IPAddress)) == {ipaddress.ip_address(text) for text in ADDRESSES}
    key_id = extension(authority, x509.SubjectKeyIdentifier).value.digest
    assert extension(server, x509.AuthorityKeyIdentifier).value.key_identifier == key_id


def test_dates(tmp_path):
    made = ensure(tmp_path)
    server, authority = server_of(made), authority_of(made)
    for certificate in (server, authority):
        assert certificate.not_valid_before_utc <= NOW - timedelta(hours=1), "a phone's clock may be behind"
    assert server.not_valid_after_utc - server.not_valid_before_utc <= LONGEST_SERVER_LIFE
    assert server.not_valid_after_utc <= authority.not_valid_after_utc
    assert authority.not_valid_after_utc > NOW + timedelta(days=5 * 365)
    assert made.server_ends == server.not_valid_after_utc


def test_fingerprint_is_that_of_the_authority(tmp_path):
    made = ensure(tmp_path)
    assert made.fingerprint.replace(":", "") == authority_of(made).fingerprint(hashes.SHA256()).hex().upper()
    assert len(made.fingerprint) == 95


@pytest.mark.parametrize("name", [*VOUCHED, *ADDRESSES])
def test_openssl_accepts_it_for_each_name(tmp_path, name):
    assert handshake(certificates.ensure(tmp_path, NAMES, ADDRESSES), name)["subject"]


@pytest.mark.parametrize("name", ["192.168.4.21", "pit2.local", "example.org"])
def test_openssl_refuses_it_for_others(tmp_path, name):
    with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
        handshake(certificates.ensure(tmp_path, NAMES, ADDRESSES), name)


@pytest.mark.parametrize(
    "names, addresses",
    [
        (["example.org"], []),
        (["www.example.pit"], []),
        (["other.local"], []),
        (["pit"], ["8.8.8.8"]),
        (["pit"], ["2001:4860::8"]),
    ],
)
def test_openssl_refuses_what_the_authority_may_not_vouch_for(tmp_path, names, addresses):
    """A stolen authority key signs a certificate for a public site: a phone that trusts the authority refuses it."""
    made = certificates.ensure(tmp_path, ["pit"], [])
    now = datetime.now(timezone.utc)
    stolen = certificates._read(tmp_path / "authority.pem")
    certificates._make_server(made.server_file, stolen, names, addresses, now)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        handshake(made, (addresses or names)[0])


def test_public_names_and_addresses_are_left_out(tmp_path):
    told = extension(server_of(ensure(tmp_path, ["pit", "pit.example.org"], ["8.8.8.8", "10.0.0.7"])), x509.SubjectAlternativeName).value
    assert [name.value for name in told] == [ipaddress.ip_address("10.0.0.7")]


@pytest.mark.skipif(os.name != "posix", reason="other systems have no permission bits")
def test_files_are_the_owners_only(tmp_path):
    folder = tmp_path / "keys"
    usual = os.umask(0)
    try:
        ensure(folder)
    finally:
        os.umask(usual)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()} == {"authority.pem": 0o600, "server.pem": 0o600}


@pytest.mark.skipif(os.name != "posix", reason="other systems have no permission bits")
def test_a_file_that_others_may_read_is_closed_to_them(tmp_path):
    ensure(tmp_path)
    (tmp_path / "authority.pem").chmod(0o644)
    ensure(tmp_path)
    assert stat.S_IMODE((tmp_path / "authority.pem").stat().st_mode) == 0o600


def test_nothing_is_renewed_without_a_reason(tmp_path):
    first = ensure(tmp_path)
    assert first.new_authority and first.new_server
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    # The same addresses in another order, as a restart may find them.
    again = ensure(tmp_path, addresses=ADDRESSES[::-1], now=NOW + timedelta(days=100))
    assert not again.new_authority and not again.new_server
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


@pytest.mark.parametrize(
    "changed",
    [
        {"addresses": ["192.168.4.21"]},
        {"addresses": [*ADDRESSES, "10.1.1.1"]},
        {"names": ["pit", "localhost"]},  # the name under .local left out
        {"now": NOW + timedelta(days=160)},
        {"now": NOW + timedelta(days=1000)},
        {"now": NOW - timedelta(hours=20)},
    ],
)
def test_server_certificate_is_renewed_alone(tmp_path, changed):
    first = ensure(tmp_path)
    if changed.get("now", NOW) < NOW:
        # Issued by a clock that ran ahead: not valid yet by the right one.
        first = ensure(tmp_path, addresses=["10.0.0.1"], now=NOW + timedelta(days=10))
    again = ensure(tmp_path, **changed)
    assert again.new_server and not again.new_authority
    assert again.authority_der == first.authority_der
    server, now = server_of(again), changed.get("now", NOW)
    assert server.not_valid_before_utc < now < server.not_valid_after_utc
    server.verify_directly_issued_by(authority_of(again))


def test_authority_is_replaced_before_a_server_certificate_would_outlive_it(tmp_path):
    first = ensure(tmp_path)
    end = authority_of(first).not_valid_after_utc
    still = ensure(tmp_path, now=end - timedelta(days=211))
    assert not still.new_authority and still.server_ends <= end
    again = ensure(tmp_path, now=end - timedelta(days=209))
    assert again.new_authority and again.new_server and again.authority_der != first.authority_der
    server_of(again).verify_directly_issued_by(authority_of(again))


def test_a_renamed_machine_keeps_its_authority(tmp_path):
    first = ensure(tmp_path)
    again = ensure(tmp_path, names=["van", "van.local", "localhost"])
    assert again.authority_der == first.authority_der
    told = extension(server_of(again), x509.SubjectAlternativeName).value
    # The new name is outside of what the authority may vouch for; the addresses are inside.
    assert told.get_values_for_type(x509.DNSName) == [] == list(again.names)
    assert len(told.get_values_for_type(x509.IPAddress)) == len(ADDRESSES)
    now = certificates.ensure(tmp_path, ["van"], ADDRESSES)
    assert handshake(now, ADDRESSES[0])["subject"], "a phone still takes it for the addresses"


@pytest.mark.parametrize("damage", [b"", b"torn", "half", "other key"])
def test_a_damaged_authority_is_never_replaced(tmp_path, damage):
    ensure(tmp_path)
    path = tmp_path / "authority.pem"
    whole = path.read_bytes()
    if damage == "half":
        damage = whole[: len(whole) // 2]
    elif damage == "other key":
        ensure(tmp_path / "other")
        key = (tmp_path / "other" / "authority.pem").read_bytes().split(b"-----BEGIN CERT")[0]
        damage = key + b"-----BEGIN CERT" + whole.split(b"-----BEGIN CERT")[1]
    path.write_bytes(damage)
    with pytest.raises(certificates.CertificateError, match=r"authority\.pem is damaged"):
        ensure(tmp_path)
    assert path.read_bytes() == damage


@pytest.mark.parametrize("damage", [b"", b"torn"])
def test_a_damaged_server_certificate_is_made_anew(tmp_path, damage):
    made = ensure(tmp_path)
    made.server_file.write_bytes(damage)
    assert ensure(tmp_path).new_server
    server_of(made)


def test_a_server_certificate_of_another_authority_is_made_anew(tmp_path):
    made, other = ensure(tmp_path / "one"), ensure(tmp_path / "two")
    made.server_file.write_bytes(other.server_file.read_bytes())
    assert ensure(tmp_path / "one").new_server


def test_a_clock_before_the_authority_is_named(tmp_path):
    ensure(tmp_path)
    with pytest.raises(certificates.CertificateError, match="The clock says 2000-01-01"):
        ensure(tmp_path, now=datetime(2000, 1, 1, tzinfo=timezone.utc))


def test_a_folder_that_cannot_be_used_is_named(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(certificates.CertificateError, match="cannot be kept"):
        ensure(tmp_path / "file" / "keys")


@pytest.mark.parametrize(
    "text",
    [
        "10.0.0.1",
        "172.31.255.255",
        "192.168.0.1",
        "169.254.3.4",
        "100.64.0.1",
        "127.0.0.2",
        "::1",
        "fd00::2",
        "fe80::1",
        "fe80::1%eth0",
        "::ffff:10.0.0.1",
    ],
)
def test_local_addresses(text):
    assert certificates.is_local(text)
    address = ipaddress.ip_address(text)
    assert not (getattr(address, "ipv4_mapped", None) or address).is_global


@pytest.mark.parametrize(
    "text", ["8.8.8.8", "172.32.0.1", "100.128.0.1", "2001:4860:4860::8888", "::ffff:8.8.8.8", "0.0.0.0", "224.0.0.1", "", "pit"]
)
def test_other_addresses(text):
    assert not certificates.is_local(text)
