"""A thousand incidents made at random: right by the schemes, possible, readable and no label."""

import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import cycle, islice, product

import pytest

from drills.engine.calls import CallError
from drills.engine.dispatch import Ranges, ranges_of
from drills.engine.incidents import Casualty, Incident, Sorting, make_incident
from drills.engine.incidents.asking import TriagePrompt, judge, prompts_of, tally
from drills.engine.incidents.findings import rate_limits
from drills.engine.incidents.later import look_again
from drills.engine.incidents.signs import least_systolic
from drills.engine.incidents.tables import APPEARANCES, LEVELS, PATTERNS, PROBLEMS, patterns_for
from drills.engine.incidents.telling import asked_for
from drills.engine.incidents.threats import threats
from drills.engine.triage import CATEGORIES, CHARTS, SALT_FAMILY, START_FAMILY
from drills.engine.triage.findings import REFILL
from drills.engine.triage.measures import OVER, RIGHT, UNDER
from drills.engine.weights import weight_at
from tests.engine import triage_published
from tests.engine.fixture_world import call_types, world

SORTINGS = (Sorting(), Sorting(perfusion=REFILL), Sorting(SALT_FAMILY))
MANY = ("multi-vehicle", "bus-rollover", "structure-fire", "carbon-monoxide")
# What a body of an age may show and live, or just so: ours, wide on purpose.
POSSIBLE = {
    "infant": {"hr": (30, 230), "rr": (4, 70), "sbp": (35, 120)},
    "child": {"hr": (30, 220), "rr": (4, 66), "sbp": (40, 160)},
    "adult": {"hr": (25, 210), "rr": (4, 45), "sbp": (45, 240)},
}
SIGNS = {"hr": "Pulse", "rr": "Breathing", "sbp": "Systolic"}


def thousand() -> Iterator[Incident]:
    ways = product(sorted(call_types()), range(1, 13), SORTINGS, (False, True))
    for number, ((slug, count, sorting, is_short), level) in enumerate(
        zip(islice(ways, 0, None), cycle(LEVELS), strict=False)
    ):
        if number % 2 == 0 or slug in MANY:
            yield make_incident(
                call_types()[slug],
                world(),
                seed=f"{number}",
                count=count,
                sorting=sorting,
                level=level,
                is_short=is_short,
            )


@pytest.fixture(scope="module")
def made() -> list[Incident]:
    return list(thousand())


@pytest.fixture(scope="module")
def everybody(made: list[Incident]) -> list[tuple[Incident, Casualty]]:
    return [(incident, each) for incident in made for each in incident.casualties]


LOSES_IT = re.compile(r"\bbleed|lose the pulse")


def own_ranges(casualty: Casualty) -> Ranges:
    """The signs of a patient's problem at its severity and their age."""
    who = casualty.patient
    problem = world().problems[who.problem]
    states = [each for each in problem.states if each.severity == who.severity]
    return ranges_of(problem, next(e for e in states if who.band in e.age_bands), who.band)


def published(incident: Incident, casualty: Casualty) -> str:
    """The category by the schemes typed a second time."""
    known = {"perfusion": incident.sorting.perfusion, **casualty.findings}
    scheme = incident.sorting.scheme(is_child=casualty.whose.is_child)
    return str(getattr(triage_published, scheme)(known))


class TestAThousand:
    def test_there_are_a_thousand_of_every_kind(self, made: list[Incident]) -> None:
        """Else what follows holds of little."""
        assert len(made) >= 1000
        assert {each.call.call_type for each in made} == set(call_types())
        assert {len(each.casualties) for each in made} == set(range(1, 13))

    def test_findings_and_category_never_contradict(
        self, everybody: list[tuple[Incident, Casualty]]
    ) -> None:
        """The charts read the findings and come to what the texts typed apart from them say."""
        for incident, casualty in everybody:
            assert incident.outcome(casualty).category == published(incident, casualty)

    def test_every_category_is_met(self, everybody: list[tuple[Incident, Casualty]]) -> None:
        """Each of both families, more than one in two hundred."""
        met = Counter((i.sorting.family, i.outcome(each).category) for i, each in everybody)
        of_family = Counter(i.sorting.family for i, _ in everybody)
        for row in CATEGORIES:
            if row.schemes in of_family:
                share = met[row.schemes, row.category] / of_family[row.schemes]
                assert share > 0.005, row.category

    def test_nobody_is_expectant_where_there_is_enough(
        self, everybody: list[tuple[Incident, Casualty]]
    ) -> None:
        """Of SALT the category hangs on the resources, which a prompt states."""
        for incident, casualty in everybody:
            if incident.outcome(casualty).category == "expectant":
                assert incident.is_short

    def test_signs_are_possible_at_the_age(
        self, everybody: list[tuple[Incident, Casualty]]
    ) -> None:
        """Pulse, breaths and pressure, where there are any; the rest within its scale."""
        for _, casualty in everybody:
            for name, (low, high) in POSSIBLE[casualty.patient.size].items():
                value = casualty.signs.get(name, 0)
                assert value == 0 or low <= value <= high, (casualty, name)
            assert 3 <= casualty.signs.get("gcs", 3) <= 15
            assert casualty.signs.get("spo2", 0) <= 100

    def test_signs_do_not_contradict_findings(
        self, everybody: list[tuple[Incident, Casualty]]
    ) -> None:
        """The breaths are those counted; without pulse at the wrist the pressure is low."""
        for _, casualty in everybody:
            found, signs = casualty.findings, casualty.signs
            assert signs["rr"] == found["rate"]
            assert bool(signs["hr"]) == bool(found["pulse"] or found["rate"])
            if found["rate"] and "sbp" in signs:
                is_low = signs["sbp"] < least_systolic(casualty.whose)
                assert is_low == (not found["pulse"])
            if "gcs" in signs and found["obeys"]:
                assert signs["gcs"] >= 12
            assert ("Breathing", "none") in casualty.patient.signs or found["rate"]

    def test_nobody_is_met_awake_whose_problem_takes_the_mind(
        self, everybody: list[tuple[Incident, Casualty]]
    ) -> None:
        """By the coma scale of the problem, under 13; but for soot and heat in the throat, which
        is met by its breath."""
        awake, seen = set(), 0
        for _, each in everybody:
            if own_ranges(each).get("gcs", (15, 15))[1] < 13:
                seen += 1
                awake |= {each.patient.problem} if each.findings["avpu"] == "A" else set()
        assert seen > 100
        assert awake == {"smoke-inhalation"}

    def test_whose_problem_slows_every_breath_is_met_breathing_slowly(
        self, everybody: list[tuple[Incident, Casualty]]
    ) -> None:
        """An opioid with thirty breaths a minute is none; a child's chart has a least."""
        seen = set()
        for _, each in everybody:
            most = own_ranges(each).get("rr", (99, 99))[1]
            is_theirs = each.pattern.rate == "usual" and not each.whose.is_child
            if 0 < most < 12 and is_theirs:
                seen.add(each.patient.problem)
                assert 4 <= each.findings["rate"] <= max(most, 4)
        assert {"opioid", "head-injury", "hypothermia"} <= seen

    def test_whose_illness_quickens_no_breath_is_not_met_near_the_limit(
        self, everybody: list[tuple[Incident, Casualty]]
    ) -> None:
        """A stroke with thirty breaths a minute is none; who is hurt may breathe so of pain."""
        seen = set()
        for _, each in everybody:
            most = own_ranges(each).get("rr", (99, 99))[1]
            is_hurt = PROBLEMS[each.patient.problem].is_injury
            is_theirs = each.pattern.rate == "usual" and not each.whose.is_child
            if 12 <= most <= 20 and is_theirs and not is_hurt:
                seen.add(each.patient.problem)
                assert each.findings["rate"] <= most
        assert {"stroke", "hypoglycaemia"} <= seen

    def test_weights_are_of_the_age_and_sex(
        self, everybody: list[tuple[Incident, Casualty]]
    ) -> None:
        """Between the 3rd and the 97th percentile."""
        for _, casualty in everybody:
            patient = casualty.patient
            low, high = (
                weight_at(share, patient.age_y, is_female=patient.is_female)
                for share in (0.03, 0.97)
            )
            assert low <= casualty.weight_kg <= high

    def test_sex_says_nothing_of_the_problem(
        self, everybody: list[tuple[Incident, Casualty]]
    ) -> None:
        """Of each problem half are women, within 4 standard errors; by anatomy alone all."""
        women = defaultdict[str, list[bool]](list)
        for _, casualty in everybody:
            women[casualty.patient.problem].append(casualty.patient.is_female)
        for problem, are in women.items():
            if PROBLEMS[problem].sex == "female":
                assert all(are)
            else:
                assert abs(sum(are) / len(are) - 0.5) <= 4 * (0.25 / len(are)) ** 0.5, problem

    def test_ages_are_those_of_the_call(self, everybody: list[tuple[Incident, Casualty]]) -> None:
        """Inside the band, and narrower where the problem is only of some, by definition."""
        for _, casualty in everybody:
            patient, bands = casualty.patient, world().bands
            assert bands[patient.band].from_y - 1 / 12 <= patient.age_y < bands[patient.band].to_y
            ages = PROBLEMS[patient.problem].ages
            if told := re.fullmatch(r"([\d.]+) to ([\d.]+)", ages):
                assert float(told[1]) - 1 / 12 <= patient.age_y <= float(told[2])

    def test_it_reads_well(self, made: list[Incident]) -> None:
        """Sentences, each with a capital and a point, no hole, no name of a field, no label."""
        names = {row.category for row in CATEGORIES} | {"red", "yellow", "green", "black"}
        for incident in made:
            assert "{" not in incident.call.dispatch
            for prompt in prompts_of(incident):
                for sentence in (prompt.seen, *prompt.told):
                    assert re.fullmatch(r"[A-Z][^_{}]*[a-z]\.", sentence), sentence
                    assert "  " not in sentence
                    assert not names & set(re.findall(r"[a-z]+", sentence.casefold())), sentence
                assert prompt.told

    def test_the_same_seed_makes_the_same(self) -> None:
        """Another seed another, another level another."""
        one, again, other = (
            make_incident(call_types()["multi-vehicle"], world(), seed=seed, count=6)
            for seed in ("1", "1", "2")
        )
        assert one == again
        assert one.casualties != other.casualties

    @pytest.mark.parametrize("slug", ["multi-vehicle", "bus-rollover"])
    def test_no_two_patients_look_alike(self, slug: str) -> None:
        """Twelve of them at once: two alike would read as a copy."""
        for seed in range(20):
            incident = make_incident(call_types()[slug], world(), seed=f"{seed}", count=12)
            assert len({each.seen for each in incident.casualties}) == 12

    def test_of_too_few_to_sort_only_an_arrest_is_dead(self, made: list[Incident]) -> None:
        """Whoever is one of so few is treated: a dose for somebody dead would be none."""
        dead = {
            each.patient.problem
            for incident in made
            if len(incident.casualties) < incident.sorting.threshold
            for each in incident.casualties
            if incident.outcome(each).category in {"deceased", "dead", "expectant"}
        }

        assert dead
        assert all("arrest" in problem for problem in dead)

    def test_of_too_few_to_sort_nobody_is_beyond_help(self, made: list[Incident]) -> None:
        """START calls who gasps without a pulse immediate: of many they are met, of few not."""
        met: dict[bool, set[str]] = {True: set(), False: set()}
        for incident in made:
            is_few = len(incident.casualties) < incident.sorting.threshold
            met[is_few] |= {each.appearance.grade for each in incident.casualties}

        assert "hopeless" in met[False]
        assert "grave" in met[True]
        assert "hopeless" not in met[True]

    def test_of_too_few_to_sort_nobody_in_danger_is_told_not_to_be(self) -> None:
        """The first report of so few says how bad the worst is: by what is found, as by what is
        written. A runner light in the head has a pulse at the wrist; one who has none is grey."""
        for (slug, call_type), level, sorting in product(call_types().items(), LEVELS, SORTINGS):
            for count in range(call_type.least, min(call_type.most, 2) + 1):
                for seed in range(4):
                    incident = make_incident(
                        call_type,
                        world(),
                        seed=f"few {seed}",
                        count=count,
                        sorting=sorting,
                        level=level,
                    )
                    for each in incident.casualties:
                        is_in_danger = bool(threats(each.findings, each.whose, sorting))
                        is_severe = each.patient.severity == 3
                        assert is_in_danger == is_severe, (slug, level, each.seen, each.findings)

    def test_one_alone_never_stands_beside_a_limit(self) -> None:
        """Nobody is asked for their category, so 29 breaths of a knock on the head say nothing."""
        rates = [
            each.findings["rate"]
            for seed in range(60)
            for each in make_incident(
                call_types()["fall"], world(), seed=f"alone {seed}", count=1, level=5
            ).casualties
            if each.patient.problem == "head-injury" and each.patient.severity < 3
        ]

        assert rates
        assert max(rates) <= 25  # a quarter over the 20 of somebody grown at rest

    def test_whom_nothing_quickens_is_met_by_no_fast_trap(
        self, everybody: list[tuple[Incident, Casualty]]
    ) -> None:
        """A cold child with a pulse of 45 does not breathe 47 a minute."""
        quiet = [each for _, each in everybody if each.own_breaths and each.pattern.is_trap]

        assert {"hypothermia", "hypoglycaemia"} <= {each.patient.problem for each in quiet}
        assert not [each.seen for each in quiet if each.pattern.rate == "over"]

    def test_no_category_is_of_more_than_half(self, made: list[Incident]) -> None:
        """Of three patients and more in calls of many: who guesses one for all is mostly wrong."""
        for incident in made:
            if incident.call.call_type in MANY and len(incident.casualties) > 2:
                met = Counter(incident.outcome(each).category for each in incident.casualties)
                assert max(met.values()) <= (len(incident.casualties) + 1) // 2


class TestKnobs:
    @staticmethod
    def shares(level: int) -> tuple[float, float]:
        """Of the patients of a level: counted within 2 breaths of a limit, and met by a trap."""
        met = [
            each
            for seed in range(40)
            for each in make_incident(
                call_types()["bus-rollover"], world(), seed=f"{seed}", count=8, level=level
            ).casualties
            if each.findings["rate"]
        ]
        near = [
            min(
                abs(each.findings["rate"] - limit)
                for limit in rate_limits(each.whose.chart)
                if limit
            )
            <= 2
            for each in met
        ]
        return sum(near) / len(met), sum(each.pattern.is_trap for each in met) / len(met)

    def test_the_harder_the_nearer_to_the_limits(self) -> None:
        """And the more patients whom the schemes, or first sight, are apart on."""
        near, traps = zip(*(self.shares(level) for level in (1, 3, 5)), strict=True)

        assert near[0] + 0.1 < near[1] < near[2] - 0.1
        assert traps[0] == 0 or traps[0] < 0.2
        assert traps[0] + 0.05 < traps[1] < traps[2] - 0.05

    def test_limits_are_those_of_the_charts(self) -> None:
        """Over 30, under 15 and over 45, as published."""
        assert rate_limits("start") == (0, 30)
        assert rate_limits("jumpstart") == (15, 45)

    @pytest.mark.parametrize(
        ("changed", "message"),
        [
            ({"count": 0}, "0 patients; accepted is 1 to 12"),
            ({"count": 13}, "13 patients; accepted is 1 to 12"),
            ({"level": 6}, "difficulty 6; accepted is 1, 2, 3, 4, 5"),
        ],
    )
    def test_what_cannot_be_made_is_named(self, changed: dict[str, int], message: str) -> None:
        """A count or a level that is none."""
        asked = {"count": 3, "level": 2} | changed
        with pytest.raises(CallError, match=message):
            make_incident(call_types()["multi-vehicle"], world(), seed="1", **asked)  # type: ignore[arg-type]  # by name


class TestData:
    def test_every_problem_of_the_calls_can_be_met(self) -> None:
        """Each has a row, and each appearance a pattern, for whoever it is of."""
        assert set(PROBLEMS) == set(world().problems)
        assert {row.problem for row in APPEARANCES} == set(PROBLEMS)
        for row in APPEARANCES:
            assert any(patterns_for(row, is_child=is_child) for is_child in (False, True)), row

    def test_what_may_lose_the_pulse_shows_a_low_pressure_or_says_why(self) -> None:
        """A broken arm bleeds into no shock: by the least pressure of grown people, which is that
        of who is ten and over."""
        for key, row in PROBLEMS.items():
            problem = world().problems[key]
            own = [each.ranges for each in problem.vitals if each.age_band == "adult"]
            ranges = (*(each.ranges for each in problem.states), *own)
            lows = [each["sbp"][0] for each in ranges if "sbp" in each]
            is_low = any(each < 90 for each in lows)
            assert row.worsens != "pulse" or is_low or LOSES_IT.search(row.note), key
        assert PROBLEMS["limb-fracture"].worsens == "none"

    def test_no_appearance_says_what_a_pattern_may_take_back(self) -> None:
        """Walking, breath, pulse and mind are told by the findings alone."""
        words = r"\b(walks?|stands?|breath\w*|pulse|awake|answers?|obeys|unconscious|alert)\b"
        for row in APPEARANCES:
            assert not re.search(words, row.seen, re.IGNORECASE), row.seen

    def test_no_row_names_a_category(self) -> None:
        """It is worked out from the findings; a row that named one could be copied."""
        keys = {row.category for row in CATEGORIES}
        for pattern in PATTERNS:
            fields = {getattr(pattern, name) for name in pattern.__slots__}
            assert not keys & {str(each) for each in fields}


class TestASecondLook:
    def test_who_gets_worse_is_more_urgent_and_it_is_said(self, made: list[Incident]) -> None:
        """Some do at every level; who has minor injuries never, and the appearance stays."""
        worse = Counter[int]()
        for incident in made:
            looks = look_again(incident, seed="1")
            assert looks == look_again(incident, seed="1")
            for before, look in zip(incident.casualties, looks, strict=True):
                now = look.casualty
                assert now.seen == before.seen
                assert incident.outcome(now).category == published(incident, now)
                if look.words:
                    worse[incident.level] += 1
                    assert incident.outcome(now).category == "immediate"
                    assert not before.findings["minor_only"]
                    assert before.findings["pulse"]
                    assert before.findings["breathes"]
                else:
                    assert now.pattern == before.pattern
        assert set(worse) == set(LEVELS)
        assert worse[5] > worse[1]


class TestPrompts:
    def test_what_is_asked_for_is_enough(self, everybody: list[tuple[Incident, Casualty]]) -> None:
        """The findings that the chart asks for, and no others, give the same category."""
        for incident, casualty in everybody:
            asked = asked_for(casualty.findings, casualty.whose, incident.sorting)
            known = {name: casualty.findings[name] for name in asked}
            found = incident.sorting.follow(known, is_child=casualty.whose.is_child)
            assert found.category == incident.outcome(casualty).category

    def test_different_findings_are_told_differently(self, made: list[Incident]) -> None:
        """Two patients of one chart who are told alike come to the same category."""
        told = defaultdict[tuple[object, ...], set[str]](set)
        for incident in made:
            for prompt in prompts_of(incident):
                told[prompt.says, prompt.seen, prompt.told].add(prompt.answer)
        for shown, answers in told.items():
            assert len(answers) == 1, shown

    def test_the_path_ends_with_the_answer(self, made: list[Incident]) -> None:
        """In words, the colour beside it."""
        for incident in made[:200]:
            for prompt in prompts_of(incident):
                right = next(each for each in prompt.choices if each.category == prompt.answer)
                assert prompt.path[-1] == f"{right.word} ({right.colour})."

    def test_it_names_the_chart_and_what_it_rests_on(self) -> None:
        """The test of perfusion by START, the resources by SALT."""
        said = {
            prompt.says
            for sorting, is_short in product(SORTINGS, (False, True))
            for prompt in self.prompts(sorting, is_short=is_short)
        }
        assert said == {
            "START, perfusion by the pulse at the wrist.",
            "START, perfusion by capillary refill.",
            "JumpSTART.",
            "SALT. Crews and equipment are short.",
            "SALT. There is enough for everybody.",
        }

    @staticmethod
    def prompts(sorting: Sorting, *, is_short: bool) -> tuple[TriagePrompt, ...]:
        return prompts_of(
            make_incident(
                call_types()["bus-rollover"],
                world(),
                seed="3",
                count=12,
                sorting=sorting,
                is_short=is_short,
            )
        )


class TestJudging:
    @pytest.mark.parametrize(
        ("family", "right", "given", "verdict", "critical"),
        [
            (START_FAMILY, "immediate", "immediate", RIGHT, False),
            (START_FAMILY, "delayed", "immediate", OVER, False),
            (START_FAMILY, "immediate", "delayed", UNDER, False),
            (START_FAMILY, "immediate", "minor", UNDER, True),
            (START_FAMILY, "immediate", "deceased", UNDER, True),
            (SALT_FAMILY, "immediate", "expectant", UNDER, True),
            (SALT_FAMILY, "expectant", "immediate", OVER, False),
        ],
    )
    def test_an_answer_is_right_over_or_under(
        self, family: str, right: str, given: str, verdict: str, critical: bool
    ) -> None:
        """And critical where it may cost a life."""
        judged = judge(family, right=right, given=given, path=["Walks."])

        assert (judged.verdict, judged.is_critical) == (verdict, critical)
        assert judged.is_right == (verdict == RIGHT)
        assert judged.path == ("Walks.",)

    def test_a_tally_counts_by_category(self) -> None:
        """How many there are of each, and how many were put there, the most urgent first."""
        pairs = [("immediate", "immediate"), ("immediate", "minor"), ("minor", "minor")]
        found = tally(START_FAMILY, pairs)

        assert [(each.category, is_so, put) for each, is_so, put in found.counts] == [
            ("immediate", 2, 1),
            ("delayed", 0, 0),
            ("minor", 1, 2),
            ("deceased", 0, 0),
        ]
        assert (found.measures.under.count, found.measures.critical.count) == (1, 1)

    def test_a_category_of_another_family_is_refused(self) -> None:
        """START has no expectant."""
        with pytest.raises(KeyError):
            judge(START_FAMILY, right="immediate", given="expectant")

    def test_charts_are_the_three(self) -> None:
        """Each family asks by charts that there are."""
        for sorting, is_child in product(SORTINGS, (False, True)):
            assert sorting.scheme(is_child=is_child) in CHARTS
