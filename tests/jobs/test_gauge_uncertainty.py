"""Putting an uncertainty into ``gauges.yaml``: only these two keys of this gauge may change."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.finding import CannotDo
from traveler.shop.edit import set_uncertainty, with_gauge_values
from traveler.shop.gauges import Gauge
from traveler.trace.gauge_study import rounded_up

VALUES = {"uncertainty": "0.0071 mm", "k": "2"}

FORMS = {
    "a block without them": (
        "gauges:\n- id: A  # first\n  kind: x\n",
        "gauges:\n- id: A  # first\n  uncertainty: 0.0071 mm\n  k: 2\n  kind: x\n",
    ),
    "a block with them": (
        "gauges:\n  - kind: x\n    uncertainty: 5 mm # old\n    id: 'A'\n    k: 3\n",
        "gauges:\n  - kind: x\n    uncertainty: 0.0071 mm # old\n    id: 'A'\n    k: 2\n",
    ),
    "at the end of the file": ("gauges:\n- id: A", "gauges:\n- id: A\n  uncertainty: 0.0071 mm\n  k: 2"),
    "on one line": (
        "gauges: [{id: A, k: 3}, {id: B}]\n",
        "gauges: [{id: A, uncertainty: 0.0071 mm, k: 2}, {id: B}]\n",
    ),
    "with Windows lines": (
        "gauges:\r\n- id: A\r\n  kind: x\r\n",
        "gauges:\r\n- id: A\r\n  uncertainty: 0.0071 mm\r\n  k: 2\r\n  kind: x\r\n",
    ),
}


@pytest.mark.parametrize("name", FORMS)
def test_the_keys_are_set_in_every_way_a_gauge_may_be_written(name: str) -> None:
    before, expected = FORMS[name]
    assert with_gauge_values(before, "A", VALUES) == expected


def test_a_unit_with_signs_of_its_own_is_quoted() -> None:
    found = with_gauge_values("gauges:\n- id: A\n", "A", {"uncertainty": "0.1 mm: #x"})
    assert found is not None
    assert yaml.safe_load(found)["gauges"][0]["uncertainty"] == "0.1 mm: #x"


@pytest.mark.parametrize("text", ["", "gauges: []\n", "gauges:\n- id: B\n", "gauges: A\n", "- id: A\n"])
def test_without_the_gauge_nothing_is_changed(text: str) -> None:
    assert with_gauge_values(text, "A", VALUES) is None


def test_a_gauge_that_is_shared_by_reference_is_not_edited() -> None:
    shared = "base: &a {id: A, kind: x}\ngauges:\n- *a\n"
    assert with_gauge_values(shared, "A", VALUES) is None


def test_a_register_that_cannot_be_edited_safely_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "gauges.yaml"
    path.write_text("gauges:\n- &a {id: A, kind: x, interval_days: 9}\n- *a\n", encoding="utf-8")
    before = path.read_bytes()
    with pytest.raises(CannotDo, match="cannot be edited safely") as refused:
        set_uncertainty(tmp_path, Gauge(id="A", kind="x", interval_days=9), "0.1 mm", "2", date(2026, 6, 1))
    assert refused.value.hint == "write it by hand at A: uncertainty: 0.1 mm, k: 2"
    assert path.read_bytes() == before


names = st.sampled_from(["IND-03", "A", "Z9"])
gauges = st.lists(
    st.fixed_dictionaries(
        {"id": names, "kind": st.sampled_from(["indicator", "ring"])},
        optional={
            "k": st.sampled_from(["2", "3"]),
            "uncertainty": st.just("9 µm"),
            "title": st.text("ab :#é'", max_size=9),
        },
    ),
    min_size=1,
    max_size=4,
    unique_by=lambda one: one["id"],
)


@settings(deadline=None)
@given(gauges, st.booleans(), st.sampled_from([None, True, False]))
def test_only_the_two_values_of_the_one_gauge_change(listed, sort_keys, flow) -> None:
    text = yaml.safe_dump(
        {"format": 1, "gauges": listed}, sort_keys=sort_keys, default_flow_style=flow, allow_unicode=True
    )
    found = with_gauge_values(text, listed[0]["id"], VALUES)
    assert found is not None
    old, new = (yaml.load(item, Loader=yaml.BaseLoader) for item in (text, found))  # noqa: S506
    old["gauges"][0].update(VALUES)
    assert new == old


ROUNDED = {
    "0.00702": "0.0071",
    "0.0070": "0.0070",
    "0.00995": "0.010",
    "1": "1.0",
    "9.95": "10",
    "1234": "1300",
    "0": "0",
}


@pytest.mark.parametrize("text", ROUNDED)
def test_an_uncertainty_is_never_rounded_down(text: str) -> None:
    assert rounded_up(Fraction(text)) == ROUNDED[text]
