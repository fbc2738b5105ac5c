"""A file to fill in for one unit."""

from __future__ import annotations

from typing import Literal

from traveler.jobs.office import Office
from traveler.jobs.plans import issued_with, texts_as_issued
from traveler.jobs.units import known_unit
from traveler.record.blank import blank_csv, blank_yaml


def blank_file(office: Office, serial: str, kind: Literal["csv", "yaml"]) -> str:
    """The text of a results file with every slot of the unit, nothing filled in.

    What the slots are called is in the language of the unit's sheets, of two in the first.

    Raises:
        CannotDo: no unit of this serial was issued here.
    """
    with office.store.reading() as records:
        issued = issued_with(records, known_unit(records, serial))
        plan = texts_as_issued(records, issued, office.speaks())[0]
    return blank_csv(plan, serial) if kind == "csv" else blank_yaml(plan, serial)
