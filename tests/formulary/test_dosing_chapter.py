"""The manual's chapters on doses say what the engine does: each example is run."""

import csv
import json
import re
from collections import Counter
from typing import Any

import pytest
from django.urls import reverse

from drills.boards.guide import chapter_of
from drills.boards.guide_tables import PRINTED
from drills.engine import writing
from drills.engine.devices import SYRINGES
from drills.engine.dosing import ProblemError, reading, slips
from drills.engine.dosing.bounds import BOUNDS
from drills.engine.dosing.fields import Fields
from drills.engine.dosing.reading import read_problem
from drills.engine.exercises.writers import GRADES, TOPICS
from drills.engine.quantities import plain
from drills.engine.tables.page import page_tables
from tests.engine.published import CASES, DATA
from tests.formulary.chapter import CHAPTERS, comes_out, examples, file_of, text

EXAMPLES = [(json.loads(given), json.loads(printed)) for given, printed in examples()]
PROBLEMS = [given for given, _ in EXAMPLES if "kind" in given]
JUDGED = [printed for given, printed in EXAMPLES if "problem" in given]
# What a source is called in short: without where a copy of it was found.
_NOTE = re.compile(r" \(|; |, (?:citing|dose tables|p\.)")
_ROW = re.compile(r"^\| (.*) \|$", re.MULTILINE)


def body(slug: str) -> str:
    """A chapter as it is served."""
    chapter = chapter_of(slug)
    assert chapter is not None
    return str(chapter.body)


def rows_under(heading: str) -> list[list[str]]:
    """The cells of every table under a heading, headers left out."""
    (section,) = re.findall(rf"^#+ {heading}\n(.*?)(?=^##|\Z)", text(), re.MULTILINE | re.DOTALL)
    tables = re.split(r"^\|[-|]+\|$", section, flags=re.MULTILINE)[1:]
    return [row.split(" | ") for each in tables for row in _ROW.findall(each.split("\n\n")[0])]


@pytest.mark.parametrize(("given", "printed"), examples())
def test_an_example_gives_what_stands_below_it(given: str, printed: str) -> None:
    assert comes_out(given) == json.loads(printed)


def test_every_kind_of_problem_and_every_verdict_has_an_example() -> None:
    with pytest.raises(ProblemError) as refused:
        read_problem({"kind": "?"})
    kinds = str(refused.value).partition("none of ")[2].rstrip(".").split(", ")

    assert {each["kind"] for each in PROBLEMS} == set(kinds)
    assert {each["verdict"] for each in JUDGED} == {
        *("right", "out_of_tolerance", "unsafe", "unreadable")
    }


@pytest.mark.parametrize("kind", sorted({each["kind"] for each in PROBLEMS}))
def test_the_fields_of_a_kind_are_those_that_are_read(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    given = next(each for each in PROBLEMS if each["kind"] == kind)
    read: list[Fields] = []

    class Watched(Fields):
        def __init__(self, given: Any) -> None:
            super().__init__(given)
            read.append(self)

    monkeypatch.setattr(reading, "Fields", Watched)
    read_problem(given)

    told = rows_under("dose" if kind == "containers" else kind)
    assert {name.strip("`") for name, _ in told} == set(read[0].known)


@pytest.mark.parametrize("kind", TOPICS)
def test_every_topic_of_a_kind_is_told_at_three_grades(kind: str) -> None:
    told = [(topic.strip("` "), int(grade)) for topic, grade, _ in topics_told(kind)]

    assert told == [
        (topic if grade == GRADES[0] else "", grade) for topic in TOPICS[kind] for grade in GRADES
    ]


def topics_told(kind: str) -> list[list[str]]:
    """The rows of the topics of a kind of prompt."""
    return rows_under(f"Topics of a {kind} prompt")


def test_marks_are_those_that_are_rounded_to() -> None:
    assert [cells[:2] for cells in rows_under("Marks, and draws that are refused")] == [
        [f"{size} mL", f"{plain(device.marks)} mL"] for size, device in SYRINGES.items()
    ]


def rows_in(name: str) -> list[dict[str, str]]:
    """The rows of a file of data."""
    return list(csv.DictReader((DATA / name).read_text("utf-8").splitlines()))


WORKED = rows_in("dosing_worked.csv")


def test_published_cases_are_counted_by_source() -> None:
    of_source = [cells for cells in rows_under("Published cases") if len(cells) == 2]

    assert {name: int(count) for name, count in of_source} == Counter(
        _NOTE.split(row["source"])[0] for row in [*CASES, *WORKED]
    )


def test_what_was_printed_with_a_slip_stands_as_it_is_judged() -> None:
    """Those rows are judged by the tests of the published cases."""
    assert rows_under("Slips found in print") == [
        [
            row["what"],
            row["verdict"].replace("_", " "),
            " or ".join(f"`{slip}`" for slip in row["slips"].split()) or "none of ours",
        ]
        for row in rows_in("dosing_misprints.csv")
    ]
    assert f"\n{len(rows_in('dosing_hazards.csv'))} more printed volumes" in text()


def test_tables_are_put_in_where_the_chapter_names_them() -> None:
    """As rows: every slip, every rule of writing and every published figure, with its source."""
    printed = "".join(map(body, CHAPTERS))
    cells = re.findall(r"<td>(?:<code>)?(.*?)(?:</code>)?</td>", printed)

    assert re.findall(r"^\[\[(.*)\]\]$", text(), re.MULTILINE) == [
        *("rules of writing", "named slips", "sizes that are accepted", "published figures")
    ]
    assert "[[" not in printed
    assert {each.key for each in slips.ALL_SLIPS} <= set(cells)
    assert {each.error.capitalize() for each in slips.ALL_SLIPS} <= set(
        re.findall(r"<h3 id=\"[a-z]+\">(.*?)</h3>", printed)
    )
    assert {each.words for each in writing.RULES} <= set(cells)
    assert {str(each.most) for each in BOUNDS} <= set(cells)
    for table in page_tables():
        assert f">{table.title}</h3>" in printed


def test_every_table_that_is_printed_is_named_by_a_chapter() -> None:
    """One that no chapter names would never be seen."""
    chapters = "".join(each.read_text("utf-8") for each in file_of("dosing").parent.glob("*.md"))

    assert PRINTED.keys() == set(re.findall(r"^\[\[(.*)\]\]$", chapters, re.MULTILINE))


@pytest.mark.parametrize("slug", CHAPTERS)
def test_every_link_of_its_own_leads_to_a_heading(slug: str) -> None:
    links = re.findall(r'href="#(.*?)"', body(slug))

    assert len(links) == len(re.findall("^## ", file_of(slug).read_text("utf-8"), re.MULTILINE))
    assert set(links) <= set(re.findall(r'<h2 id="(.*?)"', body(slug)))


def test_each_chapter_leads_to_the_others_and_to_the_director() -> None:
    for slug, others in {"dosing": {*CHAPTERS, "director"}}.items():
        for other in others - {slug}:
            assert f'href="{reverse("boards:chapter", args=[other])}"' in body(slug)
    for slug in CHAPTERS[1:]:
        assert f'href="{reverse("boards:chapter", args=["dosing"])}"' in body(slug)


def test_who_is_drilled_reads_no_example_for_programs() -> None:
    """What is read at work is short; the doors and the tables stand in chapters of their own."""
    at_work = file_of("dosing").read_text("utf-8")

    assert "```" not in at_work
    assert len(at_work) < len(text()) / 2
