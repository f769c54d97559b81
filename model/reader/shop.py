"""What the shop has and wants, as its table says."""

from __future__ import annotations

from model.design import Shop
from model.reader.problems import Problems
from model.reader.said import Said
from model.reader.shop_tables import ShopTable, figure
from model.shop import Bench, ClampStock, Machine, Opening, Vehicle


def shop_of(table: ShopTable | None, problems: Problems) -> Shop:
    """Return the shop, noting limits that leave nothing between them."""
    if table is None:
        return Shop()
    _check_fit(table, problems)
    _check_lifting(table, problems)
    _check_cure(table, problems)
    bench, door, vehicle = table.bench, table.doorway, table.vehicle
    return Shop(
        table.glue, table.open, table.people, table.fit_least, table.fit_most, _moisture(table, problems),
        table.temperature, table.closed, table.clamped, table.cure, table.spread_rate,
        tuple(ClampStock(c.kind, c.count, c.opening, c.reach, c.pad) for c in table.clamp),
        tuple(Machine(m.name, m.length, m.width, m.height, m.cuts) for m in table.machine),
        Bench() if bench is None else Bench(bench.length, bench.width, bench.height),
        None if door is None else Opening(door.width, door.height),
        None if vehicle is None else Vehicle(**dict(vehicle)),
        dict(table.seconds), table.lift_one, table.lift_two)


def _check_fit(table: ShopTable, problems: Problems) -> None:
    least, most = table.fit_least, table.fit_most
    if least is not None and most is not None and least > most:
        problems.add(("shop", "fit_least"), "is more than fit_most", Said(f"{least:.2f} mm"),
                     f"at most {most:.2f} mm")


def _moisture(table: ShopTable, problems: Problems) -> tuple[float, float]:
    low = Shop.moisture[0] if table.moisture_low is None else table.moisture_low
    high = Shop.moisture[1] if table.moisture_high is None else table.moisture_high
    if low >= high:
        key, other = ("high", low) if table.moisture_low is None else ("low", high)
        word = "above" if key == "high" else "below"
        said = Said(f"{high if key == 'high' else low:g} %")
        problems.add(("shop", f"moisture_{key}"), "leaves no range of moisture", said,
                     f"{word} {other:g} %, {'the driest' if key == 'high' else 'the wettest'} it will be")
    return low, high


def _check_lifting(table: ShopTable, problems: Problems) -> None:
    """Note that two people would lift no more than one: a person more always helps."""
    one, two = table.lift_one, table.lift_two
    if two is not None and two <= (least := figure("lift_one") if one is None else one):
        problems.add(("shop", "lift_two"), "is no more than one person lifts", Said(f"{two:g} kg"),
                     f"more than {least:g} kg" + ", or lift_one as well" * (one is None))
    elif one is not None and two is None and one >= (most := figure("lift_two")):
        problems.add(("shop", "lift_one"), "is no less than two people lift together", Said(f"{one:g} kg"),
                     f"less than {most:g} kg, or lift_two as well")


def _check_cure(table: ShopTable, problems: Problems) -> None:
    if table.clamped is not None and table.cure is not None and 60.0 * table.cure < table.clamped:
        problems.add(("shop", "cure"), "a joint would carry load before its clamps come off", Said(f"{table.cure:g} h"),
                     f"at least {table.clamped / 60.0:g} h")
