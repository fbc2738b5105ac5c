"""``traveler limits`` and ``traveler judge``: what limits mean, and what a reading is worth against them."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Literal, TypeVar

import typer

from traveler.cli.options import Json
from traveler.cli.present import CannotDo, answer

if TYPE_CHECKING:
    from traveler.finding import Finding
    from traveler.measure.judge import Judgement
    from traveler.measure.limits import FitLimits, Limits

_Answer = TypeVar("_Answer")
_VERDICT = {"out": "REA001", "doubtful": "REA002", "DEC001": "REA011", "DEC002": "REA012"}
"""What is wrong with a reading has the same codes here as in the verdict of a unit."""


def register(app: typer.Typer) -> None:
    """Add ``limits`` and ``judge``."""
    # limits may begin with a minus, which is no option
    app.command(name="limits", context_settings={"ignore_unknown_options": True})(limits)
    app.command(name="judge")(judge)


def limits(
    text: Annotated[str, typer.Argument(metavar="LIMITS", help="As in a definition, or a fit: '25 H7/g6'.")],
    unit: Annotated[
        str | None, typer.Option("--unit", metavar="UNIT", help="Give them in this unit, rounded inwards.")
    ] = None,
    json_wanted: Json = False,
) -> int:
    """Say what limits mean: lower and upper bound, unit, and the standard they come from.

    Exit code 0, or 2 if the text cannot be read.

    Example: traveler limits "25 H7"
    """
    from traveler.measure.limits import is_fit, parse_fit, parse_limits

    if is_fit(text):
        fit = _read(lambda: parse_fit(text))
        result, said = _read(lambda: (_fit_dict(fit, unit), _fit_text(fit, unit)))
        return answer(result, text=said, json_wanted=json_wanted)
    found = _read(lambda: _in_unit(parse_limits(text), unit))
    return answer(_limits_dict(found), text=f"{text} = {_described(found)}", json_wanted=json_wanted)


def judge(
    limits: Annotated[str, typer.Option("--limits", metavar="LIMITS", help="As in a definition.")],
    reading: Annotated[str, typer.Option("--reading", metavar="READING", help="With its unit: '0.049 mm'.")],
    uncertainty: Annotated[
        str | None, typer.Option("--uncertainty", metavar="U", help="Expanded uncertainty: '0.003 mm'.")
    ] = None,
    k: Annotated[str, typer.Option("--k", metavar="K", help="Coverage factor of the uncertainty.")] = "2",
    rule: Annotated[
        Literal["simple", "guarded"],
        typer.Option("--rule", help="guarded: the tolerance is reduced by the uncertainty (ISO 14253-1)."),
    ] = "simple",
    guard_factor: Annotated[
        str, typer.Option("--guard-factor", metavar="R", help="Guard band as a multiple of the uncertainty.")
    ] = "1",
    rounding: Annotated[
        Literal["absolute", "rounding"],
        typer.Option("--rounding", help="How a reading is compared with a limit (ASTM E29)."),
    ] = "absolute",
    json_wanted: Json = False,
) -> int:
    """Judge one reading against limits: in, out, or doubtful (inside the guard band).

    Exit code 0 for in, 1 for out and doubtful, 2 if limits or reading cannot be read.

    Example: traveler judge --limits "max 0.05 mm" --reading "0.049 mm" --uncertainty "0.003 mm"
    """
    from traveler.measure.judge import judge_reading as judged
    from traveler.measure.limits import parse_limits
    from traveler.measure.number import parse_number
    from traveler.measure.quantity import parse_quantity

    found = _read(
        lambda: judged(
            parse_limits(limits),
            parse_quantity(reading),
            uncertainty=None if uncertainty is None else parse_quantity(uncertainty),
            rule=rule,
            guard_factor=parse_number(guard_factor).value,
            rounding=rounding,
            k=parse_number(k).value,
        )
    )
    return answer(found.as_dict(), _findings(found), text=_judgement_text(found), json_wanted=json_wanted)


def _read(parse: Callable[[], _Answer]) -> _Answer:
    """What the parser gives; text it cannot read is an answer for a person, with exit code 2."""
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

    least, greatest = (exact_text(bound, 3) for bound in (fit.clearance.least, fit.clearance.greatest))
    return {"lower": least, "upper": greatest, "unit": "mm", "kind": fit.clearance.kind}


def _fit_text(fit: FitLimits, unit: str | None) -> str:
    gap = _clearance(fit)
    hole, shaft = (_described(_in_unit(part, unit)) for part in (fit.hole, fit.shaft))
    clearance = f"{gap['lower']} to {gap['upper']} mm, {gap['kind']} fit"
    return f"hole      {hole}\nshaft     {shaft}\nclearance {clearance}"


def _judgement_text(found: Judgement) -> str:
    lines = [f"{found.state}: {found.reading} against {found.limits.describe()}"]
    if found.rule == "guarded" and found.acceptance is not None:
        lines.append(f"accept       {found.acceptance.describe()}")
    if found.probability is not None:
        lines.append(f"probability  {found.probability} that the true value is within the limits")
    if found.ratio is not None:
        lines.append(f"ratio        {found.as_dict()['ratio']} of tolerance to uncertainty")
    return "\n".join(lines)


def _findings(found: Judgement) -> list[Finding]:
    from traveler.finding import Finding
    from traveler.verdict.codes import CODES

    listed = [(_VERDICT[serial.code], serial.what, serial.hint) for serial in found.problems]
    if found.state == "out":
        listed.append((_VERDICT["out"], f"{found.reading} is outside {found.limits.describe()}", ""))
    elif found.state == "doubtful" and found.acceptance is not None:
        what = (
            f"{found.reading} is inside {found.limits.describe()}, not inside {found.acceptance.describe()}"
        )
        listed.append((_VERDICT["doubtful"], what, "read again with a better gauge, or adjust further"))
    return [Finding(code, what, why=CODES[code].why, hint=hint) for code, what, hint in listed]
