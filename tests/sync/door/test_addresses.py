"""The names and addresses a phone is given: a stable one first, public ones never."""

from sync.addresses import places

FOUND = ["203.0.113.9", "192.168.10.4", "192.168.9.12", "169.254.3.3", "127.0.0.1", "fe80::1", "10.0.0.7"]


def test_the_fleets_own_name_comes_before_the_pcs() -> None:
    assert places("hollow-fen", hostname="Shed-PC.lan", found=FOUND).names == (
        "hollow-fen.local",
        "shed-pc.local",
        "localhost",
    )


def test_only_private_addresses_are_served() -> None:
    assert places("f", hostname="pc", found=FOUND).addresses == (
        "10.0.0.7",
        "192.168.9.12",
        "192.168.10.4",
        "127.0.0.1",
    )


def test_a_pc_without_a_network_knows_it() -> None:
    assert not places("f", hostname="pc", found=["127.0.0.1"]).networked


def test_a_host_name_no_browser_takes_is_left_out() -> None:
    assert places("f", hostname="Werkstätte_1", found=[]).names == ("f.local", "localhost")
