"""Every published case is looked at by some test, and each says where it comes from."""

from pathlib import Path

import yaml

HERE = Path(__file__).parent
SPC = yaml.load((HERE.parents[1] / "reference/spc.yaml").read_text(encoding="utf-8"), Loader=yaml.CSafeLoader)


def test_every_kind_of_published_case_has_a_test():
    tests = "\n".join(path.read_text(encoding="utf-8") for path in HERE.glob("test_*.py"))
    kinds = {case["op"] for case in SPC["cases"]}
    assert len(kinds) == 7
    assert {kind for kind in kinds if f"case_of_{kind}" not in tests} == set()


def test_every_case_says_where_it_comes_from():
    assert [case["id"] for case in SPC["cases"] if not case.get("where") or not case.get("provenance")] == []
