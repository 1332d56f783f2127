"""The page's server: who may read, who may touch, what is sent, and what happens when it cannot be had. Real sockets on this machine."""

from __future__ import annotations

import http.client
import json
import socket
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager

import pytest
from kitchen_kit import Kit, first_event

from assistant.screens import Screens
from assistant.session import events as e
from assistant.session.evolve import first_state
from assistant.showing import server
from assistant.showing.pairing import SHUT_S, TRIES, Pairing
from assistant.showing.server import Screen, ScreenError, qr

JSON = "application/json"


class Served:
    """A screen that is being served, and what it said and took."""

    def __init__(self, lan: bool = False) -> None:
        self.shown: list[str] = []
        self.said: list[str] = []
        self.t = 0.0
        self.kit = Kit()
        self.screen = Screen(self.shown.append, lan=lan)
        self.screen.watch(self.kit.events, self.kit.state)
        self.screen.open(lambda: self.t, self.said.append, 0)

    def ask(self, method: str, path: str, body: object = None, **headers: str) -> tuple[int, str, dict[str, str]]:
        """One request as a browser on our own page would send it, unless headers say otherwise: (status, body, headers)."""
        host = f"127.0.0.1:{self.screen.port}"
        usual = {"Host": host, "Origin": f"http://{host}", "Content-Type": JSON} if method == "POST" else {"Host": host}
        sent = usual | {k.replace("_", "-"): v for k, v in headers.items()}
        with closing(http.client.HTTPConnection("127.0.0.1", self.screen.port, timeout=5)) as link:
            link.request(method, path, body if isinstance(body, str) else json.dumps(body), {k: v for k, v in sent.items() if v != "-"})
            answer = link.getresponse()
            return answer.status, answer.read().decode(), {k.lower(): v for k, v in answer.getheaders()}

    @contextmanager
    def events(self, path: str = "/events", cookie: str = "") -> Iterator[Iterator[tuple[str, str, object]]]:
        """Server-sent events as (kind, id, data)."""
        with closing(http.client.HTTPConnection("127.0.0.1", self.screen.port, timeout=5)) as link:
            link.request("GET", path, headers={"Cookie": cookie} if cookie else {})
            yield _read(link.getresponse())


def _read(answer: http.client.HTTPResponse) -> Iterator[tuple[str, str, object]]:
    kind = id = ""
    while line := answer.readline().decode():
        name, _, value = line.rstrip("\n").partition(": ")
        if name == "event":
            kind = value
        elif name == "id":
            id = value
        elif name == "data":
            yield kind, id, json.loads(value)
            id = ""


def until(events: Iterator[tuple[str, str, object]], wanted: str) -> object:
    """The data of the next event of this kind."""
    return next(data for kind, _, data in events if kind == wanted)


@pytest.fixture
def served() -> Iterator[Served]:
    """A page for this machine only."""
    found = Served()
    yield found
    found.screen.close()


@pytest.fixture
def lan(monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    """A page for paired devices of the network, whose address tests must not look for."""
    monkeypatch.setattr(server, "own_address", lambda: "127.0.0.2")
    found = Served(lan=True)
    yield found
    found.screen.close()


def test_the_page_is_small_and_loads_nothing_from_elsewhere(served: Served) -> None:
    """All files together are under 60 kB, name no other host, and come with a policy that allows none."""
    total = 0
    for path in ("/", "/page.css", "/page.js", "/pot.svg"):
        status, body, headers = served.ask("GET", path)
        assert status == 200
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert "//" not in body.replace("http://www.w3.org/2000/svg", "").replace("// ", "")
        total += len(body.encode())
    assert total < 60_000


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux answers on all of 127.0.0.0/8 by itself")
def test_by_default_only_this_machine_can_reach_it(served: Served) -> None:
    """Bound to 127.0.0.1 alone: the same port of another address of this machine is still free."""
    assert served.screen.address == f"http://127.0.0.1:{served.screen.port}/"
    with closing(socket.socket()) as probe:
        probe.bind(("127.0.0.2", served.screen.port))


def test_without_a_network_the_address_is_this_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    """No way out: the page is still where this machine finds it."""

    def nowhere(self: socket.socket, address: object) -> None:
        raise OSError("Network is unreachable")

    monkeypatch.setattr(socket.socket, "connect", nowhere)
    assert server.own_address() == "127.0.0.1"


def test_a_client_gets_the_true_state_then_every_change(served: Served) -> None:
    """The first event says where kitchen time is; then the view, then whatever changes, without asking again."""
    with served.events() as events:
        assert until(events, "hello") == {"t": 0.0, "touch": True, "lan": False}
        view = until(events, "view")
        assert isinstance(view, dict)
        assert view["words"].startswith("Peel potatoes")
        said = until(events, "lines")
        assert isinstance(said, list)
        assert [x["n"] for x in said] == list(range(1, len(said) + 1))
        served.t = 9.0
        before = len(served.kit.events)
        served.kit.say(9.0, "fire")
        served.screen.watch(served.kit.events[before:], served.kit.state)
        view = until(events, "view")
        assert isinstance(view, dict)
        assert view["takeover"]
        assert view["words"] == served.kit.state.last_words


def test_who_comes_back_gets_what_was_missed_and_nothing_twice(served: Served) -> None:
    """The numbers of lines go on where the client stopped; after a new start of the program everything is sent again."""
    with served.events() as events:
        last = next(id for kind, id, _ in events if kind == "lines")
    before = len(served.kit.events)
    served.kit.say(20.0, "what's next")
    served.screen.watch(served.kit.events[before:], served.kit.state)
    n = int(last.split("-")[1])
    with served.events(f"/events?after={last}") as events:
        missed = until(events, "lines")
        assert isinstance(missed, list)
        assert next(x["n"] for x in missed) == n + 1
    with served.events(f"/events?after=otherrun-{n}") as events:
        everything = until(events, "lines")
        assert isinstance(everything, list)
        assert everything[0]["n"] == 1


def test_a_heartbeat_carries_kitchen_time(served: Served) -> None:
    """Every second kitchen time is sent, so that clocks are right again after any pause."""
    served.t = 123.5
    with served.events() as events:
        assert until(events, "beat") == 123.5


def test_words_from_the_page_go_where_typed_words_go(served: Served) -> None:
    """What is posted arrives as one line of plain words."""
    assert served.ask("POST", "/say", {"words": "  oil is at\n three hundred\x07 "})[0] == 200
    assert served.said == ["oil is at three hundred"]


@pytest.mark.parametrize(
    ("body", "headers", "status"),
    [
        ({"words": "done"}, {"Origin": "http://evil.example"}, 403),
        ({"words": "done"}, {"Origin": "null"}, 403),
        ({"words": "done"}, {"Origin": "-"}, 403),
        ({"words": "done"}, {"Host": "evil.example"}, 421),
        ({"words": "done"}, {"Content-Type": "text/plain"}, 415),
        ({"words": "x" * 3000}, {}, 413),
        ({"words": "x" * 201}, {}, 400),
        ({"words": ""}, {}, 400),
        ({"words": 7}, {}, 400),
        (["done"], {}, 400),
        ("{", {}, 400),
    ],
)
def test_nothing_else_gets_in(served: Served, body: object, headers: dict[str, str], status: int) -> None:
    """A foreign page, a foreign name for this machine, a form, too much or nothing: refused, and nothing is said."""
    assert served.ask("POST", "/say", body, **headers)[0] == status
    assert served.said == []


def test_reading_needs_our_name_too(served: Served) -> None:
    """A page elsewhere that makes its own name point here cannot read."""
    assert served.ask("GET", "/", Host="evil.example:80")[0] == 421
    assert served.ask("GET", "/events", Host="evil.example:80")[0] == 421


def code_of(served: Served) -> str:
    """The code as the cook reads it on the host."""
    return [x for x in served.shown if "Code" in x][-1].split("once: ")[1][:6]


def test_an_unpaired_device_reads_what_is_on_and_no_more(lan: Served) -> None:
    """Not paired: the sentence and the clocks, but nothing said or heard, no touch, and no words taken."""
    with lan.events() as events:
        hello = until(events, "hello")
        assert isinstance(hello, dict)
        assert not hello["touch"]
        view = until(events, "view")
        assert isinstance(view, dict)
        assert view["words"]
        assert (view["heard"], view["said"], view["buttons"]) == ("", "", [])
        assert next(kind for kind, _, _ in events) == "beat", "no lines of the talk come before the heartbeat"
    assert lan.ask("POST", "/say", {"words": "done"})[0] == 403
    assert lan.said == []


def test_pairing_with_the_code_on_the_host_gives_touch_once(lan: Served) -> None:
    """The code pairs one device by a cookie that scripts and other sites cannot use; used, it is replaced on the host."""
    code = code_of(lan)
    status, _, headers = lan.ask("POST", "/pair", {"code": code})
    assert status == 200
    cookie = headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    session = cookie.split(";")[0]
    assert lan.ask("POST", "/say", {"words": "done"}, Cookie=session)[0] == 200
    assert lan.ask("POST", "/say", {"words": "done"}, Cookie="stovehand=guessed")[0] == 403
    assert code_of(lan) != code
    assert lan.ask("POST", "/pair", {"code": code})[0] == 403
    with lan.events(cookie=session) as events:
        assert until(events, "hello") == {"t": 0.0, "touch": True, "lan": True}
        assert until(events, "lines")


def test_pairing_is_refused_to_foreign_pages_and_guessers(lan: Served) -> None:
    """Another site cannot pair; after five wrong codes even the right one must wait, and the code has changed."""
    assert lan.ask("POST", "/pair", {"code": code_of(lan)}, Origin="http://evil.example")[0] == 403
    wrong = "000000" if code_of(lan) != "000000" else "000001"
    assert [lan.ask("POST", "/pair", {"code": wrong})[0] for _ in range(TRIES)] == [403] * (TRIES - 1) + [429]
    assert lan.ask("POST", "/pair", {"code": code_of(lan)})[0] == 429


def test_pairing_opens_again_after_a_minute() -> None:
    """Shut by guesses, it stays shut for its minute and then takes the new code."""
    shown: list[str] = []
    codes = iter(["111111", "222222", "333333"])
    pairing = Pairing(shown.append, lambda: next(codes))
    assert [pairing.try_code("x", 0.0)[0] for _ in range(TRIES)] == ["wrong"] * (TRIES - 1) + ["wait"]
    assert shown == ["222222"]
    assert pairing.try_code("222222", SHUT_S - 0.1)[0] == "wait"
    outcome, session = pairing.try_code("222222", SHUT_S)
    assert outcome == "paired"
    assert pairing.knows(session)
    assert not pairing.knows("")
    assert not pairing.knows("ünknown")
    assert pairing.try_code("222222", SHUT_S)[0] == "wrong", "a code works once"


def test_the_oldest_of_many_paired_devices_is_forgotten() -> None:
    """Sessions do not grow without end."""
    pairing = Pairing(lambda code: None)
    sessions = [pairing.try_code(pairing.code, 0.0)[1] for _ in range(17)]
    assert not pairing.knows(sessions[0])
    assert all(pairing.knows(s) for s in sessions[1:])


def test_a_pairing_page_on_this_machine_only_is_no_use(served: Served) -> None:
    """Without the network there is nothing to pair: any code is wrong, whoever asks."""
    assert served.ask("POST", "/pair", {"code": served.screen.pairing.code})[0] == 403


def test_the_code_is_on_the_host_as_text_and_picture(lan: Served) -> None:
    """The terminal shows the address, the code, and both as a QR code that nothing on the way can log (the code is a fragment)."""
    greeting = lan.shown[-1]
    assert f":{lan.screen.port}/" in greeting
    assert code_of(lan) == lan.screen.pairing.code
    assert qr(f"{lan.screen.address}#{lan.screen.pairing.code}") in greeting


def test_a_taken_port_is_one_sentence() -> None:
    """Somebody else has the port: one sentence with the way out, no traceback; the evening knows nothing of it."""
    with closing(socket.create_server(("127.0.0.1", 0))) as other:
        screen = Screen(lambda line: None)
        with pytest.raises(ScreenError, match=r"^No screen: port \d+ is taken\. Going on by voice; another one with --port\.$"):
            screen.open(lambda: 0.0, lambda words: None, other.getsockname()[1])
        state = first_state(first_event())
        screen.watch([e.Said(1.0, "still going", 2)], state)
        screen.close()


def test_an_evening_whose_page_cannot_be_had_goes_on_by_voice() -> None:
    """Asked for a page on a taken port, or for a terminal where there is none: one sentence each, and the evening goes on as if nothing were."""
    with closing(socket.create_server(("127.0.0.1", 0))) as other:
        for where in ("page", "terminal"):
            shown: list[str] = []
            screens = Screens(where, other.getsockname()[1], shown.append)
            screens.watch((), first_state(first_event()))
            screens.open(lambda: 0.0, lambda: True, lambda words: None)
            screens.watch([e.Said(1.0, "still going", 2)], first_state(first_event()))
            screens.close()
            assert [line.startswith("No screen: ") and line.count(".") >= 2 for line in shown] == [True]


def test_a_stopped_screen_ends_its_streams_and_frees_the_port(served: Served) -> None:
    """Stopping lets a page's stream end, and the same port can be served again at once."""
    port = served.screen.port
    with served.events() as events:
        until(events, "view")
        served.screen.close()
        assert [kind for kind, _, _ in events if kind not in ("beat", "lines")] == []
    again = Screen(lambda line: None)
    again.open(lambda: 0.0, lambda words: None, port)
    assert again.port == port
    again.close()
