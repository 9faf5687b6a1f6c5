"""A number and its unit stay on one line, on screen and on paper: `15` at the end of a line with
`mg/kg` at the start of the next is read as another dose."""

import re

from django import template
from django.utils.safestring import SafeString, mark_safe

register = template.Library()
NO_BREAK = "\u00a0"
_TAG = re.compile(r"(<[^>]*>)")
_BETWEEN = re.compile(
    r"(?<=[0-9])[ \n](?=(?:mcg|mg|g|kg|lb|mL|L|mEq|mmol|units?|J|gtt|drops?|tablets?|s|min|minutes?"
    r"|h|hours?|y|years?|months?|psi|mmHg|mm|beats|points?|%)(?![A-Za-z]))"
)


@register.filter(is_safe=True)
def unbroken(page: str) -> SafeString:
    """A part of a page with no break between a number and its unit; what stands within a tag, such
    as the value of a field, is left as it is."""
    parts = _TAG.split(page)
    kept = [
        each if number % 2 else _BETWEEN.sub(NO_BREAK, each) for number, each in enumerate(parts)
    ]
    return mark_safe("".join(kept))  # noqa: S308  # only spaces changed: what was escaped stays so
