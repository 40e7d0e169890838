"""The page of sources is the bibliography, and the bibliography holds nothing that is not used."""

from app.science.sources import Source
from tests.docs.sources_page import PAGE, ROOT, TABLES, citations, constants, page


def test_the_page_of_sources_is_the_bibliography():
    assert PAGE.read_text(encoding="utf-8") == page()


def test_every_publication_is_cited_by_some_module_or_table():
    assert [name for name, modules in citations().items() if not modules] == []


def test_every_packaged_table_exists():
    data = ROOT / "app" / "science" / "data"
    named = [table for tables in TABLES.values() for table in tables]
    assert sorted(named) == sorted(path.name for path in data.iterdir())


def test_no_publication_is_listed_twice():
    found: list[Source] = list(constants().values())
    assert len(set(found)) == len(found)
