"""A page that another cook can follow and print: the meal as it was really cooked, with its safety lines where they are needed. Values in, text out.

Rules
- Nobody is named: the cook's notes, what was heard and the names of clocks are free text and stay out; the report has them. What remains comes
  from the card and from the program's own words.
- Times are before serving, because the next cook serves at another hour; the durations and temperatures are those of that evening, and what was not
  measured says that it is the card's.
- Safety lines are the ones that are spoken (`drop_check`, `hazards`, `scripts`), in the same words, in their place; food times are the ledger's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from assistant.kitchen.card_writer import times
from assistant.kitchen.cards import read_text
from assistant.kitchen.doneness import food_of, target
from assistant.kitchen.drop_check import cutting_check, drop_lines, full_check
from assistant.kitchen.food_clocks import KINDS, Kind, kind_of_step, span_words
from assistant.kitchen.hazards import closing_check, off_questions, raw_prompts
from assistant.kitchen.limits import windows
from assistant.kitchen.meal import NO_LIMIT_S, Dish, Ingredient, Keep, Step, StepKind
from assistant.kitchen.scripts import emergency_number, script, spoken_number
from assistant.kitchen.shopping import shopping
from assistant.session.state import Status
from assistant.showing.report_advice import Advice
from assistant.showing.report_html import AID, LOCAL, Html, bullets, el, join, page, table, table_row
from assistant.showing.report_model import BatchRow, Report, StepRow
from assistant.showing.report_words import grams, temperature, took
from assistant.speaking.prompts import OIL_COOLS, upper

_KNIFE = frozenset({"cut", "slice", "chop", "peel"})
_KEPT = {Keep.RACK: "on a rack", Keep.OVEN: "in the oven", Keep.PAN: "in its pan", Keep.FRIDGE: "in the fridge", Keep.COUNTER: "on the counter"}
_DANGERS = (("boil_over", "It foams up or spits"), ("smoke", "It smokes"), ("fire", "It burns"), ("burn", "Somebody is burned"))
MINUTE_S, MEASURED_S = 60.0, 10.0
LATER_T = 1e9  # after everything that was reached


def html_handout(report: Report, advice: Iterable[Advice]) -> str:
    """The page, for as many as were cooked for."""
    serve_t = report.served_t if report.served_t is not None else report.planned_serve_t
    sections = (
        *(_head(report, serve_t), _needs(report), _cuts(report), _order(report, serve_t)),
        *(_went_wrong(report, tuple(advice)), _holding(report), _dangers(report)),
    )
    body = [part for section in sections for part in section]
    return page(f"{report.meal.title}: how it is done", *body, el("footer", f"{AID} {LOCAL}"))


def _head(report: Report, serve_t: float) -> Iterator[Html]:
    yield el("h1", report.meal.title)
    begin = min((r.began_t for r in report.steps if r.began_t is not None), default=None)
    if begin is None:
        yield el("p", f"For {report.people}. Nothing was begun that evening: this is how the card has it.", cls="lead")
    else:
        yield el("p", f"For {report.people}. Begin {took(serve_t - begin)} before it is to be on the table.", cls="lead")
        yield el("p", "Times and temperatures are those of one evening on which this was cooked; yours will differ a little.", cls="soft")
    yield el("div", el("p", el("b", AID)), el("p", LOCAL), cls="box")


# --- what is needed


def _needs(report: Report) -> Iterator[Html]:
    yield el("h2", f"What you need, for {report.people}")
    card = read_text(report.card, report.file)
    by = Fraction(report.people, card.serves)
    groups = []
    for dish in (d for d in card.dishes if d.ingredients):
        users = _listed([d.name for d in report.meal.dishes if any(u == dish.id for u, _ in d.uses)])
        head = el("h3", upper(dish.name) + (f" (for {users})" if dish.component else ""))
        allergens = [el("p", f"Contains {_listed(sorted(dish.allergens))}.", cls="soft")] if dish.allergens else []
        groups.append(el("div", head, bullets(*(_thing(i, by) for i in dish.ingredients)), *allergens, cls="whole"))
    oil = [f"{p.oil_litres:g} l of oil for the {p.name}, measured cold" for p in report.meal.equipment.pots if p.oil_litres is not None]
    groups.append(el("div", el("h3", "Have out"), bullets(*oil, *shopping(report.meal).equipment), cls="whole"))
    yield el("div", *groups, cls="two")


def _thing(thing: Ingredient, by: Fraction) -> str:
    ready = f", {times(thing.prepared.text, by)} prepared" if thing.prepared is not None else ""
    kept = " (frozen)" if thing.frozen else " (from the fridge)" if thing.kept is Keep.FRIDGE else ""
    raw = "; raw: keep it apart" if thing.raw else ""
    return f"{thing.name}: {times(thing.bought.text, by)}{ready}{kept}{raw}"


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + f" and {names[-1]}" if names else ""


def _cuts(report: Report) -> Iterator[Html]:
    frying = [s for s in report.meal.steps() if s.fry is not None]
    if not frying:
        return
    yield el("h2", "Cut, and how much at a time")
    rows = []
    for step in frying:
        fry = step.fry
        assert fry is not None
        each = grams(fry.kg / fry.batches) + (f", {-(-fry.pieces // fry.batches)} pieces" if fry.pieces is not None else "")
        oil = f"{temperature(fry.oil_c, report.units)}, never under {temperature(fry.floor_c, report.units)}"
        rows.append((upper(step.name), fry.cut, grams(fry.kg), f"{fry.batches} of {each}", oil))
    yield table(("Fry", "Cut", "In all, as it goes in", "Batches", "Oil"), *rows)


# --- the order


def _order(report: Report, serve_t: float) -> Iterator[Html]:
    yield el("h2", "In this order")
    rows = [r for r in report.steps if r.status != Status.SKIPPED]
    at = {r.step: _began(r) if _reached(r) else LATER_T + i for i, r in enumerate(rows)}
    rows.sort(key=lambda r: at[r.step])
    safety = _Safety(report, [report.meal.step(r.step) for r in rows], at)
    parts = [(at[r.step], list(_step(report, r, serve_t, safety))) for r in rows]
    parts += [(t, [_safe(head, lines)]) for t, head, lines in safety.heatings()]
    made = [row for _, part in sorted(parts, key=lambda part: part[0]) for row in part]
    off = off_questions(False, report.meal.equipment.oven).values()
    made.append(_safe("Before you sit down", (*off, *closing_check(any(r.kind == StepKind.FRY for r in rows)), OIL_COOLS)))
    yield table(("Before serving", "What to do", "It took"), *made, cls="order")
    left = [r.name for r in report.steps if r.status == Status.SKIPPED]
    if left:
        yield el("p", f"Left out that evening: {_listed(left)}.")


def _reached(row: StepRow) -> bool:
    return row.began_t is not None or row.done_t is not None


def _began(row: StepRow) -> float:
    return row.began_t if row.began_t is not None else row.done_t if row.done_t is not None else 0.0


class _Safety:
    """Which safety lines stand before which step, each once and in the words that are spoken."""

    def __init__(self, report: Report, order: list[Step], at: Mapping[str, float]) -> None:
        self._report, self._at = report, at
        self._knife = next((s.id for s in order if s.kind is StepKind.HANDS and _KNIFE & set(s.text.lower().split())), "")
        prompts = raw_prompts(order)
        self._raw = {p.step: p.say for p in prompts if not p.at_lift}
        self._lift = {p.step: p.say for p in prompts if p.at_lift}
        frying = [s for s in order if s.fry is not None]
        self._fried = {p.id: [s for s in frying if s.fry is not None and s.fry.pot == p.id] for p in report.meal.equipment.pots}

    def heatings(self) -> Iterator[tuple[float, str, tuple[str, ...]]]:
        """(when, heading, lines) of each pot's full check: when its burner was lit, at the latest before its first drop."""
        for pot in self._report.meal.equipment.pots:
            first = next((s for s in self._fried[pot.id]), None)
            if first is None or first.fry is None:
                continue
            drop_t = self._at[first.id]
            marks = next((p.marks for p in self._report.pots if p.pot == pot.id), ())
            lit_t = next((m.t for m in marks if m.what == "burner" and m.words not in ("burner off", "burner down")), drop_t)
            lit = f"Then burner on, oil to {temperature(first.fry.oil_c, self._report.units)}"
            lit += f": it took {took(drop_t - lit_t)} until the first drop." if MINUTE_S <= drop_t - lit_t < LATER_T / 2 else "."
            check = full_check(pot, self._report.meal.equipment.oil_thermometer)
            yield min(lit_t, drop_t) - 1e-3, f"Before the {pot.name} is heated", (*check, lit)

    def before(self, step: Step) -> Iterator[Html]:
        """Rows before a step."""
        if step.id == self._knife:
            yield _safe("Knife", cutting_check())
        if step.id in self._raw:
            yield _safe("Raw food", (self._raw[step.id],))
        if step.fry is None:
            return
        pot = next(p for p in self._report.meal.equipment.pots if p.id == step.fry.pot)
        nth = self._fried[pot.id].index(step)
        before = self._fried[pot.id][nth - 1] if nth else None
        lines = drop_lines(pot, step, nth + 1, fresh=pot.fresh_oil and nth == 0, before=before)
        if lines:
            yield _safe("Before it goes in", lines)

    def lift(self, step: Step) -> str:
        """What to think of when this is lifted; empty when nothing."""
        return self._lift.get(step.id, "")


def _safe(head: str, lines: tuple[str, ...]) -> Html:
    words = join(el("b", f"{head}: "), " ".join(lines))
    return el("tr", el("td", el("div", words, cls="warn"), colspan="3"))


def _step(report: Report, row: StepRow, serve_t: float, safety: _Safety) -> Iterator[Html]:
    step = report.meal.step(row.step)
    yield from safety.before(step)
    ahead = serve_t - _began(row)
    when = "" if not _reached(row) else took(ahead) if ahead >= MINUTE_S else "at serving"
    measured = took(row.took_s) if row.took_s is not None and row.took_s >= MEASURED_S else "not measured" if _reached(row) else "not reached"
    doing = [el("p", el("b", _words(step))), *(el("p", line) for line in _details(report, step, row, safety))]
    yield table_row((el("b", when), join(*doing), join(measured, el("div", _card_time(step), cls="soft"))), frozenset({0, 2}))


def _words(step: Step) -> str:
    text = step.text or f"{upper(step.name)}."
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _card_time(step: Step) -> str:
    span = step.span
    if step.kind is StepKind.WAIT:
        return f"card: {took(span.least_s)} at least" + (f", {took(span.most_s)} at most" if span.most_s < NO_LIMIT_S else "")
    each = " a batch" if step.fry is not None else ""
    return f"card: {took(span.least_s)}" + (f" to {took(span.most_s)}" if span.most_s > span.least_s else "") + each


def _details(report: Report, step: Step, row: StepRow, safety: _Safety) -> Iterator[str]:
    """Temperatures, looks, core and limits of one step."""
    if step.bake is not None:
        hot = " with the stone in it" if step.bake.stone else ""
        yield f"Oven at {temperature(step.bake.oven_c, report.units)}{hot}{', hot first' if step.bake.preheat else ''}."
    for b in row.batches:
        yield _batch(report, step, b)
    if step.looks:
        yield f"Done looks like: {step.looks}."
    if safety.lift(step):
        yield safety.lift(step)
    if step.core_c is not None:
        yield from _core(report, step, row)
    if step.kind is StepKind.WAIT and step.else_do and step.span.most_s < NO_LIMIT_S:
        yield f"After {took(step.span.most_s)}: {step.else_do[:1].lower()}{step.else_do[1:]}"


def _batch(report: Report, step: Step, b: BatchRow) -> str:
    heat = took(b.heat_s) if b.heat_s is not None else "still in when this was written"
    if step.fry is None:
        return f"In the heat: {heat}."
    at = f"oil at {temperature(b.oil_c, report.units)}" if b.oil_c is not None else "oil not read"
    want = f" (wants {temperature(step.fry.oil_c, report.units)})" if not b.test else ""
    low = f", down to {temperature(b.lowest_c, report.units)}" if b.lowest_c is not None else ""
    look = f"; came out {_listed(list(b.looks))}" if b.looks else ""
    return f"{upper(b.label)}: {at}{want}{low}, {heat}{look}."


def _core(report: Report, step: Step, row: StepRow) -> Iterator[str]:
    """What the core must read, and what it read."""
    want = target(food_of(report.meal.dish(step.dish)), step.core_c)
    bone = ", off the bone" if food_of(report.meal.dish(step.dish)) in ("poultry", "meat") else ""
    where = f" in the two biggest pieces{bone}" if want.two else ""
    rest = f", then {took(want.rest_s)} of rest" if want.rest_s else ""
    read = _listed([temperature(c, report.units) for _, c in row.cores])
    yield f"Core {temperature(want.core_c, report.units)}{where}{rest}. " + (f"It read {read}." if read else "Nobody read it that evening: read it.")


# --- what went wrong, holding, danger


def _went_wrong(report: Report, advice: tuple[Advice, ...]) -> Iterator[Html]:
    wrong = [i for i in report.incidents if i.kind in ("danger", "near miss") or (i.kind == "alarm" and i.priority == "high")]
    kitchen = [a for a in advice if a.topic != "hearing"]
    if not wrong and not kitchen:
        return
    yield el("h2", "What went wrong, and why")
    if wrong:
        yield bullets(*(join(el("b", f"{i.cause.rstrip('.')}. "), f"{i.done.rstrip('.')}.") for i in wrong))
    if kitchen:
        yield el("h3", "So do it like this")
        yield bullets(*(join(el("b", a.say), " ", el("span", a.because, cls="soft")) for a in kitchen))


def _holding(report: Report) -> Iterator[Html]:
    yield el("h2", "How it holds and keeps")
    waited = {w.dish: w.seconds for w in report.waits}
    rows = []
    for dish in report.meal.dishes:
        held = next((s for s in reversed(dish.steps) if s.hold is not None), None)
        best = most = where = ""
        if held is not None and held.hold is not None:
            best, most, where = took(held.hold.best_s), took(held.hold.most_s), _KEPT[held.hold.keep]
            where += f" at {temperature(held.hold.oven_c, report.units)}" if held.hold.oven_c is not None else ""
        that = took(waited[dish.id]) if dish.id in waited else ""
        if held is not None or that:
            rows.append((upper(dish.name), where, best, most, that))
    if rows:
        yield table(("Dish", "Held", "At its best", "At most", "Waited that evening"), *rows)
    kept = [line for dish in report.meal.dishes for line in _kept(dish)]
    if kept:
        yield el("h3", "Food on the clock")
        yield bullets(*kept)
    rule = KINDS[Kind.LEFTOVERS]
    reheat = temperature(target("leftovers").core_c, report.units)
    fridge = f"Leftovers: into the fridge within {span_words(rule.counter_s)}, there at most {span_words(rule.fridge_s)}, reheated to {reheat}."
    yield el("p", f"{fridge} {OIL_COOLS}")


def _kept(dish: Dish) -> Iterator[str]:
    """What spoils and how long it may stand, from the food-safety rules."""
    for step in dish.steps:
        kind, window = kind_of_step(step, dish), windows(step, dish)
        if kind is not None and window is not None:
            after = f"; then: {window.then_do.rstrip('.').lower()}" if window.then_do else ""
            yield f"{upper(step.name)}: {kind}, at most {took(window.most_s)} as it stands{after}."


def _dangers(report: Report) -> Iterator[Html]:
    yield el("h2", "If something goes wrong")
    for name, head in _DANGERS:
        if name == "burn" or any(s.fry is not None for s in report.meal.steps()) or name == "fire":
            yield el("div", el("p", el("b", f"{head}. "), _script(name, report.region)), cls="box")


def _script(name: str, region: str) -> str:
    """A danger script as one paragraph, up to its question, the number to call in figures."""
    lines = script(name, region).lines
    words = " ".join(line.words for line in lines if line.ask is None and not line.words.startswith("Again:"))
    for ambulance in (False, True):
        number = emergency_number(region, ambulance)
        if number is not None:
            words = words.replace(spoken_number(number), number)
    return words
