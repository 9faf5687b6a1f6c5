"""The manual: a chapter for each role, served as it lies in the sources."""

import re
from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from drills.boards.guide import CHAPTERS, FOLDER, LONG_FROM, chapters
from drills.formulary.drillable import drillable
from drills.formulary.models import FormularyRevision, RuleStatus
from drills.formulary.reports import rules_of
from drills.people.models import Person, Role
from tests.layouts import FIXTURES
from tests.runs.conftest import ClientOf
from tests.runs.conftest import client_of as client_of

PICTURES = FOLDER.parent / "static" / "drills" / "guide"
LINK = re.compile(r"(!?)\[[^\]]*\]\(([^)\s#]+)")

pytestmark = pytest.mark.django_db


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


def test_every_file_is_a_chapter_and_every_chapter_a_file() -> None:
    assert {path.stem for path in FOLDER.glob("*.md")} == set(CHAPTERS)


def test_there_is_a_chapter_for_each_role_for_the_operator_and_for_each_workbook() -> None:
    of_role = {Role.CREW: "new-hire", Role.ADMIN: "administrator"}
    others = {"operator", "workbook", "formulary-workbook", "triage", "bringing"}
    others |= {"competency", "dosing", "dosing-figures", "dosing-programs"}
    assert {of_role.get(role, role.value) for role in Role} | others == set(CHAPTERS)


def test_the_first_page_lists_the_chapters(browser: Client) -> None:
    content = browser.get(reverse("boards:guide")).content.decode()

    for each in chapters():
        assert each.title in content
        assert reverse("boards:chapter", args=[each.slug]) in content


@pytest.mark.parametrize("slug", CHAPTERS)
def test_a_chapter_says_what_it_is_for_and_writes_no_style(browser: Client, slug: str) -> None:
    content = browser.get(reverse("boards:chapter", args=[slug])).content.decode()

    (chapter,) = (each for each in chapters() if each.slug == slug)
    assert f'<h1 class="tt">{chapter.title}</h1>' in content
    assert "style=" not in chapter.body
    assert "<script" not in chapter.body


@pytest.mark.parametrize("slug", CHAPTERS)
def test_a_long_chapter_begins_with_a_list_of_its_parts(browser: Client, slug: str) -> None:
    """Its own list, or one that is made; each of its parts can be reached from there."""
    content = browser.get(reverse("boards:chapter", args=[slug])).content.decode()

    parts = re.findall(r'<h2 id="(.*?)"', content)
    head = content.partition("<h2 id")[0]
    listed = re.findall(r'href="#([a-z0-9-]+)"', head.partition("<h1")[2])
    assert listed == (parts if len(parts) >= LONG_FROM or listed else [])


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.md")), ids=lambda path: path.stem)
def test_links_and_pictures_lead_somewhere(path: Path) -> None:
    for is_picture, target in LINK.findall(path.read_text(encoding="utf-8")):
        if target.startswith(("http", "/")):
            continue
        assert (path.parent / target).resolve().is_file(), target
        if is_picture:
            assert (PICTURES / Path(target).name).is_file(), target


def test_the_formulary_of_the_operator_chapter_comes_in_as_a_draft(tmp_path: Path) -> None:
    """As it is written there, on a site with the reference data alone."""
    text = (FOLDER / "operator.md").read_text(encoding="utf-8")
    (written,) = re.findall(r"```json\n(.*?)```", text, re.DOTALL)
    (tmp_path / "own.json").write_text(written, encoding="utf-8")
    call_command("loaddata", *sorted(FIXTURES.glob("*.json")), verbosity=0)

    call_command("loaddata", tmp_path / "own.json", verbosity=0)

    revision = FormularyRevision.objects.get(number=1)
    (rule,) = rules_of(revision)
    assert (revision.state, revision.is_demo) == ("draft", False)
    assert drillable(rule).printed == "0.2 mg/kg, at most 10 mg"
    assert "`manage.py loaddata FILE.json`" in text


def test_the_director_reads_the_words_of_the_screen() -> None:
    text = (FOLDER / "director.md").read_text(encoding="utf-8")

    for status in RuleStatus:
        assert f"*{status.label}*" in text


def test_there_is_no_other_chapter(browser: Client) -> None:
    assert browser.get("/guide/no-such/").status_code == 404


def test_a_stranger_signs_in_first() -> None:
    assert Client().get(reverse("boards:guide"))["Location"].startswith("/people/sign-in/")
