"""The page of evidence of one lot, to read and to print."""

from collections import Counter

from flask import redirect, render_template
from flask.typing import ResponseReturnValue

from app.language import _, from_to
from app.ledger.codes import spoken
from app.ledger.queries.evidence import Proof, evidence
from app.ledger.queries.history import OperationLine
from app.ledger.queries.thermometers import Record
from app.science.classes import DRIED
from app.science.safety.rule import DEFERENCE
from app.web import scope
from app.web.display import moment, percent, temperature, treatment_words
from app.web.evidence.words import gap_words, lack_words, lay_words, reading_words, story_words
from app.web.holds.words import hold_words, mark_notes
from app.web.messages import day


def page(code: str) -> ResponseReturnValue:
    """What was proven of a lot, in the order of time, and what was not."""
    proof = evidence(scope.reading(), code, scope.now())
    if code != proof.code:
        return redirect(f"/lots/{proof.code}/evidence", 303)
    return render_template(
        "evidence/evidence.html",
        proof=proof,
        state=treatment_words(proof.is_raw, proof.treatments),
        harvest=_harvest(proof),
        dryness=_dryness(proof),
        held=[hold_words(hold, proof.lot_id) for hold in proof.holds],
        notes=mark_notes(proof.marks),
        stories=[(told.code, story_words(told.story)) for told in proof.stories],
        steps=[(op, _made(op), [reading_words(r) for r in op.readings]) for op in proof.steps],
        records=[_record(record) for record in proof.records if record.count],
        unproven=[lack_words(lack) for lack in proof.unproven],
        today=scope.today(),
        deference=DEFERENCE,
    )


def _harvest(proof: Proof) -> str:
    if proof.harvest is None:
        return _("not known")
    first, last = proof.harvest
    return day(first) if first == last else from_to(day(first), day(last))


def _dryness(proof: Proof) -> str:
    """How much water is left in dried food, and how that is known; "" for food not dried."""
    found = proof.makeup
    if not proof.treatments & DRIED:
        return ""
    words = percent(found.composition.water)
    if found.water_low is not None and found.water_high is not None:
        words += _(
            " ({water_low} to {water_high})",
            water_low=percent(found.water_low),
            water_high=percent(found.water_high),
        )
    how = _("measured or weighed") if found.water_is_measured else _("worked out")
    return f"{words}, {how}"


def _made(op: OperationLine) -> list[str]:
    """The lots an operation made or brought somewhere, packages counted."""
    packages = Counter((e.name, e.code) for e in op.entries if e.mass_mg > 0 and e.package)
    lots = dict.fromkeys((e.name, e.code) for e in op.entries if e.mass_mg > 0)
    return [
        f"{name}, {spoken(code)}"
        + (_(" ({packages} packed)", packages=packages[name, code]) if packages[name, code] else "")
        for name, code in lots
    ]


def _record(record: Record) -> dict[str, str]:
    return {
        "place": record.lay.place,
        "when": lay_words(record.lay),
        "count": f"{record.count:,}",
        "low": _degrees(record.low_c),
        "high": _degrees(record.high_c),
        "at": moment(record.highest_at) if record.highest_at else "",
        "gap": gap_words(record),
    }


def _degrees(temp_c: float | None) -> str:
    return "" if temp_c is None else temperature(temp_c)
