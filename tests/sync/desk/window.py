"""A browser window at the desk, without a browser: it opens pages, and fills in forms with what its page had shown."""

import asyncio
import html
import re
import threading
from collections.abc import Mapping
from datetime import date
from functools import cache
from typing import Any

import html5lib
import httpx

from sync.desk.app import desk_app
from sync.desk.page import WHO_COOKIE, Desk
from sync.service import Service
from sync.store_rows import EntryRow

TODAY = date(2026, 10, 18)
_TREE = html5lib.getTreeBuilder("etree")


@cache
def loop() -> asyncio.AbstractEventLoop:
    """One for all windows, in a thread of its own: a browser that tests drive keeps another running in theirs."""
    made = asyncio.new_event_loop()
    threading.Thread(target=made.run_forever, daemon=True).start()
    return made


class Wire:
    """Requests to a desk as a browser on this PC sends them."""

    def __init__(self, service: Service, today: date = TODAY, client: str = "127.0.0.1", **given: Any) -> None:
        app = desk_app(Desk(service.store, service, lambda: today), **given)
        self.wire = httpx.ASGITransport(app, client=(client, 1))
        self.cookies: dict[str, str] = {}

    def ask(self, method: str, address: str, **given: Any) -> httpx.Response:
        async def asking() -> httpx.Response:
            async with httpx.AsyncClient(
                transport=self.wire, base_url="http://127.0.0.1", cookies=self.cookies, follow_redirects=True
            ) as client:
                return await client.request(method, address, **given)

        return asyncio.run_coroutine_threadsafe(asking(), loop()).result(60)

    def get(self, address: str, **given: Any) -> httpx.Response:
        return self.ask("GET", address, **given)

    def post(self, address: str, **given: Any) -> httpx.Response:
        return self.ask("POST", address, **given)


class Window:
    """`by` is who is at the desk in it."""

    def __init__(self, service: Service, by: str = "MF", today: date = TODAY) -> None:
        self.service = service
        self.http = Wire(service, today)
        self.sit(by)
        self.knows = ""

    def sit(self, by: str) -> "Window":
        """Somebody else is at the desk now."""
        self.http.cookies[WHO_COOKIE] = by
        return self

    def open(self, address: str) -> str:
        """A page's text, its entities as characters. Fails where it does not answer well."""
        answer = self.http.get(address)
        assert answer.status_code == 200, (address, answer.status_code, words(answer.text)[:300])
        self.knows = html.unescape((re.search(r'name="knows" value="([^"]*)"', answer.text) or ["", ""])[1])
        return answer.text

    def say(self, address: str, fields: Mapping[str, Any] | None = None, **more: Any) -> str:
        """A form of the page that was opened last: the words of the page it leads to."""
        return words(self.post(address, fields, **more).text)

    def post(self, address: str, fields: Mapping[str, Any] | None = None, **more: Any) -> httpx.Response:
        """The answer itself."""
        return self.http.post(address, data={"knows": self.knows, **(fields or {}), **more})

    def written(self) -> list[EntryRow]:
        """What this desk's device has written, in order."""
        return list(self.service.store.own_after(self.service.device, 0))

    def last(self) -> EntryRow:
        return self.written()[-1]


def words(page: str) -> str:
    """What a reader sees: a page's text on one line."""
    tree = html5lib.HTMLParser(tree=_TREE, namespaceHTMLElements=False).parse(page)
    for skipped in ("script", "style", "head"):
        for one in tree.iter(skipped):
            one.text = ""
            one[:] = []
    return " ".join(" ".join(tree.itertext()).split())


def valid(page: str) -> None:
    """Raises where the page has any parse error, or an id twice."""
    tree = html5lib.HTMLParser(tree=_TREE, strict=True, namespaceHTMLElements=False).parse(page)
    ids = [one.get("id") for one in tree.iter() if one.get("id")]
    assert len(ids) == len(set(ids)), sorted(name for name in ids if ids.count(name) > 1)
