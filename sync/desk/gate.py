"""The way in from another machine: a password page, a session in a cookie, and wrong guesses slowed down.

Sessions live as long as the serving process, twelve hours at most; of their tokens only the hashes are held.
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from urllib.parse import parse_qs, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response

from sync.desk.page import of_ours
from sync.desk.password import MOST, Password
from sync.pages import environment
from sync.pairing import token_hash

#: The prefix binds it to this host, to https and to the whole desk (RFC 6265bis).
COOKIE = "__Host-desk"
LASTS = timedelta(hours=12)
ENTER, LEAVE = "/enter", "/leave"
#: What the password page itself is made of.
OPEN = ("/tokens.css", "/css/")
_BODY_MOST = 4 * MOST + 1024
#: A wrong guess makes its address wait: a second, then twice as long each time. All together: 30 a minute.
_FIRST_WAIT, _LONGEST_WAIT = timedelta(seconds=1), timedelta(minutes=5)
_ALL_MOST, _ALL_WITHIN = 30, timedelta(minutes=1)
_KNOWN_MOST = 10_000


@dataclass
class Slowed:
    """Wrong guesses, by address and all together. `now` is passed in."""

    now: Callable[[], datetime]
    _by_address: dict[str, tuple[int, datetime]] = field(default_factory=dict)
    _lately: list[datetime] = field(default_factory=list)

    def wait(self, address: str) -> int:
        """Whole seconds until a guess from there is looked at; 0: now."""
        now = self.now()
        self._lately = [moment for moment in self._lately if moment > now - _ALL_WITHIN]
        until = self._by_address.get(address, (0, now))[1]
        if len(self._lately) >= _ALL_MOST:
            until = max(until, self._lately[0] + _ALL_WITHIN)
        return max(0, -int(-(until - now).total_seconds() // 1))

    def wrong(self, address: str) -> None:
        now = self.now()
        if len(self._by_address) >= _KNOWN_MOST:
            self._by_address = {one: held for one, held in self._by_address.items() if held[1] > now}
        count = self._by_address.get(address, (0, now))[0]
        wait = min(_LONGEST_WAIT, _FIRST_WAIT * 2 ** min(count, 20))
        self._by_address[address] = (count + 1, now + wait)
        self._lately.append(now)

    def right(self, address: str) -> None:
        self._by_address.pop(address, None)


class Gate:
    """Who is in. `now` and `randomness` (fresh bytes of a length) are passed in."""

    def __init__(self, password: Password, now: Callable[[], datetime], randomness: Callable[[int], bytes]) -> None:
        self._password = password
        self._now = now
        self._randomness = randomness
        self._sessions: dict[str, datetime] = {}  # hash -> end
        self._slowed = Slowed(now)
        self._one = threading.Lock()  # one guess is reckoned at a time: each takes much memory

    def lets_in(self, request: Request) -> bool:
        until = self._sessions.get(token_hash(request.cookies.get(COOKIE, "")))
        return until is not None and until > self._now()

    def turned_away(self, request: Request) -> Response:
        """A page leads to the password; anything else is told."""
        if request.method == "GET" and "text/html" in request.headers.get("accept", ""):
            asked = request.url.path + (f"?{request.url.query}" if request.url.query else "")
            return RedirectResponse(f"{ENTER}?{urlencode({'to': asked})}", 303)
        return PlainTextResponse(f"The desk's password, please: open {ENTER}.\n", 401)

    async def enter(self, request: Request) -> Response:
        """The password page, or a guess."""
        to = of_ours(request.query_params.get("to", "/"), "/")
        if request.method != "POST":
            return _page(to)
        address = request.client.host if request.client else ""
        if wait := self._slowed.wait(address):
            return _page(to, f"After wrong passwords the desk waits. Try again in {wait} seconds.", 429, wait)
        if await run_in_threadpool(self._fits, await _given(request)):
            self._slowed.right(address)
            return self._begun(to)
        self._slowed.wrong(address)
        return _page(to, "That is not the password.", 401)

    def leave(self, request: Request) -> Response:
        self._sessions.pop(token_hash(request.cookies.get(COOKIE, "")), None)
        answer = RedirectResponse(ENTER, 303)
        answer.delete_cookie(COOKIE, path="/", secure=True, httponly=True, samesite="strict")
        return answer

    def _fits(self, text: str) -> bool:
        with self._one:
            return self._password.fits(text)

    def _begun(self, to: str) -> Response:
        now = self._now()
        self._sessions = {held: until for held, until in self._sessions.items() if until > now}
        token = self._randomness(32).hex()
        self._sessions[token_hash(token)] = now + LASTS
        answer = RedirectResponse(to, 303)
        lasts = int(LASTS.total_seconds())
        answer.set_cookie(COOKIE, token, max_age=lasts, path="/", secure=True, httponly=True, samesite="strict")
        return answer


async def _given(request: Request) -> str:
    """The password of a filled-in page; "" where there is none, or more than a password's worth came."""
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > _BODY_MOST:
            return ""
    return parse_qs(body.decode("utf-8", "replace"), keep_blank_values=True).get("password", [""])[0]


def _page(to: str, said: str = "", status: int = 200, wait: int = 0) -> Response:
    given = {"to": urlencode({"to": to}), "said": said}
    headers = {"Retry-After": str(wait)} if wait else {}
    return HTMLResponse(environment().get_template("desk/enter.html").render(given), status, headers)
