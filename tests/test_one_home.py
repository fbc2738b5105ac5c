"""Each rule of the trade is one function: a second definition anywhere in the package is found here.

A rule is recognized by what its code must look at: the number that a strike-out strikes, when an entry was
recorded and when the work was done, and so on. ``Rule.homes`` are the functions that may look at it.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "traveler"


@dataclass(frozen=True)
class Rule:
    """How a rule is recognized, where it may be, and a second definition that must be found."""

    found: Callable[[ast.AST], bool]
    homes: tuple[str, ...]
    second: str


def attribute(node: ast.AST, name: str) -> bool:
    """Whether the node reads the attribute, directly or in a call of it."""
    return (isinstance(node, ast.Attribute) and node.attr == name) or (
        isinstance(node, ast.Call) and attribute(node.func, name)
    )


def reads(node: ast.AST, *names: str) -> bool:
    """Whether each of the attributes is read somewhere in the node."""
    return all(any(attribute(part, name) for part in ast.walk(node)) for name in names)


def says(node: ast.AST, *texts: str) -> bool:
    """Whether one of the texts stands in the node."""
    return any(isinstance(part, ast.Constant) and part.value in texts for part in ast.walk(node))


def compares(node: ast.AST, *names: str) -> bool:
    """Whether the node compares something that one of the attributes gives."""
    return isinstance(node, ast.Compare) and any(reads(node, name) for name in names)


def strikes_out(node: ast.AST) -> bool:
    return compares(node, "strikes") or (
        isinstance(node, ast.Call) and attribute(node, "add") and reads(node, "strikes")
    )


def recorded_after_the_work(node: ast.AST) -> bool:
    return isinstance(node, ast.BinOp) and isinstance(node.op, ast.Sub) and reads(node, "recorded", "at")


def kind_of_slot_and_of_entry(node: ast.AST) -> bool:
    looked_up = [part for part in ast.walk(node) if isinstance(part, ast.Subscript | ast.Attribute)]
    return isinstance(node, ast.Compare) and any(
        isinstance(part.value, ast.Name) and part.value.id == "FILLED_BY" for part in looked_up
    )


def when_done_then_number(node: ast.AST) -> bool:
    return (
        isinstance(node, ast.Tuple)
        and len(node.elts) == 2
        and attribute(node.elts[0], "at")
        and attribute(node.elts[1], "seq")
    )


def as_left_before_as_found(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and any(
        keyword.arg == "key" and reads(keyword.value, "as_found") for keyword in node.keywords
    )


def shares_of_a_tolerance(node: ast.AST) -> bool:
    return isinstance(node, ast.Dict) and says(node, "tenth")


def same_symptom(node: ast.AST) -> bool:
    overlap = isinstance(node, ast.BinOp) and isinstance(node.op, ast.BitAnd)
    disjoint = isinstance(node, ast.Call) and attribute(node, "isdisjoint")
    return (overlap or disjoint) and reads(node, "symptoms")


def closed_as_unfounded(node: ast.AST) -> bool:
    compared = isinstance(node, ast.Compare) and reads(node, "step")
    told = isinstance(node, ast.Call) and attribute(node, "said")
    return (compared or told) and says(node, "unfounded")


def last_place_of_a_unit(node: ast.AST) -> bool:
    names = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
    by_type = isinstance(node, ast.Call) and {"isinstance", "Placed", "Shipped"} <= names
    return by_type or (compares(node, "kind") and says(node, "placed") and says(node, "shipped"))


def refuses_a_person(node: ast.AST) -> bool:
    first = node.args[0] if isinstance(node, ast.Call) and node.args else None
    return isinstance(first, ast.Constant) and first.value in ("GAT002", "PER001")


def role_in_force(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and attribute(node.func, "on") and bool(node.args)


def calibration_in_force(node: ast.AST) -> bool:
    sides = [node.left, *node.comparators] if isinstance(node, ast.Compare) else []
    return any(isinstance(side, ast.Call) and attribute(side, "due") for side in sides)


def builder_of_the_unit(node: ast.AST) -> bool:
    return isinstance(node, ast.BoolOp) and says(node, "signed") and reads(node, "kind", "BUILD")


def day_of_a_moment(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and attribute(node.func, "date") and reads(node, "astimezone")


def words_of_an_entry(node: ast.AST) -> bool:
    if not isinstance(node, ast.Match):
        return False
    patterns = [case.pattern for case in node.cases]
    bodies = {"Read", "Confirmed", "Fitted", "Counted", "Adjusted"}
    return bodies <= {
        pattern.cls.id
        for pattern in patterns
        if isinstance(pattern, ast.MatchClass) and isinstance(pattern.cls, ast.Name)
    }


RULES: dict[str, Rule] = {
    "struck out": Rule(
        strikes_out,
        (
            "verdict.rules.entries:check_strikes",  # whether a strike-out names an entry
            "verdict.rules.persons:striking",  # whose entry it is
        ),
        "def standing(es):\n    return [e for e in es if all(e.seq != s.body.strikes for s in es)]",
    ),
    "late": Rule(
        recorded_after_the_work,
        ("record.entry:recorded_late",),
        "def late(entry, hours):\n    return (entry.recorded - entry.at).total_seconds() > hours * 3600",
    ),
    "fills a slot": Rule(
        kind_of_slot_and_of_entry,
        ("verdict.case:fills",),
        "def filling(slot, entry):\n    return FILLED_BY[slot.kind] == entry.body.kind",
    ),
    "order of the work": Rule(
        when_done_then_number,
        ("record.entry:done_order",),
        "def last(entries):\n    return max(entries, key=lambda entry: (entry.at, entry.seq))",
    ),
    "decides a slot": Rule(
        as_left_before_as_found,
        ("verdict.deciding:newest_first",),
        "def deciding(entries):\n    return sorted(entries, key=lambda entry: entry.body.as_found)",
    ),
    "near a limit": Rule(
        shares_of_a_tolerance,
        ("trace.factors:",),
        "ZONES = {'tenth': Fraction(1, 10)}",
    ),
    "alike": Rule(
        same_symptom,
        ("trace.cases:CaseFile.alike",),
        "def alike(case, other):\n    return bool(set(case.symptoms) & set(other.symptoms))",
    ),
    "unfounded": Rule(
        closed_as_unfounded,
        ("trace.cases:CaseFile.unfounded",),
        "def founded(case):\n    return not case.said('unfounded')",
    ),
    "where it is": Rule(
        last_place_of_a_unit,
        ("trace.history:_last_move",),
        "def place(entries):\n    return [e for e in entries if isinstance(e.body, Placed | Shipped)][-1]",
    ),
    "may act": Rule(
        refuses_a_person,
        (
            "verdict.authority:absent_person",
            "verdict.authority:refusal",
            "verdict.codes:",  # titles and weights
        ),
        "def may(person):\n    return [] if person else [Finding('PER001', 'nobody')]",
    ),
    "role in force": Rule(
        role_in_force,
        ("shop.people:Person.roles_on",),
        "def roles(person, day):\n    return [held.role for held in person.roles if held.on(day)]",
    ),
    "calibration in force": Rule(
        calibration_in_force,
        (),
        "def overdue(gauge, day):\n    return gauge.due(day) < day",
    ),
    "builder of the unit": Rule(
        builder_of_the_unit,
        ("verdict.case:builders",),
        "def built(entry):\n    return entry.body.kind == 'signed' and phase(entry) is Phase.BUILD",
    ),
    "day in the shop": Rule(
        day_of_a_moment,
        ("text:day_in",),
        "def day(moment, zone):\n    return moment.astimezone(zone).date()",
    ),
    "wording of an entry": Rule(
        words_of_an_entry,
        ("sheets.entry_text:_of_work",),
        """def tell(body):
    match body:
        case Read(): return "read"
        case Confirmed(): return "confirmed"
        case Fitted(): return "fitted"
        case Counted(): return "counted"
        case Adjusted(): return "adjusted"
""",
    ),
}

NAMES = (
    "standing_entries", "struck_by", "struck_out", "recorded_late", "done_order", "fills", "filled_slots",
    "newest_first", "deciding_readings", "worked_row", "reading_that_counts", "limit_zones",
    "complained_alike", "whereabouts", "units_with", "may_act", "refusal", "standing_in",
    "roles_on", "calibration_state", "last_calibration", "usable_on", "withdrawal_at", "uncertainty_on",
    "state_of", "stops_of", "day_in", "days_late", "duration_text", "factors_seen", "supplier_of", "made_of",
)  # fmt: skip
"""Functions named by a rule: each name is defined once in the package."""


@cache
def functions(path: Path) -> tuple[tuple[str, tuple[ast.AST, ...]], ...]:
    """Name (``Class.method``) and nodes of each function; under an empty name, the rest of the module."""
    return tuple((name, tuple(ast.walk(node))) for name, node in _functions(path))


def _functions(path: Path) -> Iterator[tuple[str, ast.AST]]:
    rest: list[ast.stmt] = []
    for statement in ast.parse(path.read_text(encoding="utf-8")).body:
        match statement:
            case ast.FunctionDef():
                yield statement.name, statement
            case ast.ClassDef():
                for part in statement.body:
                    name = f".{part.name}" if isinstance(part, ast.FunctionDef) else ""
                    yield f"{statement.name}{name}", part
            case _:
                rest.append(statement)
    yield "", ast.Module(rest, [])


def definitions(rule: Rule, package: Path) -> list[str]:
    """``module:function`` of everything that looks like a definition of the rule, homes left out."""
    found = []
    for path in sorted(package.rglob("*.py")):
        module = ".".join(path.relative_to(package).with_suffix("").parts)
        if "migrations" in path.parts:
            continue
        for name, nodes in functions(path):
            if f"{module}:{name}" not in rule.homes and any(map(rule.found, nodes)):
                found.append(f"{module}:{name}")
    return found


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_a_rule_of_the_trade_has_one_home(rule: Rule) -> None:
    assert definitions(rule, PACKAGE) == []


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_a_second_definition_is_found(rule: Rule, tmp_path: Path) -> None:
    (tmp_path / "copy.py").write_text(rule.second, encoding="utf-8")
    assert [name.split(":")[0] for name in definitions(rule, tmp_path)] == ["copy"]


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_every_home_is_still_there(rule: Rule) -> None:
    for home in rule.homes:
        module, name = home.split(":")
        assert name in dict(functions(PACKAGE / f"{module.replace('.', '/')}.py")), home


def test_a_name_of_a_rule_is_defined_once() -> None:
    defined: dict[str, list[str]] = {}
    for path in PACKAGE.rglob("*.py"):
        for name, _ in functions(path):
            if (own := name.rpartition(".")[2]) in NAMES:
                defined.setdefault(own, []).append(str(path.relative_to(PACKAGE)))
    assert {name: where for name, where in defined.items() if len(where) > 1} == {}
    assert set(defined) == set(NAMES)
