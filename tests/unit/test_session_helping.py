"""A helper in the evening: jobs named beside the cook's own, one at a time, and the cook's again when the helper leaves."""

from __future__ import annotations

from kitchen_kit import Kit

from assistant.kitchen.cards import find_meal, read_card
from assistant.runtime import plan_first
from assistant.session import helping
from assistant.session.evolve import replay
from assistant.session.state import Status

SERVE = 2.5 * 3600


def with_helper(meal: str, people: int, at: float, *done: str) -> tuple[Kit, list[str]]:
    """A planned evening in which a helper comes, and what is said then; done: what the cook finished before."""
    kit = Kit(meal=meal, people=people, serve_t=SERVE, plan=plan_first(read_card(find_meal(meal)), people, SERVE))
    kit.say(5.0, "yes")
    for step in done:
        kit.say(at - 60.0, f"done with the {step}")
    return kit, kit.say(at, "a helper is here")


def given(said: list[str]) -> list[str]:
    """What was named for the helper."""
    return [words for words in said if words.startswith("Helper: ")]


def test_a_helper_is_given_one_job_beside_the_cooks() -> None:
    """The cook stirs the yogurt, the helper slices onions; nothing more for the helper before that is called done."""
    kit, said = with_helper("fritter-night", 4, 660.0, "dough mix")
    assert given(said) == ["Helper: slice the onions into thin even rounds and dry them."]
    assert kit.state.focus == "yogurt-stir"
    assert given(kit.wait(900.0)) == []
    assert kit.say(905.0, "done with the onions slice")[0] == "Onions slice, finished."
    assert kit.state.focus == "yogurt-stir"
    assert kit.state.steps["onions-slice"].status is Status.DONE
    assert replay(kit.events) == kit.state


def test_what_the_card_keeps_from_helpers_is_the_cooks() -> None:
    """Raw thighs are the cook's work alone: the helper is given other jobs all evening, one after the other."""
    kit, said = with_helper("sunday-thighs", 3, 20.0)
    jobs = given(said)
    while (job := helping.at_it(kit.state)) is not None:
        assert job.helper
        jobs += given(kit.say(kit.state.t + 120.0, f"done with the {job.said[0]}"))
    assert len(jobs) >= 2
    assert not [words for words in jobs if "thighs" in words]


def test_whoever_leaves_hands_the_job_back() -> None:
    """The helper's half-done job is the cook's next one."""
    kit, _ = with_helper("fritter-night", 4, 660.0, "dough mix")
    assert kit.say(700.0, "the helper has left") == ["You are alone again."]
    said = kit.say(800.0, "done with that")
    assert "Slice the onions into thin even rounds and dry them." in said
    assert replay(kit.events) == kit.state


def test_done_without_a_name_is_the_cooks_own_and_else_the_helpers() -> None:
    """With both at work the cook's step is meant; when the cook has none, the helper's."""
    kit, _ = with_helper("fritter-night", 4, 660.0, "dough mix")
    kit.say(700.0, "done")
    assert kit.state.steps["yogurt-stir"].status is Status.DONE
    assert kit.state.steps["onions-slice"].status is Status.RUNNING
    assert kit.state.focus == ""
    kit.say(720.0, "done")
    assert kit.state.steps["onions-slice"].status is Status.DONE
