"""A line that breaks: passes bytes both ways and cuts the connection after a number of pieces; and lost answers."""

import contextlib
import socket
import threading

import httpx

_PIECE = 16 * 1024


class Cutting:
    """Stands between a phone and the door; all its connections together pass `most` pieces, then break."""

    def __init__(self, port: int, most: int) -> None:
        self._to = port
        self._left = most
        self._lock = threading.Lock()
        self._open: list[socket.socket] = []
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = self._listening.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    @property
    def has_cut(self) -> bool:
        return self._left < 0

    def close(self) -> None:
        # A listener is woken from accept() only by shutdown().
        with contextlib.suppress(OSError):
            self._listening.shutdown(socket.SHUT_RDWR)
        self._listening.close()
        self._cut()

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listening.accept()
            except OSError:
                return
            far = socket.create_connection(("127.0.0.1", self._to))
            with self._lock:
                self._open += [near, far]
            for one, other in ((near, far), (far, near)):
                threading.Thread(target=self._pass, args=(one, other), daemon=True).start()

    def _pass(self, one: socket.socket, other: socket.socket) -> None:
        while True:
            try:
                piece = one.recv(_PIECE)
            except OSError:
                piece = b""
            if not piece or not self._may_pass():
                self._cut(one, other)
                return
            try:
                other.sendall(piece)
            except OSError:
                return

    def _may_pass(self) -> bool:
        with self._lock:
            self._left -= 1
            if self._left >= 0:
                return True
        self._cut()
        return False

    def _cut(self, *some: socket.socket) -> None:
        with self._lock:
            going = list(some) or self._open
            self._open = [one for one in self._open if one not in going]
        for one in going:
            with contextlib.suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
            one.close()


class LosingAnswers(httpx.BaseTransport):
    """Requests arrive whole and are answered; one answer, the nth, never comes back."""

    def __init__(self, under: httpx.BaseTransport, lost: int) -> None:
        self.under = under
        self.lost = lost
        self.seen = 0

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        answer = self.under.handle_request(request)
        self.seen += 1
        if self.seen == self.lost:
            answer.read()
            raise httpx.ReadError("the answer was lost on the way", request=request)
        return answer

    def close(self) -> None:
        self.under.close()
