"""Whatever a definition says, its pages stay clean: nothing cut off, nothing under a box, no limit astray."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from traveler.definition.plan import Adjustment, Caution, GaugeNeed, PartLine, PlanLimits, StepKind
from traveler.sheets.resources import templates
from traveler.sheets.traveler import traveler_pdf
from traveler.sheets.vocabulary import spoken_limits
from traveler.sheets.words import words

WORDS = st.lists(
    st.sampled_from(["Turn", "the", "eccentric", "bush", "toward", "µm", "⌀25", "side,", "Ω."]), min_size=1
)
WORD = st.sampled_from(["Bore", "Spindle run-out (TIR)", "W" * 60, "Heightadjustmentscrewlocknuttorque"])
TEXT = st.one_of(WORD, WORDS.map(" ".join))
LIMITS = st.sampled_from(
    [
        PlanLimits(text="max 0.05 mm", unit="mm", upper="0.05", decimals=2),
        PlanLimits(text="24 N·m ± 1.5", unit="N·m", lower="22.5", upper="25.5", nominal="24", decimals=1),
        PlanLimits(text="-120.5 to 1200.25 mm/m", unit="mm/m", lower="-120.5", upper="1200.25", decimals=2),
    ]
)
PLACES = st.dictionaries(st.sampled_from(["head", "side", "row"]), st.integers(1, 9), max_size=3)
ADJUST = st.one_of(st.none(), TEXT.map(lambda text: Adjustment(rule="text", text=text)))
CAUTIONS = st.lists(
    st.builds(Caution, signal=st.sampled_from(["DANGER", "WARNING", "CAUTION", "NOTICE"]), text=TEXT),
    max_size=2,
)
GAUGE = st.builds(GaugeNeed, kind=st.just("indicator"), title=TEXT, resolution=st.just("0.001 mm"))
PARTS = st.lists(st.builds(PartLine, number=st.just("P-1041"), title=TEXT), max_size=4)
NO_SHRINKING = (Phase.explicit, Phase.reuse, Phase.generate)  # each page takes half a second
PLAIN = st.sampled_from(
    [StepKind.DO, StepKind.CONFIRM, StepKind.PHOTO, StepKind.COUNT, StepKind.WITNESS, StepKind.FIT]
)


@st.composite
def steps(draw, make, number: str):
    made = []
    for place in range(1, draw(st.integers(1, 6)) + 1):
        common = {"note": draw(st.one_of(st.just(""), TEXT)), "cautions": tuple(draw(CAUTIONS))}
        if draw(st.booleans()):
            common |= {"limits": draw(LIMITS), "gauge": draw(GAUGE), "adjust": draw(ADJUST)}
            made.append(make(number, place, StepKind.MEASURE, draw(TEXT), at=draw(PLACES), **common))
        else:
            made.append(make(number, place, draw(PLAIN), draw(TEXT), parts=tuple(draw(PARTS)), **common))
    return tuple(made)


def prove(data, step, plan_of, unit, shop, printed, reader, clean) -> None:
    operations = [
        data.draw(steps(step, str(10 * number))) for number in range(1, data.draw(st.integers(1, 3)) + 1)
    ]
    plan = plan_of(*operations, title=data.draw(TEXT), variant_title=data.draw(TEXT), mass="71 kg")
    face = replace(unit, serial="X" * data.draw(st.integers(3, 24)), order=data.draw(TEXT))
    size = data.draw(st.sampled_from(["A4", "Letter"]))
    language = data.draw(st.sampled_from(["en", "es"]))
    sheet = traveler_pdf(plan, face, shop.model_copy(update={"page_size": size}), printed, language=language)
    assert sheet.printed, sheet.findings
    read = reader(sheet.pdf)
    clean(read, size)
    texts = ["".join(text.split()) for text in read.texts()]
    for box in read.boxes():
        made = plan.step_of.get(box.name)
        if made is not None and made.limits is not None:
            limits = spoken_limits(made.limits.text, words(language, templates()))
            assert "".join(limits.split()) in texts[box.page], box


@settings(max_examples=5, deadline=None, phases=NO_SHRINKING, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_any_plan_gives_clean_pages(data, step, plan_of, unit, shop_settings, printed, reader, clean_pages):
    prove(data, step, plan_of, unit, shop_settings, printed, reader, clean_pages)


@pytest.mark.long
@settings(max_examples=300, deadline=None, phases=NO_SHRINKING, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_three_hundred_plans_give_clean_pages(
    data, step, plan_of, unit, shop_settings, printed, reader, clean_pages
):
    prove(data, step, plan_of, unit, shop_settings, printed, reader, clean_pages)
