"""The commands that change a person, and those of cohorts and pairings."""

from datetime import timedelta
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils import timezone

from drills.demo.factories import CertificationLevelFactory, CohortFactory
from drills.people.access import may_see
from drills.people.actions import give_codes
from drills.people.models import AuditEntry, Cohort, Pairing, Person, Role, SignInCode
from tests.cast import PASSWORD

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate


def run(*arguments: str) -> str:
    out = StringIO()
    call_command(*arguments, stdout=out)
    return out.getvalue()


def refusal(*arguments: str) -> str:
    with pytest.raises(CommandError) as refused:
        run(*arguments)
    return str(refused.value)


class TestSetPerson:
    def test_changes_what_is_named_and_tells_it(self, outsider: Person) -> None:
        CertificationLevelFactory.create(key="emt")
        CohortFactory.create(slug="spring")

        said = run(
            *("set_person", "OUTSIDER", "--certification=emt", "--cohort", "spring"),
            *("--extra-time=1.5", "--role", "fto", "keeper"),
        )

        found = Person.objects.get(pk=outsider.pk)
        assert found.certification is not None
        assert found.certification.key == "emt"
        assert [cohort.slug for cohort in found.cohorts.all()] == ["spring"]
        assert found.time_allowance == Decimal("1.5")
        assert found.roles == {Role.FTO, Role.KEEPER}
        assert "OUTSIDER roles: crew -> fto, keeper\n" in said

    def test_keeps_before_and_after_of_what_changed_alone(self, hire: Person) -> None:
        run("set_person", "HIRE", "--cohort", "--role", "crew")

        entry = AuditEntry.objects.get()
        assert (entry.action, entry.subject) == ("change person", "HIRE")
        assert (entry.before, entry.after) == ({"cohorts": ["first-intake"]}, {"cohorts": []})

    def test_a_leaver_is_out_at_once_and_comes_back_by_a_code_alone(self, hire: Person) -> None:
        """A browser left signed in when its person left does not wake up when they come back."""
        client = Client()
        client.force_login(hire)

        run("set_person", "HIRE", "--leaver")
        assert client.get("/rigs/").status_code == 302

        run("set_person", "HIRE", "--active")
        assert client.get("/rigs/").status_code == 302
        assert not Client().login(username="HIRE", password=PASSWORD)
        assert Person.objects.get(pk=hire.pk).is_active

    def test_a_leaver_takes_pairings_code_and_open_prompt_along(
        self, hire: Person, fto: Person
    ) -> None:
        give_codes([hire], by=None, now=timezone.now())
        Person.objects.update(assessed_prompt_until=timezone.now() + timedelta(minutes=9))

        run("set_person", "HIRE", "--leaver")

        assert not may_see(fto, hire)
        assert not SignInCode.objects.exists()
        assert not Person.objects.get(pk=hire.pk).has_assessed_prompt
        assert Pairing.objects.filter(crew=hire, fto=fto).exists()  # the record is kept
        told = AuditEntry.objects.filter(action__in=("unpair", "change person"))
        assert list(told.values_list("subject", flat=True)) == ["FTO HIRE", "HIRE"]

    def test_a_certification_can_be_taken_away(self, hire: Person) -> None:
        said = run("set_person", "HIRE", "--certification=none")

        assert Person.objects.get(pk=hire.pk).certification is None
        assert "HIRE certification: paramedic -> none" in said

    def test_what_is_so_already_is_no_change(self, hire: Person) -> None:
        assert "nothing changed" in run("set_person", "HIRE", "--extra-time=1", "--active")
        assert not AuditEntry.objects.exists()

    def test_with_nothing_named_it_says_what_can_be(self, hire: Person) -> None:
        assert refusal("set_person", "HIRE").startswith("Nothing to change was named; it takes --")

    @pytest.mark.parametrize(
        ("option", "said"),
        [
            ("--certification=medic", "No certification level 'medic'; there are: paramedic."),
            (
                "--cohort=autumn",
                "No cohort 'autumn'; there are: first-intake. add_cohort adds one.",
            ),
            ("--extra-time=half", "The extra time is 'half'; it takes a number from 1"),
            ("--extra-time=0.5", "The extra time is '0.5'; it takes"),
            ("--extra-time=11", "The extra time is '11'; it takes"),
            ("--extra-time=1.005", "The extra time is '1.005'; it takes"),
            ("--extra-time=nan", "The extra time is 'nan'; it takes"),
            ("--role=chief", "argument --role: invalid choice: 'chief' (choose from 'crew'"),
        ],
    )
    def test_refuses_and_says_what_it_takes(self, hire: Person, option: str, said: str) -> None:
        assert said in refusal("set_person", "HIRE", option)
        assert not AuditEntry.objects.exists()

    @pytest.mark.parametrize("change", [("--leaver",), ("--role", "crew")])
    def test_the_last_administrator_stays_until_there_is_another(
        self, admin: Person, outsider: Person, change: tuple[str, ...]
    ) -> None:
        said = "ADMIN is the last administrator; give another person the role first."
        assert refusal("set_person", "ADMIN", *change) == said
        kept = Person.objects.get(pk=admin.pk)
        assert kept.is_active
        assert kept.roles == {Role.ADMIN}
        assert kept.has_password
        assert not AuditEntry.objects.exists()

        run("set_person", "OUTSIDER", "--role", "admin")
        run("set_person", "ADMIN", *change)

    def test_one_refused_thing_leaves_all_as_it_was(self, hire: Person) -> None:
        refusal("set_person", "HIRE", "--extra-time=2", "--cohort=autumn")

        assert Person.objects.get(pk=hire.pk).time_allowance == 1

    def test_names_a_number_that_nobody_has(self) -> None:
        said = "There is no person with number '99'; add_person adds one."
        assert refusal("set_person", "99", "--active") == said


class TestAddCohort:
    def test_adds_one_and_keeps_it(self) -> None:
        assert (
            run("add_cohort", "spring", "Spring intake") == "Added cohort spring: Spring intake.\n"
        )
        assert AuditEntry.objects.get().after == {"name": "Spring intake"}

    @pytest.mark.parametrize(
        ("slug", "name", "said"),
        [
            ("first-intake", "Again", "There is a cohort 'first-intake' already."),
            ("a b", "Again", "The slug is 'a b'. Enter a valid"),
            ("empty", " ", "The name is empty"),
            ("b2", "FIRST  intake", "There is a cohort named 'First intake' already, 'first-i"),
            ("First-Intake", "Spring", "There is a cohort 'first-intake' already."),
            ("a-b", "A; B", "The name is 'A; B'; it takes one without ; and |, which stand"),
            ("a-b", "A|B", "The name is 'A|B'; it takes one without ; and |, which stand"),
            ("long", "L" * 81, "The name has 81 characters; it takes at most 80."),
        ],
    )
    def test_refuses(self, hire: Person, slug: str, name: str, said: str) -> None:
        assert refusal("add_cohort", slug, name).startswith(said)
        assert [cohort.slug for cohort in Cohort.objects.all()] == ["first-intake"]


class TestPair:
    def test_shows_the_officer_one_person_until_unpaired(
        self, fto: Person, outsider: Person
    ) -> None:
        assert not may_see(fto, outsider)

        said = run("pair", "FTO", "OUTSIDER")
        assert said == "Paired FTO Ola Field with OUTSIDER Uri Side, from now until unpaired.\n"
        assert may_see(fto, outsider)

        assert run("unpair", "FTO", "OUTSIDER") == "Unpaired FTO and OUTSIDER, from now.\n"
        assert not may_see(fto, outsider)

    def test_keeps_before_and_after(self, fto: Person, outsider: Person) -> None:
        run("pair", "FTO", "OUTSIDER")
        run("unpair", "FTO", "OUTSIDER")

        made, ended = AuditEntry.objects.all()
        assert (made.action, made.before, made.subject) == ("pair", None, "FTO OUTSIDER")
        assert ended.before == made.after
        assert ended.before is not None
        assert ended.after is not None
        assert ended.before["until"] is None
        assert ended.after["until"] is not None

    def test_lasts_through_its_last_day(self, fto: Person, outsider: Person) -> None:
        run("pair", "FTO", "OUTSIDER", f"--until={TODAY()}")

        pairing = Pairing.objects.get(crew=outsider)
        assert pairing.ends_at is not None
        assert timezone.localdate(pairing.ends_at) == TODAY() + timedelta(days=1)
        assert pairing.ends_at.hour == pairing.ends_at.minute == 0

    @pytest.mark.parametrize(
        ("arguments", "said"),
        [
            (
                ("FTO", "HIRE"),
                "FTO and HIRE are paired already, without an end; unpair them first.",
            ),
            (("FTO", "FTO"), "FTO came in twice; it takes two persons."),
            (("FTO", "99"), "There is no person with number '99'; add_person adds one."),
            (("OUTSIDER", "HIRE"), "OUTSIDER Uri Side is no field training officer; roles held: "),
            (("FTO", "KEEPER"), "KEEPER Kay Keeper is no crew member; roles held: keeper."),
            (("FTO", "OUTSIDER", "--until=Friday"), "The last day is 'Friday'; it takes a date as"),
            (
                ("FTO", "OUTSIDER", "--until=2020-01-01"),
                "The last day is 2020-01-01; it takes today",
            ),
        ],
    )
    @pytest.mark.usefixtures("fto", "outsider", "keeper")
    def test_refuses_and_says_why(self, arguments: tuple[str, ...], said: str) -> None:
        assert refusal("pair", *arguments).startswith(said)
        assert not AuditEntry.objects.exists()

    def test_one_who_has_left_is_not_paired(self, fto: Person, outsider: Person) -> None:
        run("set_person", "OUTSIDER", "--leaver")

        assert refusal("pair", "FTO", "OUTSIDER") == "OUTSIDER Uri Side has left."

    @pytest.mark.usefixtures("fto", "outsider")
    def test_only_the_paired_are_unpaired(self) -> None:
        assert refusal("unpair", "FTO", "OUTSIDER") == "FTO and OUTSIDER are not paired."
