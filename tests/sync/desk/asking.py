"""One page of the desk, asked for as a browser on this PC would."""

import asyncio
from concurrent.futures import ThreadPoolExecutor

import httpx

from sync.desk.app import desk_app
from sync.desk.page import Desk


def asked(desk: Desk, address: str) -> httpx.Response:
    """In a thread of its own: a browser that tests drive keeps an event loop running in theirs."""

    async def ask() -> httpx.Response:
        wire = httpx.ASGITransport(desk_app(desk), client=("127.0.0.1", 1))
        async with httpx.AsyncClient(transport=wire, base_url="http://127.0.0.1") as client:
            return await client.get(address)

    with ThreadPoolExecutor(1) as threads:
        return threads.submit(asyncio.run, ask()).result()
