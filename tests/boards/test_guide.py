"""The manual: a chapter for each role, served as it lies in the sources."""

import re
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from drills.boards.guide import CHAPTERS, FOLDER, chapters
from drills.people.models import Person, Role
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


def test_there_is_a_chapter_for_each_role_and_for_the_operator() -> None:
    of_role = {Role.CREW: "new-hire", Role.ADMIN: "administrator"}
    assert {of_role.get(role, role.value) for role in Role} | {"operator"} == set(CHAPTERS)


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


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.md")), ids=lambda path: path.stem)
def test_links_and_pictures_lead_somewhere(path: Path) -> None:
    for is_picture, target in LINK.findall(path.read_text(encoding="utf-8")):
        if target.startswith(("http", "/")):
            continue
        assert (path.parent / target).resolve().is_file(), target
        if is_picture:
            assert (PICTURES / Path(target).name).is_file(), target


def test_there_is_no_other_chapter(browser: Client) -> None:
    assert browser.get("/guide/no-such/").status_code == 404


def test_a_stranger_signs_in_first() -> None:
    assert Client().get(reverse("boards:guide"))["Location"].startswith("/people/sign-in/")
