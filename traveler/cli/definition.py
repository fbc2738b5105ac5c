"""The group ``definition``: product definitions before units are issued to them, and what limits mean."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

from traveler.cli.answer import Answer, Found, print_json
from traveler.cli.request import Request, arg, command, opt
from traveler.finding import CannotDo

if TYPE_CHECKING:
    from traveler.jobs.definitions import CheckedFile
    from traveler.measure.limits import FitLimits, Limits
    from traveler.shop.folder import Shop

_Read = TypeVar("_Read")


@command("definition check")
def check(
    request: Request,
    files: Annotated[
        list[Path] | None, arg("FILE", "Definition files. Without any: all of the shop.")
    ] = None,
) -> Answer:
    """Check definitions: every problem, with line and column.

    People and roles are checked where the files lie in a shop, or --shop names one.

    Example: traveler definition check product_defs/bobbin-winder.yaml
    """
    from traveler.jobs.definitions import check_definitions, shop_definitions

    opened = _shop(request, required=not files)
    named = files or ([_from_here(path) for path in shop_definitions(opened)] if opened else [])
    found = check_definitions(named, opened)
    return Answer(
        {"files": [file.as_dict() for file in found.files]}, map(_line, found.files), found.findings
    )


def _line(checked: CheckedFile) -> str:
    variants = ", ".join(f"{variant} ({count} slots)" for variant, count in checked.slots.items())
    made = checked.definition
    about = f"{made.product} revision {made.revision}, variants {variants}, digest {checked.digest[:12]}"
    return f"{checked.file}: {about}"


def _shop(request: Request, *, required: bool) -> Shop | None:
    """The shop named, or the nearest one; None where there is none and none is needed.

    Raises:
        CannotDo: there is no shop, and one is named or needed.
        Found: its files have blocking findings.
    """
    from traveler.shop.folder import find_folder, open_shop

    if request.folder is None and not required and find_folder(Path.cwd()) is None:
        return None
    opened = open_shop(request.shop_folder())
    if opened.shop is None:
        raise Found(opened.findings)
    return opened.shop


def _from_here(path: Path) -> Path:
    """The path from the present folder where it lies below it, as a person would type it."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path


@command("definition schema", shop=False)
def schema(request: Request) -> Answer:
    """Print the JSON Schema of a definition, for editors.

    It is JSON either way; --json adds findings and exit as in every command.

    Example: traveler definition schema > definition.schema.json
    """
    from traveler.definition.model import definition_schema

    if request.json_wanted:
        return Answer({"schema": definition_schema()})
    print_json(definition_schema())
    return Answer({})


@command("definition compare", shop=False)
def compare(
    request: Request,  # noqa: ARG001 - every command has one
    old: Annotated[Path, arg("OLD", "The earlier definition file.")],
    new: Annotated[Path, arg("NEW", "The later definition file.")],
) -> Answer:
    """List what changed between two definition files.

    Exit code 0 whether or not something changed, 1 if a file has findings.

    Example: traveler definition compare bobbin-winder-C.yaml bobbin-winder.yaml
    """
    from traveler.jobs.definitions import compare_definitions

    found = compare_definitions(old, new)
    both = found.old is not None and found.new is not None
    none = ["no change in content"] if both else []
    return Answer(found.as_dict(), list(found.changes) or none, found.findings)


@command("definition limits", shop=False, numbers=True)
def limits(
    request: Request,  # noqa: ARG001 - every command has one
    text: Annotated[str, arg("LIMITS", "As in a definition, or a fit: '25 H7/g6'.")],
    unit: Annotated[str | None, opt("UNIT", "Give them in this unit of measure, rounded inwards.")] = None,
) -> Answer:
    """Show what limits mean: bounds, unit of measure, standard.

    Exit code 0, or 2 if the text cannot be read.

    Example: traveler definition limits "25 H7"
    """
    from traveler.measure.limits import is_fit, parse_fit, parse_limits

    if is_fit(text):
        fit = read(lambda: parse_fit(text))
        return read(lambda: Answer(_fit_dict(fit, unit), list(_fit_lines(fit, unit))))
    found = read(lambda: _in_unit(parse_limits(text), unit))
    return Answer(_limits_dict(found), [f"{text} = {_described(found)}"])


def read(parse: Callable[[], _Read]) -> _Read:
    """What the parser gives; text it cannot read is answered with exit code 2.

    Raises:
        CannotDo: it cannot be read.
    """
    from traveler.measure.number import Unreadable

    try:
        return parse()
    except Unreadable as problem:
        raise CannotDo(f"{problem.code} {problem.what}", problem.hint) from None


def _in_unit(found: Limits, unit: str | None) -> Limits:
    return found if unit is None else found.to(unit)


def _limits_dict(found: Limits) -> dict[str, object]:
    from traveler.measure.number import display_number

    nominal = None if found.nominal is None else display_number(found.nominal)
    return {**found.as_dict(), "nominal": nominal, "source": found.source, "describe": found.describe()}


def _described(found: Limits) -> str:
    return found.describe() + ("" if found.source == "as written" else f" ({found.source})")


def _fit_dict(fit: FitLimits, unit: str | None) -> dict[str, object]:
    hole, shaft = (_limits_dict(_in_unit(part, unit)) for part in (fit.hole, fit.shaft))
    return {
        "text": fit.text,
        "nominal": hole["nominal"],
        "unit": hole["unit"],
        "source": "ISO 286-1",
        "hole": hole,
        "shaft": shaft,
        "clearance": _clearance(fit),
    }


def _clearance(fit: FitLimits) -> dict[str, str]:
    from traveler.measure.number import exact_text

    least, greatest = (exact_text(gap, 3) for gap in (fit.clearance.least, fit.clearance.greatest))
    return {"lower": least, "upper": greatest, "unit": "mm", "kind": fit.clearance.kind}


def _fit_lines(fit: FitLimits, unit: str | None) -> Iterator[str]:
    gap = _clearance(fit)
    hole, shaft = (_described(_in_unit(part, unit)) for part in (fit.hole, fit.shaft))
    yield f"hole      {hole}"
    yield f"shaft     {shaft}"
    yield f"clearance {gap['lower']} to {gap['upper']} mm, {gap['kind']} fit"
