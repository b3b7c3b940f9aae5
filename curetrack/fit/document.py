"""The document of a profile with a mix of one's own: the base profile's, with the fit in its place."""

from copy import deepcopy
from datetime import date
from typing import Any

from curetrack.concrete.strength import Aci209Growth, En1992Growth, Growth, Hyperbola
from curetrack.fit.mix import OwnMix

__all__ = ["own_document", "written"]

LONGEST_NAME, LONGEST_SOURCE = 100, 100
OWN = ", own mix"


def own_document(base: dict[str, Any], own: OwnMix, made: date, source: str) -> dict[str, Any]:
    """A copy of the base document with the fitted strength, growth and spread, and `mix.fit`: the day, the file, the
    points as fitted, the scatter, and the limits of the strength at 28 days. All else is the base's."""
    document = deepcopy(base)
    fitted = own.fitted
    s28 = fitted.parameters[0]
    mix = document["mix"]
    mix["strength_28d"] = _MPa(s28.value)
    mix["growth"] = _growth(fitted.growth)
    mix["spread"] = f"{own.spread * 100:.0f} %"
    mix["fit"] = {
        "date": made.isoformat(),
        "source": "".join(ch for ch in source if ch.isprintable())[:LONGEST_SOURCE].strip() or "breaks",
        "scatter": f"{fitted.scatter * 100:.1f} %",
        "strength_28d": [_MPa(max(s28.low, 1.0)), _MPa(min(s28.high, 200.0))],
        "points": [
            [f"{age:.2f} h", _MPa(one.strength_MPa)]
            for age, one in sorted(zip(own.aged.ages_h, own.breaks, strict=True), key=lambda pair: pair[0])
        ],
    }
    document["name"] = document["name"].removesuffix(OWN)[: LONGEST_NAME - len(OWN)] + OWN
    return document


def written(document: dict[str, Any], base_id: str) -> str:
    """The document as TOML, with a line on what it is. The base's comments do not come along."""
    import tomli_w

    head = (
        f"# {base_id} with a mix of one's own, made by `curetrack fit` on {document['mix']['fit']['date']}.\n"
        "# strength_28d, growth and spread in [mix] are fitted; [mix.fit] holds the breaks at their equivalent ages.\n"
        "# Set times, density and the bag are still those of the base: change them if yours are others.\n\n"
    )
    return head + tomli_w.dumps(document)


def _growth(growth: Growth) -> dict[str, Any]:
    if isinstance(growth, Hyperbola):
        return {"law": "hyperbola", "rate": f"{growth.rate_per_day:.4f} /day", "start": f"{growth.start_h:.2f} h"}
    if isinstance(growth, En1992Growth):
        return {"law": "en1992", "s": round(growth.s, 4)}
    assert isinstance(growth, Aci209Growth)  # a table of points is never fitted
    return {"law": "aci209", "a": round(growth.a_day, 4), "b": round(growth.b, 4)}


def _MPa(strength: float) -> str:
    return f"{strength:.2f} MPa"
