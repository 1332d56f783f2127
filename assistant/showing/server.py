"""The screen as a page: Starlette and uvicorn in a thread with a loop of their own, the view sent as server-sent events.

Rules
- The evening never waits for the screen: `watch` only notes the state and wakes the loop; views are made on the server's thread. A slow client gets
  the latest view, never a backlog; what was said and heard is numbered, so that a client that comes back gets what it missed.
- A heartbeat each second carries kitchen time; a client that misses it says that the connection is lost.
- Bound to this machine unless `lan`. Every request must name us in Host, every POST must come from our own page (Origin) as JSON. Over the network
  a device reads only what is on now until it is paired (`pairing`); what was said and heard, and touch, come with the pairing.
- What is posted is words, and goes the way typed words go. Nothing is loaded from elsewhere, nothing is stored.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import secrets
import socket
import threading
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from importlib import resources

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from assistant.session import events as e
from assistant.session.state import State
from assistant.showing.pairing import Pairing
from assistant.showing.view import UNHEARD, EarView, as_json, heard_in, helper_view, view

HEARTBEAT_S = 1.0
CLIENTS = 64
LINES = 400
MOST_BYTES = 2048
MOST_WORDS = 200
COOKIE = "stovehand"
PORT = 8737
HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
}
PAGE = {
    "/": ("page.html", "text/html"),
    "/page.css": ("page.css", "text/css"),
    "/page.js": ("page.js", "text/javascript"),
    "/pot.svg": ("pot.svg", "image/svg+xml"),
}
Handler = Callable[[Request], Awaitable[Response]]


class ScreenError(Exception):
    """The page cannot be served; the text is one sentence for the cook."""


class Screen:
    """The page of one evening. show: prints a line for the cook; listening: whether an ear is open."""

    def __init__(self, show: Callable[[str], None], lan: bool = False) -> None:
        self.lan = lan
        self.listening = False
        self.pairing = Pairing(self._code_changed)
        self._show = show
        self._say: Callable[[str], None] = lambda words: None
        self._state: State | None = None
        self._kitchen_time: Callable[[], float] = lambda: 0.0
        self._heard = ""
        self._lines: tuple[tuple[int, float, str, str], ...] = ()
        self._run_id = secrets.token_hex(4)
        self._hosts: frozenset[str] = frozenset()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._wakes: set[asyncio.Event] = set()
        self._turns = 0
        self._made: dict[bool, tuple[int, str, float | None]] = {}
        self._server: uvicorn.Server | None = None
        self._thread: threading.Thread | None = None
        self.port = 0

    # --- from the evening

    def watch(self, events: Sequence[e.Event], state: State) -> None:
        """What happened in a turn, and the state now. Called on the evening's thread; never blocks."""
        for event in events:
            if isinstance(event, e.Said):
                self._note(event.t, "said", event.words)
            elif isinstance(event, e.Heard) and event.reason not in UNHEARD:
                self._note(event.t, "heard", event.words)
            elif isinstance(event, e.WorldFault) and event.part == "microphone":
                self.listening = event.ok
        self._heard = heard_in(events, self._heard)
        self._state = state
        self._turns += 1
        loop = self._loop
        if loop is not None:
            with contextlib.suppress(RuntimeError):  # the loop may be closing: then nobody looks
                loop.call_soon_threadsafe(self._wake)

    def _note(self, t: float, way: str, words: str) -> None:
        n = self._lines[-1][0] + 1 if self._lines else 1
        self._lines = (*self._lines[1 - LINES :], (n, t, way, words))  # a new value each time: another thread reads it

    # --- life

    def open(self, kitchen_time: Callable[[], float], say: Callable[[str], None], port: int = PORT) -> None:
        """Start to serve; say: takes words from the page, on the server's thread. ScreenError, one sentence, when the port cannot be had."""
        self._kitchen_time, self._say = kitchen_time, say
        try:
            sock = socket.create_server(("0.0.0.0" if self.lan else "127.0.0.1", port))
        except (OSError, OverflowError):
            raise ScreenError(f"No screen: port {port} is taken. Going on by voice; another one with --port.") from None
        self.port = sock.getsockname()[1]
        names = ("127.0.0.1", "localhost", *(_lan_names() if self.lan else ()))
        self._hosts = frozenset(f"{name}:{self.port}" for name in names) | (frozenset(names) if self.port == 80 else frozenset())
        self._server = uvicorn.Server(
            uvicorn.Config(self.app(), log_config=None, access_log=False, lifespan="off", ws="none", timeout_graceful_shutdown=1, server_header=False)
        )
        ready = threading.Event()
        self._thread = threading.Thread(target=self._run, args=(sock, ready), name="screen", daemon=True)
        self._thread.start()
        ready.wait(10.0)
        self._greet()

    def _run(self, sock: socket.socket, ready: threading.Event) -> None:
        async def serve() -> None:
            self._loop = asyncio.get_running_loop()
            ready.set()
            assert self._server is not None
            await self._server.serve(sockets=[sock])

        with sock:
            asyncio.run(serve())
        self._loop = None

    def close(self) -> None:
        """Stop serving; open pages say that the connection is lost."""
        if self._server is not None and self._thread is not None:
            self._server.should_exit = True
            loop = self._loop
            if loop is not None:
                with contextlib.suppress(RuntimeError):
                    loop.call_soon_threadsafe(self._wake)
            self._thread.join(5.0)

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://{own_address() if self.lan else '127.0.0.1'}:{self.port}/"

    def _greet(self) -> None:
        if not self.lan:
            self._show(f"Screen: {self.address}")
            return
        self._show("The screen is open to your own network; nothing on it is encrypted.")
        self._code_changed(self.pairing.code)

    def _code_changed(self, code: str) -> None:
        link = f"{self.address}#{code}"
        self._show(f"Screen: {self.address}  Code to touch it, good once: {code}\n{qr(link)}")

    # --- to the pages

    def _wake(self) -> None:
        for wake in self._wakes:
            wake.set()

    def _view(self, helper: bool) -> str:
        """The view as JSON, made anew after a turn of the evening and when its time for change has come."""
        turns, state, t = self._turns, self._state, self._kitchen_time()
        if state is None:
            return "null"
        made = self._made.get(helper)
        if made is None or made[0] != turns or (made[2] is not None and t >= made[2]):
            new = (helper_view if helper else view)(state, t, EarView(listening=self.listening, heard=self._heard))
            made = (turns, json.dumps(as_json(new), separators=(",", ":"), ensure_ascii=False), new.changes_t)
            self._made[helper] = made
        return made[1]

    async def _stream(self, helper: bool, known: Callable[[], bool], after: int) -> AsyncIterator[str]:
        wake = asyncio.Event()
        self._wakes.add(wake)
        shown = ""
        try:
            yield "retry: 1000\n" + _event("hello", {"t": self._kitchen_time(), "touch": known(), "lan": self.lan})
            while self._server is None or not self._server.should_exit:
                wake.clear()
                trusted = known()
                text = self._view(helper)
                text = text if trusted else _without_talk(text)
                if text != shown:
                    shown = text
                    yield f"event: view\ndata: {text}\n\n"
                missed = [x for x in self._lines if x[0] > after] if trusted else []
                if missed:
                    after = missed[-1][0]
                    lines = [{"n": n, "t": t, "way": way, "words": words} for n, t, way, words in missed]
                    yield _event("lines", lines, f"{self._run_id}-{after}")
                yield _event("beat", self._kitchen_time())
                with contextlib.suppress(TimeoutError):
                    await asyncio.wait_for(wake.wait(), HEARTBEAT_S)
        finally:
            self._wakes.discard(wake)

    def app(self) -> ASGIApp:
        """The web application."""
        routes = [Route(path, self._file(*PAGE[path]), methods=["GET"]) for path in PAGE]
        routes += [Route("/events", self._events, methods=["GET"])]
        routes += [Route("/say", self._posted_words, methods=["POST"]), Route("/pair", self._pair, methods=["POST"])]
        return Guard(Starlette(routes=routes), lambda: self._hosts)

    def _file(self, name: str, kind: str) -> Handler:
        body = resources.files("assistant.showing").joinpath("page", name).read_bytes()

        async def answer(request: Request) -> Response:
            return Response(body, media_type=kind)

        return answer

    def _known(self, request: Request) -> bool:
        return not self.lan or self.pairing.knows(request.cookies.get(COOKIE, ""))

    async def _events(self, request: Request) -> Response:
        if len(self._wakes) >= CLIENTS:
            return JSONResponse({"error": "too many screens"}, 503)
        after = request.headers.get("last-event-id", request.query_params.get("after", ""))
        run, _, n = after.partition("-")
        seen = int(n) if run == self._run_id and n.isdecimal() and len(n) < 10 else 0
        helper = request.query_params.get("for") == "helper"
        return StreamingResponse(self._stream(helper, lambda: self._known(request), seen), media_type="text/event-stream")

    async def _posted_words(self, request: Request) -> Response:
        if not self._known(request):
            return JSONResponse({"error": "pair this screen first"}, 403)
        words = await _field(request, "words")
        words = " ".join("".join(c if c.isprintable() else " " for c in words).split())
        if not 0 < len(words) <= MOST_WORDS:
            return JSONResponse({"error": f"1 to {MOST_WORDS} letters"}, 400)
        self._say(words)
        return JSONResponse({"ok": True})

    async def _pair(self, request: Request) -> Response:
        outcome, session = self.pairing.try_code(await _field(request, "code"), time.monotonic()) if self.lan else ("wrong", "")
        if outcome != "paired":
            return JSONResponse({"error": outcome}, 429 if outcome == "wait" else 403)
        answer = JSONResponse({"ok": True})
        answer.set_cookie(COOKIE, session, max_age=86400, httponly=True, samesite="strict", path="/")
        return answer


class Guard:
    """Lets in what names us in Host, and what posts JSON from our own page; puts the headers on every answer."""

    def __init__(self, app: ASGIApp, hosts: Callable[[], frozenset[str]]) -> None:
        self._app = app
        self._hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", []), *((k.lower().encode(), v.encode()) for k, v in HEADERS.items())]
            await send(message)

        refused = self._refused({k.decode("latin-1"): v.decode("latin-1") for k, v in scope["headers"]}, scope["method"])
        await (self._app if refused is None else refused)(scope, receive, with_headers)

    def _refused(self, headers: dict[str, str], method: str) -> Response | None:
        host = headers.get("host", "").lower()
        if host not in self._hosts():
            return JSONResponse({"error": "not this host"}, 421)
        if method == "POST":
            if headers.get("origin", "") != f"http://{host}":
                return JSONResponse({"error": "not from this page"}, 403)
            if headers.get("content-type", "").split(";")[0] != "application/json":
                return JSONResponse({"error": "not JSON"}, 415)
            length = headers.get("content-length", "")
            if not length.isdecimal() or int(length) > MOST_BYTES:
                return JSONResponse({"error": "too long"}, 413)
        return None


async def _field(request: Request, name: str) -> str:
    """A text field of a JSON body; "" when it is not there."""
    try:
        body = json.loads(await request.body())
    except ValueError:
        return ""
    value = body.get(name) if isinstance(body, dict) else None
    return value if isinstance(value, str) else ""


def _event(kind: str, data: object, id: str | None = None) -> str:
    """One server-sent event (JSON never holds a bare line end)."""
    head = "" if id is None else f"id: {id}\n"
    return f"{head}event: {kind}\ndata: {json.dumps(data, separators=(',', ':'), ensure_ascii=False)}\n\n"


def _without_talk(text: str) -> str:
    """A view for a device that is not paired: what is on, not what was said in the kitchen, and nothing to touch."""
    shown = json.loads(text)
    return text if shown is None else json.dumps(shown | {"heard": "", "said": "", "buttons": []}, separators=(",", ":"), ensure_ascii=False)


def qr(link: str) -> str:
    """The link as a QR code in half blocks, for a terminal."""
    import io

    import segno

    out = io.StringIO()
    segno.make(link, error="l").terminal(out, compact=True, border=2)
    return out.getvalue()


def own_address() -> str:
    """This machine's address on the network it would reach others by; nothing is sent. 127.0.0.1 without a network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737): a datagram socket only picks the way
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def _lan_names() -> set[str]:
    host = socket.gethostname().lower()
    return {own_address(), host, f"{host}.local"}
