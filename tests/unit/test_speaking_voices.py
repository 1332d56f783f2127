"""Voices: trimmed, equally loud, offline, and one standing in for another."""

from __future__ import annotations

import socket
import sys
import threading
import types
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.speaking.voices import (
    RATE,
    EmbeddedVoice,
    Row,
    Samples,
    SystemVoice,
    ToneVoice,
    Voice,
    VoiceError,
    best_voice,
    finish,
    resample,
    speakable,
)


@pytest.fixture(autouse=True)
def _no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """Any attempt to open a socket fails the test."""

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket, "socket", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)


@pytest.fixture(scope="module")
def embedded() -> EmbeddedVoice:
    return EmbeddedVoice()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("Call 911 from outside.", "Call 9 1 1 from outside."),
        ("Call 112.", "Call 1 1 2."),
        ("Oil at 352 F.", "Oil at 3 52."),
        ("Oil at 352°F.", "Oil at 3 52."),
        ("Oil at 177 °C.", "Oil at 1 77."),
        ("Core at least 165 degrees.", "Core at least 1 65."),
        ("Core at least 165 degrees F.", "Core at least 1 65."),
        ("Core 165 degrees Fahrenheit now.", "Core 1 65 now."),
        ("Oil at 305 F.", "Oil at 3 oh 5."),
        ("Oil at 300 F.", "Oil at 300."),
        ("Core at 74 C.", "Core at 74 degrees."),
        ("Fridge below 41 F.", "Fridge below 41 degrees."),
        ("Pour 2 l of oil, 1.5 L more.", "Pour 2 litres of oil, 1.5 litres more."),
        ("Serve at 6:30.", "Serve at 6:30."),
        ("Call 3 friends.", "Call 3 friends."),
        ("12 Fries left.", "12 Fries left."),
        ("1:05 left.", "1:05 left."),
        ("Hold. Oil 340, wants 350.", "Hold. Oil 3 40, wants 3 50."),
        ("Oil at 500? Sure?", "Oil at 500? Sure?"),
        ("It is 13:55. 1,250 or 12.125 or 100% or B123.", "It is 13:55. 1,250 or 12.125 or 100% or B123."),
    ],
)
def test_what_a_voice_is_given_to_read(words: str, said: str) -> None:
    """Emergency numbers digit by digit, temperatures as the trade calls them, litres in full, everything else untouched."""
    assert speakable(words) == said


@pytest.mark.parametrize(
    ("words", "phonemes"),
    [
        ("Call 911.", "kˈɔl nˈIn wˈʌn wˈʌn."),
        ("352 F.", "θɹˈi fˈɪfti tˈu."),
        ("1:05", "wˈʌn ˈO fˈIv"),
    ],
)
def test_the_embedded_voice_reads_numbers_as_meant(embedded: EmbeddedVoice, words: str, phonemes: str) -> None:
    """Checked on the phonemes the voice makes of the text: nine one one, three fifty two, one oh five."""
    assert embedded._engine.phonemize(speakable(words)) == [phonemes]


def test_the_embedded_voice_speaks_without_delay_and_at_one_loudness(embedded: EmbeddedVoice) -> None:
    """No more than 60 ms before the first sound, 100 ms after the last, and every line equally loud within 3 dB."""
    levels = []
    for words in ("Lift the chips.", "Heat off if you can reach safely.", "Yes.", "Oil at 352 F: hold."):
        samples = embedded.synthesise(words)
        assert samples.dtype == np.float32
        assert np.abs(samples).max() <= 0.91
        loud = np.flatnonzero(np.abs(samples) > 0.03 * np.abs(samples).max())
        assert loud[0] < 0.06 * RATE
        assert samples.size - loud[-1] < 0.1 * RATE
        levels.append(20 * np.log10(np.sqrt((samples[np.abs(samples) > 0.02] ** 2).mean())))
    assert max(levels) - min(levels) < 3


def test_the_embedded_voice_never_looks_for_a_download(embedded: EmbeddedVoice, monkeypatch: pytest.MonkeyPatch) -> None:
    """Even with the library's fetching broken, a new instance loads and speaks: the file inside the wheel is all it needs."""
    import hibari.tts
    import hibari.voices

    def refuse(*_: object, **__: object) -> str:
        raise AssertionError("asked for a voice by name")

    monkeypatch.setattr(hibari.voices, "download", refuse)
    monkeypatch.setattr(hibari.tts, "voice_path", refuse)
    assert EmbeddedVoice().synthesise("Chips down.").size > RATE // 4


def test_slower_is_longer(embedded: EmbeddedVoice) -> None:
    """Speed 0.7 takes between 1.2 and 1.7 times as long."""
    usual, slow = (embedded.synthesise("Lift the chips and let them drain.", speed).size for speed in (1.0, 0.7))
    assert 1.2 < slow / usual < 1.7


def test_a_phrase_said_again_is_the_same_array(embedded: EmbeddedVoice) -> None:
    """The second time it is not made again, and nobody can write into the cached samples."""
    first = embedded.synthesise("Two more minutes.")
    assert embedded.synthesise("Two more minutes.") is first
    with pytest.raises(ValueError, match="read-only"):
        first[0] = 1.0


@pytest.mark.parametrize("words", ["", "...", "?"])
def test_words_that_make_no_sound_are_a_voice_error(embedded: EmbeddedVoice, words: str) -> None:
    """Never an exception of the library."""
    with pytest.raises(VoiceError):
        embedded.synthesise(words)


def test_a_missing_voice_file_is_one_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """An installed package without its model cannot speak, and says so."""
    import assistant.speaking.voices as module

    monkeypatch.setattr(module, "files", lambda _: tmp_path)
    with pytest.raises(VoiceError, match="missing from the installed package"):
        EmbeddedVoice()


@pytest.mark.parametrize(("old", "new"), [(22050, 24000), (24000, 48000), (44100, 24000), (24000, 24000), (16000, 24000)])
def test_resampling_keeps_pitch_length_and_level(old: int, new: int) -> None:
    """A 440 Hz tone that fades in and out is the same tone at the new rate, to a thousandth of full scale."""

    def burst(rate: int) -> Samples:
        t = np.arange(rate) / rate
        return (np.sin(2 * np.pi * 440 * t) * np.hanning(rate)).astype(np.float32)

    assert np.abs(resample(burst(old), old, new) - burst(new)).max() < 2e-3


def test_silence_is_no_speech() -> None:
    """A voice that delivers zeros has failed."""
    with pytest.raises(VoiceError):
        finish(np.zeros(RATE, dtype=np.float32))


class FakeEngine:
    """Stands for a pyttsx3 engine: writes a file with the frames it is told to, in order."""

    def __init__(self, frames: list[int]) -> None:
        self.frames = frames
        self.path = ""
        self.rates: list[int] = []
        self.threads: set[int] = set()

    def setProperty(self, name: str, value: int) -> None:  # noqa: N802 - the library's name
        if name == "rate":
            self.rates.append(value)

    def save_to_file(self, words: str, path: str) -> None:
        self.path = path

    def runAndWait(self) -> None:  # noqa: N802 - the library's name
        self.threads.add(threading.get_ident())
        n = self.frames.pop(0)
        if n >= 0:
            soundfile.write(self.path, 0.3 * np.sin(np.arange(n) * 0.1), 22050)


def with_engine(monkeypatch: pytest.MonkeyPatch, frames: list[int]) -> FakeEngine:
    engine = FakeEngine(frames)
    module = types.ModuleType("pyttsx3")
    module.init = lambda: engine  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "pyttsx3", module)
    return engine


def test_a_file_without_frames_is_made_once_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """An empty or missing file is retried once, then it is an error; the next line works again; one thread does it all."""
    engine = with_engine(monkeypatch, [0, 22050, 0, -1, 22050])
    voice = SystemVoice(words_a_minute=150)
    assert voice.synthesise("one").size == pytest.approx(RATE, rel=0.05)
    with pytest.raises(VoiceError, match="twice"):
        voice.synthesise("two")
    assert voice.synthesise("three", 0.8).size == pytest.approx(RATE, rel=0.05)
    assert engine.rates == [150, 150, 120]
    assert len(engine.threads) == 1
    assert threading.get_ident() not in engine.threads


def test_no_system_voice_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever pyttsx3 raises when the system has no speech is a VoiceError with its first line."""
    module = types.ModuleType("pyttsx3")

    def fail() -> None:
        raise RuntimeError("no speech library\nlong trace")

    module.init = fail  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "pyttsx3", module)
    with pytest.raises(VoiceError, match=r"cannot be used \(no speech library\)"):
        SystemVoice()


def test_the_real_system_voice_writes_speech_and_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    """pyttsx3 with a real espeak-ng, from the system or from espeakng-loader: sound of a plausible length, nothing printed."""
    pytest.importorskip("espeakng_loader", reason="espeakng-loader, which brings the system voice for this test, is not installed")
    samples = SystemVoice().synthesise("Lift the chips and let them drain.")
    assert 1.0 < samples.size / RATE < 4.0
    out = capfd.readouterr()
    assert out.out == ""


class Moody:
    """A voice that fails for the words it is told to fail for."""

    def __init__(self, name: str, fails_on: set[str]) -> None:
        self.name, self.fails_on = name, fails_on

    def synthesise(self, words: str, speed: float = 1.0) -> Samples:
        if words in self.fails_on or "all" in self.fails_on:
            raise VoiceError(f"{self.name} failed.")
        return np.full(10, len(self.name), dtype=np.float32)


def test_a_line_one_voice_cannot_say_is_said_by_the_next() -> None:
    """One bad line does not change the voice; two different ones running do, and that is said once."""
    told: list[str] = []
    first, second = Moody("a", {"bad", "worse"}), Moody("bb", set())
    row = Row([lambda: first, lambda: second], told.append)
    assert row.synthesise("good")[0] == 1
    assert row.synthesise("bad")[0] == 2
    assert row.synthesise("good")[0] == 1
    assert row.synthesise("bad")[0] == 2
    assert row.synthesise("bad")[0] == 2
    assert told == []
    assert row.synthesise("worse")[0] == 2
    assert told == ["a failed. Instead: bb."]
    assert row.synthesise("good")[0] == 2


def test_a_row_of_which_every_voice_fails_is_a_voice_error() -> None:
    """Nothing else comes out of a row."""
    row = Row([lambda: Moody("a", {"all"}), lambda: Moody("bb", {"all"})])
    for words in ("one", "two", "three"):
        with pytest.raises(VoiceError):
            row.synthesise(words)


def _cannot() -> Voice:
    raise VoiceError("It is broken.")


def test_the_best_voice_is_the_embedded_one() -> None:
    """Here, with everything installed, and the reason says so."""
    voice, why = best_voice("auto")
    assert voice.name == EmbeddedVoice.name
    assert why == "Speaking with the voice in the package."


def test_without_any_voice_a_tone_sounds(monkeypatch: pytest.MonkeyPatch) -> None:
    """No embedded and no system voice: a tone, and one sentence that says why."""
    import assistant.speaking.voices as module

    monkeypatch.setattr(module, "EmbeddedVoice", _cannot)
    monkeypatch.setattr(module, "SystemVoice", _cannot)
    voice, why = best_voice("auto")
    assert voice.name == ToneVoice.name
    assert why == "It is broken. Instead: a tone."
    assert np.abs(voice.synthesise("anything")).max() > 0.2


def test_a_setting_starts_further_down_the_row() -> None:
    """With `tone`, neither voice is even loaded."""
    voice, why = best_voice("tone")
    assert voice.name == ToneVoice.name
    assert why.startswith("A tone sounds")
