"""The page that says how a workbook is filled in, and the two workbooks to start from."""

from html import unescape

import pytest
from django.urls import reverse

from drills.demo.factories import RecipeFactory, rig_on
from drills.engine.layout import CARRIED, CATEGORIES, CLOSURES, FACES, HEIGHTS, OPENS, POINT_KINDS
from drills.engine.workbook import guide, read_workbook
from drills.engine.workbook.columns import COLUMNS, LAYOUT_KEYS, RESERVED_SLUGS
from drills.people.models import Person
from drills.rigs.urls import urlpatterns
from drills.runs.actions import start_run
from tests.rigs.conftest import NOW, ClientOf

URL = reverse("rigs:workbook")

pytestmark = pytest.mark.django_db


def start_from(client_of: ClientOf, keeper: Person, which: str) -> bytes:
    response = client_of(keeper).get(reverse("rigs:start_workbook", args=[which]))
    assert f'filename="layout-{which}.xlsx"' in response["Content-Disposition"]
    return response.content


def test_tells_every_sheet_and_column_in_its_order() -> None:
    told = {sheet.name: tuple(column.name for column in sheet.columns) for sheet in guide()}

    assert told == {**COLUMNS, "layout": LAYOUT_KEYS}


def test_gives_each_column_a_meaning_what_it_takes_and_an_example() -> None:
    columns = [column for sheet in guide() for column in sheet.columns]

    assert all(each.meaning and each.accepted and each.example for each in columns)


@pytest.mark.parametrize(
    "words", [FACES, OPENS, CLOSURES, CARRIED, HEIGHTS, POINT_KINDS, CATEGORIES]
)
def test_the_page_names_every_accepted_word(
    client_of: ClientOf, keeper: Person, words: tuple[str, ...]
) -> None:
    assert ", ".join(words) in unescape(client_of(keeper).get(URL).content.decode())


def test_is_linked_from_the_import_page(client_of: ClientOf, keeper: Person) -> None:
    assert f'href="{URL}"' in client_of(keeper).get(reverse("rigs:import")).content.decode()


def test_the_sample_reads_without_a_problem_or_a_remark(
    client_of: ClientOf, keeper: Person
) -> None:
    parsed = read_workbook(start_from(client_of, keeper, "sample"), name="layout-sample.xlsx")

    assert (parsed.problems, parsed.remarks) == ((), ())


@pytest.mark.parametrize("kinds", ["locate:8;contents:2", "contents:6;locate:8"])
def test_the_sample_can_be_drilled(
    client_of: ClientOf, keeper: Person, hire: Person, kinds: str
) -> None:
    parsed = read_workbook(start_from(client_of, keeper, "sample"), name="layout-sample.xlsx")
    assert parsed.layout is not None
    rig = rig_on(parsed.layout, unit="21")
    recipe = RecipeFactory.create(slug="find", kinds=kinds)

    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=1)

    asked = sum(int(part.split(":")[1]) for part in kinds.split(";"))
    assert run.drill.prompts.filter(is_spare=False).count() == asked


def test_the_blank_one_lacks_a_name_and_a_compartment_alone(
    client_of: ClientOf, keeper: Person
) -> None:
    parsed = read_workbook(start_from(client_of, keeper, "blank"), name="layout-blank.xlsx")

    missing = [(each.sheet, each.column, each.got) for each in parsed.problems]
    assert missing == [("layout", "name", "no value"), ("compartments", "", "no compartment")]


def test_no_layout_takes_the_address_of_a_page() -> None:
    first = {str(each.pattern).split("/")[0] for each in urlpatterns}

    assert {word for word in first if word and "<" not in word} <= set(RESERVED_SLUGS)
