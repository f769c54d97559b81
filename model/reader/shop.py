"""What the shop has and wants, as its table says."""

from __future__ import annotations

from model.design import Shop
from model.reader.problems import Problems
from model.reader.said import Said
from model.reader.schema import ShopTable


def shop_of(table: ShopTable | None, problems: Problems) -> Shop:
    """Return the shop, noting limits that leave nothing between them."""
    if table is None:
        return Shop()
    least, most = table.fit_least, table.fit_most
    if least is not None and most is not None and least > most:
        problems.add(("shop", "fit_least"), "is more than fit_most", Said(f"{least:.2f} mm"),
                     f"at most {most:.2f} mm")
    low = Shop.moisture[0] if table.moisture_low is None else table.moisture_low
    high = Shop.moisture[1] if table.moisture_high is None else table.moisture_high
    if low >= high:
        key, other = ("high", low) if table.moisture_low is None else ("low", high)
        word = "above" if key == "high" else "below"
        said = Said(f"{high if key == 'high' else low:g} %")
        problems.add(("shop", f"moisture_{key}"), "leaves no range of moisture", said,
                     f"{word} {other:g} %, {'the driest' if key == 'high' else 'the wettest'} it will be")
    return Shop(table.glue, table.open, table.people, least, most, (low, high))
