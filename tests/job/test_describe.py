"""The page on the files."""

from __future__ import annotations

from sumpwright.job import describe
from sumpwright.job.readings import COLUMNS, KINDS
from sumpwright.job.sections import LISTED, RESERVED, SINGLE
from sumpwright.job.shop_sections import RESERVED as SHOP_RESERVED
from sumpwright.job.shop_sections import SINGLE as SHOP_SINGLE


def test_every_section_key_and_kind_is_on_the_page() -> None:
    page = describe()
    for model in (*SINGLE.values(), *LISTED.values(), *SHOP_SINGLE.values()):
        assert model.__doc__
        for key, field in model.model_fields.items():
            assert f"| `{key}`" in page
            assert field.description, key
    for name in (*RESERVED, *SHOP_RESERVED, *COLUMNS, *KINDS):
        assert f"| `{name}` |" in page
    assert "None" not in page


def test_the_page_is_the_same_every_time() -> None:
    assert describe() == describe()


def test_no_section_is_both_read_and_kept_for_later() -> None:
    listed = {path[0] for path in LISTED}
    assert not (set(SINGLE) | listed) & set(RESERVED)
    assert not set(SHOP_SINGLE) & set(SHOP_RESERVED)
