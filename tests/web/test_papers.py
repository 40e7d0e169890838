"""Papers: every rule and every number is there, with where it comes from."""

import importlib
import pkgutil

import pytest

import app.science
from app.science.safety.catalogue import ALL_RULES
from app.science.safety.not_computed import NOT_COMPUTED
from app.science.sources import Source, Sourced
from app.web.papers.numbers import amount, bibliography, subjects
from tests.web.pages import Tablet


def test_the_papers_lead_to_labels_history_cautions_numbers_and_guide(tablet: Tablet) -> None:
    links = {a.get("href") for tag, a in tablet.get("/papers").tags if tag == "a"}
    ours = {"/labels", "/history", "/papers/cautions", "/papers/numbers", "/papers/guide"}
    assert ours <= links
    assert all(tablet.get(address).status == 200 for address in ours)


def test_every_rule_stands_there_with_its_source_and_how_well_it_is_known(tablet: Tablet) -> None:
    page = tablet.get("/papers/cautions")
    for rule in ALL_RULES:
        words = page.inside(f"rule-{rule.id}")
        assert str(rule.source or "") in words, rule.id
        assert rule.evidence.value.casefold() in words.casefold(), rule.id
        assert rule.applies_to[1:40] in words, rule.id


def test_no_sentence_of_a_rule_is_shown_with_its_empty_places(tablet: Tablet) -> None:
    words = tablet.get("/papers/cautions").words
    assert "{" not in words
    assert "}" not in words


def test_a_limit_stands_beside_its_rule(tablet: Tablet) -> None:
    words = tablet.get("/papers/cautions").inside("rule-COOL-2STAGE")
    assert "Limits: 57 °C; 21 °C; 5 °C; 2 hour; 6 hour." in words


def test_what_is_never_worked_out_is_said(tablet: Tablet) -> None:
    words = tablet.get("/papers/cautions").words
    assert all(question.question in words for question in NOT_COMPUTED)


@pytest.mark.parametrize(
    ("rule_set", "game"),
    [
        ("us", "Game 160 °F (71.1 °C)"),  # Game from Farm to Table, FSIS, rev. 2011
        ("ca", "Game 165 °F (74 °C)"),  # Safe cooking temperatures, Health Canada
        (
            "uk",
            "All food 80 °C (176 °F), or 75 °C (167 °F) for 30 seconds",
        ),  # Cooking your food, FSA
    ],
)
def test_the_centre_temperatures_are_those_of_the_advice_the_household_follows(
    tablet: Tablet, rule_set: str, game: str
) -> None:
    tablet.fill("/household/settings", rule_set=rule_set)
    assert game in tablet.get("/papers/cautions").words
    assert game in tablet.get("/papers/guide").words


def test_the_guide_cools_by_the_rule_of_the_household(tablet: Tablet) -> None:
    assert (
        "from 57 °C (135 °F) to 21 °C (70 °F) within 2 hours" in tablet.get("/papers/guide").words
    )
    tablet.fill("/household/settings", rule_set="au")
    assert (
        "from 60 °C (140 °F) to 21 °C (70 °F) within 2 hours" in tablet.get("/papers/guide").words
    )


def test_every_number_of_the_guide_points_to_a_source_at_its_foot(tablet: Tablet) -> None:
    words = tablet.get("/papers/guide").words
    assert "Safe Minimum Internal Temperature Chart" in words
    assert "[1]" in words
    assert "Local rules and your licensed processor or health office come first." in words


def test_every_sourced_constant_of_the_science_is_listed(tablet: Tablet) -> None:
    words = tablet.get("/papers/numbers").words
    values = {n.value for subject in subjects() for n in subject.numbers}
    for info in pkgutil.walk_packages(app.science.__path__, "app.science."):
        for name, value in vars(importlib.import_module(info.name)).items():
            if isinstance(value, Sourced):
                assert amount(value.value, value.unit) in values, f"{info.name}.{name}"
                assert value.note in words, f"{info.name}.{name}"


def test_every_number_says_how_well_it_is_known_and_a_published_one_by_whom() -> None:
    for subject in subjects():
        for number in subject.numbers:
            assert number.evidence, (subject.id, number)
            assert number.source or not number.evidence.startswith(("read", "second", "trade"))


def test_no_number_is_listed_twice_under_two_subjects() -> None:
    listed = [
        (n.name, n.value, n.note) for subject in subjects() for n in subject.numbers if n.note
    ]
    assert len(listed) == len(set(listed))


def test_every_publication_that_is_cited_is_in_the_bibliography(tablet: Tablet) -> None:
    known = set(map(str, bibliography()))
    cited = {n.source for subject in subjects() for n in subject.numbers if n.source}
    assert cited <= known
    page = tablet.get("/papers/numbers")
    assert all(source.title in page.words for source in bibliography())


def test_the_links_within_a_long_page_lead_somewhere(tablet: Tablet) -> None:
    for address in ("/papers/cautions", "/papers/numbers", "/household"):
        page = tablet.get(address)
        ids = [a["id"] for _, a in page.tags if "id" in a]
        jumps = {a["href"][1:] for tag, a in page.tags if tag == "a" and a["href"][0] == "#"}
        assert len(jumps) > 4
        assert jumps <= set(ids)
        assert len(ids) == len(set(ids))


def test_a_publication_is_told_from_any_other_text() -> None:
    assert all(isinstance(source, Source) for source in bibliography())
    assert amount(-18.0, "degC") == "−18 °C"
    assert amount(0.85, "1") == "0.85"


def test_what_is_not_covered_names_the_official_guides(tablet: Tablet) -> None:
    page = tablet.get("/papers/not-covered")
    for process in ("Canning", "Curing", "Fermenting", "Smoking"):
        assert f"{process} is not covered here: use the current official guide." in page.words
    assert "Complete Guide to Home Canning, Agriculture Information Bulletin No. 539" in page.words
    for address in ("/write", "/papers"):
        links = {a.get("href") for tag, a in tablet.get(address).tags if tag == "a"}
        assert "/papers/not-covered" in links
