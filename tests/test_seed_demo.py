"""The demo household: every gram accounted for, the same each time, and worth looking at."""

import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger import schema
from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.models import (
    Addition,
    Entry,
    Loss,
    Lot,
    LotAllergen,
    Operation,
    Package,
    Reading,
    Stock,
    Weighing,
)
from app.ledger.queries.eat_first import Group, eat_first
from app.ledger.queries.stock import stock_lines
from app.ledger.queries.trace import trace
from app.ledger.runs import open_runs, trays_of
from app.ledger.stock import ref_of, sums_of_entries
from app.ledger.words import LossKind, OperationKind, PlaceKind
from app.science.dryness import Verdict
from seed_demo.__main__ import main
from seed_demo.clock import instant, story_year
from seed_demo.year import build

TODAYS = (date(2026, 11, 25), date(2028, 2, 29))
GRAM = 1000


@dataclass(frozen=True)
class Demo:
    """A demo as read on its today."""

    today: date
    year: int
    session: Session

    def made(self, kind: OperationKind, name: str) -> Lot:
        """The newest lot of a name that this kind of operation made."""
        query = (
            select(Lot)
            .join(Operation, Operation.id == Lot.operation_id)
            .where(Operation.kind == kind, Lot.name == name)
            .order_by(Lot.id.desc())
        )
        lot = self.session.scalars(query).first()
        assert lot is not None, f"no {name} by {kind}"
        return lot

    def mass_g(self, lot: Lot) -> float:
        """What a lot weighed when it was made."""
        return _grams(
            self.session,
            select(func.sum(Entry.mass_mg)).where(
                Entry.lot_id == lot.id, Entry.operation_id == lot.operation_id
            ),
        )

    def losses_g(self, operation_id: int) -> dict[str, float]:
        """What an operation lost, by kind."""
        rows = self.session.execute(
            select(Loss.kind, Loss.mass_mg).where(Loss.operation_id == operation_id)
        ).all()
        return {kind: mass_mg / GRAM for kind, mass_mg in rows}


def _grams(session: Session, query: object) -> float:
    return (session.scalar(query) or 0) / GRAM  # type: ignore[call-overload]


@pytest.fixture(scope="module")
def demo_files(tmp_path_factory: pytest.TempPathFactory) -> dict[date, Path]:
    files = {}
    for today in TODAYS:
        path = tmp_path_factory.mktemp("demo") / f"{today}.db"
        schema.bring_up(path)
        book = Book(path)
        build(book, today)
        book.close()
        files[today] = path
    return files


def _reading(path: Path, today: date) -> Iterator[Demo]:
    book = Book(path)
    with book.reading() as session:
        yield Demo(today, story_year(today), session)
    book.close()


@pytest.fixture(params=TODAYS, ids=str)
def demo(request: pytest.FixtureRequest, demo_files: dict[date, Path]) -> Iterator[Demo]:
    yield from _reading(demo_files[request.param], request.param)


@pytest.fixture
def told(demo_files: dict[date, Path]) -> Iterator[Demo]:
    """The demo five weeks after the story, when its details are looked at."""
    yield from _reading(demo_files[TODAYS[0]], TODAYS[0])


def test_the_story_is_told_in_the_newest_october_whose_month_after_has_passed() -> None:
    assert story_year(date(2026, 11, 20)) == 2026
    assert story_year(date(2026, 11, 19)) == 2025
    assert story_year(date(2028, 2, 29)) == 2027


def test_there_are_enough_lots_and_operations_to_look_at(demo: Demo) -> None:
    assert (demo.session.scalar(select(func.count()).select_from(Lot)) or 0) >= 60
    assert (demo.session.scalar(select(func.count()).select_from(Operation)) or 0) >= 200
    assert len({line.lot_id for line in stock_lines(demo.session)}) >= 35


def test_every_check_of_the_ledger_is_clean(demo: Demo) -> None:
    assert check_all(demo.session) == []


def test_what_is_on_hand_is_what_the_entries_sum_to(demo: Demo) -> None:
    kept = {ref_of(row): row.mass_mg for row in demo.session.scalars(select(Stock))}
    assert kept == sums_of_entries(demo.session)


def test_every_gram_that_came_in_is_on_hand_or_has_a_named_end(demo: Demo) -> None:
    came = demo.session.scalar(select(func.sum(Addition.mass_mg))) or 0
    went = demo.session.scalar(select(func.sum(Loss.mass_mg))) or 0
    on_hand = demo.session.scalar(select(func.sum(Stock.mass_mg))) or 0
    assert came == went + on_hand


def test_every_single_operation_conserves_mass(demo: Demo) -> None:
    balance: Counter[int] = Counter()
    for table, sign in ((Entry, 1), (Addition, -1), (Loss, 1)):
        rows = demo.session.execute(
            select(table.operation_id, func.sum(table.mass_mg)).group_by(table.operation_id)
        )
        for operation_id, mass_mg in rows:
            balance[operation_id] += sign * mass_mg
    assert set(balance.values()) == {0}


def test_nothing_is_done_or_written_down_after_today(demo: Demo) -> None:
    rows = demo.session.execute(select(Operation.done_on, Operation.recorded_at)).all()
    assert max(done_on for done_on, _ in rows) <= demo.today
    assert max(recorded_at for _, recorded_at in rows) < instant(demo.today, 24.0)
    assert min(done_on for done_on, _ in rows) < demo.today - timedelta(days=365)


def test_some_food_is_near_or_past_the_end_of_its_window(demo: Demo) -> None:
    lines = [line for _, found in eat_first(demo.session, demo.today).groups for line in found]
    windows = [line.window for line in lines if line.window is not None]
    past = [w for w in windows if w.central < demo.today]
    near = [w for w in windows if w.early <= demo.today + timedelta(days=60) and w not in past]
    assert len(past) >= 4
    assert len(near) >= 3
    assert len(windows) - len(past) - len(near) >= 10


def test_each_question_of_the_home_page_has_an_answer(demo: Demo) -> None:
    groups = dict(eat_first(demo.session, demo.today).groups)
    undated = {Group.UNDATED}  # whole produce of the cellar, which is eaten up by spring
    assert set(groups) | undated == set(Group)


def test_yesterdays_stew_and_a_thawing_trout_lie_in_the_fridge(demo: Demo) -> None:
    fridge = [x for x in stock_lines(demo.session) if x.place_kind is PlaceKind.FRIDGE]
    yesterday = demo.today - timedelta(days=1)
    made = {(line.made_by, line.is_raw) for line in fridge if line.made_on == yesterday}
    assert made == {(OperationKind.CHILL, False), (OperationKind.THAW, True)}


def test_an_opened_jar_is_being_eaten(demo: Demo) -> None:
    opened = [x for x in stock_lines(demo.session) if x.opened_on and "jar" in (x.packaging or "")]
    assert opened
    package = demo.session.get_one(Package, opened[0].ref.package_id)
    assert opened[0].mass_mg < package.net_mg


def test_a_dryer_is_running_with_two_weigh_backs_and_is_not_dry_yet(demo: Demo) -> None:
    (run,) = open_runs(demo.session)
    trays = trays_of(demo.session, run)
    assert len(trays) == 4
    for state in trays:
        assert len(state.weighings) == 2
        assert state.dryness is not None
        assert state.dryness.verdict is Verdict.NOT_YET


def test_a_mistake_was_taken_back_and_left_nothing_behind(demo: Demo) -> None:
    (undo,) = demo.session.scalars(select(Operation).where(Operation.kind == OperationKind.CORRECT))
    pair = (undo.id, undo.reverses_id)
    rows = demo.session.execute(
        select(func.sum(Entry.mass_mg)).where(Entry.operation_id.in_(pair)).group_by(Entry.lot_id)
    )
    assert [total for (total,) in rows] == [0]


def test_every_kind_of_operation_appears(demo: Demo) -> None:
    assert set(demo.session.scalars(select(Operation.kind).distinct())) == set(OperationKind)


# The story, gram by gram


def test_five_bowls_on_the_hand_scale_make_nine_kilograms_and_two_hundred(told: Demo) -> None:
    moose = told.made(OperationKind.INTAKE, "Moose trim")
    bowls = told.session.scalars(
        select(Weighing).where(Weighing.operation_id == moose.operation_id)
    ).all()
    assert len(bowls) == 5
    assert all(bowl.gross_mg <= 3_000 * GRAM for bowl in bowls)
    assert sum(bowl.gross_mg - bowl.tare_mg for bowl in bowls) == 9_200 * GRAM
    assert told.mass_g(moose) == 9_200


def test_the_older_packet_is_known_by_the_autumn_two_years_before(told: Demo) -> None:
    older = told.made(OperationKind.INTAKE, "Moose trim, older packet")
    assert told.mass_g(older) == 1_600
    assert (older.harvest_from, older.harvest_to) == (
        date(told.year - 2, 9, 1),
        date(told.year - 2, 11, 30),
    )
    assert older.kept_since.year == told.year - 2


def test_grinding_the_two_together_loses_what_was_trimmed_and_what_stuck(told: Demo) -> None:
    mince = told.made(OperationKind.GRIND, "Moose mince")
    assert told.mass_g(mince) == 9_200 + 1_600 - 38 - 214 - 46 - 5
    assert told.losses_g(mince.operation_id) == {
        LossKind.TRIM: 214,
        LossKind.STUCK: 46,
        LossKind.UNEXPLAINED: 5,
    }
    assert mince.is_raw
    assert mince.harvest_from == date(told.year - 2, 9, 1)
    assert mince.harvest_to == date(told.year, 10, 3)


def test_the_burgers_hold_fifteen_per_cent_fat_by_pearsons_square(told: Demo) -> None:
    """Fat of lean and back-fat, 0.74 and 88.69 %: USDA SR28, foods 17172 and 10004."""
    burgers = told.made(OperationKind.BLEND, "Moose burgers")
    fat_g = 2_000 * (15 - 0.74) / (88.69 - 15)
    assert told.mass_g(burgers) == 2_000 + round(fat_g) - 11
    assert burgers.fat == pytest.approx(0.15, abs=0.0003)  # by the 1 g step of the scale


def test_the_lean_rest_is_simmered_to_74_degrees_and_loses_its_raw_mark(told: Demo) -> None:
    cooked = told.made(OperationKind.COOK, "Moose mince")
    centre = told.session.scalars(
        select(Reading.value).where(Reading.operation_id == cooked.operation_id)
    ).one()
    assert centre == 74.0
    assert told.mass_g(cooked) == 10_497 - 2_000 + 2_000 - 684
    assert not cooked.is_raw


def test_the_pot_parts_into_meat_and_broth_without_a_gram_missing(told: Demo) -> None:
    meat = told.made(OperationKind.DRAIN, "Moose mince")
    broth = told.made(OperationKind.DRAIN, "Moose broth")
    assert meat.operation_id == broth.operation_id
    chilled_g = 10_497 - 684 - 21
    assert told.mass_g(meat) + told.mass_g(broth) + 14 == chilled_g


def test_the_dry_meat_weighs_its_solids_and_little_more(told: Demo) -> None:
    meat = told.made(OperationKind.DRAIN, "Moose mince")
    dry = told.made(OperationKind.UNLOAD, "Moose mince")
    solids_g = told.mass_g(meat) * (1 - meat.water)
    assert solids_g < told.mass_g(dry) < 1.04 * solids_g
    assert dry.water_is_measured
    assert dry.water_high is not None
    assert dry.water_high < 0.10


def test_five_pouches_and_a_jar_hold_all_the_dry_meat(told: Demo) -> None:
    dry_g = told.mass_g(told.made(OperationKind.UNLOAD, "Moose mince"))
    packages = told.session.execute(
        select(Package.of_count, Package.net_mg)
        .join(Lot, Lot.id == Package.lot_id)
        .where(Lot.name == "Moose mince")
    ).all()
    assert Counter(of_count for of_count, _ in packages) == {5: 5, 1: 1}
    assert sum(net_mg for _, net_mg in packages) / GRAM == dry_g
    pouches = [net_mg / GRAM for of_count, net_mg in packages if of_count == 5]
    assert max(pouches) - min(pouches) <= 6


def test_a_month_later_one_pouch_is_eaten_and_one_given_away(told: Demo) -> None:
    pouch = told.session.scalars(
        select(Package)
        .join(Lot, Lot.id == Package.lot_id)
        .where(Lot.name == "Moose mince", Package.of_count == 5, Package.number == 1)
    ).one()
    ends = told.session.execute(
        select(Loss.kind, Loss.words)
        .join(Entry, Entry.operation_id == Loss.operation_id)
        .where(Entry.lot_id == pouch.lot_id, Loss.kind.in_((LossKind.EATEN, LossKind.GIVEN)))
    ).all()
    assert sorted(kind for kind, _ in ends) == [LossKind.EATEN, LossKind.GIVEN]
    assert "Astrid at the mill" in {words for _, words in ends}
    left = stock_lines(told.session, lot_id=pouch.lot_id, one_by_one=True)
    assert [line.package_number for line in left] == [3, 4, 5]


def test_a_pouch_knows_both_animals_and_carries_the_older_ones_age(told: Demo) -> None:
    pouches = told.made(OperationKind.PACK, "Moose mince")
    upstream = {traced.lot_id for traced in trace(told.session, pouches.id).upstream}
    for name in ("Moose trim", "Moose trim, older packet"):
        assert told.made(OperationKind.INTAKE, name).id in upstream
    assert pouches.harvest_from == date(told.year - 2, 9, 1)


def test_the_broth_ends_as_a_cooked_powder(told: Demo) -> None:
    powder = told.made(OperationKind.PACK, "Moose broth powder")
    assert not powder.is_raw
    assert powder.water < 0.05


def test_freeze_drying_alone_leaves_lamb_raw_and_fish_an_allergen(told: Demo) -> None:
    lamb = told.session.scalars(
        select(Lot)
        .join(Operation, Operation.id == Lot.operation_id)
        .where(Operation.kind == OperationKind.UNLOAD, Lot.name == "Lamb, diced")
    ).all()
    assert lamb
    assert all(lot.is_raw for lot in lamb)
    trout = told.made(OperationKind.THAW, "Trout")
    allergens = select(LotAllergen.allergen).where(LotAllergen.lot_id == trout.id)
    assert "fish:trout" in told.session.scalars(allergens).all()


def test_the_same_today_gives_the_same_file_by_command_too(
    demo_files: dict[date, Path], tmp_path: Path
) -> None:
    today = TODAYS[0]
    again = tmp_path / "again.db"
    main([str(again), "--today", today.isoformat()])
    assert _dump(again) == _dump(demo_files[today])


def test_the_command_refuses_a_file_that_is_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "kept.db"
    path.write_text("mine")
    with pytest.raises(SystemExit):
        main([str(path)])
    assert path.read_text() == "mine"
    assert "exists already" in capsys.readouterr().err


def _dump(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as connection:
        return list(connection.iterdump())
