"""The triage schemes typed a second time from their texts, in another form than the charts.

For a patient of whom all is known each category is one sentence; of one of whom something is not,
the questions are asked one after another until one cannot be answered.
"""

from collections.abc import Mapping
from typing import Any

Known = Mapping[str, Any]


class NeedsError(Exception):
    """A question that cannot be answered."""


def asked(known: Known, name: str) -> Any:
    if known.get(name) is None:
        raise NeedsError(name)
    return known[name]


def start(known: Known) -> str:
    if asked(known, "walks"):
        return "minor"
    if not asked(known, "breathes"):
        return "immediate" if asked(known, "breathes_after_opening") else "deceased"
    if asked(known, "rate") > 30:
        return "immediate"
    if known.get("perfusion") == "refill":
        is_poor = asked(known, "refill_s") > 2
    else:
        is_poor = not asked(known, "pulse")
    return "immediate" if is_poor or not asked(known, "obeys") else "delayed"


def jumpstart(known: Known) -> str:
    if asked(known, "walks"):
        return "minor"
    if not asked(known, "breathes"):
        starts = asked(known, "breathes_after_opening") or (
            asked(known, "pulse") and asked(known, "breathes_after_rescue_breaths")
        )
        return "immediate" if starts else "deceased"
    if not 15 <= asked(known, "rate") <= 45 or not asked(known, "pulse"):
        return "immediate"
    letter = asked(known, "avpu")
    if letter == "U" or (letter == "P" and asked(known, "posturing")):
        return "immediate"
    never_walked = known.get("walked_before_event") is False
    return "minor" if never_walked and not asked(known, "external_injury") else "delayed"


def salt(known: Known) -> str:
    breathes = (
        asked(known, "breathes")
        or asked(known, "breathes_after_opening")
        or known.get("breathes_after_rescue_breaths")
    )
    if not breathes:
        return "dead"
    # One no settles it, whatever is unknown.
    signs = {
        "mind": either(known.get("obeys"), known.get("purposeful")),
        "pulse": known.get("pulse"),
        "distress": None if known.get("distress") is None else not known["distress"],
        "bleeding_controlled": known.get("bleeding_controlled"),
    }
    if any(sign is False for sign in signs.values()):
        return "immediate" if asked(known, "survivable") else "expectant"
    for name, sign in signs.items():
        if sign is None:
            raise NeedsError(
                ("purposeful" if known.get("obeys") is False else "obeys")
                if name == "mind"
                else name
            )
    return "minimal" if asked(known, "minor_only") else "delayed"


def either(one: bool | None, other: bool | None) -> bool | None:
    if one or other:
        return True
    return None if one is None or other is None else False


def start_sentences(k: Known) -> dict[str, bool]:
    """Each category in one sentence; of whom all is known."""
    still, apnoeic = not k["walks"], not k["breathes"]
    poor = k["refill_s"] > 2 if k["perfusion"] == "refill" else not k["pulse"]
    bad = k["rate"] > 30 or poor or not k["obeys"]
    return {
        "minor": k["walks"],
        "deceased": still and apnoeic and not k["breathes_after_opening"],
        "immediate": (still and apnoeic and k["breathes_after_opening"])
        or (still and not apnoeic and bad),
        "delayed": still and not apnoeic and not bad,
    }


def jumpstart_sentences(k: Known) -> dict[str, bool]:
    """Each category in one sentence; of whom all is known."""
    still, apnoeic = not k["walks"], not k["breathes"]
    revived = k["breathes_after_opening"] or (k["pulse"] and k["breathes_after_rescue_breaths"])
    bad = (
        k["rate"] < 15
        or k["rate"] > 45
        or not k["pulse"]
        or k["avpu"] == "U"
        or (k["avpu"] == "P" and k["posturing"])
    )
    passes = still and not apnoeic and not bad
    unhurt = not k["walked_before_event"] and not k["external_injury"]
    return {
        "minor": k["walks"] or (passes and unhurt),
        "deceased": still and apnoeic and not revived,
        "immediate": still and ((apnoeic and revived) or (not apnoeic and bad)),
        "delayed": passes and not unhurt,
    }


def salt_sentences(k: Known) -> dict[str, bool]:
    """Each category in one sentence; of whom all is known."""
    alive = k["breathes"] or k["breathes_after_opening"] or k["breathes_after_rescue_breaths"]
    well = (
        (k["obeys"] or k["purposeful"])
        and k["pulse"]
        and not k["distress"]
        and k["bleeding_controlled"]
    )
    return {
        "dead": not alive,
        "minimal": alive and well and k["minor_only"],
        "delayed": alive and well and not k["minor_only"],
        "immediate": alive and not well and k["survivable"],
        "expectant": alive and not well and not k["survivable"],
    }


def is_high_risk(k: Known) -> bool:
    """The 2021 criteria of high risk in one sentence; of whom all is known."""
    old = k["age_y"]
    too_low = 70 + 2 * old if old < 10 else 90 if old < 65 else 110
    return bool(
        k["injuries"]
        or not k["follows_commands"]
        or not 10 <= k["rate"] <= 29
        or k["distress"]
        or k["support"]
        or k["spo2"] < 90
        or k["systolic"] < too_low
        or (old >= 10 and k["heart_rate"] > k["systolic"])
    )


def is_moderate_risk(k: Known) -> bool:
    """The 2021 criteria of moderate risk in one sentence; of whom all is known."""
    at_any_age = set(k["crash"]) - {"unrestrained"} or set(k["judgement"]) - {"low fall"}
    return bool(
        at_any_age
        or k["mechanism"]
        or (k["age_y"] <= 9 and "unrestrained" in k["crash"])
        or k["intrusion_occupant_in"] > 12
        or k["intrusion_any_in"] > 18
        or k["fall_ft"] > 10
        or ("low fall" in k["judgement"] and not 5 < k["age_y"] < 65)
    )


def field_level(k: Known) -> str:
    if is_high_risk(k):
        return "red"
    return "yellow" if is_moderate_risk(k) else "neither"


def none_or_one(words: str, *several: list[str]) -> tuple[list[str], ...]:
    return ([], *([each] for each in words.split("; ")), *several)


# All that tells one criterion of the field from another.
FIELD_SPACE: dict[str, tuple[Any, ...]] = {
    "age_y": (0, 5, 6, 9, 10, 40, 64, 65),
    "injuries": none_or_one(
        "penetrating; skull; spinal; chest wall; pelvis; two long bones; mangled limb; amputation; "
        "active bleeding",
        ["pelvis", "skull"],
    ),
    "follows_commands": (True, False),
    "rate": (9, 10, 29, 30),
    "distress": (False, True),
    "support": (False, True),
    "spo2": (89, 90),
    "systolic": (69, 70, 79, 80, 81, 82, 87, 88, 89, 90, 109, 110),
    "heart_rate": (70, 89, 90, 91, 110, 111),
    "crash": none_or_one("ejection; entrapment; death; unrestrained; telemetry"),
    "intrusion_occupant_in": (0, 12, 13),
    "intrusion_any_in": (0, 18, 19),
    "mechanism": none_or_one("rider separated; pedestrian or cyclist"),
    "fall_ft": (0, 10, 11),
    "judgement": none_or_one(
        "low fall; anticoagulant; child abuse; special needs; pregnancy; burns",
        ["low fall", "burns"],
    ),
}


SCHEMES = {"start": start, "jumpstart": jumpstart, "salt": salt}
SENTENCES = {
    "start": start_sentences,
    "jumpstart": jumpstart_sentences,
    "salt": salt_sentences,
}
YES_NO = (True, False, None)
# The findings that a scheme asks for, each with all that tells one branch from another.
SPACES: dict[str, dict[str, tuple[Any, ...]]] = {
    "start": {
        **dict.fromkeys(("walks", "breathes", "breathes_after_opening", "pulse", "obeys"), YES_NO),
        "rate": (1, 29, 30, 31, None),
        "refill_s": (0, 2, 2.1, None),
        "perfusion": ("radial", "refill"),
    },
    "jumpstart": {
        **dict.fromkeys(
            (
                *("walks", "breathes", "breathes_after_opening", "pulse"),
                *("breathes_after_rescue_breaths", "posturing"),
                *("walked_before_event", "external_injury"),
            ),
            YES_NO,
        ),
        "rate": (14, 15, 45, 46, None),
        "avpu": ("A", "V", "P", "U", None),
    },
    "salt": dict.fromkeys(
        (
            *("breathes", "breathes_after_opening", "breathes_after_rescue_breaths"),
            *("obeys", "purposeful", "pulse", "distress", "bleeding_controlled"),
            *("minor_only", "survivable"),
        ),
        YES_NO,
    ),
}


def cannot_be(k: Known) -> bool:
    """Whether it walks and does not breathe, has a rate without breath, or is awake and is not."""
    never = k.get("breathes") is False and k.get("breathes_after_opening") is False
    return bool(
        (k.get("walks") and k.get("breathes") is False)
        or (never and k.get("rate") and not k.get("breathes_after_rescue_breaths"))
        or (k.get("avpu") == "U" and (k.get("walks") or k.get("obeys") or k.get("purposeful")))
    )
