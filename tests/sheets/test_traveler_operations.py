"""Single operations as sheets of their own."""

from __future__ import annotations

from functools import partial

import pytest

from traveler.sheets.traveler import operations_pdf

crating_pdf = partial(operations_pdf, numbers=("C",))
final_checklist_pdf = partial(operations_pdf, numbers=("Q",))


@pytest.mark.parametrize(("make", "number"), [(final_checklist_pdf, "Q"), (crating_pdf, "C")])
def test_its_boxes_are_those_of_the_traveler_with_the_identity(
    make, number, winder, unit, settings, printed, pictures, winder_reader, reader
):
    sheet = make(winder, unit, settings, printed, pictures=pictures)
    assert sheet.printed, sheet.findings
    names = {box.name for box in reader(sheet.pdf).boxes()}
    travelers = {box.name for box in winder_reader.boxes()}
    identity = {"unit#serial", "unit#revision", "unit#digest"}
    wanted = {
        name
        for name in travelers
        if name.startswith((f"{number}-", f"{number}/")) and not name.endswith("#open")
    }
    assert names == wanted | identity


def test_an_operation_the_plan_lacks_is_refused(winder, unit, settings, printed):
    with pytest.raises(KeyError):
        operations_pdf(winder, unit, settings, printed, ("99",))
