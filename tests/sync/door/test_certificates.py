"""The local authority: made once, trusted once, renewed by itself, honest about clocks and ends."""

import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store

from sync.certificates import LEAF_DAYS, Served, local_certificate, own_certificate
from sync.errors import DoorError

NOW = datetime(2026, 10, 18, 9, 0, tzinfo=UTC)


def made(folder: Path, *, names: tuple[str, ...] = ("shed.local",), now: datetime = NOW) -> Served:
    return local_certificate(folder, names, ["192.168.1.5", "127.0.0.1"], now)


def leaf(served: Served) -> x509.Certificate:
    return x509.load_pem_x509_certificates(served.certificate.read_bytes())[0]


def test_a_client_that_trusts_the_authority_accepts_the_door(tmp_path: Path) -> None:
    served = made(tmp_path)
    assert served.authority is not None
    store = Store(x509.load_pem_x509_certificates(served.authority.read_bytes()))
    verifier = PolicyBuilder().store(store).time(NOW).build_server_verifier(x509.DNSName("shed.local"))
    assert verifier.verify(leaf(served), [])


def test_every_address_given_is_in_the_certificate(tmp_path: Path) -> None:
    names = leaf(made(tmp_path)).extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert [str(a) for a in names.get_values_for_type(x509.IPAddress)] == ["127.0.0.1", "192.168.1.5"]


def test_keys_are_readable_by_their_owner_alone(tmp_path: Path) -> None:
    made(tmp_path)
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in tmp_path.glob("*.key")}
    assert modes == {"authority.key": 0o600, "door.key": 0o600}


def test_a_second_start_keeps_certificate_and_authority(tmp_path: Path) -> None:
    first = made(tmp_path)
    before = first.certificate.read_bytes()
    again = made(tmp_path, now=NOW + timedelta(days=1))
    assert not again.renewed
    assert again.certificate.read_bytes() == before


def test_a_new_address_renews_the_leaf_under_the_same_authority(tmp_path: Path) -> None:
    first = made(tmp_path)
    again = made(tmp_path, names=("shed.local", "barn.local"))
    assert again.renewed
    assert again.fingerprint == first.fingerprint


def test_a_leaf_near_its_end_is_renewed(tmp_path: Path) -> None:
    made(tmp_path)
    assert made(tmp_path, now=NOW + timedelta(days=LEAF_DAYS - 10)).renewed


def test_a_pc_whose_clock_stands_before_the_authority_is_told_so(tmp_path: Path) -> None:
    made(tmp_path)
    with pytest.raises(DoorError, match="clock says 2020-01-01"):
        made(tmp_path, now=datetime(2020, 1, 1, tzinfo=UTC))


def test_the_authority_cannot_vouch_for_a_public_name(tmp_path: Path) -> None:
    served = made(tmp_path)
    assert served.authority is not None
    ca = x509.load_pem_x509_certificate(served.authority.read_bytes())
    permitted = ca.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees
    assert permitted is not None
    names = {name.value for name in permitted if isinstance(name, x509.DNSName)}
    assert names == {"local", "lan", "home.arpa", "internal", "localhost"}


def test_a_name_that_the_authority_may_not_speak_for_is_not_in_the_certificate(tmp_path: Path) -> None:
    served = made(tmp_path, names=("shed.local", "shed.example.org"))
    assert leaf(served).extensions.get_extension_for_class(x509.SubjectAlternativeName).value.get_values_for_type(
        x509.DNSName
    ) == ["shed.local"]


def test_an_ended_certificate_of_ones_own_is_refused_with_its_date(tmp_path: Path) -> None:
    served = made(tmp_path)
    with pytest.raises(DoorError, match="ended on 2027-11-19"):
        own_certificate(served.certificate, served.key, NOW + timedelta(days=LEAF_DAYS + 1))


def test_a_key_of_another_certificate_is_refused(tmp_path: Path) -> None:
    mine, other = made(tmp_path / "a"), made(tmp_path / "b")
    with pytest.raises(DoorError, match="does not belong"):
        own_certificate(mine.certificate, other.key, NOW)


@pytest.mark.parametrize("name", ["door.pem", "authority.key"])
def test_a_damaged_file_is_named(tmp_path: Path, name: str) -> None:
    made(tmp_path)
    (tmp_path / name).write_bytes(b"not pem")
    with pytest.raises(DoorError, match=name):
        made(tmp_path)
