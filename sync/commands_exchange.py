"""exchange: two workshop PCs give each other what the other lacks."""

import socket
import sys
from pathlib import Path

import click

from sync.certificates import fingerprint_in
from sync.commands_common import backlog_option, serving
from sync.door.trust import pairs
from sync.errors import DoorError
from sync.exchange import Exchange, Exchanged, Peer, Peers, authority_of, pair, plain_url, trusted_by
from sync.printing import counted, print_line, say
from sync.service import Service


@click.command()
@click.argument("url")
@backlog_option
@click.option("--code", help="The code for a workshop PC that the other desk shows; needed once.")
@click.option("--fingerprint", help="Of the other PC's authority, as its screen shows it.")
def exchange(url: str, backlog_path: Path, code: str | None, fingerprint: str | None) -> None:
    """Exchange with another workshop PC, at the address that phones open there."""
    peers, address = Peers(backlog_path), plain_url(url)
    with serving(backlog_path) as service:
        peer = _paired(service, peers, address, code, fingerprint)
        done = Exchange(service, peer, _progress).run()
    print_line(_told(done))
    for trouble in done.trouble:
        say(trouble)


def _paired(service: Service, peers: Peers, url: str, code: str | None, fingerprint: str | None) -> Peer:
    known = peers.find(url)
    if known is not None and not code:
        return known
    if not code:
        raise DoorError(
            f"{url}: this PC is not paired with it yet; at its desk, under Phones, ask for a code for another workshop "
            "PC, and give it with --code"
        )
    authority = known.authority if known and trusted_by(url, known.authority) else _believed(url, fingerprint)
    peer = pair(url, authority, code, service.device, socket.gethostname()[:100])
    peers.keep(peer)
    return peer


def _believed(url: str, fingerprint: str | None) -> str:
    """The other PC's authority, once a person has compared it; "" where the system trusts its certificate anyway."""
    if trusted_by(url):
        return ""
    authority, shown = authority_of(url)
    if fingerprint is not None:
        if _plain(fingerprint) != _plain(shown):
            raise DoorError(f"{url}: its fingerprint is {shown}, not the one given; somebody may stand between")
        return authority
    say(f"{url} has an authority of its own. Its screen must show the same four lines:")
    for line in pairs(fingerprint_in(authority)):
        say(f"  {line}")
    if not sys.stdin.isatty():
        raise DoorError("compare them, then give them with --fingerprint")
    if not click.confirm("Are they the same?", err=True):
        raise DoorError("then somebody may stand between this PC and the other; nothing was exchanged")
    return authority


def _plain(fingerprint: str) -> str:
    return "".join(letter for letter in fingerprint.upper() if letter in "0123456789ABCDEF")


def _progress(step: str, done: int, of: int) -> None:
    if of and sys.stderr.isatty():
        click.echo(f"\r{step}: {done} of {of}   ", err=True, nl=False)


def _told(done: Exchanged) -> str:
    return f"Got {_counts(done.got)}; gave {_counts(done.gave)}."


def _counts(counts: tuple[int, int, int, int]) -> str:
    entries, aside, editions, photos = counts
    said = [counted(entries, "entry", "entries"), counted(photos, "photo")]
    said += [counted(aside, "line set aside", "lines set aside")] if aside else []
    said += [counted(editions, "edition")] if editions else []
    return ", ".join(said)
