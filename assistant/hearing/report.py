"""Recordings through the whole ear, for people who want to see what is heard: one dictionary an utterance, ready to be printed as JSON.

On the path: sound -> Utterance -> **Command or Reject**. Accepted is what would be acted on just after the assistant has spoken, when the address
word may be left out: the ear is sure, and the words are a command. What was understood is told even where it is not accepted.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from assistant.hearing.listener import Ear
from assistant.hearing.recogniser import Samples
from assistant.hearing.sources import FileSource
from assistant.hearing.utterance import Utterance
from assistant.session.commands import Command, Reject
from assistant.understanding import gate
from assistant.understanding.interpreter import Interpreter

Line = dict[str, str | float | bool | dict[str, str | float | int] | None]


JUST_SPOKEN = gate.Ear(since_spoken_s=1.0)


def hear_file(path: Path, ear: Ear, interpreter: Interpreter, bed: Samples | None = None) -> Iterator[Line]:
    """Every utterance of one file. bed: noise to hear it in. SoundFileError when the file is none."""
    for heard in ear.listen(FileSource(path, bed)):
        if isinstance(heard, Utterance):
            yield line(str(path), heard, understand(heard, interpreter))


def understand(heard: Utterance, interpreter: Interpreter) -> Command | Reject:
    """What these words ask for, with no question open and nothing being spoken; unsure words ask for nothing, whatever they mean."""
    result = gate.admit(interpreter.interpret(heard.words), JUST_SPOKEN)
    if heard.sure or isinstance(result, Reject):
        return result
    return Reject(heard.words, "unsure", result)


def line(file: str, heard: Utterance, result: Command | Reject) -> Line:
    """What `stovehand hear` prints of one utterance. score: nats a token above noise (embedded) or confidence (Vosk)."""
    command = result if isinstance(result, Command) else result.guess
    score = heard.scores.pmi if heard.scores.pmi is not None else heard.scores.confidence
    return {
        "file": file,
        "start_s": round(heard.start_s, 3),
        "end_s": round(heard.end_s, 3),
        "words": heard.words,
        "command": command.intent.value if command else None,
        "slots": command.slots() if command else {},
        "accepted": isinstance(result, Command),
        "reason": "" if isinstance(result, Command) else heard.reason or result.reason,
        "score": None if score is None else round(score, 3),
        "decode_ms": round(heard.decode_ms, 1),
        "engine": heard.engine,
    }
