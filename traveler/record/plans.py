"""Units found by their serial, and their plans: always from the definition each was issued with."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

from traveler.definition.expand import expand
from traveler.definition.fields import LANGUAGE, languages_of
from traveler.definition.model import Definition, from_canonical
from traveler.definition.plan import Plan
from traveler.definition.serial import serial_problem, tidy_serial
from traveler.finding import CannotDo
from traveler.record.entry import Entry, Issued
from traveler.record.errors import StoreDamaged
from traveler.record.light import LightEntry
from traveler.record.records import Records, Unit
from traveler.text import listed, near_names


def issued_with(records: Records, unit: Unit) -> Issued:
    """What the unit was issued with.

    Raises:
        StoreDamaged: its first entry is not an issue.
    """
    return first_issue(unit, records.entries(unit.serial))


def first_issue(unit: Unit, entries: Iterable[Entry]) -> Issued:
    """The issue with which the entries of a unit begin.

    Raises:
        StoreDamaged: the first entry is not an issue.
    """
    first = next(iter(entries), None)
    if first is None or not isinstance(first.body, Issued):
        what = f"the records of {unit.serial} do not begin with its issue"
        raise StoreDamaged(what, "run 'traveler records verify', and compare with a backup")
    return first.body


def plan_of(records: Records, unit: Unit) -> Plan:
    """The plan of the unit: the stored definition, its variant, its options, its quantity.

    Raises:
        StoreDamaged: the definition is not there any more or cannot be read.
    """
    return plan_as_issued(records, issued_with(records, unit))


def plan_as_issued(records: Records, issued: Issued, language: str = LANGUAGE) -> Plan:
    """The plan that an issue speaks of; see :func:`plan_of`.

    Judging takes it in the first language of definitions always; sheets show its texts in theirs.
    """
    definition = records.definition_of(issued.digest)
    if definition is None:
        what = f"the definition {issued.digest[:12]} of {issued.product} {issued.revision} is not stored"
        raise StoreDamaged(what, "restore a backup")
    return _plan(definition.content, issued.variant, issued.digest, issued.options, issued.quantity, language)


def texts_as_issued(records: Records, issued: Issued, language: str) -> tuple[Plan, ...]:
    """The plan with its texts in each language of a sheet (``es``, ``es+en``), in their order.

    Raises:
        StoreDamaged: see :func:`plan_of`.
    """
    return tuple(plan_as_issued(records, issued, each) for each in languages_of(language))


@lru_cache(maxsize=64)
def _plan(
    content: str, variant: str, digest: str, options: tuple[str, ...], quantity: int | None, language: str
) -> Plan:
    """The plan; the same object for the same unit kind, which the verdict's own look-ups rely on."""
    try:
        definition = _definition(content)
        return expand(definition, variant, digest, language, options=options, quantity=quantity)
    except (ValueError, KeyError) as problem:
        what = f"the stored definition {digest[:12]} cannot be read: {problem}"
        raise StoreDamaged(what, "restore a backup") from problem


@lru_cache(maxsize=32)
def _definition(content: str) -> Definition:
    return from_canonical(content.encode())


class Plans:
    """Plans by what units were issued with; units issued alike share one."""

    def __init__(self, records: Records) -> None:
        self._records = records

    def plan(self, unit: Unit, entries: Iterable[Entry]) -> Plan:
        """The plan of the unit, from its first entry.

        Raises:
            StoreDamaged: the first entry is not an issue, or its definition cannot be read.
        """
        return plan_as_issued(self._records, first_issue(unit, entries))

    def seen(self, entries: Iterable[LightEntry]) -> Plan | None:
        """The plan by the light entries of a unit; None where its issue is not among them.

        Raises:
            StoreDamaged: its definition cannot be read.
        """
        issued = next((entry for entry in entries if entry.kind == "issued"), None)
        if issued is None:
            return None
        try:
            return plan_as_issued(self._records, Issued.model_validate(issued.says()))
        except ValueError as problem:
            raise issued.damaged() from problem

    def of_product(self, product: str) -> Iterator[Plan]:
        """A plan of every revision and variant of the product that was frozen, with every option."""
        for issued in self._records.revisions(product):
            definition = _definition(issued.content)
            for variant in definition.variants:
                body = Issued(
                    product=product, revision=issued.revision, variant=variant, digest=issued.digest,
                    options=tuple(definition.options), quantity=1 if definition.track == "lot" else None,
                )  # fmt: skip
                yield plan_as_issued(self._records, body)


def checked_serial(text: str) -> str:
    """The serial as it is compared, once its check character is found right.

    Raises:
        CannotDo: one character is wrong, two changed places, or it has not the form of a serial.
    """
    wrong = serial_problem(text)
    if wrong is not None:
        raise CannotDo(wrong.what, wrong.hint)
    return tidy_serial(text)


class UnknownUnit(CannotDo):
    """No unit of this serial was issued here."""


def known_unit(records: Records, serial: str) -> Unit:
    """The unit of this serial.

    Raises:
        UnknownUnit: no unit of this serial was issued here.
    """
    unit = records.unit(serial)
    if unit is None:
        what = f"there is no unit {serial}: this serial was never issued here"
        raise UnknownUnit(what, "compare it with the nameplate, hyphens too")
    return unit


FEWEST_CHARACTERS = 3
"""So many last characters of a serial name its unit at least; with fewer, a slip finds another one."""

FEWEST_WHOLE = 8
"""A text of fewer characters without a hyphen is the end of a serial."""

CANDIDATES = 8
"""So many candidates are listed where several serials end in what was given."""


def find_serial(records: Records, text: str) -> str:
    """The serial that a person named: whole, without its hyphens, or by its end where no other ends so.

    Raises:
        CannotDo: none is named so, or several are; or a whole serial has a wrong character.
    """
    serial = tidy_serial(text)
    if serial_problem(serial) is None and records.unit(serial) is not None:
        return serial
    plain = serial.replace("-", "")
    found = records.serials_ending(plain) if len(plain) >= FEWEST_CHARACTERS and plain.isalnum() else ()
    whole = [known for known in found if known.replace("-", "") == plain]
    if len(whole or found) == 1:
        return (whole or found)[0]
    if found:
        more = f" and {len(found) - CANDIDATES} more" if len(found) > CANDIDATES else ""
        what = f"'{text.strip()}' is the end of {len(found)} serials: {', '.join(found[:CANDIDATES])}{more}"
        raise CannotDo(what, "give more of its characters")
    _refuse_unlike(records, serial)
    known_unit(records, checked_serial(text))
    return serial


def _refuse_unlike(records: Records, serial: str) -> None:
    """Refuses a text that is the end of no serial, or a serial without its check character.

    Raises:
        CannotDo: it is one of them; the hint has the nearest serials.
    """
    if not serial:
        what = "which unit? The serial is empty"
        raise CannotDo(what, LIST_SERIALS)
    wrong = serial_problem(serial)
    if wrong is None or wrong.code != "SER001":
        return
    known = records.serials_ending("")
    unfinished = [name for name in known if name[:-1].endswith(serial)]
    short = len(serial) < FEWEST_WHOLE
    same = [name for name in known if name[:-1] == serial[:-1]]
    near = unfinished or same or ([] if short else near_names(serial, known))
    quoted = [f"'{name}'" for name in near[:CANDIDATES]]
    meant = f"did you mean {listed(quoted, 'or')}?" if near else ""
    if short and "-" not in serial:
        what = f"no serial ends in '{serial}'"
        raise CannotDo(what, meant or LIST_SERIALS)
    if unfinished or any(_shape(name[:-1]) == _shape(serial) for name in known):
        what = f"'{serial}' is too short: the check character is missing"
        raise CannotDo(what, meant or wrong.hint)
    raise CannotDo(wrong.what, meant or wrong.hint)


LIST_SERIALS = "'traveler status --all' lists the units"


def _shape(serial: str) -> tuple[int, ...]:
    """How many characters stand between the hyphens."""
    return tuple(len(part) for part in serial.split("-"))


def find_serials(records: Records, texts: Iterable[str]) -> tuple[str, ...]:
    """The serials that a person named, each once, in the order given; see :func:`find_serial`."""
    return tuple(dict.fromkeys(find_serial(records, text) for text in texts))
