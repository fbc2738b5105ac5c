"""Entries: what was done, who did it, when, and what the entry refers to. Only ever appended."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from traveler.definition.fields import Frozen

Source = Literal["tool", "tablet", "pdf", "file", "paper"]
"""How an entry came: written by a job, a tablet, a filled PDF, a results file, keyed from paper."""


class Signable(Frozen):
    """What somebody stands for with their name.

    Both fields came later; left at their defaults they change no byte of what was hashed before.
    """

    pin_checked: bool = False
    """The PIN of the person who signs was asked for and was right."""
    instead_of: str | None = None
    """The id of the person whose absence was covered: the role that this takes was held by delegation."""


class KeptPicture(Frozen):
    """A picture of the definition as it was when units were first issued by it: its name, and its SHA-256."""

    name: str
    file: str


class Issued(Frozen):
    """The unit got its serial, and the definition it is built to is frozen by digest."""

    kind: Literal["issued"] = "issued"
    product: str
    revision: str
    variant: str
    digest: str
    order: str | None = None
    quantity: int | None = None
    due: str | None = None
    options: tuple[str, ...] = ()
    """Ids of the options ordered."""
    pictures: tuple[KeptPicture, ...] = ()
    """Those of the definition, kept with the records: a sheet printed again shows the very same."""


class Ticked(Frozen):
    """A step is done."""

    kind: Literal["ticked"] = "ticked"


class Confirmed(Frozen):
    """A statement was looked at and is true (``yes``), or is not."""

    kind: Literal["confirmed"] = "confirmed"
    yes: bool = True


class Read(Frozen):
    """A reading: as written, and as understood (exact number as text, unit in canonical spelling)."""

    kind: Literal["read"] = "read"
    written: str
    value: str
    unit: str | None
    gauge: str | None = None
    as_found: bool = False
    """Read before an adjustment."""
    unit_from: Literal["written", "column", "sheet"] = "written"
    """Where the unit was taken from; ``sheet``: it is printed beside the box."""

    @property
    def in_box(self) -> str:
        """As it was written; with its unit where that stood in a column of its own."""
        return f"{self.written} {self.unit}" if self.unit_from == "column" and self.unit else self.written

    @property
    def with_unit(self) -> str:
        """As it was written, with its unit wherever that stood."""
        return self.written if self.unit_from == "written" or not self.unit else f"{self.written} {self.unit}"


class Fitted(Frozen):
    """A traced part went in."""

    kind: Literal["fitted"] = "fitted"
    trace: Literal["serial", "lot"]
    value: str
    number: str | None = None


class Signed(Signable):
    """An operation is complete."""

    kind: Literal["signed"] = "signed"


class Witnessed(Signable):
    """A hold point was signed."""

    kind: Literal["witnessed"] = "witnessed"


class Counted(Frozen):
    """Pieces of a lot after an operation."""

    kind: Literal["counted"] = "counted"
    good: int = Field(ge=0)
    rework: int = Field(default=0, ge=0)
    scrap: int = Field(default=0, ge=0)


class Packed(Frozen):
    """An item of the packing list is in the crate."""

    kind: Literal["packed"] = "packed"


class Photographed(Frozen):
    """A photograph belongs to the slot. ``file`` is its SHA-256 where it is kept with the records."""

    kind: Literal["photographed"] = "photographed"
    file: str | None = None
    name: str | None = None
    text: str | None = None
    """What is to be seen on it."""


class Adjusted(Frozen):
    """An adjustment was made between two readings; ``advised`` is what the tool had said."""

    kind: Literal["adjusted"] = "adjusted"
    done: str
    amount: str | None = None
    advised: str | None = None
    followed: bool | None = None


class Stopped(Signable):
    """A nonconformance: the unit (or the slot) stops until it is decided on."""

    kind: Literal["stopped"] = "stopped"
    what: str


class Decided(Signable):
    """The disposition of a nonconformance (``stop`` is the seq of the entry that stopped)."""

    kind: Literal["decided"] = "decided"
    stop: int
    decision: Literal["rework", "repair", "use_as_is", "scrap", "return_to_supplier", "no_fault"]
    concession: str | None = None
    text: str = ""
    measure_again: tuple[str, ...] = ()


class Struck(Signable):
    """The entry with this seq is struck out; it stays legible."""

    kind: Literal["struck"] = "struck"
    strikes: int
    reason: str = Field(min_length=1)


class Released(Signable):
    """Quality released the unit; ``head`` and ``count`` are those of the chain before this entry."""

    kind: Literal["released"] = "released"
    head: str
    count: int
    sealed: str | None = None
    """Hash of the last line of the shop's seal file then, so that a cut seal file shows."""
    seal_file: str | None = None
    """Hash of the first line of that file, which distinguishes it from those of other shops and computers."""


class Crated(Signable):
    """The crate is closed."""

    kind: Literal["crated"] = "crated"
    gross_mass: str | None = None


class Placed(Signable):
    """The crate stands somewhere in stock."""

    kind: Literal["placed"] = "placed"
    place: str


class Shipped(Signable):
    """The crate left."""

    kind: Literal["shipped"] = "shipped"
    customer: str
    carrier: str | None = None
    reference: str | None = None


class Arrived(Frozen):
    """A value that a customer read: as written, and as understood (exact number as text)."""

    slot: str
    written: str
    value: str
    unit: str | None
    uncertainty: str | None = None
    """What the customer says of their gauge: expanded uncertainty (k = 2) in ``unit``."""


class Complained(Signable):
    """A customer complained: this opens a case, known by the unit's serial and the number of this entry."""

    kind: Literal["complained"] = "complained"
    text: str
    check: str | None = None
    reading: str | None = None
    symptoms: tuple[str, ...] = ()
    """Ids from the shop's list."""
    readings: tuple[Arrived, ...] = ()
    photos: tuple[str, ...] = ()
    """SHA-256 of photographs and documents kept with the records."""
    contact: str | None = None


class FollowedUp(Signable):
    """A step in the case that the complaint ``case`` (the seq of its entry) opened."""

    kind: Literal["followed_up"] = "followed_up"
    case: int = Field(ge=1)
    step: Literal[
        "contained", "cause", "action", "effective", "not_effective", "closed", "unfounded", "reopened"
    ]
    text: str = Field(min_length=1)
    causes: tuple[str, ...] = ()
    """What the cause lies in, to be looked up: ``lot P-2112/78``."""
    due: str | None = None
    """The day by which the effect of the action is to be checked, ISO 8601."""


class Noted(Signable):
    """A remark, or a document: then ``file`` is its SHA-256 and ``name`` the name it came with."""

    kind: Literal["noted"] = "noted"
    text: str
    file: str | None = None
    name: str | None = None


class Reprinted(Frozen):
    """A sheet was printed again; the first print is copy 1."""

    kind: Literal["reprinted"] = "reprinted"
    sheet: str
    copy_number: int


Body = Annotated[
    Issued | Ticked | Confirmed | Read | Fitted | Signed | Witnessed | Counted | Packed | Photographed
    | Adjusted | Stopped | Decided | Struck | Released | Crated | Placed | Shipped | Complained | Noted
    | Reprinted | FollowedUp,
    Field(discriminator="kind"),
]  # fmt: skip
"""What an entry says; ``kind`` tells which."""


class Draft(Frozen):
    """An entry before the store gives it its number and its place in the chain.

    ``at`` is when it was done, as the person says; the store adds when it was recorded. ``zone`` is the
    IANA name of the shop's zone then, so that the day of an old entry stays the day on the shop's wall.
    """

    unit: str
    at: AwareDatetime
    zone: str | None = None
    by: str
    slot: str | None = None
    body: Body
    source: Source = "tool"


class Entry(Draft):
    """An entry as kept: ``seq`` counts from 1 per unit, ``hash`` chains to ``previous`` (hex SHA-256)."""

    seq: int
    recorded: AwareDatetime
    previous: str
    hash: str


def utc(moment: datetime) -> datetime:
    """The moment in UTC; a time without a zone is refused.

    Raises:
        ValueError: ``moment`` is naive.
    """
    from datetime import UTC

    if moment.tzinfo is None:
        msg = "a time without a zone cannot be recorded"
        raise ValueError(msg)
    return moment.astimezone(UTC)


KINDS = ("gauge", "lot", "part_serial", "person", "customer", "order", "complaint", "symptom", "cause")
"""The kinds of reference there are; that of a ``complaint`` is its day (UTC), so that they can be listed."""


def reference_value(text: str) -> str:
    """The value as it is looked up: one Unicode form, upper case, single spaces.

    >>> reference_value(" lot  4711a ")
    'LOT 4711A'
    """
    return " ".join(unicodedata.normalize("NFC", text).upper().split())


def entry_references(draft: Draft) -> tuple[tuple[str, str], ...]:
    """The (kind, value) pairs of an entry or draft, each once, values as :func:`reference_value` gives."""
    found = [("person", draft.by)]
    match draft.body:
        case Read(gauge=str(gauge)):
            found.append(("gauge", gauge))
        case Fitted(trace="lot", value=lot):
            found.append(("lot", lot))
        case Fitted(value=serial):
            found.append(("part_serial", serial))
        case Shipped(customer=customer):
            found.append(("customer", customer))
        case Issued(order=str(order)):
            found.append(("order", order))
        case Complained(symptoms=symptoms):
            found += [
                ("complaint", utc(draft.at).date().isoformat()),
                *(("symptom", symptom) for symptom in symptoms),
            ]
        case FollowedUp(causes=causes):
            found += [("cause", cause) for cause in causes]
        case _:
            pass
    return tuple(dict.fromkeys((kind, reference_value(value)) for kind, value in found))


UNSTRIKABLE = frozenset({"issued", "stopped"})
"""The issue of a unit stays. A stop stays until a decision closes it, or a strike-out would open the gate."""

WITHDRAWN_BY_QUALITY = frozenset(
    {"decided", "released", "crated", "placed", "shipped", "witnessed", "complained", "followed_up"}
)
"""Kinds whose strike-out takes the action ``withdraw``, even of one's own entry."""


def struck_out(entries: Iterable[tuple[int, str, int | None]]) -> dict[int, int]:
    """Number of each struck entry → number of the standing entry that strikes it out.

    A strike-out works on an earlier entry only, can itself be struck out, and leaves kinds in
    :data:`UNSTRIKABLE` standing. Of two strike-outs of one entry the later counts.

    Args:
        entries: number, kind, and for a strike-out the number that it strikes.
    """
    ordered = sorted(entries, key=lambda entry: entry[0], reverse=True)
    kinds = {seq: kind for seq, kind, _ in ordered}
    struck: dict[int, int] = {}
    for seq, _, target in ordered:
        if target is None or target >= seq or seq in struck or kinds.get(target) in UNSTRIKABLE:
            continue
        struck.setdefault(target, seq)
    return struck


def struck_by(entries: Iterable[Entry]) -> dict[int, int]:
    """Number of each struck entry → number of the standing entry that strikes it out."""
    return struck_out(
        (entry.seq, entry.body.kind, entry.body.strikes if isinstance(entry.body, Struck) else None)
        for entry in entries
    )


def standing_entries(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The entries that stand, in their order. Struck entries stay in the record; they only stop counting."""
    struck = struck_by(entries) if any(isinstance(entry.body, Struck) for entry in entries) else {}
    return tuple(entry for entry in entries if entry.seq not in struck)


def done_order(entry: Entry) -> tuple[datetime, int]:
    """Sort key: when the work was done, then the number of the entry."""
    return entry.at, entry.seq


def recorded_late(entry: Entry, after_hours: int) -> timedelta | None:
    """How long after the work it was recorded, where that is more than so many hours; else None.

    What is written long after the work is remembered, not observed.
    """
    behind = entry.recorded - entry.at
    return behind if behind > timedelta(hours=after_hours) else None
