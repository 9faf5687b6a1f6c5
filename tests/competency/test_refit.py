"""The refit, what it stores, and that replaying all evidence gives the same."""

import math
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import StringIO
from random import Random

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from drills.competency.actions import HANDS_ON, record_evidence, void_evidence
from drills.competency.alone import UnderWayError
from drills.competency.expecting import CHANCE, ROW
from drills.competency.fitted import forget_fits, standing_fit
from drills.competency.gathering import (
    Moment,
    Numbering,
    asked_at,
    columns_of,
    seen_of_one,
    seen_rows,
)
from drills.competency.models import Evidence, Expected, Fit, PersonOffset, Refit
from drills.competency.refitting import fitted_to, refit
from drills.competency.reports import knowledge_of
from drills.engine.facts import facts_of
from drills.engine.knowing.columns import MODALITIES
from drills.engine.knowing.history import history
from drills.engine.memory import COUNTED
from drills.engine.recipes import LOCATE, STAGE
from drills.engine.scoring import RIGHT, WRONG, Finding
from drills.engine.searching import LOG_SECONDS
from drills.people.models import Person
from drills.rigs.models import Need, Rig
from tests.competency.others import another_refit, may_begin
from tests.competency.test_actions import NOW, TOURNIQUET, circumstances
from tests.competency.test_actions import rig as rig
from tests.layouts import practice_rig

pytestmark = pytest.mark.django_db

FACTS = facts_of(practice_rig())
OTHER = next(fact for fact in FACTS if fact.thing == "splint")
NIGHT = NOW + timedelta(days=1)


def say(stage: str) -> None:
    """Nobody listens."""


def made(at: datetime = NIGHT) -> Fit:
    found = refit(now=lambda: at, say=say)
    assert found is not None
    return found


def found_by_the_check() -> str:
    """What `recompute --check` says where it finds something."""
    out = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("recompute", "--check", stdout=out, stderr=StringIO())
    assert ended.value.code == 1
    return out.getvalue()


def told(*arguments: str) -> str:
    out = StringIO()
    call_command(*arguments, stdout=out, stderr=StringIO())
    return out.getvalue()


@pytest.fixture
def answered(hire: Person, outsider: Person, rig: Rig) -> None:
    """Ninety days of a person who is right nine times in ten, and of one who is three times."""
    draw = Random(3)  # noqa: S311  # drills to test by, no secret
    for number in range(120):
        for person, share in ((hire, 0.9), (outsider, 0.3)):
            asked = circumstances(person, rig, f"answer {number} of {person.pk}")
            fact = draw.choice(FACTS)
            outcome = RIGHT if draw.random() < share else WRONG
            at = NOW - timedelta(days=90 - 0.75 * number)
            record_evidence([Finding(fact, outcome, "")], replace(asked, at=at, predictions={}))


def answer(person: Person, rig: Rig, outcome: str, source: str = "answer after") -> None:
    asked = replace(circumstances(person, rig, source), at=NIGHT, predicted_by="fit 1")
    record_evidence([Finding(TOURNIQUET, outcome, "")], asked)


@pytest.mark.usefixtures("answered")
class TestRefit:
    def test_how_long_a_kit_takes_is_no_time_of_a_search(self, hire: Person, rig: Rig) -> None:
        """Two minutes of a whole kit leave the time of each search at the rig as published; the
        five seconds of a single thing do not."""
        at_rig = replace(
            circumstances(hire, rig, "kit"), kind=STAGE, seconds=120.0, modality=HANDS_ON
        )
        record_evidence([Finding(fact, RIGHT, "") for fact in FACTS[:6]], at_rig)
        usual = made().figures["times"]["usual"]
        assert usual[MODALITIES.index(HANDS_ON)] == pytest.approx(LOG_SECONDS)

        one = replace(at_rig, kind=LOCATE, seconds=5.0, source="thing")
        record_evidence([Finding(TOURNIQUET, RIGHT, "")], one)
        usual = made(NIGHT + timedelta(days=1)).figures["times"]["usual"]
        assert usual[MODALITIES.index(HANDS_ON)] == pytest.approx(math.log(5.0), abs=0.5)

    def test_the_steps_of_an_answer_share_its_seconds(self, hire: Person, rig: Rig) -> None:
        """Eight seconds to a bag and what it holds are four for each of the two."""
        at_rig = replace(circumstances(hire, rig, "bag and thing"), seconds=8.0, modality=HANDS_ON)
        record_evidence([Finding(fact, RIGHT, "") for fact in FACTS[:2]], at_rig)
        rows = seen_rows(Evidence.objects.filter(source="bag and thing"))

        assert [each.seconds for each in rows] == [4.0, 4.0]
        assert [each.seconds for each in seen_of_one(hire, [FACTS[0]])][-1] == 4.0

    def test_says_what_each_person_knows(self, hire: Person, outsider: Person, rig: Rig) -> None:
        """After the refit the model speaks, by name; who is right more often has more."""
        before = knowledge_of(hire, layout=rig.layout, now=NIGHT)
        stored = made()
        good, poor = (knowledge_of(who, layout=rig.layout, now=NIGHT) for who in (hire, outsider))

        assert (before.thought_by, good.thought_by) == (COUNTED, f"fit {stored.pk}")
        assert good.of(FACTS).chance > 0.8 > 0.5 > poor.of(FACTS).chance
        assert good.of(FACTS).low < good.of(FACTS).chance < good.of(FACTS).high
        assert set(good.predictions(FACTS)) == set(map(str, FACTS))

    def test_of_little_asked_it_is_less_sure(self, hire: Person, rig: Rig) -> None:
        """One fact alone is known less surely than all of them together."""
        made()
        known = knowledge_of(hire, layout=rig.layout, now=NIGHT)
        one, all_of_them = known.of([TOURNIQUET]), known.of(FACTS)

        assert one.high - one.low > all_of_them.high - all_of_them.low

    def test_the_same_is_thought_of_some_facts_as_among_all(self, hire: Person, rig: Rig) -> None:
        """Where a prompt looks at few facts, they are thought of as on a page of all of them."""
        made()
        everything = knowledge_of(hire, layout=rig.layout, now=NIGHT)
        few = knowledge_of(hire, layout=rig.layout, now=NIGHT, about=[TOURNIQUET])

        assert few.of([TOURNIQUET]).chance == pytest.approx(everything.of([TOURNIQUET]).chance)

    def test_another_thing_for_the_same_need_is_looked_at_too(self, hire: Person, rig: Rig) -> None:
        """What is known of it elsewhere says something of this one, as it did to the fit."""
        both = Evidence.objects.filter(fact__item__key__in=[TOURNIQUET.thing, OTHER.thing])
        both.update(need=Need.objects.create(key="own-stop", name_us="Stop", category="bleeding"))
        made()
        everything = knowledge_of(hire, layout=rig.layout, now=NIGHT)
        few = knowledge_of(hire, layout=rig.layout, now=NIGHT, about=[TOURNIQUET])

        assert both.filter(person=hire, fact__item__key=OTHER.thing).exists()
        assert few.of([TOURNIQUET]).chance == pytest.approx(everything.of([TOURNIQUET]).chance)

    def test_an_answer_moves_its_person_at_once(
        self, hire: Person, outsider: Person, rig: Rig
    ) -> None:
        """A miss lowers its person by the step that is worked out by hand, and nobody else."""
        made()
        own, other = (PersonOffset.objects.get(person=each) for each in (hire, outsider))
        answer(hire, rig, WRONG)
        moved = PersonOffset.objects.get(person=hire)
        variance = own.variance / (1 + own.variance * 0.7 * 0.3)

        assert moved.variance == pytest.approx(variance)
        assert moved.mean == pytest.approx(own.mean - variance * 0.7)
        assert PersonOffset.objects.get(person=outsider).mean == other.mean

    def test_a_voided_answer_moves_back(self, hire: Person, rig: Rig) -> None:
        """With its evidence voided the person stands where they stood before."""
        made()
        own = PersonOffset.objects.get(person=hire)
        answer(hire, rig, WRONG)
        void_evidence("answer after", by="fto", now=NIGHT)

        assert PersonOffset.objects.get(person=hire).mean == pytest.approx(own.mean)

    def test_what_counts_foretold_moves_nobody(self, hire: Person, rig: Rig) -> None:
        """An answer whose chance was counted before the first fit is no step, nor when replayed."""
        made()
        before = PersonOffset.objects.get(person=hire)
        asked = replace(circumstances(hire, rig, "served before"), at=NIGHT)
        record_evidence([Finding(TOURNIQUET, WRONG, "")], replace(asked, predicted_by=COUNTED))
        answer(hire, rig, WRONG)
        void_evidence("answer after", by="fto", now=NIGHT)

        assert PersonOffset.objects.get(person=hire).mean == pytest.approx(before.mean)
        assert "is what its" in told("recompute", "--check")

    def test_what_is_voided_while_it_is_fitted_was_there(self, rig: Rig) -> None:
        """A fit is of the moment its evidence was read, however long it takes."""
        moments: list[datetime] = []

        def clock() -> datetime:
            moments.append(NIGHT + timedelta(minutes=len(moments)))
            if len(moments) == 6:
                first = Evidence.objects.earliest("pk")
                void_evidence(first.source, by="fto", now=moments[-1])
            return moments[-1]

        assert refit(now=clock, say=say) is not None
        assert Evidence.objects.exclude(voided_at=None).exists()
        assert "is what its 240 first answers lead to" in told("recompute", "--check")

    def test_who_is_erased_while_it_is_fitted_has_nothing_of_their_own(
        self, hire: Person, outsider: Person
    ) -> None:
        """The others have, and the night's fit is kept."""

        def clock() -> datetime:
            if Refit.objects.filter(stage="storing it").exists():
                Evidence.objects.filter(person=outsider).update(person=None)
                Person.objects.filter(pk=outsider.pk).delete()
            return NIGHT

        def last(stage: str) -> None:
            if stage == "storing it":
                clock()

        assert refit(now=clock, say=last) is not None
        assert [each.person for each in PersonOffset.objects.all()] == [hire]

    def test_a_clock_put_back_loses_no_answer(self, hire: Person, rig: Rig) -> None:
        """Asked before the newest of what was seen, chances are chances all the same."""
        made()
        earlier = NOW - timedelta(days=60)
        known = knowledge_of(hire, layout=rig.layout, now=earlier)

        assert all(0 < chance < 1 for chance in known.predictions(FACTS).values())

    def test_a_move_is_dated_as_in_the_fit_for_who_never_saw_the_old_place(
        self, hire: Person, outsider: Person, rig: Rig
    ) -> None:
        """Where a thing came to its place is known from everybody, not from the asked alone."""
        stored = made()
        fact = f"{rig.layout.pk} {TOURNIQUET}"
        figures = stored.figures | {"moved": {fact: NOW.timestamp() / 86_400 - 9}}
        figures["coefficients"] = stored.figures["coefficients"] | {"moved": -4.0}
        before = knowledge_of(hire, layout=rig.layout, now=NIGHT).of([TOURNIQUET]).chance
        Fit.objects.create(
            made_at=NIGHT, through=stored.through, answers=1, people=2, seconds=1, figures=figures
        )

        assert knowledge_of(hire, layout=rig.layout, now=NIGHT).of([TOURNIQUET]).chance < before / 2

    def test_it_is_read_alike_in_whatever_order_names_are_kept(
        self, hire: Person, rig: Rig
    ) -> None:
        """PostgreSQL keeps names by their length: what goes by number stays with them."""
        stored = made()
        before = knowledge_of(hire, layout=rig.layout, now=NIGHT).thought
        offsets = {
            name: dict(sorted(named.items(), reverse=True))
            for name, named in stored.figures["offsets"].items()
        }
        assert any(list(offsets[name]) != stored.figures["levels"][name] for name in offsets)
        Fit.objects.filter(pk=stored.pk).update(figures=stored.figures | {"offsets": offsets})
        forget_fits()
        after = knowledge_of(hire, layout=rig.layout, now=NIGHT).thought

        assert before is not None
        assert after is not None
        for name in ("logit", "variance", "shared", "log_seconds"):
            assert getattr(after, name).tolist() == getattr(before, name).tolist()

    @pytest.mark.parametrize("figure", ["began", "doubt", "levels", "coefficients"])
    def test_a_fit_of_other_figures_is_none(self, hire: Person, rig: Rig, figure: str) -> None:
        """What a release stored that knew less of a fit is not thought by: counts speak again."""
        stored = made()
        lacks = {name: each for name, each in stored.figures.items() if name != figure}
        Fit.objects.create(
            made_at=NIGHT,
            through=stored.through,
            answers=1,
            people=2,
            seconds=1,
            figures={"coefficients": {}} | lacks,
        )

        assert knowledge_of(hire, layout=rig.layout, now=NIGHT).thought_by == COUNTED

    def test_what_is_served_is_what_was_fitted(self, hire: Person, rig: Rig) -> None:
        """The chance from what is stored is that of the model before it was stored, by the same
        columns; pages, which integrate, are within a hundredth of it."""
        made()
        standing, fitted = Evidence.objects.standing(), standing_fit()
        assert fitted is not None
        numbering = Numbering()
        answers = columns_of(seen_rows(standing), numbering)
        whole, _ = fitted_to(answers, history(answers), say)
        asked = asked_at(
            FACTS, Moment(person=hire.pk, layout=rig.layout.pk, edition=rig.revision.pk, now=NIGHT)
        )
        every = columns_of([*seen_rows(standing), *asked], numbering)
        past = history(every, fitted.times)[len(answers) :]
        told = whole.chances(every.take(slice(len(answers), len(every))), past)
        served = knowledge_of(hire, layout=rig.layout, now=NIGHT).predictions(FACTS)

        assert list(served.values()) == pytest.approx(told.tolist(), abs=0.01)

    def test_replaying_all_evidence_gives_the_same(self, hire: Person, rig: Rig) -> None:
        """After answers, a void and more answers the check finds no difference."""
        made()
        answer(hire, rig, WRONG)
        answer(hire, rig, RIGHT, "answer second")
        void_evidence("answer after", by="fto", now=NIGHT + timedelta(hours=1))

        assert "is what its 240 first answers lead to" in told("recompute", "--check")

    @pytest.mark.parametrize("figure", ["mean", "fitted_mean", "forgetting", "speed"])
    def test_a_figure_that_was_changed_is_named(self, hire: Person, figure: str) -> None:
        """What no evidence leads to is told with both figures, and recompute mends it."""
        made()
        PersonOffset.objects.filter(person=hire).update(**{figure: 5.0})
        assert "5 is stored" in found_by_the_check()
        told("recompute")
        assert "is what its" in told("recompute", "--check")

    def test_what_a_fit_expected_is_among_what_is_checked(self) -> None:
        """A chance that was changed is named by its row, and so is every one that is gone."""
        made()
        kept = Expected.objects.get()
        chances = np.frombuffer(kept.chances, CHANCE).copy()
        chances[3] = 0.01
        row = np.frombuffer(kept.rows, ROW)[3]
        Expected.objects.update(chances=chances.tobytes())
        assert f"expected of row {row}" in found_by_the_check()
        told("recompute")
        assert "is what its" in told("recompute", "--check")

        Expected.objects.all().delete()
        assert "expected of row" in found_by_the_check()

    def test_a_refit_says_how_far_it_is(self) -> None:
        """Each stage is told, and the end says of how many answers it is."""
        err = StringIO()
        out = StringIO()
        call_command("refit", stdout=out, stderr=err)

        assert "240 first answers of 2 people" in out.getvalue()
        assert err.getvalue().count("\n") >= 5

    def test_one_refit_at_a_time(self) -> None:
        """While one is under way another is refused, with how far it is and which process to end
        where it hangs, however long it takes; nothing is stored."""
        with another_refit(NIGHT, stage="fitting who finds what"):
            told = "fitting who finds what, at .*end process 4711 on medic-desk"
            with pytest.raises(UnderWayError) as refused:
                made(NIGHT + timedelta(hours=5))
            assert re.search(told, refused.value.in_full)
            assert "4711" not in str(refused.value)

        assert not Fit.objects.exists()
        assert made(NIGHT).answers == 240

    def test_one_that_was_killed_is_taken_over(self) -> None:
        """A mark that nobody holds is of a refit that was killed: another one begins at once."""
        with another_refit(NIGHT, stage="reading the evidence"):
            pass
        Refit.objects.create(started_at=NIGHT, seen_at=NIGHT, stage="reading the evidence")
        made(NIGHT)

        assert not Refit.objects.exists()

    def test_while_it_is_under_way_no_other_may_begin(self) -> None:
        """It holds on until it ends: another process is refused at its last stage."""
        refused: list[bool] = []

        def last(stage: str) -> None:
            if stage == "storing it":
                refused.append(not may_begin())

        assert refit(now=lambda: NIGHT, say=last) is not None
        assert refused == [True]

    def test_whose_place_was_taken_stores_nothing(self) -> None:
        """Another took over meanwhile: the other's mark and fit are left alone."""

        def silent(stage: str) -> None:
            if stage == "storing it":
                Refit.objects.all().delete()
                Refit.objects.create(started_at=NIGHT, seen_at=NIGHT, stage="the other")

        with pytest.raises(UnderWayError, match="Another took its place"):
            refit(now=lambda: NIGHT, say=silent)

        assert not Fit.objects.exists()
        assert not PersonOffset.objects.exists()
        assert [each.stage for each in Refit.objects.all()] == ["the other"]

    def test_a_refit_that_fails_leaves_the_last_one(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Where fitting fails the earlier fit stands, and the next refit may begin."""
        first = made()

        def fails(*_: object) -> None:
            raise MemoryError

        monkeypatch.setattr("drills.competency.refitting.fit_times", fails)
        with pytest.raises(MemoryError):
            made(NIGHT + timedelta(days=1))

        assert list(Fit.objects.all()) == [first]
        assert not Refit.objects.exists()

    def test_an_erased_person_leaves_no_figure(self, outsider: Person) -> None:
        """What was fitted of a person goes with them, and the check says that answers are gone."""
        made()
        Evidence.objects.filter(person=outsider).update(person=None)
        outsider.delete()

        assert PersonOffset.objects.count() == 1
        with pytest.raises(SystemExit):
            told("recompute", "--check")


def test_without_evidence_there_is_nothing_to_fit() -> None:
    """An empty service is told so, and the check finds nothing that could differ."""
    assert refit(now=lambda: datetime(2026, 1, 1, tzinfo=UTC), say=say) is None
    assert "nothing to fit" in told("refit")
    assert "nothing can differ" in told("recompute", "--check")


def test_under_way_is_told_by_the_command() -> None:
    """The command ends with the plain sentence."""
    with (
        another_refit(datetime.now(UTC), stage="half way"),
        pytest.raises(CommandError, match="half way"),
    ):
        told("refit")
