"""Trial: two soakings side by side, and the better line for the next label."""

import csv
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from app.ledger.archive.csv_tables import export
from app.ledger.operations.trial import Side, TrialIn, record_trial
from app.ledger.queries.labels import label_records
from app.ledger.queries.trials import best_for, trials
from app.ledger.stock import StockRef
from tests.builders import TODAY, G, all_stock, do, dried, lot_of, refusal, take_in

TOMORROW = TODAY + timedelta(days=1)


def side(ref: StockRef, drained_g: float, score: int | None = None) -> Side:
    return Side(ref, 50 * G, 150 * G, round(drained_g * G), 20.0, 60.0, score)


def a_trial(one: Side, two: Side) -> TrialIn:
    return TrialIn((one, two), TOMORROW)


def test_ratio_and_coefficient_are_those_of_the_weights(session: Session) -> None:
    ref = dried(session)
    do(session, record_trial, a_trial(side(ref, 140), side(ref, 120)))
    (line,) = trials(session)
    lot = lot_of(session, ref)
    assert line.sides[0].soaking.ratio == pytest.approx(140 / 50)
    by_hand = 140 * (1 - (lot.fresh_water or 0)) / (50 * (1 - lot.water))
    assert line.sides[0].soaking.coefficient == pytest.approx(by_hand)
    assert line.better == "first"


def test_the_score_decides_against_the_weight(session: Session) -> None:
    ref = dried(session)
    do(session, record_trial, a_trial(side(ref, 140, 2), side(ref, 120, 5)))
    (line,) = trials(session)
    assert line.better == "second"


def test_the_better_line_goes_onto_labels_of_the_same_food(session: Session) -> None:
    ref, other = dried(session), dried(session)
    assert label_records(session, other.lot_id)[0].soaked_best is None
    do(session, record_trial, a_trial(side(ref, 140), side(ref, 120)))
    (record,) = label_records(session, other.lot_id)
    assert record.soaked_best is not None
    assert record.soaked_best[0].done_on == TOMORROW
    assert record.soaked_best[1].soaking.water_per_dry == pytest.approx(3.0)


def test_a_trial_that_settles_nothing_leaves_the_earlier_line(session: Session) -> None:
    ref = dried(session)
    first = do(session, record_trial, a_trial(side(ref, 140), side(ref, 120)))
    do(session, record_trial, a_trial(side(ref, 130), side(ref, 130)))
    best = best_for(session, lot_of(session, ref))
    assert best is not None
    assert best[0].id == first


def test_a_trial_moves_no_stock_and_is_never_edited(session: Session) -> None:
    ref = dried(session)
    before = all_stock(session)
    do(session, record_trial, a_trial(side(ref, 140), side(ref, 120)))
    assert all_stock(session) == before
    for table in ("trial", "soaking"):
        with pytest.raises(DatabaseError, match="append-only"), session.begin_nested():
            session.execute(text(f"DELETE FROM {table}"))


def test_both_sides_stand_in_the_tables_that_are_exported(session: Session, tmp_path: Path) -> None:
    ref = dried(session)
    do(session, record_trial, a_trial(side(ref, 140), side(ref, 120, 4)))
    export(session, tmp_path / "tables")
    with (tmp_path / "tables" / "trials.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["drained_g"] for row in rows] == ["140.000", "120.000"]
    assert [row["score"] for row in rows] == ["", "4"]


def test_what_cannot_be_is_refused(session: Session) -> None:
    ref, fresh = dried(session), take_in(session)
    good = side(ref, 140)
    problem = refusal(session, record_trial, a_trial(good, side(ref, 250)))
    assert (problem.field, problem.kind) == ("sides[1].drained", "more_out_than_in")
    problem = refusal(session, record_trial, a_trial(side(fresh, 140), good))
    assert (problem.field, problem.kind) == ("sides[0].ref", "wrong_state")
    problem = refusal(session, record_trial, a_trial(good, replace(good, dry_mg=0)))
    assert problem.field in ("sides[1].dry", "sides[1].drained")
