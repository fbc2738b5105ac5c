"""Published and worked-out check values: ``tests/reference/spc.yaml`` and the NIST data sets beside it."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest
import yaml

REFERENCE = Path(__file__).parents[2] / "reference"


def cases(*files: str) -> list[dict]:
    """Every case of those files; all scalars stay text, so no digit is lost."""
    found = []
    for name in files:
        text = (REFERENCE / name).read_text(encoding="utf-8")
        found += yaml.load(text, Loader=yaml.CBaseLoader)["cases"]  # noqa: S506 - BaseLoader only makes text
    return found


def column(name: str) -> list[dict[str, str]]:
    with (REFERENCE / "strd" / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """``case_of_<op>`` stands for every case of that op, one test each."""
    for name in metafunc.fixturenames:
        if name.startswith("case_of_"):
            op = name.removeprefix("case_of_")
            chosen = [case for case in cases("spc.yaml") if case["op"] == op]
            assert chosen, f"no case for {op}"
            metafunc.parametrize(name, chosen, ids=[case["id"] for case in chosen])
    for name, file in (("univariate", "strd_univariate.yaml"), ("anova", "strd_anova.yaml")):
        if name in metafunc.fixturenames:
            chosen = cases(file)
            metafunc.parametrize(name, chosen, ids=[case["id"] for case in chosen])


@pytest.fixture
def strd():
    """The rows of a NIST data set by file name."""
    return column


@pytest.fixture
def close():
    """Whether two numbers differ by no more than a tolerance, all taken exactly."""

    def within(found: object, expected: object, tolerance: object) -> bool:
        return abs(Decimal(str(found)) - Decimal(str(expected))) <= Decimal(str(tolerance))

    return within
