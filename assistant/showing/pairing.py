"""Who may touch the screen over the network: a one-time code shown on the host buys a device a session. Pure but for the dice.

Rules: a code is six digits, works once and is replaced when used; five wrong tries shut pairing for a minute for everybody, because addresses are
cheap and codes are short, and the code is replaced then too. A million codes and five tries a minute: a guesser who tries for a three-hour
evening succeeds with a chance under one in a thousand.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field

TRIES = 5
SHUT_S = 60.0
DIGITS = 6
SESSIONS = 16


def new_code() -> str:
    """Six digits from the system's randomness."""
    return f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}"


@dataclass(slots=True)
class Pairing:
    """Codes and sessions of one evening. show_code: tells the host the code that is good now."""

    show_code: Callable[[str], None]
    make_code: Callable[[], str] = new_code
    code: str = ""
    _wrong: int = 0
    _shut_until: float = 0.0
    _sessions: dict[str, None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.code = self.make_code()

    def try_code(self, code: str, t: float) -> tuple[str, str]:
        """(what came of it: `paired`, `wrong` or `wait`, the session's secret if paired). t: s on any steady clock."""
        if t < self._shut_until:
            return "wait", ""
        if not hmac.compare_digest(code.encode(), self.code.encode()):
            self._wrong += 1
            if self._wrong >= TRIES:
                self._wrong, self._shut_until = 0, t + SHUT_S
                self._renew()
                return "wait", ""
            return "wrong", ""
        self._wrong = 0
        session = secrets.token_urlsafe(32)
        self._sessions[session] = None
        if len(self._sessions) > SESSIONS:
            self._sessions.pop(next(iter(self._sessions)))
        self._renew()
        return "paired", session

    def knows(self, session: str) -> bool:
        """Whether this secret was given out."""
        return any(hmac.compare_digest(session.encode(), known.encode()) for known in self._sessions)

    def _renew(self) -> None:
        self.code = self.make_code()
        self.show_code(self.code)
