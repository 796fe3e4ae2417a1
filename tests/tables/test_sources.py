from sumpwright.tables import source_title, sources
from sumpwright.tables.data_files import rows, table_names

KINDS = {"published", "memory", "practice", "derived", "user"}


def test_every_source_has_a_title_and_a_kind():
    for name, source in sources().items():
        assert source.id == name
        assert len(source.title) > 5
        assert source.how in KINDS


def test_every_row_of_every_table_names_known_sources():
    known = sources()
    for table in table_names():
        assert rows(table), table
        columns = [name for name in rows(table)[0] if name == "source" or name.endswith("_source")]
        assert columns, f"{table} names no source"
        for row in rows(table):
            assert None not in row, f"{table}: a row has too many cells"
            assert None not in row.values(), f"{table}: a row has too few cells"
            for column in columns:
                assert row[column] in known or row[column] == "", f"{table}: {row[column]}"


def test_titles():
    assert source_title("iso-273").startswith("ISO 273")
    assert source_title("common practice, no source") == "common practice, no source"
