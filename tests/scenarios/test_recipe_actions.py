"""Recipes built here: whose they are, their versions, and what is refused in plain words."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied

from drills.demo.factories import PersonFactory, RecipeFactory
from drills.engine.recipecheck import written
from drills.engine.recipes import CannotApplyError
from drills.people.models import AuditEntry, Person, Role
from drills.rigs.models import Rig
from drills.runs.actions import start_run
from drills.scenarios.actions import (
    RecipeRefusedError,
    change_recipe,
    delete_recipe,
    make_recipe,
    restore_recipe,
    retire_recipe,
    share_recipe,
)
from drills.scenarios.models import Recipe
from tests.runs.assignments import FRIDAY, GIVEN, given, taken
from tests.scenarios.conftest import NOW
from tests.scenarios.recipes import made, wrote

pytestmark = pytest.mark.django_db


def changed(recipe: Recipe, by: Person, **changes: str) -> Recipe:
    recipe.refresh_from_db()
    seen = str(recipe.version)
    return change_recipe(recipe, wrote(**changes), seen=seen, by=by, now=NOW)


@pytest.fixture
def recipe(fto: Person) -> Recipe:
    """One of the FTO's own, which is not shared."""
    return made(fto)


@pytest.fixture
def shared(recipe: Recipe, fto: Person) -> Recipe:
    """One of the FTO's own that everybody may choose."""
    return share_recipe(recipe, by=fto, now=NOW)


def test_a_new_one_is_its_makers_alone_and_the_audit_tells_of_it(
    recipe: Recipe, fto: Person, educator: Person
) -> None:
    assert (recipe.slug, recipe.version, recipe.kinds) == ("my-ten", 1, "locate:10")
    assert recipe in Recipe.objects.open_to(fto)
    assert recipe not in Recipe.objects.open_to(educator)
    (entry,) = AuditEntry.objects.filter(action="make recipe")
    assert (entry.subject, entry.actor) == ("my-ten", fto)
    assert entry.after
    assert entry.after["kinds"] == "locate:10"


def test_names_that_are_alike_have_keys_of_their_own(recipe: Recipe, fto: Person) -> None:
    assert [made(fto, name=name).slug for name in ("My ten", "Add", "¿?")] == [
        "my-ten-2",
        "add-2",
        "recipe",
    ]


@pytest.mark.parametrize("role", [Role.CREW, Role.KEEPER, Role.DIRECTOR, Role.ADMIN])
def test_nobody_else_builds_one(role: str, shared: Recipe) -> None:
    other = PersonFactory.create(roles=[role])

    with pytest.raises(PermissionDenied, match="field training officer or educator"):
        make_recipe(wrote(), like=None, by=other, now=NOW)
    with pytest.raises(RecipeRefusedError, match="not yours to change"):
        changed(shared, other, minutes="9")
    assert Recipe.objects.get().minutes == 4


def test_an_educator_changes_what_is_shared_and_no_officer_anothers(
    recipe: Recipe, fto: Person, educator: Person
) -> None:
    officer = PersonFactory.create(roles=[Role.FTO])
    with pytest.raises(RecipeRefusedError, match="My ten is not yours to change"):
        changed(recipe, educator, minutes="9")

    share_recipe(recipe, by=fto, now=NOW)

    with pytest.raises(RecipeRefusedError, match="not yours to change"):
        changed(recipe, officer, minutes="9")
    assert changed(recipe, educator, minutes="9").version == 2


def test_an_educator_may_change_what_somebody_left_behind(
    recipe: Recipe, fto: Person, educator: Person
) -> None:
    Person.objects.filter(pk=fto.pk).update(is_active=False)

    assert changed(recipe, educator, minutes="9").minutes == 9


def test_a_change_makes_a_version_and_the_one_before_stays(recipe: Recipe, fto: Person) -> None:
    now = changed(recipe, fto, n_locate="6", minutes="3")

    assert (now.version, now.kinds, now.changed_by) == (2, "locate:6", fto)
    before = now.at(1)
    assert (before.kinds, before.minutes, before.name) == ("locate:10", 4, "My ten")
    assert now.at(2) == now
    entry = AuditEntry.objects.get(action="change recipe")
    assert entry.before == {"kinds": "locate:10", "minutes": 4}
    assert entry.after == {"kinds": "locate:6", "minutes": 3, "version": 2}


def test_the_same_settings_make_no_version(recipe: Recipe, fto: Person) -> None:
    assert changed(recipe, fto).version == 1
    assert not AuditEntry.objects.filter(action="change recipe").exists()


def test_a_form_nobody_touched_makes_no_version_whatever_the_order_of_its_lists(
    educator: Person,
) -> None:
    """Nor loses the words of a fixed order, where another setting is changed."""
    recipe = RecipeFactory.create(
        order="by compartment: bags", faces=["rear", "street"], kinds="contents:1;locate:2"
    )
    sent = written(recipe.settings())
    change_recipe(recipe, sent, seen="1", by=educator, now=NOW)
    recipe.refresh_from_db()
    assert recipe.version == 1

    change_recipe(recipe, sent | {"minutes": ["9"]}, seen="1", by=educator, now=NOW)

    recipe.refresh_from_db()
    assert (recipe.version, recipe.order, recipe.faces) == (
        2,
        "by compartment: bags",
        ["rear", "street"],
    )


def test_who_changes_a_version_that_is_past_is_told(recipe: Recipe, fto: Person) -> None:
    changed(recipe, fto, minutes="5")

    with pytest.raises(RecipeRefusedError, match="Version 1 was shown, and version 2 is there"):
        change_recipe(recipe, wrote(minutes="6"), seen="1", by=fto, now=NOW)
    assert Recipe.objects.get().minutes == 5


def test_what_is_wrong_is_said_by_field_and_nothing_is_kept(recipe: Recipe, fto: Person) -> None:
    with pytest.raises(RecipeRefusedError, match=r"^2 settings are not accepted\.$") as refused:
        changed(recipe, fto, minutes="0", cut_off_s="60")

    assert set(refused.value.faults) == {"minutes", "cut_off_s"}
    assert Recipe.objects.get().version == 1


def test_a_number_is_never_given_twice(recipe: Recipe, fto: Person) -> None:
    """Where the reference data were brought in once more, the versions made since are kept."""
    changed(recipe, fto, minutes="5")
    changed(recipe, fto, minutes="6")
    Recipe.objects.filter(pk=recipe.pk).update(version=1, minutes=4)

    assert changed(recipe, fto, minutes="7").version == 3


def test_an_assignment_keeps_the_version_it_was_given_in(
    shared: Recipe, fto: Person, hire: Person, rig: Rig
) -> None:
    """What it asks stays, until it is given anew; whoever has it not assigned takes the new one."""
    first = given(shared, [hire], by=fto)
    changed(shared, fto, n_locate="3", name="My three")
    shared.refresh_from_db()

    run = taken(hire, shared, rig, now=GIVEN)
    after = start_run(hire, recipe=shared, revision=rig.revision, rig=rig, now=GIVEN)

    assert first.recipe_version == 1
    assert first.made_from.kinds == "locate:10"
    assert (run.assigned_id, run.drill.recipe_version) == (first.assigned.get().pk, 1)
    assert (after.assigned, after.drill.recipe_version) == (None, 2)
    assert after.drill.prompts.filter(is_spare=False).count() == 3
    assert run.drill.prompts.filter(is_spare=False).count() > 3
    assert given(shared, [hire], by=fto, due_on=FRIDAY + timedelta(days=1)).recipe_version == 2


def test_a_version_that_a_drill_was_made_from_is_kept_past_every_change(
    rig: Rig, hire: Person
) -> None:
    """Also where a release of the reference data writes over the row."""
    recipe = RecipeFactory.create(version=3, kinds="locate:2")
    start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW)
    Recipe.objects.filter(pk=recipe.pk).update(version=4, kinds="locate:4")
    recipe.refresh_from_db()

    assert recipe.at(3).kinds == "locate:2"


def test_one_that_is_not_shared_is_taken_by_its_owner_and_whom_they_gave_it(
    recipe: Recipe, fto: Person, hire: Person, rig: Rig
) -> None:
    how: dict[str, Any] = {"recipe": recipe, "revision": rig.revision, "rig": rig, "now": GIVEN}
    with pytest.raises(
        CannotApplyError, match="My ten is not shared, and you have none of it to do"
    ):
        start_run(hire, **how)

    given(recipe, [hire], by=fto)

    assert start_run(hire, **how).drill.recipe == recipe
    assert start_run(fto, **how).drill.recipe == recipe


def test_of_a_retired_one_nothing_new_is_made_and_what_was_given_stays(
    shared: Recipe, fto: Person, hire: Person, outsider: Person, rig: Rig
) -> None:
    how: dict[str, Any] = {"recipe": shared, "revision": rig.revision, "rig": rig, "now": GIVEN}
    given(shared, [hire], by=fto)
    retire_recipe(shared, by=fto, now=NOW)
    shared.refresh_from_db()

    with pytest.raises(ValueError, match="My ten is retired since"):
        given(shared, [outsider], by=fto)
    with pytest.raises(CannotApplyError, match="My ten is retired, and you have none of it to do"):
        start_run(outsider, **how)
    with pytest.raises(RecipeRefusedError, match="Bring it back first"):
        changed(shared, fto, minutes="9")
    assert start_run(hire, **how).drill.recipe == shared
    assert shared not in Recipe.objects.open_to(fto)

    restore_recipe(shared, by=fto, now=NOW)

    assert shared in Recipe.objects.open_to(outsider)


def test_one_that_was_used_is_never_deleted(
    shared: Recipe, fto: Person, hire: Person, educator: Person
) -> None:
    changed(shared, fto, minutes="9")
    unused = made(fto, name="Nobody's")
    given(shared, [hire], by=fto)

    with pytest.raises(RecipeRefusedError, match=r"made from My ten, and they keep it. Retire it"):
        delete_recipe(shared, by=fto, now=NOW)
    with pytest.raises(RecipeRefusedError, match="Nobody owns"):
        delete_recipe(RecipeFactory.create(), by=educator, now=NOW)
    delete_recipe(unused, by=fto, now=NOW)

    assert not Recipe.objects.filter(slug="nobody-s").exists()
    assert shared.at(1).minutes == 4
    before = AuditEntry.objects.get(action="delete recipe").before
    assert before
    assert before["name"] == "Nobody's"


@pytest.mark.parametrize(
    ("act", "said"),
    [(share_recipe, "is shared already"), (restore_recipe, "is not retired")],
)
def test_what_is_so_already_is_refused(
    act: Callable[..., Recipe], said: str, shared: Recipe, fto: Person
) -> None:
    with pytest.raises(RecipeRefusedError, match=said):
        act(shared, by=fto, now=NOW)
