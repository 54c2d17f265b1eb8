"""Products and containers out of a file: looked over, refused by row, kept in one transaction."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.files.take_things import keep_things, look_over_things
from fillwright.records.filefields import guess
from fillwright.records.filerows import FileRows

PRODUCTS = (
    "Product;Density kg/m3;Filling temperature °C;Runs like;Flammable;Notes\n"
    "Plum cordial;1052,5;21;water;no;\n"
    "Lamp spirit;805;20;water;yes;=SUM(1)\n"
)
CONTAINERS = "Name,Brim (L),Mouth (cm),Average empty g\nTall jar,0.28,5.8,160.5\nFlask,0.5,2,\n"


@pytest.fixture
def shop():
    """A site with one job."""
    return Workshop()


@pytest.fixture
def look(shop, tmp_path):
    """Look a text over."""

    def looked(text, holds):
        (tmp_path / "things.csv").write_text(text)
        file = FileRows(tmp_path / "things.csv", name="things.csv")
        return look_over_things(shop.desk, file, guess(file, holds))

    return looked


def test_products_are_kept_with_their_units(shop, look):
    """Kilograms a cubic metre become grams a millilitre; words that look like a formula stay."""
    assert keep_things(shop.desk, look(PRODUCTS, "products"), shop.press) == 2
    kept = shop.desk.book.site().products

    assert kept["Plum cordial"].density_g_per_ml == Decimal("1.0525")
    assert kept["Plum cordial"].product_c == 21
    assert (kept["Lamp spirit"].is_flammable, kept["Lamp spirit"].notes) == (True, "=SUM(1)")


def test_containers_are_kept_with_their_units(shop, look):
    """Litres become millilitres and centimetres millimetres."""
    keep_things(shop.desk, look(CONTAINERS, "containers"), shop.press)
    kept = shop.desk.book.site().containers

    assert (kept["Tall jar"].brim_ml, kept["Tall jar"].mouth_mm) == (280, 58)
    assert (kept["Tall jar"].tare_g, kept["Flask"].tare_g) == (Decimal("160.5"), None)


def test_the_same_file_again_keeps_nothing(shop, look):
    """What is kept just so is told and left; what differs is named before it is changed."""
    keep_things(shop.desk, look(PRODUCTS, "products"), shop.press)
    count = len(shop.journal.log)
    again = look(PRODUCTS, "products")
    other = look(PRODUCTS.replace("1052,5", "1060,0"), "products")

    assert (again.things, again.same) == ((), 2)
    assert keep_things(shop.desk, again, shop.press) == 0
    assert len(shop.journal.log) == count
    assert (other.changed, other.same) == (("Plum cordial",), 1)


def test_rows_that_cannot_be_are_named(look):
    """Row, column, what was given and what is allowed; the others stand."""
    text = (
        "name,density,runs like\n,1.0,water\nA,heavy,water\nB,1052,water\n"
        "C,1.0,treacle\nD,1.0,oil\nD,1.1,oil\nE,,oil\n"
    )
    seen = look(text, "products")

    assert [(one.row, one.given) for one in seen.refusals] == [
        (2, ""),
        (3, "heavy"),
        (4, "1052"),
        (5, "treacle"),
        (7, "D"),
        (8, ""),
    ]
    assert all(one.allowed for one in seen.refusals)
    assert [one.name for one in seen.things] == ["D"]


def test_a_column_that_is_needed_is_asked_for(look):
    """Without a density there is no product."""
    with pytest.raises(BadInput, match="which column holds this: Density"):
        look("name,colour\nA,red\nB,blue\n", "products")


def test_a_file_without_a_good_row_keeps_nothing(shop, look):
    """It says so."""
    with pytest.raises(BadInput, match="No row"):
        keep_things(shop.desk, look("name,density\nA,9\nB,8\n", "products"), shop.press)
