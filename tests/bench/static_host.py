"""A static host as there are many: HTTPS, HTTP/2, gzip; for benchmarks. Needs `pip install hypercorn`."""

import asyncio
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from hypercorn.asyncio import serve
from hypercorn.config import Config
from starlette.applications import Starlette
from starlette.middleware.gzip import GZipMiddleware
from starlette.staticfiles import StaticFiles

PORT = 8555


@contextmanager
def hosted(folder: Path, work: Path) -> Iterator[str]:
    """The folder's address; browsers must be told to take its certificate."""
    _certificate(work)
    site = Starlette()
    site.mount("/", StaticFiles(directory=folder, html=True))
    config = Config()
    config.bind = [f"127.0.0.1:{PORT}"]
    config.certfile, config.keyfile = str(work / "host.pem"), str(work / "host.key")
    config.alpn_protocols = ["h2", "http/1.1"]
    config.loglevel = "ERROR"
    stop = threading.Event()

    async def stopped() -> None:
        await asyncio.to_thread(stop.wait)

    def run() -> None:
        asyncio.run(serve(GZipMiddleware(site, minimum_size=200), config, shutdown_trigger=stopped))  # type: ignore[arg-type]

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    time.sleep(2)
    yield f"https://localhost:{PORT}/"
    stop.set()
    thread.join(10)


def _certificate(work: Path) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number(), now, now + timedelta(days=2))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("localhost")]), critical=False)
        .sign(key, hashes.SHA256())
    )
    plain = serialization.NoEncryption()
    private = key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain)
    (work / "host.pem").write_bytes(made.public_bytes(serialization.Encoding.PEM))
    (work / "host.key").write_bytes(private)
