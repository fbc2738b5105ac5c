"""What the files ``people.yaml`` and ``gauges.yaml`` say, beyond what their models can check."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC
from difflib import get_close_matches

from pydantic import Field

from traveler.definition.source import Path as NodePath
from traveler.finding import Finding
from traveler.measure.found_error import parse_error
from traveler.measure.limits import parse_limits
from traveler.measure.number import parse_number
from traveler.measure.quantity import parse_quantity
from traveler.measure.unreadable import Unreadable
from traveler.shop.gauges import Gauge, GaugeRegister, placed
from traveler.shop.people import People, Person
from traveler.shop.pins import HASH
from traveler.shop.reading import Places, nearest

Reader = Callable[[str], object]


class PeopleFile(People):
    """``people.yaml``: the people, and the format of the file."""

    format: int = Field(default=1, ge=1, le=1)


class GaugesFile(GaugeRegister):
    """``gauges.yaml``: the gauges, and the format of the file."""

    format: int = Field(default=1, ge=1, le=1)


def check_people(people: People, where: Places, file: str) -> Iterator[Finding]:
    """SHP005 an id given twice; SHP006 days the wrong way round, no such stand-in, a PIN in the clear."""
    yield from _twice([one.id for one in people.people], "people", where, file)
    for index, person in enumerate(people.people):
        yield from _check_person(person, people, ("people", index), where, file)


def _check_person(
    person: Person, people: People, path: NodePath, where: Places, file: str
) -> Iterator[Finding]:
    if person.pin is not None and not HASH.fullmatch(person.pin):
        what = f"the PIN of {person.id} is no argon2id hash"
        hint = f"take the line out, and set one: traveler pin set {person.id}"
        yield Finding("SHP006", what, nearest(where, (*path, "pin"), file), hint=hint)
    for index, held in enumerate(person.roles):
        at = (*path, "roles", index)
        if held.until is not None and held.until < held.since:
            what = f"{person.id} held '{held.role}' until {held.until}, before it began on {held.since}"
            yield Finding("SHP006", what, nearest(where, (*at, "until"), file), hint="swap the two days")
        if held.instead_of is not None and held.instead_of not in people.by_id:
            close = get_close_matches(held.instead_of, people.by_id, n=1)
            hint = f"did you mean '{close[0]}'?" if close else "name somebody of this file"
            what = f"{person.id} stands in for '{held.instead_of}', who is not among the people"
            yield Finding("SHP006", what, nearest(where, (*at, "instead_of"), file), hint=hint)


def check_gauges(register: GaugeRegister, where: Places, file: str) -> Iterator[Finding]:
    """SHP005 an id given twice; SHP006 a number that cannot be read, or back in use before it was out."""
    yield from _twice([one.id for one in register.gauges], "gauges", where, file)
    for index, gauge in enumerate(register.gauges):
        yield from _times_out(gauge, ("gauges", index, "withdrawals"), where, file)
        for path, reader, text in _numbers(gauge):
            try:
                reader(text)
            except Unreadable as problem:
                what = f"{gauge.id}: {problem.what}"
                yield Finding(
                    "SHP006", what, nearest(where, ("gauges", index, *path), file), hint=problem.hint
                )


def _numbers(gauge: Gauge) -> Iterator[tuple[NodePath, Reader, str]]:
    """Every number of a gauge, with its place and what reads it."""
    given: list[tuple[NodePath, Reader, str | None]] = [
        (("range",), parse_limits, gauge.range),
        (("resolution",), quantity_with_unit, gauge.resolution),
        (("uncertainty",), quantity_with_unit, gauge.uncertainty),
        (("k",), positive_number, gauge.k),
    ]
    for index, done in enumerate(gauge.calibrations):
        given.append((("calibrations", index, "uncertainty"), quantity_with_unit, done.uncertainty))
        given.append((("calibrations", index, "k"), positive_number, done.k))
        given.append((("calibrations", index, "error"), parse_error, done.error))
    return ((path, reader, text) for path, reader, text in given if text is not None)


def _times_out(gauge: Gauge, path: NodePath, where: Places, file: str) -> Iterator[Finding]:
    for index, one in enumerate(gauge.withdrawals):
        if one.back is not None and placed(one.back, UTC) < placed(one.out, UTC):
            what = f"{gauge.id} was back in use on {one.back:%Y-%m-%d %H:%M}, before it was out of use"
            yield Finding("SHP006", what, nearest(where, (*path, index, "back"), file), hint="swap the two")


def quantity_with_unit(text: str) -> None:
    """Nothing for a positive number with a unit.

    Raises:
        Unreadable: it is something else.
    """
    quantity = parse_quantity(text)
    if quantity.value <= 0:
        raise Unreadable("SHP006", f"{text!r} is not above zero")


def positive_number(text: str) -> None:
    """Nothing for a number above zero.

    Raises:
        Unreadable: it is something else.
    """
    if parse_number(text).value <= 0:
        raise Unreadable("SHP006", f"{text!r} is not above zero")


def _twice(ids: list[str], key: str, where: Places, file: str) -> Iterator[Finding]:
    for index, one in enumerate(ids):
        if (first := ids.index(one)) < index:
            before = nearest(where, (key, first, "id"), file)
            what = f"the id '{one}' is given twice, first in line {before.line}"
            yield Finding(
                "SHP005", what, nearest(where, (key, index, "id"), file), hint="keep one of the two"
            )
