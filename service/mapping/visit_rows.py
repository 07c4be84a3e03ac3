"""Visits out of the rows that have a date: one for each unit, day, and reference or time of day."""

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from typing import Any
from uuid import UUID, uuid5

from service.domain.record.readings import BY_QUANTITY
from service.mapping import components, convert, long_forms, targets
from service.mapping.blocks import NEGATIVE, Fact, Row
from service.mapping.convert import Context, value_of
from service.mapping.fleet_rows import NAMED_BY, FleetRows
from service.mapping.free_text import Found, found_in
from service.mapping.model import Column
from service.mapping.plan import CHECK, FAULT, KEPT, LEFT_OUT, Plan, Planned, Source, source
from service.mapping.row_texts import append, texts, time_of_day, whole_text
from service.mapping.several_units import rows_of_units
from service.mapping.visit_days import DayReader
from service.mapping.visit_units import unit_of
from service.workbooks.cells import Cell, plain

NAMESPACE = UUID("5f0d6f0a-2f3b-5c53-9d6e-7a1f6f3c1b10")  # of visits imported from tables, once chosen at random
NO_TIME = "The time of day was not recorded; {time} stands for it."
PLAIN = ("visit.advice", "visit.signed_by", "visit.outcome")
COMPONENT_OF = {"current": "compressor"}
LONGEST_PART = 200
DOUBTED = re.compile(r"\?[!?*]*$")


class VisitRows:
    """Makes the visits of a file; rows of one visit are joined in the order in which they stand."""

    def __init__(self, people: FleetRows, context: Context, plan: Plan) -> None:
        self.people, self.context, self.plan = people, context, plan
        self.made: dict[tuple[str, ...], Planned] = {}
        self.rows: dict[tuple[str, ...], set[str]] = {}

    def take_all(self, rows: list[Row]) -> None:
        """Make the visits of all rows that have a date, or should have one."""
        found = [each for each in DayReader(self.context, self.plan).days_of(rows) if each.day is not None]
        for dated in sorted(found, key=lambda each: self._is_part(each.row)):
            if dated.day is not None:
                self._take_each(dated.row, dated.day)

    def records(self) -> Iterator[Planned]:
        """The visits, by day."""
        return iter(sorted(self.made.values(), key=lambda made: (made.body["arrived_at"], made.body["unit"])))

    def _take_each(self, row: Row, day: date) -> None:
        try:
            units = [(unit_of(self.people, each), each) for each in rows_of_units(self.people, row)]
        except ValueError as fault:
            at = row.first(*NAMED_BY["unit"], *NAMED_BY["site"], *NAMED_BY["customer"])
            self.plan.remark(FAULT, source(row, at), at.cell.text if at else texts(row), str(fault))
            return
        for tag, each in units:
            self._take(tag, each, day)

    def _take(self, tag: str, row: Row, day: date) -> None:
        time, reference = self._time(row), row.text("visit.reference")
        key: tuple[str, ...] = (tag, day.isoformat(), reference or time or "")
        if not reference and self._is_part(row):
            key = self._only(key)
        content = texts(row)
        if content in self.rows.setdefault(key, set()):
            self.plan.remark(LEFT_OUT, source(row), content, "the same row stands in the file twice")
            return
        self.rows[key].add(content)
        made = self.made.get(key)
        if made is not None and not (reference or time or self._is_part(row)):
            message = f"one visit with row {made.source.row}: the same unit and day; a time or number keeps them apart"
            self.plan.remark(CHECK, source(row), content, message)
        self._fill(made or self._new(key, row, day, time), row)

    def _only(self, key: tuple[str, ...]) -> tuple[str, ...]:
        """The key of the unit's only visit of the day, or the key itself."""
        known = [each for each in self.made if each[:2] == key[:2]]
        return known[0] if len(known) == 1 else key

    def _time(self, row: Row) -> str | None:
        fact = row.first("visit.time")
        if fact is not None:
            try:
                return str(convert.clock(fact))
            except ValueError as fault:
                self.plan.remark(FAULT, source(row, fact), fact.cell.text, f"visit.time: {fault}")
        at = row.first("visit.date")
        return time_of_day(at.cell) if at else None

    def _new(self, key: tuple[str, ...], row: Row, day: date, time: str | None) -> Planned:
        tag, mapping = key[0], self.context.mapping
        identity = str(uuid5(NAMESPACE, "|".join(("visit", *(plain(part) for part in key)))))
        made = Planned("visit", {"id": identity, "unit": tag, "kind": mapping.visit_kind}, source(row))
        made.set("unit", tag, source(row, row.first(*NAMED_BY["unit"])))
        made.set("arrived_at", f"{day}T{time or mapping.visit_time}", source(row, row.first("visit.date")))
        if time is None:
            made.body["internal_note"] = NO_TIME.format(time=mapping.visit_time)
        self.made[key] = made
        return made

    def _fill(self, made: Planned, row: Row) -> None:
        """Everything that a row says of its visit."""
        self._crew(made, row)
        for name, facts in row.facts.items():
            for fact in facts:
                take = self._taker(name)
                if take is None or not fact.cell.text:
                    continue
                try:
                    take(made, row, fact)
                except ValueError as fault:
                    if name.startswith(("reading.", "task.", "replacement.")):
                        self._keep(made, row, fact, f"{name}: {fault}")
                    else:
                        self.plan.remark(FAULT, source(row, fact), fact.cell.text, f"{name}: {fault}")
        self._long_forms(made, row)

    def _taker(self, name: str) -> Callable[[Planned, Row, Fact], None] | None:
        target = targets.target(name)
        if name in PLAIN:
            return self._plain
        if target.kind == "mark":
            return self._task if name.startswith("task.") else self._part
        if target.kind == "measure" and target.dimensions and target.record == "reading":
            return self._reading
        takers = {
            "visit.kind": self._kind,
            "visit.left": self._left,
            "visit.complaint": self._complaint,
            "visit.symptom": self._complaint,
            "visit.part_used": self._part_used,
        }
        texts = {"visit.work": self._text, "visit.internal_note": self._text}
        notes = {"note": self._note, "visit.reference": self._note}
        return {**takers, **texts, **notes}.get(name)

    def _is_part(self, row: Row) -> bool:
        """Whether a row only adds readings, tasks or parts to a visit that another row describes."""
        return not any(n.startswith("visit.") and n not in ("visit.date", "visit.reference") for n in row.targets)

    def _crew(self, made: Planned, row: Row) -> None:
        for fact in row.facts.get("visit.technician", ()):
            for code in self.people.people(row, fact):
                if "technician" not in made.body:
                    made.set("technician", code, source(row, fact))
                elif code != made.body["technician"] and code not in made.body.get("crew", ()):
                    made.body.setdefault("crew", []).append(code)

    def _plain(self, made: Planned, row: Row, fact: Fact) -> None:
        value = value_of(targets.target(fact.target), fact, self.context)
        field = fact.target.partition(".")[2]
        if fact.target == "visit.advice":
            append(made, field, value)
        else:
            self._set_once(made, field, value, row, fact)

    def _set_once(self, made: Planned, field: str, value: Any, row: Row, fact: Fact) -> None:
        """Set a field; where another row of the visit has set it otherwise, that stays and this becomes a note."""
        if field not in made.cells:
            made.set(field, value, source(row, fact))
        elif made.body[field] != value:
            self._keep(made, row, fact, f"another row of the visit gives its {field} otherwise")

    def _kind(self, made: Planned, row: Row, fact: Fact) -> None:
        self._set_once(made, "kind", value_of(targets.target("visit.kind"), fact, self.context), row, fact)

    def _left(self, made: Planned, row: Row, fact: Fact) -> None:
        time = value_of(targets.target("visit.left"), fact, self.context)
        self._set_once(made, "left_at", made.body["arrived_at"][:11] + time, row, fact)

    def _complaint(self, made: Planned, row: Row, fact: Fact) -> None:
        symptom, words = row.first("visit.symptom"), row.text("visit.complaint")
        code = value_of(targets.target("visit.symptom"), symptom, self.context) if symptom else "other"
        self._set_once(made, "complaint", {"symptom": code} | ({"words": words} if words else {}), row, fact)

    def _part_used(self, made: Planned, row: Row, fact: Fact) -> None:
        if fact.cell.text.casefold() in convert.NO:
            return
        made.add("parts_used", {"description": fact.cell.text[:LONGEST_PART], "count": 1}, source(row, fact))
        if len(fact.cell.text) > LONGEST_PART:
            self._keep(made, row, fact, f"{fact.target}: is longer than {LONGEST_PART} characters")

    def _keep(self, made: Planned, row: Row, fact: Fact, why: str) -> None:
        """Keep a cell as a note of the visit, and list it."""
        append(made, "internal_note", f"{fact.heading}: {fact.cell.text}")
        self.plan.remark(KEPT, source(row, fact), fact.cell.text, why)

    def _note(self, made: Planned, row: Row, fact: Fact) -> None:
        append(made, "internal_note", f"{fact.heading}: {fact.cell.text}")
        self._coded(made, row, fact)

    def _text(self, made: Planned, row: Row, fact: Fact) -> None:
        append(made, fact.target.partition(".")[2], whole_text(fact.cell))
        self._coded(made, row, fact)
        if fact.meant and fact.meant.read_text:
            for found in found_in(whole_text(fact.cell)):
                self._found(made, row, fact, found)

    def _coded(self, made: Planned, row: Row, fact: Fact) -> None:
        """What a code in the cell stands for, by the mapping."""
        meant = (fact.meant.facts if fact.meant else {}).get(fact.cell.text)
        if meant and any(
            NEGATIVE.fullmatch(each.cell.text) for name in ("note", "skip") for each in row.facts.get(name, ())
        ):
            self.plan.remark(CHECK, source(row, fact), texts(row), f"a credit: {meant} is not imported of it")
        elif meant:
            self._found(made, row, fact, Found(meant, fact.cell.text))

    def _found(self, made: Planned, row: Row, fact: Fact, found: Found) -> None:
        record, _, name = found.target.partition(".")
        if record == "visit":
            made.set("kind", name.removeprefix("kind."), source(row, fact))
        elif record == "task":
            self._add_task(made, name, "done", source(row, fact))
        elif record == "replacement":
            self._add_part(made, name, found.condition, found.words, source(row, fact))
        elif record == "reading" and not any(r["quantity"] == name for r in made.body.get("readings", ())):
            meant = Column(to=found.target)
            cell = Cell(f"{found.number} {found.unit}".strip())
            try:
                self._reading(made, row, replace(fact, target=found.target, cell=cell, meant=meant))
            except ValueError as fault:
                self.plan.remark(KEPT, source(row, fact), found.words, f"{found.target}: {fault}")

    def _reading(self, made: Planned, row: Row, fact: Fact) -> None:
        target, meant = targets.target(fact.target), fact.meant or Column(to=fact.target)
        value = value_of(target, fact, self.context)
        quantity = target.field
        part = {"quantity": quantity, "value": value, "when": meant.when}
        kind = BY_QUANTITY[quantity]
        if kind.of_component:
            known = self.people.components.get(made.body["unit"], {})
            part |= components.named(meant.component or COMPONENT_OF.get(quantity, "power_switch"), known)
        if kind.at_tap:
            part["tap"] = meant.tap or "1"
        self._add_reading(made, part, source(row, fact))
        if fact.column and DOUBTED.search(fact.cell.text):
            self._keep(made, row, fact, f"{fact.target}: {value} is recorded; the question mark is not")

    def _add_reading(self, made: Planned, part: dict[str, Any], at: Source) -> None:
        if part not in made.body.get("readings", ()):
            made.add("readings", part, at)

    def _task(self, made: Planned, row: Row, fact: Fact) -> None:
        result = convert.mark(convert.dictionary(fact) or fact.cell.text)
        if result is not None:
            self._add_task(made, fact.target.partition(".")[2], result, source(row, fact))

    def _add_task(self, made: Planned, code: str, result: str, at: Source) -> None:
        if not any(task["task"] == code for task in made.body.get("tasks", ())):
            reason = {"reason": "not recorded"} if result == "not_done" else {}
            made.add("tasks", {"task": code, "result": result, **reason}, at)

    def _part(self, made: Planned, row: Row, fact: Fact) -> None:
        text = convert.dictionary(fact) or fact.cell.text
        if convert.mark(text) == "done":
            self._add_part(made, fact.target.partition(".")[2], "unknown", "", source(row, fact))

    def _add_part(self, made: Planned, kind: str, condition: str, words: str, at: Source) -> None:
        named = components.named(kind, self.people.components.get(made.body["unit"], {}))
        if any(part["component"] == named["component"] for part in made.body.get("replacements", ())):
            return
        reason = "unknown" if condition == "unknown" else "failed"
        part = {**named, "reason": reason, "condition": condition, "evidence": "seen"}
        made.add("replacements", part | ({"note": words[:2000]} if words else {}), at)

    def _long_forms(self, made: Planned, row: Row) -> None:
        """A reading, task, replacement or observation that has columns for its parts."""
        known = self.people.components.get(made.body["unit"], {})
        for name, part, at in long_forms.parts_of(row, self.context, self.plan, known):
            if part not in made.body.get(name, ()):
                made.add(name, part, at)
