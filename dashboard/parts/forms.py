"""A form for any record kind, made from the kind's own declaration."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any, Generic, TypeVar

import streamlit as st
from pydantic import ValidationError
from streamlit.delta_generator import DeltaGenerator

from core.book.kinds import FieldInfo, Record, fields_of
from core.errors import EntryError
from core.review.spoken import listed
from dashboard.parts.fields import Setting, draw, read, typed
from dashboard.parts.say import refuse
from dashboard.words import plain

R = TypeVar("R", bound=Record)


class RecordForm(Generic[R]):
    """The fields of one record inside an ``st.form``; reads, checks and tells what is wrong beside the field.

    Args:
        kind: the record kind.
        key: key of the form, its widgets' keys begin with it.
        setting: the book's surroundings.
        start: values to begin with: of the record being changed, or a suggestion.
        make: fills in what may be left to it: a code made from the name.
    """

    def __init__(
        self,
        kind: type[R],
        key: str,
        setting: Setting,
        start: Mapping[str, Any] | None = None,
        make: Callable[[dict[str, Any]], dict[str, Any]] | None = None,
    ) -> None:
        self.kind, self.key, self.setting, self.make = kind, key, setting, make
        self.fields: dict[str, FieldInfo] = {f.name: f for f in fields_of(kind)}
        if make and "code" in self.fields:
            made = "made for you when empty; it never changes"
            self.fields["code"] = replace(self.fields["code"], required=False, hint=made)
        self.given = frozenset(start or {})
        self.start = {f.name: f.default for f in self.fields.values()} | dict(start or {})
        self._slots: dict[str, DeltaGenerator] = {}

    def draw(self, names: Iterable[str]) -> None:
        """Draw these fields, each with room for its own complaint."""
        for name in names:
            draw(self.fields[name], f"{self.key}.{name}", self.start[name], self.setting)
            self._slots[name] = st.empty()

    def draw_all(self, leave: Iterable[str] = (), first: Iterable[str] = ()) -> None:
        """Needed fields, then the optional ones in a fold that opens on request."""
        leave, first = set(leave), list(first)
        shown = [f for f in self.fields.values() if f.name not in leave]
        needed = [f.name for f in shown if f.required or f.name in first]
        others = [f.name for f in shown if f.name not in needed]
        self.draw(needed)
        if len(others) <= 4:
            self.draw(others)
        elif others:
            filled = any(self.start[n] != self.fields[n].default for n in others)
            with st.expander("More, where you know it", expanded=filled):
                self.draw(others)

    def read(self, **fixed: Any) -> R | None:
        """The record as typed; None after telling, beside each field and together, what must be put right.

        Args:
            fixed: values of fields that were not drawn.
        """
        values: dict[str, Any] = dict(fixed)
        wrong: dict[str, str] = {}
        for name in self._slots:
            info = self.fields[name]
            try:
                value = read(info, f"{self.key}.{name}", self.start[name], self.setting)
            except EntryError as error:
                wrong[name] = str(error)
                continue
            if value is None and info.required:
                wrong[name] = f"Enter {info.label[:1].lower()}{info.label[1:]}."
            elif value is not None or not info.required:
                values[name] = info.default if value is None else value
        for name in self.fields:
            if (
                name not in self._slots
                and name not in values
                and (name in self.given or not self.fields[name].required)
            ):
                values[name] = self.start[name]
        if not wrong:
            values = self.make(values) if self.make else values
            try:
                return self.kind.model_validate(values)
            except ValidationError as error:
                wrong = complaints(error, self.fields)
            except EntryError as error:  # a kind's own refusal of one value
                wrong = {"": str(error)}
        self._complain(wrong)
        return None

    def _complain(self, wrong: dict[str, str]) -> None:
        for name, words in wrong.items():
            if name in self._slots:
                self._slots[name].markdown(f":red[{plain(words)}]")
        told = [words for name, words in wrong.items() if name not in self._slots]
        count = len(wrong) - len(told)
        where = listed(self.fields[n].label for n in wrong if n in self._slots)
        summary = [f"Nothing was stored. Put right: {where}."] if count else ["Nothing was stored."]
        refuse(" ".join(summary + told))


def complaints(error: ValidationError, fields: Mapping[str, FieldInfo]) -> dict[str, str]:
    """A record's refusal in sentences, by field; "" for what concerns several fields."""
    told: dict[str, str] = {}
    for problem in error.errors():
        name = str(problem["loc"][0]) if problem["loc"] else ""
        label = fields[name].label if name in fields else ""
        told.setdefault(name, _sentence(problem, label))
    return told


def _sentence(problem: Mapping[str, Any], label: str) -> str:
    limits, sort = problem.get("ctx", {}), problem["type"]
    bounds = {
        "greater_than_equal": "must be {ge} or more",
        "greater_than": "must be more than {gt}",
        "less_than_equal": "must be {le} or less",
        "less_than": "must be less than {lt}",
        "string_too_short": "is empty",
        "string_too_long": "is too long: at most {max_length} letters",
        "string_pattern_mismatch": "may hold small letters, digits, - and _, such as front-bed",
    }
    if sort in bounds:
        return f"{label} {bounds[sort].format(**{k: typed(v) for k, v in limits.items()})}."
    if sort == "value_error":
        words = str(limits.get("error", problem["msg"]))
        return f"{words[:1].upper()}{words[1:]}{'' if words.endswith('.') else '.'}"
    return f"{label} cannot be taken as it stands."
