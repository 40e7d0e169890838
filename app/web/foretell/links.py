"""Where a step's page leads when somebody wants to know beforehand, with the lot filled in."""

from urllib.parse import urlencode

from app.language import _
from app.ledger.queries.stock import StockLine
from app.ledger.words import OperationKind
from app.science.classes import Form

ADDRESS = "/papers/foretell"
_SHAPES = {Form.GROUND: Form.GROUND, Form.LIQUID: Form.LIQUID}


def foretell_link(kind: OperationKind, line: StockLine | None) -> tuple[str, str] | None:
    """Words and address of the prediction that belongs to a step; None where there is none."""
    if line is None:
        return None
    lot = {"lot": line.code}
    if kind is OperationKind.THAW:
        return _("How long will it take to thaw?"), _address("freezing", lot)
    if kind is OperationKind.CHILL:
        return _("How long will it take to cool, and how shallow must it be?"), _address(
            "cooling", {}
        )
    if kind is OperationKind.COOK:
        return _("What is a recorded time and temperature worth?"), _address("heat", {})
    if kind is OperationKind.LOAD:
        shape = _SHAPES.get(line.form, Form.PIECES)
        load = lot | {"mass": _grams(line.mass_mg), "shape": shape.value}
        return _("How much for each tray, how many runs, what will it cost?"), _address(
            "dryer", load
        )
    return None


def oxygen_link(volume_ml: float, each_mg: int) -> str:
    """The prediction for the oxygen in one package."""
    return _address("oxygen", {"volume": f"{volume_ml:g} ml", "mass": _grams(each_mg)})


def water_link(code: str, mass_mg: int, water_now: float, water_fresh: float) -> str:
    """The prediction for the water that brings a portion of a dried lot back."""
    percents = {"water_now": f"{100 * water_now:.1f}", "water_fresh": f"{100 * water_fresh:.1f}"}
    return _address("water", {"lot": code, "mass": _grams(mass_mg)} | percents)


def _grams(mass_mg: int) -> str:
    return f"{mass_mg / 1000:.12g} g"


def _address(topic: str, typed: dict[str, str]) -> str:
    return f"{ADDRESS}/{topic}{f'?{urlencode(typed)}' if typed else ''}"
