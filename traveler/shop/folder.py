"""The folder of a shop: shop.yaml, people.yaml and gauges.yaml, read and checked."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar, get_args
from zoneinfo import ZoneInfo, available_timezones

from pydantic import BaseModel, Field, ValidationError

from traveler.definition.mass import lifted_alone
from traveler.definition.source import Path as NodePath
from traveler.definition.source import node_places, plain_content, read_source
from traveler.finding import Finding, Place, blocking
from traveler.measure.gauge_error import parse_error
from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable, parse_number
from traveler.measure.quantity import parse_quantity
from traveler.shop.gauges import Gauge, GaugeRegister, in_zone
from traveler.shop.people import HASH, People, Person
from traveler.shop.settings import Settings
from traveler.text import NotUnderstood, did_you_mean

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

Model = TypeVar("Model", bound=BaseModel)
Places = Mapping[NodePath, Place]
"""Path of a value → where it stands in the file."""

_SAID = {
    "missing": "'{key}' is missing",
    "extra_forbidden": "there is no key '{key}' here",
    "literal_error": "{input} is not one of {expected}",
    "enum": "{input} is not one of {expected}",
    "int_parsing": "{input} is not a whole number",
    "bool_parsing": "{input} is neither true nor false",
    "string_pattern_mismatch": "{input} is not spelled like an id ({pattern})",
    "greater_than": "{input} is too small: more than {gt} is expected",
    "greater_than_equal": "{input} is too small: at least {ge} is expected",
    "tuple_type": "a list is expected here",
    "string_type": "a text is expected here",
    "model_type": "keys with values are expected here",
    "dict_type": "keys with values are expected here",
}
_CODES = {"extra_forbidden": "SHP002", "missing": "SHP003"}


@dataclass(frozen=True, slots=True)
class ReadFile(Generic[Model]):
    """What a file says (None if it cannot be used), what is wrong with it, and where each value stands."""

    says: Model | None
    findings: tuple[Finding, ...]
    places: Places = field(default_factory=dict)


def read_file(path: Path, model: type[Model]) -> ReadFile[Model]:
    """The file's content as ``model``; every scalar arrives as text and keeps its digits.

    Findings: SHP001 no such file, or not text; SHP002 unknown key; SHP003 key missing; SHP004 value not
    understood; and those of :func:`traveler.definition.source.read_source`.
    """
    name = str(path)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        what = f"not text in UTF-8: byte {problem.start + 1} is {problem.object[problem.start]:#04x}"
        return ReadFile(None, (Finding("SHP001", what, Place(name), hint="save the file as UTF-8"),))
    except OSError as problem:
        what = f"cannot be read: {problem.strerror}"
        return ReadFile(
            None, (Finding("SHP001", what, Place(name), hint="'traveler shop create' writes one"),)
        )
    source = read_source(text, name)
    if source.root is None:
        return ReadFile(None, source.findings)
    where, content = node_places(source.root), plain_content(source.root)
    try:
        says = model.model_validate(content)
    except ValidationError as problem:
        told = (_finding(error, model, where, name) for error in problem.errors(include_url=False))
        return ReadFile(None, (*source.findings, *told), where)
    return ReadFile(None if blocking(source.findings) else says, source.findings, where)


def place_of(where: Places, path: NodePath, file: str) -> Place:
    """The place of the value at ``path``, or of the nearest one around it that is there."""
    while path and path not in where:
        path = path[:-1]
    return where.get(path, Place(file, 1, 1))


def _finding(problem: ErrorDetails, model: type[BaseModel], where: Places, file: str) -> Finding:
    kind, path = problem["type"], tuple(problem["loc"])
    key = str(path[-1]) if path else ""
    wrong = problem.get("ctx", {}).get("error")
    if isinstance(wrong, NotUnderstood):
        return Finding("SHP004", wrong.what, place_of(where, path, file), hint=wrong.hint)
    pattern = _SAID.get(kind)
    said = {**problem.get("ctx", {}), "key": key, "input": _quoted(problem["input"])}
    what = pattern.format(**said) if pattern else f"{said['input']}: {problem['msg']}"
    hint = did_you_mean(key, _fields(model, path[:-1])) if kind == "extra_forbidden" else ""
    return Finding(_CODES.get(kind, "SHP004"), what, place_of(where, path, file), hint=hint)


def _quoted(value: object) -> str:
    text = "this" if value is None or isinstance(value, dict | list) else str(value)
    return f"'{text[:60]}{'…' if len(text) > 60 else ''}'" if text != "this" else text


def _fields(model: type[BaseModel], path: NodePath) -> list[str]:
    """The keys that may stand at ``path`` within the model."""
    inside: type[BaseModel] | None = model
    for part in path:
        if isinstance(part, str) and inside is not None and part in inside.model_fields:
            inside = next(_models(inside.model_fields[part].annotation), None)
    return list(inside.model_fields) if inside is not None else []


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _models(part)


Reader = Callable[[str], object]


class PeopleFile(People):
    """``people.yaml``: the people, and the format of the file."""

    format: int = Field(default=1, ge=1, le=1)


class GaugesFile(GaugeRegister):
    """``gauges.yaml``: the gauges, and the format of the file."""

    format: int = Field(default=1, ge=1, le=1)


def check_people(people: People, where: Places, file: str) -> Iterator[Finding]:
    """SHP005 an id given twice; SHP006 days the wrong way round, no such stand-in, a PIN in the clear."""
    yield from _twice([person.id for person in people.people], "people", where, file)
    for index, person in enumerate(people.people):
        yield from _check_person(person, people, ("people", index), where, file)


def _check_person(
    person: Person, people: People, path: NodePath, where: Places, file: str
) -> Iterator[Finding]:
    if person.pin is not None and not HASH.fullmatch(person.pin):
        what = f"the PIN of {person.id} is not an argon2id hash"
        hint = f"take the line out, and set one: traveler people pin {person.id}"
        yield Finding("SHP006", what, place_of(where, (*path, "pin"), file), hint=hint)
    for index, held in enumerate(person.roles):
        at = (*path, "roles", index)
        if held.until is not None and held.until < held.since:
            what = f"{person.id} held '{held.role}' until {held.until}, before it began on {held.since}"
            yield Finding("SHP006", what, place_of(where, (*at, "until"), file), hint="swap the two days")
        if held.instead_of is not None and held.instead_of not in people.by_id:
            hint = did_you_mean(held.instead_of, people.by_id, "name somebody of this file")
            what = f"{person.id} stands in for '{held.instead_of}', who is not among the people"
            yield Finding("SHP006", what, place_of(where, (*at, "instead_of"), file), hint=hint)


def check_gauges(register: GaugeRegister, where: Places, file: str) -> Iterator[Finding]:
    """SHP005 an id given twice; SHP006 a number that cannot be read, or back in use before it was out."""
    yield from _twice([gauge.id for gauge in register.gauges], "gauges", where, file)
    for index, gauge in enumerate(register.gauges):
        yield from _times_out(gauge, ("gauges", index, "withdrawals"), where, file)
        for path, reader, text in _numbers(gauge):
            try:
                reader(text)
            except Unreadable as problem:
                what = f"{gauge.id}: {problem.what}"
                yield Finding(
                    "SHP006", what, place_of(where, ("gauges", index, *path), file), hint=problem.hint
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
    for index, withdrawal in enumerate(gauge.withdrawals):
        if withdrawal.back is not None and in_zone(withdrawal.back, UTC) < in_zone(withdrawal.out, UTC):
            what = f"{gauge.id} was back in use on {withdrawal.back:%Y-%m-%d %H:%M}, before it was out of use"
            yield Finding("SHP006", what, place_of(where, (*path, index, "back"), file), hint="swap the two")


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
    for index, entry_id in enumerate(ids):
        if (first := ids.index(entry_id)) < index:
            before = place_of(where, (key, first, "id"), file)
            what = f"the id '{entry_id}' is given twice, first in line {before.line}"
            yield Finding(
                "SHP005", what, place_of(where, (key, index, "id"), file), hint="keep one of the two"
            )


SHOP_FILE, PEOPLE_FILE, GAUGES_FILE = "shop.yaml", "people.yaml", "gauges.yaml"


@dataclass(frozen=True, slots=True)
class Shop:
    """A shop as its folder says it is, read once. ``folder`` is absolute."""

    folder: Path
    settings: Settings
    people: People
    gauges: GaugeRegister

    @property
    def product_defs(self) -> Path:
        """Where the product definitions lie."""
        return self.folder / self.settings.product_defs

    @property
    def output(self) -> Path:
        """Where finished sheets go, each unit's in a folder of its serial."""
        return self.folder / self.settings.output

    @property
    def zone(self) -> ZoneInfo:
        """The shop's time zone."""
        return self.settings.zone


@dataclass(frozen=True, slots=True)
class Opened:
    """A shop, or None where a finding blocks; ``settings_places`` says where each setting stands."""

    shop: Shop | None
    findings: tuple[Finding, ...]
    settings_places: Places = field(default_factory=dict)


def find_folder(start: Path) -> Path | None:
    """The nearest folder from ``start`` upwards that holds a ``shop.yaml``, or None."""
    return next((parent for parent in (start, *start.parents) if (parent / SHOP_FILE).is_file()), None)


def open_shop(folder: Path) -> Opened:
    """The shop in this folder, with everything that is wrong in its three files.

    Findings: SHP001 to SHP006 and those of the YAML reader, each with line and column.
    """
    folder = folder.absolute()
    settings = read_file(folder / SHOP_FILE, Settings)
    people = read_file(folder / PEOPLE_FILE, PeopleFile)
    gauges = read_file(folder / GAUGES_FILE, GaugesFile)
    findings = [*settings.findings, *people.findings, *gauges.findings]
    if settings.says is not None:
        findings += check_settings(settings.says, settings.places, str(folder / SHOP_FILE))
    if people.says is not None:
        findings += check_people(people.says, people.places, str(folder / PEOPLE_FILE))
    if gauges.says is not None:
        findings += check_gauges(gauges.says, gauges.places, str(folder / GAUGES_FILE))
    if blocking(findings) or settings.says is None or people.says is None or gauges.says is None:
        return Opened(None, tuple(findings), settings.places)
    return Opened(Shop(folder, settings.says, people.says, gauges.says), tuple(findings), settings.places)


def check_settings(settings: Settings, where: Places, file: str) -> Iterator[Finding]:
    """SHP006: another format, an unknown time zone, a number that is none, a folder elsewhere."""
    if settings.format != 1:
        yield _wrong("format", f"format {settings.format} is not known here, 1 is expected", where, file)
    if settings.time_zone not in available_timezones():
        what = f"there is no time zone '{settings.time_zone}'"
        yield _wrong("time_zone", what, where, file, "write an IANA name, such as Europe/Madrid or UTC")
    try:
        lifted_alone(settings.lift_alone)
    except Unreadable as problem:
        yield _wrong("lift_alone", problem.what, where, file, problem.hint)
    for key in ("guard_factor", "minimum_tur", "minimum_ppk"):
        try:
            positive_number(getattr(settings, key))
        except Unreadable as problem:
            yield _wrong(key, f"{key}: {problem.what}", where, file, problem.hint)
    for key in ("product_defs", "output"):
        if Path(getattr(settings, key)).is_absolute() or ".." in Path(getattr(settings, key)).parts:
            what = f"{key}: '{getattr(settings, key)}' leads out of the shop's folder"
            yield _wrong(key, what, where, file, "name a folder inside it")


def _wrong(key: str, what: str, where: Places, file: str, hint: str = "") -> Finding:
    return Finding("SHP006", what, place_of(where, (key,), file), hint=hint)


def seal_files(shop: Shop) -> tuple[Path, ...]:
    """The shop's seal file and its copies; relative ones lie in the shop's folder."""
    return tuple(shop.folder / seal for seal in shop.settings.seals)
