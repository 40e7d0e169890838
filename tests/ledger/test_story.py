"""A whole batch, from a weighed intake to a pouch for a neighbour, every gram accounted for."""

from collections import Counter
from datetime import date

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.codes import code_of
from app.ledger.mass import share_out
from app.ledger.models import Addition, Balance, Loss, Operation, Package
from app.ledger.operations.blanch import Blanch, blanch
from app.ledger.operations.blend import Blend, blend, fat_needed_mg
from app.ledger.operations.chill import Chill, chill
from app.ledger.operations.cook import CookMethod, cook
from app.ledger.operations.drain import Drain, drain
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.intake import SourceIn, intake
from app.ledger.operations.leave import Leave, eat, give
from app.ledger.operations.load import Load, load
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.skim import Skim, skim
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.operations.weigh_back import WeighBack, weigh_back
from app.ledger.queries.eat_first import Group, eat_first
from app.ledger.queries.lot import lot_page
from app.ledger.queries.trace import trace
from app.ledger.stock import StockRef
from app.ledger.words import SourceKind
from app.science.safety.thawing import ThawWay
from tests.builders import (
    BACK_FAT,
    BENCH,
    CC_300,
    COOLED_IN_TIME,
    DEHYDRATOR,
    FOIL_POUCH,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    JAR,
    MOOSE,
    PANTRY,
    SWEETCORN,
    VACUUM_BAG,
    G,
    a_cook,
    a_pack,
    a_tray,
    all_stock,
    an_intake,
    bowl,
    centre,
    do,
    evening,
    lot_of,
    made,
    mass_of,
    on_hand,
    refusal,
    take_in,
    treatments,
    units,
)

HUNT, OLD_HUNT = date(2025, 10, 4), date(2023, 10, 7)
GRINDING, COOKING, DRAINING = date(2025, 10, 10), date(2025, 10, 11), date(2025, 10, 12)
LOADING, PACKING, EATING = date(2025, 10, 12), date(2025, 10, 14), date(2025, 11, 14)
SHARE = SourceIn(SourceKind.ANIMAL, "Moose share", "B-2041", "Hunting team")
PACKET = SourceIn(SourceKind.GIFT, "Unlabelled packet", "", "Calum")


def of_old_packet(session: Session, ref: StockRef) -> float:
    """Share of a lot that came from the old packet."""
    origins = trace(session, ref.lot_id).origins
    return sum(origin.share for origin in origins if origin.name == PACKET.name)


def conserved(session: Session) -> None:
    """All that ever came in is on hand or was lost, to the milligram."""
    came_in = session.scalar(select(func.sum(Addition.mass_mg))) or 0
    lost = session.scalar(select(func.sum(Loss.mass_mg))) or 0
    assert came_in == lost + sum(all_stock(session).values())


def test_the_whole_batch(session: Session) -> None:
    # A year's store, and the autumn's share in five bowls of a 3 kg scale.
    packet = take_in(
        session,
        mass_g=1600,
        place=FREEZER,
        on=date(2025, 10, 1),
        name="Moose trim, old",
        source=PACKET,
        harvest=(OLD_HUNT, OLD_HUNT),
        kept_since=OLD_HUNT,
    )
    back_fat = take_in(session, BACK_FAT, 1200, place=FREEZER, on=date(2025, 9, 1), name="Back-fat")
    bowls = tuple(bowl(net_g, 412) for net_g in (1853, 1921, 1862, 1759, 1805))
    request = an_intake(MOOSE, bowls=bowls, on=HUNT, source=SHARE, harvest=(HUNT, HUNT))
    share = made(do(session, intake, request), FRIDGE)
    assert on_hand(session, share) == 9200 * G
    assert packet in [line.ref for line in dict(eat_first(session, HUNT).groups)[Group.PROCESS]]

    # Two lots become one.
    thawing = Thaw(packet, 1600 * G, ThawWay.REFRIGERATOR, FRIDGE, GRINDING, drip_mg=35 * G)
    thawed = made(do(session, thaw, thawing), FRIDGE)
    parts = (Part(share, 9200 * G), Part(thawed, 1565 * G))
    grinding = Grind(
        parts,
        "Moose mince",
        10_650 * G,
        FRIDGE,
        GRINDING,
        trimmed_mg=80 * G,
        stuck_mg=35 * G,
        reason="hung at 1 °C until now",
    )
    mince = made(do(session, grind, grinding), FRIDGE)
    assert of_old_packet(session, mince) == pytest.approx(1565 / 10_765)
    assert (lot_of(session, mince).harvest_from, lot_of(session, mince).harvest_to) == (
        OLD_HUNT,
        HUNT,
    )

    # Burgers at 15 % fat, raw, into the freezer.
    lean = made(
        do(session, portion, Portion(mince, 2000 * G, "For burgers", FRIDGE, GRINDING)), FRIDGE
    )
    fat_g = round(fat_needed_mg(session, lean, 2000 * G, back_fat, 0.15) / G)
    blending = Blend(
        lean,
        2000 * G,
        back_fat,
        fat_g * G,
        "Burgers",
        (1990 + fat_g) * G,
        FRIDGE,
        GRINDING,
        stuck_mg=10 * G,
    )
    mix = made(do(session, blend, blending), FRIDGE)
    assert lot_of(session, mix).fat == pytest.approx(0.15, abs=0.0005)
    weights = [part / G for part in share_out((1990 + fat_g) * G, [1, 1, 1, 1])]
    packing = a_pack(
        mix,
        *weights,
        packaging_id=VACUUM_BAG,
        absorber_id=None,
        pressure_fraction=0.05,
        place_id=FREEZER,
        done_on=GRINDING,
        reason="thawed in the refrigerator, cold all along",
    )
    burgers = units(do(session, pack, packing), FREEZER)
    assert mass_of(session, burgers) == (1990 + fat_g) * G
    assert lot_of(session, burgers[0]).is_raw

    # The lean rest becomes cooked meat and broth.
    cooking = a_cook(
        mince,
        8650,
        10_100,
        water_mg=2000 * G,
        done_on=COOKING,
        centre=centre(86.0),
        reason="ground yesterday, cold all along",
    )
    hot = made(do(session, cook, cooking), BENCH)
    chilling = Chill(hot, 10_100 * G, 10_060 * G, FRIDGE, COOKING, COOLED_IN_TIME)
    cold = made(do(session, chill, chilling), FRIDGE)
    skimmed = made(do(session, skim, Skim(cold, 10_060 * G, 0, FRIDGE, DRAINING)), FRIDGE)
    draining = Drain(skimmed, 10_060 * G, 5900 * G, 4130 * G, FRIDGE, DRAINING, spilled_mg=30 * G)
    drained = do(session, drain, draining)
    meat, broth = made(drained, FRIDGE), made(drained, FRIDGE, 1)
    assert not lot_of(session, meat).is_raw
    assert lot_of(session, meat).protein > lot_of(session, mince).protein
    assert lot_of(session, broth).harvest_from == OLD_HUNT

    # Four trays, weighed back until two weighings agree.
    loads_g = (1500, 1500, 1450, 1450)
    trays = tuple(a_tray(meat, net_g) for net_g in loads_g)
    _, run_id = do(session, load, Load(FREEZE_DRYER, trays, LOADING))
    solids = 1 - lot_of(session, meat).water
    dry_g = [round(net_g * solids / 0.97) for net_g in loads_g]
    for day, hour in ((13, 18), (14, 8), (14, 10)):
        for number, net_g in enumerate(dry_g, start=1):
            at = evening(date(2025, 10, day)).replace(hour=hour)
            weigh_back(
                session, WeighBack(run_id, number, (net_g + 600) * G, str(net_g + 600)), at=at
            )
    dry_made = (DryMade(meat.lot_id, sum(dry_g) * G),)
    dry = made(do(session, unload, Unload(run_id, dry_made, BENCH, PACKING)), BENCH)
    lot = lot_of(session, dry)
    assert lot.water_is_measured
    assert lot.water_low is not None
    assert lot.water_high is not None
    assert lot.water_low <= 0.03 <= lot.water_high
    assert treatments(session, dry) >= {"ground", "cooked", "chilled", "dried_freeze"}

    # Sweetcorn meanwhile, in warm air; the broth afterwards, reduced and to a powder.
    corn = take_in(
        session, SWEETCORN, 2400, on=LOADING, name="Sweetcorn", harvest=(LOADING, LOADING)
    )
    scalded = made(do(session, blanch, Blanch(corn, 2400 * G, 2350 * G, BENCH, LOADING)), BENCH)
    _, corn_run = do(session, load, Load(DEHYDRATOR, (a_tray(scalded, 2350),), LOADING))
    corn_made = (DryMade(scalded.lot_id, 600 * G),)
    dry_corn = made(do(session, unload, Unload(corn_run, corn_made, PANTRY, PACKING)), PANTRY)
    reducing = a_cook(broth, 4130, 900, method=CookMethod.REDUCE, centre=None, done_on=PACKING)
    reduced = made(do(session, cook, reducing), BENCH)
    _, broth_run = do(session, load, Load(FREEZE_DRYER, (a_tray(reduced, 900),), PACKING))
    powder_g = round(900 * (1 - lot_of(session, reduced).water) / 0.96)
    powder_made = (DryMade(reduced.lot_id, powder_g * G),)
    powder = made(do(session, unload, Unload(broth_run, powder_made, BENCH, PACKING)), BENCH)

    # Five equal pouches and a jar for the rest.
    pouch_g = sum(dry_g) // 6
    packing = a_pack(
        dry, *[pouch_g] * 5, done_on=PACKING, packaging_id=FOIL_POUCH, absorber_id=CC_300
    )
    pouches = units(do(session, pack, packing), PANTRY)
    rest_g = on_hand(session, dry) / G
    jarring = a_pack(dry, rest_g, done_on=PACKING, packaging_id=JAR, absorber_id=None)
    (jar,) = units(do(session, pack, jarring), PANTRY)
    assert on_hand(session, dry) == 0
    rows = [session.get_one(Package, ref.package_id) for ref in pouches]
    assert [(row.number, row.of_count) for row in rows] == [(n, 5) for n in range(1, 6)]
    for ref in (*pouches, jar):
        assert lot_of(session, ref).harvest_from == OLD_HUNT
        assert not lot_of(session, ref).is_raw
        assert of_old_packet(session, ref) == pytest.approx(1565 / 10_765, rel=1e-5)

    # A month later.
    shown = {
        line.ref: group for group, lines in eat_first(session, EATING).groups for line in lines
    }
    assert set(shown) == {burgers[0], dry_corn, powder, pouches[0], jar, back_fat}
    do(session, eat, Leave((pouches[0],), EATING))
    do(session, give, Leave((pouches[1],), EATING, words="Morag at the mill"))
    assert refusal(session, eat, Leave((pouches[0],), EATING)).kind == "not_on_hand"

    # The old packet knows where it ended.
    left = trace(session, packet.lot_id).left
    assert [(each.kind, each.words, each.mass_mg) for each in left] == [
        ("eaten", "", pouch_g * G),
        ("given", "Morag at the mill", pouch_g * G),
    ]
    page = lot_page(session, code_of(pouches[2].lot_id))
    assert sum(origin.share for origin in page.origins) == pytest.approx(1.0)
    assert {origin.tag for origin in page.origins} == {"B-2041", ""}

    # Every gram.
    assert ledger_of_losses(session) == {
        "drip": (35 + 50) * G,
        "trim": 80 * G,
        "stuck": (35 + 10) * G,
        "spilled": 30 * G,
        "eaten": pouch_g * G,
        "given": pouch_g * G,
        "evaporated": (550 + 40 + (5900 - sum(dry_g)) + (2350 - 600) + (4130 - 900)) * G
        + (900 - powder_g) * G,
    }
    expected = {
        back_fat: (1200 - fat_g) * G,
        dry_corn: 600 * G,
        powder: powder_g * G,
        jar: round(rest_g * G),
        **dict.fromkeys(pouches[2:], pouch_g * G),
        **{ref: round(g * G) for ref, g in zip(burgers, weights, strict=True)},
    }
    assert all_stock(session) == expected
    conserved(session)
    balances = session.scalar(select(func.count()).select_from(Balance))
    assert balances == session.scalar(select(func.count(Operation.id)))
    assert check_all(session) == []


def ledger_of_losses(session: Session) -> Counter[str]:
    """All losses of the ledger by kind."""
    rows = session.execute(select(Loss.kind, func.sum(Loss.mass_mg)).group_by(Loss.kind))
    return Counter(dict(rows.all()))
