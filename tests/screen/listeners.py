"""Clients of the page's stream without a browser, each on a thread: what many tablets would get."""

from __future__ import annotations

import http.client
import json
import threading
from array import array
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field


@dataclass
class Listener:
    """What one client has got. lines: numbers of the lines, in the order they came; words: the sentence shown last."""

    lines: array[int] = field(default_factory=lambda: array("L"))
    words: str = ""
    views: int = 0
    _news: threading.Condition = field(default_factory=threading.Condition)

    def read(self, answer: http.client.HTTPResponse) -> None:
        """Take in events until the stream ends."""
        kind = ""
        while line := answer.readline().decode():
            name, _, value = line.rstrip("\n").partition(": ")
            if name == "event":
                kind = value
            elif name == "data" and kind in ("lines", "view"):
                self.take(kind, json.loads(value))

    def take(self, kind: str, data: object) -> None:
        """One event."""
        with self._news:
            if kind == "lines" and isinstance(data, list):
                self.lines.extend(x["n"] for x in data)
            elif isinstance(data, dict):
                self.words = data["words"]
                self.views += 1
            self._news.notify_all()

    def wait_for(self, n: int, limit_s: float = 20.0) -> None:
        """Until line n has come."""
        with self._news:
            assert self._news.wait_for(lambda: bool(self.lines) and self.lines[-1] >= n, limit_s)

    def wait_for_words(self, words: str, limit_s: float = 20.0) -> None:
        """Until this is the sentence shown."""
        with self._news:
            assert self._news.wait_for(lambda: self.words == words, limit_s)


@contextmanager
def listen(port: int, how_many: int) -> Iterator[list[Listener]]:
    """So many clients of the page on this port."""
    clients = [Listener() for _ in range(how_many)]
    links = [http.client.HTTPConnection("127.0.0.1", port, timeout=30) for _ in clients]
    threads = []
    for client, link in zip(clients, links, strict=True):
        link.request("GET", "/events")
        answer = link.getresponse()
        threads.append(threading.Thread(target=_quietly, args=(client, answer), daemon=True))
        threads[-1].start()
    try:
        yield clients
    finally:
        for link in links:
            with closing(link):
                if link.sock is not None:
                    link.sock.close()
        for thread in threads:
            thread.join(5.0)


def _quietly(client: Listener, answer: http.client.HTTPResponse) -> None:
    with closing(answer):
        try:
            client.read(answer)
        except (OSError, ValueError, AttributeError):
            return  # the link was closed under the reader: the listening is over
