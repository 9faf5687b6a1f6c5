"""A number and its unit stay on one line, on screen and on paper: `15` at the end of a line with
`mg/kg` at the start of the next is read as another dose."""

import re

from django import template

register = template.Library()
NO_BREAK, JOINED = "\u00a0", "\u2060"
_TAG = re.compile(r"(<[^>]*>)")
_UNIT = (
    r"(?:mcg|mg|g|kg|lb|mL|L|mEq|mmol|units?|J|gtt|drops?|tablets?|s|min|minutes?"
    r"|h|hours?|y|years?|months?|psi|mmHg|mm|beats|points?|%)(?![A-Za-z])"
)
_BETWEEN = re.compile(rf"(?<=[0-9])[ \n](?={_UNIT})")
# A browser ends a line after the slash of a unit; after that of IV/IO it may.
_PER = re.compile(rf"(?<=[A-Za-z%])/(?={_UNIT})")


@register.filter(is_safe=True)
def unbroken(page: str) -> str:
    """A part of a page with no break between a number and its unit, nor within a unit such as
    mcg/kg/min; what stands within a tag, such as the value of a field, is left as it is."""
    parts = _TAG.split(page)
    kept = [each if number % 2 else _kept(each) for number, each in enumerate(parts)]
    return "".join(kept)


def _kept(words: str) -> str:
    return _PER.sub(f"/{JOINED}", _BETWEEN.sub(NO_BREAK, words))
