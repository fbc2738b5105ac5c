"""Two view models of one sheet, each in a language of its own, made one: every text in both languages.

Boxes, limits, numbers and names of places are the same in both and stay single.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

from markupsafe import Markup
from pydantic import BaseModel

from traveler.sheets.boxes import Box, Form
from traveler.sheets.head_view import HeadView
from traveler.sheets.limit_text import LimitView
from traveler.sheets.operation_writer import continued_line
from traveler.sheets.pictures import Picture
from traveler.sheets.step_view import OperationView
from traveler.sheets.twin import BESIDE, twin


@dataclass(frozen=True, slots=True)
class Pairing:
    """Joins what the views of one sheet say in two languages; ``language`` is the second."""

    language: str

    def join(self, one: Any, other: Any) -> Any:
        """Both as one: of the same shape as ``one``; what has no counterpart stays as in ``one``."""
        if isinstance(one, Markup) and one.startswith("<svg"):
            return one  # a drawing is there once
        if isinstance(one, str):
            return twin(one, other, self.language)
        if isinstance(one, Box):
            filled = self.join(one.filled, other.filled)
            return replace(one, title=self._beside(one.title, other.title), filled=filled)
        if isinstance(one, Picture):
            return replace(one, words=self._beside(one.words, other.words))
        if isinstance(one, LimitView):
            return self._limits(one, other)
        if isinstance(one, HeadView):
            return self._head(one, other)
        if isinstance(one, OperationView):
            return self._operation(one, other)
        return self._inside(one, other)

    def form(self, one: Form, other: Form) -> Form:
        """The boxes of both, once each, with tooltips in both languages."""
        return Form({name: self.join(box, other.boxes[name]) for name, box in one.boxes.items()})

    def _inside(self, one: Any, other: Any) -> Any:
        if isinstance(one, tuple | list) and len(one) == len(other):
            return type(one)(self.join(*pair) for pair in zip(one, other, strict=True))
        if isinstance(one, Mapping):
            return {key: self.join(value, other[key]) for key, value in one.items()}
        if is_dataclass(one) and not isinstance(one, type):
            names = [field.name for field in fields(one)]
            return replace(one, **self._each(one, other, names))
        if isinstance(one, BaseModel):
            return one.model_copy(update=self._each(one, other, list(type(one).model_fields)))
        return one

    def _each(self, one: Any, other: Any, names: list[str]) -> dict[str, Any]:
        return {name: self.join(getattr(one, name), getattr(other, name)) for name in names}

    def _beside(self, one: str, other: str) -> str:
        return one if one == other else f"{one}{BESIDE}{other}"

    def _limits(self, one: LimitView, other: LimitView) -> LimitView:
        """Limits are printed once; what to accept when guarded is a sentence, and said in both languages."""
        return replace(one, accept=self.join(one.accept, other.accept))

    def _head(self, one: HeadView, other: HeadView) -> HeadView:
        """The head has fixed space: name of the sheet and the rule of the foot in both, the rest in one."""
        return replace(one, sheet=self._beside(one.sheet, other.sheet), rule=self.join(one.rule, other.rule))

    def _operation(self, one: OperationView, other: OperationView) -> OperationView:
        names = [field.name for field in fields(one) if field.name != "continued"]
        both = f"{one.continued}{BESIDE}{other.continued.removeprefix(one.number).strip()}"
        differ = one.continued != other.continued
        shown = both if differ and continued_line().fits(both) else one.continued
        return replace(one, continued=shown, **self._each(one, other, names))
