"""The manual's chapter on triage: its tables are the engine's, and its examples come true."""

import json
import re

import pytest

from drills.boards.guide import FOLDER, chapter_of
from drills.engine.incidents.tables import SCARCE
from drills.engine.triage import CATEGORIES, CHARTS, DIFFERENCES, ORDER
from drills.engine.triage import field as field_criteria
from drills.engine.triage import findings as found
from drills.engine.triage.page import PRINTED
from tests.scenarios.test_triage_door import comes_out

TEXT = (FOLDER / "triage.md").read_text(encoding="utf-8")
EXAMPLE = re.compile(r"```json\n(.*?)\n```\n\ngives\n\n```json\n(.*?)\n```", re.DOTALL)


def body() -> str:
    chapter = chapter_of("triage")
    assert chapter is not None
    return str(chapter.body)


def test_every_table_is_put_in_once() -> None:
    assert sorted(re.findall(r"^\[\[(.*)\]\]$", TEXT, re.MULTILINE)) == sorted(PRINTED)
    assert "[[" not in body()


def test_every_branch_is_printed_with_what_leads_to_it() -> None:
    printed = re.findall(r"<td>(.*?)</td>", body())
    charts = (*CHARTS.values(), ORDER, field_criteria.CRITERIA)

    for each in (row for chart in charts for row in chart.branches):
        assert each.when.replace("_", " ") in printed, each
    for difference in DIFFERENCES:
        assert f"<td>{difference.subject}</td>" in body()
    assert "<td>Breathes … a minute: over 30.</td>" in body()


def test_every_source_and_note_is_printed() -> None:
    for chart in CHARTS.values():
        for row in chart.branches:
            assert row.note in body()
            assert f"{row.source} ({row.status})" in body().replace("&amp;", "&")


def test_no_colour_stands_without_its_word() -> None:
    words = {
        each.colour: {c.word for c in CATEGORIES if c.colour == each.colour} for each in CATEGORIES
    }

    for word, colour in re.findall(r"<strong>([^<]+)</strong> \(([a-z ]+)\)", body()):
        assert word in words[colour]
    assert not re.findall(
        r"(?<!</strong> )\((?:red|yellow|green|grey|black)\)",
        body().split('<h2 id="for-programs')[0],
    )


@pytest.mark.parametrize(("given", "printed"), EXAMPLE.findall(TEXT))
def test_every_example_comes_out_as_it_stands(given: str, printed: str) -> None:
    assert comes_out(given)[0] == json.loads(printed)


def test_the_examples_and_the_fields_are_all_there() -> None:
    assert len(EXAMPLE.findall(TEXT)) == 3
    for name in (*found.READERS, *field_criteria.READERS, "scheme", "second_look"):
        assert f"`{name}`" in TEXT


def test_every_link_of_its_own_leads_to_a_heading() -> None:
    links = re.findall(r"\(#([a-z0-9-]+)\)", TEXT)

    assert links == re.findall(r'<h2 id="([^"]+)"', body())


def test_what_may_be_scarce_is_printed_with_who_needs_it() -> None:
    printed = re.findall(r"<td>(.*?)</td>", body())

    for each in SCARCE:
        needed_by = each.needed_by.removeprefix("who needs it ")
        assert {each.has, f"{needed_by}."} <= set(printed)
