"""Complaints: what is recorded, what is refused, what the customer's values say."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from PIL import Image

from traveler.finding import CannotDo
from traveler.jobs.attach import GivenFile, attach
from traveler.jobs.case import CaseStep, follow_up
from traveler.jobs.complain import Complaint, complain
from traveler.jobs.shipping import crate, place, release, ship
from traveler.record.entry import Shipped
from traveler.trace.cases import find_case, list_cases
from traveler.trace.verify import verify_records

if TYPE_CHECKING:
    from conftest import Bench


def _png() -> bytes:
    made = io.BytesIO()
    Image.effect_noise((64, 64), 50).save(made, "PNG")
    return made.getvalue()


PNG = _png()
PLAY = "play/side=left"


@pytest.fixture
def shop(bench: Bench) -> Bench:
    """The bench in a shop that keeps a list of symptoms."""
    settings = bench.session.shop.settings.model_copy(
        update={"symptoms": {"noise": "Hums", "rough": "Shakes"}}
    )
    bench.session = replace(bench.session, shop=replace(bench.session.shop, settings=settings))
    return bench


def shipped(bench: Bench) -> str:
    serial = bench.built()
    assert release(bench.session, serial, "qmoor").taken
    bench.record(serial, bench.fillings(serial, ["C"]))
    for done in (
        crate(bench.session, serial, "pstrap"),
        place(bench.session, serial, "Bay 1", "pstrap"),
        ship(bench.session, serial, Shipped(customer="Aldermoor Weavers"), "sdock"),
    ):
        assert done.taken, [str(finding) for finding in done.findings]
    bench.later()
    return serial


def codes(findings: object) -> list[str]:
    return [finding.code for finding in findings]  # type: ignore[attr-defined]


def test_a_complaint_opens_a_case_that_is_found_by_symptom(shop: Bench) -> None:
    serial = shipped(shop)
    said = Complaint("Hums at full speed", ("noise",), contact="J. at the mill")
    done = complain(shop.session, serial, said, "sdock")
    assert done.findings == ()
    assert done.case is not None
    assert done.case.state == "open"
    with shop.session.store.reading() as records:
        assert [case.case.name for case in list_cases(shop.session, records, symptom="noise")] == [
            done.case.name
        ]
        assert list_cases(shop.session, records, symptom="rough") == ()
        assert records.unit(serial).state == "shipped"
    assert verify_records(shop.session).findings == ()


def test_the_customers_value_is_set_beside_ours(shop: Bench) -> None:
    serial = shipped(shop)
    done = complain(shop.session, serial, Complaint("Loose", (), ((PLAY, "0.071 mm ± 0.005 mm"),)), "sdock")
    (value,) = done.values
    assert value.changed is True
    assert value.inside is False
    assert done.case is not None
    assert done.case.complaint.readings[0].uncertainty == "0.005"


def test_a_value_in_inches_is_compared_exactly(shop: Bench) -> None:
    serial = shipped(shop)
    done = complain(shop.session, serial, Complaint("Loose", (), ((PLAY, "0.002 in"),)), "sdock")
    assert done.values[0].as_dict()["found"] == "0.0508"
    assert done.values[0].inside is False


@pytest.mark.parametrize(
    ("check", "reading", "code", "hint"),
    [
        ("pley", "0.07 mm", "CAS004", "did you mean 'play'?"),
        ("play", "0.07 mm", "CAS004", "play/side=left"),
        ("play/side=top", "0.07 mm", "CAS004", "play/side=left"),
        (PLAY, "0.07", "CAS005", ""),
        (PLAY, "0.07 N", "CAS005", ""),
        (PLAY, "0.07 mm ± -1 mm", "CAS005", ""),
        (PLAY, "much", "CAS005", ""),
    ],
)
def test_a_value_that_is_not_understood_is_refused(
    shop: Bench, check: str, reading: str, code: str, hint: str
) -> None:
    serial = shop.unit()
    done = complain(shop.session, serial, Complaint("Loose", (), ((check, reading),)), "sdock")
    assert done.case is None
    found = next(finding for finding in done.findings if finding.code == code)
    assert hint in str(found)


def test_a_symptom_not_in_the_list_is_refused_with_the_one_meant(shop: Bench) -> None:
    serial = shop.unit()
    done = complain(shop.session, serial, Complaint("Hums", ("niose",)), "sdock")
    assert done.case is None
    assert "did you mean 'noise'?" in str(done.findings[0])
    with shop.session.store.reading() as records:
        assert len(records.entries(serial)) == 1


def test_a_unit_that_never_left_is_told_and_recorded(shop: Bench) -> None:
    done = complain(shop.session, shop.unit(), Complaint("Hums"), "sdock")
    assert codes(done.findings) == ["CAS002"]
    assert done.case is not None


def test_photographs_are_kept_once_and_what_is_none_is_refused(shop: Bench) -> None:
    serial = shop.unit()
    refused = complain(shop.session, serial, Complaint("Bent", photos=(("a.gif", b"GIF89a\0"),)), "sdock")
    assert codes(refused.findings)[0] == "ATT002"
    done = complain(shop.session, serial, Complaint("Bent", photos=(("a.png", PNG), ("b.png", PNG))), "sdock")
    assert done.case is not None
    (digest,) = done.case.complaint.photos
    assert shop.session.store.attachments.get(digest) == PNG


def test_a_truncated_photograph_is_refused_with_a_complaint_as_it_is_when_it_is_attached(shop: Bench) -> None:
    serial = shop.unit()
    photo = ("crate.png", PNG[: len(PNG) // 2])
    attached = attach(shop.session, serial, [GivenFile(*photo)], "sdock")
    complained = complain(shop.session, serial, Complaint("Bent", photos=(photo,)), "sdock")
    (finding,) = attached.findings
    assert (finding.code, finding in complained.findings) == ("ATT003", True)
    assert (attached.files, complained.case) == ((), None)


def test_somebody_unknown_cannot_complain_and_a_complaint_needs_words(shop: Bench) -> None:
    serial = shop.unit()
    assert "PER001" in codes(complain(shop.session, serial, Complaint("Hums"), "nobody").findings)
    with pytest.raises(CannotDo, match="is empty"):
        complain(shop.session, serial, Complaint("  "), "sdock")


def test_a_case_is_worked_on_step_by_step_or_all_at_once(shop: Bench) -> None:
    serial = shipped(shop)
    complain(shop.session, serial, Complaint("Hums"), "sdock")
    steps = [CaseStep("contained", "stopped the lot"), CaseStep("cause", "bad lot", ("lot P-9001/77",))]
    done = follow_up(shop.session, serial, steps, "qmoor")
    assert (done.findings, str(done.case.state)) == ((), "cause found")
    last = [
        CaseStep("action", "new supplier", due="2026-12-15"),
        CaseStep("effective", "20 units"),
        CaseStep("closed", "done"),
    ]
    assert follow_up(shop.session, done.case.name, last, "qmoor").case.closed
    with shop.session.store.reading() as records:
        assert find_case(records, serial).closed
        assert list_cases(shop.session, records, opened=True) == ()
        assert [item.unit for item in records.where_used("cause", "lot p-9001/77")] == [serial]


def test_steps_are_all_taken_or_none(shop: Bench) -> None:
    serial = shop.unit()
    complain(shop.session, serial, Complaint("Hums"), "sdock")
    done = follow_up(shop.session, serial, [CaseStep("contained", "x"), CaseStep("closed", "y")], "qmoor")
    assert codes(done.findings) == ["CAS003"]
    with shop.session.store.reading() as records:
        assert str(find_case(records, serial).state) == "open"


def test_who_may_not_and_days_that_are_none_are_told(shop: Bench) -> None:
    serial = shop.unit()
    complain(shop.session, serial, Complaint("Hums"), "sdock")
    assert codes(follow_up(shop.session, serial, [CaseStep("contained", "x")], "sdock").findings) == [
        "GAT002"
    ]
    assert codes(follow_up(shop.session, serial, [CaseStep("unfounded", "x")], "rhale").findings) == [
        "GAT002"
    ]
    late = [CaseStep("cause", "x"), CaseStep("action", "y", due="soon")]
    assert codes(follow_up(shop.session, serial, late, "qmoor").findings) == ["CAS006"]


def test_a_unit_with_several_open_cases_has_to_be_told_apart(shop: Bench) -> None:
    serial = shop.unit()
    with shop.session.store.reading() as records, pytest.raises(CannotDo, match="no complaint"):
        find_case(records, serial)
    first = complain(shop.session, serial, Complaint("Hums"), "sdock").case
    complain(shop.session, serial, Complaint("Shakes"), "sdock")
    assert first is not None
    with shop.session.store.reading() as records:
        with pytest.raises(CannotDo, match="several open cases"):
            find_case(records, serial)
        assert find_case(records, first.name).name == first.name
        with pytest.raises(CannotDo, match="is not a complaint"):
            find_case(records, f"{serial}/1")


def test_a_refused_complaint_keeps_no_file(shop: Bench) -> None:
    serial = shipped(shop)
    before = list(shop.session.store.attachments.digests())
    early = shop.session.now - timedelta(days=4000)
    done = complain(shop.session, serial, Complaint("Bent", photos=(("a.png", PNG),)), "sdock", early)
    assert done.case is None
    assert list(shop.session.store.attachments.digests()) == before
