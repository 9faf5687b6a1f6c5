"""A call type small enough to know by heart, for the practice rig, and its ties."""

from datetime import date

from drills.rigs.models import ItemTerms, Need, Revision
from drills.scenarios.models import AgeBand, CallType, Locality, Problem

TIES = {
    "tourniquet": "tourniquet-limb",
    "splint": "board-splints",
    "neck collar": "cervical-collar-adult",
    "gauze roll": "gauze",
}
MUSTS = ("tourniquet", "splint")
FINDINGS = "Dark blood through the cloth"


def need(key: str, grade: str, **other: object) -> dict[str, object]:
    row: dict[str, object] = {"need": key, "grade": grade, "quantity": 1, "per": "call"}
    row |= {"problem": "", "size": "any", "level": "", "serves_instead": [], "wrong_grab": []}
    return row | {"why": f"{key} is why"} | other


def bleeding_call(revision: Revision) -> CallType:
    """One kind of call, and the things of the practice rig tied to what it speaks of."""
    for item, key in TIES.items():
        name = key.capitalize()
        row = Need.objects.create(key=key, name_us=name, name_intl=name, category="x")
        ItemTerms.objects.filter(revision=revision, item__key=item).update(need=row)
    AgeBand.objects.create(key="adult", age_from_y=18, age_to_y=65, size="adult", source="test")
    Locality.objects.create(kind="place", name="Tea Chest", nearest_post="x")
    states = [{"severity": 2, "findings": FINDINGS, "age_bands": ["adult"], "gcs": [15, 15]}]
    Problem.objects.create(slug="bleed", name="Bleeding limb", kind="trauma", states=states)
    patient = {"problem": "bleed", "age_bands": {"adult": 1}, "female_share": 0.5, "weight": 1}
    return CallType.objects.create(
        slug="bleeding",
        name="Severe bleeding",
        priority="emergency",
        patients_least=2,
        patients_most=2,
        scene="home",
        size_up="x",
        source="made for a test",
        owner="test",
        date=date(2026, 11, 25),
        phrases=[{"text": "{count} hurt at {place}.", "age_bands": [], "problems": []}],
        patients=[
            patient | {"age_from_y": None, "age_to_y": None, "is_always": False, "severities": [2]}
        ],
        needs=[
            need("tourniquet-limb", "must", problem="bleed"),
            need("board-splints", "must", wrong_grab=["cervical-collar-adult"], level="paramedic"),
            need("gauze", "useful"),
        ],
    )
