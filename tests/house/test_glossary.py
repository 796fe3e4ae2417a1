"""One name and one unit per quantity, and every quantity of a model has its row."""

from __future__ import annotations

from tests.house.glossary import glossary, model_quantities, plain


def test_each_name_stands_once():
    twice = [name for name, rows in glossary().items() if len(rows) > 1]
    assert not twice, "two rows for one name: " + ", ".join(twice)


def test_each_quantity_of_a_model_is_in_the_glossary_with_its_unit():
    rows = glossary()
    faults = []
    for where, name, unit in model_quantities():
        known = rows.get(plain(name))
        if known is None:
            faults.append(f"{where} [{unit}] has no row")
        elif known[0][0] != unit:
            faults.append(f"{where} is in {unit}, its row says {known[0][0]}")
    assert not faults, "\n".join(faults)
